using System.Diagnostics.CodeAnalysis;

namespace RootCellar.Science.Crops;

/// <summary>The crops, found by id, name or another name. Never changes once read; safe from any thread.</summary>
public sealed class CropTable
{
    private static readonly Lazy<CropTable> Embedded = new(ReadEmbedded);

    private readonly NameIndex<Crop> _names;
    private readonly NameIndex<string> _bookOnly;

    internal CropTable(IReadOnlyList<Crop> crops, IReadOnlyList<string>? bookOnly = null)
    {
        Crops = crops;
        BookOnly = bookOnly ?? [];
        _bookOnly = new NameIndex<string>(BookOnly, name => [name]);
        _names = new NameIndex<Crop>(crops, NamesOf);
    }

    /// <summary>The table that comes with the program.</summary>
    public static CropTable Default => Embedded.Value;

    /// <summary>Every crop, in the table's order.</summary>
    public IReadOnlyList<Crop> Crops { get; }

    /// <summary>Names of crops of which nothing is known but what the book says.</summary>
    public IReadOnlyList<string> BookOnly { get; }

    /// <summary>This table and what a household knows beside it.</summary>
    /// <param name="own">Crops of its own (<see cref="OwnCrop"/>).</param>
    /// <param name="bookOnly">Names of crops without figures.</param>
    public CropTable With(IReadOnlyList<Crop> own, IReadOnlyList<string> bookOnly) => new([.. Crops, .. own], bookOnly);

    /// <summary>What a crop is known by, also one without figures; null where nobody knows it.</summary>
    public string? NameOf(string written) => Find(written)?.Id ?? _bookOnly.Find(written);

    /// <summary>Reads a table.</summary>
    /// <exception cref="FormatException">It cannot be read; the message names the row and the field, and what would be right.</exception>
    public static CropTable Parse(string json) => CropTableReader.Read(json);

    /// <summary>The crop of this id or name, whatever its case, spaces or plural; null where there is none.</summary>
    public Crop? Find(string idOrName)
    {
        ArgumentNullException.ThrowIfNull(idOrName);
        return _names.Find(idOrName);
    }

    /// <summary>As <see cref="Find"/>.</summary>
    public bool TryFind(string idOrName, [NotNullWhen(true)] out Crop? crop) => (crop = Find(idOrName)) is not null;

    /// <summary>The id of the crop whose name is nearest to what was written, for "did you mean"; null where nothing is near.</summary>
    public string? Suggest(string written)
    {
        ArgumentNullException.ThrowIfNull(written);
        return _names.Nearest(written)?.Id;
    }

    internal static IEnumerable<string> NamesOf(Crop crop) => [crop.Id, crop.Name, .. crop.Aliases];

    private static CropTable ReadEmbedded() => Parse(JsonTable.Embedded("crops.json"));
}
