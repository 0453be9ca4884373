using System.Globalization;
using Microsoft.Playwright;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Pages;

/// <summary>
/// From an empty folder to the first text, on a phone, only through the steps the pages lead through: no file is edited and nothing is
/// started again. Told twice: with a finger, and with the keys alone.
/// </summary>
public sealed class FirstEveningStoryTests
{
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task A_grower_is_led_from_the_box_to_the_first_mail_and_the_first_text(bool keys)
    {
        await using var postbox = Postbox.Start();
        await using var modem = await DummyModem.StartAsync();
        await using var service = await ServiceUnderPages.StartAsync(settings: new Dictionary<string, string>
        {
            // Where gammu's daemon is on this machine, as its package sets it up; nothing of the household.
            ["Household:TimeZone"] = "",
            ["Tell:Modem:Config"] = modem.Config,
        });
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740, locale: "en-US", timezone: "America/Chicago");
        var (page, hand) = (phone.Page, new Hand(phone.Page, keys));
        Task PressAsync(string button) => hand.PressAsync(page.GetByRole(AriaRole.Button, new() { Name = button, Exact = true }));
        Task FollowAsync(string link) => hand.PressAsync(page.GetByRole(AriaRole.Link, new() { Name = link, Exact = true }));
        Task TypeAsync(string field, string text) => hand.TypeAsync(page.Locator(field), text);
        Task UnfoldAsync(string fold) => hand.PressAsync(page.Locator("summary").Filter(new() { HasText = fold, Visible = true }).First);
        Task SeesAsync(string words) => Assertions.Expect(page.GetByText(words).First).ToBeVisibleAsync();
        async Task AtAsync(string heading, string step)
        {
            await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Level = 1, Name = heading, Exact = true })).ToBeVisibleAsync();
            await SeesAsync(step + " of 6");
        }

        Task LookAsync(string step) => keys ? Task.CompletedTask : phone.LookAsync("first-evening-" + step);

        await page.GotoAsync("/");
        await TypeAsync("#passphrase", service.Passphrase);
        await TypeAsync("#who", "Nell");
        await PressAsync("Sign in");
        await SeesAsync("Six steps: from the box to the first text");
        await LookAsync("start");
        await FollowAsync("Start");

        await AtAsync("Clock, units, language", "1");
        await SeesAsync("This phone is in America/Chicago");
        await LookAsync("1-household");
        await PressAsync("Take it");
        await PressAsync("Save");
        await SeesAsync("Saved. Pages and texts go by it now.");
        await LookAsync("1-household-saved");
        await FollowAsync("Next: Places");

        await AtAsync("Places", "2");
        await LookAsync("2-places");
        await TypeAsync("#place-name", "Curing room");
        await PressAsync("Add a place");
        await SeesAsync("The place is saved.");
        await LookAsync("2-places-one");
        await FollowAsync("Next: Sensors");

        await AtAsync("Sensors", "3");
        await SeesAsync("Nothing heard yet.");
        await SeesAsync(service.MqttPort.ToString(CultureInfo.InvariantCulture));
        await LookAsync("3-sensors-nothing");
        // A sensor with topics of its own, and one to whom the topic was typed in.
        await service.PublishAsync(
            ("barn/th1", """{"temperature":12.8,"humidity":91,"battery":97}"""),
            ("rootcellar/curing-room/door", """{"temperature_f":55,"humidity_pct":90}"""));
        var use = page.GetByRole(AriaRole.Button, new() { Name = "Use this sensor" });
        await Eventually.HoldsAsync(async () =>
        {
            await FollowAsync("Look again");
            return await use.CountAsync() == 1 && await page.GetByText("door · Curing room").CountAsync() == 1;
        }, "both are heard", details: () => page.Url);
        await LookAsync("3-sensors-heard");
        await PressAsync("Use this sensor");
        await SeesAsync("In a place");
        await FollowAsync("Next: Who gets texts");

        await AtAsync("How texts go out", "4");
        await LookAsync("4-ways");
        await UnfoldAsync("Mail");
        await TypeAsync("#host", "127.0.0.1");
        await TypeAsync("#from", "cellar@homestead.example");
        await UnfoldAsync("More");
        await TypeAsync("#port", postbox.Port.ToString(CultureInfo.InvariantCulture));
        await hand.ChooseAsync(page.Locator("#tls"), "off", await page.Locator("#tls option[value=off]").InnerTextAsync());
        await LookAsync("4-ways-mail");
        await TypeAsync("#mail-passphrase", "not-the-one");
        await hand.PressAsync(page.Locator("#mail button.primary"));
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("passphrase");
        await TypeAsync("#mail-passphrase", service.Passphrase);
        await hand.PressAsync(page.Locator("#mail button.primary"));
        await SeesAsync("Saved. It holds now.");
        await UnfoldAsync("Texts by a modem");
        await hand.PressAsync(page.Locator("#modem button.primary"));
        await Assertions.Expect(page.Locator("#modem summary")).ToContainTextAsync("✓ On");
        await LookAsync("4-ways-on");
        await FollowAsync("Next: Who gets texts");

        await AtAsync("Who gets texts", "4");
        await LookAsync("4-people");
        await TypeAsync("#contact-name", "Nell");
        await TypeAsync("#contact-address", "nell");
        await PressAsync("Add a contact");
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("'nell' is not a mail address");
        await TypeAsync("#contact-address", "nell@homestead.example");
        await PressAsync("Add a contact");
        await SeesAsync("The contact is saved.");
        await UnfoldAsync("Add another person");
        await TypeAsync("#contact-name", "Amos");
        await hand.MarkAsync(page.GetByRole(AriaRole.Group, new() { Name = "How", Exact = true }), page.Locator("#contact-form input[value=modem]"));
        await TypeAsync("#contact-address", "+1 555 123 4567");
        await PressAsync("Add a contact");
        await SeesAsync("+15551234567");
        await LookAsync("4-people-two");
        await FollowAsync("Next: A test");

        await AtAsync("A test", "5");
        await LookAsync("5-test");
        await PressAsync("Send a test Nell");
        await Assertions.Expect(page.GetByRole(AriaRole.Status).Filter(new() { HasText = "Nell: Taken." })).ToContainTextAsync("Ok");
        await LookAsync("5-test-taken");
        var mail = postbox.Mails.Should().ContainSingle("the first text is a mail").Subject;
        mail.To.ToString().Should().Be("nell@homestead.example");
        await PressAsync("Send a test Amos");
        await SeesAsync("Amos: Taken.");
        await Eventually.HoldsAsync(() => modem.Sent.Any(s => s.Contains("+15551234567", StringComparison.Ordinal)), "gammu's phone sent it",
            TimeSpan.FromSeconds(60), () => string.Join('\n', modem.Sent));
        await FollowAsync("Next: Close the gate");

        await AtAsync("Close the gate", "6");
        await LookAsync("6-gate");
        await PressAsync("Set-up is finished: ask for the password");
        await SeesAsync("Sensors elsewhere now need a password.");
        await LookAsync("6-gate-shut");
        await FollowAsync("Next: Now");

        await phone.UntilAsync("/", page.GetByText("All is well"));
        await LookAsync("then-now");
        await Assertions.Expect(page.GetByText("first evening")).ToHaveCountAsync(0);
        await page.GotoAsync("/first-evening");
        await SeesAsync("All six are done.");
        await SeesAsync("America/Chicago · °F, lb · English");
        await LookAsync("done");
        await page.GotoAsync("/more");
        await Assertions.Expect(page.GetByRole(AriaRole.Main).GetByText("first evening")).ToHaveCountAsync(0);
        if (!keys) await LookAtAllAsync(phone);
        phone.Complaints.Should().BeEmpty();
    }

    // In the dark, and on a desk.
    private static async Task LookAtAllAsync(Phone phone)
    {
        foreach (var (name, dark, width, height) in new[] { ("dark", true, 360, 740), ("desk", false, 1280, 800) })
        {
            await phone.Page.EmulateMediaAsync(new() { ColorScheme = dark ? ColorScheme.Dark : ColorScheme.Light });
            await phone.Page.SetViewportSizeAsync(width, height);
            foreach (var step in new[] { "", "/household", "/places", "/sensors", "/ways", "/people", "/test", "/gate" })
            {
                await phone.Page.GotoAsync("/first-evening" + step);
                await phone.LookAsync($"first-evening-{name}{step.Replace('/', '-')}");
            }

            await phone.Page.GotoAsync("/set-up");
            await phone.LookAsync($"first-evening-{name}-set-up");
            await phone.Page.GetByText("For the technically minded").ClickAsync();
            await phone.LookAsync($"first-evening-{name}-set-up-technical");
        }
    }
}
