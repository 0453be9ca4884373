using System.Net;
using System.Text.Json;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>A name that people take for another, at every door at which one is given anew.</summary>
public sealed class LookAlikeNamesTests
{
    private const string Book =
        """
        [{"event":"dug","lot":"MÖ 1","crop":"carrot"},{"event":"dug","lot":"K1","crop":"carrot"},
         {"event":"filled","bin":"MÖ 1","lot":"MÖ 1","weightKg":20,"place":"cellar"},
         {"event":"filled","bin":"K1","lot":"K1","weightKg":20,"place":"cellar"},
         {"event":"filled","bin":"Ящик 1","lot":"K1","weightKg":5,"place":"cellar"},
         {"event":"row-planted","row":"K1","crop":"beet"},{"event":"row-planted","row":"MÖ 1","crop":"beet"},
         {"event":"promised","order":"K1","crop":"carrot","weightKg":1},{"event":"promised","order":"MÖ 1","crop":"carrot","weightKg":1}]
        """;

    public static TheoryData<string, string> Alike => new()
    {
        { "mö 1", "MÖ 1" }, { "mö1", "MÖ 1" }, { "Mo\u0308 1", "MÖ 1" }, { "mo\u0308  1", "MÖ 1" }, { "МÖ 1", "MÖ 1" }, { "MO 1", "MÖ 1" },
        { "k1", "K1" }, { "К1", "K1" }, { "к 1", "K1" }, { "Κ1", "K1" }, { "Ｋ１", "K1" }, { "KI", "K1" }, { "Kl", "K1" },
    };

    [Theory]
    [MemberData(nameof(Alike))]
    public async Task It_is_asked_about_by_every_event_that_brings_a_name_in(string name, string other)
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync(Book);
        var (given, entries) = (JsonSerializer.Serialize(name), books.Book.Entries.Count);
        var filled = books.Book.Entries.Single(e => e.Event is RootCellar.Ledger.Events.Filled { Bin: "Ящик 1" }).Entry.Id;
        foreach (var (what, json) in (IEnumerable<(string, string)>)
        [
            ("bin", $$"""{"event":"filled","bin":{{given}},"lot":"K1","weightKg":5}"""),
            ("bin", $$"""{"event":"sorted","bin":"K1","into":[{"bin":"K1","weightKg":10},{"bin":{{given}},"weightKg":10}]}"""),
            ("bin", $$"""{"event":"correction","of":{{filled}},"bin":{{given}}}"""),
            ("lot", $$"""{"event":"dug","lot":{{given}},"crop":"carrot"}"""),
            ("row", $$"""{"event":"row-planted","row":{{given}},"crop":"beet"}"""),
            ("row", $$"""{"event":"dug","lot":"new","crop":"beet","row":{{given}}}"""),
            ("order", $$"""{"event":"promised","order":{{given}},"crop":"carrot","weightKg":1}"""),
        ])
        {
            var asked = (await books.TakeAsync(json)).Should().BeOfType<LedgerAnswer.Asked>(json).Which.Questions[0].Asked;
            asked.Code.Should().Be(QuestionCode.LooksAlike, json);
            (asked.Figures.GetProperty(what).GetString(), asked.Figures.GetProperty("other").GetString()).Should().Be((name, other), json);
        }

        books.Book.Entries.Should().HaveCount(entries);

        // Where a name must be there already, the one it is taken for is offered.
        foreach (var json in (string[])
        [
            $$"""{"event":"moved","bin":{{given}},"place":"cellar"}""", $$"""{"event":"eaten","bin":{{given}},"weightKg":1}""",
            $$"""{"event":"weighed","bin":{{given}},"weightKg":19}""", $$"""{"event":"filled","bin":"new","lot":{{given}},"weightKg":1}""",
            $$"""{"event":"sold","bin":"K1","weightKg":1,"order":{{given}}}""",
        ])
        {
            (await books.TakeAsync(json)).Should().BeOfType<LedgerAnswer.Asked>(json).Which.Questions[0].Asked.Figures.GetProperty("near")
                .GetString().Should().Be(other, json);
        }

