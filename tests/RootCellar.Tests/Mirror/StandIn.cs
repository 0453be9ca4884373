using System.Collections.Immutable;
using System.IO.Compression;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace RootCellar.Tests.Mirror;

/// <summary>One write a server got.</summary>
internal sealed record Write(string Path, string Token, bool Gzip, ImmutableArray<string> Lines, int Answered);

/// <summary>
/// An HTTP server on the loopback address that answers writes as it is told: for the faults that a real server cannot be made to have.
/// </summary>
internal sealed class StandIn : IAsyncDisposable
{
    private readonly WebApplication app;
    private ImmutableList<Write> writes = [];

    private StandIn(WebApplication app) => this.app = app;

    /// <summary>Status, message and seconds for Retry-After, from token and lines.</summary>
    public Func<string, ImmutableArray<string>, (int Status, string Message, int? RetryAfter)> Behave { get; set; } = static (_, _) => (
        204, "", null);

    public TimeSpan Slowness { get; set; }

    public string Url { get; private set; } = "";

    public IReadOnlyList<Write> Writes => writes;

    /// <summary>What it took, without the points that only ask whether it takes anything.</summary>
    public IReadOnlyList<string> Taken =>
        [.. writes.Where(w => w.Answered == 204).SelectMany(w => w.Lines).Where(l => !l.StartsWith("mirror ", StringComparison.Ordinal))];

    public static async Task<StandIn> StartAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        builder.Logging.ClearProviders();
        var server = new StandIn(builder.Build());
        server.app.Run(server.TakeAsync);
        await server.app.StartAsync();
        server.Url = server.app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single();
        return server;
    }

    public async ValueTask DisposeAsync()
    {
        using var atOnce = new CancellationTokenSource(TimeSpan.Zero);
        await app.StopAsync(atOnce.Token);
        await app.DisposeAsync();
    }

    private async Task TakeAsync(HttpContext context)
    {
        var gzip = context.Request.Headers.ContentEncoding == "gzip";
        using var reader = new StreamReader(gzip ? new GZipStream(context.Request.Body, CompressionMode.Decompress) : context.Request.Body);
        ImmutableArray<string> lines =
            [.. (await reader.ReadToEndAsync(context.RequestAborted)).Split('\n', StringSplitOptions.RemoveEmptyEntries)];
        if (Slowness > TimeSpan.Zero) await Task.Delay(Slowness, context.RequestAborted);
        var token = context.Request.Headers.Authorization.ToString();
        var (status, message, retryAfter) = Behave(token, lines);
        if (retryAfter is { } seconds)
            context.Response.Headers.RetryAfter = seconds.ToString(System.Globalization.CultureInfo.InvariantCulture);
        context.Response.StatusCode = status;
        ImmutableInterlocked.Update(ref writes, list =>
            list.Add(new Write(context.Request.Path + context.Request.QueryString, token, gzip, lines, status)));
        if (status != 204) await context.Response.WriteAsJsonAsync(new { code = "invalid", message });
    }
}
