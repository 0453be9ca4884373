using System.Text.Json;
using RootCellar.Ledger;
using RootCellar.Storage;

namespace RootCellar.Pages.Bins;

/// <summary>What became of a form: kept under a number, asked about, or not right.</summary>
/// <param name="Later">Nothing is wrong with it: the record could not be written, and it may be sent again.</param>
internal sealed record Taken(long? Kept, string? Question, string? Problem, bool Later = false);

/// <summary>Brings what a form says to the door of the ledger, and its answer back in the words of the pages.</summary>
internal sealed class Taking(LedgerDoor door, QuestionWords words, Pipeline pipeline, Show show)
{
    public async Task<Taken> TakeAsync(NewEntry entry, string? key, string? by)
    {
        try
        {
            return await door.TakeAsync([entry], string.IsNullOrWhiteSpace(key) ? null : key.Trim(), by ?? Strings.TheHousehold) switch
            {
                LedgerAnswer.Kept kept => new Taken(kept.Entries[0].Id, null, null),
                LedgerAnswer.Repeated repeated => new Taken(repeated.Entries[0].Id, null, null),
                LedgerAnswer.Asked asked => new Taken(null, words.Of(asked.Questions[0].Asked, [.. await pipeline.AskAsync((h, _, _) => h.AllPlaces)]), null),
                LedgerAnswer.Wrong { Code: QuestionCode.Unmeasured } => new Taken(null, null, Strings.NoSuchMeasure),
                LedgerAnswer.Wrong wrong => new Taken(null, null, Strings.NotUnderstood.With(wrong.Detail)),
                LedgerAnswer.KeyTaken => new Taken(null, null, Strings.WrittenAlready),
                var other => throw new InvalidOperationException($"An answer nobody shows: {other}"),
            };
        }
        catch (StoreProblemException e)
        {
            return new Taken(null, null, Strings.NotSaved.With(e.Message), Later: true);
        }
    }

    /// <summary>Takes an entry back: a correction, the first stays in the book.</summary>
    public Task<Taken> UndoAsync(long id, LogForm form, string? by) => CorrectAsync(id, "void", form, by);

    /// <summary>An entry that was to be checked is right as it is.</summary>
    public Task<Taken> CheckedAsync(long id, LogForm form, string? by) => CorrectAsync(id, "checked", form, by);

    private async Task<Taken> CorrectAsync(long id, string what, LogForm form, string? by)
    {
        var fields = new Dictionary<string, object>(StringComparer.Ordinal) { ["event"] = FactReader.Correction, ["of"] = id, [what] = true };
        if (form.Answer is "checked" or "keep") fields[form.Answer] = true;
        var reader = new FormReader(form, show);
        var entry = EventReader.Read(JsonSerializer.SerializeToElement(fields), door.Now, out var wrong);
        return entry is null ? new Taken(null, null, wrong) : await TakeAsync(reader.WhenTyped(entry, door.Now), form.Key, by);
    }
}
