using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Ledger;
using RootCellar.Storage;

namespace RootCellar.Demo;

/// <summary>The people of the homestead, writing into the book when the hour comes, through the same door as the pages and the API.</summary>
internal sealed class Writer(LedgerDoor door)
{
    private static readonly string[] Worded = ["event", "lot", "bin", "place", "order"];

    private readonly TrueBins bins = new(HomesteadBook.Deeds[0].At);
    private readonly Dictionary<string, long> named = new(StringComparer.Ordinal);
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
            if (await WriteAsync(deed) is { } refused) throw new InvalidOperationException($"{deed.Event}: {refused}");
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
        var what = JsonNode.Parse(deed.Event)!.AsObject();
        what["at"] = deed.At.ToOffset(Story.LocalOffset).ToString("yyyy-MM-dd'T'HH:mm:sszzz", CultureInfo.InvariantCulture);
        what["by"] = deed.By;
        if (what["of"] is { } of) what["of"] = named[(string)of!];
        bins.Take(what, deed.At);
        using var given = JsonDocument.Parse(what.ToJsonString());
        if (EventReader.Read(given.RootElement.Clone(), door.Now, out var wrong) is not { } entry) return wrong;
        try
        {
            switch (await door.TakeAsync([entry], null, deed.By))
            {
                case LedgerAnswer.Kept { Entries: [var kept] }:
                    if (deed.Name is not null) named[deed.Name] = kept.Id;
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

    private static string Words(Deed deed)
    {
        var what = JsonNode.Parse(deed.Event)!.AsObject();
        var parts = Worded.Select(name => (string?)what[name]).OfType<string>();
        return $"{deed.By}: {string.Join(' ', parts)}";
    }
}
