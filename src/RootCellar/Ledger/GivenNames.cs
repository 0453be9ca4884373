using System.Text.Json;
using RootCellar.Household;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>
/// Names as people and programs give them: of lots, bins, rows, orders and places. A new one must be seen on a page, fit into an address
/// and be told from every other; one that is in the book already is taken as it is, so that what is there can be reached and put right.
/// </summary>
internal static class GivenNames
{
    private static readonly string[] Names = [.. EventKinds.All.SelectMany(k => k.NameFields).Distinct(StringComparer.Ordinal)];

    /// <summary>What is wrong with a name among the fields of an event; null where all can be.</summary>
    /// <param name="known">Whether the book has a name already: field and name.</param>
    public static Question? Refuse(JsonElement fields, Func<string, string, bool> known)
    {
        foreach (var property in fields.EnumerateObject())
        {
            if (property.Name == "into" && property.Value.ValueKind == JsonValueKind.Array)
            {
                foreach (var item in property.Value.EnumerateArray().Where(i => i.ValueKind == JsonValueKind.Object))
                {
                    if (Refuse(item, known) is { } inside) return inside;
                }
            }

            if (property.Value.ValueKind != JsonValueKind.String || !Names.Contains(property.Name, StringComparer.Ordinal)) continue;
            var name = property.Value.GetString()!;
            if (name.Trim().Length == 0 || NameRules.Why(name) is not { } why || (name.Trim() == name && known(property.Name, name)))
                continue;
            return Question.Of(
                QuestionCode.Unreadable,
                $"{property.Name}: '{NameRules.Seen(name)}' cannot be a name: {why}. Right would be letters and digits, such as \"{Right(property.Name, name)}\".",
                new { refusal = Refusal.OddName, field = property.Name, given = NameRules.Seen(name), right = Right(property.Name, name) });
        }

        return null;
    }

    /// <summary>The name without what is wrong with it, where something is left of it.</summary>
    private static string Right(string field, string name) => NameRules.Left(name) is { Length: > 0 } left
        ? left : FieldReader.Example(field);
}
