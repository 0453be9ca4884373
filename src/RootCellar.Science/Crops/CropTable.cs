using System.Diagnostics.CodeAnalysis;
using System.Text;

namespace RootCellar.Science.Crops;

/// <summary>The crops, found by id, name or another name. Never changes once read; safe from any thread.</summary>
public sealed class CropTable
{
    private static readonly Lazy<CropTable> Embedded = new(ReadEmbedded);

    private readonly Dictionary<string, Crop> _byName = new(StringComparer.Ordinal);

    internal CropTable(IReadOnlyList<Crop> crops)
    {
        Crops = crops;
        foreach (var crop in crops)
        {
            foreach (var name in NamesOf(crop))
                _byName[Key(name)] = crop;
        }
    }

    /// <summary>The table that comes with the program.</summary>
    public static CropTable Default => Embedded.Value;

    /// <summary>Every crop, in the table's order.</summary>
    public IReadOnlyList<Crop> Crops { get; }

    /// <summary>Reads a table.</summary>
    /// <exception cref="FormatException">It cannot be read; the message names the row and the field, and what would be right.</exception>
    public static CropTable Parse(string json) => CropTableReader.Read(json);

    /// <summary>The crop of this id or name, whatever its case, spaces or plural; null where there is none.</summary>
    public Crop? Find(string idOrName)
    {
        ArgumentNullException.ThrowIfNull(idOrName);
        return _byName.GetValueOrDefault(Key(idOrName));
    }

    /// <summary>As <see cref="Find"/>.</summary>
    public bool TryFind(string idOrName, [NotNullWhen(true)] out Crop? crop) => (crop = Find(idOrName)) is not null;

    /// <summary>The id of the crop whose name is nearest to what was written, for "did you mean"; null where nothing is near.</summary>
    public string? Suggest(string written)
    {
        ArgumentNullException.ThrowIfNull(written);
        string key = Key(written);
        if (key.Length == 0)
            return null;
        var nearest = _byName
            .Select(pair => (Distance: EditDistance(key, pair.Key), Starts: pair.Key.StartsWith(key, StringComparison.Ordinal), pair.Key, pair.Value.Id))
            .Where(found => found.Distance <= Math.Max(1, key.Length / 3) || (found.Starts && key.Length >= 3))
            .OrderBy(found => found.Distance)
            .ThenBy(found => found.Key, StringComparer.Ordinal)
            .Select(found => found.Id)
            .FirstOrDefault();
        return nearest;
    }

    internal static IEnumerable<string> NamesOf(Crop crop) => [crop.Id, crop.Name, .. crop.Aliases];

    internal static string Key(string name)
    {
        var key = new StringBuilder(name.Length);
        foreach (char c in name)
        {
            if (char.IsLetterOrDigit(c))
                key.Append(char.ToLowerInvariant(c));
        }

        return key.ToString();
    }

    private static CropTable ReadEmbedded()
    {
        using var stream = typeof(CropTable).Assembly.GetManifestResourceStream("RootCellar.Science.Crops.crops.json")
            ?? throw new InvalidOperationException("The crop table is missing from the assembly.");
        using var reader = new StreamReader(stream, Encoding.UTF8);
        return Parse(reader.ReadToEnd());
    }

    private static int EditDistance(string a, string b)
    {
        int[] above = [.. Enumerable.Range(0, b.Length + 1)];
        for (int i = 1; i <= a.Length; i++)
        {
            int[] row = new int[b.Length + 1];
            row[0] = i;
            for (int j = 1; j <= b.Length; j++)
            {
                int change = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
                row[j] = Math.Min(change, 1 + Math.Min(above[j], row[j - 1]));
            }

            above = row;
        }

        return above[b.Length];
    }
}
