using RootCellar.Household;
using RootCellar.Tell;

namespace RootCellar.Tests.Tell;

/// <summary>What a way out may be set up as.</summary>
public sealed class ChannelRulesTests
{
    [Theory]
    [InlineData(null, null, null, "a@b.example", "MailServer", "host: '' is not the name of a server. Right: mail.example.org.")]
    [InlineData(" ", null, null, "a@b.example", "MailServer", "host: '' is not the name of a server.")]
    [InlineData("a b", null, null, "a@b.example", "MailServer", "host: 'a b' is not the name of a server.")]
    [InlineData("m.example", 0, null, "a@b.example", "Port", "port: 0 is not between 1 and 65535. Most take 587.")]
    [InlineData("m.example", 65536, null, "a@b.example", "Port", "port: 65536 is not between")]
    [InlineData("m.example", null, "ssl", "a@b.example", "Choice", "tls: 'ssl' is not one of auto, starttls, on, off.")]
    [InlineData("m.example", null, null, null, "MailAddress", "from: '' is not a mail address. Right: cellar@example.org.")]
    [InlineData("m.example", null, null, "nobody", "MailAddress", "from: 'nobody' is not a mail address.")]
    [InlineData("m.example", null, null, "@", "MailAddress", "from: '@' is not a mail address.")]
    public void A_mail_server_that_cannot_be_is_refused_with_what_would_be_right(
        string? host, int? port, string? tls, string? from, string what, string says)
    {
        var refused = ChannelRules.Mail(host, port, tls, null, null, from, null, out var mail)!;
        (refused.For.ToString(), mail).Should().Be((what, null));
        refused.Text.Should().StartWith(says);
    }

    [Fact]
    public void What_is_left_out_of_a_mail_server_is_filled_in_and_what_was_typed_is_tidied()
    {
        Mail(" mail.example.org ", null, null, null, null, " cellar@example.org ")
            .Should().Be(new MailSetUp("mail.example.org", 587, "auto", null, null, "cellar@example.org"));
        Mail("10.0.0.7", 1, " StartTLS ", " ann ", "pw ", "a@b.example").Should().Be(new MailSetUp("10.0.0.7", 1, "starttls", "ann", "pw ", "a@b.example"));
        Mail("m", 65535, "OFF", " ", "pw", "a@b.example").Should().Be(new MailSetUp("m", 65535, "off", null, null, "a@b.example"));
        Mail("m", null, "on", new string('u', 500), new string('p', 500), "a@b.example").Tls.Should().Be("on");
        foreach (var (user, password) in new[] { (new string('u', 501), "p"), ("u", new string('p', 501)) })
        {
            var refused = ChannelRules.Mail("m", null, null, user, password, "a@b.example", null, out var mail)!;
            (refused.For, refused.Text, mail).Should().Be((RefusedFor.TooLong, "user, password: at most 500 letters each.", null));
        }
    }

    [Theory]
    [InlineData("m.example", "ann", null, "old")]
    [InlineData("M.EXAMPLE", "ann", null, "old")]
    [InlineData("m.example", "ann", "", "")]
    [InlineData("m.example", "ann", "new", "new")]
    [InlineData("other.example", "ann", null, null)]
    [InlineData("m.example", null, null, null)]
    public void A_password_stays_for_its_server_and_user_and_no_other(string host, string? user, string? given, string? kept)
    {
        var before = new MailSetUp("m.example", 25, "off", "ann", "old", "a@b.example");
        ChannelRules.Mail(host, 25, "off", user, given, "a@b.example", before, out var mail).Should().BeNull();
        mail!.Password.Should().Be(kept);
    }

    [Theory]
    [InlineData(null, null, null, null, "WebAddress", "url: '' is not a web address. Right: https://gateway.example/send.")]
    [InlineData("gateway", null, null, null, "WebAddress", "url: 'gateway' is not")]
    [InlineData("ftp://gateway.example/x", null, null, null, "WebAddress", "url: 'ftp://gateway.example/x' is not")]
    [InlineData("/send", null, null, null, "WebAddress", "url: '/send' is not")]
    [InlineData("http://g.example", "GET", null, null, "Choice", "method: 'GET' is not one of POST, PUT.")]
    [InlineData("http://g.example", null, "x", null, "Choice",
        "contentType: 'x' is none. Right: application/json or application/x-www-form-urlencoded or text/plain.")]
    [InlineData("http://g.example", null, null, "{{ for }}", "Body", "body: <input>")]
    public void A_gateway_that_cannot_be_is_refused_with_what_would_be_right(
        string? url, string? method, string? type, string? body, string what, string says)
    {
        var refused = ChannelRules.Post(url, method, null, type, body, null, out var post)!;
        (refused.For.ToString(), post).Should().Be((what, null));
        refused.Text.Should().StartWith(says);
    }

    [Fact]
    public void What_is_left_out_of_a_gateway_is_filled_in()
    {
        Post(" https://g.example/x ").Should().BeEquivalentTo(new PostSetUp("https://g.example/x", "POST", new Dictionary<string, string>(),
            "application/json", new PostOptions().BodyTemplate));
        var form = Post("http://g.example", " put ", " application/x-www-form-urlencoded ", " ");
        (form.Method, form.ContentType, form.Body).Should()
            .Be(("PUT", "application/x-www-form-urlencoded", "to={{ to | html.url_encode }}&text={{ text | html.url_encode }}"));
        Post("http://g.example", null, "text/plain; charset=utf-8").Body.Should().Be("{{ text }}");
        Post("http://g.example", null, "text/csv").Body.Should().Be("{{ text }}");
        Post("http://g.example", null, null, "{{ id }}").Body.Should().Be("{{ id }}");
    }

