using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>What a correction made of an entry, by whom and when it was written.</summary>
internal sealed record CorrectionStep(string Text, string? By, DateTimeOffset At, long Number);

/// <summary>An entry of the book as a page lists it.</summary>
/// <param name="Text">As it stands.</param>
/// <param name="Bin">The bin it is about; null where it is about none.</param>
/// <param name="First">What was written first, where corrections changed it.</param>
/// <param name="Steps">What the corrections made of it, the last of them as it stands.</param>
/// <param name="Waits">Why it is to be checked.</param>
internal sealed record EntryLine(
    Standing Standing, string Text, string? Bin, string? First, IReadOnlyList<CorrectionStep> Steps, string? Note, string? Waits,
    bool CanUndo, bool CanCorrect)
{
    public long Id => Standing.Entry.Id;

    /// <summary>The class it is drawn by.</summary>
    public string Look => Standing.Void ? "void" : Standing.Entry.Of is null ? "" : Correction.Name;

    /// <summary>The book has it aside and counts it for nothing.</summary>
    public bool Aside => Waits is not null && !Standing.Counts;
}

/// <summary>Makes the lines of entries for pages.</summary>
internal sealed class EntryLines(EntryWords words, QuestionWords questions, Show show, LotKeeper lots)
{
    public EntryLine Of(Book book, Standing standing, IReadOnlyList<Place> places, bool canUndo)
    {
        var root = LedgerSelection.Root(book, standing);
        var correction = standing.Entry.Of is not null;
        var (first, steps) = correction || standing.Void ? (null, []) : Steps(book, standing, places);
        // What was taken back cannot be put right; first that is undone.
        var can = !standing.Void && !root.Void && (!correction || (standing.Question is not null && !Correction.IsVoid(standing.Fields)))
            && LogKinds.HasForm(root.Entry.Kind);
        return new EntryLine(
            standing, words.Of(book, standing, places), BinOf(root), first, steps,
            correction ? standing.Entry.Note : LedgerSelection.Note(book, standing),
            (standing.Question ?? Doubted(standing)?.Question) is { } why ? questions.Of(why, places) : null, canUndo && !standing.Void, can);
    }

    public static string? BinOf(Standing root) => root.Event?.About().Bin;

    /// <summary>The row it is about; null where it is about none. A digging is about its lot.</summary>
    public static string? RowOf(Standing root) => root.Event is RowPlanted or VinesDead ? root.Event.About().Row : null;

    /// <summary>Entries somebody has to look at, the last written first.</summary>
    public IEnumerable<Standing> ToCheck(Book book) => book.Entries
        .Where(s => (s.Question is not null && !s.Void && !LedgerSelection.Root(book, s).Void) || Doubted(s) is not null).Reverse();

    public bool IsDoubted(Standing standing) => Doubted(standing) is not null;

    /// <summary>A weigh-in that the book counts and the estimate did not expect.</summary>
    private WeighInQuestion? Doubted(Standing standing) =>
        standing is { Void: false, Event: Weighed { Checked: false } } ? lots.Views.Doubted.GetValueOrDefault(standing.Entry.Id) : null;

    private (string? First, List<CorrectionStep> Steps) Steps(Book book, Standing standing, IReadOnlyList<Place> places)
    {
        var moved = standing.At != standing.Entry.At;
        var (fields, at) = (standing.Entry.Body, standing.Entry.At);
        var steps = new List<CorrectionStep>();
        var first = Text();
        foreach (var id in standing.CorrectedBy)
        {
            if (book.Find(id) is not { Counts: true } correction || Correction.IsVoid(correction.Fields)) continue;
            fields = Correction.Merge(fields, correction.Fields);
            if (Correction.RightAt(correction.Fields, out var right)) at = right;
            var text = Text();
            if (text == (steps.Count > 0 ? steps[^1].Text : first)) continue;
            steps.Add(new CorrectionStep(text, correction.Entry.By, correction.Entry.At, id));
        }

        return (steps.Count > 0 ? first : null, steps);

        string Text()
        {
            var said = words.Say(book, standing.Entry.Kind, fields, places);
            return moved ? Strings.AtTime.With(said, show.Time(at)) : said;
        }
    }
}
