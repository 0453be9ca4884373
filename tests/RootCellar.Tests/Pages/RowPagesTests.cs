using System.Net;
using System.Text.Json;
using RootCellar.Places;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

public class RowPagesTests
{
    [Fact]
    public async Task Before_anything_is_planted_the_page_says_how_to_begin()
    {
        await using var site = await Site.OpenAsync();
        var page = await site.ReadAsync("/rows");
        Site.Words(page).Should().Contain("No rows written down yet").And.Contain("A lot begins as a row").And.NotContain("Digging today");
        page.Should().Contain("href=\"/log/row-planted\"");
        (await site.WordsAsync("/rows/7")).Should().Contain("No planting in the book for this row");
        (await site.GoAsync("/log/vines-dead")).Should().Be("/rows");
    }

    [Fact]
    public async Task From_planting_to_yield_the_row_says_how_far_it_is()
    {
        await using var site = await Site.OpenAsync();
        // Today is 4 October 2025. Norland: 90 to 110 days by a nursery's leaflet, so from 3 to 23 August, and skins two to three weeks
        // later.
        (await PlantAsync(site, ("row", "3"), ("crop", "potato"), ("variety", "Norland"), ("plantedOn", "2025-05-05"), ("length", "100")))
            .Should().Be("/rows/3?kept=1");
        var kept = await site.WordsAsync("/rows/3?kept=1");
        kept.Should().ContainAll("Written down: Planted in a row: row 3, Potato, Norland, 100 ft, May 5", "Plant the next row", "Undo",
            "90 to 110 days from planting");
        (await site.WordsAsync("/rows")).Should().ContainAll(
            "Row 3 · Norland", "Full grown", "planted May 5 · 100 ft", "Full grown by the calendar since Aug 23",
            "Skins set under dead vines only");

        (await VinesAsync(site, "3", ("how", "mown"), ("on", "2025-09-25"))).Should().Be("/rows/3?kept=2");
        var words = await site.WordsAsync("/rows");
        words.Should().ContainAll("Skins setting", "Vines dead since Sep 25", "with the thumb from Oct 5 on",
            "likely set between Oct 9 and Oct 16", "Dug now, they do not keep");
        site.Time.Advance(TimeSpan.FromDays(2));
        (await site.WordsAsync("/rows")).Should().ContainAll("Thumb test", "wait if the skin slips");
        site.Time.Advance(TimeSpan.FromDays(4));
        (await site.WordsAsync("/rows")).Should().ContainAll("Dig now", "Dig by Oct 23", "45.0 °F");
        site.Time.Advance(TimeSpan.FromDays(14));
        (await site.WordsAsync("/rows")).Should().ContainAll("Dig soon", "blemishes of the skin gain since Oct 24");

        var dig = await site.ReadAsync("/log/dug?row=3");
        (Site.Field(dig, "lot"), Site.Field(dig, "row"), Site.Field(dig, "variety"), Site.Field(dig, "plantedOn")).Should()
            .Be(("2025-R3", "3", "Norland", "2025-05-05"));
        var dug = await site.SendAsync("/log/dug", dig, ("lot", "2025-R3"), ("crop", "potato"), ("variety", "Norland"), ("row", "3"),
            ("plantedOn", "2025-05-05"), ("amount", "150"), ("unit", "lb"));
        dug.Status.Should().Be(HttpStatusCode.Found, dug.Words);
        (await site.WordsAsync("/rows")).Should().ContainAll("Dug", "3 Norland", "150 lb 1.50 lb per foot of row");
        (await site.WordsAsync("/rows/3")).Should().ContainAll("Dug", "lots: 2025-R3", "150 lb · 1.50 lb per foot of row", "Dig more");
        Site.Field(await site.ReadAsync("/log/dug?row=3"), "lot").Should().Be("2025-R3-2");
    }

    [Fact]
    public async Task A_household_in_kilograms_has_metres()
    {
        await using var site = await Site.OpenAsync(weight: "kg");
        await PlantAsync(site, ("row", "bed / <b>4</b>"), ("crop", "carrot"), ("plantedOn", "2025-06-01"), ("length", "12,5"));
        site.Book.Rows.Single().LengthM.Should().Be(12.5);
        var page = await site.ReadAsync("/rows");
        page.Should().NotContain("<b>4</b>");
        Site.Words(page).Should()
            .ContainAll("Row bed / <b>4</b> · Carrot, topped", "12.5 m",
                "the crop table gives no days to maturity, so there is no window to show");
        (await site.WordsAsync("/rows/" + Uri.EscapeDataString("bed / <b>4</b>"))).Should().Contain("Planted in a row");
        await site.LogAsync("dug", null, ("lot", "C1"), ("crop", "carrot"), ("row", "bed / <b>4</b>"), ("amount", "25"), ("unit", "kg"));
        (await site.WordsAsync("/rows")).Should().Contain("25 kg 2.00 kg per metre of row");
    }

