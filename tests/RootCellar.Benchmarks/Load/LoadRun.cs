using System.Diagnostics;

namespace RootCellar.Benchmarks.Load;

internal sealed record LoadPlan(TimeSpan Length, int Qos0, int Qos1, int Connections, int Probes, int Beside, TimeSpan Rest, string? Only)
{
    public bool Wants(string load) => Only is null || Only == load;
}

/// <summary>
/// The load run: starts the service, loads it, counts what is in its file, prints. Exit code 1 when anything sent is missing.
/// </summary>
internal static class LoadRun
{
    private const int FloodConnections = 4;
    private static readonly Dictionary<string, string> Places = new(StringComparer.Ordinal)
    {
        ["curing-room"] = "curing",
        ["cellar"] = "storage",
        ["pantry"] = "storage",
        [AlarmTime.Place] = "curing",
    };

    private static bool lost;

    public static async Task<int> RunAsync(LoadPlan plan, CancellationToken cancellationToken)
    {
        Console.WriteLine($"{Environment.ProcessorCount} cores for service and load together, {System.Runtime.InteropServices.RuntimeInformation.OSArchitecture}, .NET {Environment.Version}, load average at start {File.ReadAllText("/proc/loadavg").Split(' ')[0]}");
        await using var service = await Service.StartAsync(cancellationToken);
        await service.AddPlacesAsync(Places, cancellationToken);
        ShowMemory(service, "at start");
        long sent = 0;
        if (plan.Wants("qos0"))
        {
            var wanted = plan.Qos0 == 0 ? "as many as go" : $"{plan.Qos0:N0}/s wanted";
            sent += await MeasureAsync(service, $"QoS 0, {wanted}, {FloodConnections} connections", () =>
                Flood.RunAsync(service.Mqtt, plan.Qos0, FloodConnections, plan.Length, cancellationToken));
        }

        if (plan.Wants("qos1"))
        {
            var wanted = plan.Qos1 == 0 ? "as many as go" : $"{plan.Qos1:N0}/s wanted";
            sent += await MeasureAsync(
                service, $"QoS 1 acknowledged, {wanted}, {plan.Connections} connections, {Receipts.Window} under way on each",
                () => Receipts.RunAsync(service.Mqtt, plan.Qos1, plan.Connections, plan.Length, cancellationToken));
        }

        if (plan.Wants("latency"))
        {
            sent += await MeasureAsync(service, $"Publish to alarm, {plan.Beside:N0} readings/s beside it", () =>
                LatencyAsync(service, plan, cancellationToken));
        }

        var cpu = service.Cpu;
        await Task.Delay(plan.Rest, cancellationToken);
        Console.WriteLine($"At rest for {plan.Rest.TotalSeconds:0} s: {(service.Cpu - cpu).TotalSeconds / Math.Max(1, plan.Rest.TotalSeconds):0.0%} of a core");
        ShowMemory(service, "at rest");
        await service.StopAsync();
        Compare("Whole run, after the stop", sent, service.Rows());
        Console.WriteLine($"  record {service.FileBytes / 1048576.0:0} MB");
        return lost ? 1 : 0;
    }

    private static async Task<Figures> LatencyAsync(Service service, LoadPlan plan, CancellationToken cancellationToken)
    {
        // Bounded by the probes: about 80 ms each.
        var background = Flood.RunAsync(service.Mqtt, plan.Beside, FloodConnections, TimeSpan.FromSeconds(1 + (plan.Probes * 0.1)),
            cancellationToken);
        var took = await AlarmTime.RunAsync(service.Mqtt, plan.Probes, cancellationToken);
        var beside = await background;
        Console.WriteLine($"  {took.Length} decisions: p50 {At(0.5):0.00} ms, p95 {At(0.95):0.00} ms, p99 {At(0.99):0.00} ms, max {took[^1]:0.00} ms");
        return beside with { Sent = beside.Sent + AlarmTime.Sent(plan.Probes) };

        double At(double share) => took[Math.Min(took.Length - 1, (int)Math.Ceiling(share * took.Length) - 1)];
    }

    private static async Task<long> MeasureAsync(Service service, string what, Func<Task<Figures>> load)
    {
        Console.WriteLine(what);
        var (before, goodBefore) = service.Rows();
        var (cpu, own) = (service.Cpu, Own());
        var figures = await load();
        var (used, usedHere) = (service.Cpu - cpu, Own() - own);
        Console.WriteLine($"  {figures.Sent:N0} in {figures.Took.TotalSeconds:0.0} s = {figures.Rate:N0}/s; processor: service {used / figures.Took:0.00} cores = {used.TotalMicroseconds / figures.Sent:0.0} us each, load generator {usedHere / figures.Took:0.00} cores");
        var rows = await SettledAsync(service, before + figures.Sent);
        Compare("rows", figures.Sent, (rows.Rows - before, rows.Good - goodBefore));
        ShowMemory(service, "afterwards");
        return figures.Sent;
    }

    // What came without a receipt is in the file at most one batch (10 s) later.
    private static async Task<(long Rows, long Good)> SettledAsync(Service service, long expected)
    {
        var watch = Stopwatch.StartNew();
        var rows = service.Rows();
        while (rows.Rows < expected && watch.Elapsed < TimeSpan.FromSeconds(15))
        {
            await Task.Delay(500);
            rows = service.Rows();
        }

        return rows;
    }

    private static void Compare(string what, long sent, (long Rows, long Good) kept)
    {
        lost |= kept.Rows != sent;
        Console.WriteLine($"  {what}: sent {sent:N0}, kept {kept.Rows:N0}, {(kept.Rows == sent ? "nothing lost" : $"DIFFERENCE {kept.Rows - sent:N0}")}; {kept.Good:N0} believed");
    }

    private static TimeSpan Own() => Process.GetCurrentProcess().TotalProcessorTime;

    private static void ShowMemory(Service service, string when)
    {
        var (resident, anonymous, peak) = service.Memory();
        Console.WriteLine($"  memory {when}: VmRSS {resident:0} MB, of it RssAnon {anonymous:0} MB; highest so far {peak:0} MB");
    }
}
