using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Households;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Tell;

/// <summary>When each contact is told: after others, not at night, so often a day, and that all is well. Readings in, texts out.</summary>
public sealed class WhenToldTests
{
    private const string Ann = "ann";
    private const string Ben = "ben";
    private static readonly DateTimeOffset Evening = new(2025, 10, 4, 19, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task The_second_is_told_when_nobody_has_acknowledged_for_so_long()
    {
        await using var farm = await HouseAsync(Evening, Contact(Ann), Contact(Ben) with { WaitMinutes = 20 });
        await GoAsync(farm, 5, 12);
        To(farm, Ann).Should().ContainSingle().Which.Should().Contain("too warm").And.EndWith("Told ann.", "Ben is not told yet");
        To(farm, Ben).Should().BeEmpty();
        await GoAsync(farm, 20, 12);
        To(farm, Ben).Should().ContainSingle().Which.Should().EndWith("(as of 19:00, nobody on it)");
        To(farm, Ann).Should().HaveCount(1);

        await GoAsync(farm, 5, 4);
        To(farm, Ben).Should().HaveCount(2, "who was told that it began is told that it is over");
    }

    [Fact]
    public async Task The_second_is_left_alone_where_the_first_acknowledges()
    {
        await using var farm = await HouseAsync(Evening, Contact(Ann), Contact(Ben) with { WaitMinutes = 20 });
        await GoAsync(farm, 10, 12);
        var alarm = (await farm.SeeAsync(s => s.OpenAlarms)).Single().Id;
        await farm.Pipeline.AskAsync((h, wall, mono) => h.Acknowledge(alarm, "Ann", mono, wall), TestContext.Current.CancellationToken);
        await GoAsync(farm, 15, 12);
        await GoAsync(farm, 10, 4);
        To(farm, Ben).Should().BeEmpty();
        To(farm, Ann).Where(t => t.Contains("fine again", StringComparison.Ordinal)).Should().ContainSingle("that it is over she is told too");
        Fates(farm, Ben).Should().Contain("NotNeeded Ann was on it before this was due");
    }

    [Fact]
    public async Task The_second_is_left_alone_where_it_is_over_in_time()
    {
        await using var farm = await HouseAsync(Evening, Contact(Ann), Contact(Ben) with { WaitMinutes = 20 });
        await GoAsync(farm, 10, 12);
        await GoAsync(farm, 20, 4);
        To(farm, Ben).Should().BeEmpty();
        Fates(farm, Ben).Should().NotBeEmpty().And.OnlyContain(f => f == "NotNeeded it was over before this was due");
        To(farm, Ann).Should().HaveCountGreaterThan(1);
    }

    [Fact]
    public async Task In_quiet_hours_frost_comes_at_once_and_the_rest_with_the_morning_also_after_a_restart()
    {
        await using var farm = await HouseAsync(Evening, Contact(Ann) with { QuietFrom = "19:00", QuietTo = "20:00" });
        await GoAsync(farm, 10, 12);
        To(farm, Ann).Should().BeEmpty();
        Fates(farm, Ann).Should().Equal("Held QuietHours");
        await GoAsync(farm, 10, -2);
        To(farm, Ann).Should().ContainSingle().Which.Should().MatchRegex("(?i)freez");
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await GoAsync(farm, 45, -2);
        To(farm, Ann).Count(t => t.Contains("too warm", StringComparison.Ordinal)).Should().BeLessThanOrEqualTo(1);
        Fates(farm, Ann).Should().NotContain("Held QuietHours");
    }

    [Fact]
    public async Task What_waited_for_the_morning_is_one_text()
    {
        await using var farm = await HouseAsync(
            Evening, Contact(Ann) with { QuietFrom = "19:00", QuietTo = "20:00", Wakes = "urgent" });
        await farm.AskAsync(h =>
        {
            h.SavePlace(new Place("pantry", "Pantry", Purpose.Storage, null, ["winter-squash"]));
            return true;
        });
        await GoAsync(farm, 30, 12, pantry: 22);
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await GoAsync(farm, 40, 12, pantry: 22);
        To(farm, Ann).Should().ContainSingle().Which.Should().StartWith("2 things while it was quiet: 19:").And.Contain("CELLAR").And.Contain("PANTRY");
        Fates(farm, Ann).Should().BeEquivalentTo("InOne", "InOne", "Sent");
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await GoAsync(farm, 10, 12, pantry: 22);
        To(farm, Ann).Should().HaveCount(1);
    }

    [Fact]
    public async Task The_last_of_the_day_says_so_and_more_wait_for_the_next()
    {
        await using var farm = await HouseAsync(Evening, Contact(Ann) with { MostADay = 2 });
        for (var i = 0; i < 3; i++)
        {
            await GoAsync(farm, 10, 12);
            await GoAsync(farm, 10, 4);
        }

        var told = To(farm, Ann);
        told.Should().HaveCount(2);
        told[0].Should().NotContain("last today");
        told[1].Should().EndWith("(last today)");
        Fates(farm, Ann).Where(f => f.StartsWith("Held", StringComparison.Ordinal)).Should().NotBeEmpty().And.OnlyContain(f => f == "Held NextDay");
        await GoAsync(farm, 5, -2);
        To(farm, Ann).Should().HaveCount(3).And.Contain(t => t.Contains("reez", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("daily", 1)]
    [InlineData("weekly", 0)]
    [InlineData("never", 0)]
    public async Task The_morning_s_figures_come_once(string how, int texts)
    {
        // A Sunday.
        await using var farm = await HouseAsync(new DateTimeOffset(2025, 10, 5, 5, 50, 0, TimeSpan.Zero), Contact(Ann) with { AllIsWell = how });
        await GoAsync(farm, 5, 4);
        To(farm, Ann).Should().BeEmpty();
        await GoAsync(farm, 15, 4);
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await GoAsync(farm, 10, 4);
        To(farm, Ann).Should().HaveCount(texts).And.OnlyContain(t => t == "RootCellar runs, no alarm is open. CELLAR 39F 92%.");
    }

    [Fact]
    public async Task Who_sleeps_is_not_told_at_night_that_what_could_wait_is_over()
    {
        await using var farm = await HouseAsync(new DateTimeOffset(2025, 10, 4, 21, 10, 0, TimeSpan.Zero), Contact(Ann));
        await GoAsync(farm, 20, 4, light: 300);
        var before = To(farm, Ann).Count;
        before.Should().Be(1);
        await GoAsync(farm, 40, 4, light: 0);
        To(farm, Ann).Should().HaveCount(before);
        Fates(farm, Ann).Should().Contain("Held Morning");
    }

    [Theory]
    [InlineData("21:30", "", "quietFrom")]
    [InlineData("25:00", "06:00", "quietFrom")]
    [InlineData("06:00", "06:00", "quietFrom")]
    public void Quiet_hours_are_two_times(string from, string to, string says)
    {
        var contact = Contact(Ann);
        ContactRules.Times(ref contact, new GivenTimes(QuietFrom: from, QuietTo: to))!.Text.Should().StartWith(says);
        contact.Should().Be(Contact(Ann), "what is wrong changes nothing");
    }

    [Fact]
    public void What_is_not_given_stays_and_a_nought_takes_away()
    {
        var contact = Contact(Ann);
        ContactRules.Times(ref contact, new GivenTimes(20, "9:30 pm", "6", "high", true, 5, "weekly")).Should().BeNull();
        contact.Should().Be(Contact(Ann) with
        {
            WaitMinutes = 20,
            QuietFrom = "21:30",
            QuietTo = "06:00",
            Wakes = "high",
            LowInTheMorning = true,
            MostADay = 5,
            AllIsWell = "weekly",
        });
        var same = contact;
        ContactRules.Times(ref contact, new GivenTimes()).Should().BeNull();
        contact.Should().Be(same);
        ContactRules.Times(ref contact, new GivenTimes(0, "", "", "urgent", false, 0, "never")).Should().BeNull();
        contact.Should().Be(Contact(Ann));
        ContactRules.Times(ref contact, new GivenTimes(WaitMinutes: 241))!.Text.Should().StartWith("waitMinutes: 241");
        ContactRules.Times(ref contact, new GivenTimes(MostADay: 101))!.Text.Should().StartWith("mostADay: 101");
        ContactRules.Times(ref contact, new GivenTimes(Wakes: "low"))!.Text.Should().StartWith("wakes: 'low'");
        ContactRules.Times(ref contact, new GivenTimes(AllIsWell: "hourly"))!.Text.Should().StartWith("allIsWell: 'hourly'");
    }

    private static Contact Contact(string name) => new(name, name, CapturingChannel.ChannelName, name, "all");

    private static async Task<Farm> HouseAsync(DateTimeOffset start, params Contact[] contacts)
    {
        var farm = await Farm.WithCellarAsync(Farm.AtOnce(), new HouseTime(start));
        await farm.AskAsync(h =>
        {
            foreach (var contact in contacts) h.SaveContact(contact);
            return true;
        });
        return farm;
    }

    private static async Task GoAsync(Farm farm, int minutes, double cellar, double? pantry = null, double light = 0)
    {
        for (var i = 0; i < minutes; i++)
        {
            await farm.SayAsync("rootcellar/cellar/door", FormattableString.Invariant(
                $$"""{"temperature_c":{{cellar}},"humidity_pct":92,"light_lx":{{light}}}"""));
            if (pantry is { } c)
                await farm.SayAsync("rootcellar/pantry/shelf", FormattableString.Invariant($$"""{"temperature_c":{{c}},"humidity_pct":60}"""));
            for (var second = 0; second < 60; second += 5) farm.Time.Advance(TimeSpan.FromSeconds(5));
            await farm.SettledAsync();
        }
    }

    private static List<string> To(Farm farm, string who) => [.. farm.Channel.Taken.Where(t => t.Recipient == who).Select(t => t.Sms)];

    private static List<string> Fates(Farm farm, string who) => [.. farm.Store.Read(c => OutboxRows.Latest(c, 100))
        .Where(t => t.Recipient == who && (t.State != OutgoingState.Sent || t.Alarm is null))
        .Select(t => $"{t.State} {t.Error ?? (t.State == OutgoingState.Held ? t.Hold!.For.ToString() : "")}".TrimEnd())];
}
