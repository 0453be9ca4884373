using System.Security.Claims;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.DataProtection.KeyManagement;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.HttpOverrides;
using Microsoft.AspNetCore.RateLimiting;
using RootCellar.Diagnostics;
using RootCellar.Household;

namespace RootCellar.Entry;

/// <summary>
/// Who comes in: the household by passphrase, helpers by PIN, both kept in a cookie; scripts by bearer token; /health by anyone.
/// </summary>
internal static class EntryWiring
{
    /// <summary>The page that is shown in place of one that only the household may open.</summary>
    public const string AskPage = "/ask-the-household";

    /// <summary>No script, style, picture or call from elsewhere, and none within a page; no page within another.</summary>
    public const string ContentPolicy =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; "
        + "base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

    /// <summary>How long a phone stays signed in after the last visit.</summary>
    public static readonly TimeSpan CookieLife = TimeSpan.FromDays(180);

    private const string Either = "cookie-or-token";
    private static readonly object Refused = new();

    public static void AddEntry(this IServiceCollection services, string folder)
    {
        services.AddDataProtection().SetApplicationName("rootcellar");
        services.AddSingleton(
            p => new KeyFolder(Path.Combine(folder, "keys"), TimeProvider.System, p.GetRequiredService<ILogger<KeyFolder>>()));
        services.AddOptions<KeyManagementOptions>().Configure<KeyFolder>((o, keys) => o.XmlRepository = keys);
        services.AddHealthChecks().AddCheck<EntryHealth>("entry");
        services.AddAuthentication(Either)
            .AddPolicyScheme(Either, null, o => o.ForwardDefaultSelector = c =>
                c.Request.Headers.Authorization.Count > 0 ? TokenHandler.Scheme : CookieAuthenticationDefaults.AuthenticationScheme)
            .AddScheme<AuthenticationSchemeOptions, TokenHandler>(
                TokenHandler.Scheme, null, o => o.ForwardForbid = CookieAuthenticationDefaults.AuthenticationScheme)
            .AddCookie(o =>
            {
                o.LoginPath = "/sign-in";
                o.Cookie.Name = "rootcellar";
                o.Cookie.HttpOnly = true;
                // Lax, since a bin's label is opened by the phone's camera: Strict would ask for the PIN at every bin.
                o.Cookie.SameSite = SameSiteMode.Lax;
                o.ExpireTimeSpan = CookieLife;
                // Cookies live on the phone's clock, also when the house runs on the demo's.
                o.TimeProvider = TimeProvider.System;
                o.Events.OnRedirectToLogin = c =>
                {
                    if (EndpointMarks.AnswersPrograms(c.HttpContext)) Unknown(c.Response);
                    else if (CameFrom(c.Request) is { } form) c.Response.Redirect($"/sign-in?ReturnUrl={Uri.EscapeDataString(form)}");
                    else c.Response.Redirect(c.RedirectUri);
                    return Task.CompletedTask;
                };
                o.Events.OnRedirectToAccessDenied = c => RefuseAsync(c.HttpContext);
                o.Events.OnValidatePrincipal = async c =>
                {
                    if (c.Principal is { } who && c.HttpContext.RequestServices.GetRequiredService<Stamps>().Holds(who))
                    {
                        // A cookie from before sign-ins were numbered gets its number, so that it too ends at sign-out.
                        if (!Who.Numbered(who)) c.ShouldRenew = true;
                        return;
                    }

                    c.HttpContext.RequestServices.GetRequiredService<EntryMetrics>().Refused("session");
                    c.RejectPrincipal();
                    await c.HttpContext.SignOutAsync(CookieAuthenticationDefaults.AuthenticationScheme);
                };
            });
        var rule = new AuthorizationPolicyBuilder().RequireAuthenticatedUser().AddRequirements(new WhoMay()).Build();
        services.AddAuthorizationBuilder().SetDefaultPolicy(rule).SetFallbackPolicy(rule);
        services.AddSingleton<IAuthorizationHandler, WhoMayHandler>();
        // Waits are on the real clock, also in the demo.
        services.AddSingleton(new SignInTries(TimeProvider.System));
        services.AddSingleton<Stamps>().AddSingleton<Doorkeeper>().AddSingleton<KnownBrowsers>().AddSingleton<EntryMetrics>()
            .AddSingleton<RateLimits>();
        services.AddSingleton<IRoomMetrics>(p => p.GetRequiredService<EntryMetrics>());
        services.AddSingleton<HostNames>().AddSingleton<HouseAddress>();
        services.AddRateLimiter(_ => { });
        services.AddOptions<RateLimiterOptions>().Configure<RateLimits>((o, limits) =>
        {
            o.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
            o.GlobalLimiter = limits.OfRequests;
            o.OnRejected = limits.RejectAsync;
        });
    }

