using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using CsCheck;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>Any events whatever, sensible or not: late, doubted, corrected, corrected again, taken back.</summary>
public class BookProperties
{
    private static readonly Gen<string> Bin = Gen.Int[1, 5].Select(i => $"B{i}");
    private static readonly Gen<string> Lot = Gen.Int[1, 3].Select(i => $"R{i}");
    private static readonly Gen<string> Row = Gen.Int[1, 2].Select(i => $"row {i}");
    private static readonly Gen<double> Kg = Gen.Int[1, 60_000].Select(g => g / 1000.0);
    private static readonly Gen<int> Minutes = Gen.Int[0, 60 * 24 * 10];

    private static readonly Gen<JsonObject> Any = Gen.Frequency(
        (2, Gen.Select(Lot, Gen.Int[0, 2], Kg, (lot, weighed, kg) => weighed == 0 ? New("dug", ("lot", lot), ("crop", "potato")) : New(
            "dug", ("lot", lot), ("crop", "potato"), ("weightKg", kg * 4)))),
        (1, Gen.Select(Lot, Row, Kg, (lot, row, kg) => New("dug", ("lot", lot), ("crop", "potato"), ("row", row), ("weightKg", kg * 4)))),
        (2, Gen.Select(Row, Gen.Int[-150, 9], Gen.Bool,
            (row, day, feet) => New("row-planted", ("row", row), ("crop", "potato"), ("plantedOn", Day(day)),
                (feet ? "lengthFt" : "lengthM", 30)))),
        (1, Gen.Select(Row, Gen.Int[-30, 9], (row, day) => New("vines-dead", ("row", row), ("on", Day(day)), ("how", "died")))),
        (5, Gen.Select(Bin, Lot, Kg, (bin, lot, kg) => New("filled", ("bin", bin), ("lot", lot), ("weightKg", kg)))),
        (1, Gen.Select(Bin, Lot, Gen.Int[1, 3], (bin, lot, bushels) => New(
            "filled", ("bin", bin), ("lot", lot),
            ("measure", new JsonObject { ["amount"] = bushels, ["unit"] = "bushel", ["kgPerUnit"] = 27.2155422 })))),
        (2, Gen.Select(Bin, Gen.Int[1, 3], (bin, place) => New("moved", ("bin", bin), ("place", $"P{place}")))),
        (4, Gen.Select(Bin, Kg, (bin, kg) => New("weighed", ("bin", bin), ("weightKg", kg)))),
        (2, Gen.Select(Bin, Bin, Kg, Kg, (bin, other, a, b) => bin == other
            ? New("sorted", ("bin", bin), ("into", new JsonArray(New(null, ("bin", bin), ("weightKg", a)))))
            : New("sorted", ("bin", bin),
                ("into", new JsonArray(New(null, ("bin", bin), ("weightKg", a)),
                    New(null, ("bin", other), ("weightKg", b), ("grade", "seed"))))))),
        (3, Gen.Select(Bin, Kg, Gen.Int[0, 4].Select(i => new[] { "sold", "canned", "eaten", "given", "planted" }[i]), Gen.Bool,
            (bin, kg, what, empties) => New(what, ("bin", bin), ("weightKg", kg / 3), ("empties", empties)))),
        (1, Gen.Select(Bin, Kg, (bin, kg) => New("culled", ("bin", bin), ("weightKg", kg / 10), ("reason", "rot")))),
        (2, Gen.Select(Bin, Kg, Gen.Int[1, 3], (bin, kg, order) => New(
            "sold", ("bin", bin), ("weightKg", kg / 3), ("order", $"O{order}")))),
        (2, Gen.Select(Kg, Gen.Int[1, 2], Gen.Bool, (kg, order, seed) => seed ? New(
            "promised", ("order", $"O{order}"), ("crop", "potato"), ("grade", "seed"), ("weightKg", kg))
                : New("promised", ("order", $"O{order}"), ("crop", "potato"), ("weightKg", kg)))),
        (1, Bin.Select(bin => New("condition-seen", ("bin", bin), ("what", "dry")))),
        (2, Gen.Select(Gen.Int[0, 100], Kg, (of, kg) => New("correction", ("of", of), ("weightKg", kg)))),
        (1, Gen.Select(Gen.Int[0, 100], Bin, (of, bin) => New("correction", ("of", of), ("bin", bin)))),
        (1, Gen.Select(Gen.Int[0, 100], Minutes, (of, at) => New("correction", ("of", of), ("rightAt", At(at))))),
        (1, Gen.Select(Gen.Int[0, 100], Row, (of, row) => New("correction", ("of", of), ("row", row)))),
        (2, Gen.Int[0, 100].Select(of => New("correction", ("of", of), ("void", true)))));

