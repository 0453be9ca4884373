using System.Text.Json;
using RootCellar.Household;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>Reads what happened out of the fields of an event.</summary>
internal static class FactReader
{
    public const string Correction = "correction";

    /// <summary>The international foot, exact by definition (NIST Handbook 44, Appendix C).</summary>
    public const double MetresPerFoot = 0.3048;

    private static readonly Dictionary<string, Func<FieldReader, Moment, bool, Fact>> Readers = new(StringComparer.Ordinal)
    {
        ["dug"] = Dug,
        ["filled"] = (f, _, c) => new Fact.Filled(c, f.Name("bin"), f.Name("lot"), f.Amount(), f.OptionalName("grade"), f.OptionalName("place")),
        ["moved"] = (f, _, c) => new Fact.Moved(c, f.Name("bin"), f.Name("place")),
        ["weighed"] = Weighed,
        ["sorted"] = Sorted,
        ["culled"] = (f, _, c) => Out(f, c, $"culled-{f.Choice("reason", true, "rot", "green", "sprouted", "damage", "frost", "pests", "other")}"),
        ["sold"] = (f, _, c) => Out(f, c, "sold"),
        ["canned"] = (f, _, c) => Out(f, c, "canned"),
        ["eaten"] = (f, _, c) => Out(f, c, "eaten"),
        ["given"] = (f, _, c) => Out(f, c, "given"),
        ["planted"] = (f, _, c) => Out(f, c, "planted"),
        ["promised"] = (f, _, c) => new Fact.Promised(c, f.Name("order"), Crop(f), f.OptionalName("grade"), f.Amount(), f.Date("due")),
        ["sprouts-seen"] = (f, _, c) => new Fact.Sprouts(
            c, f.Name("bin"), f.Choice("share", true, "none", "few", "half", "most") ?? "", f.Number("length", 0, 2_000, "the length of the sprouts in mm")),
        ["condition-seen"] = (f, _, c) => new Fact.Condition(c, f.Name("bin"), f.Choice("what", true, "dry", "wet", "soft", "shrivelled", "green", "mould") ?? ""),
        ["row-planted"] = RowPlanted,
        ["vines-dead"] = VinesDead,
    };

    /// <summary>When it happened, and whose day that was.</summary>
    private readonly record struct Moment(DateTimeOffset At, HouseholdCalendar Calendar)
    {
        public DateOnly Day => Calendar.DayOf(At);
    }

    public static IReadOnlyList<string> Events { get; } = [.. Readers.Keys, Correction];

    /// <summary>The event of a name, as the one text of it there is, so that no entry holds a copy of its own; null where there is none.</summary>
    public static string? Event(string name) => Names.TryGetValue(name, out var known) ? known : null;

    private static readonly HashSet<string> Names = new([.. Readers.Keys, Correction], StringComparer.Ordinal);

    /// <summary>The fact, or what is wrong with the fields.</summary>
    /// <param name="at">When it happened.</param>
    /// <param name="calendar">Whose days those of the fact are.</param>
    public static Fact? Read(string what, JsonElement body, DateTimeOffset at, HouseholdCalendar calendar, out Question? wrong)
    {
        var fields = new FieldReader(body, what);
        try
        {
            var sure = fields.Flag("checked");
            var fact = Readers[what](fields, new Moment(at, calendar), sure);
            fields.NothingElse();
            wrong = fields.Refused;
            return wrong is null ? fact : null;
        }
        catch (Exception e) when (e is InvalidOperationException or ArgumentException or FormatException or OverflowException)
        {
            // Half a character, a day at the edge of the calendar: nothing an entry can be made of, and no reason to stop at the others.
            wrong = Question.Of(QuestionCode.Unreadable, $"{what}: {e.Message}", null);
            return null;
        }
    }

    private static Fact.Dug Dug(FieldReader f, Moment at, bool sure)
    {
        var lot = f.Name("lot");
        var crop = Crop(f);
        var variety = f.OptionalName("variety");
        var row = f.OptionalName("row");
        var planted = f.Date("plantedOn");
        var (day, moment) = f.When("dugOn");
        // A day without a time: the hour of writing when it is that day, else its noon.
        var dugOn = day ?? at.Calendar.DayOf(moment ?? at.At);
        var dugAt = moment ?? (dugOn == at.Day ? at.At : at.Calendar.Moment(dugOn, new TimeOnly(12, 0)));
        var notBefore = moment ?? at.Calendar.StartOf(dugOn);
        return new Fact.Dug(
            sure,
            lot,
            crop,
            variety,
            row,
            planted,
            dugOn,
            dugAt,
            notBefore,
            f.Choice("skin", false, "set", "tender", "scuffed", "cut"),
            f.OptionalAmount(mostKg: 500_000),
            f.Choices("flags", "wet-soil", "rain", "late-blight", "rot-seen"),
            f.Number("pulpC", -10, 50, "the temperature inside the produce in C, -10 to 50"));
    }

