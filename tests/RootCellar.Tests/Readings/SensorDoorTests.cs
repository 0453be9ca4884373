using System.Net;
using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

/// <summary>Who may connect to the built-in broker, and what each may do there.</summary>
public sealed class SensorDoorTests : IDisposable
{
    private const string Short = "moss-oak-rain-seed";
    private static readonly IPAddress Here = IPAddress.Loopback;
    private static readonly IPAddress There = IPAddress.Parse("192.168.7.20");
    private static readonly DateTimeOffset Day = new(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);

    private readonly CancellationTokenSource over = new();
    private readonly SensorDoor door = new(allowAnonymous: true, (topic, _) => topic == "shed/1" ? ["cellar/scale"] : []);
    private readonly string shared = SensorSecret.New();
    private readonly string own = SensorSecret.New();
    private readonly string siren = SensorSecret.New();

    public SensorDoorTests() => Set();

    [Fact]
    public void A_new_password_has_80_bits_is_typed_without_mistakes_and_differs_from_the_words_of_before()
    {
        var many = Enumerable.Range(0, 2_000).Select(_ => SensorSecret.New()).ToList();
        many.Should().OnlyHaveUniqueItems().And.AllSatisfy(s => s.Should().MatchRegex("^[2-9a-km-np-z]{4}(-[2-9a-km-np-z]{4}){3}$"));
        many.SelectMany(s => s.Replace("-", "", StringComparison.Ordinal)).Distinct().Should().HaveCount(32, "16 signs of 32 are 80 bits");
        many.Should().AllSatisfy(s => SensorSecret.IsLong(s).Should().BeTrue());
        SensorSecret.IsLong(Short).Should().BeFalse();
        SensorSecret.IsLong("rain-barn-beet-fern").Should().BeFalse("four words of four letters look alike");
        SensorSecret.Hash(" " + shared.ToUpperInvariant().Replace("-", " ", StringComparison.Ordinal)).Should()
            .Be(SensorSecret.Hash(shared), "a phone's keyboard");
        SensorSecret.Hash(shared[..^1]).Should().NotBe(SensorSecret.Hash(shared));
    }

    [Theory]
    [InlineData("right", false, true, true, true)]
    [InlineData("wrong", true, false, true, false)] // a wrong password is refused wherever it comes from
    [InlineData(null, true, true, true, true)]
    [InlineData("", true, true, true, true)]
    [InlineData(null, false, false, true, true)] // a first sensor needs no ceremony
    [InlineData(null, false, true, true, false)]
    [InlineData(null, true, true, false, false)]
    [InlineData(null, false, false, false, false)]
    public async Task Who_comes_in(string? given, bool fromThisMachine, bool finished, bool anonymous, bool admitted)
    {
        using var one = new SensorDoor(anonymous, (_, _) => []);
        one.Set(new DoorFacts("right", null, finished, []));
        ((await one.AdmitAsync(given, fromThisMachine ? Here : There, "a", over.Token)).Rights is not null).Should().Be(admitted);
        one.IsOpen.Should().Be(anonymous && !finished);
    }

    [Fact]
    public async Task From_an_address_that_guesses_a_right_password_opens_at_once_while_wrong_ones_wait_and_then_are_not_looked_at()
    {
        var waiting = Exhaust(There);

        Try("wrong", There).Should().Be((false, true), "as many wait as may");
        Try(shared, There).Should().Be((true, false));
        Try(own, There).Should().Be((true, false));
        Try("wrong", IPAddress.Parse("192.168.7.21")).Should().Be((false, false), "another address has its own tries");
        await StopAsync(waiting);
    }

    [Fact]
    public async Task Who_guessed_wrong_is_not_known_when_a_guess_of_a_short_password_is_right()
    {
        Set(password: Short);
        Try("wrong", There, "porch").Should().Be((false, false));
        var waiting = Exhaust(There);
        Try(Short, There, "porch").Should().Be((false, true));
        await StopAsync(waiting);
    }

