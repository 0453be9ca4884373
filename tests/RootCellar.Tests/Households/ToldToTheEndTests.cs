using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>Whoever was told that something began is told that it ended, whatever ended it; what grows worse is told whatever was done.</summary>
public sealed class ToldToTheEndTests
{
    private static readonly Dictionary<string, IReadOnlyList<string>> Potatoes = new() { ["cellar"] = ["potato"] };
    private static readonly Dictionary<string, IReadOnlyList<string>> Squash = new() { ["cellar"] = ["winter-squash"] };
    private static readonly Dictionary<string, IReadOnlyList<string>> Nothing = [];
    private static readonly HashSet<string> Used = ["cellar"];

    private static readonly Place Cellar = new("cellar", "cellar", Purpose.Storage, null, ["potato"]);

    [Theory]
    [InlineData("another purpose", "CELLAR fine again")]
    [InlineData("outdoors", "CELLAR no longer watched for")]
    [InlineData("other crops", "CELLAR no longer too warm")]
    [InlineData("other bins", "CELLAR no longer too warm")]
    [InlineData("no bins", "CELLAR no longer watched for")]
    [InlineData("no place", "CELLAR no longer watched for")]
    public async Task An_alarm_that_is_taken_back_ends_with_a_text(string what, string says)
    {
        await using var farm = await Farm.WithCellarAsync();
        if (what.EndsWith("bins", StringComparison.Ordinal))
        {
            await AskAsync(farm, (h, _, _) =>
            {
                h.SavePlace(Cellar with { Crops = [] });
                h.SetBins(Potatoes, Used);
            });
        }

        await farm.GoAsync(40, 12);
        farm.Texts.Should().ContainSingle().Which.Should().Contain("too warm");
        var id = (await farm.SeeAsync(s => s.OpenAlarms)).Single().Id;
        await AskAsync(farm, (h, wall, mono) => h.Acknowledge(id, "Nell", mono, wall));
        await AskAsync(farm, (h, wall, mono) =>
        {
            switch (what)
            {
                case "another purpose": h.SavePlace(Cellar with { Purpose = Purpose.Curing }); break;
                case "outdoors": h.SavePlace(Cellar with { Purpose = Purpose.Outdoors }); break;
                case "other crops": h.SavePlace(Cellar with { Crops = ["winter-squash"] }); break;
                case "other bins": h.SetBins(Squash, Used); break;
                case "no bins": h.SetBins(Nothing, Used); break;
                default:
                    // Only once no sensor is in it.
                    h.SaveSensor("cellar/door", null, null, mono, wall);
                    h.RemovePlace("cellar", mono, wall).Should().BeTrue();
                    break;
            }
        });
        await farm.GoAsync(30, 12);

        // Squash at 92 % is another alarm, of its own.
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().NotContain(a => a.Rule == Rule.TooWarm, what);
        var texts = string.Join(" | ", farm.Texts);
        farm.Texts.Count(t => t.Contains("F too warm", StringComparison.Ordinal)).Should().Be(1, texts);
        farm.Texts.Count(t => t.StartsWith(says, StringComparison.Ordinal)).Should().Be(1, texts);
    }

    [Fact]
    public async Task Frost_that_was_shelved_is_told_again_when_it_freezes_and_shelved_for_an_hour_only()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(10, -0.2);
        farm.Texts.Should().ContainSingle();
        var id = (await farm.SeeAsync(s => s.OpenAlarms)).Single().Id;
        await AskAsync(farm, (h, wall, mono) => h.Shelve(id, TimeSpan.FromDays(30), mono, wall));
        (await farm.SeeAsync(s => s.OpenAlarms)).Single().ShelvedUntil.Should().BeOnOrBefore(farm.Time.GetUtcNow().AddHours(1));
        await farm.GoAsync(20, -2);
        farm.Texts.Should().HaveCount(2, "frozen is another matter than near freezing");
        var worse = (await farm.SeeAsync(s => s.OpenAlarms)).Single();
        (worse.State, worse.ShelvedUntil).Should().Be((AlarmState.Unacknowledged, null));

        // Shelved once more, it is told once more when the hour is over and it holds.
        await AskAsync(farm, (h, wall, mono) => h.Shelve(id, TimeSpan.FromDays(30), mono, wall));
        await farm.GoAsync(58, -2);
        farm.Texts.Should().HaveCount(2);
        await farm.GoAsync(4, -2);
        farm.Texts.Should().HaveCount(3);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Carbon_dioxide_is_told_at_each_limit_shelved_or_not_and_jumps_over_none(bool shelved)
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(30, 4, () => ""","co2_ppm":4900""");
        farm.Texts.Should().BeEmpty();
        foreach (var (ppm, said) in new[] { (5100, "5,100"), (30_500, "30,500"), (40_500, "40,500") })
        {
            await farm.GoAsync(10, 4, () => FormattableString.Invariant($""","co2_ppm":{ppm}"""));
            farm.Texts[^1].Should().Contain(said);
            var id = (await farm.SeeAsync(s => s.OpenAlarms)).Single().Id;
            await AskAsync(farm, (h, wall, mono) =>
                _ = shelved ? h.Shelve(id, TimeSpan.FromHours(9), mono, wall) : h.Acknowledge(id, "Nell", mono, wall));
        }

        farm.Texts.Should().HaveCount(3);
        farm.Texts[2].Should().StartWith("DANGER");
    }

    [Fact]
    public async Task One_sensor_dead_for_hours_leaves_all_silent_its_delay()
    {
        await using var alone = await Farm.WithCellarAsync();
        await alone.GoAsync(60, 4);
        var usual = await SilentAsync(alone, 0);

        await using var farm = await Farm.WithCellarAsync();
        for (var i = 0; i < 30; i++)
        {
            await farm.SayAsync("rootcellar/cellar/back", """{"temperature_c":4,"humidity_pct":92}""");
            await farm.GoAsync(1, 4);
        }

        await farm.GoAsync(180, 4);
        farm.Texts.Should().ContainSingle().Which.Should().Contain("sensor back: nothing heard");
        var late = await SilentAsync(farm, 1);

        farm.Texts[1].Should().MatchRegex("^ROOTCELLAR: no sensor heard .* nothing is watched");
        late.Should().BeGreaterThanOrEqualTo(usual - 1, "the dead one says nothing of the other").And.BeGreaterThan(20);

        static async Task<int> SilentAsync(Farm farm, int texts)
        {
            for (var minutes = 0; minutes < 120; minutes++)
            {
                if (farm.Texts.Count > texts) return minutes;
                await farm.GoAsync(1, null);
            }

            return int.MaxValue;
        }
    }

    private static Task<bool> AskAsync(Farm farm, Action<LiveState, DateTimeOffset, TimeSpan> what) => farm.Pipeline.AskAsync(
        (h, wall, mono) =>
        {
            what(h, wall, mono);
            return true;
        },
        TestContext.Current.CancellationToken);
}
