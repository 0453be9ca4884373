using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Mirror;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;
using RootCellar.Pages.Evening;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Science.Crops;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Pages;

/// <summary>Everything the grower decides: places, who is told, how sensors connect, who comes in.</summary>
internal sealed partial class SetUpModel(
    Pipeline pipeline,
    Languages languages,
    Store store,
    MqttOptions mqtt,
    ReportOptions report,
    MirrorOptions mirrorOptions,
    SensorDoor door,
    ClientAccess access,
    Outbox outbox,
    MirrorState mirror,
    Show show,
    Stamps stamps,
    Doorkeeper doorkeeper,
    KnownBrowsers browsers,
    PlaceRemoval removal,
    HouseAddress house,
    HouseholdOptions household,
    LedgerDoor ledger) : PageModel
{
    private const int LongestTokenName = 60;

    public const string MirrorKeys =
        """{ "Mirror": { "Influx": { "Url": "http://...:8086", "Org": "...", "Bucket": "...", "TokenFile": "..." } } }""";

    /// <summary>Every crop the household knows, by name, with those that are known to the book only.</summary>
    public IReadOnlyList<string> AllCrops => [.. HarvestForm.ByName(ledger.Book.Crops).Select(c => c.Id), .. ledger.Book.Crops.BookOnly];

    public static IReadOnlyList<string> Channels => ChannelDesk.All;

    public IReadOnlyList<Place> Places { get; private set; } = [];

    public IReadOnlyList<Contact> Contacts { get; private set; } = [];

    public IReadOnlyList<TokenView> AllTokens { get; private set; } = [];

    public PlaceForm Place { get; private set; } = PlaceForm.Fresh(null);

    public ContactForm Contact { get; private set; } = new()
    {
        // Where one way out is set up it is meant.
        Channel = ChannelDesk.All.FirstOrDefault(outbox.Channels.Contains) ?? MailChannel.ChannelName,
    };

    public string? PlaceProblem { get; private set; }

    public string? ContactProblem { get; private set; }

    public string? PassphraseProblem { get; private set; }

    public string? TokenProblem { get; private set; }

    public string? TokenName { get; private set; }

    public string? NewToken { get; private set; }

    public string? Done { get; private set; }

    /// <summary>When the weekly report goes out.</summary>
    public string ReportWhen => report.ToString();

    /// <summary>One moment's picture for the whole page.</summary>
    public MirrorStanding Mirror { get; } = mirror.Now;

    public string MirrorUrl => $"{mirrorOptions.Influx.Url}, {mirrorOptions.Influx.Bucket}";

    public string MirrorWords => Mirror.State switch
    {
        MirrorWord.Sending => Strings.MirrorSending,
        MirrorWord.Starting => Strings.MirrorStarting,
        _ => Strings.MirrorUpToDate,
    };

    /// <summary>For how long something has waited, where that is worth a word.</summary>
    public string? MirrorLag => Mirror.LagSeconds(show.Now) is > 60 and var seconds
        ? Strings.MirrorSince.With(Show.Span(TimeSpan.FromSeconds(seconds))) : null;

    public bool OwnBroker => string.IsNullOrEmpty(mqtt.Broker.Host);

    /// <summary>The household's clock, units and language, in one line.</summary>
    public string HouseholdSaid => EveningWords.Household(household, languages, show);

    public string ExamplePlace => SensorConnection.ExamplePlace(Places);

    public string ExampleQuantity => show.InFahrenheit ? "temperature_f" : "temperature_c";

    /// <summary>What is typed into a sensor.</summary>
    public SensorConnection Connection => SensorConnection.Of(mqtt, door, Request, Places);

    /// <summary>Something behind the fold has just been made or is wrong.</summary>
    public bool IsTechnical => NewToken is not null || TokenProblem is not null || NewClient is not null || ReaderName is not null;

    /// <summary>Channels that somebody is to be told by and that are not set up.</summary>
    public IEnumerable<string> ChannelsOff => Contacts.Select(c => c.Channel).Distinct(StringComparer.Ordinal)
        .Where(c => !outbox.Channels.Contains(c)).Select(ChannelName);

    public bool NoChannel => outbox.Channels.Count == 0;

    public static string ChannelName(string channel) => channel switch
    {
        MailChannel.ChannelName => Strings.ChannelMail,
        ModemChannel.ChannelName => Strings.ChannelModem,
        _ => Strings.ChannelPost,
    };

    public void OnGet(string? place, string? add, string? done, string? contact)
    {
        Load();
        if (Contacts.FirstOrDefault(c => c.Id == contact) is { } somebody) Contact = ContactForm.Of(somebody);
        if (Places.FirstOrDefault(p => p.Id == place) is { } known) Place = PlaceForm.Of(known, show);
        else if (add is not null) Place = PlaceForm.Fresh(add);
        Done = done switch
        {
            "place" => Strings.DonePlace,
            "place-removed" => Strings.DonePlaceRemoved,
            "contact" => Strings.DoneContact,
            "removed" => Strings.DoneRemoved,
            "test" => Strings.DoneTest,
            "finish" => Strings.DoneFinish,
            "reopen" => Strings.DoneReopen,
            "passphrase" => Strings.DonePassphrase,
            "unlocked" => Strings.DoneUnlocked,
            "sensor-password" => Strings.DoneSensorPassword,
            "old-password" => Strings.DoneOldPassword,
            "calendar" => Strings.CalendarTakenBack,
            _ => null,
        };
    }

    public async Task<IActionResult> OnPostPlaceAsync(PlaceForm form)
    {
        Place = form with { Id = string.IsNullOrWhiteSpace(form.Id) ? PlaceForm.IdFrom(form.Name) : form.Id.Trim() };
        Load();
        PlaceProblem = await SavePlaceAsync(Place);
        return PlaceProblem is null ? Finish("place", "places") : Again();
    }

    public async Task<IActionResult> OnPostRemovePlaceAsync(string? id)
    {
        Load();
        // Gone already, in another window: what was wanted is so.
        if (Places.FirstOrDefault(p => p.Id == id) is not { } place) return Finish("place-removed", "places");
        Place = PlaceForm.Of(place, show);
        try
        {
            var removed = await removal.RemoveAsync(place.Id, HttpContext.RequestAborted);
            if (removed.Done || !removed.Known) return Finish("place-removed", "places");
            PlaceProblem = PlaceForm.StillThere(place.Name, removed);
        }
        catch (StoreProblemException e)
        {
            PlaceProblem = Strings.UntilRestart.With(e.Message);
        }

        return Again();
    }

    public async Task<IActionResult> OnPostContactAsync(ContactForm form)
    {
        Contact = form;
        var was = pipeline.Snapshot.Contacts.FirstOrDefault(c => c.Id == form.Id);
        var wrong = ContactRules.Read(was?.Id, form.Name, form.Channel, form.Address, form.Wants, out var contact, was?.Report);
        wrong ??= ContactRules.Times(ref contact!, form.Times);
        ContactProblem = wrong is null ? await TryAsync(h => h.SaveContact(contact!)) : ContactForm.Words(wrong, form);
        return ContactProblem is null ? Finish("contact", "contacts") : Again();
    }

    public async Task<IActionResult> OnPostRemoveContactAsync(string id)
    {
        ContactProblem = await TryAsync(h => h.RemoveContact(id));
        return ContactProblem is null ? Finish("removed", "contacts") : Again();
    }

    /// <summary>The weekly report to a contact, on or off.</summary>
    public async Task<IActionResult> OnPostContactReportAsync(string id)
    {
        ContactProblem = await TryAsync(h =>
        {
            if (h.Contacts.FirstOrDefault(c => c.Id == id) is { } contact) h.SaveContact(contact with { Report = !contact.Report });
        });
        return ContactProblem is null ? Finish("contact", "contacts") : Again();
    }

    public async Task<IActionResult> OnPostTestAsync(string id)
    {
        var known = false;
        ContactProblem = await TryAsync((h, wall) => known = h.TellTest(id, wall));
        return ContactProblem is null && known ? Finish("test", "contacts") : Again();
    }

    public async Task<IActionResult> OnPostPassphraseAsync(string? current, string? fresh)
    {
        // Who holds a signed-in phone can guess here as at the door, and is counted as there.
        var answer = doorkeeper.Household(browsers.Who(HttpContext), current);
        if (answer is not SignInAnswer.Household) PassphraseProblem = SignInModel.Words(answer, Strings.WrongPassphrase, show);
        else if (fresh is null || Passphrase.IsWeak(fresh)) PassphraseProblem = Strings.PassphraseWeak;
        else PassphraseProblem = await WriteAsync(c => Passphrase.Set(c, fresh));
        if (PassphraseProblem is not null) return Again();
        // Whoever changed it knows it; all the others sign in anew.
        if (User.IsHousehold()) await EntryWiring.SignInAsHouseholdAsync(HttpContext, User.Identity?.Name ?? Strings.TheHousehold);
        return Finish("passphrase", "access");
    }

    public async Task<IActionResult> OnPostTokenAsync(string? name, bool log)
    {
        TokenName = name?.Trim();
        if (string.IsNullOrEmpty(TokenName) || TokenName.Length > LongestTokenName)
        {
            TokenProblem = Strings.NameTooLong.With(LongestTokenName);
            return Again();
        }

        string? secret = null;
        TokenProblem = await WriteAsync(c => secret = Tokens.Add(c, TokenName, show.Now, log ? Tokens.MayLog : Tokens.MayAll));
        if (TokenProblem is null && secret is null) TokenProblem = Strings.TokenTaken.With(TokenName);
        if (TokenProblem is null) TokenName = null;
        NewToken = secret;
        return Again();
    }

    public async Task<IActionResult> OnPostRemoveTokenAsync(string name)
    {
        TokenProblem = await WriteAsync(c => Tokens.Remove(c, name));
        return TokenProblem is null ? Finish("removed", "tokens") : Again();
    }

    private async Task<string?> SavePlaceAsync(PlaceForm form)
    {
        double? volume = null;
        if (!string.IsNullOrWhiteSpace(form.Volume))
        {
            if (!Numerals.TryRead(form.Volume, out var given))
                return Strings.VolumeWrong.With(form.Volume);
            volume = show.VolumeM3(given);
        }

        var known = form.Existing ? Places.FirstOrDefault(p => p.Id == form.Id) : null;
        if (PlaceRules.Read(form.Id, form.Name, form.Purpose, volume, form.Crops, out var place, known, ledger.Book.Crops) is { } wrong)
            return PlaceForm.Words(wrong, form);
        if (PlaceRules.ReadShortName(form.ShortName, out var shortName) is { } odd) return PlaceForm.Words(odd, form);
        if (shortName is null && PlaceRules.WantsShortName(place!.Name))
        {
            // What a text would make of it, to be put right by who knows.
            var near = Gsm0338.Fold(place.Name);
            Place = form with { ShortName = near[..Math.Min(near.Length, PlaceRules.LongestShortName)] };
            return Strings.ShortNameAsked.With(place.Name);
        }

        place = place! with { WatchEmpty = form.WatchEmpty, ShortName = shortName };
        var taken = false;
        Place? alike = null;
        var problem = await TryAsync(h =>
        {
            taken = !form.Existing && h.Knows(place.Id);
            alike = PlaceRules.TakenFor(place, known, h.AllPlaces);
            if (!taken && alike is null) h.SavePlace(place);
        });
        if (taken) return Strings.PlaceTaken.With(place.Id);
        return alike is null ? problem : Strings.PlaceLooksAlike.With(alike.Name);
    }

    private Task<string?> TryAsync(Action<LiveState> change) => TryAsync((h, _) => change(h));

    private async Task<string?> TryAsync(Action<LiveState, DateTimeOffset> change)
    {
        try
        {
            await pipeline.AskAsync(
                (house, wall, _) =>
                {
                    change(house, wall);
                    return true;
                },
                HttpContext.RequestAborted);
            return null;
        }
        catch (StoreProblemException e)
        {
            return Strings.UntilRestart.With(e.Message);
        }
    }

    /// <summary>
    /// What is wrong; null where it stands. Whoever goes away meanwhile ends the waiting only: cookies go by it all the same.
    /// </summary>
    private async Task<string?> WriteAsync(Action<Microsoft.Data.Sqlite.SqliteConnection> write)
    {
        try
        {
            await WriteAndSayAsync(write).WaitAsync(HttpContext.RequestAborted);
            return null;
        }
        catch (StoreProblemException e)
        {
            return Strings.NotSaved.With(e.Message);
        }
    }

    private async Task WriteAndSayAsync(Action<Microsoft.Data.Sqlite.SqliteConnection> write)
    {
        await store.WriteAsync(write).WaitAsync(CancellationToken.None);
        stamps.Changed();
    }

    private RedirectToPageResult Finish(string done, string fragment) => RedirectToPage(null, null, new { done }, fragment);

    private PageResult Again()
    {
        Load();
        return Page();
    }

    private void Load()
    {
        var now = pipeline.Snapshot;
        Places = [.. now.AllPlaces.OrderBy(p => p.Purpose).ThenBy(p => p.Name, NameOrder.Instance)];
        Contacts = now.Contacts;
        AllTokens = store.Read(Tokens.All);
        CalendarIsMade = store.Read(CalendarLink.IsMade);
        AllHelpers = store.Read(Helpers.All);
        LoadClients();
    }
}
