using System.Globalization;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Storage;

namespace RootCellar.Api;

internal sealed record NewPlace(
    string? Place = null, string? Name = null, string? Purpose = null, double? VolumeM3 = null, IReadOnlyList<string>? Crops = null,
    bool? WatchEmpty = null, string? ShortName = null);

internal sealed record PlaceChange(string? Name = null, string? Purpose = null, double? VolumeM3 = null,
    IReadOnlyList<string>? Crops = null, bool? WatchEmpty = null, string? ShortName = null);

/// <summary>Places: what there is, what is judged there and why, and its history.</summary>
internal static class PlacesApi
{
    public static void Map(RouteGroupBuilder group)
    {
        group.MapGet("", (Pipeline pipeline) => pipeline.Snapshot.Places.Select(PlaceShape.Of))
            .WithName("listPlaces").WithSummary("Every place: its air now, the bands in force and why, its open alarms.");
        group.MapGet("{place}", (string place, Pipeline pipeline) =>
            pipeline.Snapshot.Place(place) is { } view ? Results.Ok(PlaceShape.Of(view)) : ApiRoutes.Missing(
                $"There is no place '{place}'."))
            .WithName("readPlace").WithSummary("One place.").Produces<PlaceShape>();
        group.MapPost("", AddAsync).WithName("addPlace").WithSummary("Adds a place.")
            .Produces<PlaceShape>(StatusCodes.Status201Created).ProducesProblem(StatusCodes.Status409Conflict);
        group.MapPatch("{place}", ChangeAsync).WithName("changePlace").WithSummary("Changes the fields that are sent; the rest of the place stays.")
            .Produces<PlaceShape>().ProducesProblem(StatusCodes.Status409Conflict);
        group.MapDelete("{place}", RemoveAsync).WithName("removePlace").WithSummary("Removes a place that holds nothing.")
            .Produces(StatusCodes.Status204NoContent).ProducesProblem(StatusCodes.Status409Conflict);
        group.MapGet("{place}/air", History).WithName("readAir").WithSummary("The air of a place: least, mean and most of each step.")
            .Produces<IReadOnlyList<AirStep>>().WithMetadata(new LargeAnswer());
        RoomApi.Map(group);
    }

    private static async Task<IResult> AddAsync(NewPlace body, Pipeline pipeline, LedgerDoor door, CancellationToken cancellationToken)
    {
        if (PlaceRules.Read(body.Place, body.Name, body.Purpose, body.VolumeM3, body.Crops, out var place,
            table: door.Book.Crops) is { } wrong)
            return ApiRoutes.Wrong(wrong.Text);
        if (PlaceRules.ReadShortName(body.ShortName, out var shortName) is { } odd) return ApiRoutes.Wrong(odd.Text);
        place = place! with { WatchEmpty = body.WatchEmpty is true, ShortName = shortName };
        var (added, alike) = await pipeline.AskAsync<(PlaceView? View, Place? Alike)>(
            (house, _, _) =>
            {
                if (house.Knows(place.Id)) return (null, null);
                if (PlaceRules.TakenFor(place, null, house.AllPlaces) is { } other) return (null, other);
                house.SavePlace(place);
                return (house.View(place.Id), null);
            },
            cancellationToken);
        if (alike is not null) return ReadsLike(alike);
        if (added is null)
            return Results.Problem($"There is a place '{place.Id}' already. Change it with PATCH /api/places/{place.Id}.",
                statusCode: StatusCodes.Status409Conflict);
        return Results.Created($"/api/places/{Uri.EscapeDataString(place!.Id)}", PlaceShape.Of(added));
    }

