using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Monitoring;
using RootCellar.Storage;

namespace RootCellar.Pages.Bins;

/// <summary>What became of a form: kept under a number (the first, where it was several entries), asked about, or not right.</summary>
/// <param name="Later">Nothing is wrong with it: the record could not be written, and it may be sent again.</param>
internal sealed record EntryResult(long? Kept, string? Question, string? Problem, bool Later = false);

/// <summary>Brings what a form says to the door of the ledger, and its answer back in the words of the pages.</summary>
internal sealed class EntryDesk(LedgerDoor door, QuestionWords words, Pipeline pipeline, Show show)
{
    public Task<EntryResult> TakeAsync(NewEntry entry, string? key, string? by, CancellationToken cancellationToken) =>
        TakeAllAsync([entry], key, by, cancellationToken);

    /// <summary>Several entries under one key: all of them or none.</summary>
    /// <param name="cancellationToken">Ends the waiting alone: what was sent is written, or not, as it would have been.</param>
    public async Task<EntryResult> TakeAllAsync(IReadOnlyList<NewEntry> entries, string? key, string? by,
        CancellationToken cancellationToken)
    {
        try
        {
            var answer = door.TakeAsync(entries, string.IsNullOrWhiteSpace(key) ? null : key.Trim(), by ?? Strings.TheHousehold);
            return await answer.WaitAsync(cancellationToken) switch
            {
                LedgerAnswer.Kept kept => new EntryResult(kept.Entries[0].Id, null, null),
                LedgerAnswer.Repeated repeated => new EntryResult(repeated.Entries[0].Id, null, null),
                LedgerAnswer.Asked asked => new EntryResult(null, words.Of(asked.Questions[0].Asked, pipeline.Snapshot.AllPlaces), null),
                LedgerAnswer.Wrong wrong => new EntryResult(null, null, words.Of(wrong.Refused, [])),
                LedgerAnswer.KeyTaken => new EntryResult(null, null, Strings.WrittenAlready),
                var other => throw new InvalidOperationException($"An answer nobody shows: {other}"),
            };
        }
        catch (StoreProblemException e)
        {
            return new EntryResult(null, null, Strings.NotSaved.With(e.Message), Later: true);
        }
    }

    /// <summary>Takes an entry back: a correction, the first stays in the book.</summary>
    public Task<EntryResult> UndoAsync(long id, LogForm form, string? by, CancellationToken cancellationToken) =>
        CorrectAsync([id], new JsonObject { ["void"] = true }, form, by, cancellationToken);

    /// <summary>An entry that was to be checked is right as it is.</summary>
    public Task<EntryResult> CheckedAsync(long id, LogForm form, string? by, CancellationToken cancellationToken) =>
        CorrectAsync([id], new JsonObject { ["checked"] = true }, form, by, cancellationToken);

    /// <summary>Corrects entries, all in the same way and in one go.</summary>
    public async Task<EntryResult> CorrectAsync(IReadOnlyList<long> ids, JsonObject fields, LogForm form, string? by,
        CancellationToken cancellationToken)
    {
        var reader = new FormReader(form, show);
        var entries = new List<NewEntry>();
        foreach (var id in ids)
        {
            var body = fields.DeepClone().AsObject();
            (body["event"], body["of"]) = (Correction.Name, id);
            if (form.Answer is "checked" or "keep") body[form.Answer] = true;
            if (reader.Read(body, door.Now) is not { } entry) return new EntryResult(null, null, reader.Problem);
            entries.Add(entry);
        }

        return await TakeAllAsync(entries, form.Key, by, cancellationToken);
    }
}
