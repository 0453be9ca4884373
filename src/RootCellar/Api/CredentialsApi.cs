using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Readings;

namespace RootCellar.Api;

/// <summary>Asks for a password: of the sensor with this key, or of a reader called so.</summary>
internal sealed record NewCredential(string? Sensor = null, string? Reader = null);

/// <summary>Whether set-up is finished, and with it whether whatever connects from elsewhere needs a password.</summary>
internal sealed record BrokerChange(bool? SetUpFinished = null);

/// <summary>Passwords of single MQTT clients, and what the built-in broker holds and turns away. All of it is the household's.</summary>
internal static class CredentialsApi
{
    private const string Right = """Right: {"sensor":"cellar/door"} or {"reader":"siren"}.""";

    public static void Map(RouteGroupBuilder group, MqttOptions mqtt)
    {
        var household = group.MapGroup("").WithMetadata(new HouseholdOnly());
        household.MapGet("credentials", (SensorDoor door) => door.Facts.Credentials.Select(CredentialShape.Of))
            .WithName("listCredentials").WithSummary("Passwords of single MQTT clients, without their secrets.");
        household.MapPost("credentials",
            (NewCredential body, ClientAccess access, SensorDoor door, Pipeline pipeline, CancellationToken cancellationToken) =>
                AddAsync(body, mqtt, access, door, pipeline, cancellationToken))
            .WithName("addCredential").WithSummary("Makes a password for a sensor or a reader; the secret is answered once.")
            .Produces<CredentialMade>(StatusCodes.Status201Created).ProducesProblem(StatusCodes.Status404NotFound)
                .ProducesProblem(StatusCodes.Status409Conflict);
        household.MapPost("credentials/{id:long}/renew",
            async (long id, ClientAccess access, SensorDoor door, CancellationToken cancellationToken) =>
                await access.RenewAsync(id).WaitAsync(cancellationToken) is { } secret
                    ? Results.Ok(CredentialMade.Of(Find(door, id)!, secret))
                    : Unknown(id))
            .WithName("renewCredential").WithSummary("Makes a new secret; the client that uses the old one is cut off.")
                .Produces<CredentialMade>();
        household.MapDelete("credentials/{id:long}", async (long id, ClientAccess access, CancellationToken cancellationToken) =>
                await access.RemoveAsync(id).WaitAsync(cancellationToken) ? Results.NoContent() : Unknown(id))
            .WithName("removeCredential").WithSummary("Removes a password; the client that uses it is cut off.")
                .Produces(StatusCodes.Status204NoContent);
        household.MapGet("broker", (SensorDoor door, Refusals refusals, IServiceProvider services) =>
                BrokerShape.Of(mqtt, door, refusals, services.GetService<BuiltInBroker>()))
            .WithName("readBroker").WithSummary("What the broker holds and turned away in the last day.");
        household.MapPatch("broker", async (
                BrokerChange body, ClientAccess access, SensorDoor door, Refusals refusals, IServiceProvider services,
                CancellationToken cancellationToken) =>
            {
                if (body.SetUpFinished is not { } finished)
                    return ApiRoutes.Wrong("""setUpFinished is missing. Right: {"setUpFinished":true}, and a password is asked for.""");
                await access.SetFinishedAsync(finished).WaitAsync(cancellationToken);
                return Results.Ok(BrokerShape.Of(mqtt, door, refusals, services.GetService<BuiltInBroker>()));
            })
            .WithName("changeBroker").WithSummary("Shuts the gate, or opens it again: once it is shut whatever connects needs a password.").Produces<BrokerShape>();
    }

