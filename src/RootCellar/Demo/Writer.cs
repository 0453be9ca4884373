using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Ledger;

namespace RootCellar.Demo;

/// <summary>The people of the homestead, writing into the book when the hour comes, through the same door as the pages and the API.</summary>
internal sealed class Writer(LedgerDoor door)
{
    private readonly TrueBins bins = new(HomesteadBook.Deeds[0].At);
    private readonly Dictionary<string, long> named = new(StringComparer.Ordinal);
    private int written;

    /// <summary>When there is something to write next; null when the story of the bins is over.</summary>
    public DateTimeOffset? Next => written < HomesteadBook.Deeds.Count ? HomesteadBook.Deeds[written].At : null;

    /// <summary>Writes down everything up to an instant.</summary>
    /// <exception cref="InvalidOperationException">The book does not take it: the story is wrong.</exception>
    public async Task UpToAsync(DateTimeOffset now)
    {
        while (Next <= now) await WriteAsync(HomesteadBook.Deeds[written++]);
    }

    /// <summary>Writes on as time runs, until it is cancelled or all is told.</summary>
    public async Task RunAsync(TimeProvider clock, CancellationToken cancellationToken)
    {
        while (Next is { } next)
        {
            var wait = next - clock.GetUtcNow();
            if (wait > TimeSpan.Zero) await Task.Delay(wait, clock, cancellationToken);
            await UpToAsync(clock.GetUtcNow());
        }
    }

    private async Task WriteAsync(Deed deed)
    {
        var what = JsonNode.Parse(deed.Event)!.AsObject();
        what["at"] = deed.At.ToOffset(Story.LocalOffset).ToString("yyyy-MM-ddTHH:mm:sszzz", System.Globalization.CultureInfo.InvariantCulture);
        what["by"] = deed.By;
        if (what["of"] is { } of) what["of"] = named[(string)of!];
        bins.Take(what, deed.At);
        using var given = JsonDocument.Parse(what.ToJsonString());
        var entry = EventReader.Read(given.RootElement.Clone(), door.Now, out var wrong) ?? throw new InvalidOperationException($"{deed.Event}: {wrong}");
        var answer = await door.TakeAsync([entry], null, deed.By);
        if (answer is not LedgerAnswer.Kept { Entries: [var kept] })
            throw new InvalidOperationException($"{deed.Event}: {(answer is LedgerAnswer.Asked asked ? asked.Questions[0].Question : answer)}");
        if (deed.Name is not null) named[deed.Name] = kept.Id;
    }
}
