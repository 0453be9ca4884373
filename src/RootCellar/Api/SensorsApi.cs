using System.Text.Json;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Readings;

namespace RootCellar.Api;

/// <summary>Sensors: where they are, how they do, what they last said.</summary>
internal static class SensorsApi
{
    public static void Map(RouteGroupBuilder group)
    {
        group.MapGet("", (Pipeline pipeline) => pipeline.Snapshot.Sensors.Select(SensorShape.Of))
            .WithName("listSensors").WithSummary("Sensors: where they stand, what is wrong with them, what they last measured.");
        group.MapGet("unreadable", (Pipeline pipeline) => pipeline.Snapshot.Unreadable)
            .WithName("listUnreadable").WithSummary("Messages that could not be read.");
        group.MapGet("turned-away", (Pipeline pipeline) => TurnedAwayShape.Of(pipeline.Snapshot.TurnedAway))
            .WithName("readTurnedAway").WithSummary("Messages of new sensors that met a limit.");
        // A sensor is named by its topic, which has a slash in it.
        group.MapPatch("{**sensor}", async (string sensor, HttpContext context, Pipeline pipeline, CancellationToken cancellationToken) =>
                await ChangeAsync(sensor, await ApiRoutes.BodyAsync(context), pipeline, cancellationToken))
            .WithName("changeSensor").WithSummary("Changes the fields that are sent; null takes a field off, the rest of the sensor stays.")
            .Accepts<SensorChange>("application/json").Produces<SensorShape>()
            .ProducesProblem(StatusCodes.Status409Conflict);
        group.MapDelete("{**sensor}", ForgetAsync).WithName("forgetSensor").WithSummary("Forgets a sensor, and its password with it.")
            .Produces(StatusCodes.Status204NoContent);
    }

    internal static async Task<IResult> ForgetAsync(string sensor, ClientAccess access, CancellationToken cancellationToken)
    {
        var key = Uri.UnescapeDataString(sensor);
        return await access.ForgetAsync(key).WaitAsync(cancellationToken)
            ? Results.NoContent() : ApiRoutes.Missing($"There is no sensor '{key}'.");
    }

    internal static async Task<IResult> ChangeAsync(string sensor, JsonElement body, Pipeline pipeline, CancellationToken cancellationToken)
    {
        var key = Uri.UnescapeDataString(sensor);
        if (body.ValueKind != JsonValueKind.Object) return ApiRoutes.Wrong("""Right: {"place":"curing-room","name":"by the door"}.""");
        if (Text(body, "place", out var place) is { } notPlace) return notPlace;
        if (Text(body, "name", out var given) is { } notName) return notName;
        if (Text(body, "replaces", out var old) is { } notOld) return notOld;
        if (SensorNaming.Read(given, out var name) is { } odd) return ApiRoutes.Wrong(odd.Text);
        var (placed, named, replaces) = (Has(body, "place"), Has(body, "name"), Has(body, "replaces"));
        if (placed && replaces) return ApiRoutes.Wrong("replaces: it gets the place of the other. Leave out place.");
        var carriedOver = body.TryGetProperty("carriedOver", out var word) && word.ValueKind == JsonValueKind.True;
        return await pipeline.AskAsync(
            (house, wall, mono) =>
            {
                if (house.ViewSensor(key) is not { } before) return ApiRoutes.Missing($"There is no sensor '{key}'.");
                if ((placed || named) && pipeline.Snapshot.CalledAlike(key, placed ? place : before.Place, named ? name : before.Name) is { } alike)
                    return ApiRoutes.Wrong($"name: '{alike.Key}' of the same place is called '{alike.Called}'. Right: a name of its own for each sensor of a place.");
                if (place is not null && !house.Knows(place))
                    return ApiRoutes.Wrong($"place: there is no place '{place}'. Add it first: POST /api/places.");
                var asked = body.TryGetProperty("calibration", out var calibrations)
                    ? CalibrationBody.Read(calibrations, wall) : new CalibrationAsked([], null);
                if (asked.Wrong is { } wrong) return ApiRoutes.Wrong(wrong);
                if (replaces && old is null) house.TakeBackReplacement(key, mono, wall);
                else if (replaces && Refusal(house.Replace(key, old!, carriedOver, mono, wall), house.ViewSensor(key)!, old!) is { } refused)
                    return refused;
                foreach (var (quantity, calibration) in asked.Changes) house.SaveCalibration(key, quantity, calibration, wall);
                var known = house.ViewSensor(key)!;
                if (placed || named) house.SaveSensor(key, placed ? place : known.Place, named ? name : known.Name, mono, wall);
                return Results.Ok(SensorShape.Of(house.ViewSensor(key)!));
            },
            cancellationToken);
    }

    /// <summary>Why a sensor does not take another's place; null where it has.</summary>
    private static IResult? Refusal(ReplaceOutcome outcome, SensorView sensor, string old) => outcome switch
    {
        ReplaceOutcome.Done => null,
        ReplaceOutcome.Itself => ApiRoutes.Wrong("replaces: a sensor cannot take its own place. Right: the other sensor, the one that goes."),
        ReplaceOutcome.OldNowhere => ApiRoutes.Wrong($"replaces: '{old}' is in no place, so there is none to take. Give place instead."),
        ReplaceOutcome.NewElsewhere => Results.Problem(
            $"'{sensor.Key}' is in '{sensor.Place}'. Where it was carried over, say so with \"carriedOver\": true; '{sensor.Place}' is watched without it then.",
            statusCode: StatusCodes.Status409Conflict),
        _ => ApiRoutes.Wrong($"replaces: there is no sensor '{old}'. Right: one of GET /api/sensors."),
    };

    private static bool Has(JsonElement body, string name) => body.TryGetProperty(name, out _);

    // Absent means unchanged, null means none.
    private static IResult? Text(JsonElement body, string name, out string? text)
    {
        text = null;
        if (!body.TryGetProperty(name, out var given) || given.ValueKind == JsonValueKind.Null) return null;
        if (given.ValueKind != JsonValueKind.String) return ApiRoutes.Wrong($"{name}: right is a text in quotation marks, or null for none.");
        text = given.GetString();
        return null;
    }
}

/// <summary>What can be changed of a sensor, as the document says it.</summary>
/// <param name="Replaces">The sensor whose place it takes; null takes that back.</param>
/// <param name="CarriedOver">It was in another place, and is there no more.</param>
internal sealed record SensorChange(string? Place = null, string? Name = null, CalibrationChange? Calibration = null, string? Replaces = null,
    bool? CarriedOver = null);

internal sealed record CalibrationChange(
    IReadOnlyList<ReferenceGiven>? Humidity = null, IReadOnlyList<ReferenceGiven>? Temperature = null,
    IReadOnlyList<ReferenceGiven>? Pulp = null);

/// <summary>
/// What a sensor read over a salt (<c>standard</c>, <c>temperatureC</c>), or beside another instrument or in an ice bath
/// (<c>reference</c>).
/// </summary>
internal sealed record ReferenceGiven(
    double Reads, string? Standard = null, double? TemperatureC = null, double? Reference = null, double? PlusOrMinus = null,
    double? Spread = null);
