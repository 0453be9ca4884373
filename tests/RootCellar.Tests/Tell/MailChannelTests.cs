using System.Net;
using System.Net.Sockets;
using System.Text;
using MailKit.Net.Smtp;
using MimeKit;
using RootCellar.Tell;

namespace RootCellar.Tests.Tell;

/// <summary>Mail by SMTP, to a server on the loopback address that keeps what it was told.</summary>
public sealed class MailChannelTests
{
    private static readonly Outgoing Text = new("id-1", "cellar-too-warm-7", "mail", "nell@farm.example, Sam <sam@farm.example>", "high",
        "sms", "CELLAR: too warm", "4F too warm.\nShut the vent.", Messages.At);

    [Fact]
    public async Task A_mail_says_from_whom_to_whom_what_and_when()
    {
        var (said, mail) = await SendAsync(new MailOptions { From = "Cellar <cellar@farm.example>" }, Text);
        said.Should().Equal("EHLO", "MAIL", "RCPT", "RCPT", "DATA", "QUIT");
        (mail.From.ToString(), mail.To.ToString()).Should()
            .Be(("\"Cellar\" <cellar@farm.example>", "nell@farm.example, \"Sam\" <sam@farm.example>"));
        (mail.Subject, mail.Date, mail.MessageId, mail.Importance).Should()
            .Be(("CELLAR: too warm", Messages.At, "id-1@rootcellar.invalid", MessageImportance.Normal));
        (mail.Body!.ContentType.MimeType, mail.TextBody!.ReplaceLineEndings("\n").TrimEnd()).Should().Be(("text/plain", Text.Body));
        (_, mail) = await SendAsync(new MailOptions(), Text with { Priority = "urgent" });
        (mail.Importance, mail.From.ToString()).Should().Be((MessageImportance.High, "rootcellar@localhost"));
    }

    [Fact]
    public async Task Who_has_a_password_signs_in_with_what_stands_in_its_file()
    {
        var file = Path.GetTempFileName();
        await File.WriteAllTextAsync(file, " s3cret \r\n", TestContext.Current.CancellationToken);
        (await SendAsync(new MailOptions { User = "nell", PasswordFile = file }, Text, "AUTH PLAIN")).Said.Should()
            .Equal("EHLO", "AUTH nell: s3cret ", "MAIL", "RCPT", "RCPT", "DATA", "QUIT");
        File.Delete(file);
        (await SendAsync(new MailOptions { User = "nell" }, Text, "AUTH PLAIN")).Said.Should().Contain("AUTH nell:");
        (await SendAsync(new MailOptions { User = "" }, Text, "AUTH PLAIN")).Said.Should().NotContain(s => s.StartsWith("AUTH"));
    }

    [Theory]
    [InlineData("auto", "", "MAIL")]
    [InlineData("auto", "STARTTLS", "STARTTLS")]
    [InlineData("starttls", "STARTTLS", "STARTTLS")]
    [InlineData("starttls", "", "nothing more")]
    [InlineData("off", "STARTTLS", "MAIL")]
    [InlineData("False", "STARTTLS", "MAIL")]
    [InlineData("on", "STARTTLS", "TLS")]
    [InlineData("true", "", "TLS")]
    public async Task A_line_is_secured_as_the_settings_say(string tls, string offered, string then)
    {
        var said = (await SendAsync(new MailOptions { Tls = tls }, Text, offered, mayFail: then != "MAIL")).Said;
        (said is ["EHLO", ..] ? said.ElementAtOrDefault(1) ?? "nothing more" : said[0]).Should().Be(then);
    }

    [Fact]
    public async Task A_report_comes_with_its_pictures_inside_and_as_plain_text_once_they_are_gone()
    {
        (string, IReadOnlyList<Picture>)? kept = ("<p>Week 40 <img src=\"cid:air@rootcellar\"></p>",
            [new Picture("air@rootcellar", [1, 2, 3])]);
        var report = Text with { Report = "2025-W40" };
        var (_, mail) = await SendAsync(new MailOptions(), report, report: week => week == "2025-W40" ? kept : null);
        mail.HtmlBody.Should().Contain("Week 40");
        mail.TextBody.Should().StartWith("4F too warm.");
        var picture = mail.BodyParts.OfType<MimePart>().Single(p => p.ContentType.MimeType == "image/png");
        (picture.ContentId, picture.FileName, picture.ContentDisposition!.Disposition).Should().Be(("air@rootcellar", "air.png", "inline"));
        picture.ContentType.Name.Should().Be("air.png");
        (_, mail) = await SendAsync(new MailOptions(), report, report: _ => null);
        (mail.Body!.ContentType.MimeType, mail.HtmlBody).Should().Be(("text/plain", null));
    }

    [Fact]
    public void Its_name_and_its_patience_are_those_of_the_settings()
    {
        var channel = new MailChannel(new MailOptions { TimeoutSeconds = 7 });
        (channel.Name, channel.Timeout).Should().Be(("mail", TimeSpan.FromSeconds(7)));
    }

    /// <summary>What the server was told, each by its first word, and the mail.</summary>
    private static async Task<(List<string> Said, MimeMessage Mail)> SendAsync(MailOptions options, Outgoing text, string offers = "",
        bool mayFail = false, Func<string, (string, IReadOnlyList<Picture>)?>? report = null)
    {
        var cancelled = TestContext.Current.CancellationToken;
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        (options.Host, options.Port) = ("127.0.0.1", ((IPEndPoint)listener.LocalEndpoint).Port);
        var sending = new MailChannel(options, report).SendAsync(text, cancelled);
        var (said, mail) = (new List<string>(), new StringBuilder());
        using (var client = await listener.AcceptTcpClientAsync(cancelled))
        {
            await using var stream = client.GetStream();
            await ListenAsync(stream, offers, said, mail);
        }

        if (mayFail) await ((Func<Task>)(() => sending)).Should().ThrowAsync<Exception>();
        else await sending;
        using var letter = new MemoryStream(Encoding.UTF8.GetBytes(mail.ToString()));
        return (said, mail.Length == 0 ? new MimeMessage() : await MimeMessage.LoadAsync(letter, cancelled));
    }

    private static async Task ListenAsync(NetworkStream stream, string offers, List<string> said, StringBuilder mail)
    {
        using var reader = new StreamReader(stream, Encoding.Latin1);
        await SayAsync("220 postbox");
        while (await reader.ReadLineAsync(TestContext.Current.CancellationToken) is { } line)
        {
            if (line[0] == '\u0016')
            {
                said.Add("TLS");
                return;
            }

            var words = line.Split(' ');
            said.Add(words is ["AUTH", "PLAIN", var secret]
                ? "AUTH " + Encoding.UTF8.GetString(Convert.FromBase64String(secret)).TrimStart('\0').Replace('\0', ':') : words[0]);
            if (words[0] is "STARTTLS") return;
            if (words[0] is "DATA")
            {
                await SayAsync("354 go on");
                while (await reader.ReadLineAsync(TestContext.Current.CancellationToken) is { } part and not ".")
                    mail.Append(part).Append("\r\n");
            }

            await SayAsync(words[0] switch
            {
                "EHLO" => $"250-postbox\r\n250 {(offers.Length > 0 ? offers : "8BITMIME")}",
                "AUTH" => "235 ok",
                "QUIT" => "221 bye",
                _ => "250 ok"
            });
            if (words[0] is "QUIT") return;
        }

        async Task SayAsync(string answer) =>
            await stream.WriteAsync(Encoding.ASCII.GetBytes(answer + "\r\n"), TestContext.Current.CancellationToken);
    }
}
