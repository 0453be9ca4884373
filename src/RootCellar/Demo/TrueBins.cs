using System.Text.Json.Nodes;
using RootCellar.Lots;
using RootCellar.Places;
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

    /// <summary>Follows an event, and writes into it what the scale shows where it leaves that open.</summary>
    public void Take(JsonObject what, DateTimeOffset at)
    {
        var cell = Cells.Of(at);
        switch ((string)what["event"]!)
        {
            case "dug":
                Dig(what, cell);
                break;
            case "filled":
                var lot = (string)what["lot"]!;
                bins[Name(what)] = new Bin(LotState.Dug(lots[lot]), dug[lot], (string?)what["place"] ?? "", (double)what["weightKg"]!);
                bins[Name(what)] = Follow(bins[Name(what)], cell, alsoWeight: false);
                break;
            case "moved":
                Change(what, cell, b => b with { Place = (string)what["place"]! });
                break;
            case "weighed":
                Change(what, cell, b => b);
                if (what["weightKg"] is null) what["weightKg"] = Shown(bins[Name(what)].Kg);
                break;
            case "sorted":
                Change(what, cell, b => b);
                Sort(what);
                break;
            case "sold" or "eaten" or "canned" or "given" or "planted" or "culled":
                Change(what, cell, b => b with { Kg = b.Kg - (double)what["weightKg"]! });
                break;
        }
    }

    private void Dig(JsonObject what, long cell)
    {
        var lot = (string)what["lot"]!;
        var prior = LotKnown.Prior((string)what["crop"]!, (string?)what["variety"], (string?)what["skin"])!;
        var middle = prior.Middle();
        lots[lot] = new LotTraits(
            prior.Crop, prior.Skin, prior.Packing, prior.PieceGrams, middle.RestDaysAt10C, waterMultiplier: prior.WaterMultiplier * HomesteadBook.WaterMultipliers.GetValueOrDefault(lot, 1));
        dug[lot] = cell;
    }

    private void Change(JsonObject what, long cell, Func<Bin, Bin> change) => bins[Name(what)] = change(Follow(bins[Name(what)], cell, alsoWeight: true));

    private void Sort(JsonObject what)
    {
        var whole = bins[Name(what)];
        foreach (var into in what["into"]!.AsArray().Select(i => i!.AsObject()))
        {
            var kg = Rounded(whole.Kg * (double)into["share"]!);
            into.Remove("share");
            into["weightKg"] = kg;
            bins[Name(into)] = whole with { Kg = kg };
        }
    }

    private Bin Follow(Bin bin, long to, bool alsoWeight)
    {
        var state = bin.State;
        for (var cell = bin.Cell; cell < to; cell++) state = state.Advance(air.At(bin.Place, cell), Cells.Hours);
        return bin with { State = state, Cell = Math.Max(bin.Cell, to), Kg = alsoWeight ? bin.Kg * (1 - state.Lost) / (1 - bin.State.Lost) : bin.Kg };
    }

    private double Shown(double kg) => Rounded(kg + (ScaleSdKg * Chance.Bell(23, weighings++)));

    private static double Rounded(double kg) => Math.Round(Math.Round(kg / ScaleStepKg) * ScaleStepKg, 2);

    private static string Name(JsonObject of) => (string)of["bin"]!;

    private sealed record Bin(LotState State, long Cell, string Place, double Kg);

    /// <summary>The rooms' true air, every five minutes.</summary>
    private sealed class TrueAir(DateTimeOffset from)
    {
        // Nothing measures there: a shelf behind the kitchen (assumed).
        private static readonly LotAir Pantry = new(14, 60);

        private readonly World world = new(from);
        private readonly long first = Cells.Of(from);
        private readonly List<(LotAir Curing, LotAir Cellar)> rooms = [];

        public LotAir At(string place, long cell)
        {
            if (place is not (Homestead.CuringRoom or Homestead.Cellar)) return Pantry;
            while (first + rooms.Count <= cell)
            {
                var scene = world.AdvanceTo(Cells.At(first + rooms.Count));
                rooms.Add((Air(scene.CuringRoom, Homestead.CuringShape), Air(scene.Cellar, Homestead.CellarShape)));
            }

            var (curing, cellar) = rooms[(int)Math.Max(0, cell - first)];
            return place == Homestead.Cellar ? cellar : curing;
        }

        private static LotAir Air(RoomState room, RoomShape shape) => new(room.AirC, room.RelativeHumidityPercent(shape), room.PulpC);
    }
}
