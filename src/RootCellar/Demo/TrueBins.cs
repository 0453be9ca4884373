using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Demo;

/// <summary>
/// What the bins truly weigh: each is followed through the rooms' true air with its lot's own thirst, which the service does not know
/// and can only learn from the scale. Deeds are given in order of time; the same deeds give the same weights.
/// </summary>
internal sealed class TrueBins(DateTimeOffset from)
{
    private const double ScaleStepKg = 0.05;

    // A careful hand on a household scale (assumed), kg.
    private const double ScaleSdKg = 0.03;

    private readonly TrueAir air = new(from);
    private readonly Dictionary<string, LotTraits> lots = new(StringComparer.Ordinal);
    private readonly Dictionary<string, long> dug = new(StringComparer.Ordinal);
    private readonly Dictionary<string, Bin> bins = new(StringComparer.Ordinal);
    private long weighings;

    /// <summary>What a bin truly weighs as it was left by the last deed, kg.</summary>
    public double Kg(string bin) => bins[bin].Kg;

    /// <summary>Follows an event.</summary>
    /// <returns>The event with what the scale shows where it leaves that open.</returns>
    public LedgerEvent Take(LedgerEvent what, DateTimeOffset at)
    {
        var cell = TimeStep.Of(at);
        switch (what)
        {
            case Dug d:
                Dig(d, cell);
                break;
            case Filled f:
                var bin = new Bin(LotState.Dug(lots[f.Lot]), dug[f.Lot], f.Place ?? "", f.Amount.Units);
                bins[f.Bin] = Follow(bin, cell, alsoWeight: false);
                break;
            case Moved m:
                Change(m.Bin, cell, b => b with { Place = m.Place });
                break;
            case Weighed w:
                Change(w.Bin, cell, b => b);
                return w.Amount == HomesteadBook.OnTheScale ? w with { Amount = Amount.OfKg(Shown(bins[w.Bin].Kg)) } : w;
            case Sorted s:
                Change(s.Bin, cell, b => b);
                return Sort(s);
            case TakenOut o:
                Change(o.Bin, cell, b => b with { Kg = b.Kg - o.Amount.Units });
                break;
        }

        return what;
    }

    private void Dig(Dug what, long cell)
    {
        var prior = LotKnown.Prior(CropTable.Default.Find(what.Crop)!, what.Variety, what.Skin);
        var middle = prior.Middle();
        lots[what.Lot] = new LotTraits(
            prior.Crop, prior.Skin, prior.Packing, prior.PieceGrams, middle.RestDaysAt10C,
            waterMultiplier: prior.WaterMultiplier * HomesteadBook.WaterMultipliers.GetValueOrDefault(what.Lot, 1));
        dug[what.Lot] = cell;
    }

    private void Change(string bin, long cell, Func<Bin, Bin> change) => bins[bin] = change(Follow(bins[bin], cell, alsoWeight: true));

    private Sorted Sort(Sorted what)
    {
        var whole = bins[what.Bin];
        var into = what.Into.Select(i => i with { Amount = Amount.OfKg(Rounded(whole.Kg * i.Amount.Units)) }).ToList();
        foreach (var part in into) bins[part.Bin] = whole with { Kg = part.Amount.Units };
        return what with { Into = into };
    }

    private Bin Follow(Bin bin, long to, bool alsoWeight)
    {
        var state = bin.State;
        for (var cell = bin.Cell; cell < to; cell++) state = state.Advance(air.At(bin.Place, cell), TimeStep.Hours);
        return bin with
        {
            State = state,
            Cell = Math.Max(bin.Cell, to),
            Kg = alsoWeight ? bin.Kg * (1 - state.Lost) / (1 - bin.State.Lost) : bin.Kg
        };
    }

    private double Shown(double kg) => Rounded(kg + (ScaleSdKg * Chance.Bell(23, weighings++)));

    private static double Rounded(double kg) => Math.Round(Math.Round(kg / ScaleStepKg) * ScaleStepKg, 2);

    private sealed record Bin(LotState State, long Cell, string Place, double Kg);

    /// <summary>The rooms' true air, every five minutes.</summary>
    private sealed class TrueAir(DateTimeOffset from)
    {
        // Nothing measures there: a shelf behind the kitchen (assumed).
        private static readonly LotAir Pantry = new(14, 60);

        private readonly World world = new(from);
        private readonly long first = TimeStep.Of(from);
        private readonly List<(LotAir Curing, LotAir Cellar)> rooms = [];

        public LotAir At(string place, long cell)
        {
            if (place is not (Homestead.CuringRoom or Homestead.Cellar)) return Pantry;
            while (first + rooms.Count <= cell)
            {
                var scene = world.AdvanceTo(TimeStep.At(first + rooms.Count));
                rooms.Add((Air(scene.CuringRoom, Homestead.CuringShape), Air(scene.Cellar, Homestead.CellarShape)));
            }

            var (curing, cellar) = rooms[(int)Math.Max(0, cell - first)];
            return place == Homestead.Cellar ? cellar : curing;
        }

        private static LotAir Air(RoomState room, RoomShape shape) => new(room.AirC, room.RelativeHumidityPercent(shape), room.PulpC);
    }
}
