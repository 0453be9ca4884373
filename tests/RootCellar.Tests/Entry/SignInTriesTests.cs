using System.Globalization;
using System.Net;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Storage;
using RootCellar.Tests.Households;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Entry;

/// <summary>Guessing, with the clock in the test's hand.</summary>
public sealed class SignInTriesTests : IDisposable
{
    private const string Pin = "840273";

    private readonly TempFolder folder = new();
    private readonly HouseTime time = new(Sample.At);
    private int address;

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task After_five_wrong_pins_the_waits_double_to_an_hour_and_after_twenty_only_the_household_opens()
    {
        await using var store = folder.Open(time);
        await store.WriteAsync(c => Helpers.Add(c, "Sam", Pin, time.GetUtcNow()));
        var door = Door(store);
        var waits = new List<double>();
        for (var wrong = 1; wrong <= SignInTries.MostInARow; wrong++)
        {
            (await TryAsync(door, "Sam", "000001")).Should().BeOfType<SignInAnswer.Wrong>($"try {wrong}");
            if (wrong is < 5 or SignInTries.MostInARow) continue;
            var wait = (await TryAsync(door, "Sam", Pin)).Should().BeOfType<SignInAnswer.Wait>().Which;
            wait.Locked.Should().BeFalse();
            waits.Add(wait.For.TotalMinutes);
            time.Advance(wait.For - TimeSpan.FromSeconds(1));
            (await TryAsync(door, "Sam", Pin)).Should().BeOfType<SignInAnswer.Wait>("a second is left, and the right PIN is not looked at");
            time.Advance(TimeSpan.FromSeconds(1));
        }

        waits.Should().Equal(1, 2, 4, 8, 16, 32, 60, 60, 60, 60, 60, 60, 60, 60, 60);
        time.Advance(TimeSpan.FromDays(400));
        (await TryAsync(door, "Sam", Pin)).Should().BeOfType<SignInAnswer.Wait>().Which.Locked.Should().BeTrue();
        (await TryAsync(Door(store), "Sam", Pin)).Should().BeOfType<SignInAnswer.Wait>("a restart forgives no PIN");
        store.Read(Helpers.All).Single().Locked.Should().BeTrue();
        await store.WriteAsync(c => Helpers.Unlock(c, store.Read(Helpers.All).Single().Id));
        (await TryAsync(door, "SAM ", Pin)).Should().Be(new SignInAnswer.Helper(1, "Sam"));
        store.Read(Helpers.All).Single().Failures.Should().Be(0);
    }

    [Fact]
    public async Task A_name_nobody_has_is_answered_like_one_that_somebody_has()
    {
        await using var store = folder.Open(time);
        await store.WriteAsync(c => Helpers.Add(c, "Sam", Pin, time.GetUtcNow()));
        var door = Door(store);
        for (var i = 0; i < 30; i++)
        {
            var (sam, nobody) = (await TryAsync(door, "Sam", "000001"), await TryAsync(door, "Nobody", "000001"));
            nobody.Should().Be(sam, $"try {i}");
            if (sam is SignInAnswer.Wait) time.Advance(TimeSpan.FromHours(1));
        }
    }

    [Fact]
    public async Task Many_tries_at_once_are_no_more_tries()
    {
        await using var store = folder.Open(time);
        await store.WriteAsync(c => Helpers.Add(c, "Sam", Pin, time.GetUtcNow()));
        var door = Door(store);
        var answers = await Task.WhenAll(Enumerable.Range(0, 30)
            .Select(_ => Task.Run(() => TryAsync(door, "Sam", "000001"), TestContext.Current.CancellationToken)));
        answers.Count(a => a is SignInAnswer.Wrong).Should().Be(5);
        answers.Count(a => a is SignInAnswer.Wait).Should().Be(25);
    }

