using System.Security.Claims;
using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Authentication;
using Microsoft.Extensions.Options;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>Authorization: Bearer TOKEN.</summary>
internal sealed class TokenHandler(IOptionsMonitor<AuthenticationSchemeOptions> options, ILoggerFactory logger, UrlEncoder encoder,
    Store store, EntryMetrics metrics)
    : AuthenticationHandler<AuthenticationSchemeOptions>(options, logger, encoder)
{
    public new const string Scheme = "token";

    protected override Task<AuthenticateResult> HandleAuthenticateAsync()
    {
        const string bearer = "Bearer ";
        var header = Request.Headers.Authorization.ToString();
        if (!header.StartsWith(bearer, StringComparison.OrdinalIgnoreCase)) return Task.FromResult(AuthenticateResult.NoResult());
        var owner = store.Read(c => Tokens.Owner(c, header[bearer.Length..].Trim()));
        if (owner is null)
        {
            metrics.Refused("token");
            return Task.FromResult(AuthenticateResult.Fail("no such token"));
        }

        var identity = Who.Identity(Scheme, owner.May == Tokens.MayAll ? Who.Token : Who.LogToken, owner.Name);
        return Task.FromResult(AuthenticateResult.Success(new AuthenticationTicket(new ClaimsPrincipal(identity), Scheme)));
    }

    protected override Task HandleChallengeAsync(AuthenticationProperties properties)
    {
        EntryWiring.Unknown(Response);
        return Task.CompletedTask;
    }
}
