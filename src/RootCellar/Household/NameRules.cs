using System.Globalization;
using System.Text;

namespace RootCellar.Household;

/// <summary>
/// What a new name must be, of a place as of a lot or a bin: seen on a page, fit for an address, and told from every other.
/// </summary>
internal static class NameRules
{
    // Default_Ignorable_Code_Point of Unicode 16.0 that are letters or marks, and the blank Braille cell: drawn as nothing.
    private static readonly int[] DrawnAsNothing =
        [0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x180B, 0x180C, 0x180D, 0x180F, 0x2800, 0x3164, 0xFFA0];

    /// <summary>Why a text cannot be a new name; null where it can.</summary>
    public static string? Why(string name)
    {
        if (name.Trim() != name) return "it begins or ends with a blank";
        foreach (var rune in name.EnumerateRunes())
        {
            if (IsUnseen(rune)) return $"it has a character that is not seen in it (U+{rune.Value:X4})";
        }

        return name.Contains('\\', StringComparison.Ordinal) || name.StartsWith('/') || name.Split('/')
            .Any(part => part is "." or ".." or "") || name.All(c => c == '.')
            ? "it reads like a path"
            : null;
    }

    /// <summary>A name with what cannot be seen in it made visible.</summary>
    public static string Seen(string name)
    {
        if (!name.EnumerateRunes().Any(IsUnseen)) return name;
        return string.Concat(name.EnumerateRunes().Select(r => IsUnseen(r) ? $"(U+{r.Value:X4})" : r.ToString()));
    }

    /// <summary>The name without what is wrong with it; may be empty.</summary>
    public static string Left(string name) =>
        string.Concat(name.EnumerateRunes().Where(r => !IsUnseen(r) && r.Value is not ('/' or '\\')).Select(r => r.ToString())).Trim()
            .Trim('.').Trim();

    // A lone half of a pair comes as U+FFFD, which is seen.
    private static bool IsUnseen(Rune rune) => Rune.GetUnicodeCategory(rune) switch
    {
        UnicodeCategory.Control or UnicodeCategory.Format or UnicodeCategory.PrivateUse or UnicodeCategory.OtherNotAssigned or UnicodeCategory.Surrogate
            or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator => true,
        UnicodeCategory.SpaceSeparator => rune.Value != ' ',
        _ => DrawnAsNothing.Contains(rune.Value) || rune.Value is (>= 0xFE00 and <= 0xFE0F) or (>= 0xE0100 and <= 0xE01EF),
    };
}