    [Fact]
    public async Task From_one_address_ten_tries_are_free_and_everybody_together_has_sixty()
    {
        await using var store = folder.Open(time);
        await store.WriteAsync(c => Passphrase.Set(c, "lamp oil and rye"));
        var door = Door(store);
        var one = new Trier(IPAddress.Parse("192.168.7.20"));
        for (var i = 0; i < 10; i++) door.Household(one, "wrong").Should().BeOfType<SignInAnswer.Wrong>();
        door.Household(one, "lamp oil and rye").Should().BeOfType<SignInAnswer.Wait>().Which.For.Should().Be(TimeSpan.FromMinutes(5));
        door.Household(new Trier(IPAddress.Parse("::ffff:192.168.7.20")), "lamp oil and rye").Should()
            .BeOfType<SignInAnswer.Wait>("it is the same address");
        door.Household(new Trier(IPAddress.Parse("192.168.7.21")), "lamp oil and rye").Should()
            .BeOfType<SignInAnswer.Household>("others are not kept waiting");
        time.Advance(TimeSpan.FromMinutes(5));
        door.Household(one, "wrong").Should().BeOfType<SignInAnswer.Wrong>();
        door.Household(one, "lamp oil and rye").Should().BeOfType<SignInAnswer.Wait>().Which.For.Should().Be(TimeSpan.FromMinutes(10));
        time.Advance(TimeSpan.FromMinutes(10));
        door.Household(one, "lamp oil and rye").Should().BeOfType<SignInAnswer.Household>();
        for (var i = 0; i < 10; i++)
            door.Household(one, "wrong").Should().BeOfType<SignInAnswer.Wrong>("the right one forgave the address");

        // Strangers at twenty addresses, three tries each: sixty. After that each of them waits, and none keeps a stranger who is new
        // waiting.
        time.Advance(TimeSpan.FromHours(2));
        var many = Enumerable.Range(0, 20).Select(_ => Next()).ToList();
        for (var i = 0; i < 3; i++) many.Should().AllSatisfy(m => door.Household(m, "wrong").Should().BeOfType<SignInAnswer.Wrong>());
        many.Should().AllSatisfy(m => door.Household(m, "lamp oil and rye").Should().BeOfType<SignInAnswer.Wait>().Which.For.Should()
            .BeLessThanOrEqualTo(TimeSpan.FromMinutes(1)));
        door.Household(Next(), "lamp oil and rye").Should().BeOfType<SignInAnswer.Household>();
        time.Advance(TimeSpan.FromMinutes(1));
        door.Household(many[0], "lamp oil and rye").Should()
            .BeOfType<SignInAnswer.Household>("nobody is kept out for long by what strangers do");
    }

    [Fact]
    public void A_network_of_ipv6_addresses_has_three_tries_of_its_own_and_not_three_each()
    {
        var tries = new SignInTries(time);
        Trier At(int network, int host) => new(IPAddress.Parse($"2001:db8:0:{network:x}::{host:x}"));
        var looked = 0;
        for (var host = 1; host <= 500; host++) looked += tries.Begin(At(1, host)) == TimeSpan.Zero ? 1 : 0;
        looked.Should().Be(60, "what all strangers share");
        tries.Begin(At(2, 1)).Should().Be(TimeSpan.Zero);
    }

    [Fact]
    public async Task Tries_at_the_same_moment_are_counted_exactly()
    {
        for (var round = 0; round < 2; round++)
        {
            var tries = new SignInTries(new YieldingTime());
            var known = Enumerable.Range(0, 20).Select(i => new Trier(IPAddress.Loopback, $"household-{i}")).ToArray();
            var looked = new int[known.Length];
            using var together = new Barrier(8);
            await Task.WhenAll(Enumerable.Range(0, 8).Select(_ => Task.Factory.StartNew(
                () =>
                {
                    together.SignalAndWait(TestContext.Current.CancellationToken);
                    for (var i = 0; i < known.Length * 5; i++)
                    {
                        if (tries.Begin(known[i % known.Length]) == TimeSpan.Zero) Interlocked.Increment(ref looked[i % known.Length]);
                    }
                },
                TestContext.Current.CancellationToken,
                TaskCreationOptions.LongRunning,
                TaskScheduler.Default)));
            looked.Should().AllBeEquivalentTo(SignInTries.OfAddress.Free);
        }
    }

