using System.Text.Json;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>An entry with what was read out of it by itself, so that a book can be made again without reading it again.</summary>
/// <param name="Event">Null for a correction, and where the fields make no sense.</param>
/// <param name="Unreadable">Why they make none.</param>
internal sealed record Recorded(LedgerEntry Entry, LedgerEvent? Event, Question? Unreadable)
{
    public static Recorded Of(LedgerEntry entry)
    {
        Question? wrong = null;
        var told = entry.Kind == Correction.Event ? null : entry.Kind.Read(entry.Body, out wrong);
        return new Recorded(entry, told, wrong);
    }
}

/// <summary>What became of an entry through the corrections of it, and the corrections of those.</summary>
/// <param name="Aside">Waiting to be checked.</param>
/// <param name="LatestRecorded">When the last word on it was written.</param>
internal readonly record struct Resolved(DateTimeOffset At, JsonElement Fields, bool Changed, bool Void, bool Aside,
    DateTimeOffset LatestRecorded, IReadOnlyList<long> CorrectedBy);

/// <summary>Lays corrections over what they correct, in the order they were written.</summary>
internal sealed class Corrections
{
    private static readonly IReadOnlyList<long> None = [];

    private readonly Dictionary<long, List<LedgerEntry>> byTarget = [];

    public Corrections(IReadOnlyList<Recorded> entries)
    {
        foreach (var entry in entries.Select(r => r.Entry).Where(e => e.Of is not null).OrderBy(e => e.Id))
        {
            if (!byTarget.TryGetValue(entry.Of!.Value, out var list)) byTarget.Add(entry.Of.Value, list = []);
            list.Add(entry);
        }
    }

    public Resolved Resolve(LedgerEntry entry)
    {
        if (!byTarget.TryGetValue(entry.Id, out var corrections))
            return new Resolved(entry.At, entry.Body, false, false, entry.Question is not null, entry.RecordedAt, None);
        var (at, fields, gone, cleared, changed, latest) = (entry.At, entry.Body, false, false, false, entry.RecordedAt);
        foreach (var correction in corrections)
        {
            var how = Resolve(correction);
            if (how.Void || how.Aside) continue;
            latest = how.LatestRecorded > latest ? how.LatestRecorded : latest;
            if (Correction.IsVoid(how.Fields))
            {
                gone = true;
                continue;
            }

            cleared = true;
            if (Correction.RightAt(how.Fields, out var right)) at = right;
            fields = Correction.Merge(fields, how.Fields);
            changed = true;
        }

        if (entry.Of is null) fields = Correction.OfItself(fields);
        return new Resolved(at, fields, changed, gone, entry.Question is not null && !cleared, latest, [.. corrections.Select(c => c.Id)]);
    }
}
