using System.Globalization;
using System.Net;
using System.Text.Json;
using RootCellar.Household;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Days;

/// <summary>
/// Whose day it is: what is written at a moment belongs to the day the household's clock shows then, on every surface, also where the entry
/// is given in UTC, around midnight, and where clocks are put forward or back at midnight.
/// </summary>
public sealed class HouseholdDaysTests
{
    /// <summary>Zone, moment, and the day its clocks show then: each pair lies a minute apart around the beginning of a day.</summary>
    public static TheoryData<string, string, string> Midnights => new()
    {
        { "America/Los_Angeles", "2025-11-21T07:59:30Z", "2025-11-20" },
        { "America/Los_Angeles", "2025-11-21T08:00:30Z", "2025-11-21" },
        { "America/New_York", "2025-11-21T04:59:30Z", "2025-11-20" },
        { "America/New_York", "2025-11-21T05:00:30Z", "2025-11-21" },
        // The day on which the clock goes back, at 2: its end is 25 hours after its beginning.
        { "America/New_York", "2025-11-03T04:59:30Z", "2025-11-02" },
        { "America/New_York", "2025-11-03T05:00:30Z", "2025-11-03" },
        { "UTC", "2025-11-20T23:59:30Z", "2025-11-20" },
        { "UTC", "2025-11-21T00:00:30Z", "2025-11-21" },
        { "Europe/Berlin", "2025-11-20T22:59:30Z", "2025-11-20" },
        { "Europe/Berlin", "2025-11-20T23:00:30Z", "2025-11-21" },
        // The day on which the clock goes forward, at 2.
        { "Europe/Berlin", "2026-03-29T21:59:30Z", "2026-03-29" },
        { "Europe/Berlin", "2026-03-29T22:00:30Z", "2026-03-30" },
        { "Asia/Kolkata", "2025-11-20T18:29:30Z", "2025-11-20" },
        { "Asia/Kolkata", "2025-11-20T18:30:30Z", "2025-11-21" },
        { "Pacific/Auckland", "2025-11-20T10:59:30Z", "2025-11-20" },
        { "Pacific/Auckland", "2025-11-20T11:00:30Z", "2025-11-21" },
        { "Pacific/Kiritimati", "2025-11-20T09:59:30Z", "2025-11-20" },
        { "Pacific/Kiritimati", "2025-11-20T10:00:30Z", "2025-11-21" },
        // These days begin at 1: there is no midnight.
        { "America/Santiago", "2025-09-07T03:59:30Z", "2025-09-06" },
        { "America/Santiago", "2025-09-07T04:00:30Z", "2025-09-07" },
        { "Asia/Beirut", "2026-03-28T21:59:30Z", "2026-03-28" },
        { "Asia/Beirut", "2026-03-28T22:00:30Z", "2026-03-29" },
        // The hour before this midnight comes twice.
        { "America/Santiago", "2026-04-05T02:59:30Z", "2026-04-04" },
        { "America/Santiago", "2026-04-05T03:00:30Z", "2026-04-04" },
        { "America/Santiago", "2026-04-05T04:00:30Z", "2026-04-05" },
    };

    [Theory]
    [MemberData(nameof(Midnights))]
    public async Task What_is_written_now_belongs_to_the_households_day(string zone, string moment, string day)
    {
        var now = DateTimeOffset.Parse(moment, CultureInfo.InvariantCulture);
        var today = DateOnly.ParseExact(day, "yyyy-MM-dd", CultureInfo.InvariantCulture);
        await using var site = await Site.OpenAsync(at: now, zone: zone);
        using var ann = await Visitor.HouseholdAsync(site);

        // As a program far away writes it: in UTC, with no word of the day.
        await KeptAsync(ann, $$"""[{"event":"row-planted","at":"{{moment}}","row":"3","crop":"potato","variety":"Kennebec"},{"event":"dug","at":"{{moment}}","lot":"L1","crop":"potato","variety":"Kennebec","weightKg":50}]""");
        await KeptAsync(ann, $$"""{"event":"filled","at":"{{moment}}","bin":"B1","lot":"L1","weightKg":40,"place":"cellar"}""");
        // Due today is not due before it was promised.
        await KeptAsync(ann, $$"""{"event":"promised","at":"{{moment}}","order":"inn","crop":"potato","weightKg":10,"due":"{{day}}"}""");
        await KeptAsync(ann, $$"""{"event":"promised","at":"{{moment}}","order":"fair","crop":"potato","weightKg":5,"due":"{{Iso(today.AddDays(1))}}"}""");

        var lot = await JsonAsync(ann, "/api/lots/L1");
        lot.GetProperty("dugOn").GetString().Should().Be(day);
        lot.GetProperty("dugAt").GetDateTimeOffset().Should().Be(now);
        (await JsonAsync(ann, "/api/rows")).GetProperty("rows")[0].GetProperty("plantedOn").GetString().Should().Be(day);

        (await JsonAsync(ann, "/api/stock")).GetProperty("on").GetString().Should().Be(day);
        foreach (var (on, due) in new[] { (today.AddDays(-1), 0.0), (today, 10), (today.AddDays(1), 15) })
        {
            var stock = await JsonAsync(ann, $"/api/stock?on={Iso(on)}");
            stock.GetProperty("crops")[0].GetProperty("dueKg").GetDouble().Should().Be(due, $"on {on:O}, which is how far from {day}");
        }

        (await site.WordsAsync("/")).Should().Contain("due today").And.Contain("due tomorrow");
        (await site.WordsAsync("/stock")).Should().Contain("due today").And.Contain("due tomorrow");
        (await site.ReadAsync("/log/dug")).Should().Contain($"value=\"{day}\"", "the form's day is the household's");
        (await site.WordsAsync("/rows")).Should().Contain(today.ToString("MMM d", CultureInfo.InvariantCulture));
        await DaysThatAreSaidAsync(ann, HouseholdCalendar.Of(TimeZoneInfo.FindSystemTimeZoneById(zone)), moment, day);
    }

