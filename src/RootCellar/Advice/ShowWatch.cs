using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science;
using RootCellar.Science.Crops;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>How readings, alarms and bands read, in the household's units.</summary>
internal static class ShowWatch
{
    extension(Show show)
    {
        /// <summary>A reading of the Sensors page. What is not finite stays as it came.</summary>
        public string Value(Reading r) => !double.IsFinite(r.Value) ? Strings.NotANumber : r.Quantity switch
        {
            Quantity.Temperature or Quantity.Pulp => show.Temperature(r.Value),
            Quantity.Humidity => Show.Humidity(r.Value),
            Quantity.Light => Show.Light(r.Value),
            Quantity.Co2 => Show.Co2(r.Value),
            Quantity.Pressure => Show.Number(r.Value / 100, "0.0") + "\u00A0hPa",
            Quantity.Weight => show.Pounds ? Show.Number(r.Value / Pound.Kilograms, "0.0") + "\u00A0lb" : Show.Number(
                r.Value, "0.0") + "\u00A0kg",
            Quantity.BatteryVolts => Show.Number(r.Value, "0.00") + "\u00A0V",
            Quantity.BatteryPercent => Show.Number(r.Value, "0") + "\u00A0%",
            _ => Show.Number(r.Value, "0") + "\u00A0dBm",
        };

        public static string Name(Quantity quantity) => quantity switch
        {
            Quantity.Temperature => Strings.Temperature,
            Quantity.Humidity => Strings.Humidity,
            Quantity.Pulp => Strings.Pulp,
            Quantity.Light => Strings.Light,
            Quantity.Co2 => Strings.Co2,
            Quantity.Pressure => Strings.Pressure,
            Quantity.Weight => Strings.Weight,
            Quantity.BatteryVolts or Quantity.BatteryPercent => Strings.Battery,
            _ => Strings.Signal,
        };

        /// <summary>An alarm's value, worst or limit; empty where the rule has none.</summary>
        public string Measured(Measure measure, double? value) => (measure, value) switch
        {
            (_, null) => "",
            (Measure.Air or Measure.Pulp, { } v) => show.Temperature(v),
            (Measure.Humidity, { } v) => Show.Humidity(v),
            (Measure.HumiditySpread or Measure.DiskFree, { } v) => Show.Humidity(v),
            (Measure.DewMargin or Measure.AirSpread, { } v) => show.TemperatureApart(v),
            (Measure.Light, { } v) => Show.Light(v),
            (Measure.Co2, { } v) => Show.Co2(v),
            (Measure.Step, { } v) => Show.Span(TimeSpan.FromSeconds(Math.Abs(v))),
            _ => "",
        };

        public string Reason(BandReason reason) => Strings.BandReason.With(
            CropWords.Name(reason.Crop),
            Show.Name(reason.Purpose),
            show.TemperatureRange(reason.Wish.TemperatureLowC, reason.Wish.TemperatureHighC),
            Show.HumidityRange(reason.Wish.HumidityLowPercent, reason.Wish.HumidityHighPercent));

        /// <summary>Who says so: the source of the very band that is held to, curing or storage.</summary>
        public static string Source(BandReason reason) => reason.Source;

        public static string Name(Places.Purpose purpose) => purpose switch
        {
            Places.Purpose.Curing => Strings.PurposeCuring,
            Places.Purpose.Storage => Strings.PurposeStorage,
            _ => Strings.PurposeOutdoors,
        };

        public static string Name(AlarmState state) => state switch
        {
            AlarmState.Unacknowledged => Strings.StateUnacknowledged,
            AlarmState.Acknowledged => Strings.StateAcknowledged,
            AlarmState.ReturnedUnacknowledged => Strings.StateReturned,
            AlarmState.Shelved => Strings.StateShelved,
            _ => Strings.StateNormal,
        };

        /// <summary>Where an alarm stands, and until when it is quiet.</summary>
        public string Standing(Alarm alarm) =>
            alarm is { State: AlarmState.Shelved, ShelvedUntil: { } until }
                ? Show.Name(alarm.State) + " " + Strings.Until.With(show.Time(until)) : Show.Name(alarm.State);

        public static string Name(AlarmPriority priority) => priority switch
        {
            AlarmPriority.Urgent => Strings.PriorityUrgent,
            AlarmPriority.High => Strings.PriorityHigh,
            _ => Strings.PriorityLow,
        };

        public static string Name(Quality quality) => quality switch
        {
            Quality.Good => Strings.QualityGood,
            Quality.Saturated => Strings.QualitySaturated,
            _ => Strings.QualityDoubt,
        };
    }
}
