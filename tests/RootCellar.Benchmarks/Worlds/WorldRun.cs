namespace RootCellar.Benchmarks.Worlds;

/// <summary>What is asked for on the command line.</summary>
/// <param name="Answers">Of the weigh-ins that surprise, how many the person says are right: none, half or all.</param>
/// <param name="Seed">The first seed of each world.</param>
/// <param name="Seeds">How often each world is drawn; its figures are of all of them together.</param>
/// <param name="Cut">Also look whether the export of a day uses what came to be known later.</param>
internal sealed record WorldOptions(WorldHalf Half, string? World, int Bins, string? Out, string Answers, int Seed, int Seeds,
    bool Table, bool Cut);

/// <summary>
/// Simulated cellars whose truth is not the program's own: what the built program says of every bin at every midnight, held against it.
/// Exit code 1 when a world's intervals hold the truth in less than 85 or more than 96 % of its bin-days.
/// </summary>
internal static class WorldRun
{
    /// <summary>With fewer bins it is tried whether a world runs, and nothing is told of how well it is judged.</summary>
    private const int FewestJudged = 20;

    private static readonly int[] CutDays = [50, 95, 150];

    public static async Task<int> RunAsync(WorldOptions options, TimeProvider clock, CancellationToken cancellationToken)
    {
        // In the first half its own worlds; in the second all of them, with seeds nobody has looked at.
        var plans = WorldList.All
            .Where(w => options.World is null ? options.Half == WorldHalf.Second || w.Half == WorldHalf.First : w.Name == options.World)
            .ToList();
        if (plans.Count == 0 || plans.Exists(p => p.Half > options.Half))
        {
            string names = string.Join(", ", WorldList.All.Where(w => w.Half <= options.Half).Select(w => w.Name));
            Console.Error.WriteLine($"There is no such world in this half. Worlds: {names}.");
            return 2;
        }

        bool kept = options.Out is not null;
        string root = kept ? Path.GetFullPath(options.Out!) : Directory.CreateTempSubdirectory("rootcellar-worlds-").FullName;
        var results = new List<WorldResult>();
        try
        {
            string places = Path.Combine(root, "places");
            await WorldProgram.SetUpAsync(places, cancellationToken);
            foreach (var plan in plans)
            {
                var begun = clock.GetTimestamp();
                WorldResult? result = null;
                for (int seed = options.Seed; seed < options.Seed + options.Seeds; seed++)
                {
                    // Of the second half nobody has seen a seed.
                    int own = (100 * seed) + WorldList.All.ToList().IndexOf(plan) + (options.Half == WorldHalf.First ? 1_000 : 700_000);
                    string folder = Path.Combine(root, $"{plan.Name}-{seed}");
                    var one = await LiveAsync(plan, own, options, places, folder, cancellationToken);
                    result = result?.With(one) ?? one;
                    if (!kept) Directory.Delete(folder, recursive: true);
                }

                string took = $"{clock.GetElapsedTime(begun).TotalSeconds:0} s";
                if (options.Bins < FewestJudged)
                {
                    Console.WriteLine(
                        $"{plan.Name}: ran, {result!.Judged.Count} estimates, {took}. Under {FewestJudged} bins nothing is judged.");
                    continue;
                }

                results.Add(result!);
                WorldTable.Say(result!, took);
            }
        }
        finally
        {
            if (!kept) Directory.Delete(root, recursive: true);
        }

        if (options.Table && results.Count > 0) Console.WriteLine(WorldTable.Of(results));
        return results.TrueForAll(r => r.Score(_ => true)!.IsWanted) ? 0 : 1;
    }

    private static async Task<WorldResult> LiveAsync(WorldPlan plan, int seed, WorldOptions options, string places, string folder,
        CancellationToken cancellationToken)
    {
        var season = new WorldSeason(plan, seed, options.Bins);
        var aired = new WorldProgram(places).CopyTo(Path.Combine(folder, "aired"));
        string readings = Path.Combine(folder, "readings.csv"), truth = Path.Combine(folder, "truth.csv");
        WorldFiles.Truth(truth, season);
        WorldFiles.Readings(readings, season, seed + 50_000);
        await aired.ImportAsync("readings", readings, cancellationToken);

        // What surprises is known only from what the program says; half of the people asked look again and say that it is so.
        var told = await TellAsync("unanswered", new HashSet<WorldWeighing>());
        var surprising = season.Weighings.Where(w => IsSurprising(w, told)).ToList();
        var right = surprising.Where((_, i) => options.Answers == "all" || (options.Answers == "half" && i % 2 == 0)).ToHashSet();
        if (right.Count > 0) told = await TellAsync("answered", right);
        int held = right.Count(w => told.TryGetValue((w.Bin.Name, w.Day + 1), out var e) && w.NetKg >= e.LowKg && w.NetKg <= e.HighKg);
        var result = new WorldResult(
            plan, WorldScore.Judge(season, told), season.Weighings.Count(), surprising.Count, held, right.Count);
        if (options.Cut) result = result with { LaterKg = await LaterAsync(told, right) };
        return result;

        async Task<IReadOnlyDictionary<(string Bin, int Day), Estimate>> TellAsync(string name,
            IReadOnlySet<WorldWeighing> checkedOnes)
        {
            string ledger = Path.Combine(folder, $"ledger-{name}.csv");
            WorldFiles.Ledger(ledger, season, checkedOnes);
            var program = aired.CopyTo(Path.Combine(folder, name));
            await program.ImportAsync("ledger", ledger, cancellationToken);
            return await program.EstimatesAsync(cancellationToken);
        }

        // The most any figure of a day differs where the files end with that day.
        async Task<double> LaterAsync(IReadOnlyDictionary<(string Bin, int Day), Estimate> whole, IReadOnlySet<WorldWeighing> checkedOnes)
        {
            double most = 0;
            foreach (int day in CutDays)
            {
                var program = new WorldProgram(places).CopyTo(Path.Combine(folder, $"until-{day}"));
                string some = Path.Combine(folder, $"readings-until-{day}.csv"), ledger = Path.Combine(folder, $"ledger-until-{day}.csv");
                // A little beyond the midnight: what is compared stands at it.
                WorldFiles.Readings(some, season, seed + 50_000, day + 0.01);
                WorldFiles.Ledger(ledger, season, checkedOnes, day);
                await program.ImportAsync("readings", some, cancellationToken);
                await program.ImportAsync("ledger", ledger, cancellationToken);
                foreach (var (key, then) in await program.EstimatesAsync(cancellationToken))
                {
                    if (key.Day != day) continue;
                    var later = whole[key];
                    foreach (double off in (double[])[later.LowKg - then.LowKg, later.Kg - then.Kg, later.HighKg - then.HighKg])
                        most = Math.Max(most, Math.Abs(off));
                }
            }

            return most;
        }
    }

    /// <summary>Twice as far from the estimate just before as its 90 % interval reaches, and a step of the scale more.</summary>
    private static bool IsSurprising(WorldWeighing weighing, IReadOnlyDictionary<(string Bin, int Day), Estimate> told) =>
        told.TryGetValue((weighing.Bin.Name, weighing.Day), out var before)
        && (weighing.NetKg > before.Kg + (2 * (before.HighKg - before.Kg)) + weighing.StepKg
            || weighing.NetKg < before.Kg - (2 * (before.Kg - before.LowKg)) - weighing.StepKg);
}