    internal static readonly Gen<List<LedgerEntry>> Events = Gen.Select(Any, Minutes, Gen.Int[0, 12], Gen.Bool).Array[0, 60]
        .Select(Written);

    [Fact]
    public void Every_balance_closes_to_the_gram_whatever_is_written() => Events.Sample(entries =>
    {
        var book = Make(entries);
        foreach (var lot in book.Lots.Values)
        {
            lot.Balance.Gap.Should().Be(0, lot.Id);
            lot.Balance.OnHandGrams.Should().Be(lot.Bins.Sum(b => b.Grams));
            lot.Balance.Outs.Should().Be(book.Outs.Where(o => o.Lot == lot.Id).Sum(o => o.Grams));
            lot.Balance.LooseGrams.Should().BeGreaterThanOrEqualTo(0);
        }

        book.AllBins.Should().AllSatisfy(b =>
        {
            b.Grams.Should().BeGreaterThanOrEqualTo(0);
            b.Steps.Sum(s => s.Grams).Should().Be(b.Grams);
            (b.EmptiedAt is null).Should().Be(b.Grams > 0);
        });
        book.Entries.Where(s => s.Void || (s.Entry.Question is not null && s.CorrectedBy.Count == 0)).Should()
            .AllSatisfy(s => s.Counts.Should().BeFalse());
    });

    [Fact]
    public void What_was_dug_from_rows_is_never_more_than_what_was_dug() => Events.Sample(entries =>
    {
        var book = Make(entries);
        book.Rows.Sum(r => r.DugGrams).Should().BeLessThanOrEqualTo(book.Lots.Values.Sum(l => l.Balance.DugGrams));
        book.Rows.Where(r => !r.Ended).Select(r => r.Row).Should().OnlyHaveUniqueItems();
        book.Rows.SelectMany(r => r.Lots).Should().BeSubsetOf(book.Lots.Keys);
    });

    [Fact]
    public void The_order_of_reading_rows_does_not_matter() => Gen.Select(Events, Gen.Int).Sample((entries, seed) =>
    {
        var shuffled = entries.OrderBy(e => HashCode(e.Id, seed)).ToList();
        Says(Make(shuffled)).Should().Be(Says(Make(entries)));
    });

    [Fact]
    public void An_entry_that_is_corrected_is_worth_the_same_as_one_written_right() => Gen.Select(Events, Gen.Int, Kg, Minutes)
        .Sample((entries, which, kg, minutes) =>
    {
        var weighed = entries.Where(e => e.Event is "filled" or "weighed" or "eaten" && e.Body.TryGetProperty("weightKg", out _)
            && !entries.Exists(c => c.Of == e.Id)).ToList();
        if (weighed.Count == 0) return;
        var wrong = weighed[(which & int.MaxValue) % weighed.Count];
        var fields = New(null, ("weightKg", kg), ("rightAt", At(minutes)));
        var correction = new LedgerEntry(entries[^1].Id + 1, "correction", Sample.At, Sample.At.AddDays(20), null, null,
            EventReader.Element(fields), null, wrong.Id);
        var right = entries.ConvertAll(e => e != wrong ? e : e with
        {
            At = DateTimeOffset.Parse(At(minutes), CultureInfo.InvariantCulture),
            RecordedAt = Sample.At.AddDays(20),
            Question = null,
            Body = Correction.Merge(e.Body, EventReader.Element(New(null, ("weightKg", kg)))),
        });
        Says(Make([.. entries, correction])).Should().Be(Says(Make(right)));
        // And taken back, it is as if it had never been.
        var undo = new LedgerEntry(correction.Id + 1, "correction", Sample.At, Sample.At, null, null,
            EventReader.Element(New(null, ("void", true))), null, correction.Id);
        Says(Make([.. entries, correction, undo])).Should().Be(Says(Make(entries)));
    });

    [Fact]
    public void A_book_written_on_is_the_book_made_anew() => Gen.Select(Events, Gen.Int[0, 3].Array[60]).Sample((entries, steps) =>
    {
        var recorded = entries.ConvertAll(Bookkeeping.Recorded);
        var book = BookBuilder.Build([], HouseholdCalendar.Utc);
        var before = new List<(Book Book, string Says)>();
        for (int done = 0, step = 0; done < recorded.Count; step++)
        {
            // Some come alone and some together.
            var some = recorded.Slice(done, Math.Min(1 + steps[step], recorded.Count - done));
            book = BookBuilder.With(book, some);
            done += some.Count;
            var says = Whole(book);
            says.Should().Be(Whole(BookBuilder.Build(recorded[..done], HouseholdCalendar.Utc)));
            before.Add((book, says));
        }

        before.Should().AllSatisfy(b => Whole(b.Book).Should().Be(b.Says, "a book never changes"));
    });

