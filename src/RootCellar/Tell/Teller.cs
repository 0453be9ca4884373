using Microsoft.Data.Sqlite;
using RootCellar.Advice;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Tell;

/// <summary>Decides who is told of a change and in which words. Owned by the pipeline's one thread.</summary>
internal sealed class Teller
{
    // Two beginnings that are this near are one: the clock is kept right in small steps.
    private static readonly TimeSpan OneRun = TimeSpan.FromMinutes(1);

    private readonly Dictionary<string, Contact> contacts = new(StringComparer.Ordinal);
    // Of each room what the last text said of each finding, and when that run began.
    private readonly Dictionary<string, Dictionary<Rule, (DateTimeOffset Since, double Value)>> told = new(StringComparer.Ordinal);
    private readonly TextRenderer renderer;
    private readonly Settings settings;


    public Teller(Settings settings, TextRenderer renderer, AlwaysTold? alwaysTold = null)
    {
        this.settings = settings;
        this.renderer = renderer;
        AlwaysTold = alwaysTold?.Channels ?? [];
    }

    /// <summary>Channels that hear every text without a contact.</summary>
    public IReadOnlyList<string> AlwaysTold { get; }

    public IReadOnlyList<Contact> Contacts => [.. contacts.Values.OrderBy(c => c.Name, StringComparer.Ordinal)];

    public void Load(Store store)
    {
        var known = store.StartProblem is not null ? SetUpCopy.Read(store.Folder)?.Contacts : null;
        try
        {
            known ??= store.Read(ContactRows.All);
        }
        catch (SqliteException)
        {
            // A damaged page in the middle of the record: the copy beside it knows whom to tell.
            known = SetUpCopy.Read(store.Folder)?.Contacts ?? [];
        }

        foreach (var contact in known) Put(contact);
    }

    public void Put(Contact contact) => contacts[contact.Id] = contact;

    public bool Remove(string id) => contacts.Remove(id);

    /// <summary>The texts of a change, one for each who wants it; none when there is nothing to tell.</summary>
    public IReadOnlyList<Outgoing> Compose(AlarmChange change, Place? place, Band? band, DateTimeOffset now) =>
        change.Tell == Telling.None ? [] : Texts([change], place, band, null, now);

    /// <summary>
    /// One text of all that became of a room's air in one moment; none where the last text said it: what was on its way to an alarm then, and
    /// is one now.
    /// </summary>
    /// <param name="together">Changes of one place and of one kind.</param>
    public IReadOnlyList<Outgoing> Compose(IReadOnlyList<AlarmChange> together, PlaceJudgement judgement, Band? band, bool othersOpen, DateTimeOffset now)
    {
        if (!told.TryGetValue(judgement.Place.Id, out var said)) told[judgement.Place.Id] = said = [];
        if (together[0].Tell == Telling.Raised && together.All(c => c.After.Priority != AlarmPriority.Urgent && SaidOf(c.After.Rule, c.After.Since))) return [];

        var lead = together.OrderByDescending(c => c.After.Priority).ToList();
        var was = judgement.Findings.Where(f => f.Alarm is not null && SaidOf(f.Rule, f.Since)).ToDictionary(f => f.Rule, f => said[f.Rule].Value);
        var text = new RoomText(judgement, lead, was, othersOpen, Names(lead[0].After.Priority), now);
        foreach (var over in together.Where(c => c.Tell == Telling.Over)) said.Remove(over.After.Rule);
        foreach (var finding in text.Listed) said[finding.Rule] = (finding.Since, finding.Value);
        return Texts(lead, judgement.Place, band, text, now);

        bool SaidOf(Rule rule, DateTimeOffset since) => said.TryGetValue(rule, out var last) && (last.Since - since).Duration() < OneRun;
    }

    private IReadOnlyList<Outgoing> Texts(IReadOnlyList<AlarmChange> changes, Place? place, Band? band, RoomText? room, DateTimeOffset now)
    {
        var change = changes[0];
        var recipients = Recipients(change.After.Priority).ToList();
        if (recipients.Count == 0) return [];
        var text = renderer.Render(change, place, band, room: room);
        var priority = change.After.Priority.ToString().ToLowerInvariant();
        return [.. recipients.Select(r => new Outgoing(Guid.NewGuid().ToString("N"), change.After.Id, r.Channel, r.Address, priority, text.Sms, text.Subject, text.Body, now))];
    }

    private IReadOnlyList<string> Names(AlarmPriority priority) => [.. Told(priority).Select(c => c.Name).Order(StringComparer.Ordinal)];

    private IEnumerable<Contact> Told(AlarmPriority priority) => contacts.Values.Where(c => c.Wants == "all" || priority == AlarmPriority.Urgent);

    /// <summary>A text to see whether texts arrive; null when there is no such contact.</summary>
    public Outgoing? Test(string contact, DateTimeOffset now)
    {
        if (!contacts.TryGetValue(contact, out var to)) return null;
        const string text = "RootCellar test: texts reach you here. Nothing is wrong, nothing to do.";
        return new Outgoing(Guid.NewGuid().ToString("N"), null, to.Channel, to.Address, "low", text, "RootCellar test", text, now);
    }

    private IEnumerable<(string Channel, string Address)> Recipients(AlarmPriority priority)
    {
        var told = new HashSet<(string, string)>();
        foreach (var contact in Told(priority))
        {
            if (told.Add((contact.Channel, contact.Address))) yield return (contact.Channel, contact.Address);
        }

        if (settings.Tell.Mail is { Host.Length: > 0, To: { Length: > 0 } to } && told.Add((MailChannel.ChannelName, to))) yield return (MailChannel.ChannelName, to);
        // A hook may have nobody to name; a gateway has its contacts on the Set-up page.
        var posts = contacts.Values.Any(c => c.Channel == PostChannel.ChannelName);
        if (settings.Tell.Post is { Url.Length: > 0 } post && (post.To is { Length: > 0 } || !posts) && told.Add((PostChannel.ChannelName, post.To ?? "")))
        {
            yield return (PostChannel.ChannelName, post.To ?? "");
        }

        foreach (var channel in AlwaysTold) yield return (channel, "");
    }
}

/// <summary>Channels that hear every text without a contact: the demo's console.</summary>
internal sealed record AlwaysTold(IReadOnlyList<string> Channels);
