using System.Globalization;
using RootCellar.Science.Keeping;
using RootCellar.Science.Tests.Keeping;

namespace RootCellar.Science.Tests.Published;

/// <summary>Every figure of ours that somebody else has published, and the page that lists them.</summary>
public sealed class ValidationTests
{
    /// <summary>All that is held against the world, one line for each: add yours here.</summary>
    private static readonly Func<IEnumerable<PublishedCheck>>[] Providers =
    [
        SaturationPublishedChecks.All,
        MoistAirPublishedChecks.All,
        SaltPublishedChecks.All,
        CorrectionPublishedChecks.All,
        CropPublishedChecks.All,
        CellarPublishedChecks.All,
        HealingPublishedChecks.All,
        DormancyPublishedChecks.All,
        WaterLossPublishedChecks.All,
        RespirationPublishedChecks.All,
        DiggingPublishedChecks.All,
    ];

    // Some checks run whole trials: once for all the rows.
    private static readonly Lazy<IReadOnlyList<PublishedCheck>> Checks = new(() => [.. Providers.SelectMany(provider => provider())]);

    public static TheoryData<string, string> Rows
    {
        get
        {
            var rows = new TheoryData<string, string>();
            foreach (var check in Checks.Value)
                rows.Add(check.Topic, check.What);
            return rows;
        }
    }

    [Theory]
    [MemberData(nameof(Rows))]
    public void Ours_is_as_near_the_published_figure_as_it_must_be(string topic, string what)
    {
        var check = Checks.Value.Single(row => row.Topic == topic && row.What == what);
        double distance = Math.Abs(check.Distance);
        double most = check.KnownShort ?? check.Allowed;
        // Not "greater than": a figure that is no number must fail.
        if (!(distance <= most))
        {
            Assert.Fail(string.Create(CultureInfo.InvariantCulture,
                $"{topic}: {what}: {check.Source} says {check.Published} {check.Unit}, ours is {check.Ours}: {distance:G3} away, {most:G3} at most."));
        }
    }

    [Fact]
    public void Every_row_says_what_and_whence_and_stands_once()
    {
        Checks.Value.Should().AllSatisfy(row =>
        {
            row.Topic.Should().NotBeNullOrWhiteSpace();
            row.What.Should().NotBeNullOrWhiteSpace();
            row.Source.Should().NotBeNullOrWhiteSpace(row.What);
            row.Allowed.Should().BeGreaterThanOrEqualTo(0, row.What);
        });
        Checks.Value.GroupBy(row => (row.Topic, row.What)).Where(group => group.Skip(1).Any()).Select(group => group.Key).Should()
            .BeEmpty();
    }

    [Fact]
    public void Lots_of_other_crops_that_somebody_weighed_lie_about_the_middle_and_nine_times_in_ten_inside()
    {
        var scores = CropLossScores.All().ToDictionary(row => row.What, row => row.Score);
        var trials = scores["lots of trials"];
        trials.MedianRatio.Should().BeInRange(0.85, 1.2);
        // Falls short of 0.85: six kept aside lie 3 to 5 times off. It must not get worse.
        trials.ShareInside.Should().BeInRange(0.82, 0.97);
        trials.Pinball.Should().BeLessThan(1.2 * ForetoldScore.PinballOfWidth(WaterLoss.OtherCropFactor));
        scores["lots of trials, fitted"].MedianRatio.Should().BeInRange(0.85, 1.2);
        // A hair short of 0.85.
        var onions = scores["onions, each source foretold without itself"];
        onions.MedianRatio.Should().BeInRange(0.82, 1.2);
        onions.ShareInside.Should().BeGreaterThanOrEqualTo(0.85);
        scores["all"].MedianRatio.Should().BeInRange(0.85, 1.2);
        scores["all"].ShareInside.Should().BeInRange(0.85, 0.97);
        WaterLoss.OtherCropFactor.Should().BeApproximately(CropLossScores.Spread90(), 0.3, "the spread between sources, rounded up");
    }

    [Fact]
    public void The_validation_page_is_what_the_checks_say()
    {
        GeneratedPage.MustBe("docs/science/validation.md", ValidationPage.Of(Checks.Value, CropLossScores.ForPage()));
    }
}
