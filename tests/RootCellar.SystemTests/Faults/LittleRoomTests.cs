using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Faults;

/// <summary>The card fills up slowly: a job first, a text before it is full, and another once there is room.</summary>
public sealed class LittleRoomTests
{
    // The service looks once a minute.
    private static readonly TimeSpan Within = TimeSpan.FromSeconds(150);

    [Fact]
    public async Task A_text_goes_out_before_the_card_is_full_and_when_there_is_room_again()
    {
        await using var disk = await RamDisk.MountAsync(100);
        await using var gateway = await Gateway.StartAsync();
        await using var service = new RunningService(disk.Path, [.. Air.NoDelays, ("Tell:Post:Url", gateway.Url)]);
        await service.StartAsync();
        await service.AddContactAsync("post", "+15550142");
        (await service.GetAsync("/api/alarms")).AsArray().Should().BeEmpty();

        Leave(disk, 2_000_000);
        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 1, "the text is told", Within, () => service.Everything);
        gateway.Accepted[0].Text().Should().MatchRegex(@"^ROOTCELLAR: the card is nearly full: [0-2](\.[0-9])?% left\.").And.Contain("Back up, then free some room");
        var alarm = (await service.GetAsync("/api/alarms")).AsArray().Should().ContainSingle().Which!;
        alarm["rule"]!.GetValue<string>().Should().Be("disk-full");
        alarm["measure"]!.GetValue<string>().Should().Be("diskFreePercent");
        (await service.ReadinessAsync()).Text.Should().Contain("\"disk\":\"degraded\"");
        (await service.CountAsync("rootcellar_disk_free_percent")).Should().BeLessThan(3);

        File.Delete(Path.Combine(disk.Path, "filler"));
        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 2, "that it is over is told", Within, () => service.Everything);
        gateway.Accepted[1].Text().Should().StartWith("ROOTCELLAR: the card has room again: ");
        (await service.GetAsync("/api/alarms")).AsArray().Should().OnlyContain(a => !a!["active"]!.GetValue<bool>());
    }

    private static void Leave(RamDisk disk, long bytes)
    {
        using var file = new FileStream(Path.Combine(disk.Path, "filler"), FileMode.CreateNew, FileAccess.Write, FileShare.None, bufferSize: 0);
        var block = new byte[64 * 1024];
        while (new DriveInfo(disk.Path).AvailableFreeSpace > bytes) file.Write(block);
    }
}
