using System.Globalization;
using System.Text;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>Makes estimates of where the courses stand. The same book, air and time give the same estimates.</summary>
internal sealed class Estimating(CourseBook courses)
{
    /// <summary>For how long a bin is thought to be left.</summary>
    public const int IfLeftDays = 30;

    /// <summary>Share of a piece that is cut away with its sprouts once they are 5 mm (assumed).</summary>
    private const double SproutCost = 0.1;

    /// <summary>Share of a bin that a sign of rot is likely to cost within thirty days (assumed).</summary>
    private const double RotCost = 0.2;

    private const long MeanOver = 3 * Cells.PerDay;

    private readonly Dictionary<string, (long Hour, Ahead Ahead)> aheads = new(StringComparer.Ordinal);
    private readonly Dictionary<string, (LotView Lot, IReadOnlyDictionary<string, Purpose> Places, string? Print, LotLearned Learned)> learned = new(StringComparer.Ordinal);
    private HouseholdCalendar calendar = HouseholdCalendar.Utc;
    private IReadOnlyDictionary<string, Purpose> lastPlaces = new Dictionary<string, Purpose>(StringComparer.Ordinal);
    private readonly Dictionary<string, Exception> problems = new(StringComparer.Ordinal);
    private readonly Dictionary<string, (LotView Lot, long Hour)> failed = new(StringComparer.Ordinal);
    private double progress;

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
        aheads.Clear();
        learned.Clear();
        failed.Clear();
    }

    /// <param name="book">The book.</param>
    /// <param name="places">The places as set up.</param>
    /// <param name="now">The piece of time to whose beginning the air is on disk.</param>
    public LotViews At(Book book, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        var bins = new List<BinEstimate>();
        var not = new List<string>();
        var unfollowed = new List<Unfollowed>();
        var going = new HashSet<string>(StringComparer.Ordinal);
        var keys = new HashSet<string>(StringComparer.Ordinal);
        if (places.Count != lastPlaces.Count || places.Any(p => !lastPlaces.TryGetValue(p.Key, out var was) || was != p.Value)) lastPlaces = places;
        (places, calendar) = (lastPlaces, book.Calendar);
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
        if (going.Count == 0 && unfollowed.Exists(u => u.Why == WhyUnfollowed.Fault) && problems.Values.FirstOrDefault(p => p is SqliteException) is { } unread)
            System.Runtime.ExceptionServices.ExceptionDispatchInfo.Throw(unread);
        foreach (var gone in problems.Keys.Where(k => !book.Lots.ContainsKey(k)).ToList()) problems.Remove(gone);
        foreach (var gone in failed.Keys.Where(k => !book.Lots.ContainsKey(k)).ToList()) failed.Remove(gone);
        foreach (var gone in learned.Keys.Where(k => !going.Contains(k)).ToList()) learned.Remove(gone);
        foreach (var gone in aheads.Keys.Where(k => !keys.Contains(k)).ToList()) aheads.Remove(gone);
        return LotViews.Of(Cells.At(now), bins, not, unfollowed);
    }

    /// <summary>The bins of one lot; null where it cannot be worked out, whatever it threw. What costs that much is not tried every minute.</summary>
    private List<BinEstimate>? WorkOut(LotView lot, List<BinView> full, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        if (failed.TryGetValue(lot.Id, out var before) && ReferenceEquals(before.Lot, lot) && before.Hour == now / Cells.PerHour) return null;
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
        if (fault is not SqliteException) failed[lot.Id] = (lot, now / Cells.PerHour);
        learned.Remove(lot.Id);
        courses.Abandon(lot.Id);
    }

    private LotLearned? Learned(LotView lot, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        // The book shares what no entry has touched.
        if (learned.TryGetValue(lot.Id, out var known) && ReferenceEquals(known.Lot, lot) && known.Print is not null && ReferenceEquals(known.Places, places)) return known.Learned;
        string? print = Print(lot, places, now);
        if (print is not null && known.Print == print)
        {
            learned[lot.Id] = (lot, places, print, known.Learned);
            return known.Learned;
        }

        if (Learn(lot, places, now) is not { } fresh) return null;
        learned[lot.Id] = (lot, places, print, fresh);
        return fresh;
    }

    /// <summary>What a lot has taught; null where it cannot be followed. A lot whose figures nobody thought of must not stop the others: it is named in <see cref="Problems"/>.</summary>
    public LotLearned? Learn(LotView lot, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        try
        {
            return LotLearning.Of(lot, places, courses, now);
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            Fail(lot, e, now);
            return null;
        }
    }

    /// <summary>All of a lot that its learning depends on: the book makes its lots anew with every entry. Null while something waits for its air.</summary>
    public static string? Print(LotView lot, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        // What happened later than the air is learned from when the air is there.
        if (lot.Bins.Any(b => Cells.Of(b.FilledAt) > now || b.Weighings.Any(w => Cells.Of(w.At) > now) || b.Steps.Any(s => Cells.Of(s.At) > now))) return null;
        var text = new StringBuilder();
        text.Append(CultureInfo.InvariantCulture, $"{lot.Crop}|{lot.Variety}|{lot.Skin}|{lot.DugAt.ToUnixTimeMilliseconds()}");
        foreach (var bin in lot.Bins)
        {
            text.Append(CultureInfo.InvariantCulture, $"\n{bin.Id}|{bin.FilledAt.ToUnixTimeMilliseconds()}|{bin.ByMeasure}");
            foreach (var s in bin.Stays) text.Append(CultureInfo.InvariantCulture, $"|{s.Place} {(s.Place is not null && places.TryGetValue(s.Place, out var purpose) ? purpose : Purpose.Storage)} {s.From.ToUnixTimeMilliseconds()}");
            foreach (var s in bin.Steps) text.Append(CultureInfo.InvariantCulture, $"|{s.Entry} {s.Kind} {s.Grams} {s.At.ToUnixTimeMilliseconds()}");
            foreach (var w in bin.Weighings) text.Append(CultureInfo.InvariantCulture, $"|{w.Entry} {w.NetKg} {w.TareKg} {w.ResolutionKg} {w.At.ToUnixTimeMilliseconds()}");
            foreach (var s in bin.SproutsSeen) text.Append(CultureInfo.InvariantCulture, $"|{s.Entry} {s.Share} {s.At.ToUnixTimeMilliseconds()}");
        }

        return text.ToString();
    }

    private BinEstimate Estimate(LotView lot, BinView bin, LotPath path, LotLearned known, IReadOnlyDictionary<string, Purpose> places, long now)
    {
        var course = courses.Live(path, now);
        var ahead = AheadOf(path, course, now);
        var state = course.State;
        var weight = known.Weights.TryGetValue((bin.Id, bin.FilledAt), out var from) ? from : new WeightBase(now, now, bin.BookKg, bin.BookKg * LotLearning.WeighedShare);
        var then = courses.Past(path, Math.Min(weight.From, now));
        var outlook = new BinOutlook(ahead, weight, Lost.Between(then, course, known), Sprouts90.Of(known, then.SproutMm), known);
        var kg = outlook.KgIn(0);

        double healing = Spread.Factor(WoundHealing.StageFactor, Spread.For(Spread.DarkHealingFactor, course.DarkShare));
        double rest = Spread.Factor(known.RestSpread, Spread.For(Spread.DarkRestFactor, course.DarkShare));
        double restDays = known.RestDaysAt10C;
        var loss = outlook.LossKg(kg.Value, IfLeftDays);
        double sprouts = Math.Max(0, outlook.SproutedShareIn(IfLeftDays) - state.SproutedShare) * SproutCost * kg.Value;
        double rot = Advising.RotSign(bin, Cells.At(now)) is null ? 0 : RotCost * kg.Value;
        Purpose? purpose = bin.Place is not null && places.TryGetValue(bin.Place, out var p) ? p : null;
        var lost = 100 * (1 - Portable.Exp(-((known.Water.Median * course.Water) + course.Breath)));
        var estimate = new BinEstimate(
            bin.Id, lot.Id, lot.Crop, lot.Variety, bin.Grade, bin.Place, lot.DugAt, bin.FilledAt, Cells.At(now),
            bin.BookKg, kg, lost, known.Water.Interval90,
            state.Stage, state.HealedDays, path.Traits.Rule != CuringRule.None,
            ahead.Healing(Curing.DaysTo(path.Traits.Rule, HealingStage.Adequate), healing),
            double.IsNaN(restDays) ? null : new Interval(Math.Min(1, course.RestDays / restDays / rest), state.RestUsed, Math.Min(1, course.RestDays / restDays * rest)),
            ahead.Peeping(restDays, rest), ahead.Sprouted(restDays, rest),
            state.SproutMm, 100 * state.SproutedShare, state.PulpC, state.WetHours, state.WetRunHours, state.ColdHours, state.FreezingHours,
            state.LightHours, state.SweetDegreeDays, course.DarkHours, 100 * course.DarkShare,
            new LossIfLeft(IfLeftDays, loss, loss.Value + sprouts + rot),
            known.Questions.TryGetValue((bin.Id, bin.FilledAt), out var questions) ? questions : [],
            Said(course, ahead),
            new BinAdvice(Urgency.Nothing, "none", ""))
        {
            Outlook = outlook,
            InCuring = purpose == Purpose.Curing,
        };
        return estimate with { Advice = Advising.Of(lot, bin, path.Traits.Crop, purpose, course, ahead, estimate, Cells.At(now), courses.Air.EverMeasured(bin.Place ?? "", now - 1), calendar) };
    }

    private Ahead AheadOf(LotPath path, Course course, long now)
    {
        // Three days' mean hardly changes within the hour.
        if (aheads.TryGetValue(path.Key, out var known) && known.Hour == now / Cells.PerHour) return known.Ahead;
        int stay = path.StayAt(now - 1);
        string place = path.Stays[stay].Place;
        var mean = courses.Air.Mean(place, Math.Max(now - MeanOver, path.Dug), now);
        var ahead = mean is { } m
            ? Ahead.Of(course, m.Air, assumed: false)
            : Ahead.Of(course, courses.Air.At(place, now, path.Assumed(stay)).Air, assumed: true);
        aheads[path.Key] = (now / Cells.PerHour, ahead);
        return ahead;
    }

    private static List<string> Said(Course course, Ahead ahead)
    {
        var said = new List<string>();
        if (course.DarkHours >= 1)
        {
            said.Add(string.Create(
                CultureInfo.InvariantCulture,
                $"For {course.DarkHours:0} hours since digging ({100 * course.DarkShare:0} % of the time) nobody measured the air: the means of the last known day, or the middle of the crop's band, stand in, and the intervals are wider for it."));
        }

        if (ahead.Assumed) said.Add("Nothing is known of the air here over the last three days; what is to come is reckoned with assumed air.");
        return said;
    }
}
