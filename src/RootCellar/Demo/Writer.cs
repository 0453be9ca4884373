using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Storage;

namespace RootCellar.Demo;

/// <summary>
/// The people of the homestead, writing into the book when the hour comes, through the same door as the pages and the API.
/// </summary>
internal sealed class Writer(LedgerDoor door)
{
    private static readonly string[] Worded = ["event", "lot", "bin", "place", "order"];

    private readonly TrueBins bins = new(HomesteadBook.Deeds[0].At);
    private readonly Dictionary<string, (long Id, LedgerEvent What)> named = new(StringComparer.Ordinal);
    private int written;

    /// <summary>When there is something to write next; null when the story of the bins is over.</summary>
    public DateTimeOffset? Next => written < HomesteadBook.Deeds.Count ? HomesteadBook.Deeds[written].At : null;

    /// <summary>Writes down everything up to an instant.</summary>
    /// <exception cref="InvalidOperationException">The book does not take it: the story is wrong.</exception>
    public async Task UpToAsync(DateTimeOffset now)
    {
        while (Next <= now)
        {
            var deed = HomesteadBook.Deeds[written++];
            if (await WriteAsync(deed) is { } refused) throw new InvalidOperationException($"{deed.What}: {refused}");
        }
    }

    /// <summary>
    /// Writes on as time runs, until it is cancelled or all is told. Who watches may write too, and be there first: what then makes no
    /// sense to the book is left out.
    /// </summary>
    /// <param name="say">Takes a line for each deed.</param>
    public async Task RunAsync(TimeProvider clock, Action<string> say, CancellationToken cancellationToken)
    {
        while (Next is { } next)
        {
            var wait = next - clock.GetUtcNow();
            if (wait > TimeSpan.Zero) await Task.Delay(wait, clock, cancellationToken);
            var deed = HomesteadBook.Deeds[written++];
            var refused = await WriteAsync(deed);
            say($"{deed.At.ToOffset(Story.LocalOffset).ToString("ddd d MMM HH:mm", CultureInfo.InvariantCulture)}  BOOK  {Words(deed)}{(refused is null ? "" : $" (left out: {refused})")}");
        }
    }

    /// <summary>Null, or why the book does not take it.</summary>
    private async Task<string?> WriteAsync(Deed deed)
    {
        var told = deed.Of is null ? bins.Take(deed.What, deed.At) : deed.What;
        var what = deed.Of is null ? EventKind.Write(told) : PutRight(named[deed.Of], told);
        what["at"] = deed.At.ToOffset(Story.LocalOffset).ToString("yyyy-MM-dd'T'HH:mm:sszzz", CultureInfo.InvariantCulture);
        what["by"] = deed.By;
        what["note"] = deed.Note;
        if (deed.Keep) what["keep"] = true;
        using var given = JsonDocument.Parse(what.ToJsonString());
        if (EventReader.Read(given.RootElement.Clone(), door.Now, out var wrong) is not { } entry) return wrong;
        try
        {
            switch (await door.TakeAsync([entry], null, deed.By))
            {
                case LedgerAnswer.Kept { Entries: [var kept] }:
                    if (deed.Name is not null) named[deed.Name] = (kept.Id, told);
                    return null;
                case LedgerAnswer.Asked asked:
                    return asked.Questions[0].Question;
                case var other:
                    return other.ToString();
            }
        }
        catch (StoreProblemException e)
        {
            return e.Message;
        }
    }

    /// <summary>A correction: the fields that were wrong, as they should have been.</summary>
    private static JsonObject PutRight((long Id, LedgerEvent What) wrong, LedgerEvent right)
    {
        var was = EventKind.Write(wrong.What);
        var fields = new JsonObject { ["event"] = Correction.Name, ["of"] = wrong.Id };
        foreach (var (field, value) in EventKind.Write(right))
        {
            if (!JsonNode.DeepEquals(value, was[field])) fields[field] = value?.DeepClone();
        }

        return fields;
    }

    private static string Words(Deed deed)
    {
        if (deed.Of is not null) return $"{deed.By}: {Correction.Name}";
        var what = EventKind.Write(deed.What);
        return $"{deed.By}: {string.Join(' ', Worded.Select(name => (string?)what[name]).OfType<string>())}";
    }
}