    [Fact]
    public void The_ends_of_lengths_and_headers()
    {
        const string start = "http://g.example/";
        Post(start + new string('x', 500 - start.Length)).Url.Should().HaveLength(500);
        Refuses(start + new string('x', 501 - start.Length)).For.Should().Be(RefusedFor.WebAddress);
        Post(start, body: new string('x', 5_000)).Body.Should().HaveLength(5_000);
        Refuses(start, body: new string('x', 5_001)).Should().Be(new Refused(RefusedFor.TooLong, "body: at most 5000 letters."));
        Post(start, headers: Many(20)).Headers.Should().HaveCount(20);
        Refuses(start, headers: Many(21)).Should().Be(new Refused(RefusedFor.TooLong, "headers: at most 20."));
        Post(start, headers: One("X-Key", new string('x', 5_000))).Headers.Should().HaveCount(1);
        foreach (var wrong in new[] { One("X-Key", new string('x', 5_001)), One("X-Key", "a\r\nX-Other: b"), One("X Key", "a"), One("", "a") })
            Refuses(start, headers: wrong).Should().Match<Refused>(r => r.For == RefusedFor.Header
                && r.Text == $"headers: '{wrong.Keys.Single()}' is not a header that can be sent.");

        static IReadOnlyDictionary<string, string> Many(int count) => Enumerable.Range(0, count).ToDictionary(i => $"X-{i}", i => "v");

        static IReadOnlyDictionary<string, string> One(string name, string value) => new Dictionary<string, string> { [name] = value };
    }

    [Theory]
    [InlineData("https://g.example/other", true)]
    [InlineData("https://g.example:444/x", false)]
    [InlineData("http://g.example/x", false)]
    [InlineData("https://h.example/x", false)]
    public void A_gateways_key_stays_for_it_and_goes_to_no_other(string url, bool stays)
    {
        var before = new PostSetUp("https://g.example/x", "POST", new Dictionary<string, string> { ["X-Key"] = "k" }, "text/plain", "b");
        ChannelRules.Post(url, null, null, null, null, before, out var post).Should().BeNull();
        post!.Headers.ContainsKey("x-key").Should().Be(false, "what was kept is kept as it is written");
        post.Headers.ContainsKey("X-Key").Should().Be(stays);
        ChannelRules.Post(url, null, new Dictionary<string, string>(), null, null, before, out post).Should().BeNull();
        post!.Headers.Should().BeEmpty("none were given");
        ChannelRules.Post(url, null, null, null, null, before with { Url = "odd" }, out post).Should().BeNull();
        post!.Headers.Should().BeEmpty();
    }

    [Fact]
    public void Headers_are_typed_one_a_line()
    {
        ChannelRules.Headers(" X-Key : a:b \r\n\r\nOther:\nx-key: c").Should()
            .BeEquivalentTo(new Dictionary<string, string> { ["X-Key"] = "c", ["Other"] = "" });
        ChannelRules.Headers("").Should().BeEmpty();
        ChannelRules.Headers("no colon").Should().BeNull();
        ChannelRules.Headers(": value").Should().BeNull();
        ChannelRules.Headers("a:")!.Should().ContainKey("A");
    }

    [Fact]
    public void Turned_off_is_the_one_that_was_meant()
    {
        var all = new ChannelSetUp(
            new MailSetUp("m", 25, "off", "ann", "pw", "a@b.example"),
            new PostSetUp("http://g.example", "PUT", new Dictionary<string, string> { ["X"] = "1" }, "text/plain", "b"), new ModemSetUp());
        all.Without("mail").Should().Be(all with { Mail = null });
        all.Without("post").Should().Be(all with { Post = null });
        all.Without("modem").Should().Be(all with { Modem = null });
        all.Mail!.Options.Should().BeEquivalentTo(new MailOptions { Host = "m", Port = 25, Tls = "off", User = "ann", From = "a@b.example" });
        all.Post!.Options.Should().BeEquivalentTo(new PostOptions
        { Url = "http://g.example", Method = "PUT", ContentType = "text/plain", BodyTemplate = "b", Headers = { ["x"] = "1" } },
            o => o.Excluding(p => p.Headers));
        all.Post.Options.Headers["x"].Should().Be("1", "names of headers know no case");
    }

    private static MailSetUp Mail(string host, int? port, string? tls, string? user, string? password, string from)
    {
        ChannelRules.Mail(host, port, tls, user, password, from, null, out var mail).Should().BeNull();
        return mail!;
    }

    private static PostSetUp Post(
        string url, string? method = null, string? type = null, string? body = null, IReadOnlyDictionary<string, string>? headers = null)
    {
        ChannelRules.Post(url, method, headers, type, body, null, out var post).Should().BeNull();
        return post!;
    }

    private static Refused Refuses(string url, string? body = null, IReadOnlyDictionary<string, string>? headers = null)
    {
        var refused = ChannelRules.Post(url, null, headers, null, body, null, out var post);
        post.Should().BeNull();
        return refused!;
    }
}
