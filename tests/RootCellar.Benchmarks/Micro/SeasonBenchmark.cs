using BenchmarkDotNet.Attributes;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Benchmarks.Micro;

/// <summary>
/// The fold over a whole season: 240 days at 5 minutes, a hundred lots, one core. It must stay under 2 s and allocate nothing by the step.
/// </summary>
public class SeasonBenchmark
{
    private const int Lots = 100;
    private const int Steps = 240 * 288;
    private readonly LotAir[] _air = new LotAir[Steps];
    private LotTraits _traits = null!;

    [GlobalSetup]
    public void SetUp()
    {
        _traits = new LotTraits(CropTable.Default.Find("potato")!, restDaysAt10C: 110);
        for (int i = 0; i < Steps; i++)
        {
            double day = i / 288.0;
            double swing = Math.Abs(i % 288 - 144) / 144.0;
            _air[i] = new LotAir(day < 14 ? 12 + swing : Math.Max(3, 12 - 0.3 * (day - 14)) + swing, 95 - 4 * swing, double.NaN,
                i % 97 == 0 ? 5 : 0, 1200);
        }
    }

    [Benchmark]
    public double Season()
    {
        double lost = 0;
        for (int lot = 0; lot < Lots; lot++)
        {
            var state = LotState.Dug(_traits);
            foreach (ref readonly var air in _air.AsSpan())
                state = LotState.Advance(state, air, 1.0 / 12);
            lost += state.Lost;
        }

        return lost;
    }
}
