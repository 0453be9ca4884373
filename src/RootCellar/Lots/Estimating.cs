using System.Globalization;
using System.Text;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>Makes estimates of where the courses stand. The same book, air and time give the same estimates.</summary>
internal sealed class Estimating(TrajectoryCache courses)
{
    /// <summary>For how long a bin is thought to be left.</summary>
    public const int IfLeftDays = 30;

    /// <summary>Share of a piece that is cut away with its sprouts once they are 5 mm (assumed).</summary>
    private const double SproutCost = 0.1;

    /// <summary>Share of a bin that a sign of rot is likely to cost within thirty days (assumed).</summary>
    private const double RotCost = 0.2;

    /// <summary>A weigh-in that teaches less is not worth the lifting, kg (assumed).</summary>
    private const double WorthWeighingKg = 0.05;

    private const long MeanOver = 3 * TimeStep.PerDay;

    /// <summary>A trend is the mean of so long against that of as long before (assumed: two weeks' weather evens out).</summary>
    private const long TrendOver = 14 * TimeStep.PerDay;

    /// <summary>No trend is thought to come to more than this, C (assumed).</summary>
    private const double MostDriftC = 4;

    private readonly Dictionary<string, (long Hour, string? To, Forecast Forecast)> forecasts = new(StringComparer.Ordinal);
    private readonly Dictionary<string,
        (LotView Lot, IReadOnlyDictionary<string, Purpose> Places, HouseSays House, string? Fingerprint, LotLearned Learned)> learned =
            new(StringComparer.Ordinal);
    private HouseholdCalendar calendar = HouseholdCalendar.Utc;
    private Dictionary<string, double> driest = new(StringComparer.Ordinal);
    private Dictionary<string, Purpose> lastPlaces = new(StringComparer.Ordinal);
    private readonly Dictionary<string, (long Hour, double? DriftC)> drifts = new(StringComparer.Ordinal);
    private NextPlace next = null!;
    private readonly Dictionary<string, Exception> problems = new(StringComparer.Ordinal);
    private readonly Dictionary<string, (LotView Lot, long Hour)> failed = new(StringComparer.Ordinal);
    private readonly Dictionary<string,
        (LotView Lot, string? Fingerprint, ScalesKnown Scales, IReadOnlyList<double> Zeros, IReadOnlyList<IReadOnlyList<BinSays>> Says)> says =
            new(StringComparer.Ordinal);
    private readonly Dictionary<string, (LotView Lot, string? Fingerprint, IReadOnlyList<ScaleTold> Tells)> tells =
        new(StringComparer.Ordinal);

    // Of the present look: each lot's is asked for by what it tells of the scale, what it says by itself and what it has learned.
    private readonly Dictionary<LotView, string?> prints = new(ReferenceEqualityComparer.Instance);
    private ScalesKnown scales = ScalesKnown.Nothing;
    private HouseSays houseBefore = HouseSays.Nothing;
    private double progress;

    /// <summary>What the lots of the house say of each other, as of the last look.</summary>
    public HouseSays House { get; private set; } = HouseSays.Nothing;

    /// <summary>How far the present look is, 0 to 1. From any thread.</summary>
    public double Progress => Volatile.Read(ref progress);

    /// <summary>Lots that could not be worked out, and why: a fault of the program, to be reported.</summary>
    public IReadOnlyDictionary<string, Exception> Problems => problems;

    /// <summary>The ways of every filling of the lots that have something left.</summary>
    public IEnumerable<LotPath> AllPaths => learned.Values.SelectMany(l => l.Learned.AllPaths);

    /// <summary>What a lot that has something left has taught, as of the last look; null where it is not followed.</summary>
    public LotLearned? LearnedOf(string lot) => learned.TryGetValue(lot, out var known) ? known.Learned : null;

    /// <summary>The past has changed: everything is to be worked out anew.</summary>
    public void Forget()
    {
        forecasts.Clear();
        drifts.Clear();
        learned.Clear();
        says.Clear();
        tells.Clear();
        failed.Clear();
    }

