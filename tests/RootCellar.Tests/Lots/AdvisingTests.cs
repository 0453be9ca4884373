using RootCellar.Ledger;
using RootCellar.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>The one line of advice of a bin: what it says, when it begins and what ends it.</summary>
public sealed class AdvisingTests
{
    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    [Theory]
    [InlineData(10, "Something from the field speaks for rot: dry it with moving air for a couple of days before curing", "rot-seen")]
    [InlineData(10, "High rot risk: dry it with moving air for a couple of days, skip the warm damp curing", "late-blight")]
    [InlineData(10, "Something from the field speaks for rot: dry it with moving air for a couple of weeks before", "rain", "rot-seen")]
    [InlineData(10, "High rot risk: keep the room dry with air moving", "wet-soil", "rain", "rot-seen")]
    [InlineData(20.9, "High rot risk", "late-blight")]
    [InlineData(21.1, null, "late-blight")]
    [InlineData(10, null)]
    public async Task What_the_field_showed_is_minded_for_three_weeks(double day, string? begins, params string[] flags)
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start))]) with { Flags = flags });
        var advice = (await cellar.AtAsync(Day(day))).Bins["c-1"].Advice;
        if (begins is null) advice.Code.Should().NotBe("rot-signs");
        else (advice.Code, advice.Text[..begins.Length], advice.Says).Should().Be(("rot-signs", begins, AdviceSays.SignsFromTheField));
    }

    [Theory]
    [InlineData("soft", null, true)]
    [InlineData("wet", null, true)]
    [InlineData("mould", null, true)]
    [InlineData("green", null, false)]
    [InlineData("soft", "sold", true)]
    [InlineData("soft", "culled-rot", false)]
    [InlineData("soft", "sorted", false)]
    [InlineData("soft", "dry", false)]
    [InlineData("soft", "culled-before", true)]
    [InlineData("soft", "dry-before", true)]
    public async Task Rot_that_was_seen_is_minded_until_it_is_sorted_out_or_looks_dry(string seen, string? then, bool minded)
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        var bin = Books.Bin("c-1", Start, 20, (StoreRoom, Start));
        bin = then switch
        {
            "culled-before" => bin.Out(Day(19), 1, "culled-rot").Saw(Day(20), seen),
            "dry-before" => bin.Saw(Day(19), "dry").Saw(Day(20), seen),
            "dry" => bin.Saw(Day(20), seen).Saw(Day(21), "dry"),
            null => bin.Saw(Day(20), seen),
            _ => bin.Saw(Day(20), seen).Out(Day(21), 1, then),
        };
        cellar.Book = Books.Of(Books.Lot("l", Start, [bin]));
        var advice = (await cellar.AtAsync(Day(30))).Bins["c-1"].Advice;
        (advice.Says == AdviceSays.RotSeen).Should().Be(minded);
        if (minded) advice.Text
            .Should().Be($"It was {seen} on 10 Oct: take it out, sort it, and keep what touched wet or smelly pieces apart.");
    }

    [Theory]
    [InlineData(0, "Nothing measures the air in root-cellar: the estimate takes it for the middle of the crop's band", AdviceSays.NeverMeasured)]
    [InlineData(20, "No readings from root-cellar for 10 days: the estimate goes on from the last known day", AdviceSays.Silent)]
    [InlineData(28, "No readings from root-cellar for 48 hours: the estimate goes on from the last known day", AdviceSays.Silent)]
    internal async Task Air_that_nobody_measures_is_said_with_how_long(int measuredDays, string begins, AdviceSays says)
    {
        await using var cellar = await WithRoomsAsync();
        if (measuredDays > 0) await cellar.AirAsync(StoreRoom, Start, Day(measuredDays), 5, 92);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start))]));
        var advice = (await cellar.AtAsync(Day(30))).Bins["c-1"].Advice;
        (advice.Code, advice.Says, advice.Text).Should().Be(("dark", says, advice.Text));
        advice.Text.Should().StartWith(begins);
    }
}
