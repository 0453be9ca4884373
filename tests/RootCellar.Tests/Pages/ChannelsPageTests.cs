using System.Net;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>How texts go out, set up on its page.</summary>
public sealed class ChannelsPageTests
{
    private const string Address = "/set-up/channels";

    private static readonly (string, string)[] Mail = [("Host", "mail.example.org"), ("User", "cellar"), ("Password", "zebra-9"), ("From", "cellar@example.org")];

    [Fact]
    public async Task Nothing_goes_by_another_server_without_the_passphrase_and_what_was_typed_stays()
    {
        await using var site = await Site.OpenAsync();

        var asked = await SendAsync(site, "Mail", Mail);

        asked.Words.Should().Contain("Texts would go by another server: type the household passphrase");
        Site.Field(asked.Html, "Host").Should().Be("mail.example.org");
        asked.Html.Should().NotContain("zebra-9");
        Desk(site).SetUp.Mail.Should().BeNull();

        (await SendAsync(site, "Mail", [.. Mail, ("Passphrase", site.Passphrase)])).Location.Should().Contain("done=on");
        Desk(site).SetUp.Mail.Should().Be(new MailSetUp("mail.example.org", 587, "auto", "cellar", "zebra-9", "cellar@example.org"));
        Desk(site).Names.Should().Equal("mail");
        var page = await site.ReadAsync(Address);
        page.Should().NotContain("zebra-9");
        Site.Words(page).Should().Contain("A password is kept").And.Contain("On. Nothing has gone wrong");
    }

    [Fact]
    public async Task A_password_is_kept_for_its_server_and_goes_to_no_other()
    {
        await using var site = await Site.OpenAsync();
        await SendAsync(site, "Mail", [.. Mail, ("Passphrase", site.Passphrase)]);

        // The same server: nobody is asked anything, and the password stays.
        await SendAsync(site, "Mail", ("Host", "mail.example.org"), ("Port", "587"), ("User", "cellar"), ("From", "barn@example.org"));
        Desk(site).SetUp.Mail!.Should().BeEquivalentTo(new { From = "barn@example.org", Password = "zebra-9" });
        await SendAsync(site, "Mail", ("Host", "other.example.org"), ("User", "cellar"), ("From", "barn@example.org"),
            ("Passphrase", site.Passphrase));
        Desk(site).SetUp.Mail!.Should().BeEquivalentTo(new { Host = "other.example.org", Password = (string?)null });
    }

    [Theory]
    [InlineData("Mail", "Host", "a b", "'a b' is not the name of a mail server. Right: mail.example.org.")]
    [InlineData("Mail", "Port", "70000", "70000 is not a port")]
    [InlineData("Mail", "From", "nobody", "'nobody' is not a mail address")]
    [InlineData("Post", "Url", "gateway", "'gateway' is not a web address. Right: https://gateway.example/send.")]
    [InlineData("Post", "Headers", "no colon here", "A header is wrong: one a line, name and value apart by a colon.")]
    [InlineData("Post", "Body", "{{ if }}", "What is sent cannot be made: ")]
    public async Task What_is_wrong_is_said_and_nothing_is_kept(string form, string field, string value, string words)
    {
        await using var site = await Site.OpenAsync();
        (string, string)[] right = form == "Mail" ? Mail : [("Url", "https://gateway.example/send")];

        var answer = await SendAsync(site, form, [.. right.Where(f => f.Item1 != field), (field, value), ("Passphrase", site.Passphrase)]);

        answer.Words.Should().Contain(words);
        Desk(site).SetUp.Should().Be(new ChannelSetUp());
    }

    [Fact]
    public async Task What_a_gateway_would_be_sent_is_shown_before_it_is_saved()
    {
        await using var site = await Site.OpenAsync();

        var shown = await SendAsync(site, "Post", ("Url", "https://gateway.example/send"), ("ContentType", "application/x-www-form-urlencoded"),
            ("Headers", "Authorization: Bearer zebra-9"), ("preview", "true"));

        shown.Words.Should().Contain("POST https://gateway.example/send to=%2B15551234567&text=");
        Desk(site).SetUp.Post.Should().BeNull();
        await SendAsync(site, "Post", ("Url", "https://gateway.example/send"), ("Headers", "Authorization: Bearer zebra-9"),
            ("Passphrase", site.Passphrase));
        Desk(site).SetUp.Post!.Headers.Should().Equal(new Dictionary<string, string> { ["Authorization"] = "Bearer zebra-9" });
        var page = await site.ReadAsync(Address);
        page.Should().NotContain("zebra-9").And.Contain("Authorization");
        // At another gateway's, the key is not sent.
        await SendAsync(site, "Post", ("Url", "https://other.example/send"), ("Passphrase", site.Passphrase));
        Desk(site).SetUp.Post!.Headers.Should().BeEmpty();
    }

