using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tls;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>A room whose air is wrong.</summary>
/// <param name="Wrong">What, and since when.</param>
internal sealed record RoomWrong(string Place, IReadOnlyList<(Rule Rule, DateTimeOffset Since)> Wrong, bool Urgent);

/// <summary>What the jobs are worked out from, all of one moment.</summary>
/// <param name="Now">The moment.</param>
/// <param name="Alarms">Alarms that stand, but those of a room's air.</param>
/// <param name="Promises">Every open promise.</param>
/// <param name="Sensors">Sensors that need a hand.</param>
internal sealed record JobFacts(
    DateTimeOffset Now, Book Book, LotViews Views, IReadOnlyList<RoomWrong> Rooms, IReadOnlyList<Alarm> Alarms,
    IReadOnlyList<PromisePlan> Promises,
    IReadOnlyList<SensorTrouble> Sensors)
{
    /// <summary>How the backup stands; null for a moment gone by, of which that is not known.</summary>
    public BackupStanding? Backup { get; init; }

    /// <summary>How the certificate stands; null for a moment gone by.</summary>
    public CertificateStanding? Certificate { get; init; }

    /// <summary>What the card under the record got wrong since the start; null where nothing is known of it.</summary>
    public CardError? Card { get; init; }

    /// <summary>What is left of the card, where that is little.</summary>
    public DiskLeft? Left { get; init; }
}

/// <summary>
/// The one list of what is to be done: To do shows all of it, a bin and a room what is about them, the report its beginning. Within a kind
/// the more kilograms come first, then names. The same facts give the same jobs.
/// </summary>
internal static class Jobs
{
    /// <summary>Days ahead within which a promise is spoken of even if it can be met.</summary>
    private const int DueWithinDays = 7;

    /// <summary>A weigh-in is a job where the lot's interval is wider than this share of its weight (assumed),</summary>
    private const double WideShare = 0.12;

    /// <summary>and the bin was not weighed for so many days (assumed).</summary>
    private const int WeighedWithinDays = 21;

    public static IReadOnlyList<Job> Of(JobFacts facts) =>
    [
        .. Rooms(facts).Concat(Bins(facts)).Concat(Others(facts))
            .OrderBy(j => j.Kind).ThenByDescending(j => Math.Round(j.Kg ?? 0, 3))
            .ThenBy(j => j.Place, StringComparer.Ordinal).ThenBy(j => j.Bins.Count == 0 ? "" : j.Bins[0], NameOrder.Instance),
    ];

    /// <summary>All that is wrong with a room's air is one job.</summary>
    private static IEnumerable<Job> Rooms(JobFacts facts) => facts.Rooms.Select(r =>
    {
        var kind = Stands(r, Rule.Co2High) ? JobKind.AirTheRoom : Stands(r, Rule.FreezingNear) ? JobKind.KeepFromFrost : JobKind.SeeToRoom;
        var leading = r.Wrong.Where(w => kind == JobKind.SeeToRoom
            || w.Rule == (kind == JobKind.AirTheRoom ? Rule.Co2High : Rule.FreezingNear));
        return new Job(kind, [], r.Place, facts.Views.KgIn(r.Place)) { When = leading.Min(w => w.Since), Urgent = r.Urgent };
    });

    private static bool Stands(RoomWrong room, Rule rule) => room.Wrong.Any(w => w.Rule == rule);

    /// <summary>What bins ask for, alike bins of a place together; what the room's own job says already is not said again.</summary>
    private static IEnumerable<Job> Bins(JobFacts facts) => facts.Views.Bins.Values
        .Select(b => (Bin: b, Kind: KindOf(b.Advice)))
        .Where(b => b.Kind is { } kind && !facts.Rooms.Any(r => r.Place == b.Bin.Place && Stands(r, kind switch
        {
            JobKind.KeepFromFrost => Rule.FreezingNear,
            JobKind.WetTheAir => Rule.TooDry,
            _ => default,
        })))
        .GroupBy(b => (b.Kind!.Value, b.Bin.Advice.Code, b.Bin.Place, b.Bin.Advice.Figures.To, Own(b.Bin.Advice.Says)), b => b.Bin)
        .Select(g => Together(g.Key.Value, g.Key.Place, g) with
        {
            To = g.Key.To,
            Seen = g.Key.Value == JobKind.SortOut ? LastSign(facts, g) : null,
            When = g.Key.Value == JobKind.UseFirst ? g.Min(b => b.Peeping?.Likely) : null,
        })
        .Concat(facts.Views.MoveBy(facts.Now + LotViews.Coming).GroupBy(b => (b.Place, To: b.Way.Place, b.Rule))
            .Select(g => Together(JobKind.MoveSoon, g.Key.Place, g) with
            {
                When = g.Min(b => b.FitToMove!.Likely),
                Advice = null,
                To = g.Key.To,
                Rule = g.Key.Rule,
            }));

    /// <summary>What says something of its own is a job of its own.</summary>
    private static AdviceSays Own(AdviceSays says) => says is AdviceSays.SproutsSeen or AdviceSays.DryAirCover ? says : AdviceSays.Nothing;

