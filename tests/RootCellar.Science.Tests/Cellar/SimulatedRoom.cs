using RootCellar.Science.Air;
using RootCellar.Science.Cellar;

namespace RootCellar.Science.Tests.Cellar;

/// <summary>
/// A room that is not built as the program thinks rooms are: walls of four layers that conduct, shelves that hold heat in the air, boards
/// that take up vapour, produce, doors that people open, and cheap sensors with noise, an offset and steps of a tenth. Minute by minute.
/// </summary>
internal sealed class SimulatedRoom
{
    private const double AirJPerM3K = 1206;
    private const int Layers = 4;

    private readonly Random random;
    private readonly double airJPerK, outdoorWPerK, filmWPerK, layerWPerK, layerJPerK, groundC, produceWPerK, dampKgPerSPa, boards;
    private double[] wallC = new double[Layers];
    private double level, damp, nextDay, nextDamp;

    public SimulatedRoom(int seed)
    {
        random = new Random(seed);
        double Between(double a, double b) => Math.Exp(Math.Log(a) + ((Math.Log(b) - Math.Log(a)) * random.NextDouble()));
        VolumeM3 = Between(15, 80);
        double area = 6 * Math.Pow(VolumeM3, 2.0 / 3);
        ChangesPerHour = Between(0.08, 0.8);
        airJPerK = VolumeM3 * AirJPerM3K * Between(1.5, 4);
        outdoorWPerK = area * Between(0.05, 0.4);
        filmWPerK = area * Between(1.5, 4);
        layerWPerK = area * Between(4, 12);
        layerJPerK = area * Between(5e4, 1.5e5);
        groundC = 6 + (8 * random.NextDouble());
        ProduceKg = VolumeM3 * Between(5, 40);
        produceWPerK = ProduceKg * 3600 / (8 * 3600);
        dampKgPerSPa = area * Between(2e-10, 2e-9);
        boards = Between(1, 2.5);
        (AirC, PulpC) = (groundC + 1, groundC + 1);
        Array.Fill(wallC, groundC);
        VapourPa = 0.9 * Saturation.OverWaterPa(AirC);
        (OutC, OutPa) = (groundC, 800);
    }

    public double VolumeM3 { get; }

    public double ChangesPerHour { get; }

    public double ProduceKg { get; }

    public double AirC { get; private set; }

    public double PulpC { get; private set; }

    public double VapourPa { get; private set; }

    public double OutC { get; private set; }

    public double OutPa { get; private set; }

    public double GroundC => groundC;

    /// <summary>What the air takes of a lasting change outdoors.</summary>
    public double InTheLongRun
    {
        get
        {
            double outdoors = outdoorWPerK + (ChangesPerHour / 3600 * VolumeM3 * AirJPerM3K);
            double inward = 1 / ((1 / filmWPerK) + (Layers / layerWPerK));
            return outdoors / (outdoors + inward);
        }
    }

    /// <summary>One minute.</summary>
    public void Step(double minute, double doorPerHour = 0, double loadW = 0, double waterKgPerHour = 0, bool weather = true)
    {
        if (weather)
            Weather(minute);
        double change = (ChangesPerHour + doorPerHour) / 3600;
        double outdoors = outdoorWPerK + (change * VolumeM3 * AirJPerM3K);
        double sum = outdoors + filmWPerK + produceWPerK;
        double to = ((outdoors * OutC) + (filmWPerK * wallC[0]) + (produceWPerK * PulpC) + loadW) / sum;
        AirC = to + ((AirC - to) * Math.Exp(-60 * sum / airJPerK));
        PulpC += 60 * produceWPerK * (AirC - PulpC) / (ProduceKg * 3600);
        for (int part = 0; part < 6; part++)
        {
            double[] was = [.. wallC];
            for (int l = 0; l < Layers; l++)
            {
                double inner = l == 0 ? filmWPerK * (AirC - was[0]) : layerWPerK * (was[l - 1] - was[l]);
                double outer = layerWPerK * ((l == Layers - 1 ? groundC : was[l + 1]) - was[l]);
                wallC[l] += 10 * (inner + outer) / layerJPerK;
            }
        }

        double gas = MoistAir.WaterGasConstant * (AirC + Saturation.ZeroCelsiusK);
        double produce = ProduceKg * 50e-12;
        double rate = (change + ((dampKgPerSPa + produce) * gas / VolumeM3)) / boards;
        double source = ((change * OutPa) + (((dampKgPerSPa * Saturation.OverWaterPa(wallC[0])) + (produce * Saturation.OverWaterPa(PulpC))
            + (waterKgPerHour / 3600)) * gas / VolumeM3)) / boards;
        VapourPa = (source / rate) + ((VapourPa - (source / rate)) * Math.Exp(-60 * rate));
        VapourPa = Math.Min(VapourPa, Saturation.OverWaterPa(AirC));
    }

