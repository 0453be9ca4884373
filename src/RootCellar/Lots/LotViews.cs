using System.Collections.Frozen;
using System.Text.Json.Serialization;
using RootCellar.Ledger;
using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>How soon a line of advice wants something done.</summary>
internal enum Urgency
{
    Nothing,

    /// <summary>Worth knowing.</summary>
    Note,

    /// <summary>Within days.</summary>
    Soon,

    /// <summary>Today.</summary>
    Now,
}

/// <summary>
/// One line for one bin. <see cref="Code"/> is for programs: freezing, wet, rot-signs, light, chilling, chilled, move, dry-air, sprouting, dark, none.
/// </summary>
internal sealed record BinAdvice(Urgency Urgency, string Code, string Text)
{
    /// <summary>What is said, for those who have words and units of their own.</summary>
    [JsonIgnore]
    public AdviceSays Says { get; init; }

    [JsonIgnore]
    public AdviceFigures Figures { get; init; } = AdviceFigures.None;

    /// <summary>The figures of the line in SI, for programs; null where it has none.</summary>
    [JsonPropertyName("figures")]
    public AdviceFiguresShape? InSi => AdviceFiguresShape.Of(this);
}

/// <summary>What an advice is about; what it does not need is null. To: the place it should go to, with its name and temperature.</summary>
internal sealed record AdviceFigures(
    Crop? Of = null, double? PulpC = null, double? Hours = null, double? Kg = null, double? Percent = null, double? LowPercent = null,
    double? HighPercent = null, string? Seen = null, DateTimeOffset? At = null, When? When = null, RotSigns Signs = RotSigns.None,
    string? To = null, string? ToName = null, double? ToC = null)
{
    public static readonly AdviceFigures None = new();

    /// <summary>The crop's id.</summary>
    public string? Crop => Of?.Id;
}

internal enum AdviceSays
{
    Nothing,
    FitAbout,
    Freezing,
    NearFreezing,
    Chilling,
    Chilled,
    NowhereToMove,
    Wet,
    RotSeen,
    SignsFromTheField,
    GreenLight,
    Light,
    Move,
    DryAir,
    DryAirCover,
    LongSprouts,
    Sprouted,
    Sprouting,
    SproutsSeen,
    SeedSprouting,
    WillPeep,
    Silent,
    NeverMeasured,

    /// <summary>It stands outdoors, in a clamp or a pit, without a probe.</summary>
    NoProbe,
}

/// <summary>What is expected to be lost of a bin if it stays where it is.</summary>
/// <param name="Days">For so long.</param>
/// <param name="Kg">Weight lost to the air and by breath, with its 90 % interval.</param>
/// <param name="WorstKg">That, and what sprouts and signs of rot are likely to cost besides (see docs/decisions/lots.md).</param>
internal sealed record LossIfLeft(int Days, Interval Kg, double WorstKg);

/// <summary>What a person last saw of the sprouts in a bin. Share: none, few, half, most.</summary>
internal sealed record SproutsLook(string Bin, DateTimeOffset At, string Share, double? LengthMm);

