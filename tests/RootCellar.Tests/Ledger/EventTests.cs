using System.Text.Json;
using System.Text.RegularExpressions;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>Every kind of event: in one place in the program, the same on every way out and back, and told of in the documents.</summary>
public sealed partial class EventTests
{
    /// <summary>Each kind with every field it has; another a line where two of them exclude each other.</summary>
    private static readonly string[] Examples =
    [
        """{"event":"dug","lot":"L1","crop":"potato","variety":"Kennebec","row":"3","plantedOn":"2026-05-12","dugOn":"2026-10-03","skin":"set","weightKg":100,"flags":["wet-soil","rot-seen"],"pulpC":12.5,"checked":true}""",
        """{"event":"dug","lot":"L1","crop":"potato","dugOn":"2026-10-03T16:30:00-05:00"}""",
        """{"event":"filled","bin":"B1","lot":"L1","weightKg":22.7,"grade":"table","place":"cellar","lies":"sack","pieceKg":0.15,"tareKg":1.2}""",
        """{"event":"filled","bin":"B1","lot":"L1","measure":{"amount":2,"unit":"bushel","kgPerUnit":27.2,"source":"a scale","as":"whole"}}""",
        """{"event":"moved","bin":"B1","place":"cellar"}""",
        """{"event":"crop-described","crop":"Medlar","like":"pear","figures":{"storage":{"temperature":"34 to 46 F","humidity":"80 to 90 %"}}}""",
        """{"event":"weighed","bin":"B1","weightKg":24,"tareKg":1.5,"resolutionKg":0.05}""",
        """{"event":"weighed","bin":"B1","weightKg":0}""",
        """{"event":"sorted","bin":"B1","into":[{"bin":"B1","grade":"table","place":"cellar","weightKg":12},{"bin":"B2","measure":{"amount":10,"unit":"lb"}},{"bin":"B3","weightKg":0}]}""",
        """{"event":"culled","bin":"B1","weightKg":0.6,"reason":"rot","order":"o","empties":true}""",
        """{"event":"sold","bin":"B1","weightKg":20,"order":"school","empties":true}""",
        """{"event":"canned","bin":"B1","measure":{"amount":7,"unit":"quart","kgPerUnit":1.1,"source":"a table","as":"cubed"},"order":"o","empties":true}""",
        """{"event":"eaten","bin":"B1","weightKg":3,"order":"o","empties":true}""",
        """{"event":"given","bin":"B1","weightKg":3,"order":"o","empties":true}""",
        """{"event":"planted","bin":"B1","weightKg":3,"order":"o","empties":true}""",
        """{"event":"promised","order":"school","crop":"potato","grade":"table","weightKg":60,"due":"2026-11-07"}""",
        """{"event":"sprouts-seen","bin":"B1","share":"few","length":2}""",
        """{"event":"condition-seen","bin":"B1","what":"soft"}""",
        """{"event":"row-planted","row":"3","crop":"potato","variety":"Kennebec","plantedOn":"2026-05-12","maturity":"mid","lengthFt":220,"lot":"L1"}""",
        """{"event":"row-planted","row":"3","crop":"potato","maturityDays":90,"lengthM":30}""",
        """{"event":"vines-dead","row":"3","on":"2026-09-10","how":"mown"}""",
        """{"event":"correction","of":1,"weightKg":99,"rightAt":"2026-10-03T17:00:00Z","rightNote":"a slip","skin":null}""",
    ];

    /// <summary>
    /// What only looks like the name of an event: the figures of a question, which have names of their own, and words and places of the
    /// English report.
    /// </summary>
    private static readonly Dictionary<string, string[]> Others = new(StringComparer.Ordinal)
    {
        ["QuestionWords.cs"] = ["dug", "filled", "given", "planted"],
        ["QuestionWords.Refusals.cs"] = ["given"],
        ["ReportValues.cs"] = ["culled", "dug"],
        ["ReportWords.cs"] = ["culled", "filled"],
        ["SensorWords.cs"] = ["correction"],
    };

