using System.Globalization;
using System.Text.Json;
using RootCellar.Household;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>
/// Reads the fields of one event. The first thing that is wrong is remembered: which field, what was wrong, what would be right.
/// </summary>
internal sealed class FieldReader(JsonElement given, string what)
{
    private readonly List<string> known = [];
    private readonly List<string> names = [];
    private readonly List<string> dates = [];

    /// <summary>The fields that were asked for and are names people give: of bins, lots, varieties.</summary>
    public IReadOnlyList<string> Names => names;

    /// <summary>The fields that were asked for and are days or moments.</summary>
    public IReadOnlyList<string> Dates => dates;

    /// <summary>What is wrong, in English, and as a <see cref="Refusal"/> with its figures for those who have words of their own.</summary>
    public Question? Refused { get; private set; }

    public string? Wrong => Refused?.Text;

    /// <param name="figures">What a page needs to say it: <c>refusal</c>, <c>field</c> and the figures; null for what no form can
    /// send.</param>
    public void Say(string wrong, object? figures = null) => Refuse(Question.Of(QuestionCode.Unreadable, wrong, figures));

    public void Refuse(Question refused) => Refused ??= refused;

    public string Name(string field, int longest = 64) => OptionalName(field, longest, required: true) ?? "";

    public string? OptionalName(string field, int longest = 64, bool required = false)
    {
        names.Add(field);
        return Text(field, longest, required);
    }

    private string? Text(string field, int longest, bool required)
    {
        if (!Find(field, required, out var value)) return null;
        if (value.ValueKind != JsonValueKind.String) return No($"{field}: a text such as \"{Example(field)}\".");
        var text = value.GetString()!.Trim();
        if (text.Length == 0) return required ? No($"{field}: it is empty; right would be \"{Example(field)}\".") : null;
        if (text.Length > longest)
            return No($"{field}: at most {longest} letters.", new { refusal = Refusal.TooLong, field, given = text, longest });
        return text.Any(char.IsControl) ? No($"{field}: a text of one line.", new { refusal = Refusal.OneLine, field }) : text;
    }

    public string? Choice(string field, bool required, params string[] choices)
    {
        if (!Find(field, required, out var value)) return null;
        var text = value.ValueKind == JsonValueKind.String ? value.GetString()! : value.GetRawText();
        var word = Array.Find(choices, c => string.Equals(c, text.Trim(), StringComparison.OrdinalIgnoreCase));
        return word ?? No($"{field}: '{text}' is not one of {string.Join(", ", choices)}.{Near(text, choices)}");
    }

    public IReadOnlyList<string> Choices(string field, params string[] choices)
    {
        if (!Find(field, required: false, out var value)) return [];
        if (value.ValueKind != JsonValueKind.Array)
        {
            Say($"{field}: a list such as [\"{choices[0]}\"].");
            return [];
        }

        var found = new List<string>();
        foreach (var element in value.EnumerateArray())
        {
            var text = element.ValueKind == JsonValueKind.String ? element.GetString()!.Trim() : element.GetRawText();
            var word = Array.Find(choices, c => string.Equals(c, text.Replace(' ', '-'), StringComparison.OrdinalIgnoreCase));
            if (word is null) Say($"{field}: '{text}' is not one of {string.Join(", ", choices)}.{Near(text, choices)}");
            else if (!found.Contains(word)) found.Add(word);
        }

        return found;
    }

    public double? Number(string field, double low, double high, string right)
    {
        if (!Find(field, required: false, out var value)) return null;
        if (value.ValueKind == JsonValueKind.Number && value.GetDouble() is var number && number >= low && number <= high) return number;
        Say($"{field}: {value.GetRawText()} is not {right}.", new { refusal = Refusal.OutOfRange, field, low, high });
        return null;
    }

    public bool Flag(string field)
    {
        if (!Find(field, required: false, out var value)) return false;
        if (value.ValueKind is JsonValueKind.True or JsonValueKind.False) return value.GetBoolean();
        Say($"{field}: true or false.");
        return false;
    }

    /// <summary>A flag that is set, whatever else is wrong with it: does not count as asked for.</summary>
    public bool IsSet(string field) => given.TryGetProperty(field, out var value) && value.ValueKind == JsonValueKind.True;