/// <summary>A bin as estimated: what the air has done to it so far and what it will come to. Weights are net, kg.</summary>
/// <param name="At">The moment it holds for: the last five minutes whose air is on disk.</param>
/// <param name="BookKg">By the book.</param>
/// <param name="Kg">As estimated, with its 90 % interval.</param>
/// <param name="Shrink">What it has shrunk by since it was filled.</param>
/// <param name="WaterMultiplier">Water loss against the middle of what is published, with its 90 % interval: what the scale has
/// taught.</param>
/// <param name="FitToMove">When healing is far enough; null for a crop that is not cured.</param>
/// <param name="RestUsed">Share of the rest used; null where dormancy is not followed.</param>
/// <param name="WetRunHours">Hours the present film of water has lasted.</param>
/// <param name="DarkHours">Hours since digging whose air nobody measured.</param>
/// <param name="Questions">Weigh-ins that do not fit, and that nobody has said to be right.</param>
/// <param name="Said">What the estimate rests on that is not known, in words.</param>
internal sealed record BinEstimate(
    string Bin,
    string Lot,
    string Crop,
    string? Variety,
    string? Grade,
    string? Place,
    DateTimeOffset DugAt,
    DateTimeOffset FilledAt,
    DateTimeOffset At,
    double BookKg,
    Interval Kg,
    Shrink Shrink,
    Interval WaterMultiplier,
    HealingStage Stage,
    double HealedDays,
    bool Cured,
    When? FitToMove,
    Interval? RestUsed,
    When? Peeping,
    When? Sprouted,
    double SproutMm,
    double SproutedSharePercent,
    double PulpC,
    double WetHours,
    double WetRunHours,
    double ColdHours,
    double FreezingHours,
    double LightHours,
    double SweetDegreeDays,
    double DarkHours,
    double DarkSharePercent,
    LossIfLeft IfLeft,
    IReadOnlyList<WeighInQuestion> Questions,
    IReadOnlyList<string> Said,
    BinAdvice Advice)
{
    /// <summary>Its crop as the household's table has it.</summary>
    public required Crop Kind { get; init; }

    /// <summary>The rule it cures by.</summary>
    public CuringRule Rule => Curing.RuleOf(Kind);

    /// <summary>Sprouts were seen in it, and nobody has sorted or culled them out since; of a crop whose rest is not followed.</summary>
    public SproutsLook? Sprouting { get; init; }

    /// <summary>For reckoning on: not shown.</summary>
    public required BinOutlook Outlook { get; init; }

    /// <summary>The way its dates rest on.</summary>
    public required WayAhead Way { get; init; }

    /// <summary>Step of the scale its weight was last read off, kg: it is shown no finer (<see cref="ScaleStep"/>).</summary>
    public double ScaleStepKg { get; init; } = ScaleStep.AssumedKg;

    /// <summary>The last look for sprouts in it, which its dates take in; null where nobody looked.</summary>
    public SproutsLook? Seen { get; init; }

    /// <summary>Whether somebody has seen sprouts in it: then <see cref="Peeping"/> is the day that was first written down.</summary>
    public bool SproutsSeen { get; init; }

    /// <summary>How many weigh-ins have taught its water loss.</summary>
    public LearnedFrom LearnedFrom { get; init; }

    /// <summary>What of its shrink is soil that came off it; null where it did not come out of wet soil.</summary>
    public Interval? Soil { get; init; }

    /// <summary>What a weigh-in of it should show now; null where nothing is known of its weight.</summary>
    public ScaleNow? Scale { get; init; }

    /// <summary>Until when it lasts, and what ends it.</summary>
    public required LastsUntil Lasts { get; init; }

    /// <summary>Whether it stands in a room for curing.</summary>
    public required bool InCuring { get; init; }

    /// <summary>Its sprouts are likely longer than those of a potato that is still spoken of as food.</summary>
    public bool TooLongSprouted => Kind is { Sprouts: SproutKind.Poisonous } && (SproutMm > Advising.LongestSproutMm || Seen?.LengthMm > Advising.LongestSproutMm);

    /// <summary>Cold has made it sweet: fried or roasted it browns fast and makes more acrylamide.</summary>
    public bool ColdSweet => SweetDegreeDays >= Sweetening.MarkedDegreeDays;

    /// <summary>Whether healing is far enough to move it; true for a crop that is not cured.</summary>
    public bool FitNow => !Cured || Stage >= HealingStage.Adequate;
}

