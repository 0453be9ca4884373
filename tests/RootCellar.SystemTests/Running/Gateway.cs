using System.Collections.Immutable;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;

namespace RootCellar.SystemTests.Running;

/// <summary>One request the gateway got.</summary>
public sealed record Call(DateTimeOffset At, string Method, string Path, ImmutableDictionary<string, string> Headers, string Body,
    int Answered)
{
    public string Key => Headers["Idempotency-Key"];
}

/// <summary>What the gateway does with a request: a status, headers, or nothing for a while.</summary>
public sealed record Answer(int Status, string? RetryAfter = null, TimeSpan Hang = default)
{
    public static readonly Answer Taken = new(200);
}

/// <summary>A local HTTP listener in the part of an SMS gateway: it fails, hangs and recovers as it is told.</summary>
public sealed class Gateway : IAsyncDisposable
{
    private readonly WebApplication app;
    private ImmutableList<Call> calls = [];

    private Gateway(WebApplication app) => this.app = app;

    public Func<int, Answer> Behave { get; set; } = static _ => Answer.Taken;

    public string Url { get; private set; } = "";

    /// <summary>Every request whose body arrived, with what it was answered; 0 when it was left hanging.</summary>
    public IReadOnlyList<Call> Calls => calls;

    public IReadOnlyList<Call> Accepted => [.. calls.Where(c => c.Answered is >= 200 and < 300)];

    public static async Task<Gateway> StartAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        var port = Ports.Free();
        builder.WebHost.UseUrls($"http://127.0.0.1:{port}");
        builder.Logging.ClearProviders();
        var gateway = new Gateway(builder.Build()) { Url = $"http://127.0.0.1:{port}/send" };
        gateway.app.Run(gateway.TakeAsync);
        await gateway.app.StartAsync();
        return gateway;
    }

    public async ValueTask DisposeAsync()
    {
        using var atOnce = new CancellationTokenSource(TimeSpan.Zero);
        await app.StopAsync(atOnce.Token);
        await app.DisposeAsync();
    }

    private async Task TakeAsync(HttpContext context)
    {
        using var reader = new StreamReader(context.Request.Body);
        var body = await reader.ReadToEndAsync(context.RequestAborted);
        var answer = Behave(calls.Count);
        if (answer.Hang > TimeSpan.Zero)
        {
            Note(context, body, answer.Status == 0 ? 0 : answer.Status);
            await Task.Delay(answer.Hang, context.RequestAborted);
        }
        else
        {
            Note(context, body, answer.Status);
        }

        if (answer.RetryAfter is not null) context.Response.Headers.RetryAfter = answer.RetryAfter;
        context.Response.StatusCode = answer.Status == 0 ? 504 : answer.Status;
    }

    private void Note(HttpContext context, string body, int answered)
    {
        var request = context.Request;
        var headers = request.Headers.ToImmutableDictionary(h => h.Key, h => h.Value.ToString(), StringComparer.OrdinalIgnoreCase);
        var call = new Call(DateTimeOffset.UtcNow, request.Method, request.Path, headers, body, answered);
        ImmutableInterlocked.Update(ref calls, list => list.Add(call));
    }
}
