using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;

namespace RootCellar.Pages.Stock;

/// <summary>A bin a promise would come from.</summary>
internal sealed record PickLine(string Bin, string Place, string HowMuch);

/// <summary>An open promise. <see cref="Level"/> and <see cref="Mark"/> only repeat what <see cref="Verdict"/> says.</summary>
/// <param name="What">How much of what is still to go out.</param>
/// <param name="Gone">What has gone out of it, where something has.</param>
internal sealed record PromiseCard(Promise Promise, string What, string? Gone, string Due, bool Late, string Level, string Mark,
    string Verdict, IReadOnlyList<PickLine> Picks, PromisePlan Plan)
{
    public static PromiseCard Of(PromisePlan plan, Book book, IReadOnlyList<Place> places, Show show)
    {
        var promise = plan.Promise;
        var late = promise.Due < show.Today;
        var (level, mark) = Answer(plan);
        return new PromiseCard(
            promise,
            Strings.PromisedWhat.With(show.Exact(plan.OpenKg), PromiseWords.Kind(promise)),
            promise.GoneGrams > 0 ? Strings.PromisedGone.With(show.Exact(promise.GoneGrams / 1000.0), show.Exact(promise.Grams / 1000.0))
                : null,
            PromiseWords.Due(promise.Due, show),
            late,
            level,
            mark,
            PromiseWords.Verdict(plan, show),
            [.. plan.Picks.Select(
                p => new PickLine(p.Bin, EntryWords.PlaceName(book.Bins.GetValueOrDefault(p.Bin)?.Place, places),
                    (p.All ? Strings.AllAbout : Strings.AboutWeight).With(show.Rough(p.Kg))))],
            plan);
    }

    private static (string Level, string Mark) Answer(PromisePlan plan) => plan.Answer switch
    {
        CanMeet.Yes => ("well", "✓"),
        CanMeet.Likely => ("known", "~"),
        _ => ("raised", "✗"),
    };
}
