using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Tests.Lots;
using RootCellar.Watch;

namespace RootCellar.Tests.Watch;

/// <summary>Which limits held when, by the bins that stood there; and how narrow a band two crops may share.</summary>
public sealed class BandsOverTests
{
    private static readonly DateTimeOffset Start = new(2025, 10, 1, 0, 0, 0, TimeSpan.Zero);

    private static readonly Dictionary<string, CropBands> Crops = new CropBands[]
    {
        new("potato", "potato", null, new ClimateBand(3, 7, 90, 95), -0.8, true, "test", Anything),
        new("onion", "onion", null, new ClimateBand(0, 4, 65, 70), -0.8, false, "test", Anything),
        new("wide", "wide", null, new ClimateBand(0, 10, 60, 95), -1, false, "test", Anything),
        new("thin", "thin", null, new ClimateBand(4, 4.5, 90, 92), -1, false, "test", Anything),
        new("warm", "warm", null, new ClimateBand(8, 12, 90, 95), -1, false, "test", Anything),
        new("damp", "damp", null, new ClimateBand(3, 7, 96, 100), -1, false, "test", Anything),
    }.ToDictionary(crop => crop.Id);

    // Harmed by nothing here: what is tested is the band.
    private static HarmLimits Anything => new(new Sourced(-50, ""), new Sourced(60, ""), new Sourced(0, ""), null);

    private static readonly BandsInForce Bands = new(id => Crops.GetValueOrDefault(id), new WatchOptions());

    private static readonly Book Stood = Books.Of(
        Books.Lot("p", Day(0),
        [
            Books.Bin("p-1", Day(0), 20, ("cellar", Day(0)), ("shed", Day(10))),
            Books.Bin("p-2", Day(0), 20, ("cellar", Day(0)), ("shed", Day(3))),
        ]),
        Books.Lot("o", Day(5), [Books.Bin("o-1", Day(5), 20, ("cellar", Day(5))) with { EmptiedAt = Day(20) }], crop: "onion"));

    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    private static List<(double From, double To, string Crop)> Over(
        double from, double to, Purpose purpose = Purpose.Storage, params string[] crops) =>
    [
        .. BandsOver.Of(Stood, Bands, new Place("cellar", "Cellar", purpose, null, crops), Day(from), Day(to))
            .Select(b => ((b.From - Start).TotalDays, (b.To - Start).TotalDays, b.Band.Why[0].Crop)),
    ];

    [Fact]
    public void The_limits_follow_the_bins()
    {
        // Two bins came, one went on day 3: that changes nothing. Onion and potato conflict, and the first by name decides.
        Over(-2, 30).Should().Equal((0, 5, "potato"), (5, 20, "onion"));
        Over(2, 30).Should().Equal((2, 5, "potato"), (5, 20, "onion"));
        Over(-2, 4).Should().Equal((0, 4, "potato"));
        Over(6, 8).Should().Equal((6, 8, "onion"));
        Over(-2, 0).Should().BeEmpty();
        Over(20, 30).Should().BeEmpty("no bin stands there and the place is set up for nothing");
        Over(-2, 30, Purpose.Storage, "potato").Should().Equal([(-2, 20, "potato")], "nothing goes by its air once it is emptied");
        Over(-2, 30, Purpose.Outdoors, "potato").Should().BeEmpty();
    }

    [Fact]
    public void A_stay_says_where_the_bin_went_next()
    {
        BandsOver.StaysIn(Stood, "cellar").Select(s => (s.Bin.Id, s.Next, s.Came, s.Went)).Should().BeEquivalentTo(
            new[] { ("p-1", "shed", Day(0), (DateTimeOffset?)Day(10)), ("p-2", "shed", Day(0), Day(3)), ("o-1", null, Day(5), Day(20)) });
        BandsOver.StaysIn(Stood, "shed").Select(s => (s.Bin.Id, s.Next, s.Went)).Should().BeEquivalentTo(
            new[] { ("p-1", (string?)null, (DateTimeOffset?)null), ("p-2", null, null) });
    }

    [Theory]
    [InlineData("wide", "thin", true, "it asks for no more than that")]
    [InlineData("thin", "wide", true, "whichever comes first")]
    [InlineData("wide", "warm", true, "2 C and 5 % are wide enough")]
    [InlineData("potato", "warm", false, "the temperatures do not meet")]
    [InlineData("potato", "damp", false, "the humidities do not meet")]
    public void A_band_for_two_is_as_wide_as_a_cellar_can_hold_or_one_of_them_asks(string one, string other, bool shared, string because) =>
        Bands.For(new Place("x", "X", Purpose.Storage, null, [one, other]))!.Conflicts.Should().HaveCount(shared ? 0 : 1, because);
}
