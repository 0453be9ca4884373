using System.Diagnostics.Metrics;
using Microsoft.Extensions.DependencyInjection;

namespace RootCellar.Tests.Households;

/// <summary>The framework's own maker of meters, for parts that are put together by hand.</summary>
internal static class TestMeters
{
    public static readonly IMeterFactory Factory = New();

    /// <summary>What is counted and measured meanwhile, and what stands at the end: name, value, unit and labels.</summary>
    public static IReadOnlyList<string> Heard(Action<IMeterFactory> act)
    {
        var (factory, heard) = (New(), new List<string>());
        using var listener = new MeterListener();
        listener.InstrumentPublished = (instrument, it) =>
        {
            if (ReferenceEquals(instrument.Meter.Scope, factory)) it.EnableMeasurementEvents(instrument);
        };
        listener.SetMeasurementEventCallback<int>((instrument, value, labels, _) => Hear(instrument, value, labels));
        listener.SetMeasurementEventCallback<long>((instrument, value, labels, _) => Hear(instrument, value, labels));
        listener.SetMeasurementEventCallback<double>((instrument, value, labels, _) => Hear(instrument, value, labels));
        listener.Start();
        act(factory);
        listener.RecordObservableInstruments();
        return heard;

        void Hear<T>(Instrument instrument, T value, ReadOnlySpan<KeyValuePair<string, object?>> labels) => heard.Add(string.Join(' ',
            (string?[])[instrument.Name, $"{value}{instrument.Unit}", .. labels.ToArray().Select(l => $"{l.Key}={l.Value}")]));
    }

    private static IMeterFactory New() => new ServiceCollection().AddMetrics().BuildServiceProvider().GetRequiredService<IMeterFactory>();
}
