using System.Text.Json.Nodes;
using RootCellar.Demo;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>
/// An invented homestead that has kept its book for three autumns: 60 lots, 840 fillings of 784 bins, 50,000 entries and three years of air
/// every five minutes. It ends late in the third November, with 280 bins full. Made up, and the same every time.
/// </summary>
internal sealed class ThreeYears
{
    public static readonly DateTimeOffset Now = new(2025, 11, 20, 18, 0, 0, TimeSpan.Zero);

    private const int LotsAYear = 20;
    private const int BinsALot = 14;
    private static readonly TimeSpan Zone = TimeSpan.FromHours(-5);
    private static readonly string[] Crops =
        ["potato", "potato", "potato", "onion", "carrot", "beet", "potato", "winter-squash", "potato", "cabbage"];
    private static readonly string[] Varieties = ["Kennebec", "Russet Burbank", "Yukon Gold", "Katahdin"];

    private readonly List<Line> lines = [];
    private readonly List<string> free = [];
    private int bins;
    private long chances;

    /// <summary>As they were written.</summary>
    public IReadOnlyList<LedgerEntry> Entries { get; }

    public ThreeYears()
    {
        for (var year = 2023; year <= 2025; year++) Season(year);
        lines.RemoveAll(l => l.At > Now);
        lines.Sort((a, b) => a.Recorded != b.Recorded ? a.Recorded.CompareTo(b.Recorded) : a.Number.CompareTo(b.Number));
        for (var i = 0; i < lines.Count; i++) lines[i].Id = i + 1;
        Entries = lines.ConvertAll(
            l => new LedgerEntry(l.Id, l.Event, l.At, l.Recorded, l.Number % 3 == 0 ? "Ann" : "Ben", null, EventReader.Element(l.Fields),
                null, l.Of?.Id));
    }

    /// <summary>Puts it all into a record: places, the ledger and the air.</summary>
    public Task FillAsync(Store store) => store.WriteAsync(c =>
    {
        foreach (var (id, name, purpose, celsius, percent) in new[]
        {
            ("curing", "Curing room", Purpose.Curing, 13.0, 92.0), ("cellar", "Cellar", Purpose.Storage, 5.0, 91.0),
                ("yard", "Yard", Purpose.Outdoors, 9.0, 75.0),
        })
        {
            PlaceRows.Save(c, new Place(id, name, purpose, 30, ["potato"]));
            c.Execute(
                """
                WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i + 1 < $count)
                INSERT INTO air (place, at_ms, temperature_c, humidity_pct, dew_point_c, deficit_pa, quality)
                SELECT $place, $from + i * 300000, $c + (i / 288 % 7) * 0.1 + (i % 288) / 288.0, $rh - (i % 288) / 72.0, $c - 1.5, 60, 0 FROM n
                """,
                ("$count", (long)(Now.AddDays(5) - Now.AddYears(-3)).TotalMinutes / 5),
                ("$place", id),
                ("$from", Now.AddYears(-3).ToUnixTimeMilliseconds()),
                ("$c", celsius),
                ("$rh", percent));
        }

        foreach (var entry in Entries) LedgerRows.Add(c, new LedgerRow(entry, null, null, null));
    });

    private void Season(int year)
    {
        var crates = new List<Crate>();
        var given = new Queue<string>(free);
        free.Clear();
        for (var lot = 0; lot < LotsAYear; lot++) crates.AddRange(Dig(year, lot, given));
        for (var day = new DateTimeOffset(year, 9, 8, 0, 0, 0, Zone); day < new DateTimeOffset(
            year + 1, 7, 1, 0, 0, 0, Zone); day = day.AddDays(1))
        {
            if (day.DayOfWeek == DayOfWeek.Monday && day.Month is >= 10 or <= 4) Promise(day);
            foreach (var crate in crates.Where(c => c.Kg > 0 && c.Filled.AddDays(1) < day)) Day(crate, day, crates);
        }
    }

    private List<Crate> Dig(int year, int number, Queue<string> given)
    {
        var (lot, crop, at) =
            ($"{year}-{number + 1}", Crops[number % Crops.Length], new DateTimeOffset(year, 9, 10, 9, 0, 0, Zone).AddDays(number * 1.5));
        var dug = New(("lot", lot), ("crop", crop), ("row", $"Row {number + 1}"), ("skin", number % 4 == 0 ? "tender" : "set"));
        if (crop == "potato") dug["variety"] = Varieties[number % Varieties.Length];
        Write(at, "dug", dug);
        var crates = new List<Crate>();
        var cured = crop is "potato" or "onion" or "winter-squash";
        for (var b = 0; b < BinsALot; b++)
        {
            // Two lots a year go into crates that were emptied the year before.
            var name = number is 5 or 11 && given.Count > 0 ? given.Dequeue() : $"B{++bins}";
            if (number is 5 or 11) free.Add(name);
            var crate = new Crate(name, lot, crop, b % 4 == 3 ? "seed" : "table", at.AddMinutes(30 + (b * 10)),
                Math.Round(17 + (6 * Luck()), 1), number, b);
            crates.Add(crate);
            Write(crate.Filled, "filled",
                New(("bin", name), ("lot", lot), ("weightKg", crate.Kg), ("grade", crate.Grade), ("place", cured ? "curing" : "cellar")));
            if (cured)
                Write(new DateTimeOffset(at.Date, Zone).AddDays(14 + (b % 2)).AddHours(22), "moved",
                    New(("bin", name), ("place", "cellar")));
        }

        return crates;
    }