    [Fact]
    public async Task A_short_password_of_before_holds_but_cannot_be_guessed_at_full_speed()
    {
        Set(password: Short);
        Try(Short, There, "porch").Should().Be((true, false));
        var waiting = Exhaust(There);

        Try(Short, There, "stranger").Should().Be((false, true), "it is not told apart from a wrong one");
        Try(Short, There, "porch").Should().Be((true, false), "this one was let in from there before");
        Try(Short, IPAddress.Parse("192.168.7.22"), "attic").Should().Be((true, false), "nobody guesses from there");
        await StopAsync(waiting);
    }

    [Fact]
    public async Task Guessing_from_many_addresses_is_bounded_in_all()
    {
        var waiting = new List<Task<Admission>>();
        var busy = 0;
        for (var i = 0; i < 400 && busy == 0; i++)
        {
            var tried = door.AdmitAsync("wrong", IPAddress.Parse($"10.0.{i / 200}.{(i % 200) + 1}"), "a", over.Token);
            if (tried is { IsCompletedSuccessfully: true, Result.Busy: true }) busy++;
            else if (!tried.IsCompleted) waiting.Add(tried);
        }

        busy.Should().Be(1, "all together have a bound of their own");
        Try(shared, There).Should().Be((true, false));
        await StopAsync(waiting);
    }

    [Fact]
    public async Task Of_one_ipv6_network_all_addresses_are_one_and_so_is_an_ipv4_address_however_it_is_written()
    {
        var waiting = Exhaust(IPAddress.Parse("2001:db8:0:1::1"));
        Try("wrong", IPAddress.Parse("2001:db8:0:1:ffff::2")).Should().Be((false, true), "who has one address there has all of them");
        Try("wrong", IPAddress.Parse("2001:db8:0:2::1")).Should().Be((false, false), "another network");
        waiting.AddRange(Exhaust(There));
        Try("wrong", There.MapToIPv6()).Should().Be((false, true));
        Try("wrong", IPAddress.IPv6Loopback).Should().Be((false, false));
        await StopAsync(waiting);
    }

    [Fact]
    public async Task Each_of_two_with_a_password_of_its_own_is_alone_with_its_topics()
    {
        var other = SensorSecret.New();
        door.Set(new DoorFacts(shared, null, true,
        [
            new ClientCredential(1, ClientKind.Sensor, "cellar/scale", SensorSecret.Hash(own), Day, Day),
            new ClientCredential(2, ClientKind.Sensor, "cellar/door", SensorSecret.Hash(other), Day, Day),
        ]));
        foreach (var topic in new[] { "rootcellar/cellar/scale/weight_kg", "rootcellar/cellar/door", "shed/1" })
        {
            door.MayPublish(await RightsAsync("shared"), topic, default).Should().BeFalse(topic);
            door.MayPublish(await RightsAsync("scale"), topic, default).Should().Be(!topic.EndsWith("door", StringComparison.Ordinal), topic);
        }
    }

    [Theory]
    [InlineData("shared", "rootcellar/cellar/door", true)]
    [InlineData("shared", "anything/else", true)]
    [InlineData("shared", "rootcellar/out/status", false)]
    [InlineData("shared", "rootcellar/out", false)]
    [InlineData("shared", "$SYS/broker", false)]
    [InlineData("anonymous", "rootcellar/cellar/door/temperature_c", true)]
    [InlineData("anonymous", "rootcellar/out/alarms/1", false)]
    [InlineData("scale", "rootcellar/cellar/scale", true)]
    [InlineData("scale", "rootcellar/cellar/scale/weight_kg", true)]
    [InlineData("scale", "rootcellar/cellar/scale/status", true)]
    [InlineData("scale", "shed/1", true)] // mapped to it
    [InlineData("scale", "shed/2", false)]
    [InlineData("scale", "rootcellar/cellar/scale2", false)]
    [InlineData("scale", "rootcellar/cellar/door", false)]
    [InlineData("scale", "rootcellar/cellar", false)]
    [InlineData("scale", "rootcellar/out/cellar/scale", false)]
    [InlineData("siren", "rootcellar/cellar/door", false)]
    [InlineData("siren", "rootcellar/out/status", false)]
    public async Task Who_may_publish_where(string who, string topic, bool may) => door.MayPublish(await RightsAsync(who), topic, default).Should()
        .Be(may);

