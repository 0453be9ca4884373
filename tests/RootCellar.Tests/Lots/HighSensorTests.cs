using RootCellar.Ledger;
using RootCellar.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>
/// A cellar whose sensor reads 4 % RH high, and a loss in proportion to the true deficit, which is no law of ours: lots never weighed lose
/// twice what the air as read would have them lose. Four neighbours of theirs are weighed seven times.
/// </summary>
public sealed class HighSensorTests(ITestOutputHelper output)
{
    private const double Kg = 20, ReadPercent = 95.7, TruePercent = 91.7;

    private static readonly int[] Weighed = [7, 20, 35, 55, 80, 110, 145];

    /// <summary>Against the usual, lots weighed and lots not; a fifth or so, without design (assumed).</summary>
    private static readonly double[] Neighbours = [0.9, 1.15, 1, 1.2], Unweighed = [0.85, 1.1, 1.25, 0.95];

    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    /// <summary>How many times more is lost than the sensor's air would take: potatoes a little warmer than the air, 5 C (Magnus).</summary>
    private static double Drier
    {
        get
        {
            static double Saturation(double c) => 610.94 * Math.Exp(17.625 * c / (c + 243.04));
            double atTuber = 0.98 * Saturation(5.2);
            return (atTuber - (TruePercent / 100 * Saturation(5))) / (atTuber - (ReadPercent / 100 * Saturation(5)));
        }
    }

    [Fact]
    public async Task Neighbours_of_weighed_lots_are_told_near_the_truth_though_the_sensor_reads_high()
    {
        await using var cellar = await WhatToDoTests.StoredAsync(5, ReadPercent, 170);
        var bins = Unweighed.Select((_, i) => Books.Lot($"u{i}", Start, [Books.Bin($"u{i}-1", Start, Kg, (StoreRoom, Start))])).ToList();
        cellar.Book = Books.Of(bins);
        // What the air as read makes of it, day by day, is the middle of what the program says of a lot it knows nothing of.
        var byAir = new Dictionary<int, double>();
        foreach (int day in (int[])[.. Weighed, 160]) byAir[day] = Kg - (await cellar.AtAsync(Day(day))).Bins["u0-1"].Kg.Value;
        double Truth(double factor, int day) => Kg * Math.Exp(Drier * factor * Math.Log(1 - (byAir[day] / Kg)));
        Drier.Should().BeApproximately(2.1, 0.1);

        cellar.Book = Books.Of(
        [
            .. bins,
            .. Neighbours.Select((f, i) => Books.Lot($"w{i}", Start,
                [Weighed.Aggregate(Books.Bin($"w{i}-1", Start, Kg, (StoreRoom, Start)).Weighed(Start, Kg),
                    (bin, day) => bin.Weighed(Day(day), Math.Round(Truth(f, day), 2)))])),
        ]);
        var alone = (await cellar.AtAsync(Day(160.01))).Bins;
        var told = Unweighed.Select((f, i) => (Bin: alone[$"u{i}-1"], Truth: Truth(f, 160))).ToList();
        double before = told.Average(t => byAir[160] / (Kg - t.Truth));
        double now = told.Average(t => (Kg - t.Bin.Kg.Value) / (Kg - t.Truth));
        output.WriteLine($"loss told of the true one: {before:0.00} by the air, {now:0.00} with the neighbours");
        before.Should().BeInRange(0.4, 0.56, "the issue saw 0.48");
        now.Should().BeInRange(0.85, 1.15);
        told.Should().OnlyContain(t => t.Bin.Kg.Low <= t.Truth && t.Truth <= t.Bin.Kg.High);
        told.Should().OnlyContain(t => t.Bin.Kg.High - t.Bin.Kg.Low < 0.12 * Kg);
        told[0].Bin.LearnedFrom.Place.Should().Be(4 * 8);
    }
}
