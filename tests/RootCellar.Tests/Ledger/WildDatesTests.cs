using System.Net;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Ledger;
using RootCellar.Storage;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>Years that cannot be, and years that hardly can: by every door into the ledger. It is October 2025.</summary>
public sealed class WildDatesTests
{
    private static readonly string[] All = ["at", "dugOn", "plantedOn", "row plantedOn", "on", "due", "rightAt", "correction dugOn"];

    public static TheoryData<string> Fields => [.. All];

    public static TheoryData<string> Impossible => ["0026", "1000", "1726", "1926", "1969", "2101", "9999"];

    [Theory]
    [MemberData(nameof(Impossible))]
    public async Task A_year_that_cannot_be_is_refused_whoever_insists(string year)
    {
        await using var books = await BookAsync();
        foreach (var field in All)
        {
            foreach (var insist in (string[])["", "\"checked\":true,", "\"keep\":true,"])
            {
                var json = Event(field, year).Insert(1, insist);
                EventReader.Examine(Bookkeeping.Parse(json), books.Door.Now, out var wrong).Should().BeNull(json);
                wrong!.Text.Should()
                    .Contain($"of the year {int.Parse(year, System.Globalization.CultureInfo.InvariantCulture)}, which cannot be").And.Contain("1970 to 2100", json);
            }
        }
    }

    [Theory]
    [InlineData("at", "1975", "long-ago")]
    [InlineData("at", "2027", "future")]
    [InlineData("dugOn", "1975", "long-ago")]
    [InlineData("dugOn", "2023", "long-ago")]
    [InlineData("dugOn", "2027", "future")]
    [InlineData("plantedOn", "1975", "long-ago")]
    [InlineData("row plantedOn", "1975", "long-ago")]
    [InlineData("row plantedOn", "2027", "future")]
    [InlineData("on", "2027", "future")]
    [InlineData("due", "2029", "far-off")]
    [InlineData("due", "2099", "far-off")]
    [InlineData("rightAt", "1975", "long-ago")]
    [InlineData("rightAt", "2027", "future")]
    [InlineData("correction dugOn", "1975", "long-ago")]
    [InlineData("correction dugOn", "2027", "future")]
    public async Task A_year_that_hardly_can_be_is_asked_about_and_taken_on_a_persons_word(string field, string year, string code)
    {
        await using var books = await BookAsync();
        var json = Event(field, year);
        var asked = (await books.TakeAsync(json)).Should().BeOfType<LedgerAnswer.Asked>(json).Which.Questions[0];
        asked.Code.Should().Be(code);
        asked.Question.Should().Contain(year);
        var kept = (await books.KeepAsync(json.Insert(1, "\"keep\":true,")))[0];
        books.Book.Find(kept.Id)!.Question!.Code.Should().Be(code);
        await books.KeepAsync(json.Insert(1, "\"checked\":true,"));
    }

    [Theory]
    [InlineData("""{"event":"dug","lot":"X","crop":"potato","dugOn":"2025-10-04"}""")]
    [InlineData("""{"event":"dug","lot":"X","crop":"potato","dugOn":"2023-10-05"}""")]
    [InlineData("""{"event":"promised","order":"O1","crop":"potato","weightKg":1,"due":"2027-09-30"}""")]
    [InlineData("""{"event":"row-planted","row":"7","crop":"potato","plantedOn":"2025-04-20"}""")]
    public async Task An_ordinary_date_is_not_asked_about(string json)
    {
        await using var books = await BookAsync();
        await books.KeepAsync(json);
    }

    [Theory]
    [MemberData(nameof(Impossible))]
    public async Task The_api_says_what_would_be_right(string year)
    {
        await using var site = await Site.OpenAsync();
        using var program = await Visitor.TokenAsync(site, "write");
        var answer = await program.JsonAsync("POST", "/api/ledger", Event("dugOn", year));
        answer.Status.Should().Be(HttpStatusCode.BadRequest);
        answer.Html.Should().Contain("which cannot be").And.Contain("1970 to 2100");
        (await program.JsonAsync("POST", "/api/ledger", Event("dugOn", "1975"))).Status.Should().Be(HttpStatusCode.Conflict);
        site.Entries.Should().BeEmpty();
    }

    [Fact]
    public async Task Half_a_character_is_no_fault_of_the_service()
    {
        await using var site = await Site.OpenAsync();
        using var program = await Visitor.TokenAsync(site, "write");
        var answer = await program.JsonAsync("POST", "/api/ledger", """{"event":"dug","lot":"\ud800","crop":"potato"}""");
        (answer.Status, answer.Html.Contains("half a character", StringComparison.Ordinal)).Should().Be((HttpStatusCode.BadRequest, true));
    }

    [Theory]
    [InlineData("dugOn", "0026-10-03", "can't be right. Write a year from 1970 to 2100.", false)]
    [InlineData("dugOn", "9999-12-31", "can't be right. Write a year from 1970 to 2100.", false)]
    [InlineData("plantedOn", "1000-05-01", "can't be right. Write a year from 1970 to 2100.", false)]
    [InlineData("when", "0001-01-01T00:10", "can't be right. Write a year from 1970 to 2100.", false)]
    [InlineData("when", "9999-12-31T23:50", "can't be right. Write a year from 1970 to 2100.", false)]
    [InlineData("dugOn", "1975-10-03", "is more than 2 years back. Is the year right?", true)]
    [InlineData("dugOn", "2027-10-03", "is in the future. Is the date right?", true)]
    [InlineData("when", "2027-10-03T10:00", "is in the future. Is the date right?", true)]
    public async Task The_phone_form_asks_and_takes_a_yes(string field, string value, string says, bool canBe)
    {
        await using var site = await Site.OpenAsync();
        (string, string)[] typed = [("lot", "R9"), ("crop", "potato"), (field, value)];
        var asked = await site.SendAsync("/log/dug", await site.ReadAsync("/log/dug"), typed);
        asked.Status.Should().Be(HttpStatusCode.OK);
        asked.Words.Should().Contain(says);
        site.Entries.Should().BeEmpty();
        var yes = await site.SendAsync("/log/dug", asked.Html, [.. typed, ("answer", "checked")]);
        yes.Status.Should().Be(canBe ? HttpStatusCode.Found : HttpStatusCode.OK);
        site.Entries.Should().HaveCount(canBe ? 1 : 0);
    }

