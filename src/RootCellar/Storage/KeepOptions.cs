using System.ComponentModel.DataAnnotations;

namespace RootCellar.Storage;

/// <summary>How long what is kept. Key <c>Keep</c>.</summary>
internal sealed class KeepOptions
{
    /// <summary>Readings exactly as they came, days.</summary>
    [Range(1, 3650)]
    public int RawDays { get; set; } = 30;

    /// <summary>After that: minimum, mean and maximum of this many minutes.</summary>
    [Range(1, 60)]
    public int SummaryMinutes { get; set; } = 5;

    /// <summary>How long the summaries stay, days; 0 is for ever.</summary>
    [Range(0, 36500)]
    public int SummaryDays { get; set; }

    /// <summary>QoS 0 readings are written together, at most this many seconds apart.</summary>
    [Range(0, 10)]
    public double BatchSeconds { get; set; } = 10;

    /// <summary>
    /// A reading with a receipt (QoS 1 and 2) is confirmed by the disk at most this many seconds after the receipt, and survives a power
    /// cut from then on. 0 confirms before each receipt, which wears an SD card.
    /// </summary>
    [Range(0, 60)]
    public double SyncSeconds { get; set; } = 10;
}