    /// <summary>Zone, the first moment of a Monday there, and the name of its week.</summary>
    public static TheoryData<string, string, string> Mondays => new()
    {
        { "America/Los_Angeles", "2025-11-24T08:00:00Z", "2025-W48" },
        { "America/New_York", "2025-11-03T05:00:00Z", "2025-W45" },
        { "UTC", "2025-11-24T00:00:00Z", "2025-W48" },
        { "Europe/Berlin", "2026-03-29T22:00:00Z", "2026-W14" },
        { "Asia/Kolkata", "2025-11-23T18:30:00Z", "2025-W48" },
        { "Pacific/Auckland", "2025-11-23T11:00:00Z", "2025-W48" },
        { "Pacific/Kiritimati", "2025-11-23T10:00:00Z", "2025-W48" },
        // Both weeks before these Mondays are an hour short or long: the clock was changed at the midnight of their Sunday.
        { "America/Santiago", "2025-09-08T03:00:00Z", "2025-W37" },
        { "Asia/Beirut", "2026-03-29T21:00:00Z", "2026-W14" },
    };

    [Theory]
    [MemberData(nameof(Mondays))]
    public async Task A_week_begins_with_the_households_monday(string zone, string monday, string week)
    {
        var begins = DateTimeOffset.Parse(monday, CultureInfo.InvariantCulture);
        await using var site = await Site.OpenAsync(at: begins + TimeSpan.FromHours(30), zone: zone);
        using var ann = await Visitor.HouseholdAsync(site);
        await KeptAsync(ann, $$"""[{"event":"dug","at":"{{begins.AddSeconds(-30):O}}","lot":"SUN","crop":"potato","weightKg":7},{"event":"dug","at":"{{begins.AddSeconds(30):O}}","lot":"MON","crop":"potato","weightKg":11}]""");

        var last = await JsonAsync(ann, "/api/report");
        last.GetProperty("week").GetString().Should().NotBe(week, "the running week is not the last whole one");
        last.GetProperty("to").GetDateTimeOffset().Should().Be(begins);
        Dug(last).Should().Equal(("SUN", 7.0));
        (await site.WordsAsync("/report?week=" + week)).Should().Contain("MON");
        Dug(await JsonAsync(ann, "/api/report?week=" + last.GetProperty("week").GetString())).Should().Equal(("SUN", 7.0));

        static IEnumerable<(string?, double)> Dug(JsonElement report) => report.GetProperty("lots").EnumerateArray()
            .Select(l => (l.GetProperty("lot").GetString(), l.GetProperty("dugKg").GetDouble())).Where(l => l.Item2 > 0);
    }

    [Fact]
    public void A_day_begins_with_its_first_moment_in_every_zone_there_is()
    {
        foreach (var zone in TimeZoneInfo.GetSystemTimeZones())
        {
            var calendar = HouseholdCalendar.Of(zone);
            for (var day = new DateOnly(2024, 12, 30); day < new DateOnly(2027, 2, 1); day = day.AddDays(1))
            {
                var first = calendar.StartOf(day);
                calendar.DayOf(first).Should().Be(day, zone.Id);
                calendar.DayOf(first.AddTicks(-1)).Should().Be(day.AddDays(-1), zone.Id);
            }
        }
    }