    public DateOnly? Date(string field)
    {
        dates.Add(field);
        if (!Find(field, required: false, out var value)) return null;
        if (value.ValueKind == JsonValueKind.String && HouseholdCalendar.TryDay(value.GetString(), out var date)) return date;
        Say($"{field}: {value.GetRawText()} is not a date; right would be \"2026-10-03\".",
            new { refusal = Refusal.NotADate, field, given = value.ToString() });
        return null;
    }

    /// <summary>A date or a time, as it is written.</summary>
    public string? When(string field)
    {
        dates.Add(field);
        if (!Find(field, required: false, out var value)) return null;
        var text = value.ValueKind == JsonValueKind.String ? value.GetString()! : "";
        if (DayOrMoment(text) is not (null, null)) return text;
        Say(
            $"{field}: {value.GetRawText()} is neither a date nor a time; right would be \"2026-10-03\" or \"2026-10-03T16:30:00-05:00\".",
            new { refusal = Refusal.NotADate, field, given = value.ToString() });
        return null;
    }

    /// <summary>What a text says of when something was; neither where it says nothing.</summary>
    public static (DateOnly? Day, DateTimeOffset? Moment) DayOrMoment(string? text) =>
        HouseholdCalendar.TryDay(text, out var day) ? (day, null) : text is not null && TryTime(text, out var moment)
            ? (null, moment) : default;

    /// <summary>
    /// The id of a crop of the table; of another what is written. Whether the household knows that one, the book tells (<see
    /// cref="WorkingBook.CropOf"/>).
    /// </summary>
    public string Crop()
    {
        var written = Name("crop");
        return CropTable.Default.Find(written) is { } crop ? crop.Id : written;
    }

    /// <summary>That no crop is known under a name, and what would be right.</summary>
    public static string NoSuchCrop(CropTable crops, string written) =>
        $"crop: '{written}' is not in the crop table."
        + (crops.Suggest(written) is { } near ? $" Did you mean {near}?" : " See them all: rootcellar crops")
        + $" A crop of your own is described first: {{\"event\":\"{Events.CropDescribed.Name}\",\"crop\":\"{written}\",\"like\":...}}.";

    public JsonElement? Object(string field)
    {
        if (!Find(field, required: false, out var value)) return null;
        if (value.ValueKind == JsonValueKind.Object) return value.Clone();
        Say($"{field}: an object, such as {{\"storage\": {{\"temperature\": \"32 to 40 F\", \"humidity\": \"85 to 90 %\"}}}}.");
        return null;
    }

    /// <summary>A note that is none, or longer than any.</summary>
    public void NoteTooLong(string field, JsonElement note) => Say(
        $"{field}: a text of at most {EventReader.LongestNote} letters.",
        new { refusal = Refusal.TooLong, field = "note", given = note.ToString(), longest = EventReader.LongestNote });

    public Amount Amount(bool zero = false, double mostKg = 50_000) => OptionalAmount(zero, mostKg, required: true) ?? default;

    /// <summary>weightKg, or a measure.</summary>
    public Amount? OptionalAmount(bool zero = false, double mostKg = 50_000, bool required = false)
    {
        var weighed = Find("weightKg", required: false, out var weight);
        var measured = Find("measure", required: false, out var measure);
        if (weighed && measured)
        {
            Say("weightKg and measure: one of the two.");
            return null;
        }

        if (measured) return MeasureOf(measure, mostKg);
        if (!weighed)
        {
            if (required)
                Say($"{what}: weightKg is missing; right would be \"weightKg\": 22.7, or \"measure\": {{\"amount\": 50, \"unit\": \"lb\"}}.");
            return null;
        }

        if (weight.ValueKind == JsonValueKind.Number && weight.GetDouble() is var kg && kg <= mostKg
            && (zero ? kg >= 0 : Ledger.Amount.GramsOf(kg) > 0))
            return Ledger.Amount.OfKg(kg);
        Say($"weightKg: {weight.GetRawText()} is not a weight; right would be a number of kg, {(zero ? "0 or more" : "more than 0")} and at most {mostKg:0}. For pounds: \"measure\": {{\"amount\": 50, \"unit\": \"lb\"}}.");
        return null;
    }

