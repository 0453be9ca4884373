using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
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
internal sealed class LedgerDoor(Store store, TimeProvider time, Settings settings, ILogger<LedgerDoor> log) : IDisposable
{
    private readonly SemaphoreSlim one = new(1, 1);
    private readonly Dictionary<string, List<LedgerRow>> byKey = new(StringComparer.Ordinal);
    private readonly BookBuilder builder = new(settings.Household.Calendar());
    private Book book = Book.Empty with { Calendar = settings.Household.Calendar() };

    /// <summary>Raised after each change, one at a time, before the answer is given.</summary>
    public event EventHandler<BookChange>? BookChanged;

    public Book Book => Volatile.Read(ref book);

    /// <summary>The places there are; an event that names another is asked about. Null: any place will do.</summary>
    public Func<Task<IReadOnlyCollection<string>>>? KnownPlaces { get; set; }

    /// <summary>Now, on the household's clock: what hangs on the day is its day.</summary>
    public DateTimeOffset Now => LedgerRows.AsKept(Calendar.Local(time.GetUtcNow()));

    /// <summary>The household's day.</summary>
    public DateOnly Today => Calendar.DayOf(time.GetUtcNow());

    public HouseholdCalendar Calendar { get; } = settings.Household.Calendar();

    /// <summary>How many entries the book takes.</summary>
    public int MostEntries { get; } = settings.Limits.MostBookEntries;

    private long LastId => Book.Entries is [.., var last] ? last.Entry.Id : 0;

    /// <summary>The book as it was at a moment gone by: what had happened by then, in the light of all corrections made since.</summary>
    public async Task<Book> ThenAsync(DateTimeOffset end, CancellationToken cancellationToken = default)
    {
        await one.WaitAsync(cancellationToken);
        try
        {
            return builder.Then(end);
        }
        finally
        {
            one.Release();
        }
    }

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

    /// <summary>Reads the book from the record; without a readable one it begins empty.</summary>
    public void Load()
    {
        try
        {
            CatchUp();
        }
        catch (Exception e) when (e is SqliteException or JsonException or ArgumentException)
        {
            log.LogError("The ledger cannot be read ({Problem}); the book begins empty and nothing can be written into it", e.Message);
        }
    }

    /// <summary>Keeps events, or says why not.</summary>
    /// <param name="key">The sender's Idempotency-Key: the same again under it changes nothing.</param>
    /// <param name="by">Who sent it, for those that do not say.</param>
    /// <exception cref="StoreProblemException">The record cannot be written now: nothing was kept.</exception>
    public async Task<LedgerAnswer> TakeAsync(IReadOnlyList<NewEntry> given, string? key, string by)
    {
        // Without the record the service watches on; but what is written into a book must be there tomorrow.
        if (store.StartProblem is { } problem) throw new StoreProblemException(problem);
        await one.WaitAsync();
        try
        {
            // Asked for while nobody can take a place away.
            var places = KnownPlaces is null ? null : await KnownPlaces();
            if (key is not null && Before(given, key) is { } answer) return answer;
            return await JudgeAsync(given, key, by, places);
        }
        catch (SqliteException e) when (e.SqliteErrorCode == 19)
        {
            // Another program (an import) has written since: with what it wrote, once more.
            CatchUp();
            if (key is not null && Before(given, key) is { } answer) return answer;
            return await JudgeAsync(given, key, by, KnownPlaces is null ? null : await KnownPlaces());
        }
        finally
        {
            one.Release();
        }
    }

    public void Dispose() => one.Dispose();

