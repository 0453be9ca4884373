using System.Text;
using System.Text.Json;
using RootCellar.Entry;
using RootCellar.Monitoring;
using RootCellar.Readings;

namespace RootCellar.Api;

internal sealed record HeardValueShape(string? Pointer, string? Pick, string Text, double? Value, ValueGuess? Guess);

/// <summary>A topic that is no sensor of ours yet.</summary>
/// <param name="Payload">Its last message; bytes that are no text in hexadecimal, and only the beginning of one that is too long.</param>
/// <param name="Nothing">Why no figure is found in it: no-figure, binary, too-long; null where one is.</param>
internal sealed record HeardShape(
    string Topic, DateTimeOffset At, double? EverySeconds, string Payload, IReadOnlyList<HeardValueShape> Values, string Device,
    IReadOnlyDictionary<string, string> Where, string? StatusTopic, string? Nothing);

/// <summary>A mapping. Of sensor: its name, {"level":N} of the topic, or {"pointer":P} into the message.</summary>
/// <param name="Id">Made by the service.</param>
/// <param name="SetBy">file: the settings file, where it can be changed; page: the page or this API.</param>
internal sealed record MappingShape(
    string? Id = null, string? Topic = null, string? Pointer = null, string? Pick = null, string? Quantity = null, string? Unit = null, double? Scale = null,
    double? Offset = null, JsonElement? Sensor = null, string? Place = null, Dictionary<string, string>? Where = null, MappingStatusShape? Status = null,
    string? SetBy = null);

/// <summary>The topic that says whether the sensor is there, and its words.</summary>
internal sealed record MappingStatusShape(string? Topic = null, string? Online = null, string? Offline = null);

/// <summary>What is heard and not understood yet, and how it is to be read.</summary>
internal static class MappingsApi
{
    public static void Map(RouteGroupBuilder api)
    {
        api.MapGet("/heard", (HeardTopics heard) =>
            {
                var all = heard.All;
                return all.Values.OrderBy(h => h.Topic, StringComparer.Ordinal).Select(h => Shape(h, Recipe.Of(h, all)));
            })
            .WithName("listHeard").WithSummary("Every topic heard that is no sensor of ours yet, with what its values most likely are.")
            .WithMetadata(new HouseholdOnly());
        var group = api.MapGroup("/mappings").WithMetadata(new HouseholdOnly());
        group.MapGet("", (MappingDesk desk) => desk.Configured.Select(m => Shape(m, "file")).Concat(desk.Kept.Select(m => Shape(m, "page"))))
            .WithName("listMappings").WithSummary("How topics that are not of our convention are read.");
        group.MapPost("", AddAsync).WithName("addMapping")
            .WithSummary("Reads a topic from now on, and what was heard of it in the last hours; of a place that there is, its sensor stands there.")
            .Produces<MappingShape>(StatusCodes.Status201Created);
        group.MapDelete("{id}", (string id, MappingDesk desk) =>
            desk.Configured.Any(m => m.Id == id)
                ? Results.Problem("It is set in the service's settings (Mqtt:Mappings): change it there.", statusCode: StatusCodes.Status409Conflict)
                : desk.Remove([id]) ? Results.NoContent() : ApiRoutes.Missing($"There is no mapping '{id}'."))
            .WithName("removeMapping").WithSummary("Removes a mapping; readings that came through it stay.").Produces(StatusCodes.Status204NoContent);
    }

    private static async Task<IResult> AddAsync(MappingShape body, MappingDoor door, MappingDesk desk, CancellationToken cancellationToken)
    {
        if (Read(body, out var mapping) is { } wrong) return ApiRoutes.Wrong(wrong);
        if (MappingRules.Validate(mapping) is { Count: > 0 } problems) return ApiRoutes.Wrong(string.Join(" ", problems));
        var ids = await door.AddAsync([mapping], cancellationToken);
        return ids is [var id]
            ? Results.Created($"/api/mappings/{id}", Shape(desk.Kept.First(m => m.Id == id), "page"))
            : Results.Problem($"There are {MappingDesk.Most} mappings already.", statusCode: StatusCodes.Status409Conflict);
    }

    private static string? Read(MappingShape body, out Mapping mapping)
    {
        mapping = new Mapping
        {
            Topic = body.Topic ?? "",
            Pointer = body.Pointer,
            Pick = body.Pick,
            Quantity = body.Quantity ?? "",
            Unit = body.Unit,
            Scale = body.Scale,
            Offset = body.Offset,
            Place = body.Place,
            Where = body.Where ?? [],
            StatusTopic = body.Status?.Topic,
            Online = body.Status?.Online ?? "online",
            Offline = body.Status?.Offline ?? "offline",
        };
        switch (body.Sensor)
        {
            case null or { ValueKind: JsonValueKind.Null or JsonValueKind.Undefined }:
                return null;
            case { ValueKind: JsonValueKind.String } name:
                mapping.Sensor = name.GetString();
                return null;
            case { ValueKind: JsonValueKind.Object } from when from.TryGetProperty("level", out var level) && level.TryGetInt32(out var number):
                mapping.SensorLevel = number;
                return null;
            case { ValueKind: JsonValueKind.Object } from when from.TryGetProperty("pointer", out var pointer) && pointer.ValueKind == JsonValueKind.String:
                mapping.SensorPointer = pointer.GetString();
                return null;
            default:
                return """sensor: right are a name, {"level":2} or {"pointer":"/id"}.""";
        }
    }

    private static HeardShape Shape(HeardTopic heard, Recipe recipe) => new(
        heard.Topic, heard.At, heard.EverySeconds, heard.Written,
        [.. recipe.Values.Select(v => new HeardValueShape(v.Found.Pointer, v.Found.Pick, v.Found.Text, v.Found.Value, v.Guess))],
        recipe.Device, recipe.Where, recipe.Status?.Topic,
        recipe.Nothing switch { null => null, NothingFound.Binary => "binary", NothingFound.TooLong => "too-long", _ => "no-figure" });

    private static MappingShape Shape(KeptMapping kept, string setBy)
    {
        var m = kept.Mapping;
        JsonElement? sensor = m.Sensor is not null ? JsonSerializer.SerializeToElement(m.Sensor)
            : m.SensorLevel is { } level ? JsonSerializer.SerializeToElement(new Dictionary<string, int>(StringComparer.Ordinal) { ["level"] = level })
            : m.SensorPointer is { } pointer ? JsonSerializer.SerializeToElement(new Dictionary<string, string>(StringComparer.Ordinal) { ["pointer"] = pointer })
            : null;
        return new MappingShape(
            kept.Id, m.Topic, m.Pointer, m.Pick, m.Quantity, m.Unit, m.Scale, m.Offset, sensor, m.Place,
            m.Where.Count == 0 ? null : new Dictionary<string, string>(m.Where, StringComparer.Ordinal),
            m.StatusTopic is { } topic ? new MappingStatusShape(topic, m.Online, m.Offline) : null, setBy);
    }
}
