using System.Net;
using RootCellar.Entry;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Entry;

/// <summary>
/// Somebody guesses without end; the owner comes in all the same. Against the running service, from addresses that differ.
/// </summary>
public class OwnerGetsInTests
{
    [Fact]
    public async Task A_hundred_and_fifty_seconds_of_guesses_from_many_addresses_keep_out_neither_the_owners_phone_nor_a_new_one()
    {
        await using var site = await Site.OpenAsync();
        using var phone = await Visitor.HouseholdAsync(site);
        await phone.SendAsync("/sign-out", (await phone.GetAsync("/sign-out")).Html);
        var guessers = Enumerable.Range(2, 40).Select(i => new Visitor(site, from: new IPAddress([127, 0, 1, (byte)i]))).ToList();
        var forms = new List<string>();
        foreach (var guesser in guessers) forms.Add((await guesser.GetAsync("/sign-in")).Html);
        var (looked, refused, owner) = (0, 0, 0);
        for (var second = 0; second < 150; second += 2)
        {
            for (var i = 0; i < guessers.Count; i += 4)
            {
                var answer = await guessers[(i + (second / 2 % 4)) % guessers.Count]
                    .SendAsync("/sign-in", forms[(i + (second / 2 % 4)) % guessers.Count], ("passphrase", "guess"));
                if (answer.Status == HttpStatusCode.TooManyRequests) refused++;
                else looked++;
            }

            if (second % 30 == 0)
            {
                (await phone.SignInAsync(site.Passphrase)).Status.Should().Be(HttpStatusCode.Found, $"second {second}: the phone is known");
                await phone.SendAsync("/sign-out", (await phone.GetAsync("/sign-out")).Html);
                using var fresh = new Visitor(site, from: new IPAddress([127, 0, 2, (byte)(second + 1)]));
                (await fresh.SignInAsync(site.Passphrase)).Status.Should()
                    .Be(HttpStatusCode.Found, $"second {second}: a new phone at an address of its own");
                owner += 2;
            }

            site.Time.Advance(TimeSpan.FromSeconds(2));
        }

        guessers.ForEach(g => g.Dispose());
        owner.Should().Be(10);
        refused.Should().BeGreaterThan(500, "the guesses were over the limit");
        looked.Should().BeLessThan(200);
    }

    [Fact]
    public async Task At_the_same_address_as_the_guesser_the_known_phone_comes_in_and_a_cookie_made_up_does_not_help()
    {
        await using var site = await Site.OpenAsync();
        using var phone = await Visitor.HouseholdAsync(site);
        await phone.SendAsync("/sign-out", (await phone.GetAsync("/sign-out")).Html);
        using var guesser = new Visitor(site);
        for (var i = 0; i < 12; i++) await guesser.SignInAsync("guess");
        (await guesser.SignInAsync(site.Passphrase)).Status.Should().Be(HttpStatusCode.TooManyRequests);
        using var liar = new Visitor(site, cookie: $"{KnownBrowsers.Cookie}=CfDJ8household");
        (await liar.SignInAsync(site.Passphrase)).Status.Should().Be(HttpStatusCode.TooManyRequests);
        (await phone.SignInAsync(site.Passphrase)).Status.Should().Be(HttpStatusCode.Found);
        phone.SetCookies.Should()
            .Contain(c => c.StartsWith(KnownBrowsers.Cookie, StringComparison.Ordinal)
                && c.Contains("httponly", StringComparison.OrdinalIgnoreCase));

        // The known browser is counted too, by itself.
        await phone.SendAsync("/sign-out", (await phone.GetAsync("/sign-out")).Html);
        for (var i = 0; i < 10; i++) (await phone.SignInAsync("guess")).Status.Should().Be(HttpStatusCode.OK);
        (await phone.SignInAsync(site.Passphrase)).Status.Should().Be(HttpStatusCode.TooManyRequests);
    }

    [Fact]
    public async Task A_helper_gets_no_fresh_guesses_at_the_passphrase_by_signing_in_again()
    {
        await using var site = await Site.OpenAsync();
        using var sam = await Visitor.HelperAsync(site);
        var looked = 0;
        for (var i = 0; i < 5; i++)
        {
            for (var guess = 0; guess < 4; guess++)
            {
                await sam.SendAsync("/sign-out", (await sam.GetAsync("/sign-out")).Html);
                looked += (await sam.SignInAsync("guess")).Status == HttpStatusCode.OK ? 1 : 0;
            }

            await sam.SignInAsHelperAsync("Sam", "840273");
        }

        looked.Should().Be(10);
    }

