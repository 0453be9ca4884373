namespace RootCellar.Watch;

/// <summary>The section <c>Watch</c> of the configuration. Delays of zero mean "at once".</summary>
internal sealed class WatchOptions
{
    /// <summary>How long a condition must hold before it is an alarm. Doors are opened; 20 min is common practice for slow rooms.</summary>
    public int OnDelaySeconds { get; set; } = 1200;

    /// <summary>How long the air must be back inside, by the deadband, before the alarm is over.</summary>
    public int OffDelaySeconds { get; set; } = 900;

    /// <summary>The delay of what cannot wait: freezing and carbon dioxide.</summary>
    public int FreezingOnDelaySeconds { get; set; } = 300;

    public TemperatureOptions Temperature { get; set; } = new();

    public HumidityOptions Humidity { get; set; } = new();

    /// <summary>
    /// How far the air of one room may truly differ from one sensor to another, K (assumed: floor to ceiling of a closed room). Sensors
    /// that are further apart than this and their accuracies disagree; in humidity as much as so many degrees make.
    /// </summary>
    public double RoomSpreadC { get; set; } = 1.5;

    /// <summary>Light above this is not dark any more, lux (assumed: a lamp seen through a door crack stays below).</summary>
    public double LightLux { get; set; } = 10;

    /// <summary>OSHA permissible exposure limit, 8 h average, 29 CFR 1910.1000 table Z-1.</summary>
    public double Co2Ppm { get; set; } = 5000;

    /// <summary>
    /// An alarm that nobody acknowledged and that still holds is told again after this, then ever less often down to once
    /// a day; 0 never. Alarms of low priority are told once.
    /// </summary>
    public int RemindHours { get; set; } = 4;

    internal sealed class TemperatureOptions
    {
        public double DeadbandC { get; set; } = 0.5;
    }

    internal sealed class HumidityOptions
    {
        public double DeadbandPercent { get; set; } = 3;
    }

    internal TimeSpan OnDelay => TimeSpan.FromSeconds(OnDelaySeconds);

    internal TimeSpan OffDelay => TimeSpan.FromSeconds(OffDelaySeconds);

    /// <summary>What is urgent is never told later than what is not.</summary>
    internal TimeSpan UrgentOnDelay => TimeSpan.FromSeconds(Math.Min(FreezingOnDelaySeconds, OnDelaySeconds));

    internal TimeSpan RemindEvery => RemindHours == 0 ? TimeSpan.MaxValue : TimeSpan.FromHours(RemindHours);

    /// <summary>
    /// Every value out of its range, each in one sentence with the key, the value and what would be right; empty when all is well.
    /// </summary>
    public IReadOnlyList<string> Problems()
    {
        List<string> problems = [];
        Check("OnDelaySeconds", OnDelaySeconds, 0, 86_400, "seconds");
        Check("OffDelaySeconds", OffDelaySeconds, 0, 86_400, "seconds");
        Check("FreezingOnDelaySeconds", FreezingOnDelaySeconds, 0, 86_400, "seconds");
        Check("Temperature:DeadbandC", Temperature.DeadbandC, 0, 5, "degrees C");
        Check("Humidity:DeadbandPercent", Humidity.DeadbandPercent, 0, 20, "percent");
        Check("RoomSpreadC", RoomSpreadC, 0, 20, "degrees C");
        Check("LightLux", LightLux, 0.1, 10_000, "lux");
        Check("Co2Ppm", Co2Ppm, 500, 40_000, "ppm");
        Check("RemindHours", RemindHours, 0, 168, "hours (0: never)");
        return problems;

        void Check(string key, double value, double low, double high, string unit)
        {
            if (!(value >= low && value <= high))
                problems.Add($"Watch:{key} is {value}; it must be {low} to {high} {unit}.");
        }
    }
}