    /// <param name="book">The book.</param>
    /// <param name="setUp">The places as set up.</param>
    /// <param name="now">The piece of time to whose beginning the air is on disk.</param>
    public LotViews At(Book book, IReadOnlyList<Place> setUp, long now)
    {
        var asSetUp = setUp.ToDictionary(p => p.Id, p => p.Purpose, StringComparer.Ordinal);
        next = new NextPlace(book, new SuitingPlaces([.. setUp.Where(p => p.Purpose == Purpose.Storage).OrderBy(p => p.Id, StringComparer.Ordinal)
            .Select(p => (p, courses.Air.Mean(p.Id, now - MeanOver, now)?.Air))]));
        var bins = new List<BinEstimate>();
        var not = new List<string>();
        var unfollowed = new List<Unfollowed>();
        var going = new HashSet<string>(StringComparer.Ordinal);
        var keys = new HashSet<string>(StringComparer.Ordinal);
        if (asSetUp.Count != lastPlaces.Count || asSetUp.Any(p => !lastPlaces.TryGetValue(p.Key, out var was) || was != p.Value))
            lastPlaces = asSetUp;
        var places = lastPlaces;
        calendar = book.Calendar;
        driest = Driest(book, setUp);
        prints.Clear();
        scales = ScalesKnown.Of(book, lot => TellsOf(lot, places, now), scales);
        var house = HouseSays.Of(book, lot => SaysOf(lot, places, now), House, scales);
        // As long as nobody says anything new it is the same one: what others keep by it stays good.
        if (!house.SaysAs(House)) (houseBefore, House) = (House, house);
        foreach (var gone in says.Keys.Concat(tells.Keys).Where(k => !book.Lots.ContainsKey(k)).ToList())
        {
            says.Remove(gone);
            tells.Remove(gone);
        }

        int done = 0, all = book.AllBins.Count(b => b.EmptiedAt is null && b.Grams > 0);
        foreach (var lot in book.Lots.Values.OrderBy(l => l.Id, StringComparer.Ordinal))
        {
            Volatile.Write(ref progress, all == 0 ? 1 : done / (double)all);
            var full = lot.Bins.Where(b => b.EmptiedAt is null && b.Grams > 0).ToList();
            if (full.Count == 0) continue;
            done += full.Count;
            if (Unfollowed.Before(lot, now) is { } why)
            {
                unfollowed.Add(why);
                not.AddRange(full.Select(b => b.Id));
                continue;
            }

            if (WorkOut(lot, full, places, now) is not { } worked)
            {
                if (problems.TryGetValue(lot.Id, out var fault)) unfollowed.Add(Unfollowed.Of(lot, fault));
                not.AddRange(full.Select(b => b.Id));
                continue;
            }

            going.Add(lot.Id);
            bins.AddRange(worked);
            keys.UnionWith(full.Select(b => learned[lot.Id].Learned.Paths[(b.Id, b.FilledAt)].Key));
        }

        // A record that cannot be read at all is no fault of any lot: what was known stays.
        if (going.Count == 0 && unfollowed.Exists(u => u.Why == WhyUnfollowed.Fault)
            && problems.Values.FirstOrDefault(p => p is SqliteException) is { } unread)
            System.Runtime.ExceptionServices.ExceptionDispatchInfo.Throw(unread);
        foreach (var gone in problems.Keys.Where(k => !book.Lots.ContainsKey(k)).ToList()) problems.Remove(gone);
        foreach (var gone in failed.Keys.Where(k => !book.Lots.ContainsKey(k)).ToList()) failed.Remove(gone);
        foreach (var gone in learned.Keys.Where(k => !going.Contains(k)).ToList()) learned.Remove(gone);
        foreach (var gone in forecasts.Keys.Where(k => !keys.Contains(k)).ToList()) forecasts.Remove(gone);
        return LotViews.Of(TimeStep.At(now), book, bins, not, unfollowed) with { House = House, Storage = next.Storage };
    }