    public IEnumerable<FieldReader> List(string field, string item)
    {
        if (!Find(field, required: true, out var value)) yield break;
        if (value.ValueKind != JsonValueKind.Array || value.GetArrayLength() == 0)
        {
            Say($"{field}: a list such as [{item}].");
            yield break;
        }

        var number = 0;
        foreach (var element in value.EnumerateArray())
        {
            var name = $"{field}[{number++}]";
            if (element.ValueKind != JsonValueKind.Object)
            {
                Say($"{name}: {element.GetRawText()} is not {item}.");
                yield break;
            }

            var inner = new FieldReader(element, name);
            yield return inner;
            inner.NothingElse();
            if (inner.Refused is { } refused)
                Refuse(refused.Text.StartsWith(name, StringComparison.Ordinal)
                    ? refused : refused with { Text = $"{name}.{refused.Text}" });
        }
    }

    /// <summary>A field nobody asked for is a mistake in writing.</summary>
    public void NothingElse()
    {
        foreach (var property in given.EnumerateObject())
        {
            if (known.Contains(property.Name)) continue;
            Say($"{property.Name}: {what} has no such field.{Near(property.Name, known)} It has {string.Join(", ", known)}.");
            return;
        }
    }

    public static bool TryTime(string text, out DateTimeOffset time) =>
        DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out time)
            && text.Contains('T', StringComparison.OrdinalIgnoreCase)
        && time.Year is >= 1970 and < 3000;

    public static string Near(string text, IEnumerable<string> choices) => Nearest.Of(text, choices) is { } near
        ? $" Did you mean {near}?" : "";

    /// <summary>A value a field could have.</summary>
    public static string Example(string field) => field switch
    {
        "bin" => "B12",
        "lot" => "2026-R3",
        "place" => "cellar",
        "crop" => "potato",
        "order" => "market-2026-11-07",
        "row" => "3",
        _ => field,
    };

    private Amount? MeasureOf(JsonElement measure, double mostKg)
    {
        const string right = "right would be \"measure\": {\"amount\": 2, \"unit\": \"bushel\"}";
        if (measure.ValueKind != JsonValueKind.Object)
        {
            Say($"measure: {measure.GetRawText()} is not a measure; {right}.");
            return null;
        }

        var inner = new FieldReader(measure, "measure");
        var amount = inner.Number("amount", 1e-6, 1e6, "a number above 0");
        var written = inner.OptionalName("unit", required: true);
        var kg = inner.Number("kgPerUnit", 1e-6, 10_000, "the kg of one unit");
        var source = inner.OptionalName("source", 2_000);
        var cut = inner.OptionalName("as");
        inner.NothingElse();
        var unit = written is null ? null : Measures.Unit(written);
        if (written is not null && unit is null)
            inner.Say($"unit: '{written}' is not one of {string.Join(", ", Measures.Units)}.{Near(written, Measures.Units)}");
        if (amount is null) inner.Say($"amount is missing; {right}");
        if (inner.Refused is { } refused)
        {
            Refuse(refused with { Text = $"measure.{refused.Text}" });
            return null;
        }

        long? grams = kg is { } each ? Ledger.Amount.GramsOf(amount!.Value * each) : null;
        if (grams is { } sum && (sum <= 0 || sum > mostKg * 1000))
            Say($"measure: {amount} {unit} would be {sum / 1000.0:0.###} kg; more than 0 and at most {mostKg:0} can be.",
                new { refusal = Refusal.TooMuch, kg = sum / 1000.0, mostKg });
        // Most sources are the program's own, and the same text a thousand times over.
        if (source is not null) source = string.IsInterned(source) ?? source;
        return new Amount(grams, unit, amount!.Value) { Measure = new Measured(amount.Value, unit!, kg, source, cut) };
    }

    private bool Find(string field, bool required, out JsonElement value)
    {
        known.Add(field);
        // A null is a field that is not there.
        if (given.TryGetProperty(field, out value) && value.ValueKind != JsonValueKind.Null) return true;
        if (required) Say($"{field}: it is missing from {what}; right would be \"{field}\": \"{Example(field)}\".");
        return false;
    }

    private string? No(string wrong, object? figures = null)
    {
        Say(wrong, figures);
        return null;
    }
}
