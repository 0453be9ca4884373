using System.Buffers;
using System.Collections.Immutable;
using MimeKit;
using SmtpServer;
using SmtpServer.ComponentModel;
using SmtpServer.Protocol;
using SmtpServer.Storage;

namespace RootCellar.SystemTests.Running;

/// <summary>A real SMTP server in this process, on the loopback address.</summary>
public sealed class Postbox : MessageStore, IAsyncDisposable
{
    private readonly CancellationTokenSource ending = new();
    private ImmutableList<MimeMessage> mails = [];
    private Task running = Task.CompletedTask;

    public int Port { get; private init; }

    public IReadOnlyList<MimeMessage> Mails => mails;

    public static Postbox Start(int? port = null)
    {
        var box = new Postbox { Port = port ?? Ports.Free() };
        var options = new SmtpServerOptionsBuilder().ServerName("postbox")
            .Endpoint(e => e.Endpoint(new System.Net.IPEndPoint(System.Net.IPAddress.Loopback, box.Port))).Build();
        var services = new ServiceProvider();
        services.Add(box);
        box.running = new SmtpServer.SmtpServer(options, services).StartAsync(box.ending.Token);
        return box;
    }

    public override async Task<SmtpResponse> SaveAsync(
        ISessionContext context, IMessageTransaction transaction, ReadOnlySequence<byte> buffer, CancellationToken cancellationToken)
    {
        using var stream = new MemoryStream(buffer.ToArray());
        var mail = await MimeMessage.LoadAsync(stream, cancellationToken);
        ImmutableInterlocked.Update(ref mails, list => list.Add(mail));
        return SmtpResponse.Ok;
    }

    public async ValueTask DisposeAsync()
    {
        await ending.CancelAsync();
        await running.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        ending.Dispose();
    }
}
