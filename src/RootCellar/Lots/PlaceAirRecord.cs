using Microsoft.Data.Sqlite;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Storage;

namespace RootCellar.Lots;

/// <summary>The air of one piece of time, and whether it was known. Where it was not, temperature and humidity are an assumption.</summary>
/// <param name="AtTop">Known but for its humidity, of which the sensor says only that it is near the top.</param>
internal readonly record struct CellAir(LotAir Air, bool Dark, bool AtTop = false);

/// <summary>
/// The kept air of every place as the fold needs it: one air for each five minutes. A row speaks for its own piece and, where
/// the next are empty, for up to half an hour; after that the place is in the dark. Then the means of the last day that was
/// known stand in (the middle of the crop's band where there never was one), and the piece counts as dark.
/// What has been read is kept until <see cref="Forget"/>; not for several threads at once.
/// </summary>
internal sealed class PlaceAirRecord
{
    /// <summary>Pieces a row speaks for beyond its own: less than half an hour in all.</summary>
    public const int HeldCells = 5;

    // Half of the least number: differences from it do not wrap round.
    private const long Never = long.MinValue / 2;

    private const int ChunkCells = 2 * TimeStep.PerDay;

    // Some thirty megabytes: three years of two places.
    private const int MostChunks = 1_100;

    private readonly Dictionary<(string Place, long Chunk), Chunk> chunks = [];
    private readonly Dictionary<(string Place, long Cell), LotAir?> dayBefore = [];

    // Piece after piece comes out of the same chunk.
    private string? lastPlace;
    private Chunk? lastChunk;

    /// <summary>Where to read; set for the time of each use.</summary>
    public SqliteConnection Connection { get; set; } = null!;

    /// <summary>The air of a place in a piece.</summary>
    /// <param name="place">The place; empty for a bin that stands nowhere known.</param>
    /// <param name="cell">The piece.</param>
    /// <param name="otherwise">What to assume where nothing was ever known of the place.</param>
    public CellAir At(string place, long cell, LotAir otherwise)
    {
        var chunk = ChunkOf(place, cell);
        int i = (int)(cell - chunk.First);
        long last = chunk.LastKnown[i];
        if (last == cell) return new CellAir(chunk.Air[i], Dark: false, chunk.AtTop[i]);
        if (cell - last <= HeldCells) return Known(place, last);
        var assumed = MeanOfDayTo(place, last) ?? otherwise;
        var part = chunk.Air[i];
        return new CellAir(
            assumed with
            {
                TemperatureC = double.IsNaN(part.TemperatureC) ? assumed.TemperatureC : part.TemperatureC,
                RelativeHumidityPercent = double.IsNaN(part.RelativeHumidityPercent)
                    ? assumed.RelativeHumidityPercent : part.RelativeHumidityPercent,
                PulpC = part.PulpC,
                LightLux = part.LightLux,
                Co2Ppm = part.Co2Ppm,
            },
            Dark: true);
    }

    /// <summary>
    /// What is about the produce in a stay: the air of its place. Outdoors, in a clamp or a pit, the weather says nothing of it: the
    /// probe in the produce does, and the humidity under the cover is that of the crop's band (assumed). Without a probe it is dark.
    /// </summary>
    /// <param name="stay">The stay.</param>
    /// <param name="cell">The piece.</param>
    /// <param name="otherwise">What to assume where nothing was ever known of it.</param>
    public CellAir Around(in PathStay stay, long cell, LotAir otherwise)
    {
        if (stay.Purpose != Purpose.Outdoors) return At(stay.Place, cell, otherwise);
        for (long back = cell; back >= cell - HeldCells; back--)
        {
            var chunk = ChunkOf(stay.Place, back);
            if (chunk.Air[back - chunk.First].PulpC is var pulp and not double.NaN) return UnderCover(pulp, otherwise);
        }

        return new CellAir(otherwise, Dark: true);
    }

    /// <summary>The mean of what the probe in a clamp said in the pieces [from, to), and how many they were; null where none.</summary>
    public (LotAir Air, int Known)? MeanUnderCover(string place, long from, long to, LotAir otherwise)
    {
        double sum = 0;
        int known = 0;
        for (long cell = from; cell < to; cell++)
        {
            var chunk = ChunkOf(place, cell);
            if (chunk.Air[cell - chunk.First].PulpC is not (var pulp and not double.NaN)) continue;
            sum += pulp;
            known++;
        }

        return known == 0 ? null : (UnderCover(sum / known, otherwise).Air, known);
    }

    private static CellAir UnderCover(double pulpC, LotAir otherwise) =>
        new(new LotAir(pulpC, otherwise.RelativeHumidityPercent, pulpC), Dark: false, AtTop: true);

    /// <summary>Whether anything was ever measured in a place up to a piece.</summary>
    public bool EverMeasured(string place, long cell) => ChunkOf(place, cell).LastKnown[cell % ChunkCells] != Never;

    /// <summary>Mean of what was known of a place in the pieces [from, to), and how many they were; null where none.</summary>
    public (LotAir Air, int Known)? Mean(string place, long from, long to)
    {
        var mean = new MeanAir();
        for (long cell = from; cell < to; cell++)
        {
            var chunk = ChunkOf(place, cell);
            int i = (int)(cell - chunk.First);
            if (chunk.LastKnown[i] == cell) mean.Add(chunk.Air[i]);
        }

        return mean.Count == 0 ? null : (mean.Air, mean.Count);
    }

    /// <summary>The band a crop should have in a place of this purpose.</summary>
    public static Science.Crops.Band BandOf(Crop crop, Purpose purpose) =>
        purpose == Purpose.Curing && crop.Curing is { } curing ? curing : crop.Storage;