    [Fact]
    public async Task Guesses_at_the_page_that_changes_the_passphrase_are_counted_like_those_at_the_door()
    {
        await using var site = await Site.OpenAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        var page = (await ann.GetAsync("/set-up")).Html;
        for (var i = 0; i < 10; i++)
            (await ann.SendAsync("/set-up?handler=Passphrase", page, ("current", "guess"),
                ("fresh", "lamp oil and rye bread"))).Words.Should().Contain("That is not the passphrase");
        for (var i = 0; i < 30; i++)
            (await ann.SendAsync("/set-up?handler=Passphrase", page, ("current", site.Passphrase),
                ("fresh", "lamp oil and rye bread"))).Words.Should().Contain("Too many tries. Wait");
        site.Time.Advance(TimeSpan.FromMinutes(5));
        (await ann.SendAsync("/set-up?handler=Passphrase", page, ("current", site.Passphrase),
            ("fresh", "lamp oil and rye bread"))).Status.Should().Be(HttpStatusCode.Found);
    }

    [Theory]
    [InlineData("aaaaaaaaaaaa")]
    [InlineData("AaAaAaAaAaAaAa")]
    [InlineData("abcdefghijklmn")]
    [InlineData("123456789012345")]
    [InlineData("qwertyuiopasdfgh")]
    [InlineData("abcabcabcabcabc")]
    [InlineData("password2026!!")]
    [InlineData("passwordpassword")]
    [InlineData("rootcellar12345")]
    [InlineData("potato potato potato")]
    [InlineData("            ")]
    [InlineData("lamp oil")]
    public async Task A_passphrase_that_would_be_guessed_is_refused_with_what_would_be_right(string weak)
    {
        Passphrase.IsWeak(weak).Should().BeTrue();
        if (weak != "aaaaaaaaaaaa") return;
        await using var site = await Site.OpenAsync();
        var answer = await site.SendAsync("/set-up?handler=Passphrase", await site.ReadAsync("/set-up"), ("current", site.Passphrase),
            ("fresh", weak));
        answer.Words.Should().Contain("guessed before long").And.Contain("at least 12 letters").And.Contain(
            "four or five words").And.Contain("Nothing was changed");
        using (await Visitor.HouseholdAsync(site))
        {
        }
    }

    [Theory]
    [InlineData("lamp oil rye bread")]
    [InlineData("mine-now-all-of-it")]
    [InlineData("correct horse battery")]
    [InlineData("Unser Keller ist kalt")]
    [InlineData("x7Kq-93Lm-w2Pz")]
    [InlineData("картошка в подвале")]
    public void A_passphrase_with_variety_is_taken_without_rules_about_signs(string good) => Passphrase.IsWeak(good).Should().BeFalse();

    [Fact]
    public void What_the_service_draws_itself_is_never_weak() =>
        Enumerable.Range(0, 300).Select(_ => Passphrase.Propose()).Where(Passphrase.IsWeak).Should().BeEmpty();

    [Fact]
    public async Task Behind_a_trusted_proxy_each_is_counted_by_their_own_address_and_nobody_else_can_say_one()
    {
        await using var site = await Site.OpenAsync(change: s => s.Http.TrustedProxies = "127.0.0.1, 10.9.0.0/16");
        using var proxied = new Visitor(site);
        for (var i = 0; i < 12; i++) await SignInAsync("203.0.113.7", "guess");
        (await SignInAsync("203.0.113.7", site.Passphrase)).Should().Be(HttpStatusCode.TooManyRequests);
        (await SignInAsync("203.0.113.7, 198.51.100.9", site.Passphrase)).Should()
            .Be(HttpStatusCode.Found, "the last one that is not trusted is who came");

        // From an address that is not trusted the header is a stranger's word.
        using var stranger = new Visitor(site, from: IPAddress.Parse("127.0.0.9"));
        for (var i = 0; i < 12; i++) await SignInAsync($"203.0.113.{i}", "guess", stranger);
        (await SignInAsync("203.0.113.99", site.Passphrase, stranger)).Should().Be(HttpStatusCode.TooManyRequests);

        async Task<HttpStatusCode> SignInAsync(string forwarded, string passphrase, Visitor? by = null)
        {
            var who = by ?? proxied;
            var form = new FormUrlEncodedContent(
                [new("passphrase", passphrase),
                    new("__RequestVerificationToken", Site.Field((await who.GetAsync("/sign-in")).Html, "__RequestVerificationToken"))]);
            var request = new HttpRequestMessage(HttpMethod.Post, "/sign-in") { Content = form };
            request.Headers.Add("X-Forwarded-For", forwarded);
            return (await who.SendAsync(request)).Status;
        }
    }
}