    [Theory]
    [InlineData("dug", "2025-10-04T06:00:00Z", "{\"lot\":\"R1\",\"crop\":\"potato\",\"dugOn\":\"0026-10-03\"}",
        "dugOn: '0026-10-03' is of the year 26, which cannot be", false)]
    [InlineData("dug", "1726-10-04T06:00:00Z", "{\"lot\":\"R1\",\"crop\":\"potato\"}", "at: '1726-10-04T06:00:00Z' is not a time", false)]
    [InlineData("dug", "2025-10-04T06:00:00Z", "{\"lot\":\"R1\",\"crop\":\"potato\",\"dugOn\":\"1975-10-03\"}",
        "dugOn: 1975-10-03 is more than 2 years before it was written down", true)]
    [InlineData("dug", "1975-10-04T06:00:00Z", "{\"lot\":\"R1\",\"crop\":\"potato\"}",
        "at: 1975-10-04 is more than 2 years before it was written down", true)]
    [InlineData("dug", "2027-10-04T06:00:00Z", "{\"lot\":\"R1\",\"crop\":\"potato\"}", "was to come when it was written down", true)]
    [InlineData("dug", "2025-10-04T06:00:00Z", "{\"lot\":\"..\",\"crop\":\"potato\"}", "lot: '..' cannot be a name", true)]
    public async Task An_import_asks_for_a_persons_word(string what, string at, string fields, string says, bool canBe)
    {
        using var folder = new TempFolder();
        var file = Path.Combine(folder.Path, "book.csv");
        await File.WriteAllTextAsync(
            file,
            $"id,event,at,recorded_at,by,note,of,question,fields,key,key_index,print\n1,{what},{at},2025-10-04T06:00:00Z,,,,,\"{fields.Replace("\"", "\"\"", StringComparison.Ordinal)}\",,,\n",
            TestContext.Current.CancellationToken);
        var (code, error) = await ImportAsync(folder, file);
        code.Should().Be(2);
        error.Should().Contain("Line 2: ").And.Contain(says).And.Contain("Nothing was taken.");
        if (canBe) error.Should().Contain("--checked");
        (code, error) = await ImportAsync(folder, file, "--checked");
        code.Should().Be(canBe ? 0 : 2, error);
    }

    [Fact]
    public async Task What_a_person_has_said_to_be_so_is_not_asked_again_on_the_way_into_another_record()
    {
        await using var books = await BookAsync();
        await books.KeepAsync("""{"event":"dug","lot":"OLD","crop":"potato","dugOn":"1975-10-03","checked":true}""");
        using var csv = new StringWriter();
        books.Store.Read(c => LedgerCsv.Export(c, csv, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue));
        using var other = StoreFile.OpenForWriting("Data Source=:memory:", "memory");
        LedgerCsv.Import(other, new StringReader(csv.ToString()), Sample.At.AddDays(1), RootCellar.Household.HouseholdCalendar.Utc,
            looked: false).Should().Be(books.Book.Entries.Count);
    }

    private static async Task<(int Code, string Error)> ImportAsync(TempFolder folder, params string[] more)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        var code = await RootCellar.Commands.CommandLine.RunAsync(
            ["import", "--what", "ledger", .. more, "--data", folder.Path], output, error, TestContext.Current.CancellationToken);
        SqliteConnection.ClearAllPools();
        return (code, error.ToString());
    }

    private static async Task<Bookkeeping> BookAsync()
    {
        var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"row-planted","row":"1","crop":"potato","plantedOn":"2025-05-01","at":"2025-05-01T09:00:00Z"}""");
        return books;
    }

    private static string Event(string field, string year) => field switch
    {
        "at" => $$"""{"event":"dug","lot":"X","crop":"potato","at":"{{year}}-10-03T10:00:00Z"}""",
        "dugOn" => $$"""{"event":"dug","lot":"X","crop":"potato","dugOn":"{{year}}-10-03"}""",
        "plantedOn" => $$"""{"event":"dug","lot":"X","crop":"potato","plantedOn":"{{year}}-05-03"}""",
        "row plantedOn" => $$"""{"event":"row-planted","row":"9","crop":"potato","plantedOn":"{{year}}-05-03"}""",
        "on" => $$"""{"event":"vines-dead","row":"1","on":"{{year}}-09-03"}""",
        "due" => $$"""{"event":"promised","order":"O9","crop":"potato","weightKg":2,"due":"{{year}}-12-03"}""",
        "rightAt" => $$"""{"event":"correction","of":{{(year == "1975" ? 1 : 4)}},"rightAt":"{{year}}-10-01T07:00:00Z"}""",
        _ => $$"""{"event":"correction","of":1,"dugOn":"{{year}}-10-01"}""",
    };
}
