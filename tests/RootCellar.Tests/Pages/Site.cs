using System.Net;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using RootCellar.Entry;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>
/// The whole service in this process, on the loopback address and fake time, with someone signed in who reads pages as text and sends their
/// forms.
/// </summary>
internal sealed partial class Site : IAsyncDisposable
{
    private readonly HttpClientHandler handler = new() { AllowAutoRedirect = false };
    private WebApplication? app;
    private HttpClient? client;
    private TempFolder folder = null!;
    private bool borrowed;

    public HouseTime Time { get; private init; } = new(Sample.At);

    public IServiceProvider Services => app!.Services;

    /// <summary>From here on what the test words itself is worded as in this household.</summary>
    public void Speak() => Services.GetRequiredService<RootCellar.Household.Languages>().Household.Speak();

    public Uri Address => client!.BaseAddress!;

    /// <summary>Where it listens: the pages first, over TLS after plain, then the broker likewise.</summary>
    public IReadOnlyList<Uri> Addresses => [.. app!.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses
        .Select(a => new Uri(a))];

    public string Passphrase { get; private set; } = "";

    public Book Book => app!.Services.GetRequiredService<LedgerDoor>().Book;

    public LotKeeper Lots => app!.Services.GetRequiredService<LotKeeper>();

    public Store Store => app!.Services.GetRequiredService<Store>();

    /// <summary>What was written, oldest first: event and, of a correction, what it is of.</summary>
    public IEnumerable<string> Entries => Book.Entries.Select(e => e.Entry.Of is { } of ? $"{e.Entry.Event} of {of}" : e.Entry.Event);

    /// <param name="empty">Nobody has set up a place.</param>
    /// <param name="clock">What the service goes by, of the time and the data folder; else the time itself.</param>
    /// <param name="known">The passphrase of the record that is brought along; without it, it is set anew.</param>
    public static async Task<Site> OpenAsync(
        string weight = "lb", string? publicUrl = null, Func<Store, Task>? fill = null, DateTimeOffset? at = null,
        TempFolder? record = null, string zone = "America/New_York",
        Action<Settings>? change = null, string? known = null, bool empty = false, Func<HouseTime, string, TimeProvider>? clock = null)
    {
        var site = new Site { Time = new HouseTime(at ?? Sample.At), folder = record ?? new TempFolder(), borrowed = record is not null };
        var settings = new Settings
        {
            Http = { Listen = "127.0.0.1:0", PublicUrl = publicUrl },
            Mqtt = { Listen = "127.0.0.1:0" },
            Household = { TimeZone = zone, Weight = weight },
        };
        change?.Invoke(settings);
        site.app = ServiceHost.Build(settings, site.folder.Path, clock?.Invoke(site.Time, site.folder.Path) ?? site.Time, s =>
        {
            s.AddLogging(l => l.ClearProviders());
            s.AddSingleton(new SignInTries(site.Time));
            // The program that runs is the test's, so where the pages are must be said.
            s.AddRazorPages().AddApplicationPart(typeof(ServiceHost).Assembly);
        });
        var store = site.app.Services.GetRequiredService<Store>();
        var passphrase = site.Passphrase = await EntryCopy.PrepareAsync(store, site.Time) ?? known ?? "as before";
        if (passphrase == "as before") await site.ResetAsync(passphrase);
        if (fill is not null) await fill(store);
        await site.app.StartAsync(TestContext.Current.CancellationToken);
        foreach (var (id, name, purpose) in empty ? [] : new[] { ("curing", "Curing room", Purpose.Curing), ("cellar", "Cellar", Purpose.Storage),
            ("yard", "Yard", Purpose.Outdoors) })
        {
            await site.app.Services.GetRequiredService<Pipeline>().AskAsync(
                (house, _, _) =>
                {
                    house.SavePlace(new Place(id, name, purpose, null, ["potato"]));
                    return true;
                },
                TestContext.Current.CancellationToken);
        }

        site.client = new HttpClient(site.handler) { BaseAddress = site.Addresses[0] };
        var form = await site.ReadAsync("/sign-in");
        (await site.SendAsync("/sign-in", form, ("passphrase", passphrase), ("who", "Ann"))).Status.Should().Be(HttpStatusCode.Found);
        return site;
    }

