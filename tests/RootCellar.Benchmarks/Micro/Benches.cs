using System.Text;
using BenchmarkDotNet.Attributes;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Advice;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Benchmarks.Micro;

/// <summary>One message to its values.</summary>
public class Decoding
{
    private static readonly DateTimeOffset Now = new(2026, 10, 1, 12, 0, 0, TimeSpan.Zero);
    private readonly PayloadDecoder decoder = new([]);
    private readonly byte[] number = "12.8"u8.ToArray();
    private readonly byte[] json = """{"temperature_c":12.8,"humidity_pct":91,"battery_v":2.9}"""u8.ToArray();
    private readonly byte[] senml = """[{"bn":"urn:dev:s1:","n":"t","u":"Cel","v":12.8},{"n":"h","u":"%RH","v":91}]"""u8.ToArray();

    [Benchmark]
    public object Plain_number() => decoder.Decode("rootcellar/cellar/s1/temperature_c", number, Now);

    [Benchmark]
    public object Flat_json() => decoder.Decode("rootcellar/cellar/s1", json, Now);

    [Benchmark]
    public object Senml() => decoder.Decode("rootcellar/cellar/s1", senml, Now);
}

/// <summary>One reading through the house: believed, made into the air of a place with 20 sensors, judged.</summary>
public class Judging
{
    private readonly string folder = Directory.CreateTempSubdirectory("rootcellar-micro-").FullName;
    private Store store = null!;
    private LiveState house = null!;
    private Heard[] heard = null!;
    private DateTimeOffset wall = new(2026, 10, 1, 12, 0, 0, TimeSpan.Zero);
    private TimeSpan mono = TimeSpan.FromHours(1);
    private int next;

    [GlobalSetup]
    public void SetUp()
    {
        var settings = new Settings();
        store = Store.Open(folder, settings.Keep, TimeProvider.System, NullLogger<Store>.Instance);
        house = new LiveState(settings.Sensors, settings.Watch, new JudgementWords(settings.Household), store,
            new Teller(settings.Tell, TextRenderer.Of(settings.Household, folder)), new Announcements(),
            NullLogger<LiveState>.Instance);
        house.TakeUp(wall, mono);
        PlaceRules.Read("curing-room", null, "curing", null, null, out var place);
        house.SavePlace(place!);
        var decoder = new PayloadDecoder([]);
        heard = [.. Enumerable.Range(0, 400).Select(i =>
        {
            var topic = $"rootcellar/curing-room/s{i % 20}/{(i % 40 < 20 ? "temperature_c" : "humidity_pct")}";
            var payload = Encoding.UTF8.GetBytes(i % 40 < 20 ? $"{12 + (i * 0.01):0.00}" : $"{90 + (i * 0.001):0.00}");
            return Heard.Of(new Arrived(topic, payload, false, false, false), decoder.Decode(topic, payload, wall));
        })];
        foreach (var h in heard) house.Hear(h, wall, mono, out _);
        house.TakeChanges();
    }

    [Benchmark]
    public object Hear_one_reading()
    {
        mono += TimeSpan.FromTicks(500);
        wall += TimeSpan.FromTicks(500);
        next = (next + 1) % heard.Length;
        var kept = house.Hear(heard[next], wall, mono, out _);
        house.TakeChanges();
        return kept;
    }

    [GlobalCleanup]
    public async Task CleanUp()
    {
        await store.DisposeAsync();
        Directory.Delete(folder, recursive: true);
    }
}

/// <summary>A thousand readings of 50 sensors into the record and on the disk.</summary>
public class Writing
{
    private const int Batch = 1_000;
    private readonly string folder = Directory.CreateTempSubdirectory("rootcellar-micro-").FullName;
    private Store store = null!;
    private StoredReading[] readings = null!;
    private DateTimeOffset at = new(2026, 10, 1, 12, 0, 0, TimeSpan.Zero);

    [GlobalSetup]
    public void SetUp()
    {
        store = Store.Open(folder, new KeepOptions(), TimeProvider.System, NullLogger<Store>.Instance);
        readings = new StoredReading[Batch];
    }

    [Benchmark]
    public async Task Keep_1000_readings()
    {
        at += TimeSpan.FromMilliseconds(50);
        for (var i = 0; i < Batch; i++)
        {
            readings[i] = new StoredReading(1 + (i % 50),
                new Reading("cellar/s1", i % 2 == 0 ? Quantity.Temperature : Quantity.Humidity, 12.8, at, at, TimeSource.Arrival,
                    Quality.Good, null));
        }

        await store.AppendAsync(readings, urgent: true);
    }

    [GlobalCleanup]
    public async Task CleanUp()
    {
        await store.DisposeAsync();
        Directory.Delete(folder, recursive: true);
    }
}
