using MailKit.Net.Smtp;
using MailKit.Security;
using MimeKit;

namespace RootCellar.Tell;

/// <summary>Mail through any SMTP server.</summary>
internal sealed class MailChannel(MailOptions options) : IChannel
{
    public const string ChannelName = "mail";

    public string Name => ChannelName;

    public TimeSpan? Timeout => TimeSpan.FromSeconds(options.TimeoutSeconds);

    public async Task SendAsync(Outgoing message, CancellationToken cancellationToken)
    {
        using var mail = Compose(message);
        using var client = new SmtpClient { Timeout = options.TimeoutSeconds * 1000 };
        await client.ConnectAsync(options.Host!, options.Port, Security(options), cancellationToken);
        if (!string.IsNullOrEmpty(options.User))
        {
            await client.AuthenticateAsync(options.User, Password(), cancellationToken);
        }

        await client.SendAsync(mail, cancellationToken);
        await client.DisconnectAsync(quit: true, cancellationToken);
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
            Body = new TextPart("plain") { Text = message.Body },
        };
        mail.From.Add(MailboxAddress.Parse(options.From));
        mail.To.AddRange(InternetAddressList.Parse(message.Recipient));
        if (message.Priority == "urgent") mail.Importance = MessageImportance.High;
        return mail;
    }

    private string Password() => options.PasswordFile is null ? "" : File.ReadAllText(options.PasswordFile).Trim('\r', '\n');
}
