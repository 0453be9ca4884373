using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;
using RootCellar.Storage;

namespace RootCellar.Ledger.Events;

/// <summary>A kind of event: its name in API, CSV and record, and how its fields are read.</summary>
/// <param name="name">Its name on the wire.</param>
/// <param name="read">Reads its own fields; null for a correction, whose fields are those of what it corrects.</param>
internal sealed class EventKind(string name, Func<FieldReader, LedgerEvent>? read)
{
    private static readonly JsonSerializerOptions AsFields =
        JsonRules.Configure(new() { DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingDefault });

    // What it asks for of an entry without any field, it asks for of every entry.
    private readonly Lazy<FieldReader> asked = new(() =>
    {
        var reader = new FieldReader(EventReader.Element(new JsonObject()), name);
        read?.Invoke(reader);
        return reader;
    });

    public string Name => name;

    /// <summary>Its fields that are names people give.</summary>
    public IReadOnlyList<string> NameFields => asked.Value.Names;

    /// <summary>Its fields that are days or moments.</summary>
    public IReadOnlyList<string> Dates => asked.Value.Dates;

    public override string ToString() => name;

    /// <summary>The event its fields tell of; null where they make no sense, or are of a correction.</summary>
    public LedgerEvent? Read(JsonElement fields) => read is null ? null : Read(fields, out _);

    /// <summary>The event, or what is wrong with its fields.</summary>
    public LedgerEvent? Read(JsonElement fields, out Question? wrong)
    {
        var reader = new FieldReader(fields, name);
        try
        {
            var sure = reader.Flag("checked");
            var told = read!(reader);
            reader.NothingElse();
            wrong = reader.Refused;
            return wrong is null ? sure ? told with { Checked = true } : told : null;
        }
        catch (Exception e) when (e is InvalidOperationException or ArgumentException or FormatException or OverflowException)
        {
            // Half a character, a day at the edge of the calendar: nothing an entry can be made of, and no reason to stop at the others.
            wrong = Question.Of(QuestionCode.Unreadable, $"{name}: {e.Message}", null);
            return null;
        }
    }

    /// <summary>The fields of an event, as the API is sent them.</summary>
    public static JsonObject Write(LedgerEvent what)
    {
        var fields = new JsonObject { ["event"] = what.Kind().Name };
        var own = JsonSerializer.SerializeToNode(what, what.GetType(), AsFields)!.AsObject();
        foreach (var (name, value) in Flat(own)) fields[name] = value;
        return fields;
    }

    /// <summary>An amount is no field: its weight or its measure is.</summary>
    private static IEnumerable<(string Name, JsonNode? Value)> Flat(JsonObject fields)
    {
        foreach (var (name, value) in fields)
        {
            if (value is JsonArray { Count: 0 }) continue;
            if (name == "amount" && value is JsonObject amount)
            {
                foreach (var (inner, figure) in amount) yield return (inner, figure?.DeepClone());
            }
            else
            {
                yield return (name, value is JsonArray list && list[0] is JsonObject ? Whole(list) : value?.DeepClone());
            }
        }
    }

    private static JsonArray Whole(JsonArray items) =>
        new([.. items.Select(i => new JsonObject(Flat(i!.AsObject()).Select(f => KeyValuePair.Create(f.Name, f.Value))))]);
}