    /// <summary>What the program is given: five-minute readings of so many days, with a door that is opened twice a day.</summary>
    public RoomRecord Record(int days)
    {
        List<double> air = [], percent = [], outside = [], outPercent = [];
        (double c, double p) = (random.NextDouble() - 0.5, (random.NextDouble() - 0.5) * 6);
        double door = 0, until = -1;
        for (int minute = -3 * 1440; minute < days * 1440; minute++)
        {
            if (minute > until && random.NextDouble() < 2.0 / 1440)
                (door, until) = (4 + (16 * random.NextDouble()), minute + 15 + (60 * random.NextDouble()));
            Step(minute, minute <= until ? door : 0);
            if (minute < 0 || minute % 5 != 0)
                continue;
            air.Add(Read(AirC + c, 0.08, 0.1));
            percent.Add(Math.Min(100, Read((100 * VapourPa / Saturation.OverWaterPa(AirC)) + p, 0.5, 0.1)));
            outside.Add(Read(OutC - c, 0.1, 0.1));
            outPercent.Add(Math.Min(100, Read((100 * OutPa / Saturation.OverWaterPa(OutC)) - p, 0.5, 0.1)));
        }

        return new RoomRecord(air, percent, outside, outPercent);
    }

    /// <summary>The same room at the same moment, to try something in.</summary>
    public SimulatedRoom Copy()
    {
        var copy = (SimulatedRoom)MemberwiseClone();
        copy.wallC = [.. wallC];
        return copy;
    }

    /// <summary>The same room after a month of the same air outdoors, one degree under the ground.</summary>
    public SimulatedRoom Settled()
    {
        var settled = Copy();
        settled.Outdoors(groundC - 1, Math.Min(OutPa, 0.9 * Saturation.OverWaterPa(groundC - 1)));
        for (int minute = 0; minute < 30 * 1440; minute++)
            settled.Step(minute, weather: false);
        return settled;
    }

    /// <summary>Sets the air outdoors, for what is tried without weather.</summary>
    public void Outdoors(double celsius, double pascal) => (OutC, OutPa) = (celsius, pascal);

    private double Read(double value, double noise, double step) =>
        Math.Round((value + (noise * Bell())) / step) * step;

    private double Bell() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    // A day's swing about a level that wanders from day to day; the dew point wanders by itself.
    private void Weather(double minute)
    {
        if (Math.Floor(minute) % 1440 == 0)
            (nextDay, nextDamp) = ((0.7 * nextDay) + (2.5 * Bell()), (0.7 * nextDamp) + (2 * Bell()));
        level += (nextDay - level) / 600;
        damp += (nextDamp - damp) / 600;
        OutC = groundC - 1 + level + (5 * Math.Sin(2 * Math.PI * (minute - 540) / 1440));
        OutPa = Math.Min(Saturation.OverWaterPa(groundC - 4 + damp), 0.98 * Saturation.OverWaterPa(OutC));
    }
}
