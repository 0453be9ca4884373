namespace RootCellar.Tell;

/// <summary>Makes the channels that need something of the service.</summary>
/// <param name="http">What posts.</param>
/// <param name="report">The HTML and pictures of a week's report; null where they are kept no more.</param>
internal sealed class ChannelMaker(HttpClient http, Func<string, (string Html, IReadOnlyList<Picture> Pictures)?>? report = null)
{
    /// <param name="options">The server and who it is from.</param>
    /// <param name="password">Null: it stands in <see cref="MailOptions.PasswordFile"/>, and is read anew for each mail.</param>
    public MailChannel Mail(MailOptions options, string? password) => new(options, report, password);

    public PostChannel Post(PostOptions options) => new(options, http);
}
