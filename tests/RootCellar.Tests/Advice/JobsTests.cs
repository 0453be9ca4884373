using RootCellar.Advice;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Lots;
using RootCellar.Tests.Report;
using RootCellar.Watch;

namespace RootCellar.Tests.Advice;

/// <summary>The one list of what is to be done: what is one job, and what is none.</summary>
public sealed class JobsTests
{
    private static readonly DateTimeOffset At = new(2025, 10, 20, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task Dry_air_is_one_job_whether_the_room_or_the_bins_say_it()
    {
        await using var cellar = await StoreAsync(humidity: 45);
        var facts = await FactsAsync(cellar);

        var dry = Jobs.Of(facts).Should().ContainSingle(j => j.Kind == JobKind.WetTheAir).Which;
        dry.Place.Should().Be(Cellar.StoreRoom);
        dry.Bins.Should().Equal("b2", "b10");
        dry.Kg.Should().BeInRange(0.1, 3, "what it takes in a week, not what stands there");

        var alarmed = facts with { Rooms = [new RoomWrong(Cellar.StoreRoom, [(Rule.TooDry, At.AddHours(-3))], Urgent: true)] };
        Jobs.Of(alarmed).Where(j => j.Kind is JobKind.WetTheAir or JobKind.SeeToRoom).Should().ContainSingle()
            .Which.Should().Match<Job>(j => j.Kind == JobKind.SeeToRoom && j.Urgent && j.When == At.AddHours(-3));
    }

    [Fact]
    public async Task All_that_is_wrong_with_a_room_is_one_job_ranked_by_the_worst_of_it()
    {
        await using var cellar = await StoreAsync();
        var facts = await FactsAsync(cellar);
        RoomWrong Wrong(params Rule[] rules) => new(Cellar.StoreRoom, [.. rules.Select((r, i) => (r, At.AddHours(-i)))], Urgent: false);

        foreach (var (rules, kind, since) in new[]
        {
            ((Rule[])[Rule.TooWarm, Rule.TooDry], JobKind.SeeToRoom, At.AddHours(-1)),
            ([Rule.TooCold, Rule.FreezingNear], JobKind.KeepFromFrost, At.AddHours(-1)),
            ([Rule.Co2High, Rule.FreezingNear], JobKind.AirTheRoom, At),
        })
        {
            var job = Jobs.Of(facts with { Rooms = [Wrong(rules)] }).Should().ContainSingle(j => j.Kind <= JobKind.SeeToRoom).Which;
            (job.Kind, job.When, job.Place).Should().Be((kind, since, Cellar.StoreRoom));
            job.Kg.Should().BeApproximately(40, 2);
        }
    }

    [Fact]
    public async Task What_threatens_the_record_is_a_job_after_what_spoils_and_what_an_alarm_says_is_not_said_twice()
    {
        await using var cellar = await StoreAsync();
        var facts = await FactsAsync(cellar) with
        {
            Backup = BackupStanding.Off with { Folder = "/media/stick", Trouble = BackupTrouble.FolderMissing },
            Left = new DiskLeft(2_500_000_000, 32_000_000_000),
            Card = new CardError(At.AddHours(-2), At, 3, Damaged: false, "disk I/O error"),
            Rooms = [new RoomWrong(Cellar.StoreRoom, [(Rule.TooWarm, At)], Urgent: true)],
        };
        Jobs.Of(facts).Select(j => j.Kind).Where(k => k is JobKind.SeeToRoom or JobKind.SeeToCard or JobKind.MakeRoom or JobKind.BackUp)
            .Should().Equal(JobKind.SeeToRoom, JobKind.SeeToCard, JobKind.MakeRoom, JobKind.BackUp);

        var full = new Alarm("house-disk-full-1", 1, Rule.DiskFull, "", null, AlarmPriority.High, AlarmState.Unacknowledged, true, Measure.DiskFree,
            2.5, 3, 2.5, At, At);
        Jobs.Of(facts with { Alarms = [full] }).Should().Contain(j => j.Kind == JobKind.SeeToAlarm && j.Urgent).And.NotContain(
            j => j.Kind == JobKind.MakeRoom);
        Jobs.Of(facts with { Backup = BackupStanding.Off, Left = null, Card = null }).Should().NotContain(
            j => j.Kind == JobKind.BackUp || j.Kind == JobKind.MakeRoom || j.Kind == JobKind.SeeToCard);
        Jobs.Of(facts with { Backup = facts.Backup! with { Trouble = BackupTrouble.None } }).Should().NotContain(j => j.Kind == JobKind.BackUp);
        Jobs.Of(facts with { Backup = facts.Backup! with { Trouble = BackupTrouble.None, Old = true } }).Should().Contain(j => j.Kind == JobKind.BackUp);
    }

    [Fact]
    public async Task A_sensor_with_an_alarm_is_that_alarms_job_and_a_silent_one_is_no_other()
    {
        await using var cellar = await StoreAsync();
        SensorTrouble Trouble(string sensor, SensorNeeds needs) => new(sensor, null, Cellar.StoreRoom, needs, null, null, null);
        var facts = await FactsAsync(cellar) with
        {
            Sensors = [Trouble("cellar/a", SensorNeeds.Stuck), Trouble("cellar/b", SensorNeeds.Saturated),
                Trouble("cellar/c", SensorNeeds.Silent), Trouble("cellar/d", SensorNeeds.Battery)],
        };
        Jobs.Of(facts).Where(j => j.Sensors.Count > 0).Select(j => (j.Kind, j.Sensors[0].Sensor)).Should()
            .Equal((JobKind.SeeToSensor, "cellar/a"), (JobKind.DryTheSensor, "cellar/b"));

        var alarm = new Alarm(
            "a", 1, Rule.SensorNotBelievable, Cellar.StoreRoom, "cellar/a", AlarmPriority.High, AlarmState.Unacknowledged, true,
            Measure.None, null, null, null, At, At);
        Jobs.Of(facts with { Alarms = [alarm] }).Where(j => j.Sensors.Count > 0 || j.Alarm is not null).Select(j => j.Kind).Should()
            .Equal(JobKind.SeeToAlarm, JobKind.DryTheSensor);
    }

    [Fact]
    public async Task A_weigh_in_is_a_job_where_much_is_not_known_and_nobody_has_weighed_of_late()
    {
        await using var cellar = await StoreAsync();
        Jobs.Of(await FactsAsync(cellar)).Should().NotContain(j => j.Kind == JobKind.WeighIn, "both were weighed when they were filled");
        var byMeasure = Filled.Replace("\"weightKg\":20", "\"measure\":{\"amount\":1,\"unit\":\"bushel\",\"kgPerUnit\":27.2}",
            StringComparison.Ordinal);
        cellar.Book = Weeks.Book($"[{byMeasure}]");
        Jobs.Of(await FactsAsync(cellar)).Should().ContainSingle(j => j.Kind == JobKind.WeighIn).Which.Bins.Should()
            .ContainSingle().Which.Should().BeOneOf("b2", "b10");

        cellar.Book = Weeks.Book(
            $$"""[{{byMeasure}}, {"event":"weighed","at":"2025-10-20T08:00:00Z","bin":"b2","weightKg":26.4},{"event":"weighed","at":"2025-10-20T08:00:00Z","bin":"b10","weightKg":26.4}]""");
        Jobs.Of(await FactsAsync(cellar)).Should().NotContain(j => j.Kind == JobKind.WeighIn);
    }

    [Fact]
    public async Task Sprouts_too_long_to_speak_of_as_food_are_a_job_to_sort_on_the_list_and_in_the_report()
    {
        await using var cellar = await StoreAsync();
        cellar.Book = Weeks.Book(
            $$"""[{{Filled}}, {"event":"sprouts-seen","at":"2025-10-19T08:00:00Z","bin":"b2","share":"most","length":40}]""");
        var facts = await FactsAsync(cellar);
        facts.Views.Bins["b2"].Advice.Code.Should().Be("long-sprouts");

        var job = Jobs.Of(facts).Should().ContainSingle(j => j.Bins.Contains("b2")).Which;
        (job.Kind, job.Place, job.Kg).Should().Be((JobKind.SortSprouted, Cellar.StoreRoom, facts.Views.Bins["b2"].Kg.Value));
        facts.Views.WorthUsingFirst.Should().NotContain(b => b.Bin == "b2", "nobody is told to eat it");
    }

    private const string Filled = """
        {"event":"dug","at":"2025-09-20T08:00:00Z","lot":"K","crop":"potato","variety":"Kennebec"},
        {"event":"filled","at":"2025-09-20T09:00:00Z","bin":"b10","lot":"K","weightKg":20,"place":"root-cellar"},
        {"event":"filled","at":"2025-09-20T09:00:00Z","bin":"b2","lot":"K","weightKg":20,"place":"root-cellar"}
        """;

    private static async Task<Cellar> StoreAsync(double humidity = 92)
    {
        var cellar = await Cellar.WithRoomsAsync();
        await cellar.AirAsync(Cellar.StoreRoom, Cellar.Start, At, 4, humidity);
        cellar.Book = Weeks.Book($"[{Filled}]");
        return cellar;
    }

    private static async Task<JobFacts> FactsAsync(Cellar cellar)
    {
        var views = cellar.Time.GetUtcNow() < At ? await cellar.AtAsync(At) : await cellar.Keeper.AdvanceAsync(
            TestContext.Current.CancellationToken);
        return new JobFacts(At, cellar.Book, views, [], [], AcrossBins.Promises(cellar.Book, views), []);
    }
}
