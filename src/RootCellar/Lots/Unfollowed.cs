using System.Globalization;
using RootCellar.Ledger;

namespace RootCellar.Lots;

/// <summary>Why nothing is worked out of a lot.</summary>
internal enum WhyUnfollowed
{
    /// <summary>The crop table does not know its crop.</summary>
    Crop,

    /// <summary>By the book it is dug later than now.</summary>
    DugLater,

    /// <summary>By the book it is older than anything that keeps.</summary>
    TooOld,

    /// <summary>Working it out failed: a fault of the program or of the record, to be reported.</summary>
    Fault,
}

/// <summary>A lot that is known to the book only, and why. The others go on.</summary>
/// <param name="Text">In English, for programs and the log.</param>
internal sealed record Unfollowed(string Lot, WhyUnfollowed Why, string Text)
{
    /// <summary>
    /// For so many years a lot is followed, 105,000 steps each (assumed: no crop of the table keeps for two). One of a wrong year would
    /// cost every start and every change of the book seconds and hundreds of megabytes, for figures that mean nothing.
    /// </summary>
    public const int MostYears = 3;

    /// <summary>Why a lot is not to be worked out at all; null where it may be.</summary>
    /// <param name="now">The piece of time it is looked at.</param>
    public static Unfollowed? Before(LotView lot, long now)
    {
        if (LotKnown.Prior(lot) is null)
            return new(lot.Id, WhyUnfollowed.Crop, $"The crop table does not know {lot.Crop}.");
        var day = lot.DugAt.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
        if (TimeStep.Of(lot.DugAt) >= now)
            return new(lot.Id, WhyUnfollowed.DugLater, $"By the book it is dug on {day}, which is still to come.");
        return IsTooOld(lot, now)
            ? new(lot.Id, WhyUnfollowed.TooOld,
                $"By the book it was dug on {day}; a lot is followed for {MostYears} years. If the date is wrong, correct it.") : null;
    }

    /// <summary>Whether a lot, as long as it had anything left, was older than any is followed.</summary>
    public static bool IsTooOld(LotView lot, long now)
    {
        var end = now;
        if (lot.Bins.Count > 0 && lot.Bins.All(b => b.EmptiedAt is not null))
            end = Math.Min(now, TimeStep.Of(lot.Bins.Max(b => b.EmptiedAt!.Value)));
        return end - TimeStep.Of(lot.DugAt) > MostYears * 366L * TimeStep.PerDay;
    }

    public static Unfollowed Of(LotView lot, Exception fault) =>
        new(lot.Id, WhyUnfollowed.Fault, $"Working it out failed: {fault.Message}");
}
