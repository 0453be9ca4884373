using System.Net;
using System.Net.Sockets;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Packaging;

/// <summary>Ready is what has started whole and has not begun to stop.</summary>
public sealed class ReadinessTests : IDisposable
{
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task It_is_ready_from_when_all_has_started_until_it_begins_to_stop()
    {
        var settings = new Settings
        {
            Http = { Listen = "127.0.0.1:0" },
            Mqtt = { Listen = $"127.0.0.1:{FreePort()}" },
            Household = { TimeZone = "UTC" }
        };
        LastPart? last = null;
        await using var app =
            ServiceHost.Build(settings, folder.Path, TimeProvider.System,
                services => services.AddHostedService(p => last = new LastPart(p)));
        await app.StartAsync(TestContext.Current.CancellationToken);

        last!.WhileStarting.Should().Be(HttpStatusCode.ServiceUnavailable);
        (await last.AskAsync()).Should().Be(HttpStatusCode.OK);
        app.Lifetime.StopApplication();
        (await last.AskAsync()).Should().Be(HttpStatusCode.ServiceUnavailable);
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    /// <summary>A part that could still fail once the pages are up, and asks over HTTP what is said of the service then.</summary>
    private sealed class LastPart(IServiceProvider services) : IHostedLifecycleService
    {
        public HttpStatusCode? WhileStarting { get; private set; }

        public async Task<HttpStatusCode> AskAsync()
        {
            var address = services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.First();
            using var http = new HttpClient();
            using var answer = await http.GetAsync(new Uri($"{address}/health/ready"));
            return answer.StatusCode;
        }

        public async Task StartedAsync(CancellationToken cancellationToken) => WhileStarting = await AskAsync();

        public Task StoppingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

        public Task StartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

        public Task StartingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

        public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

        public Task StoppedAsync(CancellationToken cancellationToken) => Task.CompletedTask;
    }
}
