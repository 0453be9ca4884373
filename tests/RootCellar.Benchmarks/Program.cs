using System.CommandLine;
using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Diagnosers;
using BenchmarkDotNet.Jobs;
using BenchmarkDotNet.Running;
using BenchmarkDotNet.Toolchains.InProcess.Emit;
using RootCellar.Benchmarks.Footprint;
using RootCellar.Benchmarks.Limits;
using RootCellar.Benchmarks.Load;
using RootCellar.Benchmarks.Worlds;

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

var half = new Option<string>("--half")
{
    Description = "first: to be looked at while building; second: every world with seeds nobody has looked at, once, at the end",
    DefaultValueFactory = _ => "first"
}.AcceptOnlyFromAmong("first", "second");
var world = new Option<string?>("--world") { Description = "one world alone" };
var bins = new Option<int>("--bins") { Description = "bins of potatoes in each world", DefaultValueFactory = _ => 40 };
var keep = new Option<string?>("--out") { Description = "keep the files of each world in this folder", HelpName = "DIR" };
var answers = new Option<string>("--answers")
{ Description = "of the weigh-ins that surprise, how many the person says are right", DefaultValueFactory = _ => "half" }
    .AcceptOnlyFromAmong("none", "half", "all");
var seed = new Option<int>("--seed") { Description = "the first seed of each world", DefaultValueFactory = _ => 0 };
var seeds = new Option<int>("--seeds") { Description = "how often each world is drawn, seed after seed", DefaultValueFactory = _ => 1 };
var table = new Option<bool>("--table") { Description = "the table of docs/science/worlds.md at the end" };
var cut = new Option<bool>("--cut") { Description = "also look whether the estimate of a day uses what came to be known later" };
var worlds = new Command(
    "worlds", "Holds the estimates of every bin against simulated cellars whose truth is not the program's own (docs/science/worlds.md).")
{ half, world, bins, keep, answers, seed, seeds, table, cut };
worlds.SetAction((p, ct) => WorldRun.RunAsync(
    new WorldOptions(
        p.GetValue(half) == "second" ? WorldHalf.Second : WorldHalf.First, p.GetValue(world), Math.Clamp(p.GetValue(bins), 1, 200),
        p.GetValue(keep), p.GetValue(answers)!, Math.Clamp(p.GetValue(seed), 0, 1_000),
        Math.Clamp(p.GetValue(seeds), 1, 100), p.GetValue(table), p.GetValue(cut)),
    TimeProvider.System, ct));

var hours = new Option<int>("--hours") { Description = "how much of the day is lived through", DefaultValueFactory = _ => 24 };
var footprint = new Command(
    "footprint", "Prints memory, bytes written a day and bytes a raw value, beside a plain SQLite logger in the same run.") { hours };
footprint.SetAction((p, ct) => FootprintRun.RunAsync(Math.Clamp(p.GetValue(hours), 1, 48), ct));

return await new RootCommand("Load runs, micro-benchmarks and simulated cellars of RootCellar.") { load, limits, micro, worlds, footprint }
    .Parse(args).InvokeAsync();
