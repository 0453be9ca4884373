using System.Diagnostics.CodeAnalysis;
using System.Text.Json;

namespace RootCellar.Science.Crops;

/// <summary>Potato varieties, found by name or another name. Never changes once read; safe from any thread.</summary>
public sealed class VarietyTable
{
    private static readonly Lazy<VarietyTable> Embedded = new(() => Parse(JsonTable.Embedded("varieties.json")));

    private readonly NameIndex<Variety> _names;

    private VarietyTable(IReadOnlyList<Variety> varieties)
    {
        Varieties = varieties;
        _names = new NameIndex<Variety>(varieties, NamesOf);
    }

    /// <summary>The table that comes with the program.</summary>
    public static VarietyTable Default => Embedded.Value;

    /// <summary>Every variety, in the table's order.</summary>
    public IReadOnlyList<Variety> Varieties { get; }

    /// <summary>Reads a table.</summary>
    /// <param name="json">A list of rows; comments and trailing commas are allowed.</param>
    /// <returns>The table.</returns>
    /// <exception cref="FormatException">It cannot be read; the message names the row and the field, and what would be right.</exception>
    public static VarietyTable Parse(string json) =>
        new(JsonTable.Read(json, "Variety table", "name", ReadVariety, variety => variety.Name, NamesOf));

    /// <summary>The variety of this name, whatever its case and spaces; null where there is none.</summary>
    /// <param name="name">A name or alias.</param>
    /// <returns>The variety or null.</returns>
    public Variety? Find(string name)
    {
        ArgumentNullException.ThrowIfNull(name);
        return _names.Find(name);
    }

    /// <summary>As <see cref="Find"/>.</summary>
    public bool TryFind(string name, [NotNullWhen(true)] out Variety? variety) => (variety = Find(name)) is not null;

    /// <summary>The name of the variety nearest to what was written, for "did you mean"; null where nothing is near.</summary>
    /// <param name="written">What was written.</param>
    /// <returns>A name or null.</returns>
    public string? Suggest(string written)
    {
        ArgumentNullException.ThrowIfNull(written);
        return _names.Nearest(written)?.Name;
    }

    private static IEnumerable<string> NamesOf(Variety variety) => [variety.Name, .. variety.Aliases];

    private static Variety ReadVariety(TableRow row)
    {
        row.AllowOnly(row.Root, "", "name", "aliases", "skin", "source", "maturity", "dormancy", "ratings", "greening", "sweetening",
            "note");
        return new Variety
        {
            Name = row.Text(row.Root, "name"),
            Aliases = row.Texts("aliases"),
            Skin = row.Choice<SkinColour>(row.Root, "skin", ""),
            Source = row.Text(row.Root, "source"),
            Maturity = row.OptionalObject("maturity", "class", "days", "source") is { } maturity ? ReadMaturity(row, maturity) : null,
            DormancyFigures = [.. row.Objects("dormancy", "days", "temperature", "definition", "doubtful", "source")
                .Select(figure => ReadDormancy(row, figure))],
            DormancyRatings = [.. row.Objects("ratings", "word", "source")
                .Select(rating => new DormancyRating(row.Choice<DormancyClass>(rating, "word", "ratings", '-'),
                    row.Text(rating, "source", "ratings")))],
            Greening = row.OptionalText("greening"),
            Sweetening = row.OptionalText("sweetening"),
            Note = row.Root.TryGetProperty("note", out _) ? row.Text(row.Root, "note") : null,
        };
    }

    private static Maturity ReadMaturity(TableRow row, JsonElement maturity)
    {
        (double Low, double High)? days = maturity.TryGetProperty("days", out _)
            ? row.Range(maturity, "maturity", "days", TableRow.Days) : null;
        return new Maturity(
            row.Choice<MaturityClass>(maturity, "class", "maturity", '-'),
            (int?)days?.Low,
            (int?)days?.High,
            row.Text(maturity, "source", "maturity"));
    }

    private static DormancyFigure ReadDormancy(TableRow row, JsonElement figure)
    {
        var (low, high) = row.OpenRange(figure, "dormancy", "days", TableRow.Days);
        (double Low, double High)? temperature = figure.TryGetProperty("temperature", out _)
            ? row.Range(figure, "dormancy", "temperature", TableRow.Temperature)
            : null;
        return new DormancyFigure(
            (int?)low,
            (int?)high,
            temperature?.Low,
            temperature?.High,
            row.Choice<DormancyEnd>(figure, "definition", "dormancy"),
            figure.TryGetProperty("doubtful", out _) && row.Flag(figure, "doubtful", "dormancy"),
            row.Text(figure, "source", "dormancy"));
    }
}
