using System.Collections.Concurrent;
using System.Text.Json;
using System.Threading.Channels;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>A retained message the service publishes for lights, sirens and dashboards. An empty payload takes the topic away.</summary>
internal readonly record struct Announcement(string Topic, byte[] Payload);

/// <summary>
/// What goes out under rootcellar/out/. Only the newest of a topic matters, so a slow broker drops the oldest and the
/// whole is said again after a reconnect.
/// </summary>
internal sealed class Announcements
{
    public const string Root = "rootcellar/out/";
    public const string Status = Root + "status";

    private readonly ConcurrentDictionary<string, byte[]> latest = new(StringComparer.Ordinal);
    private readonly Channel<Announcement> queue = Channel.CreateBounded<Announcement>(new BoundedChannelOptions(1_000)
    {
        FullMode = BoundedChannelFullMode.DropOldest,
        SingleReader = true,
    });

    public IEnumerable<Announcement> Latest => latest.Select(l => new Announcement(l.Key, l.Value));

    public void Say<T>(string topic, T body)
    {
        var payload = JsonSerializer.SerializeToUtf8Bytes(body, JsonRules.Options);
        latest[topic] = payload;
        queue.Writer.TryWrite(new Announcement(topic, payload));
    }

    public void TakeAway(string topic)
    {
        latest.TryRemove(topic, out _);
        queue.Writer.TryWrite(new Announcement(topic, []));
    }

    public IAsyncEnumerable<Announcement> ReadAllAsync(CancellationToken cancellationToken) => queue.Reader.ReadAllAsync(cancellationToken);
}
