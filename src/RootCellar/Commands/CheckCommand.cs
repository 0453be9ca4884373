using System.CommandLine;
using System.Text.Json;

namespace RootCellar.Commands;

/// <summary>Says everything that is wrong with the configuration.</summary>
internal static class CheckCommand
{
    public static Command Build()
    {
        var data = CommandLine.Data();
        var json = Print.JsonOption();
        var command = new CommandWithExamples("check", "Read the configuration and say everything that is wrong with it.", "rootcellar check --data /var/lib/rootcellar") { data, json };
        command.SetAction(p => Run(p.GetValue(data)!, p.GetValue(json)));
        return command;
    }

    private static int Run(string folder, bool json)
    {
        var problems = new List<string>();
        var settings = SettingsFile.Bind(SettingsFile.Load(folder, problems: problems), problems);
        if (json)
        {
            Console.WriteLine(JsonSerializer.Serialize(new { ok = problems.Count == 0, problems }, Json.Options));
        }
        else
        {
            foreach (var problem in problems) Console.Error.WriteLine(problem);
            if (problems.Count == 0)
            {
                var broker = settings.Mqtt.Broker.Host is { Length: > 0 } host ? $"MQTT from {host}:{settings.Mqtt.Broker.Port}" : $"MQTT broker on {settings.Mqtt.Listen}";
                Console.WriteLine($"All well. Pages on {settings.Http.Listen}, {broker}, data in {Path.GetFullPath(folder)}.");
            }
        }

        return problems.Count == 0 ? 0 : 1;
    }
}