    /// <summary>
    /// The weigh-in that would narrow a lot's interval most, as of the last look; of equal ones the first by the bin's name.
    /// </summary>
    /// <param name="book">The book of that look.</param>
    /// <param name="now">The moment of that look.</param>
    public WeighInWorth? WeighIn(Book book, long now) => learned
        .ToList().SelectMany(l => WeighInsOf(book.Lots[l.Key], l.Value.Learned, now))
        .Where(w => w.GainKg > WorthWeighingKg)
        .OrderByDescending(w => Math.Round(w.GainKg, 3)).ThenBy(w => w.Bin, StringComparer.Ordinal)
        .FirstOrDefault();

    private IReadOnlyList<WeighInWorth> WeighInsOf(LotView lot, LotLearned known, long now)
    {
        try
        {
            return WeighIns.Of(lot, known, courses, now, House.Scales);
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            Fail(lot, e, now);
            return [];
        }
    }

    /// <summary>
    /// The bins of one lot; null where it cannot be worked out, whatever it threw. What costs that much is not tried every minute.
    /// </summary>
    private List<BinEstimate>? WorkOut(LotView lot, List<BinView> full, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        if (failed.TryGetValue(lot.Id, out var before) && ReferenceEquals(before.Lot, lot) && before.Hour == now / TimeStep.PerHour)
            return null;
        try
        {
            if (Learned(lot, places, now) is not { } known) return null;
            var worked = full.ConvertAll(b => Estimate(lot, b, known.Paths[(b.Id, b.FilledAt)], known, places, now));
            problems.Remove(lot.Id);
            failed.Remove(lot.Id);
            return worked;
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            Fail(lot, e, now);
            return null;
        }
    }

    /// <summary>Notes that a lot could not be worked out, and lets go of what was begun of it.</summary>
    public void Fail(LotView lot, Exception fault, long now)
    {
        problems[lot.Id] = fault;
        // The disk may be read again in a minute.
        if (fault is not SqliteException) failed[lot.Id] = (lot, now / TimeStep.PerHour);
        learned.Remove(lot.Id);
        courses.Abandon(lot.Id);
    }

    private LotLearned? Learned(LotView lot, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        // As long as nothing is written the lots are the same ones.
        bool before = learned.TryGetValue(lot.Id, out var known) && known.Fingerprint is not null && ReferenceEquals(known.House, House);
        if (before && ReferenceEquals(known.Lot, lot) && ReferenceEquals(known.Places, places)) return known.Learned;
        string? print = PrintOf(lot, places, now);
        if (before && known.Fingerprint == print)
        {
            learned[lot.Id] = (lot, places, House, print, known.Learned);
            return known.Learned;
        }

        // What the house has come to say since anything happened to the lot changes nothing of what it was.
        bool follows = print is not null && known.Fingerprint == print && ReferenceEquals(known.House, houseBefore)
            && House.NewFrom > known.Learned.LastDeed;
        if ((follows ? known.Learned.After(House, now) : Learn(lot, places, now)) is not { } fresh) return null;
        learned[lot.Id] = (lot, places, House, print, fresh);
        return fresh;
    }

    /// <summary>What a weighed lot tells of the scale. One that cannot be worked out tells nothing.</summary>
    private IReadOnlyList<ScaleTold> TellsOf(LotView lot, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        if (failed.ContainsKey(lot.Id)) return [];
        try
        {
            // What is too old by now is forgotten whether it was worked out before or not: after a restart it says the same.
            if (!LotLearning.TellsOfScale(lot, now)) return [];
            if (tells.TryGetValue(lot.Id, out var known) && ReferenceEquals(known.Lot, lot) && known.Fingerprint is not null)
                return known.Tells;
            string? print = PrintOf(lot, places, now);
            var fresh = print is not null && known.Fingerprint == print ? known.Tells : LotLearning.ScaleTells(lot, places, courses, now);
            tells[lot.Id] = (lot, print, fresh);
            return fresh;
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            return [];
        }
    }

