namespace RootCellar.Lots;

/// <summary>
/// Time as the fold counts it: pieces of five minutes, numbered from 1970 in UTC. A lot is dug, moved and read at the beginning
/// of a piece, so that every way to a state takes the same steps and comes to the same bits.
/// </summary>
internal static class TimeStep
{
    public const double Hours = 1.0 / 12;

    public const int PerHour = 12;

    public const int PerDay = 288;

    public const long Milliseconds = 300_000;

    /// <summary>The piece a moment lies in.</summary>
    public static long Of(DateTimeOffset at) => Of(at.ToUnixTimeMilliseconds());

    public static long Of(long unixMilliseconds) => Math.DivRem(unixMilliseconds, Milliseconds) is var (cell, rest) && rest < 0
        ? cell - 1 : cell;

    /// <summary>So many pieces, in days.</summary>
    public static double Days(long cells) => cells / (double)PerDay;

    /// <summary>When a piece begins.</summary>
    public static DateTimeOffset At(long cell) => DateTimeOffset.FromUnixTimeMilliseconds(cell * Milliseconds);
}
