namespace RootCellar.Demo;

/// <summary>
/// What happens at the homestead, by day and local hour; day 0 is the day on which history ends. The weather's part (a dry
/// spell on days -9 to -7, the hot afternoon of day 0 and the front that ends it) is in <see cref="Weather"/>.
/// </summary>
internal static class Story
{
    /// <summary>Eastern daylight time, which holds for all of September.</summary>
    internal static readonly TimeSpan LocalOffset = TimeSpan.FromHours(-4);

    private static readonly DateTimeOffset Midnight = new(2026, 9, 17, 0, 0, 0, LocalOffset);

    // Someone airs the curing room and goes to work; it is shut again after dark. The breeze that finds the door gets up
    // over the first hours, so the air does not leap.
    private static readonly Span DoorOpen = new(At(0, 11.75), At(0, 21));
    private static readonly TimeSpan BreezeRises = TimeSpan.FromHours(2);

    // The lamp forgotten after supper.
    private static readonly Span LampForgotten = new(At(-5, 18.67), At(-5, 22.2));

    // The humidity element by the cellar door gets wet, reads the top of its range for four days, and is changed.
    private static readonly Span ElementWet = new(At(-7, 8), At(-3, 20));

    // A power dip resets a probe between question and answer; it answers with its power-on value.
    private static readonly DateTimeOffset[] PowerDips = [At(-11, 3.2), At(-8, 14.6), At(-6, 19.1), At(-2, 7.4)];

    private readonly record struct Span(DateTimeOffset From, DateTimeOffset To)
    {
        public bool Covers(DateTimeOffset instant) => instant >= From && instant < To;
    }

    public static DateTimeOffset At(int day, double localHour) => (Midnight + TimeSpan.FromDays(day) + TimeSpan.FromHours(localHour))
        .ToUniversalTime();

    /// <summary>How much of a full draught goes through the curing room, 0 to 1.</summary>
    public static double CuringDraught(DateTimeOffset instant) =>
        DoorOpen.Covers(instant) ? Math.Min(1, (instant - DoorOpen.From) / BreezeRises) : 0;

    public static bool DoorHumidityStuck(DateTimeOffset instant) => ElementWet.Covers(instant);

    /// <summary>The reading that follows a power dip, and no other.</summary>
    public static bool ProbeReset(DateTimeOffset instant, TimeSpan every) =>
        PowerDips.Any(dip => instant >= dip && instant < dip + every);

    public static bool CellarLampOn(DateTimeOffset instant)
    {
        if (LampForgotten.Covers(instant))
            return true;

        // Every other day somebody fetches supper: eight minutes, no reason for alarm.
        var local = instant.ToOffset(LocalOffset);
        return local.DayOfYear % 2 == 0 && local.Hour == 17 && local.Minute is >= 10 and < 18;
    }
}
