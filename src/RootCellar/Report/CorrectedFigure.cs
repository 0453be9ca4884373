using RootCellar.Household;
using RootCellar.Ledger;

namespace RootCellar.Report;

/// <summary>A figure that the report of a week said otherwise when it went out.</summary>
/// <param name="About">Which lot or place; empty for the house.</param>
/// <param name="Off">What an estimate may be off, kg.</param>
/// <param name="On">When the last entry that put it right was written; null where none did, as when readings came late.</param>
internal sealed record CorrectedFigure(WeekFigure Figure, string About, double Said, double Now, double Off, DateTimeOffset? On)
{
    /// <summary>Those that people see a difference in.</summary>
    /// <param name="sent">What was said, and up to when it told the week.</param>
    /// <param name="now">The week up to that same moment, by all that is known now.</param>
    /// <param name="written">The book with all that was ever written.</param>
    /// <param name="words">How the figures are shown.</param>
    public static IReadOnlyList<CorrectedFigure> Of(AsSent sent, WeekFigures now, Book written, ReportWords words)
    {
        var said = sent.Figures.ToDictionary(f => (f.Figure, f.About));
        var known = SaidFigure.Of(now).ToDictionary(f => (f.Figure, f.About));
        return
        [
            .. said.Keys.Union(known.Keys)
                .Select(key => (Key: key, Said: said.GetValueOrDefault(key), Now: known.GetValueOrDefault(key)))
                .Select(f => new CorrectedFigure(f.Key.Figure, f.Key.About, f.Said?.Value ?? 0, f.Now?.Value ?? 0, f.Said?.Off
                    ?? f.Now!.Off, null))
                .Where(f => words.Said(f.Figure, f.Said, f.Off) != words.Said(f.Figure, f.Now, f.Off))
                .OrderBy(f => SaidFigure.IsOfPlace(f.Figure)).ThenBy(f => f.About, StringComparer.Ordinal).ThenBy(f => f.Figure)
                .Select(f => f with { On = WrittenOn(written, f, sent) }),
        ];
    }

    private static DateTimeOffset? WrittenOn(Book written, CorrectedFigure figure, AsSent sent)
    {
        if (SaidFigure.IsOfPlace(figure.Figure) || figure.About.Length == 0) return null;
        return written.Entries.LastOrDefault(s => s.Entry.RecordedAt > sent.At && IsOfWeek(s))?.Entry.RecordedAt;

        // An entry that turned out to be of another week was of this one before.
        bool IsOfWeek(Standing standing)
        {
            var root = standing;
            while (root.Entry.Of is { } of && written.Find(of) is { } target) root = target;
            return root.Lot == figure.About && (root.Entry.At < sent.UpTo || BookBuilder.HappenedAt(root, written.Calendar) < sent.UpTo);
        }
    }
}