    [Fact]
    public void The_book_of_a_moment_gone_by_is_the_one_of_what_had_happened_by_then() => Gen.Select(Events, Minutes, Minutes)
        .Sample((entries, one, other) =>
    {
        var book = Make(entries);
        var says = Whole(book);
        var (early, late) = (Sample.At.AddMinutes(Math.Min(one, other)), Sample.At.AddMinutes(Math.Max(one, other)));
        var then = BookBuilder.Then(book, early);
        then.Entries.Where(s => s.Counts && s.Event is not null).Should()
            .AllSatisfy(s => s.Event!.Happened(s.At, book.Calendar).Should().BeBefore(early));
        Whole(BookBuilder.Then(BookBuilder.Then(book, late), early)).Should().Be(Whole(then), "it matters not from when one looks back");
        // And whatever is written after it comes out as if nobody had looked back.
        var later = book.Entries.Where(s => then.Find(s.Entry.Id) is null).Select(s => s.Written);
        Whole(BookBuilder.Build([.. then.Entries.Select(s => s.Written).Concat(later).OrderBy(r => r.Entry.Id)], HouseholdCalendar.Utc))
            .Should().Be(says);
        Whole(book).Should().Be(says, "looking back changes nothing");
    });

    [Fact]
    public void The_entries_of_a_lot_or_a_bin_are_found_as_if_all_were_looked_through() => Events.Sample(entries =>
    {
        var book = Make(entries);
        var all = book.Entries.OrderBy(s => s.At).ThenBy(s => s.Entry.Id).Select(s => (s.Entry.Id, Root: LedgerSelection.Root(book, s)))
            .ToList();
        foreach (var lot in (string[])["R1", "R2", "R3", "R4"])
            Found(null, lot).Should().Equal(all.Where(e => e.Root.Lot == lot).Select(e => e.Id), lot);
        foreach (var bin in (string[])["B1", "B2", "B9"])
        {
            var naming = all.Where(e => e.Root.Event?.Bins().Contains(bin) == true || e.Root.Entry.Kind.Read(e.Root.Entry.Body)?.Bins()
                .Contains(bin) == true).ToList();
            Found(bin, null).Should().Equal(naming.Select(e => e.Id), bin);
            Found(bin, "R1").Should().Equal(naming.Where(e => e.Root.Lot == "R1").Select(e => e.Id), bin);
        }

        IEnumerable<long> Found(string? bin, string? lot) =>
            LedgerSelection.Of(book, bin, lot, DateTimeOffset.MinValue, DateTimeOffset.MaxValue).Select(s => s.Entry.Id);
    });

    /// <summary>Whatever an entry has done before it failed, none of it is left.</summary>
    [Fact]
    public void A_fault_with_one_entry_is_as_if_only_that_entry_were_not_there() => Gen.Select(Events, Bin, Kg, Minutes, Gen.Int[0, 60])
        .Sample((entries, bin, kg, minutes, where) =>
    {
        var recorded = entries.ConvertAll(e => Bookkeeping.Recorded(e with { Id = e.Id * 2, Of = e.Of * 2 }));
        var at = Sample.At.AddMinutes(minutes);
        var faulty = new LedgerEntry((Math.Min(where, entries.Count) * 2) + 1, "eaten", at, at, null, null,
            EventReader.Element(New(null, ("bin", bin), ("weightKg", kg))), null, null);
        var with = BookBuilder.Build([.. recorded.Append(new Recorded(faulty, new Failing(bin), null)).OrderBy(r => r.Entry.Id)],
            HouseholdCalendar.Utc);
        Says(with).Should().Be(Says(BookBuilder.Build(recorded, HouseholdCalendar.Utc)));
        with.Find(faulty.Id).Should().Match<Standing>(
            s => !s.Counts && s.Question!.Code == QuestionCode.Unreadable && s.Question.Text.Contains("half done"));
    });

    /// <summary>Empties a bin and fails.</summary>
    private sealed record Failing(string In) : LedgerEvent
    {
        public override EventKind Kind() => TakenOut.Eaten;

        public override bool Post(WorkingBook book)
        {
            if (book.Holding(In) is { } bin)
            {
                bin.Step(book.Id, book.At, TakenOut.EatenName, -bin.Grams);
                book.Done(bin);
            }

            throw new InvalidOperationException("half done");
        }
    }

    [Fact]
    public void Fifty_thousand_events_are_a_book_that_closes()
    {
        var book = Make(ManyYears(50_000));
        book.Lots.Values.Should().AllSatisfy(l => l.Balance.Gap.Should().Be(0));
        book.Entries.Count.Should().Be(50_000);
    }