    [Theory]
    [InlineData("rootcellar/out/#", true)]
    [InlineData("rootcellar/out/+/air", true)]
    [InlineData("rootcellar/out/status", true)]
    [InlineData("#", false)]
    [InlineData("+/out/#", false)]
    [InlineData("rootcellar/#", false)]
    [InlineData("rootcellar/+/status", false)]
    [InlineData("rootcellar/cellar/door", false)]
    [InlineData("$SYS/#", false)]
    [InlineData("$share/a/rootcellar/out/#", false)]
    public async Task Only_what_the_service_publishes_is_read_and_only_by_readers_once_set_up_is_finished(string filter, bool may)
    {
        Set(finished: true);
        door.MayRead(await RightsAsync("siren"), filter).Should().Be(may);
        foreach (var other in new[] { "shared", "scale", "anonymous" })
            door.MayRead(await RightsAsync(other), filter).Should().BeFalse(other);
        Set(finished: false);
        foreach (var other in new[] { "shared", "anonymous" })
            door.MayRead(await RightsAsync(other), filter).Should().Be(may, "everything is open");
        door.MayRead(await RightsAsync("scale"), filter).Should().BeFalse();
    }

    [Fact]
    public async Task From_its_first_use_on_a_sensors_topics_are_its_own_alone()
    {
        const string topic = "rootcellar/cellar/scale/weight_kg";
        door.MayPublish(await RightsAsync("shared"), topic, default).Should().BeTrue("its password was not typed in yet: it must not fall silent");

        Set(used: true);

        foreach (var other in new[] { "shared", "anonymous" })
        {
            var rights = await RightsAsync(other);
            door.MayPublish(rights, topic, default).Should().BeFalse(other);
            door.MayPublish(rights, "shed/1", default).Should().BeFalse(other);
            door.MayPublish(rights, "rootcellar/cellar/door", default).Should().BeTrue(other);
        }

        door.MayPublish(await RightsAsync("scale"), topic, default).Should().BeTrue();
    }

    [Theory]
    [InlineData("gw/scale/weight", """{"w":3}""", true)]
    [InlineData("gw/door/weight", """{"w":3}""", false)]
    [InlineData("lora/up", """{"dev":"scale","w":3}""", true)]
    [InlineData("lora/up", """{"dev":"door","w":3}""", false)]
    public async Task One_that_a_mapping_of_many_devices_names_is_as_much_its_own(string topic, string payload, bool isTheScales)
    {
        var decoder = new PayloadDecoder(
        [
            new Mapping { Topic = "gw/+/weight", Pointer = "/w", Quantity = "weight_kg", Place = "cellar", SensorLevel = 2 },
            new Mapping { Topic = "lora/up", Pointer = "/w", Quantity = "weight_kg", Place = "cellar", SensorPointer = "/dev" },
        ]);
        using var one = new SensorDoor(allowAnonymous: true, decoder.SensorsOf);
        one.Set(new DoorFacts(
            shared, null, true, [new ClientCredential(1, ClientKind.Sensor, "cellar/scale", SensorSecret.Hash(own), Day, Day)]));
        var said = System.Text.Encoding.UTF8.GetBytes(payload);

        one.MayPublish((await one.AdmitAsync(own, There, "a", over.Token)).Rights!, topic, said).Should().Be(isTheScales);
        one.MayPublish((await one.AdmitAsync(shared, There, "b", over.Token)).Rights!, topic, said).Should().Be(!isTheScales);
    }

