using System.Net;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Tell;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>A time in which nobody watched: told once with what sensors kept of it. The service's own end is played by its file.</summary>
public sealed class UnwatchedTests
{
    private static readonly DateTimeOffset Died = Sample.At.AddHours(5);

    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task After_a_power_cut_it_is_told_once_how_long_nobody_watched_and_what_sensors_kept()
    {
        using var record = new TempFolder();
        await BeforeAsync(record);
        Cut(record, Died);
        await using (var site = await AfterAsync(record, Died.AddMinutes(212)))
        {
            await PassAsync(site, TimeSpan.FromSeconds(10));
            (await site.WordsAsync("/")).Should().Contain("(3 h 32 min): RootCellar stopped without warning.");
            for (var i = 1; i <= 20; i++)
                await SayAsync(site, $$"""{"temperature_c":{{4 + (i % 5)}},"humidity_pct":{{88 + (i % 3)}},"time":{{Died.AddMinutes(10 * i).ToUnixTimeSeconds()}}}""");
            await SayAsync(site, """{"temperature_c":5,"humidity_pct":90}""");
            (await TextsAsync(site)).Should().BeEmpty("more may be on its way");
            await PassAsync(site, TimeSpan.FromMinutes(2));

            var text = (await TextsAsync(site)).Should().ContainSingle().Which;
            text.Should().MatchRegex("^ROOTCELLAR stopped without warning [0-9:]+ [ap]m, back [0-9:]+ [ap]m: 3 h 32 min not watched[.] CELLAR 39F to 46F, 88% to 90%[.] Check its plug and power cord[.]$");
            await PassAsync(site, TimeSpan.FromMinutes(30));
            (await TextsAsync(site)).Should().HaveCount(1);
            (await site.WordsAsync("/")).Should().Contain("By what sensors kept: Cellar 39F to 46F, 88% to 90%.");
            using var api = JsonDocument.Parse(await site.ReadAsync("/api/watch"));
            var time = api.RootElement.GetProperty("unwatched");
            (time.GetProperty("from").GetDateTimeOffset(), time.GetProperty("to").GetDateTimeOffset() - Died, time.GetProperty("settled").GetBoolean())
                .Should().Be((Died, TimeSpan.FromMinutes(212) + TimeSpan.FromSeconds(10), true));
            time.GetProperty("places")[0].GetProperty("highestTemperatureC").GetDouble().Should().Be(8);
        }

        // Stopped by hand for a night: nothing is told, and what was before is still known.
        await using var again = await AfterAsync(record, Died.AddHours(14));
        await PassAsync(again, TimeSpan.FromMinutes(30));
        (await TextsAsync(again)).Should().HaveCount(1);
        (await again.WordsAsync("/")).Should().Contain("By what sensors kept");
        await PassAsync(again, TimeSpan.FromHours(14));
        (await again.WordsAsync("/")).Should().NotContain("stopped without warning");
    }

    [Fact]
    public async Task Sensors_that_keep_nothing_or_are_silent_are_not_waited_for_for_ever()
    {
        using var record = new TempFolder();
        await BeforeAsync(record);
        Cut(record, Died);
        await using var site = await AfterAsync(record, Died.AddMinutes(30));
        await PassAsync(site, TimeSpan.FromMinutes(18));
        (await TextsAsync(site)).Should().BeEmpty();
        await PassAsync(site, TimeSpan.FromMinutes(4));
        (await TextsAsync(site)).Where(t => t.Contains("stopped without", StringComparison.Ordinal)).Should().ContainSingle().Which.Should()
            .EndWith(": 30 min not watched. No sensor kept that time: look in. Check its plug and power cord.");
    }

    [Fact]
    public async Task A_moment_s_end_is_not_told_and_two_ends_before_it_was_told_are_one()
    {
        using var record = new TempFolder();
        await BeforeAsync(record);
        Cut(record, Died);
        await using (var site = await AfterAsync(record, Died.AddMinutes(9)))
        {
            await SayAsync(site, """{"temperature_c":5,"humidity_pct":90}""");
            await PassAsync(site, TimeSpan.FromMinutes(30));
            (await TextsAsync(site)).Should().BeEmpty();
        }

        Cut(record, Died.AddHours(1));
        await using (var site = await AfterAsync(record, Died.AddHours(2))) await PassAsync(site, TimeSpan.FromMinutes(3));
        Cut(record, Died.AddHours(2).AddMinutes(3));
        await using var last = await AfterAsync(record, Died.AddHours(3));
        await SayAsync(last, """{"temperature_c":5,"humidity_pct":90}""");
        await PassAsync(last, TimeSpan.FromMinutes(3));
        (await TextsAsync(last)).Where(t => t.Contains("stopped without", StringComparison.Ordinal)).Should().ContainSingle().Which.Should()
            .Contain(": 2 h not watched.");
    }

    // A cellar with a sensor and a contact, stopped by hand.
    private static async Task BeforeAsync(TempFolder record)
    {
        await using var site = await OpenAsync(record, Sample.At, known: null);
        (await site.SendJsonAsync(HttpMethod.Post, "/api/contacts", """{"name":"Nell","channel":"modem","address":"+15551234567"}""")).Status
            .Should().Be(HttpStatusCode.Created);
        await SayAsync(site, """{"temperature_c":5,"humidity_pct":90}""");
        await PassAsync(site, TimeSpan.FromMinutes(5));
    }

    private static Task<Site> AfterAsync(TempFolder record, DateTimeOffset at) => OpenAsync(record, at, known: "as before");

    private static Task<Site> OpenAsync(TempFolder record, DateTimeOffset at, string? known) => Site.OpenAsync(
        record: record, at: at, known: known, change: s => (s.Tell.Modem.On, s.Tell.Modem.Program, s.Tell.Modem.Answers) = (true, "/bin/true", false));

    // As a kill leaves it: not stopped, and its time that of the last minute it watched.
    private static void Cut(TempFolder record, DateTimeOffset at)
    {
        var file = Path.Combine(record.Path, "alive.json");
        var note = JsonNode.Parse(File.ReadAllText(file))!;
        note["Stopped"]!.GetValue<bool>().Should().BeTrue("the site was stopped");
        note["Stopped"] = false;
        File.WriteAllText(file, note.ToJsonString());
        File.SetLastWriteTimeUtc(file, at.UtcDateTime);
    }

    private static async Task SayAsync(Site site, string payload) => await await site.Services.GetRequiredService<Pipeline>().OfferAsync(
        new Arrived("rootcellar/cellar/door", Encoding.UTF8.GetBytes(payload), WantsReceipt: true, Dup: false, Replay: false, null));

    private static async Task PassAsync(Site site, TimeSpan time)
    {
        for (var gone = TimeSpan.Zero; gone < time; gone += TimeSpan.FromSeconds(10))
        {
            site.Time.Advance(TimeSpan.FromSeconds(10));
            await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, Cancelled);
        }
    }

    private static async Task<IReadOnlyList<string>> TextsAsync(Site site)
    {
        await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, Cancelled);
        await Sample.UntilAsync(() => site.Services.GetRequiredService<Outbox>().Underway == 0);
        return [.. site.Store.Read(c => OutboxRows.Latest(c, 100)).Where(t => t.State == OutgoingState.Sent && t.Alarm is null).Reverse().Select(t => t.Sms)];
    }
}
