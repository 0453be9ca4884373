using System.ComponentModel.DataAnnotations;

namespace RootCellar.Readings;

/// <summary>
/// Key <c>Sensors</c>: how many sensors are taken in. Whoever may publish can invent sensors without end, and each costs memory and rows.
/// A sensor that is known already is never turned away by these limits. Reaching one is logged, summed up, and is one line on the Sensors
/// page.
/// </summary>
internal sealed class SensorLimits
{
    /// <summary>
    /// The most sensors of the house, in a place or not. Messages of a new one beyond it are not kept and not judged. A farm has dozens
    /// (assumed); each costs some 3 kB of memory while it is known.
    /// </summary>
    [Range(1, 10_000)]
    public int Most { get; set; } = 1_000;

    /// <summary>
    /// The most sensors that came from one address since the start and that nobody has put in a place yet. Built-in broker only: another
    /// broker does not say who published. A gateway that brings more sensors than this on its first day needs more.
    /// </summary>
    [Range(1, 10_000)]
    public int MostWaitingPerClient { get; set; } = 100;

    /// <summary>
    /// After so many hours without a word a sensor that never was in a place is forgotten, with what it sent. One that was in a place, or
    /// has a name or a calibration, is forgotten by a person only.
    /// </summary>
    [Range(1, 8_760)]
    public int ForgetAfterHours { get; set; } = 24;

    internal TimeSpan ForgetAfter => TimeSpan.FromHours(ForgetAfterHours);
}
