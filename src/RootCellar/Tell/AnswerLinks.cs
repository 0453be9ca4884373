using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using RootCellar.Household;

namespace RootCellar.Tell;

/// <summary>
/// Links by which a mail is answered. The token is drawn when the mail leaves, stands in it and nowhere else: what is kept is its hash.
/// </summary>
/// <param name="house">Where the pages are opened in the house; null while no such address is known: then there are no links.</param>
internal sealed class AnswerLinks(Func<Uri?> house)
{
    /// <summary>How long one answers (assumed: the next reminder brings the next).</summary>
    public static readonly TimeSpan Life = TimeSpan.FromHours(24);

    private const int TokenBytes = 24;
    private const int MostOfOneMail = 5;

    /// <summary>The letters of a token.</summary>
    public static readonly int TokenLength = Base64Url.GetEncodedLength(TokenBytes);

    /// <summary>A mail with a link of its own: as it is kept, and the link's address; null where it can have none.</summary>
    public (Outgoing Kept, Uri Address)? Make(Outgoing message, DateTimeOffset now)
    {
        if (message.Channel != MailChannel.ChannelName || message.Over || message.Answerable is not { } asks || house() is not { } home)
            return null;
        var token = Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(TokenBytes));
        AnswerLink[] links = [.. (asks.Links ?? []).TakeLast(MostOfOneMail - 1), new AnswerLink(HashOf(token), now + Life)];
        return (message with { Answerable = asks with { Links = links } }, new Uri(home, "/answer/" + token));
    }

    /// <summary>As it is sent.</summary>
    public static Outgoing With(Outgoing message, Uri address) =>
        message with { Body = $"{message.Body.TrimEnd()}\n\n{Strings.MailAnswer.With(address)}\n" };

    public static string HashOf(string token) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(token)));
}