    /// <summary>
    /// Before anything looks at where a request comes from: what a trusted proxy says of it counts, what anybody else says does not.
    /// </summary>
    public static void UseTrustedProxies(this WebApplication app)
    {
        var trusted = app.Services.GetRequiredService<HttpOptions>().ProxyList;
        if (trusted.Count == 0) return;
        var options = new ForwardedHeadersOptions
        {
            ForwardedHeaders = ForwardedHeaders.XForwardedFor | ForwardedHeaders.XForwardedProto | ForwardedHeaders.XForwardedHost,
            ForwardLimit = null,
        };
        options.KnownProxies.Clear();
        options.KnownIPNetworks.Clear();
        foreach (var network in trusted) options.KnownIPNetworks.Add(network);
        app.UseForwardedHeaders(options);
    }

    public static void UseEntry(this WebApplication app)
    {
        app.Use((context, next) =>
        {
            var headers = context.Response.Headers;
            headers.ContentSecurityPolicy = ContentPolicy;
            headers.XContentTypeOptions = "nosniff";
            headers["Referrer-Policy"] = "same-origin";
            headers["Cross-Origin-Resource-Policy"] = "same-origin";
            headers["Cross-Origin-Opener-Policy"] = "same-origin";
            return next();
        });
        app.Use(async (context, next) =>
        {
            await next(context);
            if (!context.Items.ContainsKey(Refused) || context.Response.HasStarted) return;
            // Once more, as the page that says whom to ask.
            context.SetEndpoint(null);
            context.Request.RouteValues.Clear();
            (context.Request.Method, context.Request.Path, context.Request.QueryString) = (HttpMethods.Get, AskPage, QueryString.Empty);
            await next(context);
        });
        app.UseRouting();
        var (hosts, metrics) = (app.Services.GetRequiredService<HostNames>(), app.Services.GetRequiredService<EntryMetrics>());
        app.Use((context, next) =>
        {
            if (context.Features.Get<IStatusCodeReExecuteFeature>() is not null || hosts.Serves(context)) return next(context);
            metrics.Refused("host");
            var why = HostNames.Refusal(context.Request.Host.Host);
            if (EndpointMarks.AnswersPrograms(context))
                return ProblemAnswers.AnswerAsync(context, StatusCodes.Status421MisdirectedRequest, why);
            // The page that says so is a stranger's, whatever cookies came along.
            context.Request.Headers.Remove("Cookie");
            context.Response.StatusCode = StatusCodes.Status421MisdirectedRequest;
            return Task.CompletedTask;
        });
        // Pages carry antiforgery tokens; for the API with the page's cookie, the browser's own word on where a call comes from.
        // (SameSite does not tell ports apart: another service on the same Pi would pass.)
        app.Use((context, next) =>
        {
            if (!EndpointMarks.CouldBeForged(context) || IsFromHere(context.Request)) return next(context);
            metrics.Refused("elsewhere");
            return ProblemAsync(context, "This call comes from a page elsewhere.");
        });
        app.UseAuthentication();
        // A browser that says nothing of where it comes from: what a form on another page cannot send.
        app.Use((context, next) => !EndpointMarks.CouldBeForged(context) || context.User.Identity?.IsAuthenticated != true
            || IsMoreThanAForm(context.Request)
            ? next(context)
            : ProblemAsync(context,
                "With a cookie, a change is sent as Content-Type: application/json (or with the header X-Requested-With)."));
        app.UseRateLimiter();
        app.UseAuthorization();
        // What is not a page may be asked for under any name.
        app.Use((context, next) =>
        {
            if (context.User.IsHousehold() && context.GetEndpoint()?.IsPage() == true)
                context.RequestServices.GetRequiredService<HouseAddress>().Note(context.Request);
            return next(context);
        });
    }

