using System.Text.Json.Serialization;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Tell;

/// <summary>Where a text to someone stands.</summary>
internal enum OutgoingState
{
    Waiting,

    /// <summary>Handed to the channel; after a crash nobody knows whether it left, so it is sent again, marked.</summary>
    Sending,
    Sent,

    /// <summary>Not delivered within the time a text is any use; shown on the Alarms page.</summary>
    GivenUp,

    /// <summary>It is not time yet for who it is to: see <see cref="Outgoing.Hold"/>.</summary>
    Held,

    /// <summary>While it was held it came to be of no use; <see cref="Outgoing.Error"/> says why.</summary>
    NotNeeded,

    /// <summary>It went out as a part of one text with others that were held.</summary>
    InOne,
}

/// <summary>Why a text is held.</summary>
internal enum HeldFor
{
    /// <summary>Whether somebody else acknowledges the alarm.</summary>
    Others,

    /// <summary>The end of the quiet hours.</summary>
    QuietHours,

    /// <summary>The morning, when what can wait is told.</summary>
    Morning,

    /// <summary>The next day, since so many went out on this one as are wanted.</summary>
    NextDay,
}

/// <summary>Until when a text is held, and for what.</summary>
internal sealed record Hold(DateTimeOffset Until, [property: JsonConverter(typeof(JsonStringEnumConverter<HeldFor>))] HeldFor For);

/// <summary>One text to one person by one channel. <see cref="Id"/> also serves the far side as an idempotency key.</summary>
internal sealed record Outgoing(
    string Id,
    string? Alarm,
    string Channel,
    string Recipient,
    string Priority,
    string Sms,
    string Subject,
    string Body,
    DateTimeOffset CreatedAt)
{
    public OutgoingState State { get; init; }

    /// <summary>The week whose report it is: then the mail has the HTML and pictures kept of it beside <see cref="Body"/>.</summary>
    public string? Report { get; init; }

    public int Attempts { get; init; }

    public DateTimeOffset? SentAt { get; init; }

    public string? Error { get; init; }

    /// <summary>What of a room's air it tells; null for any other text.</summary>
    public RoomSaid? Said { get; init; }

    /// <summary>What answering it acknowledges; null where there is nothing to answer, or nobody known to answer it.</summary>
    public Answerable? Answerable { get; init; }

    /// <summary>It says that something is over.</summary>
    public bool Over { get; init; }

    /// <summary>The tag of the language it is in; null: the household's.</summary>
    public string? Language { get; init; }

    /// <summary>Why it did not go out at once; null where it did.</summary>
    public Hold? Hold { get; init; }

    /// <summary>The same with its moments moved, where it was written before the time was known.</summary>
    public Outgoing PutRight(TimePutRight right) => right.Of(CreatedAt) == CreatedAt ? this : this with
    {
        CreatedAt = right.Of(CreatedAt),
        SentAt = right.Of(SentAt),
        Hold = Hold is { } hold ? hold with { Until = hold.Until + right.By } : null,
    };

    /// <summary>When it was to go out.</summary>
    public DateTimeOffset DueAt => Hold?.Until ?? CreatedAt;

    /// <summary>It was being sent when the service died.</summary>
    public bool MayBeRepeat { get; init; }
}

/// <summary>What one text says of a room's air: so that nobody is told it twice, and a further text can say what changed.</summary>
/// <param name="Ended">What it says is over: the next time that begins it is told again, however soon.</param>
internal sealed record RoomSaid(string Place, IReadOnlyList<SaidFinding> Findings, IReadOnlyList<SaidEnd>? Ended = null);

/// <summary>That a condition was over.</summary>
internal sealed record SaidEnd([property: JsonConverter(typeof(JsonStringEnumConverter<Rule>))] Rule Rule);

/// <param name="Since">When the run it is about began.</param>
internal sealed record SaidFinding([property: JsonConverter(typeof(JsonStringEnumConverter<Rule>))] Rule Rule, DateTimeOffset Since,
    double Value);

/// <summary>A way out of the house. Throws when the far side did not take the text.</summary>
internal interface IChannel
{
    string Name { get; }

    /// <summary>How long one attempt may take; null for as long as the outbox allows.</summary>
    TimeSpan? Timeout => null;

    /// <returns>What the far side answered, for whoever set it up.</returns>
    Task<string> SendAsync(Outgoing message, CancellationToken cancellationToken);
}
