using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Monitoring;

namespace RootCellar.Pages.Bins;

/// <summary>
/// What a bin or a lot calls for: its own line, what is wrong with the air where it stands, and each job it is part of. "Nothing to do"
/// only where there is none of these.
/// </summary>
internal sealed class AdviceHere(ToDo toDo, AdviceWords words, Pipeline pipeline, Show show)
{
    public IReadOnlyList<string> Of(BinEstimate bin) => Of(bin.Advice, [bin]);

    public IReadOnlyList<string> Of(LotEstimate lot, LotViews views) =>
        Of(lot.Advice, [.. lot.Bins.Select(b => views.Bins.GetValueOrDefault(b)).OfType<BinEstimate>()]);

    private List<string> Of(BinAdvice advice, IReadOnlyList<BinEstimate> estimates)
    {
        var (bins, places) = (estimates.Select(b => b.Bin).ToList(), estimates.Select(b => b.Place).ToHashSet(StringComparer.Ordinal));
        var list = toDo.Of(pipeline.Snapshot);
        List<string> says = [];
        if (advice.Says is not AdviceSays.Nothing) says.Add(words.Of(advice));
        says.AddRange(list.Lines
            .Where(l => l.Code != advice.Code
                && (l.Bins.Count > 0 ? l.Bins.Intersect(bins, StringComparer.Ordinal).Any() : l.Place is { } at && places.Contains(at)))
            .Select(l => $"{l.What} {l.Text}".Trim()));
        var first = list.First.Where(f => bins.Contains(f.Bin, StringComparer.Ordinal)).ToList();
        says.AddRange(first.Select(f => Strings.UseFirstNow.With(f.Bin, f.Why)));
        if (first.Count > 0 || estimates.Any(b => b.Advice.Code == "sprouting"))
            says.Add(Cautions.OfUsing(estimates, show));
        return says.Count > 0 ? says : [Strings.AdviceNothing];
    }
}
