using System.Diagnostics.Metrics;
using Microsoft.Extensions.DependencyInjection;

namespace RootCellar.Tests.Households;

/// <summary>The framework's own maker of meters, for parts that are put together by hand.</summary>
internal static class TestMeters
{
    public static readonly IMeterFactory Factory = new ServiceCollection().AddMetrics().BuildServiceProvider()
        .GetRequiredService<IMeterFactory>();
}