    [Fact]
    public void A_day_that_was_left_out_and_the_ends_of_the_calendar_have_a_beginning()
    {
        // Samoa went from the 29th of December 2011 to the 31st.
        var apia = HouseholdCalendar.Of(TimeZoneInfo.FindSystemTimeZoneById("Pacific/Apia"));
        apia.StartOf(new DateOnly(2011, 12, 30)).Should()
            .Be(apia.StartOf(new DateOnly(2011, 12, 31))).And.Be(new DateTimeOffset(2011, 12, 30, 10, 0, 0, TimeSpan.Zero));
        foreach (var day in new[] { DateOnly.MinValue, new DateOnly(1, 12, 31), new DateOnly(2, 1, 1), new DateOnly(9998, 12, 31),
            DateOnly.MaxValue })
            apia.Invoking(a => a.DayOf(a.StartOf(day))).Should().NotThrow();
    }

    // A day that is said is that day, wherever it was written from.
    private static async Task DaysThatAreSaidAsync(Visitor ann, HouseholdCalendar calendar, string moment, string day)
    {
        var today = DateOnly.ParseExact(day, "yyyy-MM-dd", CultureInfo.InvariantCulture);
        var yesterday = Iso(today.AddDays(-1));
        var before = calendar.StartOf(today).AddMinutes(-1);

        // The digging of today is written down as today's; a bin filled a minute before today began was filled before it.
        await KeptAsync(ann, $$"""{"event":"dug","at":"{{moment}}","dugOn":"{{day}}","lot":"L3","crop":"potato"}""");
        var early = await ann.JsonAsync("POST", "/api/ledger",
            $$"""{"event":"filled","at":"{{before:O}}","bin":"B3","lot":"L3","weightKg":4}""");
        early.Status.Should().Be(HttpStatusCode.Conflict);

        await KeptAsync(ann, $$"""{"event":"dug","at":"{{moment}}","dugOn":"{{yesterday}}","lot":"L2","crop":"potato"}""");
        var lot = await JsonAsync(ann, "/api/lots/L2");
        lot.GetProperty("dugOn").GetString().Should().Be(yesterday);
        calendar.Local(lot.GetProperty("dugAt").GetDateTimeOffset()).TimeOfDay.Should().Be(TimeSpan.FromHours(12), "only the day is known");

        // A moment that is said is of its day, and so is the form that corrects it.
        var third = await KeptAsync(ann, $$"""{"event":"dug","at":"{{moment}}","dugOn":"{{moment}}","lot":"L4","crop":"potato"}""");
        (await JsonAsync(ann, "/api/lots/L4")).GetProperty("dugOn").GetString().Should().Be(day);
        (await ann.GetAsync($"/log/correct/{third.GetProperty("id").GetInt64()}")).Html.Should().Contain($"name=\"dugOn\" value=\"{day}\"");

        // Tomorrow is in the future, whatever day it is in Greenwich.
        var ahead = await ann.JsonAsync("POST", "/api/ledger",
            $$"""{"event":"row-planted","at":"{{moment}}","plantedOn":"{{Iso(today.AddDays(1))}}","row":"5","crop":"potato"}""");
        ahead.Status.Should().Be(HttpStatusCode.Conflict);
        await KeptAsync(ann, $$"""{"event":"row-planted","at":"{{moment}}","plantedOn":"{{day}}","row":"4","crop":"potato"}""");
        var overdue = await ann.JsonAsync("POST", "/api/ledger",
            $$"""{"event":"promised","at":"{{moment}}","order":"late","crop":"potato","weightKg":10,"due":"{{yesterday}}"}""");
        overdue.Status.Should().Be(HttpStatusCode.Conflict);

        // A plain day asked for is the household's as well.
        (await JsonAsync(ann, $"/api/ledger?from={day}")).GetArrayLength().Should()
            .Be((await JsonAsync(ann, "/api/ledger")).GetArrayLength());
        (await JsonAsync(ann, $"/api/ledger?to={day}")).GetArrayLength().Should().Be(0);
        (await JsonAsync(ann, $"/api/ledger?from={Iso(today.AddDays(1))}")).GetArrayLength().Should().Be(0);
    }

    private static string Iso(DateOnly day) => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    private static async Task<JsonElement> KeptAsync(Visitor who, string json)
    {
        var answer = await who.JsonAsync("POST", "/api/ledger", json);
        answer.Status.Should().Be(HttpStatusCode.Created, $"{json} {answer.Html}");
        using var document = JsonDocument.Parse(answer.Html);
        return document.RootElement.Clone();
    }

    private static async Task<JsonElement> JsonAsync(Visitor who, string path)
    {
        var answer = await who.GetAsync(path);
        answer.Status.Should().Be(HttpStatusCode.OK, path + " " + answer.Html);
        using var document = JsonDocument.Parse(answer.Html);
        return document.RootElement.Clone();
    }
}
