using RootCellar.Household;

namespace RootCellar.Pages.Bins;

/// <summary>What an estimate of weight was learned from.</summary>
internal static class LearnedWords
{
    public static string Of((int Own, int Others) weighIns) => weighIns switch
    {
        (1, 0) => Strings.LearnedOwnOne,
        (var own, 0) => Strings.LearnedOwn.With(own),
        (0, 1) => Strings.LearnedOthersOne,
        (0, var others) => Strings.LearnedOthers.With(others),
        var (own, others) => Strings.LearnedBoth.With(own, others),
    };
}
