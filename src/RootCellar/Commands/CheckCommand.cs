using System.CommandLine;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Report;
using RootCellar.Tell;
using RootCellar.Tls;

namespace RootCellar.Commands;

/// <summary>Says everything that is wrong with the configuration.</summary>
internal static class CheckCommand
{
    public static Command Build()
    {
        var data = CommandLine.Data();
        var json = Print.JsonOption();
        var command = new CommandWithExamples("check", "Read the configuration and say everything that is wrong with it.",
            "rootcellar check --data /var/lib/rootcellar") { data, json };
        command.SetAction(p => Run(p.GetValue(data)!, p.GetValue(json), p.InvocationConfiguration));
        return command;
    }

    private static int Run(string folder, bool json, InvocationConfiguration to)
    {
        if (!Directory.Exists(folder))
            throw new UsageException(
                $"there is no folder {Path.GetFullPath(folder)}. Give the service's data folder: --data DIR. A new one is made by its first 'rootcellar run'.");
        var problems = new List<string>();
        var settings = SettingsFile.Bind(SettingsFile.Load(folder, problems: problems), problems);
        problems.AddRange(Language.Of(settings.Household, folder).Problems);
        problems.AddRange(new TemplateSet(Path.Combine(folder, "templates")).Problems.Select(p => p.ToString()));
        problems.AddRange(new ReportTemplates(Path.Combine(folder, "templates")).Problems.Select(p => p.ToString()));
        problems.AddRange(CertificateOf(settings));
        try
        {
            OwnCropFile.Read(folder, TimeProvider.System.GetUtcNow());
        }
        catch (OwnCropProblemException wrong)
        {
            problems.Add(wrong.Message);
        }

        if (json)
        {
            Print.Json(to.Output, new { ok = problems.Count == 0, problems });
        }
        else
        {
            foreach (var problem in problems) to.Error.WriteLine(problem);
            if (problems.Count == 0)
            {
                var broker = settings.Mqtt.Broker.Host is { Length: > 0 } host
                    ? $"MQTT from {host}:{settings.Mqtt.Broker.Port}" : $"MQTT broker on {settings.Mqtt.Listen}";
                to.Output.WriteLine($"All well. Pages on {settings.Http.Listen}, {broker}, {(settings.Tls.IsSet ? "https and TLS by the certificate, " : "")}data in {Path.GetFullPath(folder)}{(File.Exists(Path.Combine(folder, SettingsFile.Name)) ? "" : $"; no {SettingsFile.Name} there, so everything is as it comes")}.");
            }
        }

        return problems.Count == 0 ? 0 : 1;
    }

    private static IEnumerable<string> CertificateOf(Settings settings)
    {
        if (!settings.Tls.IsSet) yield break;
        var certificate = new HouseCertificate(settings.Tls, TimeProvider.System, NullLogger<HouseCertificate>.Instance).Now;
        if (certificate.CallsForSomeone) yield return CertificateWords.Why(certificate);
        var key = settings.Tls.KeyFile;
        if (new FileInfo(key) is { Exists: true } file && (file.UnixFileMode & UnixFileMode.OtherRead) != UnixFileMode.None)
            yield return Strings.CertificateKeyOpen.With(key);
    }
}