    public static TheoryData<string> Every => [.. Examples];

    [Fact]
    public void Every_kind_has_an_example_with_every_field_it_has()
    {
        foreach (var kind in EventKinds.All)
        {
            var fields = Examples.Select(Bookkeeping.Parse).Where(e => e.GetProperty("event").GetString() == kind.Name).SelectMany(Names)
                .ToHashSet(StringComparer.Ordinal);
            fields.Should().NotBeEmpty(kind.Name);
            if (kind == Correction.Event) continue;
            fields.Should().Contain(FieldsOf(kind).Except(["checked", "measure", "weightKg"], StringComparer.Ordinal), kind.Name);
        }

        static IEnumerable<string> Names(JsonElement of) => of.EnumerateObject().Select(p => p.Name);
    }

    [Theory]
    [MemberData(nameof(Every))]
    public void An_event_is_the_same_through_its_record_and_back(string json)
    {
        var given = Bookkeeping.Parse(json);
        var kind = EventKinds.Find(given.GetProperty("event").GetString())!;
        if (kind == Correction.Event) return;
        var told = kind.Read(Own(given), out var wrong);
        wrong.Should().BeNull();
        told!.Kind().Should().BeSameAs(kind);
        var written = JsonSerializer.SerializeToElement(EventKind.Write(told));
        JsonElement.DeepEquals(written, given).Should().BeTrue($"{written} was {json}");
        JsonSerializer.Serialize(EventKind.Write(kind.Read(Own(written))!)).Should().Be(JsonSerializer.Serialize(EventKind.Write(told)));
    }

    [Fact]
    public void Every_event_comes_back_from_csv_as_it_was()
    {
        using var from = LedgerCsvTests.Empty();
        var rows = Examples.Select((json, i) =>
        {
            var read = EventReader.Read(Bookkeeping.Parse(json), Sample.At, out var wrong);
            wrong.Should().BeNull(json);
            return new LedgerRow(new LedgerEntry(i + 1, read!.Event, Sample.At, Sample.At, "Ann", null, read.Body, null, read.Of), null,
                null, null);
        }).ToList();
        foreach (var row in rows) LedgerRows.Add(from, row);

        using var to = LedgerCsvTests.Empty();
        using var csv = new StringReader(LedgerCsvTests.Export(from));
        LedgerCsv.Import(to, csv, Sample.At, HouseholdCalendar.Utc, looked: true).Should().Be(rows.Count);
        var back = LedgerRows.After(to, 0).Select(r => r.Entry).ToList();
        foreach (var (was, now) in rows.Zip(back))
        {
            now.Kind.Should().BeSameAs(was.Entry.Kind);
            JsonElement.DeepEquals(now.Body, was.Entry.Body).Should().BeTrue(was.Entry.Body.GetRawText());
            if (now.Of is null)
                JsonSerializer.Serialize(EventKind.Write(now.Kind.Read(now.Body)!)).Should()
                    .Be(JsonSerializer.Serialize(EventKind.Write(was.Entry.Kind.Read(was.Entry.Body)!)));
        }
    }