    [Theory]
    [InlineData(true, false)]
    [InlineData(false, true)]
    public async Task What_is_two_sensors_is_said_by_neither_password_where_both_have_one(bool otherHasOne, bool may)
    {
        var decoder = new PayloadDecoder(
        [
            new Mapping { Topic = "station/1", Pointer = "/t", Quantity = "temperature_c", Place = "cellar", Sensor = "scale" },
            new Mapping { Topic = "station/1", Pointer = "/p", Quantity = "temperature_c", Place = "cellar", Sensor = "probe" },
        ]);
        using var one = new SensorDoor(allowAnonymous: true, decoder.SensorsOf);
        ClientCredential[] both =
        [
            new(1, ClientKind.Sensor, "cellar/scale", SensorSecret.Hash(own), Day, Day),
            new(2, ClientKind.Sensor, "cellar/probe", SensorSecret.Hash(SensorSecret.New()), Day, Day),
        ];
        one.Set(new DoorFacts(shared, null, true, otherHasOne ? both : both[..1]));
        one.MayPublish((await one.AdmitAsync(own, There, "a", over.Token)).Rights!, "station/1", """{"t":3,"p":4}"""u8.ToArray()).Should().Be(may);
    }

    [Fact]
    public async Task Who_is_inside_stays_only_as_long_as_it_would_be_let_in()
    {
        var (withOld, withOwn, without) = (await RightsAsync("shared"), await RightsAsync("scale"), await RightsAsync("anonymous"));
        var fresh = SensorSecret.New();

        door.Set(new DoorFacts(fresh, shared, SetUpFinished: true, door.Facts.Credentials));
        door.Holds(withOld, fromThisMachine: false).Should().BeTrue("the old one was not stopped");
        Try(fresh, There).Should().Be((true, false));
        Try(shared, There).Should().Be((true, false));
        door.Holds(without, fromThisMachine: true).Should().BeTrue();
        door.Holds(without, fromThisMachine: false).Should().BeFalse();

        door.Set(new DoorFacts(fresh, null, SetUpFinished: true, []));
        door.Holds(withOld, fromThisMachine: false).Should().BeFalse();
        door.Holds(withOwn, fromThisMachine: false).Should().BeFalse();
        Try(own, There).Rights.Should().BeFalse();
    }

    public void Dispose()
    {
        door.Dispose();
        over.Dispose();
    }

    private void Set(bool finished = false, bool used = false, string? password = null) =>
        door.Set(new DoorFacts(password ?? shared, null, finished,
    [
        new ClientCredential(1, ClientKind.Sensor, "cellar/scale", SensorSecret.Hash(own), Day, used ? Day : null),
        new ClientCredential(2, ClientKind.Reader, "siren", SensorSecret.Hash(siren), Day, null),
    ]));

    private async Task<ClientRights> RightsAsync(string who) =>
        (await door.AdmitAsync(who switch { "shared" => shared, "scale" => own, "siren" => siren, _ => null }, Here, who,
            over.Token)).Rights!;

    // Every try here has its answer at once.
    private (bool Rights, bool Busy) Try(string given, IPAddress from, string client = "a")
    {
        var tried = door.AdmitAsync(given, from, client, over.Token);
        tried.IsCompletedSuccessfully.Should().BeTrue();
        return (tried.Result.Rights is not null, tried.Result.Busy);
    }

    // Until no more may wait for their answer.
    private List<Task<Admission>> Exhaust(IPAddress from)
    {
        var waiting = new List<Task<Admission>>();
        while (door.AdmitAsync("wrong", from, "guesser", over.Token) is var tried
            && tried is not { IsCompletedSuccessfully: true, Result.Busy: true })
        {
            if (!tried.IsCompleted) waiting.Add(tried);
            waiting.Should().HaveCountLessThan(1_000);
        }

        waiting.Should().NotBeEmpty();
        return waiting;
    }

    private async Task StopAsync(List<Task<Admission>> waiting)
    {
        await over.CancelAsync();
        await Task.WhenAll((IEnumerable<Task>)waiting).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
    }
}
