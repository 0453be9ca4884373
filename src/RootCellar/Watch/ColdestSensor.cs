using RootCellar.Places;

namespace RootCellar.Watch;

/// <summary>
/// The sensor that freezing goes by: the coldest of the place that is believed, in the air or in the produce. The sensor that raised an
/// alarm also ends it: while it is missing, a warmer one elsewhere says nothing of the cold spot. Gone for long, it is gone, and the others
/// decide.
/// </summary>
internal sealed class ColdestSensor
{
    // Assumed, as for any probe (PlaceWatch).
    private static readonly TimeSpan Gone = TimeSpan.FromHours(6);

    private ColdSpot? leader;
    private TimeSpan seen;

    /// <param name="air">The air of the place now.</param>
    /// <param name="limit">The frost limit, C.</param>
    /// <param name="raised">Whether an alarm holds.</param>
    /// <param name="mono">When it was seen.</param>
    /// <returns>What freezing is judged by; without a value while the sensor that raised the alarm is waited for.</returns>
    public Shown Of(PlaceAir air, double limit, bool raised, TimeSpan mono)
    {
        if (air.Coldest is not { } coldest)
            return new Shown(leader is { InProduce: true } ? Measure.Pulp : Measure.Air, null, limit);

        var missing = leader is { } led && !air.Spots.Any(spot => spot.Sensor == led.Sensor && spot.InProduce == led.InProduce);
        if (raised && missing && coldest.TemperatureC >= limit && mono - seen < Gone)
            return new Shown(leader!.InProduce ? Measure.Pulp : Measure.Air, null, limit);

        (leader, seen) = (coldest, mono);
        return new Shown(coldest.InProduce ? Measure.Pulp : Measure.Air, coldest.TemperatureC, limit, coldest.Sensor);
    }

    /// <summary>Takes up after a restart the alarm that a sensor had raised.</summary>
    public void Resume(Alarm alarm, TimeSpan mono)
    {
        if (alarm.Sensor is not null)
            (leader, seen) = (new ColdSpot(alarm.Sensor, alarm.Measure == Measure.Pulp, alarm.Value ?? 0), mono);
    }

    /// <summary>A sensor left the place: it is not waited for.</summary>
    public void Forget(string sensor)
    {
        if (leader?.Sensor == sensor)
            leader = null;
    }
}
