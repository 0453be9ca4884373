using RootCellar.Entry;
using RootCellar.Monitoring;
using RootCellar.Tell;

namespace RootCellar.Api;

/// <summary>A way out as programs see it: secrets are written, never read back.</summary>
/// <param name="SetBy">Who set it up: file (the installer's settings, which win) or page (also by this API); null while it is off.</param>
/// <param name="Trouble">Why texts do not get through now; null while they do.</param>
internal sealed record ChannelShape(
    string Channel, bool On, string? SetBy, string? Trouble, MailShape? Mail = null, PostShape? Post = null, AnswersShape? Answers = null);

/// <summary>Of the modem: whether texts can be answered by text, and what came in since the start.</summary>
/// <param name="Problem">Why they cannot; null while they can, or where nobody asked for it.</param>
internal sealed record AnswersShape(bool Heard, string? Problem, long Acknowledged, long Nothing, long Unclear, long Unknown);

internal sealed record MailShape(string Host, int Port, string Tls, string? User, bool PasswordSet, string From);

internal sealed record PostShape(string Url, string Method, IReadOnlyList<string> HeaderNames, string ContentType, string Body);

/// <summary>
/// Of mail: host, port, tls, user, password, from. Of post: url, method, headers, contentType, body. What is left out of password and headers
/// stays as it was, while the server stays the same.
/// </summary>
internal sealed record ChannelBody(
    bool On = true, string? Host = null, int? Port = null, string? Tls = null, string? User = null, string? Password = null,
    string? From = null, string? Url = null, string? Method = null, Dictionary<string, string>? Headers = null,
    string? ContentType = null, string? Body = null);

internal sealed record ChannelTestBody(string? To = null);

internal sealed record ChannelAnswer(string Answer);

/// <summary>How texts go out.</summary>
internal static class ChannelsApi
{
    public static void Map(RouteGroupBuilder group)
    {
        group.WithMetadata(new HouseholdOnly());
        group.MapGet("", (ChannelDesk desk, Outbox outbox, ModemInbox inbox, AnswerCounts answers) => ChannelDesk.All.Select(c => Shape(c, desk, outbox, inbox, answers)))
            .WithName("listChannels").WithSummary("The ways texts can go out.");
        group.MapGet("{channel}", (string channel, ChannelDesk desk, Outbox outbox, ModemInbox inbox, AnswerCounts answers) =>
            Known(channel) ? Results.Ok(Shape(channel, desk, outbox, inbox, answers)) : Unknown(channel))
            .WithName("getChannel").WithSummary("One way texts can go out.").Produces<ChannelShape>();
        group.MapPut("{channel}", (string channel, ChannelBody body, ChannelDesk desk, Outbox outbox, ModemInbox inbox, AnswerCounts answers) =>
            Put(channel, body, desk, outbox, inbox, answers))
            .WithName("setUpChannel").WithSummary("Sets it up; it holds at once, also for texts that wait.").Produces<ChannelShape>();
        group.MapPost("{channel}/test", TestAsync)
            .WithName("testChannel").WithSummary("Sends a test there and then, and answers with what the other side said.")
            .Produces<ChannelAnswer>();
    }

    private static async Task<IResult> TestAsync(
        string channel, ChannelTestBody body, ChannelTest test, CancellationToken cancellationToken)
    {
        if (!Known(channel)) return Unknown(channel);
        if (ContactRules.Address(channel, body.To, out var to) is { } wrong) return ApiRoutes.Wrong($"to: {wrong.Text}");
        return await test.SendAsync(channel, to, cancellationToken) switch
        {
            null => Results.Problem($"'{channel}' is not set up.", statusCode: StatusCodes.Status409Conflict),
            (true, var answer) => Results.Ok(new ChannelAnswer(answer)),
            (false, var why) => Results.Problem($"It was not taken: {why}", statusCode: StatusCodes.Status502BadGateway),
        };
    }

    private static IResult Put(string channel, ChannelBody body, ChannelDesk desk, Outbox outbox, ModemInbox inbox, AnswerCounts answers)
    {
        if (!Known(channel)) return Unknown(channel);
        if (desk.IsConfigured(channel))
            return Results.Problem($"'{channel}' is set in the service's settings (Tell), which win: change it there.",
                statusCode: StatusCodes.Status409Conflict);
        var setUp = desk.SetUp;
        switch (channel)
        {
            case var _ when !body.On:
                setUp = setUp.Without(channel);
                break;
            case MailChannel.ChannelName:
                if (ChannelRules.Mail(body.Host, body.Port, body.Tls, body.User, body.Password, body.From, setUp.Mail, out var mail)
                    is { } wrongMail)
                    return ApiRoutes.Wrong(wrongMail.Text);
                setUp = setUp with { Mail = mail };
                break;
            case PostChannel.ChannelName:
                if (ChannelRules.Post(body.Url, body.Method, body.Headers, body.ContentType, body.Body, setUp.Post, out var post)
                    is { } wrongPost)
                    return ApiRoutes.Wrong(wrongPost.Text);
                setUp = setUp with { Post = post };
                break;
            default:
                setUp = setUp with { Modem = new ModemSetUp() };
                break;
        }

        try
        {
            desk.Save(channel, setUp);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return ApiRoutes.NotKept(e.Message);
        }

        return Results.Ok(Shape(channel, desk, outbox, inbox, answers));
    }

    private static bool Known(string channel) => ChannelDesk.All.Contains(channel, StringComparer.Ordinal);

    private static IResult Unknown(string channel) =>
        ApiRoutes.Missing($"There is no channel '{channel}'. There are {string.Join(", ", ChannelDesk.All)}.");

    private static ChannelShape Shape(string channel, ChannelDesk desk, Outbox outbox, ModemInbox inbox, AnswerCounts answers)
    {
        var configured = desk.IsConfigured(channel);
        var on = desk.Find(channel) is not null;
        var shape = new ChannelShape(
            channel, on, !on ? null : configured ? "file" : "page", outbox.Troubles.GetValueOrDefault(channel) ?? desk.Problem);
        return channel switch
        {
            MailChannel.ChannelName when configured => shape with
            {
                Mail = desk.Configured.Mail is var m ? new MailShape(m.Host!, m.Port, m.Tls, m.User, m.PasswordFile is not null, m.From) : null,
            },
            MailChannel.ChannelName => shape with
            {
                Mail = desk.SetUp.Mail is { } m ? new MailShape(m.Host, m.Port, m.Tls, m.User, m.Password is not null, m.From) : null,
            },
            PostChannel.ChannelName => shape with
            {
                Post = (configured ? desk.Configured.Post : desk.SetUp.Post?.Options) is { } p
                    ? new PostShape(p.Url!, p.Method, [.. p.Headers.Keys], p.ContentType, p.BodyTemplate) : null,
            },
            _ => shape with
            {
                Answers = new AnswersShape(inbox.IsHeard, inbox.IsAsked && inbox.Problem is { Length: > 0 } why ? why : null,
                    answers[AnswerOutcome.Acknowledged], answers[AnswerOutcome.Nothing], answers[AnswerOutcome.Unclear],
                    answers[AnswerOutcome.Unknown]),
            },
        };
    }
}
