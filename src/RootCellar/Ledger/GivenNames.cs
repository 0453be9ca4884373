using System.Globalization;
using System.Text;
using System.Text.Json;

namespace RootCellar.Ledger;

/// <summary>
/// Names as people and programs give them: of lots, bins, rows, orders and places. A new one must be seen on a page, fit into an address and
/// be told from every other; one that is in the book already is taken as it is, so that what is there can be reached and put right.
/// </summary>
internal static class GivenNames
{
    private static readonly string[] Names = ["bin", "lot", "row", "order", "place", "grade", "variety"];

    // Default_Ignorable_Code_Point of Unicode 16.0 that are letters or marks, and the blank Braille cell: drawn as nothing.
    private static readonly int[] DrawnAsNothing = [0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x180B, 0x180C, 0x180D, 0x180F, 0x2800, 0x3164, 0xFFA0];

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
            if (name.Trim().Length == 0 || Why(name) is not { } why || (name.Trim() == name && known(property.Name, name))) continue;
            return Question.Of(
                QuestionCode.Unreadable,
                $"{property.Name}: '{Seen(name)}' cannot be a name: {why}. Right would be letters and digits, such as \"{Right(property.Name, name)}\".",
                new { refusal = Refusal.OddName, field = property.Name, given = Seen(name), right = Right(property.Name, name) });
        }

        return null;
    }

    /// <summary>Why a text cannot be a new name; null where it can.</summary>
    public static string? Why(string name)
    {
        if (name.Trim() != name) return "it begins or ends with a blank";
        foreach (var rune in name.EnumerateRunes())
        {
            if (IsUnseen(rune)) return $"it has a character that is not seen in it (U+{rune.Value:X4})";
        }

        return name.Contains('\\', StringComparison.Ordinal) || name.StartsWith('/') || name.Split('/').Any(part => part is "." or ".." or "") || name.All(c => c == '.')
            ? "it reads like a path"
            : null;
    }

    /// <summary>A name with what cannot be seen in it made visible.</summary>
    public static string Seen(string name)
    {
        if (!name.EnumerateRunes().Any(IsUnseen)) return name;
        return string.Concat(name.EnumerateRunes().Select(r => IsUnseen(r) ? $"(U+{r.Value:X4})" : r.ToString()));
    }

    // A lone half of a pair comes as U+FFFD, which is seen.
    private static bool IsUnseen(Rune rune) => Rune.GetUnicodeCategory(rune) switch
    {
        UnicodeCategory.Control or UnicodeCategory.Format or UnicodeCategory.PrivateUse or UnicodeCategory.OtherNotAssigned or UnicodeCategory.Surrogate
            or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator => true,
        UnicodeCategory.SpaceSeparator => rune.Value != ' ',
        _ => DrawnAsNothing.Contains(rune.Value) || rune.Value is (>= 0xFE00 and <= 0xFE0F) or (>= 0xE0100 and <= 0xE01EF),
    };

    /// <summary>The name without what is wrong with it, where something is left of it.</summary>
    private static string Right(string field, string name)
    {
        var left = string.Concat(name.EnumerateRunes().Where(r => !IsUnseen(r) && r.Value is not ('/' or '\\')).Select(r => r.ToString())).Trim().Trim('.').Trim();
        return left.Length > 0 ? left : FieldReader.Example(field);
    }
}
