using System.Text.RegularExpressions;
using RootCellar.Lots;
using RootCellar.Tests.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Pages;

/// <summary>Each crop has its own words: how it comes in, what is asked of it, for what it is culled, how it is canned.</summary>
public sealed class WordsByCropTests
{
    private const string Apples =
        """[{"event":"dug","lot":"Pippin","crop":"apple"},{"event":"filled","bin":"A1","lot":"Pippin","weightKg":10,"place":"cellar"}]""";

    [Fact]
    public async Task An_apple_is_picked_and_nobody_asks_it_for_its_skin_or_late_blight()
    {
        await using var site = await Site.OpenAsync();
        await site.WriteAsync(Apples);
        var form = await site.ReadAsync("/log/dug");
        Site.Words(form).Should().ContainAll("Pick a crop", "Picked on", "How much was picked? (optional)");
        Hidden(form).Should().Equal("late-blight", "skin", "wet-soil");

        await site.FillAsync();
        form = await site.ReadAsync("/log/dug");
        Site.Words(form).Should().ContainAll("Dig a row", "Dug on", "How much was dug? (optional)");
        Hidden(form).Should().BeEmpty();
    }

    [Fact]
    public async Task An_apple_is_culled_for_what_apples_are_culled_for_and_canned_as_fruit()
    {
        await using var site = await Site.OpenAsync();
        await site.WriteAsync(Apples);
        await site.FillAsync();
        (await site.WordsAsync("/log/culled?bin=A1")).Should().ContainAll("bitter pit", "scald", "wasps").And.NotContainAny("green", "sprouted");
        (await site.WordsAsync("/log/culled?bin=B1")).Should().ContainAll("green", "sprouted").And.NotContainAny("bitter pit", "wasps");
        (await site.WordsAsync("/log/canned?bin=A1")).Should().Contain("process of its own kind");
        (await site.WordsAsync("/log/canned?bin=B1")).Should().Contain("tested pressure process");
        (await site.WordsAsync("/bins/A1")).Should().NotContain("Sprouts seen");
        (await site.WordsAsync("/bins/B1")).Should().Contain("Sprouts seen");

        await site.LogAsync("culled", "A1", ("amount", "2"), ("choice", "bitter-pit"));
        (await site.WordsAsync("/bins/A1")).Should().Contain("bitter pit");
        site.Book.Outs.Should().ContainSingle(o => o.Reason == "culled-bitter-pit");
    }

    [Fact]
    public async Task What_is_kept_to_plant_is_not_eaten_or_canned()
    {
        await using var site = await Site.OpenAsync();
        await site.WriteAsync(
            """[{"event":"dug","lot":"D","crop":"dahlia"},{"event":"filled","bin":"D1","lot":"D","weightKg":4,"place":"cellar"}]""");
        var words = await site.WordsAsync("/bins/D1");
        words.Should().ContainAll("Dahlia tubers, lifted", "Planted").And.NotContainAny("Eaten", "Canned");
    }

    [Fact]
    public async Task Onions_that_were_seen_to_sprout_are_used_first_until_they_are_sorted_out()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(60), 2, 70);
        var still = Bin("o-1");
        var seen = Bin("o-2").SawSprouts(Start.AddDays(40), "few");
        cellar.Book = Books.Of(Books.Lot("O", Start, [still, seen], "onion"));
        var views = await cellar.AtAsync(Start.AddDays(45));
        (views.UseRank("o-2"), views.UseRank("o-1")).Should().Be((1, 2), "by name alone it would be the other way round");
        (views.Bins["o-2"].Advice.Says, views.Bins["o-2"].Advice.Code).Should().Be((AdviceSays.SproutsSeen, "sprouting"));
        views.Bins["o-1"].Advice.Says.Should().Be(AdviceSays.Nothing);

        cellar.Book = Books.Of(Books.Lot(
            "O", Start, [still, seen.Out(Start.AddDays(44), 1, "culled-sprouted")], "onion"));
        views = await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken);
        views.Bins["o-2"].Advice.Says.Should().Be(AdviceSays.Nothing);

        static RootCellar.Ledger.BinView Bin(string bin) => Books.Bin(bin, Start, 10, (StoreRoom, Start));
    }

    /// <summary>What the form has and does not ask.</summary>
    private static IEnumerable<string> Hidden(string form) =>
        Regex.Matches(form, "data-asked=\"(?<sign>[^\"]+)\" hidden", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(1)).Select(m => m.Groups["sign"].Value)
            .Order(StringComparer.Ordinal);
}
