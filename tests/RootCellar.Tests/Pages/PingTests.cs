using System.Net;
using System.Text.Json;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using RootCellar.Monitoring;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>The address outside that is called while all is alive; a real server answers here.</summary>
public sealed class PingTests
{
    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task It_is_called_every_few_minutes_from_the_moment_it_is_set_up_on_the_page()
    {
        await using var outside = await Outside.OpenAsync();
        await using var site = await Site.OpenAsync();
        (await site.WordsAsync("/set-up/channels")).Should().Contain("Nobody outside would notice.");
        var form = await site.ReadAsync("/set-up/channels");
        (await site.SendAsync("/set-up/channels?handler=Ping", form, ("Url", outside.Url), ("Minutes", "5"))).Words.Should()
            .Contain("passphrase", "it is asked for where calls go to a new address");
        (await site.SendAsync("/set-up/channels?handler=Ping", form, ("Url", "ftp://x"), ("Minutes", "5"))).Words.Should().Contain("ftp://x");
        (await site.SendAsync("/set-up/channels?handler=Ping", form, ("Url", outside.Url), ("Minutes", "0"))).Words.Should().Contain(
            "Minutes between calls: a whole number from 1 to 1440.");
        (await site.SendAsync("/set-up/channels?handler=Ping", form, ("Url", outside.Url), ("Minutes", "5"), ("Passphrase", site.Passphrase)))
            .Status.Should().Be(HttpStatusCode.Found);

        await CalledAsync(site, outside, 1);
        outside.Last.Should().Be("GET /key ");
        (await site.WordsAsync("/set-up/channels")).Should().Contain("Last call answered");
        var before = outside.Calls;
        for (var i = 0; i < 48; i++) site.Time.Advance(TimeSpan.FromSeconds(5));
        outside.Calls.Should().Be(before, "four minutes are not five");
        await CalledAsync(site, outside, before + 1);

        using var shape = JsonDocument.Parse(await site.ReadAsync("/api/watch"));
        var ping = shape.RootElement.GetProperty("ping");
        (ping.GetProperty("url").GetString(), ping.GetProperty("setBy").GetString(), ping.GetProperty("missed").GetBoolean()).Should().Be(
            (outside.Url, "page", false));
        (await site.PutAsync("/api/watch/ping", """{"url":"https://x.example","everySeconds":5}""")).Status.Should().Be(HttpStatusCode.BadRequest);
        (await site.PutAsync("/api/watch/ping", "{}")).Status.Should().Be(HttpStatusCode.OK);
        (await site.WordsAsync("/set-up/channels")).Should().Contain("Nobody outside would notice.");
    }

    [Fact]
    public async Task What_does_not_answer_is_said_after_three_calls_and_forgotten_when_it_does()
    {
        await using var outside = await Outside.OpenAsync();
        outside.Status = 503;
        await using var site = await Site.OpenAsync(change: s => (s.Tell.Ping.Url, s.Tell.Ping.EverySeconds) = (outside.Url, 60));
        await CalledAsync(site, outside, 1);
        (await site.WordsAsync("/set-up/channels")).Should().Contain("The address doesn't answer: HTTP 503").And.Contain("Tell:Ping");
        (await site.WordsAsync("/")).Should().NotContain("hasn't been reached");
        await CalledAsync(site, outside, 5);
        (await site.WordsAsync("/")).Should().Contain("hasn't been reached: HTTP 503");
        (await site.ReadAsync("/health/ready")).Should().Contain("\"ping\":\"degraded\"");
        (await site.PutAsync("/api/watch/ping", "{}")).Status.Should().Be(HttpStatusCode.Conflict, "the settings file wins");

        outside.Status = 204;
        await CalledAsync(site, outside, outside.Calls + 1);
        await Sample.UntilAsync(() => !site.Services.GetRequiredService<PingState>().IsMissed);
        (await site.WordsAsync("/")).Should().NotContain("hasn't been reached");
    }

