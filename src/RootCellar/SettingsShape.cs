using System.Collections;
using System.ComponentModel;
using System.Reflection;
using RootCellar.Household;
using RootCellar.Readings;

namespace RootCellar;

/// <summary>
/// Holds what was given against what there is: keys that are known, and under each a value of its kind. What is not is said with its key,
/// the value and what would be right, and is left out, so that the rest can be looked at as well.
/// </summary>
internal sealed class SettingsShape
{
    private readonly List<string> refused = [];
    private readonly ICollection<string> problems;
    private readonly IConfiguration given;

    public SettingsShape(IConfiguration given, ICollection<string> problems)
    {
        (this.given, this.problems) = (given, problems);
        Group(given, typeof(Settings), "");
    }

    /// <summary>What can be read.</summary>
    public IConfiguration Readable => refused.Count == 0
        ? given
        : new ConfigurationBuilder().AddInMemoryCollection(
            given.AsEnumerable().Where(v => v.Value is not null && !refused.Exists(r => Under(v.Key, r)))).Build();

    private static bool Under(string key, string of) =>
        key.StartsWith(of, StringComparison.OrdinalIgnoreCase) && (key.Length == of.Length || key[of.Length] == ':');

    private void Group(IConfiguration group, Type type, string path)
    {
        var properties = type.GetProperties(BindingFlags.Public | BindingFlags.Instance);
        foreach (var child in group.GetChildren())
        {
            var key = path.Length == 0 ? child.Key : $"{path}:{child.Key}";
            if (Array.Find(properties, p => p.Name.Equals(child.Key, StringComparison.OrdinalIgnoreCase)) is { } property)
            {
                One(child, property.PropertyType, key);
                continue;
            }

            var nearest = Nearest.Of(child.Key, properties.Select(p => p.Name));
            problems.Add($"{key}: no such key.{(nearest is null ? $" Known here: {string.Join(", ", properties.Select(p => p.Name))}." : $" Did you mean {(path.Length == 0 ? nearest : $"{path}:{nearest}")}?")}");
        }
    }

    private void One(IConfigurationSection section, Type type, string key)
    {
        if (SettingsFile.IsOptions(type)) Keys(section, key, () => Group(section, type, key));
        else if (type == typeof(IList<Mapping>)) List(section, key);
        else if (typeof(IEnumerable).IsAssignableFrom(type) && type != typeof(string)) Keys(section, key, () => Texts(section, key));
        else Value(section, type, key);
    }

    private void Keys(IConfigurationSection section, string key, Action inside)
    {
        if (section.Value is { Length: > 0 } value)
            Refuse(section, $"{key}: '{value}' is a single value. Right: keys in braces, {{ ... }}.");
        else if (IsList(section)) Refuse(section, $"{key}: a list is given. Right: keys in braces, {{ ... }}.");
        else inside();
    }

    private void List(IConfigurationSection section, string key)
    {
        if (section.Value is { Length: > 0 } value)
            Refuse(section, $"{key}: '{value}' is a single value. Right: a list in brackets, [ {{ ... }} ].");
        else if (section.GetChildren().Any() && !IsList(section))
            Refuse(section, $"{key}: keys are given. Right: a list in brackets, [ {{ ... }} ].");
        else foreach (var one in section.GetChildren())
            Keys(one, $"{key}:{one.Key}", () => Group(one, typeof(Mapping), $"{key}:{one.Key}"));
    }

    private void Texts(IConfigurationSection section, string key)
    {
        foreach (var one in section.GetChildren()) Value(one, typeof(string), $"{key}:{one.Key}");
    }

    private void Value(IConfigurationSection section, Type type, string key)
    {
        var children = section.GetChildren().ToList();
        if (children.Count > 0)
        {
            var example = children.Count == 1 && IsList(section) && children[0].Value is { } only && Fits(only, type)
                ? $": {Written(only, type)}" : $", {Right(type)}";
            Refuse(section, $"{key}: {(IsList(section) ? "a list is given" : "keys are given")}, {string.Join(", ", children.Select(c => IsList(section) ? $"'{c.Value}'" : c.Key).Take(3))}. Right: a single value{example}.");
        }
        else if (section.Value is null && (Nullable.GetUnderlyingType(type) is not null || type == typeof(string)))
        {
            // null is what a key that is not there means.
            refused.Add(section.Path);
        }
        else if (section.Value is null || !Fits(section.Value, type))
        {
            Refuse(section, $"{key}: {(section.Value is null ? "null" : $"'{section.Value}'")} is not {Right(type)}.");
        }
    }

    private void Refuse(IConfigurationSection section, string problem)
    {
        refused.Add(section.Path);
        problems.Add(problem);
    }

    // Lists come as keys 0, 1, 2.
    private static bool IsList(IConfigurationSection section) => section.GetChildren().Any() && section.GetChildren()
        .All(c => c.Key.All(char.IsAsciiDigit));

    private static bool Fits(string value, Type type)
    {
        try
        {
            return type == typeof(string) || TypeDescriptor.GetConverter(type).ConvertFromInvariantString(value) is not null
                || Nullable.GetUnderlyingType(type) is not null;
        }
        catch (Exception e) when (e is ArgumentException or FormatException or OverflowException or NotSupportedException)
        {
            return false;
        }
    }

    private static string Written(string value, Type type) => type == typeof(string) ? $"\"{value}\"" : value;

    private static string Right(Type type) => (Nullable.GetUnderlyingType(type) ?? type) switch
    {
        var t when t == typeof(bool) => "true or false",
        var t when t == typeof(int) || t == typeof(long) => "a whole number, such as 30",
        var t when t == typeof(double) => "a number, such as 0.5",
        _ => "a text in quotation marks",
    };
}