    /// <summary>What stands in for a place nobody ever measured: the middle of the band the crop should have there.</summary>
    public static LotAir BandMiddle(Crop crop, Purpose purpose)
    {
        var band = BandOf(crop, purpose);
        return new LotAir((band.TemperatureLowC + band.TemperatureHighC) / 2, (band.HumidityLowPercent + band.HumidityHighPercent) / 2);
    }

    /// <summary>Lets go of what was read from <paramref name="cell"/> on, so that it is read anew.</summary>
    public void Forget(long cell)
    {
        lastChunk = null;
        foreach (var key in chunks.Keys.Where(k => (k.Chunk + 1) * ChunkCells > cell).ToList()) chunks.Remove(key);
        foreach (var key in dayBefore.Keys.Where(k => k.Cell >= cell).ToList()) dayBefore.Remove(key);
    }

    /// <summary>Lets go of what was read of times before <paramref name="cell"/>.</summary>
    public void KeepFrom(long cell)
    {
        lastChunk = null;
        foreach (var key in chunks.Keys.Where(k => (k.Chunk + 1) * ChunkCells <= cell).ToList()) chunks.Remove(key);
        foreach (var key in dayBefore.Keys.Where(k => k.Cell < cell).ToList()) dayBefore.Remove(key);
    }

    private CellAir Known(string place, long cell)
    {
        var chunk = ChunkOf(place, cell);
        return new CellAir(chunk.Air[cell - chunk.First], Dark: false, chunk.AtTop[cell - chunk.First]);
    }

    private LotAir? MeanOfDayTo(string place, long last)
    {
        if (last == Never) return null;
        if (dayBefore.TryGetValue((place, last), out var known)) return known;
        var mean = Mean(place, last - TimeStep.PerDay + 1, last + 1);
        // Only temperature and humidity: what lay in the light or had a probe then says nothing of now.
        LotAir? air = mean is { } m ? new LotAir(m.Air.TemperatureC, m.Air.RelativeHumidityPercent) : null;
        dayBefore.Add((place, last), air);
        return air;
    }

    private Chunk ChunkOf(string place, long cell)
    {
        if (lastChunk is { } last && ReferenceEquals(place, lastPlace) && cell >= last.First && cell < last.First + ChunkCells) return last;
        long number = cell / ChunkCells;
        if (chunks.Count >= MostChunks && !chunks.ContainsKey((place, number))) chunks.Clear();
        if (!chunks.TryGetValue((place, number), out var chunk)) chunks.Add((place, number), chunk = Read(place, number * ChunkCells));
        (lastPlace, lastChunk) = (place, chunk);
        return chunk;
    }

    private Chunk Read(string place, long first)
    {
        var chunk = new Chunk(first, ChunkCells);
        if (place.Length == 0) return chunk;
        long lastBefore = Connection.Scalar(
            "SELECT max(at_ms) FROM air WHERE place = $place AND at_ms < $first AND temperature_c IS NOT NULL AND humidity_pct IS NOT NULL",
            ("$place", place),
            ("$first", first * TimeStep.Milliseconds)) is long before ? TimeStep.Of(before) : Never;
        using var row = new AirScan(
            Connection,
            ["temperature_c", "humidity_pct", "coalesce(pulp_c, light_lx, co2_ppm)", "pulp_c", "light_lx", "co2_ppm", "quality"], place,
            first * TimeStep.Milliseconds, (first + ChunkCells) * TimeStep.Milliseconds);
        while (row.Read())
        {
            // The last row of a piece is the one that counts: the others were kept for a judgement that changed.
            bool more = !double.IsNaN(row.Figure(2));
            chunk.Air[TimeStep.Of(row.AtMs) - first] = new LotAir(
                Within(row.Figure(0), -40, 60), Within(row.Figure(1), 0, 500),
                more ? Within(row.Figure(3), -40, 60) : double.NaN, more ? row.Figure(4) : double.NaN, more ? row.Figure(5) : double.NaN);
            chunk.AtTop[TimeStep.Of(row.AtMs) - first] = row.Figure(6) is (double)AirQuality.AtTop;
        }

        for (int i = 0; i < ChunkCells; i++)
        {
            if (!double.IsNaN(chunk.Air[i].TemperatureC) && !double.IsNaN(chunk.Air[i].RelativeHumidityPercent)) lastBefore = first + i;
            chunk.LastKnown[i] = lastBefore;
        }

        return chunk;
    }

    /// <summary>What the fold cannot take is as good as not known.</summary>
    private static double Within(double value, double low, double high) => value >= low && value <= high ? value : double.NaN;

    private sealed class Chunk
    {
        public Chunk(long first, int cells)
        {
            First = first;
            Air = new LotAir[cells];
            Array.Fill(Air, new LotAir(double.NaN, double.NaN));
            AtTop = new bool[cells];
            LastKnown = new long[cells];
            Array.Fill(LastKnown, Never);
        }

        public long First { get; }

        public LotAir[] Air { get; }

        public bool[] AtTop { get; }

        /// <summary>The last piece up to this one whose temperature and humidity are known.</summary>
        public long[] LastKnown { get; }
    }

    private sealed class MeanAir
    {
        private double temperature;
        private double humidity;
        private double pulp;
        private int pulps;

        public int Count { get; private set; }

        // A probe that spoke half of the time speaks for the whole.
        public LotAir Air => new(temperature / Count, humidity / Count, 2 * pulps >= Count ? pulp / pulps : double.NaN);

        public void Add(LotAir air)
        {
            Count++;
            temperature += air.TemperatureC;
            humidity += air.RelativeHumidityPercent;
            if (double.IsNaN(air.PulpC)) return;
            pulps++;
            pulp += air.PulpC;
        }
    }
}