    /// <summary>A name of an event in quotes belongs to its own file: elsewhere it is the kind, or the event itself.</summary>
    [Fact]
    public void No_event_is_named_in_quotes_outside_its_own_file()
    {
        var src = Path.Combine(Root(), "src");
        var names = new Regex($"\"({string.Join('|', EventKinds.Names)})\"", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(10));
        var found = Directory.EnumerateFiles(src, "*.cs*", SearchOption.AllDirectories)
            .Where(f => f.EndsWith(".cs", StringComparison.Ordinal) || f.EndsWith(".cshtml", StringComparison.Ordinal))
            .Select(f => Path.GetRelativePath(src, f).Replace('\\', '/'))
            .Where(f => !f.Contains("/obj/", StringComparison.Ordinal) && !f.Contains("/bin/", StringComparison.Ordinal)
                && !f.Contains("Ledger/Events/", StringComparison.Ordinal))
            .SelectMany(f => File.ReadLines(Path.Combine(src, f)).Where(l => !l.TrimStart().StartsWith("///", StringComparison.Ordinal))
                .SelectMany(l => names.Matches(l).Select(m => m.Value.Trim('"'))).Select(name => (File: f, Name: name)));
        found.Where(f => !Others.GetValueOrDefault(Path.GetFileName(f.File), []).Contains(f.Name, StringComparer.Ordinal)).Should()
            .BeEmpty();
    }

    [Fact]
    public void The_document_of_the_api_tells_of_every_event_and_every_field()
    {
        var rows = File.ReadAllLines(Path.Combine(Root(), "docs", "api.md")).Where(l => l.StartsWith("| `", StringComparison.Ordinal))
            .ToList();
        foreach (var kind in EventKinds.All)
        {
            // The planting of a row is told of beside the planting of seed, before its own row.
            var row = rows.FindLast(l => l.Split('|')[1].Contains($"`{kind.Name}`", StringComparison.Ordinal));
            row.Should().NotBeNull($"docs/api.md has no row of {kind.Name}");
            if (kind == Correction.Event) continue;
            foreach (var field in FieldsOf(kind).Except(["checked", "measure"], StringComparer.Ordinal))
                row.Should().MatchRegex($@"\b{field}\b", $"of {kind.Name}");
        }
    }

    /// <summary>A field that is a day is one wherever dates are looked at.</summary>
    [Theory]
    [MemberData(nameof(Every))]
    public void No_day_of_any_event_can_be_of_a_year_no_crop_is_of(string json)
    {
        foreach (var day in Day().Matches(json).Select(m => m.Groups["day"].Value))
        {
            EventReader.Examine(Bookkeeping.Parse(json.Replace(day, "0026-10-03", StringComparison.Ordinal)), Sample.At, out var wrong)
                .Should().BeNull();
            wrong!.Figures.GetProperty("refusal").GetString().Should().Be(Refusal.Year, day);
        }
    }

    /// <summary>What a kind says it has when it is sent a field it has not.</summary>
    private static string[] FieldsOf(EventKind kind)
    {
        var own = Bookkeeping.Parse(Array.Find(Examples, e => e.StartsWith($$"""{"event":"{{kind.Name}}",""", StringComparison.Ordinal))!);
        var fields = Own(own).EnumerateObject().ToDictionary(p => p.Name, p => p.Value, StringComparer.Ordinal);
        fields["nobody"] = fields.Values.First();
        kind.Read(JsonSerializer.SerializeToElement(fields), out var wrong);
        return Has().Match(wrong!.Text).Groups["fields"].Value.Split(", ");
    }

    private static JsonElement Own(JsonElement given) =>
        JsonSerializer.SerializeToElement(given.EnumerateObject().Where(p => p.Name != "event")
            .ToDictionary(p => p.Name, p => p.Value, StringComparer.Ordinal));

    private static string Root()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder!.FullName, "RootCellar.sln"))) folder = folder.Parent;
        return folder.FullName;
    }

    [GeneratedRegex(@"""(?<day>20\d\d-\d\d-\d\d)""", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Day();

    [GeneratedRegex(@" It has (?<fields>.*)\.$", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Has();

    [Fact]
    public async Task A_sorted_part_without_a_grade_has_the_one_the_bin_had_before_the_rest_was_given_another()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"sorted","bin":"B1","into":[{"bin":"B1","grade":"cull","weightKg":5},{"bin":"B3","weightKg":15}]}""");
        (books.Book.Bins["B1"].Grade, books.Book.Bins["B3"].Grade).Should().Be(("cull", "table"));
    }
}