    /// <summary>What a weighed lot says by itself. One that cannot be worked out says nothing, and is named when its bins are.</summary>
    private IReadOnlyList<IReadOnlyList<BinSays>> SaysOf(LotView lot, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        if (failed.ContainsKey(lot.Id)) return [];
        try
        {
            bool before = says.TryGetValue(lot.Id, out var known) && known.Fingerprint is not null;
            if (before && ReferenceEquals(known.Lot, lot) && ReferenceEquals(known.Scales, scales)) return known.Says;
            var zeros = scales.Of(lot);
            before = before && known.Zeros.SequenceEqual(zeros);
            string? print = before && ReferenceEquals(known.Lot, lot) ? known.Fingerprint : PrintOf(lot, places, now);
            var fresh = before && known.Fingerprint == print ? known.Says : LotLearning.Says(lot, places, courses, now, scales);
            says[lot.Id] = (lot, print, scales, zeros, fresh);
            return fresh;
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            return [];
        }
    }

    /// <summary>
    /// What a lot has taught; null where it cannot be followed. A lot whose figures nobody thought of must not stop the others: it is named
    /// in <see cref="Problems"/>.
    /// </summary>
    public LotLearned? Learn(LotView lot, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        try
        {
            return LotLearning.Of(lot, places, courses, now, House);
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            Fail(lot, e, now);
            return null;
        }
    }

    private string? PrintOf(LotView lot, IReadOnlyDictionary<string, Purpose> places, long now) =>
        prints.TryGetValue(lot, out var known) ? known : prints[lot] = Fingerprint(lot, places, now);

    /// <summary>
    /// All of a lot that its learning depends on: the book makes its lots anew with every entry. Null while something waits for its air.
    /// </summary>
    public static string? Fingerprint(LotView lot, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        // What happened later than the air is learned from when the air is there.
        if (lot.Bins.Any(b => TimeStep.Of(b.FilledAt) > now || b.Weighings.Any(w => TimeStep.Of(w.At) > now)
            || b.Steps.Any(s => TimeStep.Of(s.At) > now)))
            return null;
        var text = new StringBuilder();
        text.Append(CultureInfo.InvariantCulture, $"{lot.Crop}{lot.Known?.Definition}|{lot.Variety}|{lot.Skin}|{string.Join(',', lot.Flags)}|{lot.DugAt.ToUnixTimeMilliseconds()}");
        foreach (var bin in lot.Bins)
        {
            text.Append(CultureInfo.InvariantCulture, $"\n{bin.Id}|{bin.FilledAt.ToUnixTimeMilliseconds()}|{bin.ByMeasure}|{bin.Lies}|{bin.PieceKg}|{bin.TareKg}");
            foreach (var s in bin.Stays)
                text.Append(CultureInfo.InvariantCulture,
                    $"|{s.Place} {(s.Place is not null && places.TryGetValue(s.Place, out var purpose) ? purpose : Purpose.Storage)} {s.From.ToUnixTimeMilliseconds()}");
            foreach (var s in bin.Steps)
                text.Append(CultureInfo.InvariantCulture, $"|{s.Entry} {s.Kind} {s.Grams} {s.At.ToUnixTimeMilliseconds()}");
            foreach (var w in bin.Weighings)
                text.Append(CultureInfo.InvariantCulture,
                    $"|{w.Entry} {w.NetKg} {w.TareKg} {w.ResolutionKg} {w.Checked} {w.At.ToUnixTimeMilliseconds()}");
            foreach (var s in bin.SproutsSeen)
                text.Append(CultureInfo.InvariantCulture, $"|{s.Entry} {s.Share} {s.At.ToUnixTimeMilliseconds()}");
        }

        return text.ToString();
    }

