using System.Net;
using RootCellar.Ledger;
using RootCellar.Tests.Lots;

namespace RootCellar.Tests.Pages;

/// <summary>How produce lies and how big its pieces are is asked when a bin is filled, and the estimate goes by it.</summary>
public class HowItLiesTests
{
    [Fact]
    public async Task The_form_asks_it_offers_the_last_choice_and_the_book_has_it()
    {
        await using var site = await Site.OpenAsync();
        await site.LogAsync("dug", null, ("lot", "2025-1"), ("crop", "potato"), ("variety", "Kennebec"));
        (await site.ReadAsync("/log/filled")).Should().NotMatchRegex("<option value=\"sack\"[^>]*selected");
        var there = await site.LogAsync("filled", "B1", ("lot", "2025-1"), ("amount", "52.2"), ("unit", "lb"), ("place", "curing"),
            ("lies", "sack"), ("piece", "5"), ("tare", "2.2"));
        var bin = site.Book.Bins["B1"];
        (bin.Lies, Math.Round(bin.PieceKg!.Value, 3), Math.Round(bin.TareKg!.Value, 2)).Should().Be(("sack", 0.142, 1.0));
        bin.Grams.Should().BeCloseTo(22_680, 5, "the empty bin is taken off");
        (await site.WordsAsync(there)).Should().Contain("in a sack").And.Contain("5 oz each").And.Contain("empty bin 2.2 lb");
        (await site.ReadAsync("/log/filled")).Should().MatchRegex("<option value=\"sack\"[^>]*selected", "the last choice is offered");
        Site.Field(await site.ReadAsync("/log/weighed?bin=B1"), "tare").Should().Be("2.2", "it is remembered from the filling");

        var id = site.Book.Entries[^1].Entry.Id;
        var correct = await site.ReadAsync($"/log/correct/{id}");
        correct.Should().MatchRegex("<option value=\"sack\"[^>]*selected");
        (await site.ReadAsync("/api/bins/B1")).Should().Contain("\"lies\":\"sack\"").And.Contain("\"pieceKg\":0.14");
    }

    [Theory]
    [InlineData("\"lies\":\"shelf\"", "lies")]
    [InlineData("\"pieceKg\":0", "pieceKg")]
    [InlineData("\"tareKg\":30", "cannot be heavier")]
    public async Task What_is_no_way_to_lie_is_refused_with_what_would_be_right(string field, string says)
    {
        await using var site = await Site.OpenAsync();
        await site.LogAsync("dug", null, ("lot", "2025-1"), ("crop", "potato"));
        using var answer = await site.PostJsonAsync("/api/ledger", $$"""{"event":"filled","bin":"B1","lot":"2025-1","weightKg":20,{{field}}}""");
        answer.StatusCode.Should().Be(HttpStatusCode.BadRequest);
        (await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)).Should().Contain(says);
    }

    [Fact]
    public async Task Bins_that_lie_otherwise_lose_otherwise_and_what_is_sorted_from_one_lies_as_it_did()
    {
        await using var cellar = await WhatToDoTests.StoredAsync(5, 80);
        BinView Bin(string id, string? lies, double? pieceKg = null) =>
            Books.Bin(id, Cellar.Start, 20, (Cellar.StoreRoom, Cellar.Start)) with { Lies = lies, PieceKg = pieceKg };
        cellar.Book = Books.Of(Books.Lot("l", Cellar.Start,
            [Bin("none", null), Bin("layer", "layer"), Bin("crate", "crate"), Bin("heap", "heap"), Bin("small", "layer", 0.03)]));
        var bins = (await cellar.AtAsync(Cellar.Start.AddDays(60))).Bins;
        double Lost(string bin) => 20 - bins[bin].Kg.Value;
        Lost("layer").Should().BeGreaterThan(1.1 * Lost("crate"));
        Lost("heap").Should().BeLessThan(Lost("crate"));
        Lost("none").Should().Be(Lost("crate"), "a crate where nobody said");
        Lost("small").Should().NotBe(Lost("layer"));
        cellar.Replay().Agree.Should().BeTrue();

        var book = Books.Stored("""
            [{"event":"dug","at":"2025-10-01T08:00:00Z","lot":"L","crop":"potato"},
             {"event":"filled","at":"2025-10-01T09:00:00Z","bin":"A","lot":"L","weightKg":20,"lies":"heap","pieceKg":0.2},
             {"event":"sorted","at":"2025-10-09T09:00:00Z","bin":"A","into":[{"bin":"B","weightKg":12},{"bin":"C","weightKg":8}]}]
            """);
        book.Bins["B"].Lies.Should().Be("heap");
        book.Bins["C"].PieceKg.Should().Be(0.2);
    }
}
