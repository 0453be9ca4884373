using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger.Events;
using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>The book changed. <see cref="FromWhen"/> is the earliest moment whose truth changed.</summary>
internal sealed class BookChange(Book book, DateTimeOffset fromWhen) : EventArgs
{
    public Book Book => book;

    public DateTimeOffset FromWhen => fromWhen;
}

/// <summary>
/// The one way into the ledger. What is given is judged against the book as it would be with it; what is kept is on disk before the answer,
/// and all of one call or nothing. One call at a time; the book itself is read without waiting.
/// </summary>
internal sealed class LedgerDoor(Store store, TimeProvider time, HouseholdOptions household, LimitOptions limits, ILogger<LedgerDoor> log)
    : IDisposable
{
    private const int DeepestCorrection = 100;

    // What lies in damaged rows is held in memory for so many of them; a whole table of them is only counted.
    private const int MostShown = 500;

    private readonly SemaphoreSlim one = new(1, 1);
    private Book book = Book.Empty with { Calendar = household.Calendar() };
    private long lastRead;
    private volatile IReadOnlyList<DamagedRow> damaged = [];

    /// <summary>Raised after each change, one at a time, before the answer is given.</summary>
    public event EventHandler<BookChange>? BookChanged;

    public Book Book => Volatile.Read(ref book);

    /// <summary>The places there are; an event that names another is asked about. Null: any place will do.</summary>
    public Func<IReadOnlyCollection<string>>? KnownPlaces { get; set; }

    /// <summary>
    /// What there is to ask about something that the book can take, by what is known beyond the book, with the book as it is after it: null
    /// where it is as expected. Null itself: nothing is asked.
    /// </summary>
    public Func<Recorded, Book, Question?>? AskBeyond { get; set; }

    /// <summary>Now, on the household's clock: what hangs on the day is its day.</summary>
    public DateTimeOffset Now => LedgerRows.AsKept(Calendar.Local(time.GetUtcNow()));

    /// <summary>The household's day.</summary>
    public DateOnly Today => Calendar.DayOf(time.GetUtcNow());

    public HouseholdCalendar Calendar { get; } = household.Calendar();

    /// <summary>Rows of the record that cannot be read. They stay there and count for nothing; to be checked.</summary>
    public IReadOnlyList<DamagedRow> Damaged => damaged;

    /// <summary>Why there is no book; null while there is.</summary>
    public BookTrouble? Trouble { get; private set; }

    /// <summary>How many entries there is room for in memory.</summary>
    public long Room { get; init; } = BookRoom.Entries;

    /// <summary>How many entries the book takes: the household's limit, or what there is room for.</summary>
    public int MostEntries => (int)Math.Min(limits.MostBookEntries, Room);

    /// <summary>Does something on which the book may lean, such as taking a place away, while nothing is written into it.</summary>
    public async Task<T> HoldAsync<T>(Func<Book, Task<T>> act, CancellationToken cancellationToken = default)
    {
        await one.WaitAsync(cancellationToken);
        try
        {
            return await act(Book);
        }
        finally
        {
            one.Release();
        }
    }

    /// <summary>
    /// Reads the book from the record, row by row. Without room for it, or without a record, there is none, and <see cref="Trouble"/> says
    /// why.
    /// </summary>
    public void Load()
    {
        try
        {
            if (store.Read(LedgerRows.Count) is var count && count > Room)
            {
                Trouble = Full(count);
                log.LogError("{Problem}", Trouble.Text);
                return;
            }

            CatchUp();
        }
        catch (OutOfMemoryException)
        {
            damaged = [];
            Trouble = Full(store.Read(LedgerRows.Count));
            log.LogError("{Problem}", Trouble.Text);
        }
        catch (Exception e)
        {
            damaged = [];
            Trouble = new BookTrouble(null, $"The ledger cannot be read: {e.Message}");
            log.LogError("{Problem} The book is not shown and nothing can be written into it", Trouble.Text);
        }
    }

    /// <summary>
    /// Reads it once more from its first row: the household's clock is set to another zone, and what was dug on a day happened at another
    /// moment.
    /// </summary>
    public async Task ReadAgainAsync()
    {
        await one.WaitAsync();
        try
        {
            if ((store.StartProblem ?? Trouble?.Text) is not null) return;
            Volatile.Write(ref book, Book.Empty with { Calendar = Calendar });
            (lastRead, damaged) = (0, []);
            CatchUp();
            if (Book.Entries.Count > 0) Tell(Book, Book.Entries.Min(e => BookBuilder.HappenedAt(e, Calendar)) - TimeSpan.FromDays(1));
        }
        finally
        {
            one.Release();
        }
    }

    private BookTrouble Full(long count) =>
        new(count, $"The book has {count} entries, and there is memory for {Room}. Nothing is lost: give the service more memory.");

    /// <summary>Keeps events, or says why not.</summary>
    /// <param name="key">The sender's Idempotency-Key: the same again under it changes nothing.</param>
    /// <param name="by">Who sent it, for those that do not say.</param>
    /// <exception cref="StoreProblemException">The record cannot be written now: nothing was kept.</exception>
    public async Task<LedgerAnswer> TakeAsync(IReadOnlyList<NewEntry> given, string? key, string by)
    {
        // Without the record the service watches on; but what is written into a book must be there tomorrow.
        if ((store.StartProblem ?? Trouble?.Text) is { } problem) throw new StoreProblemException(problem);
        await one.WaitAsync();
        try
        {
            // Asked for while nobody can take a place away.
            var places = KnownPlaces?.Invoke();
            if (key is not null && Before(given, key) is { } answer) return answer;
            return await JudgeAsync(given, key, by, places);
        }
        catch (SqliteException e) when (e.SqliteErrorCode == 19)
        {
            // Another program (an import) has written since: with what it wrote, once more.
            try
            {
                CatchUp();
                if (key is not null && Before(given, key) is { } answer) return answer;
                return await JudgeAsync(given, key, by, KnownPlaces?.Invoke());
            }
            catch (SqliteException again)
            {
                throw Unwritten(again);
            }
        }
        catch (SqliteException e)
        {
            throw Unwritten(e);
        }
        finally
        {
            one.Release();
        }
    }

    public void Dispose() => one.Dispose();

    private static StoreProblemException Unwritten(SqliteException e) => new($"The ledger cannot be read or written now: {e.Message}.", e);

    // The record knows every key there ever was; to hold them all in memory would cost as much as the book.
    private LedgerAnswer? Before(IReadOnlyList<NewEntry> given, string key)
    {
        var rows = store.Read(c => LedgerRows.UnderKey(c, key));
        if (rows.Count == 0) return null;
        // Written by another program: an import.
        if (rows.Exists(r => r.Id > lastRead)) CatchUp();
        var entries = rows.Select(r => Book.Find(r.Id)?.Entry).ToList();
        var same = rows.Select(r => r.Fingerprint).SequenceEqual(given.Select(g => g.Fingerprint), StringComparer.Ordinal)
            && !entries.Contains(null);
        return same
            ? new LedgerAnswer.Repeated([.. entries.OfType<LedgerEntry>()])
            : new LedgerAnswer.KeyTaken(
                $"The Idempotency-Key '{key}' was used for something else (entry {rows[0].Id}{(entries[0] is { } first ? ", " + first.Event : "")}). Nothing was kept; send this under a key of its own.");
    }

    private async Task<LedgerAnswer> JudgeAsync(IReadOnlyList<NewEntry> given, string? key, string by, IReadOnlyCollection<string>? places)
    {
        // Long before memory ends: a book too large for it would end this start and every one after it.
        if (Book.Entries.Count + given.Count > MostEntries)
        {
            log.LogWarning("{Count} entries by {Who} were refused: the book takes {Most}", given.Count, by, MostEntries);
            throw new BookFullException(MostEntries);
        }

        var now = Now;
        var next = lastRead + 1;
        var measuring = new Measuring(Book);
        var candidates = new Recorded[given.Count];
        for (var i = 0; i < given.Count; i++)
        {
            var g = Emptied(given[i], candidates, i);
            if (GivenNames.Refuse(g.Body, (field, name) => HasName(field, name)
                || (field == "place" && places?.Contains(name) == true)) is { } refused)
                return new LedgerAnswer.Wrong(i, refused);
            if (g.Of is { } deep && Depth(deep) > DeepestCorrection)
                return new LedgerAnswer.Wrong(
                    i, Question.Of(QuestionCode.Unreadable,
                        $"of: entry {deep} is a correction of a correction, {DeepestCorrection} deep. Correct the first entry itself.",
                        null));
            if (g.Of is { } of && (Book.Find(of)?.Entry ?? candidates.FirstOrDefault(c => c?.Entry.Id == of)?.Entry) is null)
                return new LedgerAnswer.Wrong(
                    i, Question.Of(QuestionCode.Unreadable, $"of: there is no entry {of}. See them: GET /api/ledger", null));
            var fields = measuring.Fill(g, id => Book.Find(id)?.Entry ?? candidates.FirstOrDefault(c => c?.Entry.Id == id)?.Entry,
                out var unmeasured);
            if (unmeasured is not null) return new LedgerAnswer.Wrong(i, Question.Of(QuestionCode.Unmeasured, unmeasured, null));
            candidates[i] = Recorded.Of(
                new LedgerEntry(next + i, g.Event, LedgerRows.AsKept(g.At ?? now), LedgerRows.AsKept(now).ToUniversalTime(), g.By ?? by,
                    g.Note, fields, null, g.Of));
        }

        var old = Book.Doubts.Select(d => (d.Entry, d.Code)).ToHashSet();
        while (true)
        {
            var made = BookBuilder.With(Book, candidates);
            if (Unreadable(made, old, candidates) is { } wrong) return wrong;
            var questions = Questions(Book, made, old, given, candidates, places);
            if (questions.Count == 0)
            {
                await WriteAsync(given, candidates, key);
                return Keep(made, candidates);
            }

            var insisted = questions.Where(q => given[q.Index].Keep).ToList();
            if (insisted.Count < questions.Count) return new LedgerAnswer.Asked(questions);
            foreach (var (index, question) in insisted)
                candidates[index] = Recorded.Of(candidates[index].Entry with { Question = question });
        }
    }

    // All of it, and nobody weighed it: what the book has after what came before in the same call.
    private NewEntry Emptied(NewEntry given, Recorded[] candidates, int index)
    {
        var body = given.Body;
        if (given.Of is not null || !TakenOut.Kinds.Any(k => k.Name == given.Event) || body.ValueKind != JsonValueKind.Object
            || !body.TryGetProperty("empties", out var empties) || empties.ValueKind != JsonValueKind.True
            || body.TryGetProperty("weightKg", out _) || body.TryGetProperty("measure", out _)
            || !body.TryGetProperty("bin", out var bin) || bin.ValueKind != JsonValueKind.String || bin.GetString() is not { } name
            || !(index == 0 ? Book : BookBuilder.With(Book, candidates[..index])).Bins.TryGetValue(name.Trim(), out var there)
            || there.Grams <= 0)
        {
            return given;
        }

        var filled = JsonObject.Create(body)!;
        filled["weightKg"] = there.BookKg;
        return given with { Body = EventReader.Element(filled) };
    }

    private int Depth(long of)
    {
        var depth = 1;
        for (var entry = Book.Find(of)?.Entry; entry?.Of is { } next; entry = Book.Find(next)?.Entry) depth++;
        return depth;
    }

    private bool HasName(string field, string name) => field switch
    {
        "bin" => Book.Bins.ContainsKey(name),
        "lot" => Book.Lots.ContainsKey(name),
        "row" => Book.Row(name) is not null,
        "order" => Book.Orders.Any(o => o.Order == name),
        "place" => Book.AllBins.Any(b => b.Stays.Any(s => s.Place == name)),
        _ => false,
    };

    private async Task WriteAsync(IReadOnlyList<NewEntry> given, Recorded[] candidates, string? key)
    {
        var rows = candidates.Select((c, i) => new LedgerRow(c.Entry, key, key is null ? null : i, given[i].Fingerprint)).ToList();
        await store.WriteAsync(connection =>
        {
            foreach (var row in rows) LedgerRows.Add(connection, row);
        });
        lastRead = rows[^1].Entry.Id;
    }

    private LedgerAnswer.Kept Keep(Book made, Recorded[] candidates)
    {
        var before = Book;
        Volatile.Write(ref book, made);
        Tell(made, candidates.Min(c => Earliest(c.Entry, before, made)));
        return new LedgerAnswer.Kept([.. candidates.Select(c => c.Entry)]);
    }

    private void Tell(Book made, DateTimeOffset from)
    {
        try
        {
            BookChanged?.Invoke(this, new BookChange(made, from));
        }
        catch (Exception e)
        {
            // What is kept is kept, whatever those who listen make of it.
            log.LogError(e, "The change of the book could not be followed everywhere");
        }
    }

    // A correction changes the truth from where its first entry was, or is now.
    private static DateTimeOffset Earliest(LedgerEntry entry, Book before, Book after)
    {
        var root = entry;
        while (root.Of is { } of) root = after.Find(of)!.Entry;
        var moments = new[] { Happened(before), Happened(after), root.At };
        return moments.OfType<DateTimeOffset>().Min();

        DateTimeOffset? Happened(Book book) => book.Find(root.Id) is { } standing ? BookBuilder.HappenedAt(standing, book.Calendar) : null;
    }

    private static LedgerAnswer.Wrong? Unreadable(Book made, HashSet<(long, string)> old, Recorded[] candidates)
    {
        foreach (var doubt in made.Doubts)
        {
            if (doubt.Code != QuestionCode.Unreadable || old.Contains((doubt.Entry, doubt.Code))) continue;
            var index = Culprit(made, doubt, candidates);
            return new LedgerAnswer.Wrong(index, doubt.Question);
        }

        return null;
    }

    private List<LedgerQuestion> Questions(
        Book before, Book made, HashSet<(long, string)> old, IReadOnlyList<NewEntry> given, Recorded[] candidates,
        IReadOnlyCollection<string>? places)
    {
        var questions = new SortedDictionary<int, Question>();
        foreach (var doubt in made.Doubts)
        {
            if (old.Contains((doubt.Entry, doubt.Code))) continue;
            var index = Culprit(made, doubt, candidates);
            // Asked and answered: what it does to other entries is known. What cannot be counted itself cannot be insisted on.
            var itself = doubt.Entry == Root(made, candidates[index].Entry).Id;
            if (given[index].Checked && !(itself && doubt.Hard)) continue;
            questions.TryAdd(index, itself ? doubt.Question : doubt.Question.About(doubt.Entry));
        }

        for (var i = 0; i < given.Count; i++)
        {
            if (places is null || given[i].Checked || candidates[i].Entry.Question is not null) continue;
            foreach (var place in Places(before, made, candidates[i].Entry).Where(p => !places.Contains(p)))
                questions.TryAdd(i, Question.Of(QuestionCode.UnknownPlace,
                    $"There is no place {place}.{FieldReader.Near(place, places)} Places are set up with POST /api/places. Which is meant?",
                    new { place, near = Nearest.Of(place, places) }));
        }

        for (var i = 0; i < given.Count; i++)
        {
            // Kept without an answer, it is in the book and the estimate goes on asking.
            if (given[i] is not { Checked: false, Keep: false, Of: null } || questions.ContainsKey(i)) continue;
            if (AskBeyond?.Invoke(candidates[i], made) is { } asked) questions.Add(i, asked);
        }

        return [.. questions.Select(q => new LedgerQuestion(q.Key, q.Value))];
    }

    /// <summary>
    /// Which of the new entries a new doubt is to be put to: the one it is about, or else the last that touches the same lot, or, as it
    /// does, none.
    /// </summary>
    private static int Culprit(Book made, Doubt doubt, Recorded[] candidates)
    {
        var exact = Array.FindIndex(candidates, c => c.Entry.Id == doubt.Entry);
        if (exact >= 0) return exact;
        var open = Array.FindLastIndex(candidates, c => c.Entry.Question is null && Root(made, c.Entry).Id == doubt.Entry);
        if (open >= 0) return open;
        var lot = made.Find(doubt.Entry)?.Lot;
        open = Array.FindLastIndex(candidates, c => c.Entry.Question is null && made.Find(Root(made, c.Entry).Id)?.Lot == lot);
        return open >= 0 ? open : Array.FindLastIndex(candidates, c => c.Entry.Question is null);
    }

    private static LedgerEntry Root(Book made, LedgerEntry entry)
    {
        while (entry.Of is { } of) entry = made.Find(of)!.Entry;
        return entry;
    }

    /// <summary>The places an entry names; of a correction those it brings in.</summary>
    private static IEnumerable<string> Places(Book before, Book made, LedgerEntry entry)
    {
        var root = Root(made, entry);
        var places = made.Find(root.Id)?.Event?.Places() ?? [];
        return entry.Of is null ? places : places.Except(before.Find(root.Id)?.Event?.Places() ?? [], StringComparer.Ordinal);
    }

    private void CatchUp()
    {
        var (fresh, bad, last) = (new List<Recorded>(), new List<DamagedRow>(), lastRead);
        store.Read(c =>
        {
            foreach (var (row, unread) in LedgerRows.Read(c, lastRead, id => Book.Find(id) is not null))
            {
                if (row is not null) fresh.Add(Recorded.Of(row.Entry));
                else bad.Add(damaged.Count + bad.Count < MostShown ? unread! : unread! with { Raw = "" });
                last = Math.Max(last, row?.Entry.Id ?? unread!.Taken);
            }

            return 0;
        });
        lastRead = last;
        if (bad.Count > 0)
        {
            damaged = [.. damaged, .. bad];
            log.LogError("{Count} rows of the ledger cannot be read and are set aside; the first: entry {Number}, {Why}", bad.Count,
                bad[0].Number, bad[0].Why);
        }

        if (fresh.Count == 0) return;
        var made = BookBuilder.With(Book, fresh);
        Volatile.Write(ref book, made);
        Tell(made, fresh.Min(r => r.Entry.At));
    }
}