    private BinEstimate Estimate(LotView lot, BinView bin, LotPath path, LotLearned known, IReadOnlyDictionary<string, Purpose> places,
        long now)
    {
        var course = courses.Live(path, now);
        double healing = LotUncertainty.Factor(WoundHealing.StageFactor,
            LotUncertainty.For(LotUncertainty.DarkHealingFactor, course.DarkShare));
        Purpose? purpose = bin.Place is not null && places.TryGetValue(bin.Place, out var p) ? p : null;
        var forecast = ForecastOf(path, course, purpose, healing, now);
        var (stay, ahead, way) = forecast;
        var state = course.State;
        var weight = known.Weights.TryGetValue((bin.Id, bin.FilledAt), out var from)
            ? from : new WeightBase(now, now, bin.BookKg, bin.BookKg * LotLearning.WeighedShare);
        var then = courses.Past(path, Math.Min(weight.From, now));
        var (soFar, begun) = (Lost.Between(then, course, known), Sprouts90.Of(known, then.SproutMm));
        var lostIn = PlaceShares.Of(path, courses, Math.Min(weight.From, now), now);
        Func<double, WaterMultiplier> multiplier = toCome => known.Multiplier(bin, lostIn.And(soFar.Water, way.Place ?? "", toCome));
        double dark = LotUncertainty.For(LotUncertainty.DarkRestFactor, course.DarkShare);
        double restDays = known.RestDaysAt10C;
        // The first sprouts anybody saw in it: a fact, whatever the reckoning says.
        var sprouting = bin.SproutsSeen.FirstOrDefault(s => s.Share != Ledger.SproutsSeen.None && TimeStep.Of(s.At) <= now);
        var rest = new RestNow(
            restDays, LotUncertainty.Factor(known.RestShorter, dark), LotUncertainty.Factor(known.RestLonger, dark), sprouting?.At);
        var traits = new KeepingTraits(path.Traits, lot.DugAt, healing, rest);
        var outlook = new BinOutlook(ahead, weight, soFar, begun, known, multiplier, traits);
        var ifLeft = ReferenceEquals(stay, ahead) ? outlook : new BinOutlook(stay, weight, soFar, begun, known, multiplier, traits);
        var kg = outlook.KgIn(0);

        var loss = ifLeft.LossKg(kg.Value, IfLeftDays);
        var sign = double.IsNaN(restDays) ? Advising.SproutSign(bin, TimeStep.At(now)) : null;
        // Of a crop whose rest is not followed, what has begun to sprout is taken to do so altogether (assumed).
        double sprouts = (sign is null ? Math.Max(0, ifLeft.SproutedShareIn(IfLeftDays) - state.SproutedShare) : 1) * SproutCost * kg.Value;
        double rot = Advising.RotSign(bin, TimeStep.At(now)) is null ? 0 : RotCost * kg.Value;
        var estimate = new BinEstimate(
            bin.Id, lot.Id, lot.Crop, lot.Variety, bin.Grade, bin.Place, lot.DugAt, bin.FilledAt, TimeStep.At(now),
            bin.BookKg, kg, Shrink.Of(bin, kg.Value), multiplier(0).Sides,
            state.Stage, state.HealedDays, path.Traits.Rule != CuringRule.None,
            stay.Healing(Curing.DaysTo(path.Traits.Rule, HealingStage.Adequate), healing),
            double.IsNaN(restDays) ? null : new Interval(
                Math.Min(1, course.RestDays / restDays / rest.Longer), state.RestUsed,
                sprouting is not null ? 1 : Math.Min(1, course.RestDays / restDays * rest.Shorter)),
            outlook.Peeping,
            outlook.Sprouted,
            state.SproutMm, 100 * state.SproutedShare, state.PulpC, state.WetHours, state.WetRunHours, state.ColdHours, state.FreezingHours,
            state.LightHours, state.SweetDegreeDays, course.DarkHours, 100 * course.DarkShare,
            new LossIfLeft(IfLeftDays, loss, loss.Value + sprouts + rot),
            known.Questions.TryGetValue((bin.Id, bin.FilledAt), out var questions) ? questions : [],
            Said(path.Traits.Crop, course, stay),
            new BinAdvice(Urgency.Nothing, "none", ""))
        {
            Kind = path.Traits.Crop,
            Sprouting = sign is null ? null : new SproutsLook(bin.Id, sign.At, sign.Share, sign.LengthMm),
            Outlook = outlook,
            Way = way,
            Lasts = forecast.Lasts(outlook, known, rest.SeenAt),
            Seen = bin.SproutsSeen.LastOrDefault(s => TimeStep.Of(s.At) <= now) is { } look
                ? new SproutsLook(bin.Id, look.At, look.Share, look.LengthMm)
                : null,
            SproutsSeen = sprouting is not null,
            ScaleStepKg = bin.Weighings.LastOrDefault(w => TimeStep.Of(w.At) <= now)?.ResolutionKg ?? ScaleStep.AssumedKg,
            InCuring = purpose == Purpose.Curing,
            Scale = ScaleOf(bin, path, known, now),
            LearnedFrom = House.Count(lot, known, bin.Place, now),
            Soil = known.Soil.TryGetValue((bin.Id, bin.FilledAt), out var soil) ? soil : null,
        };
        bool measured = courses.Air.EverMeasured(bin.Place ?? "", now - 1);
        return estimate with
        {
            Advice = Advising.Of(lot, bin, path.Traits.Crop, purpose, course, stay, estimate, TimeStep.At(now), measured, calendar,
                next.Storage, driest.GetValueOrDefault(bin.Place ?? "", 100)),
        };
    }

