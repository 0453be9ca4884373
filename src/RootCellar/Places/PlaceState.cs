using RootCellar.Readings;
using RootCellar.Science.Air;

namespace RootCellar.Places;

/// <summary>Makes one air record out of the sensors of a place: the median of what is believed and fresh.</summary>
internal sealed class PlaceState(Place place)
{
    private readonly List<SensorState> sensors = [];
    private readonly List<double> values = [];
    private readonly List<SensorValue> said = [];

    public Place Place { get; set; } = place;

    public PlaceAir? Air { get; private set; }

    public IReadOnlyList<SensorState> Sensors => sensors;

    public void Add(SensorState sensor)
    {
        if (!sensors.Contains(sensor)) sensors.Add(sensor);
    }

    public void Remove(SensorState sensor) => sensors.Remove(sensor);

    /// <summary>
    /// The air now. A value counts while its sensor is not silent and it is younger than three of that sensor's intervals.
    /// </summary>
    public PlaceAir Observe(TimeSpan mono, DateTimeOffset wall)
    {
        said.Clear();
        var temperature = Median(Quantity.Temperature, mono);
        var humidity = Median(Quantity.Humidity, mono, out var onlyAtTop);
        var pulp = Median(Quantity.Pulp, mono);
        var coldest = values.Count > 0 ? values[0] : (double?)null;
        var light = Median(Quantity.Light, mono);
        var co2 = Median(Quantity.Co2, mono);
        double? dewPoint = null, deficit = null;
        if (temperature is { } t && humidity is { } rh)
        {
            // A cheap sensor in fog reads above 100; saturated air has no deficit.
            deficit = Math.Max(0, MoistAir.DeficitPa(t, rh));
            // Air with no vapour has no dew point; no cellar is drier than this.
            if (rh > 0.5) dewPoint = MoistAir.DewPointC(MoistAir.VapourPressurePa(t, rh));
        }

        return Air = new PlaceAir(Place.Id, wall, temperature, humidity, dewPoint, deficit, pulp, coldest, light, co2,
            humidity is not null && onlyAtTop ? AirQuality.AtTop : QualityNow(temperature, humidity, pulp, light ?? co2))
        {
            Sensors = [.. said],
        };
    }

    private AirQuality QualityNow(double? temperature, double? humidity, double? pulp, double? other)
    {
        if (temperature is null && humidity is null && pulp is null && other is null) return AirQuality.None;
        return sensors.TrueForAll(s => !s.Silent && s.Believed) && (temperature is not null || pulp is not null)
            ? AirQuality.Good : AirQuality.Thin;
    }

    private double? Median(Quantity quantity, TimeSpan mono) => Median(quantity, mono, out _);

    /// <param name="onlyAtTop">No sensor there measures it: all of them only say "damp to the top".</param>
    private double? Median(Quantity quantity, TimeSpan mono, out bool onlyAtTop)
    {
        values.Clear();
        onlyAtTop = true;
        foreach (var sensor in sensors)
        {
            if (sensor.Silent || sensor[quantity] is not { } latest) continue;
            if (mono - latest.Mono > Fresh(sensor)) continue;
            // One that measures outweighs any that only say "damp to the top".
            if (onlyAtTop && !latest.AtTop) values.Clear();
            onlyAtTop &= latest.AtTop;
            if (onlyAtTop || !latest.AtTop) values.Add(latest.Value);
            if (quantity is Quantity.Temperature or Quantity.Humidity or Quantity.Pulp)
                said.Add(new SensorValue(sensor.Row.Key, quantity, latest.Value, latest.PlusOrMinus));
        }

        if (values.Count == 0) return null;
        values.Sort();
        var middle = values.Count / 2;
        return values.Count % 2 == 1 ? values[middle] : (values[middle - 1] + values[middle]) / 2;
    }

    private static TimeSpan Fresh(SensorState sensor) => sensor.Rhythm.SilentAfter;
}
