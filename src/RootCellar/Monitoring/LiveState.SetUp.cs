using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>What the grower changes and what pages read; see LiveState.cs for the walk of a reading.</summary>
internal sealed partial class LiveState
{
    public IReadOnlyList<Contact> Contacts => teller.Contacts;

    public IReadOnlyCollection<Place> AllPlaces => [.. places.Values.Select(p => p.Place)];

    /// <summary>The set-up as it is now if it changed since the last call, for the copy beside the record.</summary>
    public SetUpCopy? TakeCopy()
    {
        if (!copyDue) return null;
        copyDue = false;
        return new SetUpCopy(AllPlaces.ToList(), [.. sensors.Values.Select(s => s.Row)], teller.Contacts);
    }

    /// <summary>Something of the set-up changed that the house does not know: the copy beside the record is made anew.</summary>
    public void CopyAgain() => copyDue = true;

    public bool Knows(string place) => places.ContainsKey(place);

    /// <summary>A place as it is now; null when there is none of that id.</summary>
    public PlaceView? View(string place) => places.TryGetValue(place, out var state) ? View(state, View) : null;

    /// <summary>A sensor as it is now; null when there is none of that key.</summary>
    public SensorView? ViewSensor(string key) => sensors.TryGetValue(key, out var sensor) ? View(sensor) : null;

    /// <summary>All that is known now, for whoever reads on another thread.</summary>
    public LiveSnapshot Snapshot(DateTimeOffset wall, TimeSpan mono)
    {
        // Each sensor is looked at once, for itself and for its place.
        var seen = new Dictionary<SensorState, SensorView>(sensors.Count);
        foreach (var sensor in sensors.Values) seen.Add(sensor, View(sensor));
        var byKey = new SensorView[seen.Count];
        seen.Values.CopyTo(byKey, 0);
        Array.Sort(byKey, static (a, b) => string.CompareOrdinal(a.Key, b.Key));
        return new LiveSnapshot(
            wall,
            [.. places.Values.Select(p => View(p, s => seen[s]))],
            byKey,
            watchman.Open,
            [.. unreadable.Reverse()],
            admission.Run(mono),
            teller.Contacts)
        {
            Unwatched = Unwatched,
        };
    }

    /// <summary>Adds a place, or changes the one of that id; during set-up those that wait for a new one come in by themselves.</summary>
    public void SavePlace(Place place)
    {
        var known = places.ContainsKey(place.Id);
        Put(place);
        changes.Add(new Change($"place {place.Id}", c => PlaceRows.Save(c, place), MustStand: true));
        // What was taken out of it by hand does not come back because it was given another name.
        if (SetUpFinished || known) return;
        var state = places[place.Id];
        foreach (var sensor in sensors.Values.Where(s => s.Row.Place is null && s.Row.NamedPlace == place.Id).ToList()) Move(sensor, state);
    }

    /// <summary>The crops of the bins at each place, by the book: the air there is judged for these too.</summary>
    /// <param name="cropsByPlace">Only places where a bin stands.</param>
    /// <param name="crops">The crops the household knows.</param>
    /// <param name="everUsed">Places where a bin ever stood: one that was emptied is not judged.</param>
    public void SetBins(IReadOnlyDictionary<string, IReadOnlyList<string>> cropsByPlace, IReadOnlySet<string> everUsed,
        Science.Crops.CropTable? crops = null)
    {
        if (crops is not null && !ReferenceEquals(crops, cropTable))
            (cropTable, bandsInForce) = (crops, new BandsInForce(CropLookup.Of(crops), watch));
        cropsOfBins = cropsByPlace;
        usedPlaces = everUsed;
        foreach (var place in places.Values) Band(place.Place);
    }

    /// <summary>Puts a sensor into a place (null: out of all) and names it. False when there is no such sensor or place.</summary>
    public bool SaveSensor(string key, string? place, string? name, TimeSpan mono, DateTimeOffset wall)
    {
        if (!sensors.TryGetValue(key, out var sensor)) return false;
        if (place is not null && !places.ContainsKey(place)) return false;
        sensor.Row = sensor.Row with { Name = name, EverPlaced = sensor.Row.EverPlaced || place is not null || name is not null };
        // A person has looked at it: it does not count as invented any more.
        if (sensor.Row.EverPlaced) sensor.Client = null;
        if (sensor.Row.Place != place) LeavePlace(sensor, mono, wall);
        Move(sensor, place is null ? null : places[place]);
        return true;
    }

