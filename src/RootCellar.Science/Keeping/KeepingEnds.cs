using System.Globalization;
using RootCellar.Science.Crops;

namespace RootCellar.Science.Keeping;

/// <summary>
/// What ends the keeping of a crop beside its sprouts: weight lost, and age. About looks and sale, for reckoning how long a lot lasts; it
/// says nothing about whether produce is fit to eat, and knows nothing of rot.
/// </summary>
public static class KeepingEnds
{
    /// <summary>
    /// The share of its first weight a crop may lose before it is shriveled or soft enough not to be sold. Robinson, Browne and Burton 1975,
    /// Storage characteristics of some vegetables and soft fruits, Annals of Applied Biology 81, from memory, low confidence: potato 7 %,
    /// carrot 8, beetroot 7, parsnip 7, leek 7, Brussels sprouts 8, onion 10, white winter cabbage 10. Garlic and shallot as onion, swede,
    /// turnip and the other roots as beetroot: assumed. Sweet potato 7: assumed as potato. Apples shrivel from 5 %, pears from 6 (common
    /// practice, from memory). Squash and pumpkins 15: assumed, their rind hides it long.
    /// </summary>
    public static double ShriveledShare(Crop crop)
    {
        ArgumentNullException.ThrowIfNull(crop);
        return crop.Id switch
        {
            "carrot" or "brussels-sprouts" => 0.08,
            "onion" or "garlic" or "garlic-seed" or "shallot" or "cabbage" => 0.10,
            "apple" or "apple-tender" => 0.05,
            "pear" or "asian-pear" => 0.06,
            _ => Curing.RuleOf(crop) == CuringRule.Rind ? 0.15 : 0.07,
        };
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
