using System.Collections;
using System.ComponentModel.DataAnnotations;
using System.Reflection;
using RootCellar.Household;
using RootCellar.Readings;
using RootCellar.Tell;

namespace RootCellar;

/// <summary>Reads the settings and says everything that is wrong with them, each with its key and what would be right.</summary>
internal static class SettingsFile
{
    public const string Name = "rootcellar.json";
    public const string EnvironmentPrefix = "ROOTCELLAR__";

    /// <summary>The sources in their order: file, environment, then what the command line gave.</summary>
    public static IConfigurationRoot Load(string dataFolder, IEnumerable<KeyValuePair<string, string?>>? commandLine = null,
        ICollection<string>? problems = null)
    {
        var file = Path.Combine(dataFolder, Name);
        try
        {
            return Sources(file, commandLine);
        }
        catch (Exception e) when (e is InvalidDataException or FormatException or System.Text.Json.JsonException && problems is not null)
        {
            problems.Add($"{file}: not readable as JSON ({(e.InnerException ?? e).Message}). Comments and trailing commas are allowed; check quotes and braces near there.");
            return Sources(null, commandLine);
        }
    }

    public static Settings Bind(IConfiguration configuration, ICollection<string> problems)
    {
        var settings = new Settings();
        new SettingsShape(configuration, problems).Readable.Bind(settings);
        settings.Household.Given = configuration.GetSection(nameof(Settings.Household)).GetChildren().Where(k => k.Value is { Length: > 0 })
            .Select(k => k.Key).ToHashSet(StringComparer.OrdinalIgnoreCase);
        CheckValues(settings, "", problems);
        CheckSense(settings, problems);
        return settings;
    }

    private static IConfigurationRoot Sources(string? file, IEnumerable<KeyValuePair<string, string?>>? commandLine)
    {
        var builder = new ConfigurationBuilder();
        if (file is not null) builder.AddJsonFile(Path.GetFullPath(file), optional: true, reloadOnChange: false);
        return builder
            .AddEnvironmentVariables(EnvironmentPrefix)
            .AddInMemoryCollection(commandLine ?? [])
            .Build();
    }

    internal static bool IsOptions(Type type) => type.IsClass && type.Assembly == typeof(Settings).Assembly && !typeof(IEnumerable)
        .IsAssignableFrom(type);

    private static void CheckValues(object options, string path, ICollection<string> problems)
    {
        foreach (var property in options.GetType().GetProperties(BindingFlags.Public | BindingFlags.Instance))
        {
            if (property.GetIndexParameters().Length > 0) continue;
            var key = path.Length == 0 ? property.Name : $"{path}:{property.Name}";
            var value = property.GetValue(options);
            foreach (var rule in property.GetCustomAttributes<ValidationAttribute>())
            {
                if (rule.IsValid(value)) continue;
                var right = rule is RangeAttribute range ? $"must be from {range.Minimum} to {range.Maximum}"
                    : $"must be {rule.ErrorMessage}";
                problems.Add($"{key}: '{value}' {right}.");
            }

            if (value is not null && IsOptions(property.PropertyType)) CheckValues(value, key, problems);
        }
    }

    private static void CheckSense(Settings settings, ICollection<string> problems)
    {
        foreach (var (key, listen) in new[] { ("Http:Listen", settings.Http.Listen), ("Mqtt:Listen", settings.Mqtt.Listen) })
        {
            if (ListenAddress.Of(listen) is null)
                problems.Add($"{key}: '{listen}' is not HOST:PORT. Right: 0.0.0.0:8080 (every address of this machine) or 127.0.0.1:8080 (this machine only).");
        }

        foreach (var problem in settings.Http.Problems().Concat(settings.Tls.Problems()).Concat(settings.Watch.Problems()).Concat(settings.Backup.Problems()).Concat(settings.Mirror.Influx.Problems()))
            problems.Add(problem);
        foreach (var (key, file) in new[] { ("Mqtt:Broker:PasswordFile", settings.Mqtt.Broker.PasswordFile),
            ("Tell:Mail:PasswordFile", settings.Tell.Mail.PasswordFile) })
        {
            if (file is not null && !File.Exists(file))
                problems.Add($"{key}: there is no file '{file}'. It holds the password and nothing else.");
        }

        if (settings.Household.TimeZone is { Length: > 0 } zone && !TimeZoneInfo.TryFindSystemTimeZoneById(zone, out _))
        {
            problems.Add($"Household:TimeZone: '{zone}' is not a known zone. Right: America/New_York, Europe/Berlin.");
        }

        if (settings.Tell.Post.Url is { Length: > 0 } url
            && !(Uri.TryCreate(url, UriKind.Absolute, out var parsed) && parsed.Scheme is "http" or "https"))
        {
            problems.Add($"Tell:Post:Url: '{url}' is not a web address. Right: https://gateway.example/send.");
        }

        if (PostChannel.TemplateProblem(settings.Tell.Post.BodyTemplate) is { } fault) problems.Add($"Tell:Post:BodyTemplate: {fault}");
        var number = 0;
        foreach (var mapping in settings.Mqtt.Mappings)
        {
            foreach (var problem in MappingRules.Validate(mapping)) problems.Add($"Mqtt:Mappings:{number}: {problem}");
            number++;
        }
    }
}
