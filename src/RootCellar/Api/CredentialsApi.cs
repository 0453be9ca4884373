using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Api;

/// <summary>Asks for a password: of the sensor with this key, or of a reader called so.</summary>
internal sealed record NewCredential(string? Sensor, string? Reader);

/// <summary>Whether set-up is finished, and with it whether whatever connects from elsewhere needs a password.</summary>
internal sealed record BrokerChange(bool? SetUpFinished);

/// <summary>Passwords of single MQTT clients, and what the built-in broker holds and turns away. All of it is the household's.</summary>
internal static class CredentialsApi
{
    private const string Right = """Right: {"sensor":"cellar/door"} or {"reader":"siren"}.""";

    public static void Map(RouteGroupBuilder group, MqttOptions mqtt)
    {
        var household = group.MapGroup("").WithMetadata(new HouseholdOnly());
        household.MapGet("credentials", (SensorDoor door) => door.Facts.Credentials.Select(Shape));
        household.MapPost("credentials", (NewCredential body, ClientAccess access, SensorDoor door, Pipeline pipeline, CancellationToken cancellationToken) =>
            AddAsync(body, mqtt, access, door, pipeline, cancellationToken));
        household.MapPost("credentials/{id:long}/renew", (long id, ClientAccess access, SensorDoor door, CancellationToken cancellationToken) => TryAsync(async () =>
            await access.RenewAsync(id).WaitAsync(cancellationToken) is { } secret ? Results.Ok(Once(Find(door, id)!, secret)) : Unknown(id)));
        household.MapDelete("credentials/{id:long}", (long id, ClientAccess access, CancellationToken cancellationToken) => TryAsync(async () =>
            await access.RemoveAsync(id).WaitAsync(cancellationToken) ? Results.NoContent() : Unknown(id)));
        household.MapGet("broker", (SensorDoor door, Refusals refusals, IServiceProvider services) => Standing(mqtt, door, refusals, services.GetService<BuiltInBroker>()));
        household.MapPatch("broker", (BrokerChange body, ClientAccess access, SensorDoor door, Refusals refusals, IServiceProvider services, CancellationToken cancellationToken) => TryAsync(async () =>
        {
            if (body.SetUpFinished is not { } finished) return ApiRoutes.Wrong("""setUpFinished is missing. Right: {"setUpFinished":true}, and a password is asked for.""");
            await access.SetFinishedAsync(finished).WaitAsync(cancellationToken);
            return Results.Ok(Standing(mqtt, door, refusals, services.GetService<BuiltInBroker>()));
        }));
    }

    private static async Task<IResult> AddAsync(NewCredential body, MqttOptions mqtt, ClientAccess access, SensorDoor door, Pipeline pipeline, CancellationToken cancellationToken)
    {
        if (mqtt.Broker.Host is { Length: > 0 } host)
        {
            return Results.Problem($"The broker {host} decides who connects: make the account there.", statusCode: StatusCodes.Status409Conflict);
        }

        if (string.IsNullOrWhiteSpace(body.Sensor) == string.IsNullOrWhiteSpace(body.Reader)) return ApiRoutes.Wrong($"sensor or reader is needed, and only one of them. {Right}");
        if (body.Reader?.Trim() is { } reader)
        {
            if (reader.Length > 60 || reader.Any(char.IsControl)) return ApiRoutes.Wrong("reader: a name of at most 60 characters on one line.");
            if (door.Facts.Credentials.FirstOrDefault(c => c.Kind == ClientKind.Reader && c.Name == reader) is { } taken)
            {
                return Results.Problem($"reader: there is one named '{reader}' already. A new password for it: POST /api/credentials/{taken.Id}/renew.", statusCode: StatusCodes.Status409Conflict);
            }

            return await TryAsync(async () => Made(door, ClientKind.Reader, reader, await access.ForReaderAsync(reader).WaitAsync(cancellationToken)));
        }

        var sensor = body.Sensor!;
        if (pipeline.Snapshot.Sensor(sensor) is null)
        {
            return ApiRoutes.Missing($"sensor: there is no sensor '{sensor}'. It is known once it was heard; GET /api/sensors shows those that were.");
        }

        return await TryAsync(async () => Made(door, ClientKind.Sensor, sensor, await access.ForSensorAsync(sensor).WaitAsync(cancellationToken)));
    }

    private static async Task<IResult> TryAsync(Func<Task<IResult>> change)
    {
        try
        {
            return await change();
        }
        catch (StoreProblemException e)
        {
            return Results.Problem($"Nothing was changed: {e.Message}", statusCode: StatusCodes.Status503ServiceUnavailable);
        }
    }

    private static object Standing(MqttOptions mqtt, SensorDoor door, Refusals refusals, BuiltInBroker? broker) => new
    {
        broker = broker is null ? $"{mqtt.Broker.Host}:{mqtt.Broker.Port}" : "built-in",
        setUpFinished = door.Facts.SetUpFinished,
        open = broker is not null && door.IsOpen,
        clients = broker?.Clients,
        retainedMessages = broker?.Retained.Messages,
        retainedBytes = broker?.Retained.Bytes,
        refused = refusals.View().Select(r => new { reason = Refusals.Word(r.Reason), r.Count, r.Since, r.Last, r.Addresses, r.MoreAddresses }),
    };

    private static IResult Made(SensorDoor door, ClientKind kind, string name, string secret)
    {
        var known = door.Facts.Credentials.First(c => c.Kind == kind && c.Name == name);
        return Results.Created($"/api/credentials/{known.Id}", Once(known, secret));
    }

    private static ClientCredential? Find(SensorDoor door, long id) => door.Facts.Credentials.FirstOrDefault(c => c.Id == id);

    private static IResult Unknown(long id) => ApiRoutes.Missing($"There is no credential {id}; GET /api/credentials lists them.");

    private static object Shape(ClientCredential known) => new { known.Id, kind = Kind(known), known.Name, known.CreatedAt, known.FirstUsed };

    private static object Once(ClientCredential known, string secret) => new { known.Id, kind = Kind(known), known.Name, known.CreatedAt, known.FirstUsed, secret };

    private static string Kind(ClientCredential known) => known.Kind == ClientKind.Reader ? "reader" : "sensor";
}
