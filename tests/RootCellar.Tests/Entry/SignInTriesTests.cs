using System.Globalization;
using System.Net;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Storage;
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
        var door = new Doorkeeper(store, new SignInTries(time));
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
        (await TryAsync(new Doorkeeper(store, new SignInTries(time)), "Sam", Pin)).Should().BeOfType<SignInAnswer.Wait>("a restart forgives no PIN");
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
        var door = new Doorkeeper(store, new SignInTries(time));
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
        var door = new Doorkeeper(store, new SignInTries(time));
        var answers = await Task.WhenAll(Enumerable.Range(0, 30).Select(_ => Task.Run(() => TryAsync(door, "Sam", "000001"), TestContext.Current.CancellationToken)));
        answers.Count(a => a is SignInAnswer.Wrong).Should().Be(5);
        answers.Count(a => a is SignInAnswer.Wait).Should().Be(25);
    }

    [Fact]
    public async Task From_one_address_ten_tries_are_free_and_everybody_together_has_sixty()
    {
        await using var store = folder.Open(time);
        await store.WriteAsync(c => Passphrase.Set(c, "lamp oil and rye"));
        var door = new Doorkeeper(store, new SignInTries(time));
        var one = IPAddress.Parse("192.168.7.20");
        for (var i = 0; i < 10; i++) door.Household(one, "wrong").Should().BeOfType<SignInAnswer.Wrong>();
        door.Household(one, "lamp oil and rye").Should().BeOfType<SignInAnswer.Wait>().Which.For.Should().Be(TimeSpan.FromMinutes(5));
        door.Household(IPAddress.Parse("::ffff:192.168.7.20"), "lamp oil and rye").Should().BeOfType<SignInAnswer.Wait>("it is the same address");
        door.Household(IPAddress.Parse("192.168.7.21"), "lamp oil and rye").Should().BeOfType<SignInAnswer.Household>("others are not kept waiting");
        time.Advance(TimeSpan.FromMinutes(5));
        door.Household(one, "wrong").Should().BeOfType<SignInAnswer.Wrong>();
        door.Household(one, "lamp oil and rye").Should().BeOfType<SignInAnswer.Wait>().Which.For.Should().Be(TimeSpan.FromMinutes(10));
        time.Advance(TimeSpan.FromMinutes(10));
        door.Household(one, "lamp oil and rye").Should().BeOfType<SignInAnswer.Household>();
        for (var i = 0; i < 10; i++) door.Household(one, "wrong").Should().BeOfType<SignInAnswer.Wrong>("the right one forgave the address");

        time.Advance(TimeSpan.FromHours(2));
        var wrong = 0;
        while (door.Household(Next(), "wrong") is SignInAnswer.Wrong) wrong++;
        wrong.Should().Be(60);
        door.Household(Next(), "lamp oil and rye").Should().BeOfType<SignInAnswer.Wait>().Which.For.Should().BeLessThanOrEqualTo(TimeSpan.FromMinutes(1));
        time.Advance(TimeSpan.FromMinutes(1));
        door.Household(Next(), "lamp oil and rye").Should().BeOfType<SignInAnswer.Household>("nobody is kept out for long by what strangers do");
    }

    [Fact]
    public async Task A_helper_cannot_guess_on_between_two_right_pins()
    {
        await using var store = folder.Open(time);
        await store.WriteAsync(c => Passphrase.Set(c, "lamp oil and rye"));
        await store.WriteAsync(c => Helpers.Add(c, "Sam", Pin, time.GetUtcNow()));
        var door = new Doorkeeper(store, new SignInTries(time));
        var here = IPAddress.Loopback;
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
        for (var i = 0; i < 5; i++) (await guesser.SignInAsHelperAsync("Sam", "000001")).Words.Should().Contain("Name and PIN do not go together");
        var refused = await guesser.SignInAsHelperAsync("Sam", Pin);
        refused.Status.Should().Be(HttpStatusCode.TooManyRequests);
        guesser.Headers["Retry-After"].Should().Equal("60");
        var at = TimeZoneInfo.ConvertTime(site.Time.GetUtcNow().AddSeconds(119), TimeZoneInfo.FindSystemTimeZoneById("America/New_York")).ToString("HH:mm", CultureInfo.InvariantCulture);
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

    private IPAddress Next()
    {
        var next = Interlocked.Increment(ref address);
        return new IPAddress([10, 1, (byte)(next >> 8), (byte)next]);
    }
}
