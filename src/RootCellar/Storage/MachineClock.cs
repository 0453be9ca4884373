using System.Globalization;

namespace RootCellar.Storage;

/// <summary>Who keeps the machine's clock right.</summary>
internal enum ClockKeeper
{
    /// <summary>Nobody that can be asked (a container, another time service), or a battery clock does: the clock is taken as it is.</summary>
    NotAsked,

    /// <summary>systemd-timesyncd, which has not reached a time server since the machine started.</summary>
    Waiting,

    /// <summary>systemd-timesyncd, which has set the clock since the machine started.</summary>
    HasSet,
}

/// <summary>The machine's own clocks, and what it says about them.</summary>
/// <param name="Time">Its clocks.</param>
/// <param name="KeeperFolder">
/// Where systemd-timesyncd lays its mark; see systemd-timesyncd.service(8): the file "synchronized" is there once the clock has been set.
/// </param>
/// <param name="BatteryFolder">The kernel's first real-time clock; "hctosys" is 1 where the system time was set from it at the start.</param>
/// <param name="Boot">This start of the machine; null where it has no name, so that no two are taken for the same.</param>
/// <param name="Built">No moment of this program is earlier.</param>
internal sealed record MachineClock(TimeProvider Time, string KeeperFolder, string BatteryFolder, string? Boot, DateTimeOffset Built)
{
    private static readonly TimeSpan Apart = TimeSpan.FromMinutes(2);

    public static MachineClock OfThisMachine()
    {
        var program = typeof(MachineClock).Assembly.Location is { Length: > 0 } file ? file : Environment.ProcessPath ?? "";
        return new MachineClock(TimeProvider.System, "/run/systemd/timesync", "/sys/class/rtc/rtc0",
            Text("/proc/sys/kernel/random/boot_id"), new DateTimeOffset(File.GetLastWriteTimeUtc(program)));
    }

    public DateTimeOffset Now => Time.GetUtcNow();

    public ClockKeeper Keeper => File.Exists(Path.Combine(KeeperFolder, "synchronized")) ? ClockKeeper.HasSet
        : !Directory.Exists(KeeperFolder) || HasBattery ? ClockKeeper.NotAsked : ClockKeeper.Waiting;

    // Without a battery it runs from 1970 while the system time was set otherwise since.
    private bool HasBattery => Text(Path.Combine(BatteryFolder, "hctosys")) == "1"
        && long.TryParse(Text(Path.Combine(BatteryFolder, "since_epoch")), NumberStyles.None, CultureInfo.InvariantCulture, out var seconds)
        && (DateTimeOffset.UnixEpoch.AddSeconds(seconds) - Now).Duration() < Apart;

    private static string? Text(string path)
    {
        try
        {
            return File.Exists(path) ? File.ReadAllText(path).Trim() : null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }
}
