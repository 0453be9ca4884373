using System.Text.RegularExpressions;
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
    public async Task The_link_in_the_mail_answers_it_from_a_phone_that_never_signed_in()
    {
        await using var postbox = Postbox.Start();
        await using var service = new RunningService(null,
            [.. Air.NoDelays, ("Tell:Mail:Host", "127.0.0.1"), ("Tell:Mail:Port", postbox.Port.ToString()), ("Tell:Mail:Tls", "off"),
                ("Tell:Mail:To", "all@homestead.example")]);
        service.Set("Http:PublicUrl", $"http://127.0.0.1:{service.HttpPort}");
        await service.StartAsync();
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("mail", "nell@homestead.example");
        await service.WarmUpAsync();
        await Eventually.HoldsAsync(() => postbox.Mails.Count == 2, "the mails arrive", details: () => service.Everything);

        postbox.Mails.Single(m => m.To.ToString() == "all@homestead.example").TextBody.Should().NotContain("/answer/", "that is nobody by name");
        var body = postbox.Mails.Single(m => m.To.ToString() == "nell@homestead.example").TextBody;
        body.Should().Contain("On it? Open this at home and press the button.");
        var link = new Uri(Regex.Match(body, "http://127\\.0\\.0\\.1:[0-9]+/answer/\\S+", RegexOptions.None, TimeSpan.FromSeconds(5)).Value);
        var key = link.Segments[^1];
        service.Query("SELECT body FROM outbox", r => r.GetString(0)).Should().NotContain(b => b.Contains(key, StringComparison.Ordinal),
            "the record has no more than its hash");
        using var phone = new HttpClient(new HttpClientHandler { AllowAutoRedirect = true });
        var cancel = TestContext.Current.CancellationToken;
        var page = await phone.GetStringAsync(link, cancel);
        page.Should().Contain("3F too warm");
        ((string?)(await service.GetAsync("/api/alarms"))[0]!["state"]).Should().Be("unacknowledged");

        var token = Regex.Match(page, "__RequestVerificationToken[^>]*value=\"(?<value>[^\"]*)\"", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));
        using var form = new FormUrlEncodedContent([new("__RequestVerificationToken", token.Groups["value"].Value)]);
        using var answer = await phone.PostAsync(link, form, cancel);

        (await answer.Content.ReadAsStringAsync(cancel)).Should().Contain("Nell is on it since");
        var alarm = (await service.GetAsync("/api/alarms"))[0]!;
        ((string?)alarm["state"], (string?)alarm["acknowledgedBy"]).Should().Be(("acknowledged", "Nell"));
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
