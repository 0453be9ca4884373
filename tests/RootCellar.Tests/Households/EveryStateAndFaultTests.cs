using System.Collections.Concurrent;
using RootCellar.Monitoring;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>
/// Every state of an alarm x what can strike it: whatever happens meanwhile, whoever is told is told the same, each text once, and the alarm
/// ends as it does on a quiet day.
/// </summary>
public sealed class EveryStateAndFaultTests
{
    private const double Good = 4;

    public enum At
    {
        /// <summary>Out of the band, and not yet for long enough.</summary>
        Pending,
        Unacknowledged,
        Acknowledged,
        Shelved,

        /// <summary>Back in the band, and not yet for long enough.</summary>
        Returning,
        ReturnedUnacknowledged,
    }

    public enum Struck
    {
        /// <summary>Nothing: what the others are held against.</summary>
        Nothing,

        /// <summary>As kill -9 or the plug does: what is on disk at that moment is all there is.</summary>
        Killed,
        Restarted,

        /// <summary>The broker is gone: no sensor is heard.</summary>
        BrokerGone,

        /// <summary>Mail server, gateway or modem are gone.</summary>
        ChannelGone,
        DiskFull,
    }

    public static TheoryData<At, Struck, double> All => [.. Enum.GetValues<At>().SelectMany(state =>
        Enum.GetValues<Struck>().Where(s => s != Struck.Nothing).Select(struck => (state, struck, 12.0))
            .Concat([(state, Struck.Killed, -2.0), (state, Struck.ChannelGone, -2.0)]))];

    // Of each state one is enough.
    private static readonly ConcurrentDictionary<(At, double), Task<string>> quietly = new();

    [Theory]
    [MemberData(nameof(All))]
    public async Task Every_text_that_is_due_is_sent_once_and_the_alarm_ends(At state, Struck struck, double air)
    {
        var quiet = await quietly.GetOrAdd((state, air), _ => LiveAsync(state, Struck.Nothing, air));
        // Frost is shelved for an hour at most, and then told anew.
        quiet.Should().Be((state == At.Shelved && air < 0 ? "begins, begins, over" : "begins, over") + "; then "
            + (state == At.Acknowledged ? "normal" : "returned-unacknowledged"));

        (await LiveAsync(state, struck, air)).Should().Be(quiet);
    }

    /// <returns>What was told of that alarm, in order, and how it ended.</returns>
    private static async Task<string> LiveAsync(At state, Struck struck, double air)
    {
        await using var farm = await Farm.WithCellarAsync();
        var (rule, id) = air < 0 ? (Rule.FreezingNear, "freezing") : (Rule.TooWarm, "too-warm");
        await farm.GoAsync(5, Good);
        await farm.GoAsync(state == At.Pending ? 3 : 30, air);
        if (state is At.Acknowledged) await OfAlarmAsync((h, alarm, mono, wall) => h.Acknowledge(alarm, "Nell", mono, wall));
        if (state is At.Shelved) await OfAlarmAsync((h, alarm, mono, wall) => h.Shelve(alarm, TimeSpan.FromHours(1), mono, wall));
        if (state is At.Returning) await farm.GoAsync(3, Good);
        if (state is At.ReturnedUnacknowledged) await farm.GoAsync(40, Good);

        var meanwhile = state is At.Returning or At.ReturnedUnacknowledged ? Good : air;
        await StrikeAsync(farm, struck, meanwhile);
        if (meanwhile != Good) await farm.GoAsync(30, meanwhile);
        await farm.GoAsync(70, Good);

        await Sample.UntilAsync(() =>
        {
            farm.Time.Advance(TimeSpan.FromSeconds(1));
            return farm.Store.Text("SELECT count(*) FROM outbox WHERE state IN ('Waiting', 'Sending')") == "0";
        });
        var told = farm.Channel.Taken.Select(t => Kind(t.Sms)).OfType<string>();
        return $"{string.Join(", ", told)}; then {farm.Store.Text($"SELECT state FROM alarm WHERE id LIKE '%{id}%' ORDER BY id")}";

        Task OfAlarmAsync(Action<LiveState, string, TimeSpan, DateTimeOffset> act) => farm.Pipeline.AskAsync(
            (house, wall, mono) =>
            {
                act(house, farm.Pipeline.Snapshot.OpenAlarms.Single(a => a.Rule == rule).Id, mono, wall);
                return true;
            },
            TestContext.Current.CancellationToken);
    }

    // Of other alarms, such as that a sensor is silent, others are told too.
    private static string? Kind(string sms) => !sms.Contains("CELLAR", StringComparison.Ordinal) ? null
        : sms.Contains("fine again", StringComparison.Ordinal) || sms.Contains("no longer", StringComparison.Ordinal) ? "over"
        : sms.Contains("too warm", StringComparison.Ordinal) || sms.Contains("freez", StringComparison.OrdinalIgnoreCase) ? "begins" : null;

    private static async Task StrikeAsync(Farm farm, Struck struck, double air)
    {
        const int Minutes = 20;
        switch (struck)
        {
            case Struck.Killed:
                await farm.KillAsync(TimeSpan.FromMinutes(2));
                break;
            case Struck.Restarted:
                await farm.RestartAsync(TimeSpan.FromMinutes(2));
                break;
            case Struck.ChannelGone:
                farm.Channel.Gone = true;
                break;
            case Struck.DiskFull:
                var kept = farm.Store.Count();
                await farm.Store.FillAsync();
                for (var minute = 0; minute < Minutes; minute++)
                {
                    await farm.HintAsync("rootcellar/cellar/door", FormattableString.Invariant($$"""{"temperature_c":{{air}},"humidity_pct":92}"""));
                    for (var second = 0; second < 60; second++) farm.Time.Advance(TimeSpan.FromSeconds(1));
                    await farm.AskAsync(_ => true);
                }

                farm.Folder.MakeRoom();
                await Sample.UntilAsync(() =>
                {
                    farm.Time.Advance(TimeSpan.FromSeconds(1));
                    return farm.Store.Count() == kept + (2 * Minutes);
                });
                return;
        }

        await farm.GoAsync(Minutes, struck == Struck.BrokerGone ? null : air);
        farm.Channel.Gone = false;
    }
}