    private LedgerAnswer? Before(IReadOnlyList<NewEntry> given, string key)
    {
        if (!byKey.TryGetValue(key, out var rows)) return null;
        var same = rows.Count == given.Count && rows.Select(r => r.Print).SequenceEqual(given.Select(g => g.Print), StringComparer.Ordinal);
        return same
            ? new LedgerAnswer.Repeated([.. rows.Select(r => r.Entry)])
            : new LedgerAnswer.KeyTaken($"The Idempotency-Key '{key}' was used for something else (entry {rows[0].Entry.Id}, {rows[0].Entry.Event}). Nothing was kept; send this under a key of its own.");
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
        var next = LastId + 1;
        var measuring = new Measuring(Book);
        var candidates = new Recorded[given.Count];
        for (var i = 0; i < given.Count; i++)
        {
            var g = given[i];
            if (g.Of is { } of && (Book.Find(of)?.Entry ?? candidates.FirstOrDefault(c => c?.Entry.Id == of)?.Entry) is null) return new LedgerAnswer.Wrong(i, Question.Of(QuestionCode.Unreadable, $"of: there is no entry {of}. See them: GET /api/ledger", null));
            var fields = measuring.Fill(g, id => Book.Find(id)?.Entry ?? candidates.FirstOrDefault(c => c?.Entry.Id == id)?.Entry, out var unmeasured);
            if (unmeasured is not null) return new LedgerAnswer.Wrong(i, Question.Of(QuestionCode.Unmeasured, unmeasured, null));
            candidates[i] = Recorded.Of(new LedgerEntry(next + i, g.Event, LedgerRows.AsKept(g.At ?? now), LedgerRows.AsKept(now).ToUniversalTime(), g.By ?? by, g.Note, fields, null, g.Of), Calendar);
        }

        var old = Book.Doubts.Select(d => (d.Entry, d.Code)).ToHashSet();
        while (true)
        {
            var made = builder.Add(candidates);
            var kept = false;
            try
            {
                if (Unreadable(made, old, candidates) is { } wrong) return wrong;
                var questions = Questions(made, old, given, candidates, places);
                if (questions.Count == 0)
                {
                    await WriteAsync(given, candidates, key);
                    kept = true;
                    return Keep(made, candidates);
                }

                var insisted = questions.Where(q => given[q.Index].Keep).ToList();
                if (insisted.Count < questions.Count) return new LedgerAnswer.Asked(questions);
                foreach (var (index, question) in insisted) candidates[index] = Recorded.Of(candidates[index].Entry with { Question = question }, Calendar);
            }
            finally
            {
                if (!kept) builder.TakeBack(candidates.Length);
            }
        }
    }

    private async Task WriteAsync(IReadOnlyList<NewEntry> given, Recorded[] candidates, string? key)
    {
        var rows = candidates.Select((c, i) => new LedgerRow(c.Entry, key, key is null ? null : i, given[i].Print)).ToList();
        await store.WriteAsync(connection =>
        {
            foreach (var row in rows) LedgerRows.Add(connection, row);
        });
        if (key is not null) byKey[key] = rows;
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

    private static List<LedgerQuestion> Questions(Book made, HashSet<(long, string)> old, IReadOnlyList<NewEntry> given, Recorded[] candidates, IReadOnlyCollection<string>? places)
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
            foreach (var place in Places(candidates[i].Entry.Body).Where(p => !places.Contains(p)))
                questions.TryAdd(i, Question.Of(QuestionCode.UnknownPlace, $"There is no place {place}.{FieldReader.Near(place, places)} Places are set up with POST /api/places. Which is meant?", new { place, near = SettingsFile.Nearest(place, places) }));
        }

        return [.. questions.Select(q => new LedgerQuestion(q.Key, q.Value))];
    }

    /// <summary>Which of the new entries a new doubt is to be put to: the one it is about, or else the last that touches the same lot.</summary>
    private static int Culprit(Book made, Doubt doubt, Recorded[] candidates)
    {
        var exact = Array.FindIndex(candidates, c => c.Entry.Id == doubt.Entry);
        if (exact >= 0) return exact;
        var open = Array.FindLastIndex(candidates, c => c.Entry.Question is null && Root(made, c.Entry).Id == doubt.Entry);
        if (open >= 0) return open;
        var lot = made.Find(doubt.Entry)?.Lot;
        open = Array.FindLastIndex(candidates, c => c.Entry.Question is null && lot is not null && made.Find(Root(made, c.Entry).Id)?.Lot == lot);
        if (open >= 0) return open;
        open = Array.FindLastIndex(candidates, c => c.Entry.Question is null);
        return Math.Max(0, open);
    }

    private static LedgerEntry Root(Book made, LedgerEntry entry)
    {
        while (entry.Of is { } of) entry = made.Find(of)!.Entry;
        return entry;
    }

    private static IEnumerable<string> Places(JsonElement body)
    {
        if (body.TryGetProperty("place", out var place) && place.ValueKind == JsonValueKind.String) yield return place.GetString()!.Trim();
        if (!body.TryGetProperty("into", out var into) || into.ValueKind != JsonValueKind.Array) yield break;
        foreach (var item in into.EnumerateArray())
        {
            if (item.ValueKind == JsonValueKind.Object && item.TryGetProperty("place", out var its) && its.ValueKind == JsonValueKind.String) yield return its.GetString()!.Trim();
        }
    }

    private void CatchUp()
    {
        var rows = store.Read(c => LedgerRows.After(c, LastId));
        if (rows.Count == 0) return;
        foreach (var row in rows.Where(r => r.Key is not null))
        {
            if (!byKey.TryGetValue(row.Key!, out var list)) byKey.Add(row.Key!, list = []);
            list.Add(row);
        }

        var fresh = rows.ConvertAll(r => Recorded.Of(r.Entry, Calendar));
        var made = builder.Add(fresh);
        Volatile.Write(ref book, made);
        Tell(made, fresh.Min(r => r.Entry.At));
    }
}
