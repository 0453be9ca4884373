using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Telling;

/// <summary>Mail, to a real SMTP server.</summary>
public sealed class MailTests
{
    [Fact]
    public async Task A_too_warm_room_is_told_by_mail_and_so_is_its_end()
    {
        await using var postbox = Postbox.Start();
        await using var service = await RunningService.StartAsync(
            [.. Air.NoDelays, ("Tell:Mail:Host", "127.0.0.1"), ("Tell:Mail:Port", postbox.Port.ToString()), ("Tell:Mail:Tls", "off"),
                ("Tell:Mail:From", "cellar@homestead.example"), ("Http:PublicUrl", "http://cellar.example:8080")]);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("mail", "nell@homestead.example");

        await service.WarmUpAsync();
        await Eventually.HoldsAsync(() => postbox.Mails.Count == 1, "the mail arrives", details: () => service.Everything);
        await service.CoolDownAsync();
        await Eventually.HoldsAsync(() => postbox.Mails.Count == 2, "the mail that it is over arrives", details: () => service.Everything);

        var warm = postbox.Mails[0];
        warm.To.ToString().Should().Be("nell@homestead.example");
        warm.From.ToString().Should().Be("cellar@homestead.example");
        warm.Subject.Should().Be("CURING ROOM: too warm");
        var body = warm.TextBody;
        body.Should().Contain("3F too warm (68F) since ").And.Contain("What to do: Open door + vent only while it's under 60F out.");
        body.Should().Contain("Potato, curing: 50F to 60F, 85-95% RH", "the mail says what the place is held to").And.Contain(
            "http://cellar.example:8080");
        var over = postbox.Mails[1];
        over.Subject.Should().Be("CURING ROOM: too warm, over");
        over.TextBody.Should().Contain("fine again: 60F").And.Contain("worst 68F");
        over.MessageId.Should().NotBe(warm.MessageId);
    }

    [Fact]
    public async Task A_mail_server_that_comes_late_gets_the_mail_all_the_same()
    {
        var postbox = Postbox.Start();
        var port = postbox.Port;
        await postbox.DisposeAsync();
        await using var service = await RunningService.StartAsync(
            [.. Air.NoDelays, ("Tell:Mail:Host", "127.0.0.1"), ("Tell:Mail:Port", port.ToString()), ("Tell:Mail:Tls", "off"),
                ("Tell:Mail:To", "nell@homestead.example")]);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.WarmUpAsync();
        await Eventually.HoldsAsync(async () => await service.CountAsync("rootcellar_channels_in_trouble") > 0, "the trouble is shown",
            details: () => service.Everything);

        await using var late = Postbox.Start(port);

        await Eventually.HoldsAsync(() => late.Mails.Count == 1, "the mail arrives", TimeSpan.FromSeconds(30), () => service.Everything);
        late.Mails[0].Subject.Should().Be("CURING ROOM: too warm", "nothing answered before, so this is no repeat");
    }
}