/// <summary>A lot as estimated: its bins together.</summary>
internal sealed record LotEstimate(
    string Lot,
    string Crop,
    string? Variety,
    DateTimeOffset DugAt,
    DateTimeOffset At,
    double BookKg,
    Interval Kg,
    Shrink Shrink,
    HealingStage Stage,
    When? FitToMove,
    Interval? RestUsed,
    When? Peeping,
    When? Sprouted,
    Interval WaterMultiplier,
    BinAdvice Advice,
    IReadOnlyList<string> Bins)
{
    /// <summary>Its crop as the household's table has it.</summary>
    public required Crop Kind { get; init; }

    /// <summary>The way its dates of sprouting rest on.</summary>
    public required WayAhead Way { get; init; }

    /// <summary>Until when all of it lasts: of several bins the one that ends first.</summary>
    public required LastsUntil Lasts { get; init; }

    /// <summary>The bin whose sprouts are said of it.</summary>
    public required string FirstToSprout { get; init; }

    /// <summary>The bin whose healing is said of it.</summary>
    public required string LastToHeal { get; init; }

    /// <summary>Step of the coarsest scale any of its bins was last weighed on, kg.</summary>
    public double ScaleStepKg { get; init; } = ScaleStep.AssumedKg;

    /// <summary>The last look for sprouts into any of its bins; null where nobody looked.</summary>
    public SproutsLook? Seen { get; init; }

    /// <summary>Whether <see cref="Peeping"/> is a day somebody saw sprouts on.</summary>
    public bool SproutsSeen { get; init; }

    /// <summary>What of its shrink is soil that came off the bins that are full; null where none came out of wet soil.</summary>
    public Interval? Soil { get; init; }

    /// <summary>The lot of these bins: weights added up, everything else of the bin that is worst off.</summary>
    /// <param name="bins">Those with something in them.</param>
    /// <param name="shrink">What the lot has shrunk by, with the bins that are empty.</param>
    public static LotEstimate Of(IReadOnlyList<BinEstimate> bins, Shrink shrink)
    {
        var worst = bins.OrderByDescending(b => b.Advice.Urgency).ThenByDescending(b => b.IfLeft.WorstKg / Math.Max(1e-9, b.Kg.Value))
            .First();
        var latest = bins.OrderBy(b => b.HealedDays).First();
        var first = bins.OrderByDescending(b => b.SproutsSeen).ThenByDescending(b => b.RestUsed?.Value ?? 0).First();
        double kg = bins.Sum(b => b.Kg.Value);
        return new LotEstimate(
            worst.Lot, worst.Crop, worst.Variety, worst.DugAt, worst.At,
            bins.Sum(b => b.BookKg),
            // What is not known of a lot is common to its bins, so their intervals add up without averaging out.
            new Interval(bins.Sum(b => b.Kg.Low), kg, bins.Sum(b => b.Kg.High)),
            shrink,
            latest.Stage, latest.FitToMove, first.RestUsed, first.Peeping, first.Sprouted, worst.WaterMultiplier, worst.Advice,
            [.. bins.Select(b => b.Bin)])
        {
            Kind = worst.Kind,
            Way = first.Way,
            Lasts = LastsUntil.First(bins.Select(b => b.Lasts)),
            FirstToSprout = first.Bin,
            LastToHeal = latest.Bin,
            ScaleStepKg = bins.Max(b => b.ScaleStepKg),
            Seen = bins.Select(b => b.Seen).OfType<SproutsLook>().MaxBy(s => s.At),
            SproutsSeen = first.SproutsSeen,
            Soil = SoilOff.Of(bins.Select(b => b.Soil)),
        };
    }
}