    [Fact]
    public async Task It_is_not_called_while_nothing_comes_in()
    {
        await using var outside = await Outside.OpenAsync();
        await using var site = await Site.OpenAsync(change: s =>
        {
            (s.Tell.Ping.Url, s.Tell.Ping.EverySeconds) = (outside.Url, 60);
            (s.Mqtt.Broker.Host, s.Mqtt.Broker.Port) = ("127.0.0.1", 1);
        });
        await HeldBackAsync(site, outside, "broker");
        (await site.WordsAsync("/")).Should().Contain("hasn't been reached: no messages come in");
    }

    [Fact]
    public async Task It_is_not_called_while_nothing_can_be_kept()
    {
        using var folder = new TempFolder();
        await File.WriteAllTextAsync(folder.File + "-wal", "the last days", Cancelled);
        new SetUpCopy([], [], []).Write(folder.Path);
        await using var outside = await Outside.OpenAsync();
        await using var site = await Site.OpenAsync(record: folder, change: s => (s.Tell.Ping.Url, s.Tell.Ping.EverySeconds) = (outside.Url, 60));
        await HeldBackAsync(site, outside, "record");
    }

    [Fact]
    public async Task It_is_not_called_while_nothing_is_judged()
    {
        await using var outside = await Outside.OpenAsync();
        await using var site = await Site.OpenAsync(change: s => (s.Tell.Ping.Url, s.Tell.Ping.EverySeconds) = (outside.Url, 60));
        await CalledAsync(site, outside, 1);
        using var held = new ManualResetEventSlim();
        using var begun = new ManualResetEventSlim();
        var stuck = site.Services.GetRequiredService<Pipeline>().AskAsync(
            (_, _, _) =>
            {
                begun.Set();
                return held.Wait(TimeSpan.FromMinutes(2));
            },
            Cancelled);
        begun.Wait(Cancelled);
        var before = outside.Calls;
        site.Time.Advance(TimeSpan.FromSeconds(40));
        await HeldBackAsync(site, outside, "watch", before);
        held.Set();
        (await stuck).Should().BeTrue();
        await CalledAsync(site, outside, before + 1);
    }

    private static async Task HeldBackAsync(Site site, Outside outside, string by, int calls = 0)
    {
        var state = site.Services.GetRequiredService<PingState>();
        for (var i = 0; i < 60; i++) site.Time.Advance(TimeSpan.FromSeconds(5));
        await Sample.UntilAsync(() =>
        {
            site.Time.Advance(TimeSpan.FromSeconds(5));
            return state.HeldBack == by && state.IsMissed;
        });
        outside.Calls.Should().Be(calls);
    }

    private static async Task CalledAsync(Site site, Outside outside, int times)
    {
        var state = site.Services.GetRequiredService<PingState>();
        await Sample.UntilAsync(() =>
        {
            if (outside.Calls >= times) return state.AnsweredAt is not null || state.Fault is not null;
            site.Time.Advance(TimeSpan.FromSeconds(5));
            return false;
        });
    }

    private sealed class Outside(WebApplication app) : IAsyncDisposable
    {
        private int calls;

        public int Calls => Volatile.Read(ref calls);

        public int Status { get; set; } = 200;

        public string Last { get; private set; } = "";

        public string Url { get; private set; } = "";

        public static async Task<Outside> OpenAsync()
        {
            var builder = WebApplication.CreateSlimBuilder();
            builder.WebHost.UseSetting("urls", "http://127.0.0.1:0");
            builder.Logging.ClearProviders();
            var outside = new Outside(builder.Build());
            await outside.BeginAsync();
            return outside;
        }

        private async Task BeginAsync()
        {
            app.Run(async context =>
            {
                using var body = new StreamReader(context.Request.Body);
                Last = $"{context.Request.Method} {context.Request.Path} {await body.ReadToEndAsync(context.RequestAborted)}";
                context.Response.StatusCode = Status;
                Interlocked.Increment(ref calls);
            });
            await app.StartAsync(Cancelled);
            Url = app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.First() + "/key";
        }

        public async ValueTask DisposeAsync() => await app.DisposeAsync();
    }
}
