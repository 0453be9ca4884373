using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Pages.Evening;

/// <summary>What leads from the box to the first text, in its order, and then shuts the gate that stood open for it.</summary>
internal enum EveningStep
{
    Household,
    Places,
    Sensors,
    Texts,
    Test,
    Gate,
}

/// <summary>One step as it stands.</summary>
/// <param name="Says">What is set up, or what is missing.</param>
internal sealed record EveningLine(EveningStep Step, bool Done, string Address, string Title, string Says);

/// <summary>
/// The first evening. What of it is done is seen by what the house knows, however it came to be; kept is only that it was begun or put away,
/// and when a test was taken. Safe from any thread.
/// </summary>
internal sealed class FirstEvening(
    Store store, Pipeline pipeline, Outbox outbox, Teller teller, HouseholdDesk desk, HouseholdOptions household, Languages languages,
    Show show, MqttOptions mqtt, SensorDoor door, TimeProvider time)
{
    public const string Address = "/first-evening";
    public const string Ways = Address + "/ways";

    private const string Begun = "begun";
    private const string Over = "over";

    private static readonly EveningStep[] Steps = Enum.GetValues<EveningStep>();

    private volatile Marks? marks;

    /// <summary>How many steps there are.</summary>
    public static int Count => Steps.Length;

    /// <summary>Whether Now and More lead to what is left.</summary>
    public bool IsOffered => Read().Evening == Begun;

    /// <summary>It was put away for good.</summary>
    public bool IsOver => Read().Evening == Over;

    /// <summary>How many steps are left that Now and More lead to.</summary>
    public int Left => IsOffered ? Steps.Count(s => !IsDone(s)) : 0;

    public IReadOnlyList<EveningLine> Lines => [.. Steps.Select(s => new EveningLine(s, IsDone(s), AddressOf(s), Title(s), Says(s)))];

    /// <summary>The first that is not done; null where all are.</summary>
    public EveningStep? Next => Steps.Where(s => !IsDone(s)).Select(s => (EveningStep?)s).FirstOrDefault();

    /// <summary>Whether somebody would get a text.</summary>
    public bool SomebodyTold => teller.BesideContacts(posts: false).Any() || Reached.Any();

    /// <summary>Set-up is not finished, and anything on the network may connect to the service's own broker.</summary>
    public bool IsGateOpen => string.IsNullOrEmpty(mqtt.Broker.Host) && door.IsOpen;

    public static string LeftSaid(int steps) => steps == 1 ? Strings.EveningLeftOne : Strings.EveningLeft.With(steps);

    public static string Title(EveningStep step) => step switch
    {
        EveningStep.Household => Strings.HouseholdHeading,
        EveningStep.Places => Strings.Places,
        EveningStep.Sensors => Strings.Sensors,
        EveningStep.Texts => Strings.EveningTexts,
        EveningStep.Test => Strings.EveningTest,
        _ => Strings.EveningGate,
    };

    public bool IsDone(EveningStep step) => step switch
    {
        EveningStep.Household => desk.IsSaid,
        EveningStep.Places => pipeline.Snapshot.Places.Count > 0,
        EveningStep.Sensors => pipeline.Snapshot.Sensors.Any(s => s.Place is not null),
        EveningStep.Texts => SomebodyTold,
        EveningStep.Test => Read().Test is not null,
        _ => !IsGateOpen,
    };

    public string AddressOf(EveningStep step) => step switch
    {
        EveningStep.Household => Address + "/household",
        EveningStep.Places => Address + "/places",
        EveningStep.Sensors => Address + "/sensors",
        // Without a way out nobody can be told.
        EveningStep.Texts => outbox.Channels.Count == 0 ? Ways : Address + "/people",
        EveningStep.Test => Address + "/test",
        _ => Address + "/gate",
    };

    /// <summary>Somebody of the household signed in and wants nothing in particular.</summary>
    /// <returns>Whether the house is new, so that the first evening is what he wants.</returns>
    public async Task<bool> BeginsAsync()
    {
        if (store.StartProblem is not null || pipeline.Snapshot.Places.Count > 0 || IsOver) return false;
        try
        {
            if (!IsOffered) await OfferAsync();
            return true;
        }
        catch (StoreProblemException)
        {
            // Where nothing can be written nothing can be set up; Now says so.
            return false;
        }
    }

    /// <exception cref="StoreProblemException">It could not be written.</exception>
    public Task PutAwayAsync() => MarkAsync(Meta.FirstEvening, Over);

    /// <exception cref="StoreProblemException">It could not be written.</exception>
    public Task OfferAsync() => MarkAsync(Meta.FirstEvening, Begun);

    /// <summary>A test was taken by the other side.</summary>
    /// <exception cref="StoreProblemException">It could not be written.</exception>
    public Task TestedAsync() => MarkAsync(Meta.FirstTest, time.GetUtcNow().ToString("O", System.Globalization.CultureInfo.InvariantCulture));

    private async Task MarkAsync(string key, string value)
    {
        await store.WriteAsync(c => Meta.Set(c, key, value)).WaitAsync(CancellationToken.None);
        marks = null;
    }

    private Marks Read()
    {
        if (marks is { } known) return known;
        try
        {
            return marks = store.Read(c => new Marks(Meta.Get(c, Meta.FirstEvening), Meta.Get(c, Meta.FirstTest)));
        }
        catch (SqliteException)
        {
            // A record that cannot be read has other words on every page.
            return new Marks(Over, null);
        }
    }

    // A contact on a way that is not set up hears nothing.
    private IEnumerable<Contact> Reached => pipeline.Snapshot.Contacts.Where(c => outbox.Channels.Contains(c.Channel));

    private string Says(EveningStep step)
    {
        var now = pipeline.Snapshot;
        switch (step)
        {
            case EveningStep.Household:
                return EveningWords.Household(household, languages, show);
            case EveningStep.Places:
                return now.Places.Count == 0 ? Strings.NoPlaces : EveningWords.Names(now.AllPlaces.Select(p => p.Name));
            case EveningStep.Sensors:
                var placed = now.Sensors.Count(s => s.Place is not null);
                return placed > 0 ? Strings.EveningSensorsIn.With(placed) : Strings.NoSensors;
            case EveningStep.Texts:
                return Reached.Any() ? EveningWords.Names(Reached.Select(c => c.Name))
                    : SomebodyTold ? Strings.EveningTextsGiven : Strings.EveningNobody;
            case EveningStep.Gate:
                return IsGateOpen ? Strings.EveningGateOpen : string.IsNullOrEmpty(mqtt.Broker.Host) ? Strings.EveningGateShut : Strings.OutsideBrokerWhat;
            default:
                return DateTimeOffset.TryParse(Read().Test, System.Globalization.CultureInfo.InvariantCulture, out var at)
                    ? Strings.EveningTested.With(show.Time(at)) : Strings.EveningNotTested;
        }
    }

    private sealed record Marks(string? Evening, string? Test);
}
