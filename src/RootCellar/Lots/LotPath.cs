using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>Where a lot stands from a piece of time on. The purpose decides what is assumed where nothing was ever measured.</summary>
internal readonly record struct PathStay(long From, string Place, Purpose Purpose);

/// <summary>
/// A lot and the way it took: all that its state depends on besides the kept air. Two bins of one lot that stood in the same
/// places at the same times are one path. The key up to a piece of time names what was folded until then: a later move does
/// not change it, so that what is kept under it stays true.
/// </summary>
internal sealed class LotPath
{
    private static readonly string Science = typeof(LotState).Module.ModuleVersionId.ToString("N");

    private readonly string lotKey;
    private readonly LotAir[] assumed;
    private readonly string?[] keys;

    /// <param name="lot">The lot's name.</param>
    /// <param name="traits">What it is.</param>
    /// <param name="dug">The piece it was dug in.</param>
    /// <param name="stays">Places in order of time. The first is where it stood from digging on, whenever that stay is said to
    /// begin.</param>
    public LotPath(string lot, LotTraits traits, long dug, IReadOnlyList<PathStay> stays)
    {
        Lot = lot;
        Traits = traits;
        Dug = dug;
        Stays = Straight(dug, stays);
        keys = new string?[Stays.Count];
        assumed = [.. Stays.Select(s => PlaceAirRecord.BandMiddle(traits.Crop, s.Purpose))];
        // The science itself is part of the key: another program's figures are not this one's.
        lotKey = string.Create(
            CultureInfo.InvariantCulture,
            $"{Science}|{traits.Crop.Id}{traits.Crop.Definition}|{traits.Skin}|{traits.Packing}|{BitConverter.DoubleToInt64Bits(traits.PieceGrams):x}|{BitConverter.DoubleToInt64Bits(traits.RestDaysAt10C):x}|{dug}");
        Key = KeyAt(long.MaxValue);
    }

    public string Lot { get; }

    public LotTraits Traits { get; }

    public long Dug { get; }

    public IReadOnlyList<PathStay> Stays { get; }

    /// <summary>The key of the whole way.</summary>
    public string Key { get; }

    /// <summary>The keys of every part of the way.</summary>
    public IEnumerable<string> AllKeys => Enumerable.Range(0, Stays.Count).Select(i => keys[i] ??= MakeKey(i));

    /// <summary>What the state at the beginning of <paramref name="cell"/> depends on.</summary>
    public string KeyAt(long cell)
    {
        int last = Stays.Count - 1;
        while (last > 0 && Stays[last].From >= cell) last--;
        return keys[last] ??= MakeKey(last);
    }

    private string MakeKey(int last)
    {
        var text = new StringBuilder(lotKey);
        // Outdoors it is the probe that was folded since: a name of its own, for what is kept under the old one is of the weather.
        for (int i = 0; i <= last; i++)
        {
            char purpose = Stays[i].Purpose == Purpose.Outdoors ? 'p' : (char)('a' + (int)Stays[i].Purpose);
            text.Append(CultureInfo.InvariantCulture, $"|{Stays[i].From}:{purpose}:{Stays[i].Place}");
        }

        return $"{Lot}#{Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text.ToString())).AsSpan(0, 12))}";
    }

    /// <summary>The stay a piece of time belongs to.</summary>
    public int StayAt(long cell)
    {
        int i = Stays.Count - 1;
        while (i > 0 && Stays[i].From > cell) i--;
        return i;
    }

    /// <summary>What is assumed of a stay's air where nothing was ever measured.</summary>
    public LotAir Assumed(int stay) => assumed[stay];

    private static List<PathStay> Straight(long dug, IReadOnlyList<PathStay> stays)
    {
        var straight = new List<PathStay>();
        foreach (var stay in stays)
        {
            var next = straight.Count == 0 || stay.From < dug ? stay with { From = dug } : stay;
            if (straight.Count > 0 && straight[^1].From == next.From) straight.RemoveAt(straight.Count - 1);
            if (straight.Count > 0 && straight[^1].Place == next.Place && straight[^1].Purpose == next.Purpose) continue;
            straight.Add(next);
        }

        if (straight.Count == 0) straight.Add(new PathStay(dug, "", Purpose.Storage));
        return straight;
    }
}

/// <summary>What is known of a lot when it comes in, and what it is taken for where that is silent.</summary>
internal static class LotKnown
{
    /// <summary>The lot as far as the book knows it. A crop the table does not know cannot be followed: null.</summary>
    public static LotPrior? Prior(LotView lot) => lot.Known is { } known ? Prior(known, lot.Variety, lot.Skin) : null;

    public static LotPrior Prior(Crop known, string? variety, string? skin)
    {
        var prior = LotPrior.Of(known) with
        {
            Skin = Enum.TryParse<SkinState>(skin, ignoreCase: true, out var state) ? state
            : SkinState.Set
        };
        return prior.Rest is not null && variety is not null && VarietyTable.Default.Find(variety) is { } named
            ? prior with { Rest = RestPrior.Of(named) }
            : prior;
    }

    /// <summary>
    /// As it lies in one bin. A sack is taken as a crate, a heap as a deep bin, and so is sand or sawdust: no figures tell them apart
    /// (assumed).
    /// </summary>
    public static LotPrior Of(LotPrior prior, BinView bin) => prior with
    {
        Packing = bin.Lies switch
        {
            "layer" => Packing.SingleLayer,
            "bin" or "heap" or "sand" => Packing.DeepBin,
            _ => Packing.Crate,
        },
        // Of other crops no source tells what the size of a piece does.
        PieceGrams = Curing.RuleOf(prior.Crop) == CuringRule.Potato && bin.PieceKg is { } kg ? Math.Clamp(1000 * kg, 20, 1000) : double.NaN,
    };

    /// <summary>The lot in its middle, its rest longer or shorter by what was seen in its bins.</summary>
    public static LotTraits Traits(LotPrior prior, double restMultiplier)
    {
        var middle = prior.Middle();
        return restMultiplier == 1 ? middle : new LotTraits(
            prior.Crop, prior.Skin, prior.Packing, prior.PieceGrams, middle.RestDaysAt10C * restMultiplier);
    }
}
