using System.CommandLine;
using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Diagnosers;
using BenchmarkDotNet.Jobs;
using BenchmarkDotNet.Running;
using BenchmarkDotNet.Toolchains.InProcess.Emit;
using RootCellar.Benchmarks.Limits;
using RootCellar.Benchmarks.Load;

var seconds = new Option<int>("--seconds") { Description = "how long each load lasts", DefaultValueFactory = _ => 60 };
var qos0 = new Option<int>("--qos0") { Description = "QoS 0 readings a second; 0: as many as go", DefaultValueFactory = _ => 22_000 };
var qos1 = new Option<int>("--qos1") { Description = "QoS 1 readings a second; 0: as many as go", DefaultValueFactory = _ => 0 };
var connections = new Option<int>("--connections") { Description = "QoS 1 connections", DefaultValueFactory = _ => 64 };
var probes = new Option<int>("--probes") { Description = "how often the alarm is raised and ended", DefaultValueFactory = _ => 250 };
var beside = new Option<int>("--beside")
{ Description = "QoS 0 readings a second while the alarm is timed", DefaultValueFactory = _ => 1_000 };
var rest = new Option<int>("--rest") { Description = "seconds of rest before the last look at memory", DefaultValueFactory = _ => 30 };
var only = new Option<string?>("--only") { Description = "one load alone" }.AcceptOnlyFromAmong("qos0", "qos1", "latency");
var load = new Command("load", "Starts the service and loads it over MQTT on this machine.") { seconds, qos0, qos1, connections, probes,
    beside, rest, only };
load.SetAction((p, ct) => LoadRun.RunAsync(
    new LoadPlan(
        TimeSpan.FromSeconds(Math.Clamp(p.GetValue(seconds), 1, 600)),
        Math.Clamp(p.GetValue(qos0), 0, 200_000),
        Math.Clamp(p.GetValue(qos1), 0, 200_000),
        Math.Clamp(p.GetValue(connections), 1, 500),
        Math.Clamp(p.GetValue(probes), 1, 2_000),
        Math.Clamp(p.GetValue(beside), 1, 200_000),
        TimeSpan.FromSeconds(Math.Clamp(p.GetValue(rest), 0, 600)),
        p.GetValue(only)),
    ct));

var micro = new Command("micro", "Times decoding, judging and writing alone.");
micro.SetAction(_ =>
{
    // In this process and short: these show where the time goes, not the last percent.
    var config = ManualConfig.Create(DefaultConfig.Instance)
        .AddJob(Job.ShortRun.WithToolchain(InProcessEmitToolchain.Instance))
        .AddDiagnoser(MemoryDiagnoser.Default);
    BenchmarkSwitcher.FromAssembly(typeof(LoadRun).Assembly).RunAllJoined(config);
    return 0;
});

var limits = new Command(
    "limits", "Measures every page and the book with three years in the record; exit 1 when one is slower than docs/performance.md promises.");
limits.SetAction(_ => LimitRun.RunAsync());

return await new RootCommand("Load runs and micro-benchmarks of RootCellar.") { load, limits, micro }.Parse(args).InvokeAsync();
