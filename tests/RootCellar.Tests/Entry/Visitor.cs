using System.Net;
using System.Net.Security;
using System.Net.Sockets;
using System.Security.Cryptography.X509Certificates;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Storage;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Entry;

/// <summary>
/// A browser or a program of its own before the door of a <see cref="Site"/>: with cookies of its own, or a token, or nothing.
/// </summary>
internal sealed class Visitor : IDisposable
{
    private readonly SocketsHttpHandler handler = new() { AllowAutoRedirect = false };
    private readonly HttpClient client;

    /// <param name="site">Whose door it is.</param>
    /// <param name="token">Sent with every request.</param>
    /// <param name="from">Where the visitor comes from; any of 127.0.0.0/8.</param>
    /// <param name="cookie">What the browser says it was given, NAME=VALUE.</param>
    /// <param name="trusts">Comes over https, and trusts this authority alone.</param>
    public Visitor(Site site, string? token = null, IPAddress? from = null, string? cookie = null, OwnAuthority? trusts = null)
    {
        if (trusts is not null)
        {
            handler.SslOptions.CertificateChainPolicy = trusts.Trust;
            handler.SslOptions.RemoteCertificateValidationCallback = (_, shown, _, errors) =>
            {
                Shown = (shown as X509Certificate2)?.SerialNumber;
                // A request that names another host on purpose is asked about by that name.
                return (errors & ~SslPolicyErrors.RemoteCertificateNameMismatch) == SslPolicyErrors.None;
            };
        }

        if (cookie?.Split('=', 2) is [var name, var value]) handler.CookieContainer.Add(site.Address, new Cookie(name, value));
        if (from is not null)
        {
            handler.ConnectCallback = async (context, cancellation) =>
            {
                var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
                socket.Bind(new IPEndPoint(from, 0));
                await socket.ConnectAsync(IPAddress.Loopback, context.DnsEndPoint.Port, cancellation);
                return new NetworkStream(socket, ownsSocket: true);
            };
        }

        client = new HttpClient(handler) { BaseAddress = trusts is null ? site.Address : site.Addresses[1] };
        if (token is not null) client.DefaultRequestHeaders.Authorization = new("Bearer", token);
    }

    /// <summary>The serial number of the certificate it was shown last.</summary>
    public string? Shown { get; private set; }

    /// <summary>The value of a cookie it holds, as somebody else might copy it; null where there is none.</summary>
    public string? Cookie(string name) => handler.CookieContainer.GetCookies(client.BaseAddress!)[name]?.Value;

    public static async Task<Visitor> HouseholdAsync(Site site, string who = "Ann", string? passphrase = null)
    {
        var visitor = new Visitor(site);
        (await visitor.SignInAsync(passphrase ?? site.Passphrase, who)).Status.Should().Be(HttpStatusCode.Found);
        return visitor;
    }

    /// <summary>Adds the helper to the record and signs them in.</summary>
    public static async Task<Visitor> HelperAsync(Site site, string name = "Sam", string pin = "840273")
    {
        (await site.Services.GetRequiredService<Store>().WriteAsync(c => Helpers.Add(c, name, pin, site.Time.GetUtcNow()))).Should()
            .BeTrue();
        site.Services.GetRequiredService<Stamps>().Changed();
        var visitor = new Visitor(site);
        (await visitor.SignInAsHelperAsync(name, pin)).Status.Should().Be(HttpStatusCode.Found);
        return visitor;
    }

    public static async Task<Visitor> TokenAsync(Site site, string may) =>
        new(site, await site.Services.GetRequiredService<Store>()
            .WriteAsync(c => Tokens.Add(c, "token-" + may, site.Time.GetUtcNow(), may)));

    public async Task<Answer> SignInAsync(string passphrase, string who = "Ann") =>
        await SendAsync("/sign-in", (await GetAsync("/sign-in")).Html, ("passphrase", passphrase), ("who", who));

    public async Task<Answer> SignInAsHelperAsync(string name, string pin) =>
        await SendAsync("/sign-in?handler=Helper", (await GetAsync("/sign-in?as=helper")).Html, ("name", name), ("pin", pin));

    public Task<Answer> GetAsync(string path) => SendAsync(new HttpRequestMessage(HttpMethod.Get, path));

    /// <summary>Sends a form of a page that was read, with its token and, where it has one, its key.</summary>
    public Task<Answer> SendAsync(string path, string page, params (string Name, string Value)[] fields)
    {
        var all = fields.Select(f => new KeyValuePair<string, string>(f.Name, f.Value)).ToList();
        all.Add(new("__RequestVerificationToken", Site.Field(page, "__RequestVerificationToken")));
        if (Site.Field(page, "key") is { Length: > 0 } key) all.Add(new("key", key));
        return SendAsync(new HttpRequestMessage(HttpMethod.Post, path) { Content = new FormUrlEncodedContent(all) });
    }

    public Task<Answer> JsonAsync(string method, string path, string json, string type = "application/json",
        params (string Name, string Value)[] headers)
    {
        var request = new HttpRequestMessage(new HttpMethod(method), path) { Content = new StringContent(json, Encoding.UTF8, type) };
        foreach (var (name, value) in headers) request.Headers.TryAddWithoutValidation(name, value);
        return SendAsync(request);
    }

    public async Task<Answer> SendAsync(HttpRequestMessage request)
    {
        using (request)
        {
            using var answer = await client.SendAsync(request, TestContext.Current.CancellationToken);
            Headers = answer.Headers.Concat(answer.Content.Headers)
                .ToLookup(h => h.Key, h => h.Value.First(), StringComparer.OrdinalIgnoreCase);
            SetCookies = answer.Headers.TryGetValues("Set-Cookie", out var cookies) ? [.. cookies] : [];
            return new Answer(answer.StatusCode, answer.Headers.Location?.ToString(),
                await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken));
        }
    }

    /// <summary>Of the last answer.</summary>
    public ILookup<string, string> Headers { get; private set; } = Array.Empty<string>().ToLookup(h => h);

    public IReadOnlyList<string> SetCookies { get; private set; } = [];

    public void Dispose()
    {
        client.Dispose();
        handler.Dispose();
    }
}