    // A form that was sent too late: back to where it stands, with its bin, for its own address answers only what is sent.
    private static string? CameFrom(HttpRequest request) => HttpMethods.IsPost(request.Method)
        && Uri.TryCreate(request.Headers.Referer, UriKind.Absolute, out var from)
        && string.Equals(from.Authority, request.Host.Value, StringComparison.OrdinalIgnoreCase) ? from.PathAndQuery : null;

    public static Task SignInAsHouseholdAsync(HttpContext context, string who) =>
        SignInAsync(context, Who.Identity(CookieAuthenticationDefaults.AuthenticationScheme, Who.Household, who, StampsOf(context)
            .OfHousehold()), null);

    public static Task SignInAsHelperAsync(HttpContext context, long id, string name) =>
        SignInAsync(context, Who.Identity(CookieAuthenticationDefaults.AuthenticationScheme, Who.Helper, name, StampsOf(context)
            .OfHelper(id), id), id);

    /// <summary>The cookie is taken back, and a copy of it opens nothing any more.</summary>
    public static async Task SignOutAsync(HttpContext context)
    {
        await StampsOf(context).EndAsync(context.User);
        await context.SignOutAsync(CookieAuthenticationDefaults.AuthenticationScheme);
    }

    private static Stamps StampsOf(HttpContext context) => context.RequestServices.GetRequiredService<Stamps>();

    private static Task SignInAsync(HttpContext context, ClaimsIdentity identity, long? helper)
    {
        context.RequestServices.GetRequiredService<KnownBrowsers>().Remember(context, helper);
        var who = new ClaimsPrincipal(identity);
        Who.Numbered(who);
        return context.SignInAsync(CookieAuthenticationDefaults.AuthenticationScheme, who,
            new AuthenticationProperties { IsPersistent = true });
    }

    private static bool IsFromHere(HttpRequest request)
    {
        if (request.Headers.Origin is [{ } origin] && !IsOurs(origin, request)) return false;
        return request.Headers.Origin.Count <= 1 && (request.Headers["Sec-Fetch-Site"].ToString() is "" or "same-origin" or "none");
    }

    private static bool IsMoreThanAForm(HttpRequest request) => request.HasJsonContentType() || request.Headers.XRequestedWith.Count > 0;

    private static bool IsOurs(string origin, HttpRequest request) =>
        Uri.TryCreate(origin, UriKind.Absolute, out var from)
            // Behind a proxy that is not known as one, a page of https looks like one of http here; never the other way round.
            && (!request.IsHttps || from.Scheme == Uri.UriSchemeHttps)
            && Uri.TryCreate($"{from.Scheme}://{request.Host.Value}", UriKind.Absolute, out var here)
        && string.Equals(from.Authority, here.Authority, StringComparison.OrdinalIgnoreCase);

    private static Task RefuseAsync(HttpContext context)
    {
        if (EndpointMarks.AnswersPrograms(context))
            return ProblemAsync(context,
                "Helpers, and tokens made with --may log, may read, write into the book and acknowledge alarms. This is for the household.");
        context.Response.StatusCode = StatusCodes.Status403Forbidden;
        context.Items[Refused] = true;
        return Task.CompletedTask;
    }

    private static Task ProblemAsync(HttpContext context, string detail) =>
        ProblemAnswers.AnswerAsync(context, StatusCodes.Status403Forbidden, detail);

    /// <summary>401, with the way in (RFC 9110, 11.6.1); the body is written where every error's is.</summary>
    internal static void Unknown(HttpResponse response)
    {
        response.StatusCode = StatusCodes.Status401Unauthorized;
        response.Headers.WWWAuthenticate = "Bearer realm=\"rootcellar\"";
    }
}