        // Said to be another, it is one, and nobody asks again.
        await books.KeepAsync($$"""{"event":"filled","bin":{{given}},"lot":"K1","weightKg":5,"checked":true}""");
        await books.KeepAsync($$"""{"event":"filled","bin":{{given}},"lot":"K1","weightKg":1,"checked":true}""");
        await books.KeepAsync($$"""{"event":"eaten","bin":{{given}},"weightKg":1}""");
        books.Book.Bins[name].Grams.Should().Be(5000);
        books.Book.Bins[other].Grams.Should().Be(20_000);
    }

    [Theory]
    [InlineData("K2")]
    [InlineData("K11")]
    [InlineData("L1")]
    [InlineData("Ящик 2")]
    [InlineData("Яблоки")]
    [InlineData("MÄ 1")]
    public async Task Another_name_is_not_asked_about(string name)
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync(Book);
        await books.KeepAsync($$"""{"event":"filled","bin":{{JsonSerializer.Serialize(name)}},"lot":"K1","weightKg":5}""");
    }

    [Theory]
    [InlineData("Ящик 1", "ящик1", true)]
    [InlineData("ВИШНЯ", "вишня", true)]
    [InlineData("Weißkohl", "WEISSKOHL", true)]
    [InlineData("地下室", "地下室 1", false)]
    [InlineData("L1", "11", false)]
    [InlineData("B0", "BO", true)]
    [InlineData("S5", "SS", false)]
    public void Case_blanks_and_digits_are_folded_in_every_alphabet(string one, string other, bool alike) =>
        LookAlike.Of(one, other).Should().Be(alike);

    [Fact]
    public async Task A_book_brought_in_as_csv_has_it_among_what_is_to_be_checked()
    {
        await using var there = new Bookkeeping();
        await there.KeepAsync(Book);
        await there.KeepAsync("""{"event":"dug","lot":"R9","crop":"carrot"}""");
        using var csv = new StringWriter();
        there.Store.Read(c => LedgerCsv.Export(c, csv, DateTimeOffset.MinValue, DateTimeOffset.MaxValue));

        // As another program would have written it: nobody was asked.
        var text = csv.ToString().Replace("R9", "к 1", StringComparison.Ordinal);
        text.Should().NotBe(csv.ToString());
        await using var here = new Bookkeeping();
        await here.Store.WriteAsync(c => LedgerCsv.Import(c, new StringReader(text), here.Time.GetUtcNow(), here.Door.Calendar, looked: false));
        here.Door.Load();
        here.Book.Doubts.Should().Contain(d => d.Code == QuestionCode.LooksAlike && d.Question.Text.Contains("lot K1", StringComparison.Ordinal));
    }

    [Fact]
    public async Task The_forms_ask_in_their_words_and_take_the_answer()
    {
        await using var site = await Site.OpenAsync("kg", zone: "UTC");
        await site.WriteAsync(Book);
        var form = await site.ReadAsync("/log/filled");
        var asked = await site.SendAsync("/log/filled", form, ("bin", "mö 1"), ("lot", "K1"), ("amount", "5"), ("unit", "kg"), ("place", "cellar"));
        asked.Words.Should().Contain("There is a bin MÖ 1 already, which reads like mö 1. Is this another bin?");
        site.Book.Bins.Should().NotContainKey("mö 1");
        (await site.SendAsync("/log/filled", asked.Html, ("bin", "mö 1"), ("lot", "K1"), ("amount", "5"), ("unit", "kg"), ("place", "cellar"),
            ("answer", "checked"))).Status.Should().Be(HttpStatusCode.Found);
        site.Book.Bins["mö 1"].Grams.Should().Be(5000);

        asked = await site.SendAsync("/log/dug", await site.ReadAsync("/log/dug"), ("lot", "К1"), ("crop", "carrot"));
        asked.Words.Should().Contain("There is a lot K1 already, which reads like К1. Is this another lot?");
        asked = await site.SendAsync("/log/promised", await site.ReadAsync("/log/promised"), ("order", "k1"), ("crop", "carrot"), ("amount", "1"), ("unit", "kg"));
        asked.Words.Should().Contain("There is an order K1 already, which reads like k1. Is this another order?");
        asked = await site.SendAsync("/log/row-planted", await site.ReadAsync("/log/row-planted"), ("row", "mö1"), ("crop", "beet"));
        asked.Words.Should().Contain("There is a row MÖ 1 already, which reads like mö1. Is this another row?");
    }

    [Fact]
    public async Task Two_places_do_not_go_by_one_name()
    {
        await using var site = await Site.OpenAsync(zone: "UTC");
        foreach (var (id, name) in (IEnumerable<(string, string)>)[("Cellar", "Below"), ("c2", "CELLAR"), ("c2", "Сellar"), ("c2", "Ce llar")])
        {
            using var made = await site.PostJsonAsync("/api/places", JsonSerializer.Serialize(new { place = id, name, purpose = "storage" }));
            made.StatusCode.Should().Be(HttpStatusCode.Conflict, name);
            (await made.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)).Should().Contain("There is a place 'Cellar' (cellar) already");
        }

        var setUp = await site.ReadAsync("/set-up");
        var taken = await site.SendAsync("/set-up?handler=Place", setUp, ("existing", "false"), ("name", "Yаrd"), ("purpose", "Storage"), ("id", "c2"),
            ("shortName", "Hof"));
        taken.Words.Should().Contain("There is a place Yard already, and one name is read for the other.");
        Site.Field(taken.Html, "name").Should().Be("Yаrd", "what was typed is still there");
        (await site.ReadAsync("/api/places")).Should().NotContain("\"c2\"");

        using var shed = await site.PostJsonAsync("/api/places", """{"place":"shed","name":"Shed","purpose":"storage"}""");
        shed.StatusCode.Should().Be(HttpStatusCode.Created);
        (await site.SendJsonAsync(HttpMethod.Patch, "/api/places/shed", """{"name":"cellar"}""")).Status.Should().Be(HttpStatusCode.Conflict);
        (await site.SendJsonAsync(HttpMethod.Patch, "/api/places/shed", """{"shortName":"CELLAR"}""")).Status.Should().Be(HttpStatusCode.Conflict);
        (await site.SendJsonAsync(HttpMethod.Patch, "/api/places/shed", """{"name":"The shed"}""")).Status.Should().Be(HttpStatusCode.OK);
        (await site.SendJsonAsync(HttpMethod.Patch, "/api/places/shed", """{"volumeM3":9}""")).Status.Should().Be(HttpStatusCode.OK);
    }
}