    [Fact]
    public async Task It_can_be_turned_off_and_a_test_says_what_went_wrong()
    {
        await using var site = await Site.OpenAsync();
        var nobody = new System.Net.Sockets.TcpListener(IPAddress.Loopback, 0);
        nobody.Start();
        var port = ((IPEndPoint)nobody.LocalEndpoint).Port.ToString(System.Globalization.CultureInfo.InvariantCulture);
        nobody.Dispose();
        await SendAsync(site, "Mail", ("Host", "127.0.0.1"), ("Port", port), ("Tls", "off"), ("From", "cellar@example.org"),
            ("Passphrase", site.Passphrase));

        (await SendAsync(site, "Test", ("channel", "mail"), ("to", "ann@example.org"))).Words.Should().Contain("Not taken: Connection refused");
        (await SendAsync(site, "Test", ("channel", "mail"), ("to", "ann"))).Words.Should().Contain("'ann' is not a mail address");
        (await SendAsync(site, "Off", ("channel", "mail"))).Location.Should().Contain("done=off");
        Desk(site).Names.Should().BeEmpty();
        (await SendAsync(site, "Test", ("channel", "mail"), ("to", "ann@example.org"))).Words.Should().Contain("Not set up.");
    }

    [Fact]
    public async Task What_the_settings_say_wins_and_cannot_be_changed_here_nor_by_the_api()
    {
        await using var site = await Site.OpenAsync(change: s => (s.Tell.Mail.Host, s.Tell.Mail.From) = ("set.example.org", "set@example.org"));

        (await site.WordsAsync(Address)).Should().Contain("Set in the settings file, which wins");
        await SendAsync(site, "Mail", [.. Mail, ("Passphrase", site.Passphrase)]);
        Desk(site).SetUp.Mail.Should().BeNull();
        (await site.PutAsync("/api/channels/mail", """{"host":"mail.example.org","from":"a@example.org"}""")).Status.Should().Be(HttpStatusCode.Conflict);
        var shape = await site.ReadAsync("/api/channels/mail");
        shape.Should().Contain("\"setBy\":\"file\"").And.Contain("set.example.org");
    }

    [Fact]
    public async Task A_file_that_cannot_be_read_is_said_and_set_aside_when_it_is_set_up_anew()
    {
        using var folder = new TempFolder();
        await File.WriteAllTextAsync(Path.Combine(folder.Path, "channels.json"), "{\"Mail\":", TestContext.Current.CancellationToken);
        await using var site = await Site.OpenAsync(record: folder);

        (await site.WordsAsync(Address)).Should().Contain("How texts go out cannot be read (channels.json)");
        (await site.ReadAsync("/health/ready")).Should().Contain("\"channels\":\"degraded\"");
        await SendAsync(site, "Mail", [.. Mail, ("Passphrase", site.Passphrase)]);

        (await site.WordsAsync(Address)).Should().NotContain("cannot be read");
        File.Exists(Path.Combine(folder.Path, "channels.json.bad")).Should().BeTrue();
        new KeptFile<ChannelSetUp>(folder.Path, "channels.json").Read().Content.Mail!.Host.Should().Be("mail.example.org");
    }

    [Fact]
    public async Task No_secret_is_read_back_by_the_api()
    {
        await using var site = await Site.OpenAsync();
        await site.PutAsync("/api/channels/mail",
            """{"host":"mail.example.org","from":"a@example.org","user":"cellar","password":"zebra-9"}""");
        await site.PutAsync("/api/channels/post", """{"url":"https://gateway.example/x","headers":{"X-Key":"zebra-9"}}""");

        var all = await site.ReadAsync("/api/channels");

        all.Should().NotContain("zebra-9").And.Contain("\"passwordSet\":true").And.Contain("\"headerNames\":[\"X-Key\"]");
        // What is left out stays.
        await site.PutAsync("/api/channels/mail", """{"host":"mail.example.org","from":"b@example.org","user":"cellar"}""");
        Desk(site).SetUp.Mail!.Password.Should().Be("zebra-9");
        (await site.PutAsync("/api/channels/pigeon", "{}")).Html.Should().Contain("There is no channel 'pigeon'. There are mail, post, modem.");
        (await site.PutAsync("/api/channels/mail", """{"on":false}""")).Html.Should().Contain("\"on\":false");
    }

    private static ChannelDesk Desk(Site site) => site.Services.GetRequiredService<ChannelDesk>();

    private static async Task<Answer> SendAsync(Site site, string handler, params (string Name, string Value)[] fields) =>
        await site.SendAsync($"{Address}?handler={handler}", await site.ReadAsync(Address), fields);
}
