using System.Globalization;
using System.Text;
using Microsoft.Playwright;
using RootCellar.Household;
using RootCellar.Places;

namespace RootCellar.SystemTests.Pages;

/// <summary>One autumn from the row to the buyer, told through the pages alone, and what the book makes of it.</summary>
public sealed partial class SeasonStoryTests
{
    private static readonly TimeZoneInfo Clock = TimeZoneInfo.FindSystemTimeZoneById(ServiceUnderPages.TimeZone);

    /// <summary>Digging day, three weeks ago.</summary>
    private readonly DateTime dug = TimeZoneInfo.ConvertTime(DateTimeOffset.UtcNow, Clock).Date.AddDays(-21);

    [Theory]
    [InlineData(360, 740)]
    [InlineData(1280, 800)]
    public async Task Two_rows_are_dug_cured_moved_by_their_labels_sold_from_and_all_of_it_is_accounted_for(int width, int height)
    {
        await using var service = await ServiceUnderPages.StartAsync(
            s => s.WriteAsync(c =>
            {
                PlaceRows.Save(c, new Place("curing-room", "Curing room", Purpose.Curing, 25, ["potato"]));
                PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, 40, ["potato"]));
            }).GetAwaiter().GetResult(),
            AirSince(dug.AddDays(-1)));
        await using var phone = await Phone.OpenAsync(service.Address, width, height);
        var grower = new Grower(phone);
        await phone.SignInAsync(service.Passphrase, "Ann");
        await service.PublishAsync(
            ("rootcellar/curing-room/door", """{"temperature_f":56,"humidity_pct":90}"""),
            ("rootcellar/cellar/shelf", """{"temperature_f":40,"humidity_pct":93}"""));

        await PlantAsync(grower);
        await DigAndFillAsync(grower);
        await BeToldAsync(grower);
        await MoveAsync(grower, width, height);
        await WeighAsync(grower);
        await CullAsync(grower);
        await CorrectAsync(grower);
        await PromiseAndSellAsync(grower);
        await LoseTheNetworkAsync(grower, phone, service);
        await AllIsAccountedForAsync(grower);
        phone.Complaints.Should().BeEmpty();
    }

    private async Task PlantAsync(Grower grower)
    {
        await grower.MenuAsync("Rows");
        await grower.SeesAsync("Plant a row");
        await grower.LookAsync("rows-empty");
        await grower.Link("Plant a row").ClickAsync();
        await grower.TypeAsync("Variety", "Kennebec");
        await grower.Page.GetByLabel("Planted on").FillAsync(Day(dug.AddDays(-100)));
        await grower.Page.GetByLabel("Length of the row").FillAsync("60");
        await grower.LookAsync("log-row-planted");
        await grower.WriteAsync();
        await grower.IsToldAsync("Planted in a row");
        await grower.Link("Plant the next row").ClickAsync();
        await Assertions.Expect(grower.Page.GetByLabel("Which row or bed")).ToHaveValueAsync("2");
        await grower.TypeAsync("Variety", "Yukon Gold");
        await grower.Page.GetByLabel("Planted on").FillAsync(Day(dug.AddDays(-98)));
        await grower.WriteAsync();
        await grower.IsToldAsync("Yukon Gold");
        await grower.LookAsync("row");
    }

    private async Task DigAndFillAsync(Grower grower)
    {
        await grower.MenuAsync("Bins");
        await grower.SeesAsync("It begins in the field.");
        await grower.LookAsync("bins-empty");
        await grower.MenuAsync("Write");
        await grower.LookAsync("log-empty");
        await grower.MenuAsync("Rows");
        await grower.LookAsync("rows");

        await grower.Link("Dig Row 1").ClickAsync();
        await grower.TypeAsync("Dug on", Day(dug));
        await grower.Page.GetByText("tender: it rubs off").ClickAsync();
        await grower.Page.Locator("#amount").FillAsync("160");
        await grower.LookAsync("log-dug");
        await grower.WriteAsync();
        await grower.IsToldAsync($"Lot {Lot(1)} is written down");
        await FillAsync(grower, "K1", "52.5", "table", looks: true);
        await grower.Link($"Fill the next bin from lot {Lot(1)}").ClickAsync();
        await FillAsync(grower, "K2", "48", null);
        await grower.Link($"Fill the next bin from lot {Lot(1)}").ClickAsync();
        await FillAsync(grower, "K3", "57.5", null);

        await grower.MenuAsync("Rows");
        await grower.SeesAsync("2.67\u00A0lb per foot of row");
        await grower.Link("Dig Row 2").ClickAsync();
        await grower.TypeAsync("Dug on", Day(dug));
        await grower.WriteAsync();
        await FillAsync(grower, "Y1", "55", null);
        await grower.Link($"Fill the next bin from lot {Lot(2)}").ClickAsync();
        await FillAsync(grower, "Y2", "45.5", null);
    }

    private async Task FillAsync(Grower grower, string bin, string pounds, string? grade, bool looks = false)
    {
        await grower.TypeAsync("Which bin", bin);
        await grower.TypeAsync("How much went in?", pounds);
        if (grade is not null) await grower.Page.GetByLabel("Grade").FillAsync(grade);
        // Said for the first bin of the load; the next ones go on with it.
        if (bin is "K1" or "Y1") await grower.WhenAsync(dug.AddHours(16));
        if (looks) await grower.LookAsync("log-filled");
        await grower.WriteAsync();
        await grower.IsToldAsync(
            $"Written down: Filled: {double.Parse(pounds, CultureInfo.InvariantCulture).ToString("0.0", CultureInfo.InvariantCulture)}\u00A0lb");
    }

    /// <summary>Three weeks in the curing room have gone by: the list of what to do says it, and so does the bin.</summary>
    private static async Task BeToldAsync(Grower grower)
    {
        await grower.Page.GotoAsync("/");
        await Assertions.Expect(grower.Page.Locator("#to-do")).ToContainTextAsync("Fit to move 5 in Curing room, to Cellar: K1, K2, K3, Y1, Y2");
        await grower.LookAsync("now-fit-to-move");
        await grower.MenuAsync("Bins");
        await Assertions.Expect(grower.Page.GetByText("Healed far enough to move")).ToHaveCountAsync(1);
        await grower.LookAsync("bins-fit");
        await grower.Page.GotoAsync("/places/curing-room?range=month");
        await grower.LookAsync("place-month");
    }

    private static async Task MoveAsync(Grower grower, int width, int height)
    {
        var page = grower.Page;
        await grower.MenuAsync("Bins");
        await grower.Link("Print labels").ClickAsync();
        foreach (var bin in (string[])["K1", "K2", "K3", "Y1", "Y2"])
            await page.GetByRole(AriaRole.Checkbox, new() { Name = bin }).CheckAsync();
        await grower.Button("Show them").ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Img, new() { Name = "QR code of bin K1" })).ToBeVisibleAsync();
        await grower.LookAsync("labels");
        var small = await grower.ScanLabelsAsync();
        await page.GetByText("plain paper, to cut").ClickAsync();
        await grower.Button("Show them").ClickAsync();
        await Assertions.Expect(page.Locator(".sheet.plain")).ToBeVisibleAsync();
        await grower.LookAsync("labels-plain");
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        await page.ScreenshotAsync(new() { Path = Phone.Picture($"labels-print-{width}x{height}") });
        await page.EmulateMediaAsync(new() { Media = Media.Screen });
        var codes = await grower.ScanLabelsAsync();
        codes.Should().HaveCount(5).And.Equal(small);

        // Three are scanned where they stand and moved with one tap; the to-do list has the rest.
        foreach (var (code, bin) in codes.Zip(["K1", "K2", "K3"]))
        {
            await page.GotoAsync(code);
            await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Name = $"Bin {bin}" })).ToBeVisibleAsync();
            await grower.SeesAsync("Healed far enough to move");
            if (bin == "K1") await grower.LookAsync("bin-fit");
            await grower.Button("Move it to Cellar").ClickAsync();
            await grower.IsToldAsync("Written down: Moved: to Cellar");
        }

        await page.GotoAsync("/");
        await grower.Link("Move these 2").ClickAsync();
        await grower.LookAsync("log-moved");
        await grower.Button("Cellar").ClickAsync();
        await grower.IsToldAsync("Moved: 2 to Cellar: Y1, Y2");
        await page.GotoAsync("/");
        await Assertions.Expect(page.Locator("#to-do")).Not.ToContainTextAsync("Fit to move");
    }

    private static async Task WeighAsync(Grower grower)
    {
        var page = grower.Page;
        await grower.MenuAsync("Write");
        await grower.LookAsync("log");
        await grower.TypeAsync("Find a bin", "k1");
        await grower.Button("Find").ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Name = "Bin K1" })).ToBeVisibleAsync();

        // A slip of the thumb: more than there can be.
        await grower.HappenedAsync("Weighed");
        await grower.TypeAsync("What does it weigh?", "515");
        await grower.LookAsync("log-weighed");
        await grower.WriteAsync();
        await grower.IsAskedAsync("Bin K1 would weigh 515.0 lb");
        await Assertions.Expect(page.GetByLabel("What does it weigh?")).ToHaveValueAsync("515");
        await grower.LookAsync("log-asked");
        await grower.Link("Change it").ClickAsync();
        await grower.TypeAsync("What does it weigh?", "51.5");
        await page.Keyboard.PressAsync("Enter");
        await grower.IsToldAsync("Written down: Weighed: 51.5\u00A0lb");

        // And one that the book could take and the estimate did not expect: said to be right in a hurry, and wrong all the same.
        await grower.OpenBinAsync("K3");
        await grower.HappenedAsync("Weighed");
        await grower.TypeAsync("What does it weigh?", "46.5");
        await grower.WriteAsync();
        await grower.IsAskedAsync("Bin K3 at 46.5");
        await grower.LookAsync("log-not-expected");
        await grower.Button("Yes, it is right").ClickAsync();
        await grower.IsToldAsync("Written down: Weighed: 46.5\u00A0lb");
    }

    private static async Task CullAsync(Grower grower)
    {
        var page = grower.Page;
        await grower.HappenedAsync("How it looks");
        await grower.LookAsync("log-condition");
        await grower.Button("soft").ClickAsync();
        await grower.IsToldAsync("soft");
        await page.GotoAsync("/");
        await Assertions.Expect(page.Locator("#to-do")).ToContainTextAsync("Check K3");
        await grower.LookAsync("now-see-to");
        await grower.Link("Open bin K3").ClickAsync();
        await grower.HappenedAsync("Culled");
        await grower.TypeAsync("How much was culled?", "1.5");
        await page.GetByText("rot", new() { Exact = true }).ClickAsync();
        await grower.LookAsync("log-culled");
        await grower.WriteAsync();
        await grower.IsToldAsync("Written down: Culled: 1.5\u00A0lb, rot");
        await Assertions.Expect(grower.ByTheBook).ToHaveTextAsync("45.0\u00A0lb");
        await page.GotoAsync("/");
        await Assertions.Expect(page.Locator("#to-do")).Not.ToContainTextAsync("Check K3");
    }

    private static async Task CorrectAsync(Grower grower)
    {
        var page = grower.Page;
        await grower.OpenBinAsync("K3");
        await grower.Link("Correct Weighed: 46.5\u00A0lb").ClickAsync();
        await grower.TypeAsync("What does it weigh?", "56.5");
        await grower.LookAsync("log-correct");
        await grower.Button("Correct").ClickAsync();
        await Assertions.Expect(grower.ByTheBook).ToHaveTextAsync("55.0\u00A0lb");
        await Assertions.Expect(page.Locator("s").Filter(new() { HasText = "Weighed: 46.5\u00A0lb" })).ToBeVisibleAsync();
        await Assertions.Expect(page.Locator(".step")).ToContainTextAsync("corrected to Weighed: 56.5\u00A0lb by Ann");
        await grower.LookAsync("bin-corrected");

        // What never happened is taken back.
        await grower.OpenBinAsync("K2");
        await grower.HappenedAsync("Sold");
        await grower.TypeAsync("How much was sold?", "10");
        await grower.WriteAsync();
        await Assertions.Expect(grower.ByTheBook).ToHaveTextAsync("38.0\u00A0lb");
        await grower.Button("Undo Sold").ClickAsync();
        await grower.IsToldAsync("Written down: Taken back: Sold: 10.0\u00A0lb");
        await Assertions.Expect(grower.ByTheBook).ToHaveTextAsync("48.0\u00A0lb");
        await grower.LookAsync("bin");
        await grower.HappenedAsync("Sorted");
        await grower.LookAsync("log-sorted");
        await page.GotoAsync("/log/sprouts-seen?bin=K2");
        await grower.LookAsync("log-sprouts");
    }

    private static string Lot(int row) => $"{TimeZoneInfo.ConvertTime(DateTimeOffset.UtcNow, Clock).Year}-R{row}";

    private static string Day(DateTime day) => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    /// <summary>
    /// Both rooms every ten minutes until now, each with its day: the curing room right for potatoes that heal, the cellar right for
    /// keeping them.
    /// </summary>
    private static string AirSince(DateTime from)
    {
        var csv = new StringBuilder("sensor,quantity,at,value\n");
        for (var at = new DateTimeOffset(from, Clock.GetUtcOffset(from))
            .ToUniversalTime(); at < DateTimeOffset.UtcNow.AddMinutes(-2); at = at.AddMinutes(10))
        {
            var wave = Math.Sin(2 * Math.PI * at.TimeOfDay.TotalDays);
            foreach (var (sensor, temperature, humidity) in new[] { ("curing-room/door", 13.3 + (0.8 * wave), 90 - (2 * wave)),
                ("cellar/shelf", 4.6 + (0.3 * wave), 93 - wave) })
            {
                csv.Append(CultureInfo.InvariantCulture,
                    $"{sensor},temperature_c,{at:O},{temperature:0.##}\n{sensor},humidity_pct,{at:O},{humidity:0.##}\n");
            }
        }

        return csv.ToString();
    }
}
