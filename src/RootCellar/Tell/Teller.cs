using System.Collections.Concurrent;
using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Advice;
using RootCellar.Household;
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

    // More than a household gets in a month with everything wrong (assumed); an alarm older than that is told afresh.
    private const int TextsRemembered = 500;

    // Who starts the service at noon is not told of the morning (assumed).
    private static readonly TimeSpan MorningLasts = TimeSpan.FromHours(2);

    private readonly Dictionary<string, Contact> contacts = new(StringComparer.Ordinal);

    // What each was last told of a room's air, and by which text.
    private readonly Dictionary<(string Channel, string Address, string Place, Rule Rule), (SaidFinding Finding, string Text)> told = [];

    // Who was told of the beginning of any other alarm.
    private readonly HashSet<(string Channel, string Address, string Alarm)> begun = [];
    private readonly ConcurrentQueue<Outgoing> undelivered = new();
    private readonly HoldBack hold;
    private readonly AnswerBook answers = new();
    private readonly ModemInbox? inbox;

    // The ids of texts that are of no alarm and were written: the mornings', and that nobody watched.
    private readonly HashSet<string> written = new(StringComparer.Ordinal);
    private readonly TextRenderer renderer;
    private readonly TellOptions tell;
    private readonly Languages languages;
    private readonly HouseClock? clock;
    private readonly IReadOnlyList<string> alwaysTold;

    public Teller(TellOptions tell, TextRenderer renderer, AlwaysTold? alwaysTold = null, ModemInbox? inbox = null, Languages? languages = null,
        HouseClock? clock = null)
    {
        (this.tell, this.renderer, this.inbox, this.languages, this.clock) = (tell, renderer, inbox, languages ?? Languages.Shipped, clock);
        hold = new HoldBack(renderer.Calendar, this.languages, clock);
        this.alwaysTold = alwaysTold?.Channels ?? [];
    }

    /// <summary>The time came to be known. From any thread but one at a time.</summary>
    public void PutRight(TimePutRight right)
    {
        hold.PutRight(right);
        foreach (var (what, last) in told.ToList()) told[what] = last with { Finding = last.Finding with { Since = right.Of(last.Finding.Since) } };
    }

    public IReadOnlyList<Contact> Contacts => [.. contacts.Values.OrderBy(c => c.Name, NameOrder.Instance)];

    /// <param name="store">The record.</param>
    /// <param name="copy">Whom to tell as the copy beside the record has it; asked only where the record cannot be read.</param>
    public void Load(Store store, Func<IReadOnlyList<Contact>?> copy)
    {
        var known = store.StartProblem is not null ? copy() : null;
        try
        {
            known ??= store.Read(ContactRows.All);
        }
        catch (SqliteException)
        {
            // A damaged page in the middle of the record: the copy beside it knows whom to tell.
            known = copy() ?? [];
        }

        foreach (var contact in known) Put(contact);
        LoadTold(store);
    }

    private void LoadTold(Store store)
    {
        try
        {
            var latest = store.Read(c => OutboxRows.Latest(c, TextsRemembered));
            foreach (var text in latest.Where(t => t.State is not (OutgoingState.GivenUp or OutgoingState.Held or OutgoingState.NotNeeded))
                .Reverse())
                Remember(text);
            written.UnionWith(latest.Select(t => t.Id));
            hold.Load(store.Read(OutboxRows.Held), latest);
        }
        catch (Exception e) when (e is SqliteException or JsonException)
        {
            // A text too many is better than none: what cannot be read counts as not told.
        }
    }

    public void Put(Contact contact) => contacts[contact.Id] = contact;

    public bool Remove(string id) => contacts.Remove(id);

    /// <summary>The texts of a change, one for each who wants it; none when there is nothing to tell.</summary>
    public IReadOnlyList<Outgoing> Compose(AlarmChange change, Place? place, Band? band, DateTimeOffset now) =>
        change.Tell != Telling.None && Recipients(change.After.Priority).ToList() is { Count: > 0 } to
            ? [.. to.Select(Words(change, place, band, now)).SelectMany(t => Pass(t, [change], Knew(t, [change]), now))]
            : [];

    /// <summary>What was held and is due by now, and what became needless of it.</summary>
    public IReadOnlyList<Outgoing> Due(Watchman watchman, DateTimeOffset now)
    {
        if (!hold.IsDue(now)) return [];
        var due = hold.Due(now, watchman.Open, contacts.Values);
        foreach (var text in due.Where(t => t.State is OutgoingState.Waiting or OutgoingState.InOne)) Remember(text);
        return due;
    }

    /// <summary>The morning's figures for whoever wants them and has not had them; none but in the hours after their day began.</summary>
    public IReadOnlyList<Outgoing> Mornings(IEnumerable<(Place Place, PlaceAir? Air)> places, Watchman watchman, DateTimeOffset now)
    {
        List<Outgoing>? texts = null;
        foreach (var contact in contacts.Values.Where(c => c.AllIsWell != "never"))
        {
            var day = renderer.Calendar.DayOf(now);
            if (contact.AllIsWell == "weekly" && day.DayOfWeek != DayOfWeek.Monday) continue;
            var begins = renderer.Calendar.Moment(day, contact.Morning);
            if (now < begins || now - begins > MorningLasts || !written.Add(MorningFigures.Id(contact, day))) continue;
            (texts ??= []).Add(languages.In(contact.Language, () =>
                MorningFigures.Of(contact, day, places, watchman.Open.Count(a => a.Active), renderer.Scale, now)));
        }

        return texts ?? [];
    }

    /// <summary>That nobody watched for a time, for all who hear of every alarm and have not heard of that; in quiet hours it waits.</summary>
    public IReadOnlyList<Outgoing> Unwatched(Unwatched time, IReadOnlyCollection<Place> places, DateTimeOffset now)
    {
        List<Outgoing> texts = [];
        foreach (var (channel, address) in Recipients(AlarmPriority.High))
        {
            var to = Told(AlarmPriority.High).FirstOrDefault(c => c.Channel == channel && c.Address == address)
                ?? new Contact($"{channel}-{address}", "", channel, address, "all");
            if (!written.Add(UnwatchedWords.Id(to, time))) continue;
            var text = languages.In(to.Language, () => UnwatchedWords.Text(to, time, places, renderer.Calendar, renderer.Scale, now));
            texts.Add(hold.Pass(text with { Language = to.Language }, to, AlarmPriority.High, now));
        }

        return texts;
    }

    private IReadOnlyList<Outgoing> Pass(Outgoing text, IReadOnlyList<AlarmChange> changes, bool knew, DateTimeOffset now)
    {
        var priority = changes.Max(c => c.After.Priority);
        var to = Told(priority).Where(c => c.Channel == text.Channel && c.Address == text.Recipient).ToList();
        var outcome = hold.Pass(text, changes, to, knew, now);
        if (outcome.Any(t => t.State == OutgoingState.Waiting)) Remember(text);
        else Forget(text);
        return outcome;
    }

    private bool Knew(Outgoing to, IReadOnlyList<AlarmChange> changes) => changes.Any(c => c.After.Rule.IsOfRoomAir()
        ? told.ContainsKey((to.Channel, to.Recipient, c.After.Place, c.After.Rule))
        : begun.Contains((to.Channel, to.Recipient, c.After.Id)));

    private Func<(string Channel, string Address), Outgoing> Words(AlarmChange change, Place? place, Band? band, DateTimeOffset now) =>
        to => languages.In(LanguageOf(to), () => Text(change, to, renderer.Render(change, place, band), [change.After.Id], now));

    // Who shares an address with others reads what one of them chose.
    private string? LanguageOf((string Channel, string Address) to) =>
        contacts.Values.FirstOrDefault(c => c.Channel == to.Channel && c.Address == to.Address && c.Language is not null)?.Language;

    /// <summary>
    /// One text to each of all that became of a room's air in one moment; none to whom the last text said it: what was on its way to an
    /// alarm then, and is one now. What one text has no room for makes a second.
    /// </summary>
    /// <param name="together">Changes of one place and of one kind.</param>
    public IReadOnlyList<Outgoing> Compose(IReadOnlyList<AlarmChange> together, PlaceJudgement judgement, Band? band, bool othersOpen,
        DateTimeOffset now)
    {
        while (undelivered.TryDequeue(out var text)) Forget(text);
        var wantedBy = Enum.GetValues<AlarmPriority>().ToDictionary(p => p, p => Recipients(p).ToList());
        var raised = together[0].Tell == Telling.Raised;
        List<Outgoing> texts = [];
        foreach (var to in wantedBy[together.Max(c => c.After.Priority)])
        {
            var left = together.Where(c => !raised || c.After.Priority == AlarmPriority.Urgent || !WasTold(c.After.Rule, c.After.Since))
                .ToList();
            while (left.Count > 0 && wantedBy[left.Max(c => c.After.Priority)].Contains(to))
            {
                var ordered = left.OrderByDescending(c => c.After.Priority).ToList();
                var text = languages.In(LanguageOf(to), () => To(to, ordered));
                var knew = Knew(text, changes: together);
                // Of those in one text none is told a second time in the next.
                Remember(text);
                texts.AddRange(Pass(text, together, knew, now));
                left = raised ? [.. left.Where(c => c.After.Id != text.Alarm && text.Said!.Findings.All(f => f.Rule != c.After.Rule))] : [];
            }

            bool WasTold(Rule rule, DateTimeOffset since) =>
                told.TryGetValue((to.Channel, to.Address, judgement.Place.Id, rule), out var last) && (last.Finding.Since - since)
                    .Duration() < OneRun;

            Outgoing To((string Channel, string Address) to, IReadOnlyList<AlarmChange> changes)
            {
                var was = judgement.Findings.Where(f => f.Alarm is not null && WasTold(f.Rule, f.Since))
                    .ToDictionary(f => f.Rule, f => told[(to.Channel, to.Address, judgement.Place.Id, f.Rule)].Finding.Value);
                var room = new RoomText(judgement, changes, was, othersOpen, Names(changes[0].After.Priority, now), now);
                var words = renderer.Render(changes[0], judgement.Place, band, room: room);
                // A text that has no room for what it is sent for is none.
                if (raised && words.SaidInText.All(f => f.Rule != changes[0].After.Rule))
                    words = renderer.Render(changes[0], judgement.Place, band, room: room with { OwnFirst = true });
                var said = to.Channel == MailChannel.ChannelName ? words.SaidInMail : words.SaidInText;
                List<SaidEnd>? ended = raised
                    ? null : [.. changes.Where(c => c.Tell == Telling.Over).Select(c => new SaidEnd(c.After.Rule))];
                var alarms = said.Select(f => f.Alarm).OfType<string>().Prepend(changes[0].After.Id).Distinct(StringComparer.Ordinal);
                return Text(changes[0], to, words, [.. alarms], now) with
                {
                    Said = new RoomSaid(judgement.Place.Id, [.. said.Select(f => new SaidFinding(f.Rule, f.Since, f.Value))], ended),
                };
            }
        }

        return texts;
    }

    /// <summary>It reached nobody, so that what it said is told again. From any thread.</summary>
    public void Undelivered(Outgoing text) => undelivered.Enqueue(text);

    private void Remember(Outgoing text)
    {
        answers.Put(text);
        foreach (var finding in text.Said?.Findings ?? [])
            told[(text.Channel, text.Recipient, text.Said!.Place, finding.Rule)] = (finding, text.Id);
        if (text.Alarm is { } alarm && text.Said is null)
        {
            if (text.Over) begun.Remove((text.Channel, text.Recipient, alarm));
            else begun.Add((text.Channel, text.Recipient, alarm));
        }

        foreach (var end in text.Said?.Ended ?? []) told.Remove((text.Channel, text.Recipient, text.Said!.Place, end.Rule));
    }

    private void Forget(Outgoing text)
    {
        answers.Remove(text.Id);
        foreach (var finding in text.Said?.Findings ?? [])
        {
            var what = (text.Channel, text.Recipient, text.Said!.Place, finding.Rule);
            if (told.TryGetValue(what, out var last) && last.Text == text.Id) told.Remove(what);
        }
    }

    /// <param name="alarms">What it tells of; the one it is sent for first.</param>
    private Outgoing Text(AlarmChange change, (string Channel, string Address) to, MessageText words, IReadOnlyList<string> alarms,
        DateTimeOffset now)
    {
        var over = change.Tell == Telling.Over;
        // Who answers is known by the address: only a contact does.
        var asks = !over && contacts.Values.Any(c => c.Channel == to.Channel && c.Address == to.Address) ? new Answerable(alarms) : null;
        if (asks is not null && to.Channel == ModemChannel.ChannelName && inbox?.IsHeard == true)
            asks = asks with { Code = answers.CodeOf(alarms[0]) };
        var text = new Outgoing(
            Guid.NewGuid().ToString("N"), change.After.Id, to.Channel, to.Address, change.After.Priority.ToString().ToLowerInvariant(),
            asks?.Code is { } code ? Marks.WithAnswer(words.Sms, code) : words.Sms, words.Subject, words.Body, now)
        {
            Over = over,
            Answerable = asks,
            Language = LanguageOf(to),
        };
        return clock is { IsKnown: false }
            ? text with { Sms = Marks.Fitting(text, " " + Strings.TextTimeNotKnown), Body = $"{text.Body}\n\n{Strings.TextTimeNotKnownWhy}" } : text;
    }

    private IReadOnlyList<string> Names(AlarmPriority priority, DateTimeOffset now) =>
        [.. Told(priority).Where(c => hold.IsAtOnce(c, priority, now)).Select(c => c.Name).Order(StringComparer.Ordinal)];

    private IEnumerable<Contact> Told(AlarmPriority priority) =>
        contacts.Values.Where(c => c.Wants == "all" || priority == AlarmPriority.Urgent);

    /// <summary>A text to see whether texts arrive; null when there is no such contact.</summary>
    public Outgoing? Test(string contact, DateTimeOffset now)
    {
        if (!contacts.TryGetValue(contact, out var to)) return null;
        return languages.In(to.Language, () => new Outgoing(
            Guid.NewGuid().ToString("N"), null, to.Channel, to.Address, "low", Gsm0338.Fold(Strings.TextTest), Strings.TextTestSubject,
            Strings.TextTest, now)
        { Language = to.Language });
    }

    /// <summary>Whose own number that is; null where it is nobody's who is told by the modem.</summary>
    public Contact? WhoHas(string number) => contacts.Values.Where(c => c.Channel == ModemChannel.ChannelName)
        .OrderByDescending(c => c.Address == number).ThenBy(c => c.Id, StringComparer.Ordinal)
        .FirstOrDefault(c => PhoneNumber.IsSame(c.Address, number));

    /// <summary>What waits for somebody's answer, the newest text first.</summary>
    public IReadOnlyList<Standing> Waiting(Contact who, IEnumerable<Alarm> open) => answers.Waiting(who.Address, open);

    /// <summary>The alarms that a text with that number told somebody of.</summary>
    public IReadOnlyList<string> Told(Contact who, int code) => answers.Of(who.Address, code);

    /// <summary>What somebody is answered: it waits for no hour, since whoever asks is awake.</summary>
    public Outgoing Reply(Contact to, Func<string> words, DateTimeOffset now)
    {
        var text = Gsm0338.Cut(languages.In(to.Language, words));
        return new Outgoing(Guid.NewGuid().ToString("N"), null, to.Channel, to.Address, "low", text, text, text, now) { Language = to.Language };
    }

    /// <summary>Who hears every text and is no contact of the page: whom the settings name, and the demo's console. Safe from any thread.</summary>
    /// <param name="posts">A contact is reached through the gateway: a hook may have nobody to name, a gateway has its contacts on the page.</param>
    public IEnumerable<(string Channel, string Address)> BesideContacts(bool posts)
    {
        if (tell.Mail is { Host.Length: > 0, To: { Length: > 0 } to }) yield return (MailChannel.ChannelName, to);
        if (tell.Post is { Url.Length: > 0 } post && (post.To is { Length: > 0 } || !posts)) yield return (PostChannel.ChannelName, post.To ?? "");
        foreach (var channel in alwaysTold) yield return (channel, "");
    }

    private IEnumerable<(string Channel, string Address)> Recipients(AlarmPriority priority)
    {
        var reached = new HashSet<(string, string)>();
        foreach (var contact in Told(priority))
        {
            if (reached.Add((contact.Channel, contact.Address))) yield return (contact.Channel, contact.Address);
        }

        foreach (var other in BesideContacts(contacts.Values.Any(c => c.Channel == PostChannel.ChannelName)))
        {
            if (reached.Add(other)) yield return other;
        }
    }
}

/// <summary>Channels that hear every text without a contact: the demo's console.</summary>
internal sealed record AlwaysTold(IReadOnlyList<string> Channels);
