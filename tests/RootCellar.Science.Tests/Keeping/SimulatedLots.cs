using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>Lots whose truth is known, drawn as <see cref="ScaleBelief"/> assumes the world to be; the same ones every time.</summary>
internal sealed class SimulatedLots(int seed)
{
    private ulong _state = (ulong)seed * 0x9E3779B97F4A7C15UL + 0x1234567UL;

    /// <summary>
    /// The share of the weight a lot of a multiplier has lost after so many days: the real fold at every node, and a straight line
    /// in the multiplier between (the fold is all but straight in it).
    /// </summary>
    public static Func<double, double, double> Curve(Crop crop, double breathMultiplier = 1, params AirSpan[] air)
    {
        double[] nodes = ScaleBelief.Multipliers.ToArray();
        double[][] lost = [.. nodes.Select(multiplier => Fold(
            new LotTraits(crop, waterMultiplier: multiplier, breathMultiplier: breathMultiplier,
                restDaysAt10C: crop.Id == "potato" ? 120 : double.NaN), air))];
        return (multiplier, days) =>
        {
            int i = Array.BinarySearch(nodes, multiplier);
            if (i >= 0)
                return On(lost[i], days);
            int above = Math.Clamp(~i, 1, nodes.Length - 1);
            double share = (multiplier - nodes[above - 1]) / (nodes[above] - nodes[above - 1]);
            return On(lost[above - 1], days) * (1 - share) + On(lost[above], days) * share;
        };

        static double On(double[] byDay, double days)
        {
            int day = Math.Min((int)days, byDay.Length - 2);
            return byDay[day] + (days - day) * (byDay[day + 1] - byDay[day]);
        }
    }

    /// <summary>How much further the model is off, and the multiplier wanders, than assumed.</summary>
    public double Times { get; init; } = 1;

    public static AirSpan[] Cellar { get; } = [AirSpan.Hold(13, 88, 14), AirSpan.Hold(9, 88, 21), AirSpan.Hold(6, 90, 130)];

    /// <summary>Standard normal: twelve uniforms would be too short in the tails, so by the quantile.</summary>
    public double Normal() => Portable.NormalQuantile(Math.Clamp(Uniform(), 1e-15, 1 - 1e-15));

    public double Uniform()
    {
        // Splitmix64 (Steele, Lea and Flood 2014, from memory).
        ulong z = _state += 0x9E3779B97F4A7C15UL;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBUL;
        return ((z ^ (z >> 31)) >> 11) / 9007199254740992.0;
    }

    /// <summary>One lot in one bin, weighed on some days; the first 0 where it was weighed at filling.</summary>
    public Lot Draw(Func<double, double, double> curve, Scale scale, params double[] days)
    {
        double multiplier = Portable.Exp(Normal() * Portable.Log(WaterLoss.UnknownLotFactor) / 1.6448536269514722);
        double bookKg = scale.BookKg;
        double net = bookKg * (1 + scale.StartError * Normal());
        double tareError = scale.TareError * Normal();
        double last = 0;
        List<Weighing> weighings = [];
        foreach (double day in days)
        {
            if (day > last)
            {
                // Between the first weighing and each later one it wanders, and now and then it leaps.
                if (weighings.Count > 0)
                {
                    multiplier *= Portable.Exp(Times * ScaleBelief.WanderSd * Math.Sqrt((day - last) / 30) * Normal());
                    if (Uniform() < 1 - Math.Exp(-(day - last) / ScaleBelief.LeapDays))
                        multiplier = Portable.Exp(Times * Normal() * Portable.Log(WaterLoss.UnknownLotFactor) / 1.6448536269514722);
                    multiplier = Math.Clamp(multiplier, 1 / 12.0, 12);
                }

                double lost = net * (1 - (1 - curve(multiplier, day)) / (1 - curve(multiplier, last)));
                net += -lost + Times * (ScaleBelief.LossShare * lost * Normal() + ScaleBin.WeightShare * bookKg * Math.Sqrt((day - last) / 30) * Normal());
                tareError += ScaleBin.TareWanderKg * Math.Sqrt((day - last) / 30) * Normal();
                last = day;
            }

            double gross = net + tareError + scale.TareKg + scale.Repeatability * Normal();
            double shown = Math.Round(gross / scale.Resolution) * scale.Resolution;
            weighings.Add(new Weighing(day, shown, scale.TareKg, scale.Resolution, scale.TareError, scale.Repeatability));
        }

        return new Lot(multiplier, net, new BinStart("crate 1", bookKg, scale.StartError * bookKg), weighings);
    }

    /// <summary>What is left of a weight from one day to another, at each multiplier.</summary>
    public static double[] Predicted(Func<double, double, double> curve, double kg, double from, double day) =>
        [.. ScaleBelief.Multipliers.ToArray().Select(m => kg * (1 - curve(m, day)) / (1 - curve(m, from)))];

    private static double[] Fold(LotTraits traits, AirSpan[] air)
    {
        var lot = LotState.Dug(traits);
        List<double> lost = [0];
        foreach (var span in air)
        {
            for (double hours = 0; hours < span.Hours - 1e-6; hours += 24)
            {
                lot = lot.Advance(span.From, 24);
                lost.Add(lot.Lost);
            }
        }

        return [.. lost];
    }

    internal sealed record Scale(double BookKg, double StartError, double TareKg, double TareError, double Resolution, double Repeatability)
    {
        /// <summary>A 50 lb crate on a scale with 0.1 lb steps.</summary>
        public static Scale Crate { get; } = new(22.68, 0.1, 2.0, 0.02, 0.045359237, 0.02);
    }

    /// <param name="Multiplier">As it is at the last weighing.</param>
    /// <param name="NetKg">What is in it then.</param>
    internal sealed record Lot(double Multiplier, double NetKg, BinStart Start, IReadOnlyList<Weighing> Weighings);

    /// <summary>A lot being weighed: what is believed of it, and what its bin is reckoned from.</summary>
    internal sealed class OnScale(Func<double, double, double> curve, BinStart start, ScaleBelief? belief = null)
    {
        private double _kg = start.StartKg;
        private double _from = start.Day;

        public ScaleBelief Belief { get; private set; } = belief ?? ScaleBelief.Prior();

        public double SdKg { get; private set; } = start.UncertaintyKg;

        public double Kg => _kg;

        public double[] Predicted(double day) => SimulatedLots.Predicted(curve, _kg, _from, Math.Max(_from, day));

        /// <summary>What a weighing would teach; nothing changes.</summary>
        public ScaleAnswer Try(Weighing weighing, bool insist = false) =>
            Belief.Observe(start with { StartKg = _kg }, weighing, Predicted(weighing.Day), insist);

        public ScaleAnswer Weigh(Weighing weighing, bool insist = false)
        {
            var answer = Try(weighing, insist);
            (Belief, _kg, SdKg, _from) = (answer.Belief, answer.Kg, answer.SdKg, weighing.Day);
            return answer;
        }
    }
}
