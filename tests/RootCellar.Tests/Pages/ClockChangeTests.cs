using System.Net;

namespace RootCellar.Tests.Pages;

/// <summary>Times of the nights when the clocks change, and a form that was sent after the sign-in had ended.</summary>
public sealed class ClockChangeTests
{
    // In New York the clocks were put back on 2 Nov 2025 at 02:00 and put forward on 9 Mar 2025.
    private static readonly DateTimeOffset Later = new(2025, 11, 3, 12, 0, 0, TimeSpan.Zero);

    [Theory]
    [InlineData("first", "2025-11-02T01:30:00-04:00")]
    [InlineData("second", "2025-11-02T01:30:00-05:00")]
    public async Task A_time_that_came_twice_is_asked_about_and_each_can_be_said(string which, string at)
    {
        await using var site = await Site.OpenAsync(at: Later.AddDays(-5));
        await site.FillAsync("B1");
        site.Time.Advance(TimeSpan.FromDays(5));
        var form = await site.ReadAsync("/log/sold?bin=B1");
        form.Should().NotContain("name=\"again\"");

        var asked = await site.SendAsync("/log/sold", form, ("bin", "B1"), ("amount", "2"), ("unit", "lb"), ("when", "2025-11-02T01:30"));
        asked.Words.Should().Contain("1:30 am came twice on Nov 2").And.Contain("The second time, after it");
        site.Entries.Should().NotContain("sold");

        (await site.SendAsync("/log/sold", asked.Html, ("bin", "B1"), ("amount", "2"), ("unit", "lb"), ("when", "2025-11-02T01:30"), ("again", which)))
            .Status.Should().Be(HttpStatusCode.Found);
        var sold = site.Book.Entries.Single(e => e.Entry.Event == "sold").Entry;
        sold.At.Should().Be(DateTimeOffset.Parse(at, System.Globalization.CultureInfo.InvariantCulture));
        (await site.ReadAsync($"/log/correct/{sold.Id}")).Should().Contain($"value=\"{which}\" checked");
    }

    [Fact]
    public async Task A_time_that_never_came_is_asked_about()
    {
        await using var site = await Site.OpenAsync(at: new DateTimeOffset(2025, 3, 8, 12, 0, 0, TimeSpan.Zero));
        await site.FillAsync("B1");
        site.Time.Advance(TimeSpan.FromDays(2));
        (await site.SendAsync("/log/sold", await site.ReadAsync("/log/sold?bin=B1"), ("bin", "B1"), ("amount", "2"), ("unit", "lb"),
            ("when", "2025-03-09T02:30"))).Words.Should().Contain("there was no 2:30 am on Mar 9");
        site.Entries.Should().NotContain("sold");
    }

    [Fact]
    public async Task A_bin_is_emptied_by_the_api_without_a_weight()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        var had = site.Book.Bins["B1"].Grams;
        await site.WriteAsync("""[{"event":"sold","bin":"B1","weightKg":2},{"event":"eaten","bin":"B1","empties":true}]""");
        var eaten = site.Book.Entries.Single(e => e.Entry.Event == "eaten");
        eaten.Event!.Grams().Should().Be(had - 2000);
        site.Book.Bins["B1"].EmptiedAt.Should().NotBeNull();
        using var nothing = await site.PostJsonAsync("/api/ledger", """{"event":"eaten","bin":"B1"}""");
        (await nothing.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)).Should().Contain("weightKg is missing");
        using var again = await site.PostJsonAsync("/api/ledger", """{"event":"eaten","bin":"B1","empties":true}""");
        again.StatusCode.Should().NotBe(HttpStatusCode.Created, "there is nothing in it");
    }

    [Fact]
    public async Task A_form_sent_after_the_sign_in_ended_leads_back_to_the_form_with_its_bin()
    {
        await using var site = await Site.OpenAsync();
        using var handler = new SocketsHttpHandler { AllowAutoRedirect = false };
        using var stranger = new HttpClient(handler) { BaseAddress = site.Address };
        (await LeadsToAsync(new Uri(site.Address, "/log/sold?bin=B1&back=stock"))).Should()
            .Be("/sign-in?ReturnUrl=%2Flog%2Fsold%3Fbin%3DB1%26back%3Dstock");
        (await LeadsToAsync(new Uri("http://elsewhere.example/log/sold?bin=B1"))).Should().EndWith("/sign-in?ReturnUrl=%2Flog%2Fsold");
        (await LeadsToAsync(null)).Should().EndWith("/sign-in?ReturnUrl=%2Flog%2Fsold");

        async Task<string> LeadsToAsync(Uri? from)
        {
            using var sent = new HttpRequestMessage(HttpMethod.Post, new Uri("/log/sold", UriKind.Relative))
            {
                Content = new FormUrlEncodedContent([new("bin", "B1"), new("amount", "2")]),
            };
            sent.Headers.Referrer = from;
            using var answer = await stranger.SendAsync(sent, TestContext.Current.CancellationToken);
            answer.StatusCode.Should().Be(HttpStatusCode.Found);
            return answer.Headers.Location!.ToString();
        }
    }
}
