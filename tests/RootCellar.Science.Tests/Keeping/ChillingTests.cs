using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>Cold that harms without freezing: how deep, how long, and how many hours are left.</summary>
public class ChillingTests
{
    private static Crop Crop(string id) => CropTable.Default.Find(id)!;

    [Theory]
    [InlineData(10, 4, 6, 5)]
    [InlineData(10, 8, 12, 0.5)]
    [InlineData(10, 12, 8, 0.5)]
    [InlineData(10, 10, 10, 0)]
    [InlineData(10, 12, 14, 0)]
    [InlineData(double.NegativeInfinity, -5, -5, 0)]
    public void Depth_is_the_mean_below_the_edge(double edge, double start, double end, double depth) =>
        Cold.DepthBelow(edge, start, end).Should().BeApproximately(depth, 1e-12);

    [Fact]
    public void Hours_left_are_what_the_sources_say()
    {
        // Mississippi State Univ. Extension: hard core after as little as 3 days at 50 F; a day at 35 F, for which we say 14 h.
        Cold.HoursLeft(Crop("sweet-potato"), 10, 0).Should().BeApproximately(72, 0.1);
        Cold.HoursLeft(Crop("sweet-potato"), 1.67, 0).Should().BeInRange(13, 24);
        // UC Davis: a month at 5 C.
        Cold.HoursLeft(Crop("winter-squash"), 5, 0).Should().BeApproximately(30 * 24, 0.1);
        Cold.HoursLeft(Crop("winter-squash"), 5, 100).Should().BeApproximately(10 * 24, 0.1);
        Cold.HoursLeft(Crop("winter-squash"), 12, 150).Should().Be(0, "what it has had stays");
        Cold.HoursLeft(Crop("winter-squash"), 10, 100).Should().Be(double.PositiveInfinity);
        Cold.HoursLeft(Crop("potato"), -1, 1000).Should().Be(double.PositiveInfinity, "no figure is known");
    }

    [Fact]
    public void Air_that_harms_is_below_the_edge_by_more_than_a_sensor_is_off()
    {
        Cold.HarmBelowC(Crop("winter-squash")).Should().Be(9.5);
        Cold.HarmBelowC(Crop("potato")).Should().Be(Cold.PotatoWarningC, "potatoes keep for weeks near freezing");
        Cold.HarmBelowC(Crop("carrot")).Should().BeApproximately(Crop("carrot").FreezingPointC + 1, 1e-12);
    }

    [Fact]
    public void A_lot_adds_up_degree_days_below_the_edge_and_loses_none()
    {
        var lot = LotState.Dug(new LotTraits(Crop("winter-squash")));
        var cold = lot.Advance(new LotAir(5, 70, PulpC: 5), 24).Advance(new LotAir(15, 70, PulpC: 15), 24);
        cold.ChillDegreeDays.Should().BeApproximately(5, 1e-9);
        cold.ColdHours.Should().BeApproximately(24, 1e-9);
        LotState.Dug(new LotTraits(Crop("carrot"))).Advance(new LotAir(1, 95, PulpC: 1), 48).ChillDegreeDays.Should().Be(0);
    }
}
