using System.Globalization;
using System.Text;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Benchmarks.Load;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Benchmarks.Footprint;

/// <summary>
/// What the service takes of a small machine: bytes written in a day, bytes a raw value at rest, memory; beside a plain logger (one
/// transaction a message into SQLite) that is given the same messages in the same run. Twenty sensors of four quantities every 30 s.
/// </summary>
internal static class FootprintRun
{
    private const int Sensors = 20;
    private const int Quantities = 4;
    private const int EverySeconds = 30;
    private const int RestSeconds = 20;

    /// <param name="hours">How much of a day is lived through; the figures are of 24 hours.</param>
    public static async Task<int> RunAsync(int hours, CancellationToken cancellationToken)
    {
        var steps = hours * 3600 / EverySeconds;
        Console.WriteLine($"{Sensors} sensors of {Quantities} quantities every {EverySeconds} s, {hours} h: {steps * Sensors * Quantities} values.");
        Console.WriteLine("Written: bytes of all write calls (wchar of /proc/self/io, proc(5)), which no page cache makes smaller.");
        var plain = Plain(steps);
        Print("plain SQLite logger", plain, hours, steps);
        foreach (var receipt in new[] { false, true })
            Print($"RootCellar, QoS {(receipt ? 1 : 0)}", await OursAsync(steps, receipt, cancellationToken), hours, steps);
        await MemoryAsync(cancellationToken);
        return 0;
    }

    private static void Print(string name, (long Written, long Kept) of, int hours, int steps)
    {
        var values = (double)steps * Sensors * Quantities;
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{name,-22} {of.Written * 24.0 / hours / 1e6,7:0} MB written a day   {of.Kept / values,5:0.0} bytes a value at rest"));
    }

    /// <summary>The whole service in this process on a clock in hand, given the messages where a broker would give them.</summary>
    private static async Task<(long Written, long Kept)> OursAsync(int steps, bool receipt, CancellationToken cancellationToken)
    {
        using var folder = new TempFolder();
        await using var site = await Site.OpenAsync(record: folder);
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        var (written, kept) = (Written(), 0L);
        for (var step = 0; step < steps; step++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            var before = site.Store.Written;
            for (var sensor = 0; sensor < Sensors; sensor++)
            {
                var done = await pipeline.OfferAsync(new Arrived(Topic(sensor), Payload(sensor, step), receipt, Dup: false, Replay: false));
                if (receipt) await done;
                // One and a half seconds after the other, as sensors that were switched on at any moment are.
                site.Time.Advance(TimeSpan.FromSeconds((double)EverySeconds / Sensors));
                if (sensor % 7 == 6) await pipeline.AskAsync((_, _, _) => true, cancellationToken);
            }

            // The writer's own thread is let follow, so that what is a batch on the clock is one here.
            for (var wait = 0; wait < 200 && site.Store.Written < before + (Sensors / 2); wait++) await Task.Delay(TimeSpan.FromMilliseconds(1), TimeProvider.System, cancellationToken);
            if (step == 0) kept = Size(folder.File);
        }

        await site.Store.WriteAsync(_ => { });
        using (var connection = new SqliteConnection($"Data Source={folder.File};Pooling=False"))
        {
            connection.Open();
            using var checkpoint = connection.CreateCommand();
            checkpoint.CommandText = "PRAGMA wal_checkpoint(FULL)";
            checkpoint.ExecuteNonQuery();
        }

        return (Written() - written, Size(folder.File) - kept);
    }