/// <summary>Everything estimated at one moment. Never changes; safe from any thread.</summary>
/// <param name="At">The moment it holds for; null before the first look.</param>
/// <param name="Bins">Bins with something in them, by name.</param>
/// <param name="NotFollowed">Bins of crops the table does not know, and of lots dug in the future: known to the book only.</param>
internal sealed record LotViews(
    DateTimeOffset? At,
    FrozenDictionary<string, BinEstimate> Bins,
    FrozenDictionary<string, LotEstimate> Lots,
    IReadOnlyList<string> NotFollowed)
{
    /// <summary>Lots with something left that are known to the book only, by name, and why.</summary>
    public FrozenDictionary<string, Unfollowed> Unfollowed { get; private init; } = FrozenDictionary<string, Unfollowed>.Empty;

    private readonly FrozenDictionary<string, int> ranks = First(Bins).Select((b, i) => (b.Bin, Rank: i + 1)).ToFrozenDictionary(
        r => r.Bin, r => r.Rank, StringComparer.Ordinal);

    public static readonly LotViews Nothing = new(
        null, FrozenDictionary<string, BinEstimate>.Empty, FrozenDictionary<string, LotEstimate>.Empty, []);

    public static LotViews Of(
        DateTimeOffset at, Book book, IReadOnlyList<BinEstimate> bins, IReadOnlyList<string> notFollowed,
        IReadOnlyList<Unfollowed> unfollowed)
    {
        var kg = bins.ToDictionary(b => (b.Bin, b.FilledAt), b => b.Kg.Value);
        return new LotViews(
            at,
            bins.ToFrozenDictionary(b => b.Bin, StringComparer.Ordinal),
            bins.GroupBy(b => b.Lot, StringComparer.Ordinal).ToFrozenDictionary(
                g => g.Key,
                g => LotEstimate.Of([.. g], Shrink.Of(
                    book.Lots[g.Key].Bins, b => kg.TryGetValue((b.Id, b.FilledAt), out double there) ? there : null)),
                StringComparer.Ordinal),
            notFollowed)
        {
            Unfollowed = unfollowed.ToFrozenDictionary(u => u.Lot, StringComparer.Ordinal),
        };
    }

    /// <summary>The weigh-in that would teach most; null where none would teach anything, or it was not asked for.</summary>
    public WeighInWorth? WeighIn { get; init; }

    /// <summary>The storage places and what their air would do to a crop.</summary>
    public SuitingPlaces Storage { get; init; } = SuitingPlaces.None;

    /// <summary>What the lots of the house say of each other.</summary>
    public HouseSays House { get; init; } = HouseSays.Nothing;

    /// <summary>Weigh-ins in the book that somebody has to look at, by number.</summary>
    public FrozenDictionary<long, WeighInQuestion> Doubted { get; } =
        Bins.Values.SelectMany(b => b.Questions).DistinctBy(q => q.Entry).ToFrozenDictionary(q => q.Entry);

    /// <summary>What there is to ask about something that is to be written down, with the book as it is after it.</summary>
    public Question? Ask(Recorded recorded, Book after) => after.Find(recorded.Entry.Id)?.Event switch
    {
        Ledger.Events.Weighed weighed when after.Bins.TryGetValue(weighed.Bin, out var bin) => Ask(weighed, recorded.Entry, bin),
        { } brought and (Ledger.Events.Moved or Ledger.Events.Filled or Ledger.Events.Sorted) when At is { } now =>
            HarmAsked.Of(brought, recorded.Entry, after, Storage, now),
        _ => null,
    };

    /// <summary>
    /// What there is to ask about a weigh-in that is to be written down. Nothing, where something has happened to the bin that is not taken
    /// in here yet.
    /// </summary>
    private Question? Ask(Ledger.Events.Weighed weighed, LedgerEntry entry, BinView bin)
    {
        if (!Bins.TryGetValue(weighed.Bin, out var known) || known.FilledAt != bin.FilledAt || known.Scale is not { } scale) return null;
        double before = bin.Steps.Where(s => s.Entry < entry.Id).Sum(s => s.Grams) / 1000.0;
        return Math.Abs(before - known.BookKg) < 1e-6
            && scale.Ask(entry.At, weighed.Grams()!.Value / 1000.0, weighed.TareKg ?? 0, weighed.StepKg()) is { } asked
            ? WeighInQuestion.AskedOf(asked with { Bin = weighed.Bin }) : null;
    }

    /// <summary>What stands in a place, kg.</summary>
    public double KgIn(string place) => Bins.Values.Where(b => b.Place == place).Sum(b => b.Kg.Value);

    /// <summary>The estimate of this filling of a bin; null where it is empty or not worked out (yet).</summary>
    public BinEstimate? Of(BinView bin) =>
        bin.EmptiedAt is null && Bins.TryGetValue(bin.Id, out var estimate) && estimate.FilledAt == bin.FilledAt ? estimate : null;

    /// <summary>Bins to move now: healed far enough and still where they were cured.</summary>
    public IReadOnlyList<BinEstimate> MoveNow => [
        .. Bins.Values.Where(b => b.Cured && b.FitNow && b.InCuring).OrderBy(b => b.Bin, StringComparer.Ordinal)];

    /// <summary>So far ahead To do and the report speak of what falls due: the week to come.</summary>
    public static readonly TimeSpan Coming = TimeSpan.FromDays(7);

    /// <summary>Bins still in curing that are likely to be fit to move by then, and are not yet.</summary>
    public IEnumerable<BinEstimate> MoveBy(DateTimeOffset day) =>
        Bins.Values.Where(b => b is { Cured: true, FitNow: false, InCuring: true } && b.FitToMove?.Likely <= day);

    /// <summary>
    /// All bins, first the one that would lose the largest share of itself if left for thirty days; age has no say in it.
    /// </summary>
    public IReadOnlyList<BinEstimate> UseFirst { get; } = First(Bins);

    /// <summary>Of these, what is worth saying: a hundredth of it or more would be lost (assumed), and it is food still.</summary>
    public IEnumerable<BinEstimate> WorthUsingFirst => UseFirst.Where(b => b.Kind.Food && !b.TooLongSprouted && b.IfLeft.WorstKg >= 0.01 * b.Kg.Value);

    /// <summary>Where a bin stands in <see cref="UseFirst"/>, from 1; 0 for one that is not estimated.</summary>
    public int UseRank(string bin) => ranks.GetValueOrDefault(bin);

    private static IReadOnlyList<BinEstimate> First(FrozenDictionary<string, BinEstimate> bins) =>
        [.. bins.Values.OrderByDescending(b => b.IfLeft.WorstKg / Math.Max(1e-9, b.Kg.Value)).ThenBy(b => b.Bin, StringComparer.Ordinal)];
}