    private static Fact.RowPlanted RowPlanted(FieldReader f, Moment at, bool sure)
    {
        var row = f.Name("row");
        var crop = Crop(f);
        var variety = f.OptionalName("variety");
        var (day, from) = Day(f, "plantedOn", at);
        var maturity = f.Choice("maturity", false, "early", "mid", "late");
        var days = f.Number("maturityDays", 20, 365, "the days to maturity that packet or seed list give, 20 to 365");
        if (maturity is not null && days is not null) f.Say("maturity and maturityDays: one of the two.");
        var metres = f.Number("lengthM", 0.1, 5_000, "the length of the row in m, such as 30");
        // Kept in feet as entered: a foot is 0.3048 m exactly, whatever the year and the crop.
        var feet = f.Number("lengthFt", 0.3, 16_000, "the length of the row in feet, such as 100");
        if (metres is not null && feet is not null) f.Say("lengthM and lengthFt: one of the two.");
        return new Fact.RowPlanted(sure, row, crop, variety, day, from, maturity, days is { } d ? (int)Math.Round(d) : null, metres ?? feet * MetresPerFoot, f.OptionalName("lot"));
    }

    private static Fact.VinesDead VinesDead(FieldReader f, Moment at, bool sure)
    {
        var row = f.Name("row");
        var (day, from) = Day(f, "on", at);
        return new Fact.VinesDead(sure, row, day, from, f.Choice("how", false, "died", "mown", "pulled", "frost"));
    }

    // A day that is not said is that of writing.
    private static (DateOnly Day, DateTimeOffset From) Day(FieldReader f, string field, Moment at)
    {
        var day = f.Date(field) ?? at.Day;
        return (day, at.Calendar.StartOf(day));
    }

    private static Fact.Weighed Weighed(FieldReader f, Moment at, bool sure)
    {
        var bin = f.Name("bin");
        var amount = f.Amount(zero: true);
        var tare = f.Number("tareKg", 0, 5_000, "the weight of the empty bin in kg");
        var resolution = f.Number("resolutionKg", 0.0001, 100, "the step of the scale in kg, such as 0.05");
        if (amount.ByVolume) f.Say("measure.unit: what is weighed is in kg, g, lb or oz.");
        if (tare * 1000 > amount.Grams) f.Say($"tareKg: the empty bin ({tare:0.###} kg) cannot be heavier than the full one ({amount.Grams / 1000.0:0.###} kg).");
        return new Fact.Weighed(sure, bin, amount, tare, resolution);
    }

    private static Fact.Sorted Sorted(FieldReader f, Moment at, bool sure)
    {
        var bin = f.Name("bin");
        var into = new List<SortedInto>();
        foreach (var item in f.List("into", "{\"bin\": \"B13\", \"grade\": \"seed\", \"weightKg\": 12.5}"))
        {
            var target = new SortedInto(item.Name("bin"), item.OptionalName("grade"), item.OptionalName("place"), item.Amount(zero: true));
            if (into.Exists(i => i.Bin == target.Bin)) item.Say($"bin: '{target.Bin}' is there twice.", new { refusal = Refusal.BinTwice, bin = target.Bin });
            into.Add(target);
        }

        return new Fact.Sorted(sure, bin, into);
    }

    private static Fact.Out Out(FieldReader f, bool sure, string reason) =>
        new(sure, f.Name("bin"), reason, f.Amount(), f.OptionalName("order"), f.Flag("empties"));

    private static string Crop(FieldReader f)
    {
        var written = f.Name("crop");
        if (written.Length == 0) return written;
        if (CropTable.Default.Find(written) is { } crop) return crop.Id;
        f.Say($"crop: '{written}' is not in the crop table.{(CropTable.Default.Suggest(written) is { } near ? $" Did you mean {near}?" : " See them all: rootcellar crops")}");
        return written;
    }
}