    /// <summary>60 lots in 800 bins, weighed and eaten from over three years, one entry in fifty corrected.</summary>
    internal static List<LedgerEntry> ManyYears(int count)
    {
        var entries = new List<LedgerEntry>(count);
        var start = new DateTimeOffset(2022, 10, 1, 8, 0, 0, TimeSpan.Zero);
        for (var lot = 0; lot < 60; lot++) Add(start, New("dug", ("lot", $"L{lot}"), ("crop", "potato")));
        for (var bin = 0; bin < 800; bin++)
            Add(start.AddHours(1), New("filled", ("bin", $"B{bin}"), ("lot", $"L{bin % 60}"), ("weightKg", 400), ("place", "cellar")));
        for (var i = 0; entries.Count < count; i++)
        {
            var (bin, at) = ($"B{i % 800}", start.AddMinutes(120 + i * 30));
            if (i % 50 == 49) Add(at, New("correction", ("weightKg", 0.9)), entries[^1].Id);
            else if (i % 3 == 0) Add(at, New("condition-seen", ("bin", bin), ("what", "dry")));
            else Add(at, New("eaten", ("bin", bin), ("weightKg", 1)));
        }

        return entries;

        void Add(DateTimeOffset at, JsonObject fields, long? of = null)
        {
            var what = fields["event"]!.GetValue<string>();
            fields.Remove("event");
            if (of is { } id && entries[(int)id - 1].Event is "correction" or "condition-seen") fields = New(null, ("what", "wet"));
            entries.Add(new LedgerEntry(entries.Count + 1, what, at, at, "Ann", null, EventReader.Element(fields), null, of));
        }
    }

    internal static Book Make(IEnumerable<LedgerEntry> entries) =>
        BookBuilder.Build([.. entries.Select(Bookkeeping.Recorded)], HouseholdCalendar.Utc);

    /// <summary>Everything the book says of lots, bins and promises.</summary>
    internal static string Says(Book book) => string.Join('\n',
        book.Lots.Values.OrderBy(l => l.Id, StringComparer.Ordinal).Select(l => $"{l.Id} {l.DugAt:O} {JsonSerializer.Serialize(l.Balance)}")
            .Concat(book.AllBins.Select(b => JsonSerializer.Serialize(b with { Entries = [] })))
            .Concat(book.Orders.Select(o => o.ToString()))
            .Concat(book.Outs.Select(o => o.ToString()))
            .Concat(book.Rows.Select(r => JsonSerializer.Serialize(r with { Entries = [] }))));

    private static string Whole(Book book) => All(book) + Says(book);

    /// <summary>Everything the book says at all.</summary>
    private static string All(Book book) => string.Join(
        '\n',
        [
            JsonSerializer.Serialize(book.Lots.OrderBy(l => l.Key, StringComparer.Ordinal).Select(l => l.Value)),
            JsonSerializer.Serialize(book.Bins.OrderBy(b => b.Key, StringComparer.Ordinal).Select(b => b.Value)),
            JsonSerializer.Serialize(book.AllBins),
            JsonSerializer.Serialize(book.Orders),
            JsonSerializer.Serialize(book.Outs),
            JsonSerializer.Serialize(book.Entries),
            JsonSerializer.Serialize(book.Doubts),
        ]);

    private static int HashCode(long id, int seed) => (int)((ulong)(id * 2654435761 + seed) * 0x9E3779B97F4A7C15UL >> 33);

    private static string Day(int days) => Sample.At.AddDays(days).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    private static string At(int minutes) => Sample.At.AddMinutes(minutes).ToString("O", CultureInfo.InvariantCulture);

    // A correction is of an entry before it; one in a dozen waits to be checked.
    private static List<LedgerEntry> Written((JsonObject Fields, int Minutes, int Aside, bool Checked)[] given)
    {
        var entries = new List<LedgerEntry>();
        foreach (var (template, minutes, aside, sure) in given)
        {
            var fields = (JsonObject)template.DeepClone();
            var what = fields["event"]!.GetValue<string>();
            fields.Remove("event");
            long? of = null;
            if (what == "correction")
            {
                if (entries.Count == 0) continue;
                of = fields["of"]!.GetValue<int>() % entries.Count + 1;
                fields.Remove("of");
            }
            else if (sure)
            {
                fields["checked"] = true;
            }

            var at = Sample.At.AddMinutes(minutes);
            entries.Add(new LedgerEntry(entries.Count + 1, what, at, at, null, null, EventReader.Element(fields), aside == 0
                ? new Question("future", "Is it so?") : null, of));
        }

        return entries;
    }

    internal static JsonObject New(string? what, params (string Name, JsonNode? Value)[] fields)
    {
        var all = new JsonObject();
        if (what is not null) all["event"] = what;
        foreach (var (name, value) in fields) all[name] = value?.DeepClone();
        return all;
    }
}
