using System.CommandLine;
using System.Net;
using RootCellar.Household;

namespace RootCellar.Commands;

/// <summary>Asks a running service whether it can do its work: for containers, which have no other program to ask with.</summary>
internal static class HealthCommand
{
    public static Command Build()
    {
        var data = CommandLine.Data();
        var http = new Option<string?>("--http")
        { Description = "where the service serves its pages, HOST:PORT (default: as configured)", HelpName = "HOST:PORT" };
        var command = new CommandWithExamples("health", "Ask the running service whether it is ready: exit 0 when it is, 1 when not.",
            "rootcellar health --http 127.0.0.1:8080") { data, http };
        command.SetAction((p, ct) => RunAsync(p.GetValue(data)!, p.GetValue(http), p.InvocationConfiguration, ct));
        return command;
    }

    private static async Task<int> RunAsync(string folder, string? http, InvocationConfiguration io, CancellationToken cancellationToken)
    {
        http ??= SettingsFile.Bind(SettingsFile.Load(folder, problems: []), []).Http.Listen;
        if (ListenAddress.Of(http) is not { } listen)
            throw new UsageException($"--http: '{http}' is not HOST:PORT. Right: 127.0.0.1:8080.");
        var host = listen.Address.Equals(IPAddress.Any) || listen.Address.Equals(IPAddress.IPv6Any) ? IPAddress.Loopback : listen.Address;
        var asked = $"http://{new IPEndPoint(host, listen.Port)}/health/ready";
        using var client = new HttpClient { Timeout = TimeSpan.FromSeconds(5) };
        try
        {
            using var answer = await client.GetAsync(new Uri(asked), cancellationToken);
            await io.Output.WriteLineAsync(await answer.Content.ReadAsStringAsync(cancellationToken));
            return answer.IsSuccessStatusCode ? 0 : 1;
        }
        catch (Exception e) when (e is HttpRequestException or TaskCanceledException && !cancellationToken.IsCancellationRequested)
        {
            await io.Error.WriteLineAsync($"rootcellar health: {asked} does not answer ({e.Message}).");
            return 1;
        }
    }
}
