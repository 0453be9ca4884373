using RootCellar.Science.Tests.Published;

namespace RootCellar.Science.Tests.Topics;

/// <summary>
/// The published figures topic by topic. In ValidationTests one lazy list serves all rows, so that the first row alone would
/// seem to cover the program, and it is worked out whenever tests are looked for; here each topic works its own figures out.
/// </summary>
internal static class Topic
{
    public static void MustStand(Func<IEnumerable<PublishedCheck>> topic)
    {
        foreach (var check in topic())
            (Math.Abs(check.Ours - check.Published) <= check.Allowed).Should().BeTrue($"{check.Topic}: {check.What}");
    }
}

public sealed class PublishedAir
{
    [Fact]
    public void Saturation() => Topic.MustStand(SaturationPublishedChecks.All);

    [Fact]
    public void MoistAir() => Topic.MustStand(MoistAirPublishedChecks.All);

    [Fact]
    public void Salts() => Topic.MustStand(SaltPublishedChecks.All);

    [Fact]
    public void Correction() => Topic.MustStand(CorrectionPublishedChecks.All);
}

public sealed class PublishedCrops
{
    [Fact]
    public void Crops() => Topic.MustStand(CropPublishedChecks.All);

    [Fact]
    public void Respiration() => Topic.MustStand(RespirationPublishedChecks.All);
}

public sealed class PublishedCellar
{
    [Fact]
    public void Cellar() => Topic.MustStand(CellarPublishedChecks.All);
}

public sealed class PublishedKeeping
{
    [Fact]
    public void Healing() => Topic.MustStand(HealingPublishedChecks.All);

    [Fact]
    public void Dormancy() => Topic.MustStand(DormancyPublishedChecks.All);

    [Fact]
    public void WaterLoss() => Topic.MustStand(WaterLossPublishedChecks.All);

    [Fact]
    public void Digging() => Topic.MustStand(DiggingPublishedChecks.All);
}