    /// <summary>
    /// Takes away a place in which no sensor is; the caller has looked that no bin stands there. False when there is none, or a sensor is
    /// in it.
    /// </summary>
    public bool RemovePlace(string id, TimeSpan mono, DateTimeOffset wall)
    {
        if (!places.TryGetValue(id, out var place) || place.Sensors.Count > 0) return false;
        Take(watchman.PlaceGone(id, mono, wall));
        places.Remove(id);
        bands.Remove(id);
        announcements.TakeAway($"{Announcements.Root}{id}/air");
        announcements.TakeAway($"{Announcements.Root}{id}/advice");
        copyDue = true;
        changes.Add(new Change($"place {id}", c => PlaceRows.Remove(c, id), MustStand: true));
        return true;
    }

    /// <summary>
    /// Puts a calibration of one quantity of a sensor in force from <paramref name="since"/> on, or takes it off (null). False when there
    /// is no such sensor.
    /// </summary>
    public bool SaveCalibration(string key, Quantity quantity, Calibration? calibration, DateTimeOffset since)
    {
        if (!sensors.TryGetValue(key, out var sensor)) return false;
        if (calibration is null && sensor.Row.CalibrationOf(quantity) is null) return true;
        List<Calibration> inForce = [.. (sensor.Row.Calibrations ?? []).Where(c => c.Quantity != quantity)];
        if (calibration is not null) inForce.Add(calibration);
        sensor.Row = sensor.Row with { Calibrations = inForce.Count == 0 ? null : inForce, EverPlaced = true };
        copyDue = true;
        var id = sensor.Row.Id;
        changes.Add(new Change($"calibration {key} {quantity}", c => CalibrationRows.Save(c, id, quantity, since, calibration),
            MustStand: true));
        return true;
    }

    public AlarmChange? Acknowledge(string id, string by, TimeSpan mono, DateTimeOffset wall) =>
        Did(watchman.Acknowledge(id, by, mono, wall));

    public AlarmChange? Shelve(string id, TimeSpan how, TimeSpan mono, DateTimeOffset wall) =>
        Did(watchman.Shelve(id, wall + how, mono, wall));

    public AlarmChange? Unshelve(string id, TimeSpan mono, DateTimeOffset wall) => Did(watchman.Unshelve(id, mono, wall));

    public void SaveContact(Contact contact)
    {
        teller.Put(contact);
        copyDue = true;
        changes.Add(new Change($"contact {contact.Id}", c => ContactRows.Save(c, contact), MustStand: true));
    }

    public bool RemoveContact(string id)
    {
        if (!teller.Remove(id)) return false;
        copyDue = true;
        changes.Add(new Change($"contact {id}", c => ContactRows.Remove(c, id), MustStand: true));
        return true;
    }

    /// <summary>Sends a text to one contact, so that the grower knows it arrives before it matters.</summary>
    public bool TellTest(string contact, DateTimeOffset wall)
    {
        if (teller.Test(contact, wall) is not { } text) return false;
        changes.Add(new Change($"test {text.Id}", static _ => { }, [text]));
        return true;
    }

    private AlarmChange? Did(AlarmChange? change)
    {
        if (change is not null) Take([change]);
        return change;
    }

    private void Put(Place place)
    {
        if (places.TryGetValue(place.Id, out var state)) state.Place = place;
        else places.Add(place.Id, new PlaceState(place));
        copyDue = true;
        Band(place);
    }

    private bool IsEmptied(Place place) =>
        !place.WatchEmpty && usedPlaces.Contains(place.Id) && !cropsOfBins.ContainsKey(place.Id) && place.Purpose != Purpose.Outdoors;

    // What is judged for: the place's own crops, and those of the bins that stand there.
    private void Band(Place place) => bands[place.Id] = IsEmptied(place) ? null :
        bandsInForce.For(place, cropsOfBins.GetValueOrDefault(place.Id));

    private void Move(SensorState sensor, PlaceState? place)
    {
        sensor.Row = sensor.Row with { Place = place?.Place.Id, EverPlaced = sensor.Row.EverPlaced || place is not null };
        place?.Add(sensor);
        copyDue = true;
        var row = sensor.Row;
        var since = lastWall;
        changes.Add(new Change($"sensor {row.Id}", c => SensorRows.Save(c, row, since), MustStand: true));
    }

    private PlaceView View(PlaceState state, Func<SensorState, SensorView> sensor) => new(
        state.Place,
        state.Air,
        bands[state.Place.Id],
        [.. state.Sensors.Select(sensor)],
        [.. watchman.Open.Where(a => a.Place == state.Place.Id)],
        Judgement(state),
        IsEmptied(state.Place));

    private SensorView View(SensorState s) => new(
        s.Row.Key,
        s.Row.Name,
        s.Row.Place,
        s.Row.NamedPlace,
        s.Row.FirstSeen,
        s.LastArrival,
        s.Rhythm.Expected,
        s.Silent,
        s.Online,
        s.HeardSinceStart,
        s.Unreadable,
        [.. s.LastReadings],
        s.Row.Calibrations ?? [],
        s.Row.EverPlaced)
    {
        Replaces = Standing(s),
    };
}