    private async Task ResetAsync(string passphrase)
    {
        await Store.WriteAsync(c => RootCellar.Entry.Passphrase.Set(c, passphrase));
        Services.GetRequiredService<Stamps>().Changed();
    }

    /// <summary>A page as its HTML.</summary>
    public async Task<string> ReadAsync(string path)
    {
        using var answer = await client!.GetAsync(new Uri(path, UriKind.Relative), TestContext.Current.CancellationToken);
        answer.StatusCode.Should().Be(HttpStatusCode.OK, path);
        return await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);
    }

    /// <summary>
    /// What an address answers and how much of it there is, read through and not kept: that would cost more than the answer.
    /// </summary>
    public async Task<(HttpStatusCode Status, long Bytes)> TryAsync(string path)
    {
        using var answer = await client!.GetAsync(new Uri(path, UriKind.Relative), HttpCompletionOption.ResponseHeadersRead,
            TestContext.Current.CancellationToken);
        await using var body = await answer.Content.ReadAsStreamAsync(TestContext.Current.CancellationToken);
        var (part, bytes) = (System.Buffers.ArrayPool<byte>.Shared.Rent(1 << 16), 0L);
        while (await body.ReadAsync(part, TestContext.Current.CancellationToken) is > 0 and var read) bytes += read;
        System.Buffers.ArrayPool<byte>.Shared.Return(part);
        return (answer.StatusCode, bytes);
    }

    /// <summary>Whatever an address answers.</summary>
    public async Task<Answer> LookAsync(string path)
    {
        using var answer = await client!.GetAsync(new Uri(path, UriKind.Relative), TestContext.Current.CancellationToken);
        return new Answer(answer.StatusCode, answer.Headers.Location?.ToString(),
            await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken));
    }

    /// <summary>Where an address leads on to.</summary>
    public async Task<string> GoAsync(string path)
    {
        using var answer = await client!.GetAsync(new Uri(path, UriKind.Relative), TestContext.Current.CancellationToken);
        answer.StatusCode.Should().Be(HttpStatusCode.Found, path);
        return answer.Headers.Location!.ToString();
    }

    /// <summary>A page as the words on it.</summary>
    public async Task<string> WordsAsync(string path) => Words(await ReadAsync(path));

    public static string Words(string html) => Spaces().Replace(WebUtility.HtmlDecode(Tags().Replace(html, " ")), " ");

    /// <summary>The value of a field of a page.</summary>
    public static string Field(string html, string name)
    {
        var tag = Regex.Match(html, $"<input[^>]*name=\"{Regex.Escape(name)}\"[^>]*>", RegexOptions.None, TimeSpan.FromSeconds(5)).Value;
        return WebUtility.HtmlDecode(
            Regex.Match(tag, "value=\"(?<value>[^\"]*)\"", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5)).Groups["value"].Value);
    }

    /// <summary>Sends a form of a page that was read, with its token and its key.</summary>
    public async Task<Answer> SendAsync(string path, string page, params (string Name, string Value)[] fields)
    {
        var all = fields.Select(f => new KeyValuePair<string, string>(f.Name, f.Value)).ToList();
        all.Add(new("__RequestVerificationToken", Field(page, "__RequestVerificationToken")));
        if (Field(page, "key") is { Length: > 0 } key && !all.Exists(f => f.Key == "key")) all.Add(new("key", key));
        using var content = new FormUrlEncodedContent(all);
        using var answer = await client!.PostAsync(new Uri(path, UriKind.Relative), content, TestContext.Current.CancellationToken);
        return new Answer(answer.StatusCode, answer.Headers.Location?.ToString(),
            await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken));
    }

    /// <summary>As <see cref="SendAsync"/>, with the answer as it comes.</summary>
    public Task<HttpResponseMessage> PostFormAsync(string path, string page, params (string Name, string Value)[] fields) =>
        client!.PostAsync(
            new Uri(path, UriKind.Relative),
            new FormUrlEncodedContent([.. fields.Select(f => new KeyValuePair<string, string>(f.Name, f.Value)),
                new("__RequestVerificationToken", Field(page, "__RequestVerificationToken"))]),
            TestContext.Current.CancellationToken);

    /// <summary>JSON sent as a page's script would.</summary>
    public async Task<HttpResponseMessage> PostJsonAsync(string path, string json)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, new Uri(path, UriKind.Relative))
        {
            Content = new StringContent(json, System.Text.Encoding.UTF8, "application/json"),
        };
        request.Headers.Add("X-Requested-With", "fetch");
        return await client!.SendAsync(request, TestContext.Current.CancellationToken);
    }

    public Task<Answer> PutAsync(string path, string json) => SendJsonAsync(HttpMethod.Put, path, json);

    public async Task<Answer> SendJsonAsync(HttpMethod method, string path, string json)
    {
        using var request = new HttpRequestMessage(method, new Uri(path, UriKind.Relative))
        {
            Content = new StringContent(json, System.Text.Encoding.UTF8, "application/json"),
        };
        request.Headers.Add("X-Requested-With", "fetch");
        using var answer = await client!.SendAsync(request, TestContext.Current.CancellationToken);
        return new Answer(answer.StatusCode, null, await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken));
    }

    /// <summary>As a page's script would: with the cookie, from this site.</summary>
    public async Task<Answer> DeleteAsync(string path)
    {
        using var request = new HttpRequestMessage(HttpMethod.Delete, new Uri(path, UriKind.Relative));
        request.Headers.Add("X-Requested-With", "fetch");
        using var answer = await client!.SendAsync(request, TestContext.Current.CancellationToken);
        return new Answer(answer.StatusCode, null, await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken));
    }

    /// <summary>Opens the form of an event, fills it in and sends it; it must be taken. Where it leads next.</summary>
    public async Task<string> LogAsync(string what, string? bin, params (string Name, string Value)[] fields)
    {
        var path = $"/log/{what}{(bin is null || what == "filled" ? "" : "?bin=" + Uri.EscapeDataString(bin))}";
        var page = await ReadAsync(path);
        if (bin is not null) fields = [("bin", bin), .. fields];
        var answer = await SendAsync("/log/" + what, page, fields);
        answer.Status.Should().Be(HttpStatusCode.Found, Words(answer.Html));
        return answer.Location!;
    }

    /// <summary>Events written into the ledger as a program sends them, in JSON.</summary>
    public async Task WriteAsync(string json)
    {
        using var events = System.Text.Json.JsonDocument.Parse(json);
        var door = app!.Services.GetRequiredService<LedgerDoor>();
        var given = events.RootElement.EnumerateArray()
            .Select(e => EventReader.Read(e, door.Now, out var wrong) ?? throw new ArgumentException(wrong, nameof(json))).ToList();
        (await door.TakeAsync(given, null, "a program")).Should().BeOfType<LedgerAnswer.Kept>();
    }

    /// <summary>A row is dug and a bin filled from it.</summary>
    public async Task FillAsync(string bin = "B1", string pounds = "50", string lot = "2025-1", string variety = "Kennebec")
    {
        if (!Book.Lots.ContainsKey(lot)) await LogAsync("dug", null, ("lot", lot), ("crop", "potato"), ("variety", variety));
        await LogAsync("filled", bin, ("lot", lot), ("amount", pounds), ("unit", "lb"), ("place", "curing"));
    }

    public async ValueTask DisposeAsync()
    {
        client?.Dispose();
        handler.Dispose();
        if (app is not null)
        {
            await app.StopAsync(CancellationToken.None);
            await app.DisposeAsync();
        }

        if (!borrowed) folder.Dispose();
    }

    [GeneratedRegex("<[^>]*>", RegexOptions.None, 5000)]
    private static partial Regex Tags();

    [GeneratedRegex(@"[\s\u00A0]+", RegexOptions.None, 5000)]
    private static partial Regex Spaces();
}

internal sealed record Answer(HttpStatusCode Status, string? Location, string Html)
{
    public string Words => Site.Words(Html);
}
