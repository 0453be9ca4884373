using RootCellar.Lots;
using RootCellar.Tests.Report;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>
/// Books that are odd but happen: bins filled again, emptied within the minute, all but empty, named like another's remnant.
/// </summary>
public class OddBooksTests
{
    private const string Dug = """{"event":"dug","at":"2025-09-20T09:00:00Z","lot":"A","crop":"potato","weightKg":600}""";

    [Theory]
    [InlineData("weighed sooner after than before", 19.8, """
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"A","weightKg":30,"place":"root-cellar"},
        {"event":"weighed","at":"2025-10-05T10:00:00Z","bin":"b1","weightKg":29.4,"resolutionKg":0.05},
        {"event":"sold","at":"2025-10-06T12:00:00Z","bin":"b1","weightKg":29.4,"empties":true},
        {"event":"filled","at":"2025-10-07T10:00:00Z","bin":"b1","lot":"A","weightKg":20,"place":"root-cellar"},
        {"event":"weighed","at":"2025-10-12T10:00:00Z","bin":"b1","weightKg":19.8,"resolutionKg":0.05}
        """)]
    [InlineData("weighed later after than before", 29.4, """
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"A","weightKg":20,"place":"root-cellar"},
        {"event":"weighed","at":"2025-09-25T10:00:00Z","bin":"b1","weightKg":19.8,"resolutionKg":0.05},
        {"event":"sold","at":"2025-09-26T12:00:00Z","bin":"b1","weightKg":19.8,"empties":true},
        {"event":"filled","at":"2025-09-27T10:00:00Z","bin":"b1","lot":"A","weightKg":30,"place":"root-cellar"},
        {"event":"weighed","at":"2025-10-12T10:00:00Z","bin":"b1","weightKg":29.4,"resolutionKg":0.05}
        """)]
    [InlineData("never weighed since", 20, """
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"A","weightKg":30,"place":"root-cellar"},
        {"event":"weighed","at":"2025-10-05T10:00:00Z","bin":"b1","weightKg":29.4,"resolutionKg":0.05},
        {"event":"sold","at":"2025-10-06T12:00:00Z","bin":"b1","weightKg":29.4,"empties":true},
        {"event":"filled","at":"2025-10-12T10:00:00Z","bin":"b1","lot":"A","weightKg":20,"place":"root-cellar"}
        """)]
    [InlineData("all under one time", 18, """
        {"event":"filled","at":"2025-10-12T10:00:00Z","bin":"b1","lot":"A","weightKg":20,"place":"root-cellar"},
        {"event":"sold","at":"2025-10-12T10:00:00Z","bin":"b1","weightKg":20,"empties":true},
        {"event":"filled","at":"2025-10-12T10:00:00Z","bin":"b1","lot":"A","weightKg":18,"place":"root-cellar"}
        """)]
    [InlineData("little left of a bushel that was more", 2.5, """
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"A","measure":{"amount":1,"unit":"bushel","kgPerUnit":27.2155422},"place":"root-cellar"},
        {"event":"sold","at":"2025-10-06T12:00:00Z","bin":"b1","weightKg":26.5},
        {"event":"weighed","at":"2025-10-12T10:00:00Z","bin":"b1","weightKg":2.5,"resolutionKg":0.05,"checked":true}
        """)]
    [InlineData("a handful", 0.006, """
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"A","weightKg":0.02,"place":"root-cellar"},
        {"event":"eaten","at":"2025-10-06T12:00:00Z","bin":"b1","weightKg":0.013},
        {"event":"weighed","at":"2025-10-12T10:00:00Z","bin":"b1","weightKg":0.006,"resolutionKg":0.001}
        """)]
    [InlineData("another bin's name is this one's with a stroke", 19.7, """
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b","lot":"A","weightKg":20,"place":"root-cellar"},
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"A","weightKg":20,"place":"root-cellar"},
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b/1","lot":"A","weightKg":20,"place":"root-cellar"},
        {"event":"weighed","at":"2025-10-10T10:00:00Z","bin":"b/1","weightKg":19.7},
        {"event":"filled","at":"2025-10-02T10:00:00Z","bin":"b","lot":"A","weightKg":5,"place":"root-cellar"},
        {"event":"weighed","at":"2025-10-05T10:00:00Z","bin":"b","weightKg":24.6},
        {"event":"weighed","at":"2025-10-12T10:00:00Z","bin":"b1","weightKg":19.7}
        """)]
    [InlineData("sorted with all of it left where it was", 18.6, """
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"A","weightKg":20,"place":"root-cellar"},
        {"event":"sorted","at":"2025-10-02T10:00:00Z","bin":"b1","into":[{"bin":"b1","weightKg":18.8}]},
        {"event":"weighed","at":"2025-10-12T10:00:00Z","bin":"b1","weightKg":18.6}
        """)]
    public async Task The_estimate_is_what_the_scale_said_and_the_report_is_made(string what, double kg, string events)
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(25), 8, 85);
        cellar.Book = Weeks.Book($"[{Dug}, {events}]");
        var views = await cellar.AtAsync(new DateTimeOffset(2025, 10, 12, 14, 0, 0, TimeSpan.Zero));
        var bin = views.Bins["b1"];
        bin.Questions.Should().BeEmpty(what);
        bin.Kg.Value.Should().BeApproximately(kg, Math.Max(0.005, 0.005 * kg), what);
        bin.Kg.Low.Should().BeInRange(0, bin.Kg.Value);
        bin.Kg.High.Should().BeGreaterThanOrEqualTo(bin.Kg.Value);
        views.NotFollowed.Should().BeEmpty();
        foreach (var week in (string[])["2025-W39", "2025-W40"])
            Weeks.Of(cellar, week).Lots.Should().AllSatisfy(l => l.Estimate.ShrinkKg.Should().NotBeNull());
        Weeks.Of(cellar, "2025-W41").Lots.Should().ContainSingle().Which.Estimate.ShrinkKg.Should().NotBeNull();
        cellar.Replay().Agree.Should().BeTrue();
    }
}
