using System.Text.Json;
using RootCellar.Ledger;
using RootCellar.Storage;

namespace RootCellar.Pages.Bins;

/// <summary>What became of a form: kept under a number, asked about, or not right.</summary>
internal sealed record Taken(long? Kept, string? Question, string? Problem);

/// <summary>Brings what a form says to the door of the ledger, and its answer back in the words of the pages.</summary>
internal sealed class Taking(LedgerDoor door, EntryWords words)
{
    public async Task<Taken> TakeAsync(NewEntry entry, string? key, string? by)
    {
        try
        {
            return await door.TakeAsync([entry], string.IsNullOrWhiteSpace(key) ? null : key.Trim(), by ?? Strings.TheHousehold) switch
            {
                LedgerAnswer.Kept kept => new Taken(kept.Entries[0].Id, null, null),
                LedgerAnswer.Repeated repeated => new Taken(repeated.Entries[0].Id, null, null),
                LedgerAnswer.Asked asked => new Taken(null, words.Plain(asked.Questions[0].Question), null),
                LedgerAnswer.Wrong wrong => new Taken(null, null, words.Plain(wrong.Detail)),
                LedgerAnswer.KeyTaken => new Taken(null, null, Strings.WrittenAlready),
                var other => throw new InvalidOperationException($"An answer nobody shows: {other}"),
            };
        }
        catch (StoreProblemException e)
        {
            return new Taken(null, null, Strings.NotSaved.With(e.Message));
        }
    }

    /// <summary>Takes an entry back: a correction, the first stays in the book.</summary>
    public async Task<Taken> UndoAsync(long id, LogForm form, string? by)
    {
        var fields = new Dictionary<string, object>(StringComparer.Ordinal) { ["event"] = "correction", ["of"] = id, ["void"] = true };
        if (form.Answer is "checked" or "keep") fields[form.Answer] = true;
        var entry = EventReader.Read(JsonSerializer.SerializeToElement(fields), door.Now, out var wrong);
        return entry is null ? new Taken(null, null, wrong) : await TakeAsync(entry, form.Key, by);
    }
}
