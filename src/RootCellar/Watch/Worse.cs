using RootCellar.Science.Cellar;

namespace RootCellar.Watch;

/// <summary>
/// The steps within an urgent alarm at which it is another matter for whoever was told of the one before: each is told, acknowledged or
/// shelved as it may be.
/// </summary>
internal static class Worse
{
    /// <summary>
    /// 0: as it was raised. Carbon dioxide: a step at each limit of <see cref="RoomCaution"/>. Freezing: a step where crops freeze,
    /// which lies <see cref="PlaceWatch.FreezingMarginC"/> under the limit.
    /// </summary>
    public static int StepOf(Rule rule, double? value, double? limit) => (rule, value, limit) switch
    {
        (Rule.Co2High, { } ppm, _) => (int)RoomCaution.Of(Math.Clamp(ppm, 0, 1e6)),
        (Rule.FreezingNear, { } celsius, { } at) => celsius <= at - PlaceWatch.FreezingMarginC ? 1 : 0,
        _ => 0,
    };
}
