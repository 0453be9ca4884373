using MailKit.Net.Smtp;
using MailKit.Security;
using MimeKit;

namespace RootCellar.Tell;

/// <summary>Mail through any SMTP server.</summary>
/// <param name="report">The HTML and pictures of a week's report; null where they are kept no more.</param>
/// <param name="password">Null: it stands in <see cref="MailOptions.PasswordFile"/>.</param>
internal sealed class MailChannel(
    MailOptions options, Func<string, (string Html, IReadOnlyList<Picture> Pictures)?>? report = null, string? password = null) : IChannel
{
    public const string ChannelName = "mail";

    public string Name => ChannelName;

    public TimeSpan? Timeout => TimeSpan.FromSeconds(options.TimeoutSeconds);

    public async Task<string> SendAsync(Outgoing message, CancellationToken cancellationToken)
    {
        using var mail = Compose(message);
        using var client = new SmtpClient { Timeout = options.TimeoutSeconds * 1000 };
        await client.ConnectAsync(options.Host!, options.Port, Security(options), cancellationToken);
        if (!string.IsNullOrEmpty(options.User))
        {
            await client.AuthenticateAsync(options.User, Password(), cancellationToken);
        }

        var answer = await client.SendAsync(mail, cancellationToken);
        await client.DisconnectAsync(quit: true, cancellationToken);
        return answer;
    }

    private static SecureSocketOptions Security(MailOptions options) => options.Tls.ToUpperInvariant() switch
    {
        "ON" or "TRUE" => SecureSocketOptions.SslOnConnect,
        "STARTTLS" => SecureSocketOptions.StartTls,
        "OFF" or "FALSE" => SecureSocketOptions.None,
        _ => SecureSocketOptions.Auto,
    };

    private MimeMessage Compose(Outgoing message)
    {
        var mail = new MimeMessage
        {
            Subject = message.Subject,
            Date = message.CreatedAt,
            // The same text always has the same id, so a mailbox can recognise a repeat after a crash.
            MessageId = $"{message.Id}@rootcellar.invalid",
            Body = BodyOf(message),
        };
        mail.From.Add(MailboxAddress.Parse(options.From));
        mail.To.AddRange(InternetAddressList.Parse(message.Recipient));
        if (message.Priority == "urgent") mail.Importance = MessageImportance.High;
        return mail;
    }

    private MimeEntity BodyOf(Outgoing message)
    {
        if (message.Report is not { } week || report?.Invoke(week) is not { } parts) return new TextPart("plain") { Text = message.Body };
        var builder = new BodyBuilder { TextBody = message.Body, HtmlBody = parts.Html };
        foreach (var picture in parts.Pictures)
        {
            var part = builder.LinkedResources.Add(picture.Id[..picture.Id.IndexOf('@', StringComparison.Ordinal)] + ".png", picture.Png,
                new ContentType("image", "png"));
            part.ContentId = picture.Id;
            part.ContentDisposition = new ContentDisposition(ContentDisposition.Inline);
        }

        return builder.ToMessageBody();
    }

    private string Password() => password ?? (options.PasswordFile is null ? "" : File.ReadAllText(options.PasswordFile).Trim('\r', '\n'));
}
