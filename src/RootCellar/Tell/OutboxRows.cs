using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Tell;

/// <summary>The outbox in the record.</summary>
internal static class OutboxRows
{
    public static void Save(SqliteConnection connection, Outgoing message) => connection.Execute(
        """
        INSERT INTO outbox (id, alarm, channel, recipient, body, state, attempts, created_ms, next_ms, sent_ms, error)
        VALUES ($id, $alarm, $channel, $recipient, $body, $state, $attempts, $created, $next, $sent, $error)
        ON CONFLICT (id) DO UPDATE SET body = excluded.body, state = excluded.state, attempts = excluded.attempts, next_ms = excluded.next_ms,
            sent_ms = excluded.sent_ms, error = excluded.error
        """,
        ("$id", message.Id),
        ("$alarm", message.Alarm),
        ("$channel", message.Channel),
        ("$recipient", message.Recipient),
        ("$body", JsonSerializer.Serialize(
            new Words(message.Priority, message.Sms, message.Subject, message.Body, message.Report, message.Said, message.Hold, message.Over,
                message.Answerable, message.Language))),
        ("$state", message.State.ToString()),
        ("$attempts", message.Attempts),
        ("$created", message.CreatedAt.ToUnixTimeMilliseconds()),
        ("$next", message.Hold?.Until.ToUnixTimeMilliseconds() ?? 0),
        ("$sent", message.SentAt?.ToUnixTimeMilliseconds()),
        ("$error", message.Error));

    /// <summary>A text just decided on; a row that is there already (sent while the record could not be written) stays as it is.</summary>
    public static void SaveNew(SqliteConnection connection, Outgoing message)
    {
        if (connection.Scalar("SELECT 1 FROM outbox WHERE id = $id", ("$id", message.Id)) is null) Save(connection, message);
    }

    /// <summary>What a new start must send: waiting rows, and rows that were being sent when the process died.</summary>
    public static IReadOnlyList<Outgoing> Unsent(SqliteConnection connection) => connection.Query(
        $"SELECT {Columns} FROM outbox WHERE state IN ('Waiting', 'Sending') ORDER BY created_ms",
        row => Read(row) is { State: OutgoingState.Sending } m ? m with { MayBeRepeat = true } : Read(row));

    /// <summary>What waits for its hour.</summary>
    public static IReadOnlyList<Outgoing> Held(SqliteConnection connection) => connection.Query(
        $"SELECT {Columns} FROM outbox WHERE state = 'Held' ORDER BY created_ms", Read);

    public static IReadOnlyList<Outgoing> Latest(SqliteConnection connection, int count) => connection.Query(
        $"SELECT {Columns} FROM outbox ORDER BY created_ms DESC, id LIMIT $count", Read, ("$count", count));

    /// <summary>The mail that was sent with a link.</summary>
    /// <param name="connection">The record.</param>
    /// <param name="hash">Of the link's token, in hex.</param>
    /// <param name="since">No older ones are looked through.</param>
    public static Outgoing? WithLink(SqliteConnection connection, string hash, DateTimeOffset since) => connection.Query(
        $"SELECT {Columns} FROM outbox WHERE created_ms >= $since AND channel = $mail AND instr(body, $hash) > 0 LIMIT 1",
        Read,
        ("$since", since.ToUnixTimeMilliseconds()),
        ("$mail", MailChannel.ChannelName),
        ("$hash", hash)).FirstOrDefault();

    private const string Columns = "id, alarm, channel, recipient, body, state, attempts, created_ms, sent_ms, error";

    private static Outgoing Read(SqliteDataReader row)
    {
        var words = JsonSerializer.Deserialize<Words>(row.GetString(4))!;
        return new Outgoing(row.GetString(0), row.StringOrNull(1), row.GetString(2), row.GetString(3), words.Priority, words.Sms,
            words.Subject, words.Body, row.Time(7))
        {
            State = Enum.Parse<OutgoingState>(row.GetString(5)),
            Report = words.Report,
            Said = words.Said,
            Hold = words.Hold,
            Over = words.Over,
            Language = words.Language,
            Answerable = words.Answerable,
            Attempts = row.GetInt32(6),
            SentAt = row.IsDBNull(8) ? null : row.Time(8),
            Error = row.StringOrNull(9),
        };
    }

    private sealed record Words(string Priority, string Sms, string Subject, string Body, string? Report = null, RoomSaid? Said = null,
        Hold? Hold = null, bool Over = false, Answerable? Answerable = null, string? Language = null);
}
