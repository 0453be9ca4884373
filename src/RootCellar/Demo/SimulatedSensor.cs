using System.Text.Json;

namespace RootCellar.Demo;

/// <summary>One message as it goes out.</summary>
internal readonly record struct Said(string Topic, string Payload);

/// <summary>
/// A cheap sensor: it speaks every so often, on a grid of its own, and errs in its own repeatable way. It sends no time
/// of its own, as most of them have no clock.
/// </summary>
/// <param name="Offset">Where on the grid of whole periods it speaks.</param>
/// <param name="Speak">What it says of a scene.</param>
internal sealed record SimulatedSensor(
    string Place,
    string Name,
    TimeSpan Every,
    TimeSpan Offset,
    int Seed,
    Func<SimulatedSensor, Scene, IReadOnlyList<Said>> Speak)
{
    public string Topic => $"rootcellar/{Place}/{Name}";

    public string StatusTopic => $"{Topic}/status";

    public string ClientId => $"larkmoss-{Place}-{Name}";

    public IReadOnlyList<Said> Say(Scene scene) => Speak(this, scene);

    /// <summary>The first moment after the instant at which it speaks.</summary>
    public DateTimeOffset NextAfter(DateTimeOffset instant)
    {
        var periods = (instant.UtcTicks - Offset.Ticks) / Every.Ticks + 1;
        return new DateTimeOffset(periods * Every.Ticks + Offset.Ticks, TimeSpan.Zero);
    }

    /// <summary>A true value as the part gives it: off by its own constant error and its noise, in its steps.</summary>
    /// <param name="channel">Which of the sensor's elements, so that their noises are independent.</param>
    public double Part(Scene scene, int channel, double truth, double offset, double noise, double step)
    {
        var raw = truth + offset + noise * Chance.Bell(Seed * 31 + channel, scene.At.UtcTicks / TimeSpan.TicksPerMinute);
        return Math.Round(Math.Round(raw / step) * step, 4);
    }

    /// <summary>One flat JSON object of quantities.</summary>
    public Said Flat(params (string Quantity, double Value)[] values) =>
        new(Topic, JsonSerializer.Serialize(values.ToDictionary(value => value.Quantity, value => value.Value, StringComparer.Ordinal)));

    /// <summary>A plain number on the quantity's own topic.</summary>
    public Said Plain(string quantity, string number) => new($"{Topic}/{quantity}", number);
}