    /// <summary>What a dozen lines of a script would do: a row a value, a transaction a message, write-ahead log.</summary>
    private static (long Written, long Kept) Plain(int steps)
    {
        using var folder = new TempFolder();
        using var connection = new SqliteConnection($"Data Source={folder.File};Pooling=False");
        connection.Open();
        Run("PRAGMA journal_mode=WAL");
        Run("PRAGMA synchronous=NORMAL");
        Run("CREATE TABLE value (at INTEGER NOT NULL, sensor INTEGER NOT NULL, quantity INTEGER NOT NULL, value REAL)");
        Run("CREATE INDEX value_by_time ON value (at)");
        using var insert = connection.CreateCommand();
        insert.CommandText = "INSERT INTO value (at, sensor, quantity, value) VALUES ($at, $sensor, $quantity, $value)";
        foreach (var name in new[] { "$at", "$sensor", "$quantity", "$value" }) insert.Parameters.AddWithValue(name, 0);
        var written = Written();
        for (var step = 0; step < steps; step++)
        {
            for (var sensor = 0; sensor < Sensors; sensor++)
            {
                using var transaction = connection.BeginTransaction();
                insert.Transaction = transaction;
                insert.Parameters["$at"].Value = 1_759_557_600_000 + (step * EverySeconds * 1000L) + (sensor * 1500);
                insert.Parameters["$sensor"].Value = sensor;
                for (var quantity = 0; quantity < Quantities; quantity++)
                {
                    insert.Parameters["$quantity"].Value = quantity;
                    insert.Parameters["$value"].Value = Value(quantity, sensor, step);
                    insert.ExecuteNonQuery();
                }

                transaction.Commit();
            }
        }

        Run("PRAGMA wal_checkpoint(TRUNCATE)");
        return (Written() - written, Size(folder.File));

        void Run(string sql)
        {
            using var command = connection.CreateCommand();
#pragma warning disable CA2100 // The text is ours.
            command.CommandText = sql;
#pragma warning restore CA2100
            command.ExecuteNonQuery();
        }
    }

    /// <summary>The built program in a process of its own, after as many values as a day brings.</summary>
    private static async Task MemoryAsync(CancellationToken cancellationToken)
    {
        await using var service = await Service.StartAsync(cancellationToken);
        await service.AddPlacesAsync(new Dictionary<string, string>(StringComparer.Ordinal) { ["cellar"] = "storage" }, cancellationToken);
        var start = service.Memory();
        using (var connection = await Connection.OpenAsync(service.Mqtt, "footprint", cancellationToken))
        {
            for (var step = 0; step < 24 * 3600 / EverySeconds; step++)
            {
                for (var sensor = 0; sensor < Sensors; sensor++)
                {
                    for (var quantity = 0; quantity < Quantities; quantity++)
                    {
                        var packet = Publish.Packet(
                            $"rootcellar/cellar/s{sensor:00}/{Names[quantity]}", Value(quantity, sensor, step), (ushort)((step % 60_000) + 1));
                        await connection.SendAsync(packet, cancellationToken);
                    }
                }

                for (var receipts = 0; receipts < Sensors * Quantities;) receipts += await connection.AcknowledgedAsync(cancellationToken);
            }
        }

        await Task.Delay(TimeSpan.FromSeconds(RestSeconds), TimeProvider.System, cancellationToken);
        var (resident, anonymous, peak) = service.Memory();
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"RootCellar, memory     {start.Resident:0} MB resident at start ({start.Anonymous:0} anonymous); after a day's values and {RestSeconds} s of rest {resident:0} ({anonymous:0}), highest {peak:0}"));
    }

    private static readonly string[] Names = ["temperature_c", "humidity_pct", "co2_ppm", "battery_v"];

    private static string Topic(int sensor) => $"rootcellar/cellar/s{sensor:00}";

    private static byte[] Payload(int sensor, int step)
    {
        var parts = Enumerable.Range(0, Quantities)
            .Select(q => string.Create(CultureInfo.InvariantCulture, $"\"{Names[q]}\":{Value(q, sensor, step):0.00}"));
        return Encoding.UTF8.GetBytes("{" + string.Join(',', parts) + "}");
    }

    /// <summary>Two digits of a slow wave, as a cheap sensor reports a cellar.</summary>
    private static double Value(int quantity, int sensor, int step)
    {
        var wave = Math.Sin((step / 400.0) + sensor) + (0.2 * Math.Sin((step * 1.7) + (3 * sensor)));
        return Math.Round(quantity switch { 0 => 5 + wave, 1 => 92 + wave, 2 => 900 + (60 * wave), _ => 3.1 + (0.02 * wave) }, 2);
    }

    private static long Size(string file) => new FileInfo(file).Length;

    private static long Written() => long.Parse(
        File.ReadLines("/proc/self/io").First(l => l.StartsWith("wchar:", StringComparison.Ordinal)).Split(' ')[1], CultureInfo.InvariantCulture);
}
