using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

public sealed class ColdTests
{
    private static readonly Crop Potato = CropTable.Default.Find("potato")!;
    private static readonly Crop SweetPotato = CropTable.Default.Find("sweet-potato")!;
    private static readonly Crop Carrot = CropTable.Default.Find("carrot")!;

    [Fact]
    public void At_an_edge_it_is_not_yet_below_it()
    {
        Cold.Level(Potato, Cold.PotatoEmergencyC).Should().Be(ColdLevel.Warning);
        Cold.Level(Potato, Cold.PotatoWarningC, 5000).Should().Be(ColdLevel.Caution);
        Cold.Level(Potato, Potato.ChillingBelowC!.Value, 5000).Should().Be(ColdLevel.None);
        Cold.Level(Carrot, Cold.EmergencyBelowC(Carrot)).Should().Be(ColdLevel.Warning);
        Cold.Level(Carrot, Cold.WarningBelowC(Carrot)).Should().Be(ColdLevel.None);
    }

    [Fact]
    public void Twelve_hours_are_said_after_and_three_days_of_another_crop_warned_of_after()
    {
        Cold.Level(Potato, 3, Cold.CautionAfterHours).Should().Be(ColdLevel.None);
        Cold.Level(Potato, 3, Cold.CautionAfterHours + 0.1).Should().Be(ColdLevel.Caution);
        Cold.Level(SweetPotato, 5, Cold.LongChillingHours).Should().Be(ColdLevel.Caution);
        Cold.Level(SweetPotato, 5, Cold.LongChillingHours + 0.1).Should().Be(ColdLevel.Warning);
    }

    [Theory]
    [InlineData("potato", -1, 0, "bring warmth in or cover it, and do not move or handle it")]
    [InlineData("potato", 0.5, 0, "the coldest corner may be near freezing")]
    [InlineData("potato", 3, 20,
        "Potato at 37.4 F (3 C), 20 hours below 38 F (3.3 C): cold this long can harm it without freezing, turning flesh brown and weakening seed; let it warm a little.")]
    [InlineData("sweet-potato", 5, 20, "cold this long can harm it without freezing; let it warm a little.")]
    [InlineData("sweet-potato", 5, 96, "Sweet potato at 41 F (5 C), 4 days below")]
    [InlineData("potato", 3, 5, "is below the 38 F (3.3 C) where chilling begins: do not leave it so.")]
    [InlineData("potato", 4, 5000, "is not too cold.")]
    [InlineData("carrot", 1, 5000, "is not too cold.")]
    [InlineData("carrot", double.NaN, 0, "How cold the produce is is not known.")]
    public void What_is_said_fits_how_cold_it_is_and_for_how_long(string id, double pulpC, double hours, string says) =>
        Cold.Words(CropTable.Default.Find(id)!, pulpC, hours).Should().Contain(says);

    [Theory]
    [InlineData(4, 2, 3, 1, 1.5)]
    [InlineData(4, 5, 6, 0, 0)]
    [InlineData(4, 3, 5, 0.5, 0.25)]
    [InlineData(4, 6, 2, 0.5, 0.5)]
    [InlineData(4, 4, 2, 1, 1)]
    [InlineData(4, 4, 4, 0, 0)]
    [InlineData(4, 4, 6, 0, 0)]
    [InlineData(double.NegativeInfinity, -20, 5, 0, 0)]
    [InlineData(4, double.NaN, 2, 0, 0)]
    public void Time_and_depth_below_an_edge_are_those_of_a_straight_line(double edge, double start, double end, double share, double depth)
    {
        Cold.ShareBelow(edge, start, end).Should().BeApproximately(share, 1e-12);
        Cold.DepthBelow(edge, start, end).Should().BeApproximately(depth, 1e-12);
    }

    [Fact]
    public void Hours_left_are_what_the_depth_below_the_edge_leaves_of_the_degree_days_that_harm()
    {
        double edge = SweetPotato.ChillingBelowC!.Value, harm = SweetPotato.ChillingHarm!.Value;
        Cold.HoursLeft(SweetPotato, edge - 2, 0).Should().BeApproximately(12 * harm, 1e-9);
        Cold.HoursLeft(SweetPotato, edge - 2, harm / 4).Should().BeApproximately(9 * harm, 1e-9);
        Cold.HoursLeft(SweetPotato, edge - 2, harm).Should().Be(0);
        Cold.HoursLeft(SweetPotato, edge + 3, harm).Should().Be(0, "what it has had is had");
        Cold.HoursLeft(SweetPotato, edge, harm / 4).Should().Be(double.PositiveInfinity);
        Cold.HoursLeft(SweetPotato, edge + 3, 0).Should().Be(double.PositiveInfinity);
        Cold.HoursLeft(Carrot, -5, 1000).Should().Be(double.PositiveInfinity, "no figure is known of it");
    }

    [Fact]
    public void Air_harms_near_freezing_or_half_a_degree_below_the_chilling_edge_of_another_crop_than_potatoes()
    {
        Cold.HarmBelowC(Potato).Should().Be(Cold.PotatoWarningC);
        Cold.HarmBelowC(Carrot).Should().Be(Carrot.FreezingPointC + 1);
        Cold.HarmBelowC(SweetPotato).Should().Be(SweetPotato.ChillingBelowC - 0.5);
        Cold.EmergencyBelowC(Carrot).Should().Be(Carrot.FreezingPointC + 0.5);
    }
}
