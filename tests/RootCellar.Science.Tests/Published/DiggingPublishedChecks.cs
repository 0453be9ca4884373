using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Published;

/// <summary>Days to maturity and the days after dead vines against what others print.</summary>
internal static class DiggingPublishedChecks
{
    private const string Topic = "Digging window";
    private const string Hughes = "Hughes, PlantVillage, Penn State 2014, from several universities' lists";
    private const string Columns = "Mother Earth News, growing potatoes: early, midseason and late varieties";
    private const string Maincrop = "Gardening column on late, mid and early potatoes (globalideas)";

    public static IEnumerable<PublishedCheck> All()
    {
        yield return Days("early, latest", Hughes, 90, OfClass(MaturityClass.Early).High, fitted: true);
        yield return Days("mid-season, latest", Hughes, 110, OfClass(MaturityClass.MidSeason).High, fitted: true);
        yield return Days("late, latest", Hughes, 135, OfClass(MaturityClass.Late).High, fitted: true);
        yield return Days("early, latest, second list", Columns, 90, OfClass(MaturityClass.Early).High, fitted: false);
        yield return Days("mid-season, middle", Columns, 100,
            (OfClass(MaturityClass.MidSeason).Low + OfClass(MaturityClass.MidSeason).High) / 2.0, fitted: false, allowed: 10);
        yield return Days("late, earliest", Columns, 110, OfClass(MaturityClass.Late).Low, fitted: false, allowed: 10);
        yield return Days("early, earliest", Maincrop, 70, OfClass(MaturityClass.Early).Low, fitted: false, allowed: 10);
        yield return Days("mid-season, earliest", Maincrop, 90, OfClass(MaturityClass.MidSeason).Low, fitted: false, allowed: 10);
        yield return Days("late, latest, second list", Maincrop, 135, OfClass(MaturityClass.Late).High, fitted: false);
        yield return Days("russet, latest", "a garden nursery's leaflet, 140 to 150 days", 150, OfClass(MaturityClass.VeryLate).High,
            fitted: true);
        var window = DiggingWindow.Of(potato: true, new DateOnly(2025, 5, 1), null, new DateOnly(2025, 9, 1));
        yield return Days("dead vines until skins are set, earliest",
            "Postharvest biology text, 2 to 3 weeks after vine kill; Browning, Univ. Nebraska, about two weeks", 14,
            After(window.Opens!.Value.From), fitted: true);
        yield return Days("dead vines until skins are set, latest", "Postharvest biology text, 2 to 3 weeks after vine kill", 21,
            After(window.Opens!.Value.To), fitted: true);
        yield return Days("dead vines until blemishes gain", "INRA ephytia, more than 4 weeks", 28, After(window.BlemishFrom!.Value),
            fitted: true, allowed: 1);

        static int After(DateOnly day) => day.DayNumber - new DateOnly(2025, 9, 1).DayNumber;
    }

    private static DaysToMaturity OfClass(MaturityClass ripe) => DaysToMaturity.OfPotato(ripe);

    private static PublishedCheck Days(string what, string source, double published, double ours, bool fitted, double allowed = 0) =>
        new(Topic, what, source, "days", published, ours, allowed, Fitted: fitted);
}