    [Fact]
    public async Task The_book_asks_on_the_page_and_an_undo_brings_the_row_back()
    {
        await using var site = await Site.OpenAsync();
        await PlantAsync(site, ("row", "3"), ("crop", "potato"), ("maturityDays", "95"), ("plantedOn", "2025-05-05"));
        var form = await site.ReadAsync("/log/row-planted");
        Site.Field(form, "row").Should().Be("1");
        Site.Field(await site.ReadAsync("/log/row-planted?like=3"), "row").Should().Be("4", "the row after the last one");
        var asked = await site.SendAsync("/log/row-planted", form, ("row", "3"), ("crop", "carrot"), ("plantedOn", "2025-07-01"),
            ("length", "twelve"));
        asked.Words.Should().Contain("'twelve' is not a number");
        asked = await site.SendAsync("/log/row-planted", form, ("row", "3"), ("crop", "carrot"), ("plantedOn", "2025-07-01"),
            ("length", "12"));
        asked.Words.Should().Contain("The book asks").And.Contain("Row 3 was planted on May 5 (Potato) and nothing was dug from it yet");
        Site.Field(asked.Html, "length").Should().Be("12", "what was typed is still there");
        site.Book.Rows.Should().ContainSingle();
        var insisted = await site.SendAsync("/log/row-planted", asked.Html, ("row", "3"), ("crop", "carrot"), ("plantedOn", "2025-07-01"),
            ("length", "12"), ("answer", "checked"));
        insisted.Location.Should().Be("/rows/3?kept=2");
        // Sent once more under its key it counts once.
        (await site.SendAsync("/log/row-planted", asked.Html, ("row", "3"), ("crop", "carrot"), ("plantedOn", "2025-07-01"),
            ("length", "12"), ("answer", "checked"))).Location.Should().Be("/rows/3?kept=2");
        var page = await site.ReadAsync("/rows/3?kept=2");
        var undone = await site.SendAsync("/log/undo/2", page, ("back", "/rows/3"));
        undone.Location.Should().Be("/rows/3?kept=3");
        site.Book.Rows.Single().Should().Match<RootCellar.Ledger.RowView>(r => r.Crop == "potato" && !r.Ended);
        (await site.WordsAsync("/rows/3")).Should().Contain("Taken back").And.Contain("95 to 116 days from planting");
    }

    [Fact]
    public async Task What_waited_on_the_phone_counts_on_the_day_it_was_typed()
    {
        await using var site = await Site.OpenAsync();
        await PlantAsync(site, ("row", "3"), ("crop", "potato"), ("plantedOn", "2025-05-05"));
        await VinesAsync(site, "3", ("how", "frost"), ("waited", "259200"));
        site.Book.Row("3")!.VinesDeadOn.Should().Be(new DateOnly(2025, 10, 1));
    }

    [Fact]
    public async Task The_outdoor_air_says_what_to_mind_today()
    {
        await using var site = await Site.OpenAsync();
        await PlantAsync(site, ("row", "3"), ("crop", "potato"), ("plantedOn", "2025-05-05"));
        (await site.WordsAsync("/rows")).Should().Contain("Only 0 of the last 24 hours outside are known");
        // It is two in the morning in New York, on the dot, so 23 whole hours are past since three: warm in the afternoon, fog in the other
        // 18.
        await AirAsync(site, hour => hour is >= 13 and < 18 ? (24, 60) : (12, 99));
        var words = await site.WordsAsync("/rows");
        words.Should().ContainAll("Yard, the last 24 hours: 53.6 to 75.2 °F",
            "It reached 75.2 °F outside: dig in the cool of the morning, stop when it is above 64.9 °F inside a potato",
            "100 % humidity for 18 of the last 24 hours", "no rain gauge");
        using var api = JsonDocument.Parse(await site.ReadAsync("/api/rows"));
        var outside = api.RootElement.GetProperty("outside");
        outside.GetProperty("saturatedHours").GetInt32().Should().Be(18);
        outside.GetProperty("cautions").EnumerateArray().Select(c => c.GetProperty("what").GetString()).Should().Equal("warm", "wet");
        outside.GetProperty("cautions")[0].GetProperty("temperatureC").GetDouble().Should().Be(24);
        var row = api.RootElement.GetProperty("rows")[0];
        row.GetProperty("stage").GetString().Should().Be("no-window");
        row.GetProperty("window").GetProperty("opens").ValueKind.Should().Be(JsonValueKind.Null);
        (await site.ReadAsync("/openapi/v1.json")).Should().Contain("/api/rows").And.Contain("RowShape");
    }

    [Fact]
    public async Task A_cool_day_with_a_swing_has_its_best_hours()
    {
        await using var site = await Site.OpenAsync();
        await PlantAsync(site, ("row", "3"), ("crop", "potato"), ("plantedOn", "2025-05-05"));
        await AirAsync(site, hour => hour is >= 10 and < 17 ? (15, 60) : (4, 85));
        (await site.WordsAsync("/rows")).Should().ContainAll(
            "Best hours by yesterday's air: 10 am to 5 pm", "so begin when the soil has warmed");
    }

    private static async Task<string> PlantAsync(Site site, params (string, string)[] fields) =>
        await WriteAsync(site, "/log/row-planted", "/log/row-planted", fields);

    private static async Task<string> VinesAsync(Site site, string row, params (string, string)[] fields) =>
        await WriteAsync(site, "/log/vines-dead?row=" + row, "/log/vines-dead", [("row", row), .. fields]);

    private static async Task<string> WriteAsync(Site site, string open, string path, (string, string)[] fields)
    {
        var answer = await site.SendAsync(path, await site.ReadAsync(open), fields);
        answer.Status.Should().Be(HttpStatusCode.Found, answer.Words);
        return answer.Location!;
    }

    // Two days of the yard's air, by the hour of New York.
    private static async Task AirAsync(Site site, Func<int, (double TemperatureC, double Humidity)> air)
    {
        var now = site.Time.GetUtcNow();
        await site.Store.WriteAsync(c =>
        {
            for (var i = 1; i < 576; i++)
            {
                var at = now - TimeSpan.FromMinutes(5 * i);
                var (t, rh) = air(at.ToOffset(TimeSpan.FromHours(-4)).Hour);
                PlaceRows.SaveAir(c, new PlaceAir("yard", at, t, rh, null, null, null, null, null, null, AirQuality.Good));
            }
        });
    }
}