    private static async Task<IResult> AddAsync(NewCredential body, MqttOptions mqtt, ClientAccess access, SensorDoor door,
        Pipeline pipeline, CancellationToken cancellationToken)
    {
        if (mqtt.Broker.Host is { Length: > 0 } host)
        {
            return Results.Problem($"The broker {host} decides who connects: make the account there.",
                statusCode: StatusCodes.Status409Conflict);
        }

        if (string.IsNullOrWhiteSpace(body.Sensor) == string.IsNullOrWhiteSpace(body.Reader))
            return ApiRoutes.Wrong($"sensor or reader is needed, and only one of them. {Right}");
        if (body.Reader?.Trim() is { } reader)
        {
            if (reader.Length > 60 || reader.Any(char.IsControl))
                return ApiRoutes.Wrong("reader: a name of at most 60 characters on one line.");
            if (door.Facts.Credentials.FirstOrDefault(c => c.Kind == ClientKind.Reader && c.Name == reader) is { } taken)
            {
                return Results.Problem(
                    $"reader: there is one named '{reader}' already. A new password for it: POST /api/credentials/{taken.Id}/renew.",
                    statusCode: StatusCodes.Status409Conflict);
            }

            return Made(door, ClientKind.Reader, reader, await access.ForReaderAsync(reader).WaitAsync(cancellationToken));
        }

        var sensor = body.Sensor!;
        if (pipeline.Snapshot.Sensor(sensor) is null)
        {
            return ApiRoutes.Missing(
                $"sensor: there is no sensor '{sensor}'. It is known once it was heard; GET /api/sensors shows those that were.");
        }

        return Made(door, ClientKind.Sensor, sensor, await access.ForSensorAsync(sensor).WaitAsync(cancellationToken));
    }

    private static IResult Made(SensorDoor door, ClientKind kind, string name, string secret)
    {
        var known = door.Facts.Credentials.First(c => c.Kind == kind && c.Name == name);
        return Results.Created($"/api/credentials/{known.Id}", CredentialMade.Of(known, secret));
    }

    private static ClientCredential? Find(SensorDoor door, long id) => door.Facts.Credentials.FirstOrDefault(c => c.Id == id);

    private static IResult Unknown(long id) => ApiRoutes.Missing($"There is no credential {id}; GET /api/credentials lists them.");
}

/// <summary>A password of one MQTT client, without its secret.</summary>
internal sealed record CredentialShape(long Id, string Kind, string Name, DateTimeOffset CreatedAt, DateTimeOffset? FirstUsed)
{
    public static CredentialShape Of(ClientCredential c) => new(c.Id, Word(c.Kind), c.Name, c.CreatedAt, c.FirstUsed);

    public static string Word(ClientKind kind) => kind == ClientKind.Reader ? "reader" : "sensor";
}

/// <summary>The only time that <c>secret</c> is told.</summary>
internal sealed record CredentialMade(long Id, string Kind, string Name, DateTimeOffset CreatedAt, DateTimeOffset? FirstUsed, string Secret)
{
    public static CredentialMade Of(ClientCredential c, string secret) =>
        new(c.Id, CredentialShape.Word(c.Kind), c.Name, c.CreatedAt, c.FirstUsed, secret);
}

/// <summary>What was refused for one reason.</summary>
internal sealed record RefusedShape(
    string Reason, long Count, DateTimeOffset Since, DateTimeOffset Last, IReadOnlyList<string> Addresses, bool MoreAddresses);

/// <summary>The broker as it stands; figures are null where it is another program.</summary>
internal sealed record BrokerShape(
    string Broker, bool SetUpFinished, bool Open, int? Clients, int? RetainedMessages, long? RetainedBytes,
    IEnumerable<RefusedShape> Refused)
{
    public static BrokerShape Of(MqttOptions mqtt, SensorDoor door, Refusals refusals, BuiltInBroker? broker) => new(
        broker is null ? $"{mqtt.Broker.Host}:{mqtt.Broker.Port}" : "built-in",
        door.Facts.SetUpFinished,
        broker is not null && door.IsOpen,
        broker?.Clients,
        broker?.Retained.Messages,
        broker?.Retained.Bytes,
        refusals.View().Select(r => new RefusedShape(Refusals.Word(r.Reason), r.Count, r.Since, r.Last, r.Addresses, r.MoreAddresses)));
}
