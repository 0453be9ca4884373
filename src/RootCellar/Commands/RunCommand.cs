using System.CommandLine;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>The service.</summary>
internal static class RunCommand
{
    public static Command Build()
    {
        var data = CommandLine.Data();
        var http = new Option<string?>("--http")
        { Description = "where the pages are served, HOST:PORT (default 0.0.0.0:8080)", HelpName = "HOST:PORT" };
        var mqtt = new Option<string?>("--mqtt")
        { Description = "where the built-in MQTT broker listens, HOST:PORT (default 0.0.0.0:1883)", HelpName = "HOST:PORT" };
        var command = new CommandWithExamples("run", "Run the service.",
            "rootcellar run --data /var/lib/rootcellar --http 0.0.0.0:8080") { data, http, mqtt };
        command.SetAction((p, ct) => RunAsync(p.GetValue(data)!, p.GetValue(http), p.GetValue(mqtt), ct));
        return command;
    }

    private static async Task<int> RunAsync(string folder, string? http, string? mqtt, CancellationToken cancellationToken)
    {
        var problems = new List<string>();
        var settings = SettingsFile.Bind(SettingsFile.Load(folder, Overrides(http, mqtt), problems), problems);
        if (problems.Count > 0)
        {
            throw new UsageException(
                problems[0] + (problems.Count > 1 ? $" There is more ({problems.Count} in all): rootcellar check says it." : ""));
        }

        folder = Path.GetFullPath(folder);
        await using var app = ServiceHost.Build(settings, folder, new HouseClock(folder, MachineClock.OfThisMachine()));
        await app.StartServiceAsync(settings, cancellationToken);
        await app.WaitForShutdownAsync(cancellationToken);
        return 0;
    }

    private static IEnumerable<KeyValuePair<string, string?>> Overrides(string? http, string? mqtt)
    {
        if (http is not null) yield return new("Http:Listen", http);
        if (mqtt is not null) yield return new("Mqtt:Listen", mqtt);
    }
}