    private ScaleNow? ScaleOf(BinView bin, LotPath path, LotLearned known, long now)
    {
        if (!known.Scales.TryGetValue((bin.Id, bin.FilledAt), out var scale)) return null;
        long cell = Math.Max(now, scale.LastCell);
        var (belief, times) = known.WaterNow.OnScale(known.TermsOf(bin, PlaceShares.Of(path, courses, scale.Begun, cell)));
        double[] predicted = new double[ScaleBelief.Nodes];
        scale.Expect(path, courses, cell, predicted, times);
        return new ScaleNow(belief, scale, path.Dug, now, predicted, House.Scales);
    }

    /// <summary>What a way will do: left where it is, and along the way it is thought to take.</summary>
    private Forecast ForecastOf(LotPath path, Trajectory course, Purpose? purpose, double healing, long now)
    {
        var crop = path.Traits.Crop;
        string? to = purpose == Purpose.Curing ? next.Of(path.Lot, crop) : null;
        // Three days' mean hardly changes within the hour.
        if (forecasts.TryGetValue(path.Key, out var known) && known.Hour == now / TimeStep.PerHour && known.To == to) return known.Forecast;
        int at = path.StayAt(now - 1);
        string place = path.Stays[at].Place;
        var here = AirOf(0, path.Stays[at], Math.Max(now - MeanOver, path.Dug), now, path.Assumed(at));
        var stay = Ahead.Of(course, [here], 0);
        var forecast = new Forecast(stay, stay, new WayAhead(place.Length == 0 ? null : place, null, here.Assumed));
        if (purpose == Purpose.Curing && Fit(path.Traits.Rule, course, stay, healing) is var (fit, off) && double.IsFinite(fit))
        {
            var middle = PlaceAirRecord.BandMiddle(crop, Purpose.Storage);
            var there = to is null ? new AirAhead(fit, middle, Assumed: true) : AirOf(fit, new PathStay(now, to, Purpose.Storage), now - MeanOver, now, middle);
            var moved = Ahead.Of(course, [here, there], off);
            forecast = new Forecast(stay, moved, new WayAhead(to, TimeStep.At(now).AddDays(fit), there.Assumed));
        }

        forecasts[path.Key] = (now / TimeStep.PerHour, to, forecast);
        return forecast;
    }

    /// <summary>
    /// In how many days it is likely to be fit to move, now at the earliest, and how many days the move may be off. Infinite: it does not
    /// heal there.
    /// </summary>
    private static (double Days, double OffDays) Fit(CuringRule rule, Trajectory course, Ahead stay, double healing)
    {
        if (rule == CuringRule.None || course.State.Stage >= HealingStage.Adequate) return (0, Ahead.MovedLaterDays);
        if (stay.Healing(Curing.DaysTo(rule, HealingStage.Adequate), healing) is not { Likely: { } likely } when)
            return (double.PositiveInfinity, 0);
        double late = when.Late is { } l ? (l - likely).TotalDays : Ahead.Days;
        double early = when.Early is { } e ? (likely - e).TotalDays : 0;
        return ((likely - stay.Start).TotalDays, LotUncertainty.RootSumSquare(Math.Max(late, early), Ahead.MovedLaterDays));
    }