    private static async Task<IResult> ChangeAsync(string place, PlaceChange body, Pipeline pipeline, LedgerDoor door,
        CancellationToken cancellationToken)
    {
        if (pipeline.Snapshot.Place(place) is not { } old) return ApiRoutes.Missing($"There is no place '{place}'.");
        if (PlaceRules.Read(place, body.Name ?? old.Place.Name, body.Purpose ?? old.Place.Purpose.ToString(),
            body.VolumeM3 ?? old.Place.VolumeM3, body.Crops ?? old.Place.Crops, out var changed, old.Place,
            door.Book.Crops) is { } wrong)
        {
            return ApiRoutes.Wrong(wrong.Text);
        }

        if (PlaceRules.ReadShortName(body.ShortName ?? old.Place.ShortName, out var shortName) is { } odd) return ApiRoutes.Wrong(odd.Text);
        changed = changed! with { WatchEmpty = body.WatchEmpty ?? old.Place.WatchEmpty, ShortName = shortName };
        var (saved, alike) = await pipeline.AskAsync<(PlaceView? View, Place? Alike)>(
            (house, _, _) =>
            {
                // Taken away meanwhile, it does not come back by this.
                if (!house.Knows(place)) return (null, null);
                if (PlaceRules.TakenFor(changed, old.Place, house.AllPlaces) is { } other) return (null, other);
                house.SavePlace(changed);
                return (house.View(place), null);
            },
            cancellationToken);
        if (alike is not null) return ReadsLike(alike);
        return saved is null ? ApiRoutes.Missing($"There is no place '{place}'.") : Results.Ok(PlaceShape.Of(saved));
    }

    private static IResult ReadsLike(Place other) => Results.Problem(
        $"There is a place '{other.Name}' ({other.Id}) already, and its name is read for this one's. Give it a name of its own.",
        statusCode: StatusCodes.Status409Conflict);

    private static async Task<IResult> RemoveAsync(string place, PlaceRemoval removal, CancellationToken cancellationToken)
    {
        var removed = await removal.RemoveAsync(place, cancellationToken);
        if (!removed.Known) return ApiRoutes.Missing($"There is no place '{place}'.");
        if (removed.Done) return Results.NoContent();
        var there = new List<string>();
        if (removed.Sensors.Count > 0) there.Add($"sensors are in it: {string.Join(", ", removed.Sensors)}");
        if (removed.Bins.Count > 0) there.Add($"bins stand there by the book: {string.Join(", ", removed.Bins)}");
        return Results.Problem(
            $"'{place}' is not removed: {string.Join("; ", there)}. Move them first: PATCH /api/sensors/{{sensor}}, and 'moved' by POST /api/ledger.",
            statusCode: StatusCodes.Status409Conflict);
    }

    private static IResult History(string place, string? from, string? to, string? step, Pipeline pipeline, Store store, TimeProvider time,
        HouseholdCalendar calendar)
    {
        if (pipeline.Snapshot.Place(place) is null) return ApiRoutes.Missing($"There is no place '{place}'.");
        var now = time.GetUtcNow();
        if (ApiRoutes.Time(calendar, nameof(to), to, now, out var end) is { } notTo) return notTo;
        if (ApiRoutes.Time(calendar, nameof(from), from, end - TimeSpan.FromDays(2), out var start) is { } notFrom) return notFrom;
        if (!Steps.TryParse(step, out var width)) return ApiRoutes.Wrong($"step: '{step}' is not a span. Right: 5m, 1h, 1d or seconds.");
        if (end <= start) return ApiRoutes.Wrong("from must be before to.");
        if ((end - start) / width > 20_000)
            return ApiRoutes.Wrong("That is more than 20000 steps; ask for a longer step or a shorter time.");
        return Results.Ok(store.Read(c => PlaceRows.History(c, place, start, end, width)));
    }
}

/// <summary>Spans of the query: 300, 5m, 1h, 1d.</summary>
internal static class Steps
{
    public static bool TryParse(string? given, out TimeSpan step)
    {
        step = TimeSpan.FromMinutes(5);
        if (string.IsNullOrEmpty(given)) return true;
        var unit = given[^1] switch { 's' => 1, 'm' => 60, 'h' => 3600, 'd' => 86400, _ => 0 };
        var digits = unit == 0 ? given : given[..^1];
        if (!int.TryParse(digits, NumberStyles.None, CultureInfo.InvariantCulture, out var number) || number == 0) return false;
        step = TimeSpan.FromSeconds((double)number * Math.Max(unit, 1));
        return true;
    }
}