    private void Day(Crate crate, DateTimeOffset day, List<Crate> all)
    {
        crate.Kg *= 1 - 0.0004;
        var at = day.AddHours(15).AddMinutes((crate.Lot.Length * 3) + (crate.Number * 14) + crate.Of);
        var last = new DateTimeOffset(day.Year, 6, 1 + (crate.Number % 25), 0, 0, 0, Zone);
        if (crate.Kg < 1 || (day.Month is 6 && day >= last))
        {
            Write(at, "eaten", New(("bin", crate.Name), ("weightKg", Math.Max(0.01, Math.Round(crate.Kg, 2))), ("empties", true)));
            crate.Kg = 0;
            return;
        }

        if (day.DayOfWeek == DayOfWeek.Saturday) Weigh(crate, at);
        var luck = Luck();
        if (luck < 0.125)
        {
            var kg = Math.Round(0.1 + (0.3 * Luck()), 2);
            var what = luck < 0.05 ? "eaten" : luck < 0.09 ? "sold" : luck < 0.11 ? "canned" : "given";
            var fields = New(("bin", crate.Name), ("weightKg", kg));
            if (what == "sold" && crate.Crop == "potato" && Order(day) is { } order) fields["order"] = order;
            var gone = Write(at.AddHours(1), what, fields);
            crate.Kg -= kg;
            // Written twice by two people, and one of them taken back.
            if (luck < 0.002)
                Write(at.AddHours(3), "correction", New(("void", true)), Write(at.AddHours(2), what, (JsonObject)fields.DeepClone()));
            else if (luck > 0.123)
                Write(at.AddDays(1), "correction",
                    New(("rightAt", at.AddMinutes(50).ToString("O", System.Globalization.CultureInfo.InvariantCulture))), gone);
        }
        else if (luck < 0.17)
        {
            if (luck < 0.15) Write(at.AddHours(1), "condition-seen", New(("bin", crate.Name), ("what", luck < 0.13 ? "wet" : "dry")));
            else Write(at.AddHours(1), "sprouts-seen", New(
                ("bin", crate.Name), ("share", day.Month is >= 9 or <= 1 ? "none" : "few"), ("length", 2)));
        }
        else if (luck < 0.178 && crate.Kg > 3)
        {
            Write(at.AddHours(1), "culled", New(("bin", crate.Name), ("weightKg", 0.3), ("reason", "rot")));
            crate.Kg -= 0.3;
        }
        else if (luck < 0.18 && crate.Kg > 5 && all.Find(c => c.Lot == crate.Lot && c.Kg > 0 && c != crate && c.Filled < day) is { } other)
        {
            var away = Math.Round(crate.Kg * 0.3, 2);
            crate.Kg = Math.Round(crate.Kg - away, 2);
            other.Kg += away;
            Write(at.AddHours(1), "sorted", New(("bin", crate.Name), ("into", new JsonArray(
                New(("bin", crate.Name), ("weightKg", crate.Kg), ("grade", crate.Grade)), New(("bin", other.Name), ("weightKg", away))))));
        }
    }

    private void Weigh(Crate crate, DateTimeOffset at)
    {
        crate.Kg = Math.Round(crate.Kg, 2);
        var slip = Luck() < 0.02;
        var weighed = Write(at, "weighed",
            New(("bin", crate.Name), ("weightKg", Math.Round(crate.Kg + (slip ? -0.5 : 0), 2)), ("resolutionKg", 0.05)));
        if (slip) Write(at.AddMinutes(20), "correction", New(("weightKg", crate.Kg)), weighed);
    }

    private void Promise(DateTimeOffset day)
    {
        for (var i = 0; i < 3; i++)
            Write(day.AddHours(20).AddMinutes(i), "promised",
                New(("order", $"{Week(day)}-{i}"), ("crop", "potato"), ("grade", "table"), ("weightKg", 4),
                    ("due", day.AddDays(5).ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture))));
    }

    private static string? Order(DateTimeOffset day)
    {
        var monday = day.AddDays(-(((int)day.DayOfWeek + 6) % 7));
        return monday.Month is >= 10 or <= 4 && day.DayOfWeek is >= DayOfWeek.Wednesday and <= DayOfWeek.Friday
            ? $"{Week(monday)}-{(int)day.DayOfWeek - 3}" : null;
    }

    private static string Week(DateTimeOffset monday) =>
        $"market-{monday.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture)}";

    private Line Write(DateTimeOffset at, string what, JsonObject fields, Line? of = null)
    {
        // One in forty is written down two days late.
        var recorded = what is "eaten" or "condition-seen" && Luck() < 0.05 ? at.AddDays(2) : at;
        var line = new Line(lines.Count, at.ToUniversalTime(), recorded.ToUniversalTime(), what, fields, of);
        if (of is not null && of.Recorded > line.Recorded) line = line with { Recorded = of.Recorded };
        lines.Add(line);
        return line;
    }

    private double Luck() => Chance.Uniform(20251120, chances++);

    private static JsonObject New(params (string Name, JsonNode? Value)[] fields)
    {
        var all = new JsonObject();
        foreach (var (name, value) in fields) all[name] = value;
        return all;
    }

    private sealed record Line(int Number, DateTimeOffset At, DateTimeOffset Recorded, string Event, JsonObject Fields, Line? Of)
    {
        public long Id { get; set; }
    }

    private sealed record Crate(string Name, string Lot, string Crop, string Grade, DateTimeOffset Filled, double First, int Number, int Of)
    {
        public double Kg { get; set; } = First;
    }
}
