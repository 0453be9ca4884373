using RootCellar.Ledger;
using RootCellar.Mirror;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Mirror;

/// <summary>The marks over the record: nothing is passed over, whatever order rows come in.</summary>
public sealed class MirrorMarksTests : IAsyncLifetime
{
    private const string Target = "http://one house cellar";
    private readonly TempFolder folder = new();
    private readonly HouseTime time = new(Sample.At.AddHours(2));
    private Store store = null!;

    public async ValueTask InitializeAsync()
    {
        store = folder.Open(time, batchSeconds: 0);
        await store.WriteAsync(c => SensorRows.Save(c, new SensorRow(1, "cellar/door", "cellar", null, null, Sample.At, null)));
        await store.WriteAsync(c => PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, null, ["potato"])));
        await store.WriteAsync(c => MirrorRows.SwitchOn(c, Target, time.GetUtcNow()));
    }

    public async ValueTask DisposeAsync()
    {
        await store.DisposeAsync();
        folder.Dispose();
    }

    [Fact]
    public async Task What_was_taken_is_not_taken_again_and_what_was_not_confirmed_is()
    {
        await KeepAsync(1, 2, 3);
        (await TakeAsync()).Values.Should().Equal(1, 2, 3);
        var again = await TakeAsync();
        again.Values.Should().Equal([1, 2, 3], "nobody said that they arrived");
        await ConfirmAsync(again.Claim);
        (await TakeAsync()).Values.Should().BeEmpty();
        await KeepAsync(4);
        (await TakeAsync()).Values.Should().Equal(4);
    }

    [Fact]
    public async Task A_reading_that_comes_late_is_sent_with_those_after_it()
    {
        await KeepAsync(1, 5, 6);
        await ConfirmAsync((await TakeAsync()).Claim);
        await KeepAsync(3);
        Behind().Should().Be(3);
        (await TakeAsync()).Values.Should().Equal(3, 5, 6);
    }

    [Fact]
    public async Task A_reading_that_comes_while_its_time_is_on_the_way_is_not_passed_over()
    {
        await KeepAsync(1, 5, 9);
        var (claim, lines) = await TakeAsync();
        lines.Should().Equal(1, 5, 9);
        await KeepAsync(4);
        await ConfirmAsync(claim);
        (await TakeAsync()).Values.Should().Equal(4, 5, 9);
    }

    [Fact]
    public async Task One_of_the_same_millisecond_counts_as_late()
    {
        await KeepAsync(1, 5);
        await ConfirmAsync((await TakeAsync()).Claim);
        await store.AppendAsync([Sample.Reading(5.5, Sample.At.AddSeconds(5))], urgent: true);
        (await TakeAsync()).Values.Should().Equal([5.5, 5], "a running number that goes down keeps the two apart");
    }

    [Fact]
    public async Task A_repeat_of_a_reading_that_is_there_moves_nothing()
    {
        var reading = Sample.Reading(5, source: TimeSource.Device);
        await store.AppendAsync([reading], urgent: true);
        await ConfirmAsync((await TakeAsync()).Claim);
        await store.AppendAsync([reading], urgent: true);
        Behind().Should().Be(0);
    }

    [Fact]
    public async Task Readings_of_the_future_wait_for_their_time_and_hold_nobody_up()
    {
        await KeepAsync(1, 3 * 3600);
        await ConfirmAsync((await TakeAsync()).Claim);
        await KeepAsync(2);
        (await TakeAsync()).Values.Should().Equal(2);
        time.Advance(TimeSpan.FromHours(2));
        (await TakeAsync()).Values.Should().Equal(2, 3 * 3600);
    }

    [Fact]
    public async Task No_more_is_taken_than_asked_for_and_all_comes_in_the_end()
    {
        await KeepAsync([.. Enumerable.Range(1, 25).Select(i => (double)i)]);
        var all = new List<double>();
        for (var rounds = 0; rounds < 3; rounds++)
        {
            var (claim, values) = await TakeAsync(most: 10);
            values.Count.Should().BeLessThanOrEqualTo(10);
            all.AddRange(values);
            await ConfirmAsync(claim);
        }

        all.Should().Equal(Enumerable.Range(1, 25).Select(i => (double)i));
    }

    [Fact]
    public async Task Readings_thinned_before_they_were_sent_are_counted_and_no_others()
    {
        await KeepAsync(1, 2);
        await ConfirmAsync((await TakeAsync()).Claim);
        await KeepAsync(3, 4, 5);
        await store.WriteAsync(c => Housekeeping.SummariseSome(c, Sample.At.AddSeconds(4.5), 5));
        store.Read(MirrorRows.Counts).Dropped.Should().Be(2);
        (await TakeAsync()).Values.Should().Equal(5);
    }

    [Fact]
    public async Task Air_that_comes_late_or_is_judged_anew_is_sent_again()
    {
        foreach (var minute in new[] { 0, 5, 10 }) await AirAsync(minute, 4);
        var (claim, _) = await TakeAsync();
        claim.Air.Should().ContainSingle();
        await ConfirmAsync(claim);
        Behind().Should().Be(0);
        await AirAsync(5, 4.5);
        (claim, _) = await TakeAsync();
        store.Read(c => MirrorReader.Lines(c, claim)).Should()
            .HaveCount(2).And.Contain(l => l.Contains("temperature_c=4.5", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Another_server_begins_with_what_comes_and_the_same_one_goes_on()
    {
        await KeepAsync(1, 2);
        (await store.WriteAsync(c => MirrorRows.SwitchOn(c, Target, time.GetUtcNow()))).Should().BeFalse();
        Behind().Should().Be(2);
        (await store.WriteAsync(c => MirrorRows.SwitchOn(c, "http://two house cellar", time.GetUtcNow()))).Should().BeTrue();
        Behind().Should().Be(0);
        await KeepAsync(3);
        (await TakeAsync()).Values.Should().Equal(3);
    }

    [Fact]
    public async Task The_log_is_bounded_and_what_goes_is_counted()
    {
        await store.WriteAsync(
            c => MirrorRows.Log(c, Enumerable.Range(0, MirrorRows.MostLogged + 30).Select(i => $"mirror n={i}i"), Sample.At));
        var (claim, _) = await TakeAsync(most: 1);
        store.Read(MirrorRows.Counts).Dropped.Should().Be(30);
        store.Read(c => MirrorReader.Lines(c, claim)).Should().Equal("mirror n=30i");
    }

    [Fact]
    public async Task The_book_goes_in_the_order_of_writing()
    {
        await WriteAsync(1, "dug", """{"lot":"Pontiac-1","crop":"potato","weightKg":50}""");
        await WriteAsync(2, "filled", """{"bin":"B1","lot":"Pontiac-1","weightKg":50}""");
        var (claim, _) = await TakeAsync();
        var lines = store.Read(c => MirrorReader.Lines(c, claim));
        lines.Should().HaveCount(2);
        lines[0].Should().StartWith("ledger,crop=potato,event=dug,lot=Pontiac-1 ").And.Contain("weight_kg=50");
        lines[1].Should().StartWith("ledger,bin=B1,event=filled,lot=Pontiac-1 ").And.NotEndWith(
            lines[0].Split(' ')[^1], "two entries of one minute are two points");
        await ConfirmAsync(claim);
        Behind().Should().Be(0);
    }

    private async Task WriteAsync(long id, string what, string body)
    {
        using var fields = System.Text.Json.JsonDocument.Parse(body);
        var entry = new LedgerEntry(id, what, Sample.At, Sample.At, "Nell", null, fields.RootElement.Clone(), null, null);
        await store.WriteAsync(c => LedgerRows.Add(c, new LedgerRow(entry, null, null, null)));
    }

    private Task KeepAsync(params double[] seconds) => store.AppendAsync(
        [.. seconds.Select(s => Sample.Reading(s, Sample.At.AddSeconds(s)))], urgent: true).AsTask();

    private Task AirAsync(int minute, double temperature) => store.WriteAsync(c => PlaceRows.SaveAir(
        c, new PlaceAir("cellar", Sample.At.AddMinutes(minute), temperature, 92, 3, 60, null, null, null, null, AirQuality.Good)));

    private async Task<(Claim Claim, IReadOnlyList<double> Values)> TakeAsync(int most = 1_000)
    {
        var claim = await store.WriteAsync(c => MirrorRows.Take(c, MirrorRows.SeriesToAdd(c), time.GetUtcNow(), most));
        var values = store.Read(c => MirrorReader.Lines(c, claim)).Where(l => l.StartsWith("reading,", StringComparison.Ordinal))
            .Select(l => double.Parse(l.Split("temperature_c=")[1].Split(' ')[0], System.Globalization.CultureInfo.InvariantCulture));
        return (claim, [.. values]);
    }

    private Task ConfirmAsync(Claim claim) => store.WriteAsync(c => MirrorRows.Confirm(c, claim, 0, [], time.GetUtcNow()));

    private long Behind() => store.Read(c => MirrorRows.Behind(c, time.GetUtcNow()));
}
