using System.Text;
using System.Text.Json;

namespace RootCellar.Science.Crops;

/// <summary>A table of rows in JSON, with comments and trailing commas, whose rows are found by name.</summary>
internal static class JsonTable
{
    private static readonly JsonDocumentOptions Options = new()
    {
        CommentHandling = JsonCommentHandling.Skip,
        AllowTrailingCommas = true,
    };

    public static IReadOnlyList<T> Read<T>(
        string json, string table, string namedBy, Func<TableRow, T> read, Func<T, string> id, Func<T, IEnumerable<string>> names)
    {
        ArgumentNullException.ThrowIfNull(json);
        JsonDocument document;
        try
        {
            document = JsonDocument.Parse(json, Options);
        }
        catch (JsonException e)
        {
            throw new FormatException($"{table}: this is not JSON: {e.Message}", e);
        }

        using (document)
        {
            if (document.RootElement.ValueKind != JsonValueKind.Array)
                throw new FormatException($"{table}: it must be a list of rows: [ {{ \"{namedBy}\": ... }}, ... ].");
            var rows = new List<T>();
            var taken = new Dictionary<string, string>(StringComparer.Ordinal);
            foreach (var element in document.RootElement.EnumerateArray())
            {
                var row = new TableRow(element, rows.Count + 1, table, namedBy);
                var found = read(row);
                foreach (string name in names(found).DistinctBy(NameIndex.Key, StringComparer.Ordinal))
                {
                    if (!taken.TryAdd(NameIndex.Key(name), id(found)))
                        throw row.Wrong("id, name or aliases",
                            $"\"{name}\" already names {taken[NameIndex.Key(name)]}; every name may stand once");
                }

                rows.Add(found);
            }

            return rows;
        }
    }

    public static string Embedded(string file)
    {
        using var stream = typeof(JsonTable).Assembly.GetManifestResourceStream($"RootCellar.Science.Crops.{file}")
            ?? throw new InvalidOperationException($"The table {file} is missing from the assembly.");
        using var reader = new StreamReader(stream, Encoding.UTF8);
        return reader.ReadToEnd();
    }
}
