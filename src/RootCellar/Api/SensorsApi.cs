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
            .WithName("listSensors").WithSummary("Sensors: where they are, how they do, what they last said.");
        group.MapGet("unreadable", (Pipeline pipeline) => pipeline.Snapshot.Unreadable)
            .WithName("listUnreadable").WithSummary("Messages that could not be read.");
        group.MapGet("turned-away", (Pipeline pipeline) => TurnedAwayShape.Of(pipeline.Snapshot.TurnedAway))
            .WithName("readTurnedAway").WithSummary("Messages of new sensors that met a limit.");
        // A sensor is named by its topic, which has a slash in it.
        group.MapPatch("{**sensor}", async (string sensor, HttpContext context, Pipeline pipeline, CancellationToken cancellationToken) =>
                await ChangeAsync(sensor, await ApiRoutes.BodyAsync(context), pipeline, cancellationToken))
            .WithName("changeSensor").WithSummary("Changes what is given of a sensor; null takes it off.")
            .Accepts<SensorChange>("application/json").Produces<SensorShape>();
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
        return await pipeline.AskAsync(
            (house, wall, mono) =>
            {
                var known = house.ViewSensor(key);
                if (known is null) return ApiRoutes.Missing($"There is no sensor '{key}'.");
                var place = Text(body, "place", known.Place);
                if (place is not null && !house.Knows(place))
                    return ApiRoutes.Wrong($"place: there is no place '{place}'. Add it first: POST /api/places.");
                var asked = body.TryGetProperty("calibration", out var given)
                    ? CalibrationBody.Read(given, wall) : new CalibrationAsked([], null);
                if (asked.Wrong is { } wrong) return ApiRoutes.Wrong(wrong);
                foreach (var (quantity, calibration) in asked.Changes) house.SaveCalibration(key, quantity, calibration, wall);
                house.SaveSensor(key, place, Text(body, "name", known.Name), mono, wall);
                return Results.Ok(SensorShape.Of(house.ViewSensor(key)!));
            },
            cancellationToken);
    }

    // Absent means unchanged, null means none.
    private static string? Text(JsonElement body, string name, string? unchanged) => body.TryGetProperty(name, out var given)
        ? given.ValueKind == JsonValueKind.String ? given.GetString() : null
        : unchanged;
}

/// <summary>What can be changed of a sensor, as the document says it.</summary>
internal sealed record SensorChange(string? Place = null, string? Name = null, CalibrationChange? Calibration = null);

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