    // A store goes with the season; a curing room is for weeks, and goes with the weather. Under the cover of a clamp it stays (assumed).
    private AirAhead AirOf(double fromDay, PathStay stay, long from, long now, LotAir otherwise)
    {
        var mean = stay.Purpose == Purpose.Outdoors ? courses.Air.MeanUnderCover(stay.Place, from, now, otherwise)
            : courses.Air.Mean(stay.Place, from, now);
        return mean is { } known
            ? new AirAhead(fromDay, known.Air, Assumed: false, stay.Purpose == Purpose.Storage ? DriftC(stay.Place, now) : 0,
                known.Known * 24.0 / TimeStep.PerDay)
            : new AirAhead(fromDay, courses.Air.Around(stay, now, otherwise).Air, Assumed: true);
    }

    /// <summary>What the trend of the last four weeks comes to in the end; null where they are not known.</summary>
    private double? DriftC(string place, long now)
    {
        long hour = now / TimeStep.PerHour;
        if (drifts.TryGetValue(place, out var known) && known.Hour == hour) return known.DriftC;
        double? drift = null;
        if (courses.Air.Mean(place, now - TrendOver, now) is { } late && late.Known > TrendOver / 2
            && courses.Air.Mean(place, now - (2 * TrendOver), now - TrendOver) is { } early && early.Known > TrendOver / 2)
        {
            double aDay = (late.Air.TemperatureC - early.Air.TemperatureC) / (TrendOver / (double)TimeStep.PerDay);
            drift = Math.Clamp(aDay * AirAhead.TrendDays, -MostDriftC, MostDriftC);
        }

        drifts[place] = (hour, drift);
        return drift;
    }

    private sealed record Forecast(Ahead IfLeft, Ahead Ahead, WayAhead Way)
    {
        private (LotLearned? Known, DateTimeOffset? Seen, LastsUntil Lasts) last;

        /// <summary>What bins of one way and one lot have in common is worked out for the first of them.</summary>
        public LastsUntil Lasts(BinOutlook outlook, LotLearned known, DateTimeOffset? seen)
        {
            if (!ReferenceEquals(last.Known, known) || last.Seen != seen) last = (known, seen, outlook.Lasts);
            return last.Lasts;
        }
    }

    /// <summary>The driest wish of each place: of what it is set up for and of what stands there, as its band is made.</summary>
    private static Dictionary<string, double> Driest(Book book, IReadOnlyList<Place> setUp)
    {
        var standing = book.CropsByPlace();
        return setUp.ToDictionary(
            p => p.Id,
            p => DriestWish.Percent(p.Crops.Concat(standing.GetValueOrDefault(p.Id, [])).Select(book.Crops.Find).OfType<Crop>()
                .Select(crop => PlaceAirRecord.BandOf(crop, p.Purpose).HumidityHighPercent)),
            StringComparer.Ordinal);
    }

    private static List<string> Said(Crop crop, Trajectory course, Ahead ahead)
    {
        var said = new List<string>();
        if (crop.Like is { } like) said.Add($"{crop.Name} is reckoned like {like}, which the household says it keeps like: a guess.");
        if (course.DarkHours >= 1)
        {
            said.Add(string.Create(
                CultureInfo.InvariantCulture,
                $"For {course.DarkHours:0} hours since digging ({100 * course.DarkShare:0} % of the time) nobody measured the air: the means of the last known day, or the middle of the crop's band, stand in, and the intervals are wider for it."));
        }

        if (ahead.Assumed)
            said.Add("Nothing is known of the air here over the last three days; what is to come is figured with assumed air.");
        return said;
    }
}