    [Fact]
    public async Task A_helper_cannot_guess_on_between_two_right_pins()
    {
        await using var store = folder.Open(time);
        await store.WriteAsync(c => Passphrase.Set(c, "lamp oil and rye"));
        await store.WriteAsync(c => Helpers.Add(c, "Sam", Pin, time.GetUtcNow()));
        var door = Door(store);
        var here = new Trier(IPAddress.Loopback);
        for (var i = 0; i < 10; i++)
        {
            door.Household(here, "guess").Should().BeOfType<SignInAnswer.Wrong>();
            if (i < 9) (await door.HelperAsync(here, "Sam", Pin)).Should().BeOfType<SignInAnswer.Helper>();
        }

        door.Household(here, "guess").Should().BeOfType<SignInAnswer.Wait>();
    }

    [Fact]
    public void A_clock_that_is_put_back_lengthens_no_wait()
    {
        SignInTries.OfName.Left(5, TimeSpan.FromDays(-900)).Should().Be(TimeSpan.FromMinutes(1));
        SignInTries.OfName.Left(500, TimeSpan.Zero).Should().Be(TimeSpan.FromHours(1));
        SignInTries.OfName.Left(4, TimeSpan.Zero).Should().Be(TimeSpan.Zero);
    }

    [Fact]
    public async Task The_page_says_when_to_come_back_and_the_household_lets_in_again()
    {
        await using var site = await Site.OpenAsync();
        using (await Visitor.HelperAsync(site))
        {
        }

        using var guesser = new Visitor(site);
        for (var i = 0; i < 5; i++)
            (await guesser.SignInAsHelperAsync("Sam", "000001")).Words.Should().Contain("Name and PIN do not go together");
        var refused = await guesser.SignInAsHelperAsync("Sam", Pin);
        refused.Status.Should().Be(HttpStatusCode.TooManyRequests);
        guesser.Headers["Retry-After"].Should().Equal("60");
        var at = TimeZoneInfo.ConvertTime(site.Time.GetUtcNow().AddSeconds(119), TimeZoneInfo.FindSystemTimeZoneById("America/New_York"))
            .ToString("h:mm tt", CultureInfo.InvariantCulture).ToLowerInvariant();
        refused.Words.Should().Contain($"Too many tries. Wait 60 s, then try again at {at}.");
        refused.Html.Should().Contain("value=\"Sam\"").And.NotContain(Pin);

        var setUp = await site.ReadAsync("/set-up");
        Site.Words(setUp).Should().Contain("5 wrong PINs in a row");
        (await site.SendAsync("/set-up?handler=UnlockHelper", setUp, ("id", "1"))).Status.Should().Be(HttpStatusCode.Found);
        (await site.WordsAsync("/set-up?done=unlocked")).Should().Contain("They can sign in again").And.NotContain("wrong PINs in a row");
        (await guesser.SignInAsHelperAsync("Sam", Pin)).Status.Should().Be(HttpStatusCode.Found);
    }

    // Each from an address of its own, so that only the name's wait is seen.
    private Task<SignInAnswer> TryAsync(Doorkeeper door, string name, string pin) => door.HelperAsync(Next(), name, pin);

    private Trier Next()
    {
        var next = Interlocked.Increment(ref address);
        return new Trier(new IPAddress([10, 1, (byte)(next >> 8), (byte)next]));
    }

    /// <summary>
    /// Lets another thread run whenever the time is read, which is in the middle of counting: without the lock two count the same try.
    /// </summary>
    private sealed class YieldingTime : TimeProvider
    {
        public override long TimestampFrequency => 1;

        public override long GetTimestamp()
        {
            Thread.Yield();
            return 0;
        }
    }

    private Doorkeeper Door(Store store) => new(store, new SignInTries(time), new EntryMetrics(TestMeters.Factory));
}
