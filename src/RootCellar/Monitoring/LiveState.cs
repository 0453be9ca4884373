using System.Text;
using RootCellar.Advice;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>
/// Everything that is known now: sensors, places, alarms. Owned by the pipeline's one thread; nothing here locks, reads a
/// clock or waits. What must be kept or told is collected and fetched with <see cref="TakeChanges"/>.
/// </summary>
internal sealed partial class LiveState(SensorLimits limits, WatchOptions watch, JudgementWords judgementWords, Store store, Teller teller,
    Announcements announcements, ILogger<LiveState> log, WatchCounts? counts = null, LateCounts? late = null,
    HouseClock? clock = null)
{
    private const int UnreadableKept = 50;
    private const int FirstBytes = 80;

    // A topic may have 65,535 bytes (MQTT 5.0, section 1.5.4).
    private const int TopicShown = 256;
    private static readonly TimeSpan SampleEvery = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan StepNoticed = TimeSpan.FromMinutes(2);
    private static readonly IReadOnlyList<StoredReading> Nothing = [];

    private readonly Dictionary<string, SensorState> sensors = new(StringComparer.Ordinal);
    private readonly Dictionary<string, PlaceState> places = new(StringComparer.Ordinal);
    private readonly Dictionary<string, Band?> bands = new(StringComparer.Ordinal);
    private readonly Queue<UnreadableView> unreadable = new();
    private readonly Believer believer = new();
    private readonly DuplicateGuard repeats = new();
    private readonly SensorAdmission admission = new(limits, log);
    private readonly Dictionary<string, int> forgotten = new(StringComparer.Ordinal);
    private BandsInForce bandsInForce = new(CropLookup.Find, watch);
    private Science.Crops.CropTable cropTable = Science.Crops.CropTable.Default;
    private readonly Watchman watchman = new(watch);
    private IReadOnlySet<string> usedPlaces = new HashSet<string>(StringComparer.Ordinal);
    private IReadOnlyDictionary<string, IReadOnlyList<string>> cropsOfBins = new Dictionary<string,
        IReadOnlyList<string>>(StringComparer.Ordinal);
    private List<Change> changes = [];
    private DateTimeOffset lastWall;
    private TimeSpan lastMono;
    private DateTimeOffset nextSample;
    private int nextSensor = 1;
    private bool copyDue;

    public long Messages { get; private set; }

    public long Unreadables { get; private set; }

    public long Repeats { get; private set; }

    public long Readings { get; private set; }

    /// <summary>
    /// From then on a new sensor waits to be let in, also one that names a place: whoever can publish must not come to be judged by.
    /// </summary>
    public bool SetUpFinished { get; set; }

    /// <summary>Read from other threads, so kept as a number.</summary>
    public int OpenAlarmCount { get; private set; }

    /// <summary>Read from other threads, so kept as a number.</summary>
    public int SensorCount { get; private set; }

    /// <summary>Messages of new sensors that were turned away since the start, by the limit they met.</summary>
    public (long ByHouse, long ByClient) TurnedAwayCount => (admission.ByHouse, admission.ByClient);

    /// <summary>What was decided since the last call.</summary>
    public IReadOnlyList<Change> TakeChanges()
    {
        if (changes.Count == 0) return [];
        var taken = changes;
        changes = [];
        return taken;
    }

    /// <summary>Takes up where the last run stopped.</summary>
    public void TakeUp(DateTimeOffset wall, TimeSpan mono)
    {
        (lastWall, lastMono, nextSample) = (wall, mono, Next(wall));
        var known = WarmStart.Load(store, wall, limits.Most, log);
        SetUpFinished = known.SetUpFinished;
        foreach (var place in known.Places) Put(place);
        TakeUp(known.Sensors, mono);
        watchman.Restore(known.Alarms, mono, wall, known.LastAlarm);
        var away = clock?.MayHaveBeenAway ?? TimeSpan.Zero;
        WarmStart.Replay(store, wall, log, kept =>
        {
            var reading = kept.Reading;
            repeats.TakeUp(kept, wall);
            if (!sensors.TryGetValue(reading.Sensor, out var sensor)) return;
            var then = mono - (wall - reading.ArrivedAt) - away;
            sensor.LastArrival = reading.ArrivedAt;
            believer.Seed(reading, then);
            sensor.Heard([reading], then);
            if (!sensor.Take(reading, then, sensor.SpeaksForNow(reading))) return;
            // A condition that was on its way to an alarm goes on from where it was.
            if (wall - reading.ArrivedAt + away <= watch.OnDelay) Judge(sensor, then, reading.ArrivedAt);
        });
    }

    /// <summary>A message: what of it goes into the record.</summary>
    /// <param name="turnedAway">Why nothing is kept of a message of new sensors; null where they are let in or known.</param>
    public IReadOnlyList<StoredReading> Hear(Heard heard, DateTimeOffset wall, TimeSpan mono, out string? turnedAway)
    {
        turnedAway = null;
        // Before anything is filed under the new time: a reading between the step and the next tick would be moved twice.
        NoticeStep(wall, mono);
        Messages++;
        switch (heard.Decoded)
        {
            case Decoded.Measurements m:
                return HearMessage(heard, m, wall, mono, out turnedAway);
            case Decoded.Status s:
                if (sensors.TryGetValue(s.Sensor, out var known)) known.Online = s.Online;
                return Nothing;
            case Decoded.Unreadable u:
                return Refuse(u.Sensor, heard.Arrived, u.Problem, wall);
            default:
                return Nothing;
        }
    }

    /// <summary>Once a second: delays that end, sensors that fell silent, the clock, the sampled air.</summary>
    public void Tick(DateTimeOffset wall, TimeSpan mono)
    {
        NoticeStep(wall, mono);
        ForgetUnplaced(wall, mono);
        foreach (var sensor in sensors.Values)
        {
            sensor.Silent = sensor.Rhythm.IsSilent(mono);
            NoteSilence(sensor, mono, wall);
        }

        foreach (var place in places.Values) Judge(place, mono, wall);
        Take(watchman.Tick(mono, wall));
        NoteUnwatched(wall, mono);
        if (teller.Due(watchman, wall) is { Count: > 0 } due) changes.Add(new Change($"held {due[0].Id}", static _ => { }, due));
        foreach (var text in HourCounts ? teller.Mornings(places.Values.Select(p => (p.Place, p.Air)), watchman, wall) : [])
            changes.Add(new Change(text.Id, static _ => { }, [text]));
        if (wall >= nextSample)
        {
            nextSample = Next(wall);
            foreach (var place in places.Values)
            {
                Sample(place.Air);
                Advise(place);
            }
        }
    }

    // Only what was placed is missed: a neighbour's sensor that passes by may fall silent.
    private void NoteSilence(SensorState sensor, TimeSpan mono, DateTimeOffset wall)
    {
        bool? silent = sensor.Silent ? true : sensor.HeardSinceStart ? false : null;
        if (sensor.Row.Place is { } at) watchman.SensorSilent(sensor.Row.Key, at, silent, mono - sensor.Rhythm.LastSeen, mono, wall);
    }

    private IReadOnlyList<StoredReading> Refuse(string? sensor, in Arrived arrived, string problem, DateTimeOffset wall)
    {
        Unreadables++;
        if (sensor is not null && sensors.TryGetValue(sensor, out var faulty)) faulty.Unreadable++;
        var topic = arrived.Topic.Length <= TopicShown ? arrived.Topic : arrived.Topic[..TopicShown] + "...";
        unreadable.Enqueue(new UnreadableView(wall, topic, problem, Start(arrived.Payload)));
        if (unreadable.Count > UnreadableKept) unreadable.Dequeue();
        return Nothing;
    }

    private IReadOnlyList<StoredReading> HearMessage(
        Heard heard, Decoded.Measurements message, DateTimeOffset wall, TimeSpan mono, out string? turnedAway)
    {
        var arrived = heard.Arrived;
        IReadOnlyList<StoredReading>? kept = null;
        bool? repeat = null;
        turnedAway = null;
        for (var part = message; part is not null; part = part.Next)
        {
            if (!sensors.ContainsKey(part.Sensor) && admission.Meets(sensors.Values, arrived.Client) is { } limit)
            {
                admission.Count(limit, arrived.Client, wall, mono);
                turnedAway = arrived.WantsReceipt ? admission.Why(limit, arrived.Client) : null;
                continue;
            }

            // Only of sensors that are let in: what is remembered of topics must not be pushed out by invented ones.
            repeat ??= repeats.IsRepeat(arrived.Topic, heard.Fingerprint, arrived.Dup, mono);
            var read = HearReadings(arrived, part, repeat.Value, wall, mono);
            kept = kept is null ? read : [.. kept, .. read];
        }

        if (kept is not null) turnedAway = null;
        return kept ?? Nothing;
    }

    private IReadOnlyList<StoredReading> HearReadings(
        in Arrived arrived, Decoded.Measurements message, bool repeat, DateTimeOffset wall, TimeSpan mono)
    {
        var sensor = Sensor(message, arrived.Client, wall, mono);
        if (repeat || (arrived.Dup && !sensor.HeardSinceStart && repeats.IsKept(message.Sensor, message.Values, wall)))
        {
            Repeats++;
            return Nothing;
        }

        var judged = believer.JudgeMessage(message.Sensor, message.Values, wall, mono, TimeKnown);
        if (!sensor.Heard(judged, mono)) sensor.Rhythm.Lives(mono);
        else if (sensor.Rhythm.Arrive(mono)) Remember(sensor);
        sensor.LastArrival = wall;
        sensor.HeardSinceStart = true;
        sensor.SilentBefore = TimeSpan.Zero;
        // Who sends is there. Its last will may have come from a connection that the broker ended late, and nothing takes that word back.
        sensor.Online = true;
        var kept = new StoredReading[judged.Count];
        var newer = false;
        for (var i = 0; i < judged.Count; i++)
        {
            kept[i] = new StoredReading(sensor.Row.Id, judged[i]);
            newer |= sensor.Take(judged[i], mono, sensor.SpeaksForNow(judged[i]));
            if (sensor.Row.Place is { } where) NoteMeantime(where, judged[i], wall, mono);
        }

        Readings += kept.Length;
        late?.Late(judged.Count(r => r.TimeSource == TimeSource.Device && r.ArrivedAt - r.At > DeviceClock.LateAfter));
        sensor.Silent = false;
        if (sensor.Row.Place is { } at)
        {
            Take(watchman.SensorUnbelievable(sensor.Row.Key, at, sensor.Doubt(wall), mono, wall));
            if (newer) Judge(sensor, mono, wall);
        }

        return kept;
    }

    private SensorState Sensor(Decoded.Measurements message, string? client, DateTimeOffset wall, TimeSpan mono)
    {
        if (sensors.TryGetValue(message.Sensor, out var sensor)) return sensor;
        // During set-up a sensor that names a place the house knows is taken in by itself; any other waits on the Sensors page.
        var place = !SetUpFinished && message.PlaceNamed is { } named && places.ContainsKey(named) && !IsReplaced(message.Sensor) ? named : null;
        // One that was forgotten and speaks again has its number again: what it measured before is its own.
        var number = forgotten.Remove(message.Sensor, out var before) ? before : nextSensor++;
        var row = new SensorRow(number, message.Sensor, place, message.PlaceNamed, null, wall, null);
        // What a person placed once does not leave by itself, and its readings with it.
        if (before != 0) row = row with { EverPlaced = true };
        sensor = new SensorState(row, SensorRhythm.Fresh(mono)) { Client = client };
        sensors.Add(message.Sensor, sensor);
        SensorCount = sensors.Count;
        if (place is not null) places[place].Add(sensor);
        copyDue = true;
        changes.Add(new Change($"sensor {row.Id}", c => SensorRows.Save(c, row, wall)));
        log.LogInformation("A new sensor: {Sensor}{Where}", row.Key, place is null ? ", waiting to be placed" : $" in {place}");
        return sensor;
    }

    private void Remember(SensorState sensor)
    {
        sensor.Row = sensor.Row with { IntervalSeconds = sensor.Rhythm.Expected.TotalSeconds };
        var (id, seconds) = (sensor.Row.Id, sensor.Rhythm.Expected.TotalSeconds);
        changes.Add(new Change($"interval {id}", c => SensorRows.SaveInterval(c, id, seconds), Soon: "keeping how often a sensor reports"));
    }

    private void Judge(SensorState sensor, TimeSpan mono, DateTimeOffset wall)
    {
        if (sensor.Row.Place is { } id && places.TryGetValue(id, out var place)) Judge(place, mono, wall);
    }

    private void Judge(PlaceState place, TimeSpan mono, DateTimeOffset wall)
    {
        var air = place.Observe(mono, wall);
        var band = bands[place.Place.Id];
        if (air.Quality == AirQuality.None && band is not null) return;
        Take(watchman.Observe(air, band, mono, wall, IsEmptied(place.Place) ? WhyEnded.NothingThere : WhyEnded.NotJudged));
    }

    private void Take(IReadOnlyList<AlarmChange> alarms)
    {
        // What became of one room's air in one moment is one text.
        foreach (var room in alarms.Where(c => c.Tell != Telling.None && c.After.Rule.IsOfRoomAir())
            .GroupBy(c => (c.After.Place, c.Tell, c.After.Ended)).ToList())
        {
            List<AlarmChange> together = [.. room];
            var texts = places.TryGetValue(room.Key.Place, out var place) ? TextsOf(place, together) : [];
            foreach (var change in together)
            {
                Take(change, texts);
                texts = [];
            }
        }

        foreach (var change in alarms.Where(c => c.Tell == Telling.None || !c.After.Rule.IsOfRoomAir()))
            Take(change, teller.Compose(change, places.GetValueOrDefault(change.After.Place)?.Place,
                bands.GetValueOrDefault(change.After.Place), lastWall));
    }

    private IReadOnlyList<Outgoing> TextsOf(PlaceState place, List<AlarmChange> together)
    {
        var ids = together.Select(c => c.After.Id).ToHashSet(StringComparer.Ordinal);
        var others = watchman.Open.Any(a => a.Active && a.Place == place.Place.Id && !ids.Contains(a.Id));
        return teller.Compose(together, Judgement(place), bands[place.Place.Id], others, lastWall);
    }

    /// <summary>The one judgement of a room as of now.</summary>
    private PlaceJudgement Judgement(PlaceState place) =>
        PlaceJudge.Of(place.Place, place.Air, bands[place.Place.Id], watchman.Standing(place.Place.Id, lastMono, lastWall), OutdoorAir());

    private void Take(AlarmChange change, IReadOnlyList<Outgoing> texts)
    {
        var alarm = change.After;
        var place = places.GetValueOrDefault(alarm.Place);
        OpenAlarmCount = watchman.Open.Count;
        if (alarm.Count > (change.Before?.Count ?? 0)) counts?.Raised(alarm.Rule);
        // Each raising is a row of its own: a later one does not take the place of one that still waits to be written.
        changes.Add(new Change($"alarm {alarm.Id} {alarm.Count}", c => AlarmRows.Save(c, alarm), texts));
        var topic = $"{Announcements.Root}alarms/{alarm.Id}";
        if (alarm.State == AlarmState.Normal) announcements.TakeAway(topic);
        else announcements.Say(topic, AlarmShape.Of(alarm, key => key is null ? null : sensors.GetValueOrDefault(key)?.Row.Name));
        if (place is not null) Advise(place);
        // A changed judgement is a moment worth having in the history.
        if (change.Before?.Active != alarm.Active) Sample(place?.Air);
    }

    private void Advise(PlaceState place)
    {
        if (place.Place.Purpose == Purpose.Outdoors) return;
        announcements.Say($"{Announcements.Root}{place.Place.Id}/advice", AdviceShape.Of(Judgement(place), judgementWords, null, lastWall));
    }

    // Of several the free air, not that of a clamp.
    private PlaceAir? OutdoorAir() => places.Values.Where(p => p.Place.Purpose == Purpose.Outdoors)
        .OrderBy(p => cropsOfBins.ContainsKey(p.Place.Id)).FirstOrDefault()?.Air;

    /// <summary>How much of the card under the record is free, as the alarm goes by it.</summary>
    public void JudgeDisk(double? percentFree, DateTimeOffset wall, TimeSpan mono) =>
        Take(watchman.Disk(percentFree, DiskSpace.NearlyFullPercent, mono, wall));

    private void Sample(PlaceAir? air)
    {
        if (air is null || air.Quality == AirQuality.None) return;
        changes.Add(new Change($"air {air.Place} {air.At.ToUnixTimeMilliseconds()}", c => PlaceRows.SaveAir(c, air),
            Soon: "keeping the air of a place"));
        announcements.Say($"{Announcements.Root}{air.Place}/air", air);
    }

    private void NoticeStep(DateTimeOffset wall, TimeSpan mono)
    {
        var step = wall - lastWall - (mono - lastMono);
        (lastWall, lastMono) = (wall, mono);
        if (step.Duration() < StepNoticed) return;
        log.LogWarning("The clock was set by {Step}", step);
        foreach (var sensor in sensors.Values) sensor.ClockStepped(step);
        nextSample = Next(wall);
        Take(watchman.ClockStepped(step, mono, wall));
    }

    private static DateTimeOffset Next(DateTimeOffset wall) =>
        new(((wall.Ticks / SampleEvery.Ticks) + 1) * SampleEvery.Ticks, TimeSpan.Zero);

    private static string Start(ReadOnlyMemory<byte> payload)
    {
        var text = Encoding.UTF8.GetString(payload.Span[..Math.Min(FirstBytes, payload.Length)]);
        return string.Concat(text.Select(ch => char.IsControl(ch) ? '·' : ch));
    }
}
