using System.Text;

namespace RootCellar.Science.Crops;

/// <summary>Finds things by any of their names, and the nearest name when there is none. Never changes once made.</summary>
internal sealed class NameIndex<T>
    where T : class
{
    private readonly Dictionary<string, T> _byKey = new(StringComparer.Ordinal);

    public NameIndex(IEnumerable<T> all, Func<T, IEnumerable<string>> names)
    {
        foreach (var one in all)
        {
            foreach (string name in names(one))
                _byKey[NameIndex.Key(name)] = one;
        }
    }

    public T? Find(string name) => _byKey.GetValueOrDefault(NameIndex.Key(name));

    /// <summary>The one whose name is nearest to what was written, or begins so; null where nothing is near.</summary>
    public T? Nearest(string written)
    {
        string key = NameIndex.Key(written);
        if (key.Length == 0)
            return null;
        return _byKey
            .Select(pair => (Distance: NameIndex.EditDistance(key, pair.Key), Starts: pair.Key.StartsWith(key, StringComparison.Ordinal),
                pair.Key, pair.Value))
            .Where(found => found.Distance <= Math.Max(1, key.Length / 3) || (found.Starts && key.Length >= 3))
            .OrderBy(found => found.Distance)
            .ThenBy(found => found.Key, StringComparer.Ordinal)
            .Select(found => found.Value)
            .FirstOrDefault();
    }
}

/// <summary>How names are compared.</summary>
internal static class NameIndex
{
    /// <summary>Letters and digits in small letters: what makes two names the same.</summary>
    public static string Key(string name)
    {
        var key = new StringBuilder(name.Length);
        foreach (char c in name)
        {
            if (char.IsLetterOrDigit(c))
                key.Append(char.ToLowerInvariant(c));
        }

        return key.ToString();
    }

    public static int EditDistance(string a, string b)
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
