using System.Net;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>A crop the table does not have is described, and then it is a crop like any other.</summary>
public sealed class OwnCropTests
{
    private const string Medlar =
        """{"event":"crop-described","crop":"Medlar","like":"pear","figures":{"storage":{"temperature":"34 to 46 F","humidity":"80 to 90 %"}}}""";

    private const string Picked =
        """{"event":"dug","lot":"M","crop":"medlar","weightKg":30},{"event":"filled","bin":"M1","lot":"M","weightKg":20,"place":"cellar"}""";

    [Theory]
    [InlineData("""{"event":"promised","order":"O1","crop":"potatoe tree","weightKg":1}""", "crop: 'potatoe tree' is not in the crop table")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potatoo"}""", "crop: 'potatoo' is not in the crop table. Did you mean potato?")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"xyzzyx"}""", "crop: 'xyzzyx' is not in the crop table. See them all: rootcellar crops",
        "described first: {\"event\":\"crop-described\",\"crop\":\"xyzzyx\"")]
    [InlineData("""{"event":"row-planted","row":"7","crop":"medlar"}""", "crop: 'medlar' is not in the crop table")]
    [InlineData("""{"event":"crop-described","crop":"Quinces","like":"pear"}""", "Crop Quinces, field crop: it is in the crop table already, as quince")]
    [InlineData("""{"event":"crop-described","crop":"Medlar","like":"peer"}""", "Crop Medlar, field like: \"peer\" is not in the crop table. Did you mean pear?")]
    [InlineData("""{"event":"crop-described","crop":"Medlar","like":"pear","figures":{"storage":{"temperature":"32-40","humidity":"80 to 90 %"}}}""",
        "Crop Medlar, field storage.temperature: \"32-40\" cannot be read; write \"32 to 40 F\"")]
    [InlineData("""{"event":"crop-described","crop":"Medlar","like":"pear","figures":{"storage":{"temperature":"20 to 40 F","humidity":"80 to 90 %"}}}""",
        "field storage.temperature: 20 to 40 F begins where it freezes, -1.6 C")]
    [InlineData("""{"event":"crop-described","crop":"Medlar","like":"pear","figures":{"storage":{"temperature":"34 to 35 F","humidity":"80 to 90 %"}}}""",
        "is too narrow to hold")]
    [InlineData("""{"event":"crop-described","crop":"Medlar","like":"pear","figures":{"stroage":{}}}""", "field stroage: is not known here; known are")]
    [InlineData("""{"event":"crop-described","crop":"Medlar","like":"pear","figures":[]}""", "figures: an object, such as")]
    [InlineData("""{"event":"crop-described","crop":"Medlar","like":"pear","figures":{"aliases":["apple"]}}""", "field aliases: \"apple\" is apple in the crop table")]
    [InlineData("""{"event":"crop-described","crop":"Medlar","figures":{"harvest":"picked"}}""", "Crop Medlar, field storageLife: is missing")]
    public async Task What_nobody_knows_is_refused_with_what_would_be_right(string json, params string[] says)
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var entry = EventReader.Read(Bookkeeping.Parse(json), books.Door.Now, out var wrong);
        wrong ??= (await books.Door.TakeAsync([entry!], null, "test")).Should().BeOfType<LedgerAnswer.Wrong>().Which.Detail;
        wrong.Should().ContainAll(says);
        books.Door.Book.Entries.Should().HaveCount(3, "nothing was kept");
    }

    [Fact]
    public async Task It_is_known_at_once_by_any_case_and_through_a_restart_an_export_and_an_import()
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync($"[{Medlar},{Picked}]");
        Known(books.Door.Book);
        await books.RestartAsync();
        Known(books.Door.Book);

        var csv = new StringWriter();
        books.Store.Read(from => LedgerCsv.Export(from, csv, DateTimeOffset.MinValue, DateTimeOffset.MaxValue));
        using var other = LedgerCsvTests.Empty();
        Import(other, csv.ToString()).Should().Be(3);
        using var empty = LedgerCsvTests.Empty();
        var without = string.Join('\n', csv.ToString().Split('\n').Where(l => !l.Contains("crop-described", StringComparison.Ordinal)));
        FluentActions.Invoking(() => Import(empty, without)).Should().Throw<CsvProblemException>().Which.Message.Should()
            .Contain("crop: 'medlar' is not in the crop table");

        // What bins hold cannot be taken out of the table.
        (await books.TakeAsync("""{"event":"correction","of":1,"void":true}""")).Should().BeOfType<LedgerAnswer.Wrong>()
            .Which.Detail.Should().Contain("is not in the crop table");

        static int Import(Microsoft.Data.Sqlite.SqliteConnection into, string text) => LedgerCsv.Import(
            into, new StringReader(text), Sample.At.AddDays(1), RootCellar.Household.HouseholdCalendar.Utc, looked: true);

        static void Known(Book book)
        {
            var lot = book.Lots["M"];
            (lot.Crop, lot.Known!.Like, lot.Known.Name).Should().Be(("Medlar", "pear", "Medlar"));
            lot.Known.Storage.Should().Match<RootCellar.Science.Crops.StorageBand>(
                b => b.PrintedTemperature == "34 to 46 F" && b.HumidityLowPercent == 80 && b.Source == "the household");
            lot.Known.Ideal.Source.Should().StartWith("as Pear, European: ");
            lot.Known.Canning.Should().BeEmpty("what was tested of pears was not tested of medlars");
            lot.Known.BushelKg.Should().BeNull();
            book.Crops.Find("MEDLAR").Should().BeSameAs(lot.Known);
        }
    }

    [Fact]
    public async Task A_page_adds_it_and_everything_knows_it_without_a_restart_in_this_house_alone()
    {
        await using var site = await Site.OpenAsync();
        await using var other = await Site.OpenAsync();
        var form = await site.ReadAsync("/crops");
        foreach (var (fields, says) in new ((string, string)[], string)[]
        {
            ([("name", "")], "What is the crop called?"),
            ([("name", "Quince")], "Quince is in the list already, as Quince."),
            ([("name", "Medlar"), ("like", "pear"), ("cold", "34")], "Give all four of them, or none."),
            ([("name", "Medlar"), ("cold", "34"), ("warm", "46"), ("dry", "80"), ("damp", "90")], "say also what it keeps like"),
            ([("name", "Medlar"), ("like", "pear"), ("cold", "20"), ("warm", "46"), ("dry", "80"), ("damp", "90")], "These limits cannot be held."),
        })
            (await site.SendAsync("/crops", form, fields)).Words.Should().Contain(says);
        var added = await site.SendAsync("/crops", form, ("name", "Medlar"), ("like", "pear"), ("cold", "34"), ("warm", "46"), ("dry", "80"), ("damp", "90"));
        (added.Status, added.Location).Should().Be((HttpStatusCode.Found, "/log/dug?crop=Medlar"));
        (await site.WordsAsync("/crops")).Should().Contain("Medlar · like Pear, European");

        (await site.WordsAsync(added.Location!)).Should().ContainAll("Pick a crop", "Picked on");
        await site.LogAsync("dug", null, ("lot", "M"), ("crop", "Medlar"));
        await site.LogAsync("filled", "M1", ("lot", "M"), ("amount", "40"), ("place", "cellar"));
        (await site.WordsAsync("/bins/M1")).Should().ContainAll("Medlar, picked", "Canned");
        (await site.WordsAsync("/log/culled?bin=M1")).Should().Contain("scald").And.NotContain("green");
        (await site.WordsAsync("/log/canned?bin=M1")).Should().Contain("Can by a tested process only.");
        (await site.WordsAsync("/log/promised")).Should().Contain("Medlar");
        (await site.WordsAsync("/log/row-planted")).Should().Contain("Medlar");
        (await site.WordsAsync("/set-up")).Should().Contain("Medlar");

        // The room's band takes it in: 80 to 90 % are the medlars'.
        await Sample.UntilAsync(() => site.Services.GetRequiredService<Pipeline>().Snapshot.Place("cellar") is { Band: { } band }
            && band.Why.Concat(band.Conflicts).Any(r => r.Crop == "Medlar" && r.Wish.HumidityLowPercent == 80 && r.Source == "the household"));

        (await other.WordsAsync("/log/dug")).Should().NotContain("Medlar");
        (await other.PostJsonAsync("/api/ledger", """{"event":"dug","lot":"M","crop":"medlar"}""")).StatusCode.Should().Be(HttpStatusCode.BadRequest);
    }

    [Fact]
    public async Task Its_estimate_is_said_to_be_another_crops_and_one_that_is_like_none_has_none()
    {
        await using var site = await Site.OpenAsync();
        await site.WriteAsync($$"""
            [{{Medlar}},{{Picked}},{"event":"crop-described","crop":"Yacón"},
             {"event":"dug","lot":"Y","crop":"yacón"},{"event":"filled","bin":"Y1","lot":"Y","weightKg":7,"place":"cellar"}]
            """);
        site.Time.Advance(TimeSpan.FromHours(2));
        await Sample.UntilAsync(() => site.Lots.Views.Bins.ContainsKey("M1") && site.Lots.Views.NotFollowed.Contains("Y1"));
        site.Lots.Views.Bins["M1"].Said.Should().Contain(s => s.StartsWith("Medlar is reckoned like pear", StringComparison.Ordinal));
        (await site.WordsAsync("/bins/M1")).Should().Contain("Figured as pear, european is, which it is said to keep like: a guess.");
        site.Lots.Views.Unfollowed["Y"].Why.Should().Be(WhyUnfollowed.Crop);
        (await site.WordsAsync("/bins/Y1")).Should().Contain("Yacón").And.Contain("15.4");
        (await site.WordsAsync("/log/dug")).Should().Contain("Yacón");
    }

    [Fact]
    public async Task A_file_beside_the_record_is_taken_into_the_book_once_and_again_where_it_changed()
    {
        using var folder = new TempFolder();
        var file = Path.Combine(folder.Path, OwnCropFile.Name);
        await File.WriteAllTextAsync(file, """
            // ours
            [ { "name": "Medlar", "like": "pear", "storage": { "temperature": "34 to 46 F", "humidity": "80 to 90 %" } }, { "name": "Yacón" }, ]
            """, TestContext.Current.CancellationToken);
        await using (var site = await Site.OpenAsync(record: folder))
        {
            (site.Book.Crops.Find("medlar")!.Like, string.Join(' ', site.Book.Crops.BookOnly)).Should().Be(("pear", "Yacón"));
            site.Book.Entries.Should().HaveCount(2);
        }

        await File.WriteAllTextAsync(file, """[ { "name": "Medlar", "like": "apple" }, { "name": "Yacón" } ]""", TestContext.Current.CancellationToken);
        await using (var site = await Site.OpenAsync(record: folder))
        {
            site.Book.Crops.Find("medlar")!.Like.Should().Be("apple");
            site.Book.Entries.Should().HaveCount(3);
        }

        File.Delete(file);
        await using (var site = await Site.OpenAsync(record: folder)) site.Book.Crops.Find("medlar")!.Like.Should().Be("apple", "the record has it");

        await File.WriteAllTextAsync(file, """[ { "name": "Medlar", "like": "aple" } ]""", TestContext.Current.CancellationToken);
        (await FluentActions.Invoking(() => Site.OpenAsync(record: folder)).Should().ThrowAsync<OwnCropProblemException>())
            .Which.Message.Should().Be("crops.json, row 1: Crop Medlar, field like: \"aple\" is not in the crop table. Did you mean apple? "
                + "Right is the id of a crop it keeps like, or nothing for a crop that is known to the book only.");
    }
}