    private static JobKind? KindOf(BinAdvice advice) => advice.Code switch
    {
        "freezing" => JobKind.KeepFromFrost,
        "wet" => JobKind.SortOut,
        "rot-signs" when advice.Urgency == Urgency.Now => JobKind.SortOut,
        "light" => JobKind.Cover,
        "chilling" => JobKind.Warm,
        "chilled" => JobKind.UseFirst,
        "dry-air" => JobKind.WetTheAir,
        "move" => JobKind.Move,
        "sprouting" => JobKind.UseFirst,
        "long-sprouts" => JobKind.SortSprouted,
        _ => null,
    };

    private static Job Together(JobKind kind, string? place, IEnumerable<BinEstimate> bins)
    {
        var all = bins.OrderBy(b => b.Bin, NameOrder.Instance).ToList();
        // Of dry air what it takes in a week.
        var kg = kind == JobKind.WetTheAir ? all.Sum(b => b.Advice.Figures.Kg) : all.Sum(b => b.Kg.Value);
        return new Job(kind, all.ConvertAll(b => b.Bin), place, kg)
        {
            Advice = all.MaxBy(b => b.IfLeft.WorstKg)!.Advice,
            Urgent = all.Exists(b => b.Advice.Urgency == Urgency.Now),
        };
    }

    private static ConditionSeen? LastSign(JobFacts facts, IEnumerable<BinEstimate> bins) =>
        bins.Select(b => Advising.RotSign(facts.Book.Bins[b.Bin], facts.Now)).OfType<ConditionSeen>().MaxBy(c => c.At);

    private static IEnumerable<Job> Others(JobFacts facts)
    {
        foreach (var alarm in facts.Alarms)
            yield return new Job(JobKind.SeeToAlarm, [], alarm.Place.Length == 0 ? null : alarm.Place, null)
            { Alarm = alarm, When = alarm.Since, Urgent = alarm.CallsForSomeone };
        foreach (var apart in CropsApart.Of(facts.Views))
            yield return new Job(JobKind.KeepApart, apart.Bins, apart.Place, apart.KgA + apart.KgB)
            { Apart = apart, Urgent = apart.Worst.Severity == Science.Crops.Severity.Never };
        foreach (var job in Promised(facts).Concat(SensorsToSeeTo(facts))) yield return job;
        if (facts.Card is { } card) yield return new Job(JobKind.SeeToCard, [], null, null) { Card = card, When = card.First, Urgent = true };
        // Once it is an alarm it is that alarm's job.
        if (facts.Left is { } left && !facts.Alarms.Any(a => a.Rule == Rule.DiskFull)) yield return new Job(JobKind.MakeRoom, [], null, null) { Left = left };
        if (facts.Backup is { CallsForSomeone: true } backup)
            yield return new Job(JobKind.BackUp, [], null, null) { Backup = backup, When = backup.Last?.At };
        // Where it is of no use any more, pages and sensors that go by it are shut out.
        if (facts.Certificate is { CallsForSomeone: true } certificate)
            yield return new Job(JobKind.SeeToCertificate, [], null, null) { Certificate = certificate, When = certificate.Until, Urgent = !certificate.IsGood };
        if (facts.Views.WeighIn is { } worth && worth.WidthKg > WideShare * facts.Views.Lots[worth.Lot].Kg.Value
            && !WeighedOfLate(facts, worth.Bin))
            yield return new Job(JobKind.WeighIn, [worth.Bin], facts.Views.Bins[worth.Bin].Place, worth.GainKg) { WeighIn = worth };
    }

    private static IEnumerable<Job> Promised(JobFacts facts)
    {
        var today = facts.Book.Calendar.DayOf(facts.Now);
        foreach (var plan in facts.Promises.Where(p => p.Answer != CanMeet.Yes || p.Promise.Due <= today.AddDays(DueWithinDays)))
        {
            var saved = plan.Answer == CanMeet.No;
            yield return new Job(saved ? JobKind.SaveAPromise : JobKind.KeepAPromise, [.. plan.Picks.Select(p => p.Bin)], null, saved
                ? plan.ShortKg : plan.OpenKg)
            {
                Promise = plan,
                Urgent = saved || plan.Promise.Due < today,
            };
        }
    }

    /// <summary>Sensors that speak and cannot be believed. One that is silent, or of which an alarm stands, is that alarm's job.</summary>
    private static IEnumerable<Job> SensorsToSeeTo(JobFacts facts) => facts.Sensors
        .Where(s => s.Place is not null && s.Needs is SensorNeeds.Stuck or SensorNeeds.Saturated or SensorNeeds.Doubted)
        .Where(s => !facts.Alarms.Any(a => a.Sensor == s.Sensor))
        .GroupBy(s => (s.Place, Wet: s.Needs == SensorNeeds.Saturated))
        .Select(g => new Job(g.Key.Wet ? JobKind.DryTheSensor : JobKind.SeeToSensor, [], g.Key.Place, facts.Views.KgIn(g.Key.Place!))
        {
            Sensors = [.. g],
            When = g.Max(s => s.Since),
        });

    private static bool WeighedOfLate(JobFacts facts, string bin) =>
        facts.Book.Bins.GetValueOrDefault(bin)?.Weighings.Any(w => (facts.Now - w.At).TotalDays < WeighedWithinDays) == true;
}
