using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Science.Keeping;
using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>The air outside and what it says about digging; both null where no place is outdoors.</summary>
internal sealed record OutsideNow(Place? Place, DiggingToday? Today);

/// <summary>Holds the last two days' air of the outdoor place against what digging asks for.</summary>
internal sealed class Outside(Pipeline pipeline, Store store, HouseholdCalendar calendar, TimeProvider time)
{
    private static readonly TimeSpan Back = TimeSpan.FromHours(48);

    /// <summary>Of several outdoor places the one of which most hours are known.</summary>
    public OutsideNow Now()
    {
        var places = pipeline.Snapshot.Places.Where(v => v.Place.Purpose == Purpose.Outdoors);
        var (now, zone) = (time.GetUtcNow(), calendar.Zone);
        return places
            .OrderBy(v => v.Place.Id, StringComparer.Ordinal)
            .Select(v => new OutsideNow(v.Place, DiggingAir.Of(Hours(v.Place.Id, now, zone), v.Air?.PulpC ?? double.NaN)))
            .MaxBy(o => o.Today!.KnownHours) ?? new OutsideNow(null, null);
    }

    private IEnumerable<OutdoorHour> Hours(string place, DateTimeOffset now, TimeZoneInfo zone) => store
        .Read(c => PlaceRows.History(c, place, now - Back, now, TimeSpan.FromHours(1)))
        .Select(s => new OutdoorHour(
            (int)((now - s.At) / TimeSpan.FromHours(1)),
            TimeZoneInfo.ConvertTime(s.At, zone).Hour,
            s.TemperatureC?.Mean ?? double.NaN,
            s.RelativeHumidityPercent?.Mean ?? double.NaN));
}
