using System.Globalization;
using RootCellar.Science.Crops;

namespace RootCellar.Science.Keeping;

/// <summary>
/// What ends the keeping of a crop beside its sprouts: weight lost, and age. About looks and sale, for reckoning how long a lot lasts; it
/// says nothing about whether produce is fit to eat, and knows nothing of rot.
/// </summary>
public static class KeepingEnds
{
    /// <summary>The share of its first weight a crop may lose before it is shriveled or soft enough not to be sold.</summary>
    public static double ShriveledShare(Crop crop)
    {
        ArgumentNullException.ThrowIfNull(crop);
        return crop.Shriveled.Value;
    }

    /// <summary>
    /// How long handbooks say it keeps at its best, days from digging: the least and the most of <see cref="Crop.StorageLife"/>. Where one
    /// figure is printed, a quarter less and more (assumed). Null where none is printed.
    /// </summary>
    public static (double Least, double Most)? HandbookDays(Crop crop)
    {
        ArgumentNullException.ThrowIfNull(crop);
        double[] figures = new double[2];
        int found = 0;
        foreach (string word in crop.StorageLife.Split([' ', ',', ';'], StringSplitOptions.RemoveEmptyEntries))
        {
            if (found < 2 && double.TryParse(word, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out double figure))
                figures[found++] = figure;
            // The first unit ends it: what follows is of one kind.
            double days = word.StartsWith("month", StringComparison.Ordinal) ? 30.4 : word.StartsWith("week", StringComparison.Ordinal) ? 7 : 0;
            if (days == 0) continue;
            return found switch
            {
                0 => null,
                1 => (0.75 * figures[0] * days, 1.25 * figures[0] * days),
                _ => (figures[0] * days, figures[1] * days),
            };
        }

        return null;
    }
}
