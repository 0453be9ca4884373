using System.Net;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Advice;
using RootCellar.Commands;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Pages;
using RootCellar.Pages.Evening;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>The first evening: led from the box to the first text, step by step, each of which can wait.</summary>
public sealed class FirstEveningTests
{
    private const string Start = "/first-evening";
    private const string House = Start + "/household";

    private static readonly (string, string)[] Berlin =
    [
        ("timeZone", "Europe/Berlin"), ("temperature", "C"), ("weight", "kg"), ("language", "es"), ("emergencyNumber", "112"),
    ];

    [Fact]
    public async Task The_first_visit_to_a_new_house_leads_there_and_every_step_can_wait()
    {
        await using var site = await Site.OpenAsync(empty: true);
        using var ann = new Visitor(site);
        (await ann.SignInAsync(site.Passphrase, "Ann")).Location.Should().Be(Start);

        (await site.WordsAsync(Start)).Should().Contain("Six steps: from the box to the first text, then shut the gate").And.Contain("Nobody gets texts yet.");
        var path = House;
        List<string> steps = [];
        while (path.StartsWith(Start, StringComparison.Ordinal))
        {
            var page = await site.ReadAsync(path);
            steps.Add(path);
            Site.Words(page).Should().Contain($"{Math.Min(steps.Count, 6)} of 6");
            path = Link(page, "Later");
        }

        steps.Should().Equal(House, Start + "/places", Start + "/sensors", Start + "/ways", Start + "/test", Start + "/gate");
        path.Should().Be("/");
        (await site.ReadAsync("/")).Should().Contain($"href=\"{Start}\"");
        (await site.WordsAsync("/more")).Should().Contain("6 steps of the first evening are left.");
    }

    [Fact]
    public async Task Whoever_wanted_another_page_and_whoever_signs_in_to_a_house_with_places_is_not_led()
    {
        await using var site = await Site.OpenAsync(empty: true);
        using var ann = new Visitor(site);
        (await ann.SendAsync("/sign-in?returnUrl=%2Fbins", (await ann.GetAsync("/sign-in")).Html, ("passphrase", site.Passphrase), ("who", "Ann")))
            .Location.Should().Be("/bins");
        (await site.WordsAsync("/more")).Should().Contain("6 steps", "the site's own sign-in went to Now");
        await using var lived = await Site.OpenAsync();
        using var bo = new Visitor(lived);

        (await bo.SignInAsync(lived.Passphrase, "Bo")).Location.Should().Be("/");
        (await lived.WordsAsync("/more")).Should().NotContain("first evening");
    }

    [Fact]
    public async Task What_is_said_of_the_household_holds_at_once_everywhere_and_after_a_restart_and_for_commands()
    {
        using var folder = new TempFolder();
        string passphrase;
        await using (var site = await Site.OpenAsync(record: folder, zone: "America/New_York"))
        {
            passphrase = site.Passphrase;
            (await SendAsync(site, Berlin)).Location.Should().Contain("done=True");

            (await site.WordsAsync(House + "?done=True")).Should().Contain("Guardado. Las páginas y los mensajes ya van así.");
            (await site.WordsAsync("/places/curing")).Should().Contain("°C").And.NotContain("°F");
            site.Services.GetRequiredService<Show>().Calendar.Zone.Id.Should().Be("Europe/Berlin");
            site.Services.GetRequiredService<HouseholdCalendar>().Zone.Id.Should().Be("Europe/Berlin");
            site.Services.GetRequiredService<TextRenderer>().Scale.Should().Be(TemperatureScale.Celsius);
            (await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => Strings.Now, TestContext.Current.CancellationToken))
                .Should().Be("Ahora", "work that was begun before speaks it too");
        }

        // The program that starts next is given nothing.
        await using (var again = await Site.OpenAsync(record: folder, known: passphrase, change: s => s.Household = new HouseholdOptions()))
        {
            (await again.WordsAsync(House)).Should().Contain("Zona horaria");
            (await again.WordsAsync("/set-up")).Should().Contain("Europe/Berlin · °C, kg · Español");
        }

        CommandLine.Settings(folder.Path).Household.Should().BeEquivalentTo(
            new { TimeZone = "Europe/Berlin", Temperature = "C", Weight = "kg", Language = "es", EmergencyNumber = "112" });
        if (!OperatingSystem.IsWindows())
            File.GetUnixFileMode(Path.Combine(folder.Path, DataFolder.Household)).Should().Be(UnixFileMode.UserRead | UnixFileMode.UserWrite);
    }

    [Fact]
    public async Task Numbers_are_written_and_read_as_the_household_does_from_the_next_page_on()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync(pounds: "50.5");
        (await site.WordsAsync("/bins/B1")).Should().Contain("50.5");

        (await SendAsync(site, ("decimalMark", ","))).Location.Should().Contain("done=True");

        (await site.WordsAsync("/bins/B1")).Should().Contain("50,5").And.NotContain("50.5");
        await site.LogAsync("weighed", "B1", ("amount", "50,25"));
        (await site.WordsAsync("/bins/B1")).Should().Contain("50,25");
        (await SendAsync(site, ("decimalMark", ";"))).Status.Should().Be(HttpStatusCode.OK, "it is no mark, and the page says so");
        site.Services.GetRequiredService<HouseholdOptions>().DecimalMark.Should().Be(",");
    }

    [Fact]
    public async Task A_day_of_the_book_is_a_day_of_the_zone_that_is_set_and_what_is_tracked_follows()
    {
        await using var site = await Site.OpenAsync(zone: "America/New_York");
        await site.LogAsync("dug", null, ("lot", "2025-1"), ("crop", "potato"), ("variety", "Elba"), ("dugOn", "2025-09-20"));
        site.Book.Lots["2025-1"].DugAt.UtcDateTime.Hour.Should().Be(16, "noon in New York");
        Book? told = null;
        site.Services.GetRequiredService<LedgerDoor>().BookChanged += (_, change) => told = change.Book;

        await SendAsync(site, Berlin);

        site.Book.Lots["2025-1"].DugAt.UtcDateTime.Hour.Should().Be(10, "noon in Berlin: the book was read again");
        told.Should().BeSameAs(site.Book, "whoever follows the book was told");
        await site.FillAsync(lot: "2025-1");
        site.Book.Bins.Should().ContainKey("B1", "it goes on being written");
    }

    [Fact]
    public async Task What_the_installer_gave_wins_is_shown_as_such_and_stays()
    {
        await using var site = await Site.OpenAsync(change: s => s.Household.Given = new HashSet<string> { nameof(HouseholdOptions.TimeZone) });

        var page = await site.ReadAsync(House);
        Site.Words(page).Should().Contain("America/New_York Set in the settings file, which wins");
        page.Should().NotContain("name=\"timeZone\"");
        await SendAsync(site, Berlin);

        site.Services.GetRequiredService<HouseholdOptions>().Should().BeEquivalentTo(new { TimeZone = "America/New_York", Temperature = "C" });
        await SendAsync(site, Berlin[1..]);
        site.Services.GetRequiredService<HouseholdDesk>().SetUp.TimeZone.Should().Be("Europe/Berlin", "what the page does not ask for is not forgotten");
    }

    [Theory]
    [InlineData("46", "lb", 46 * 0.45359237)]
    [InlineData("20", "kg", 20)]
    [InlineData("20.5 kg", "lb", 20.5)]
    public async Task What_a_crate_holds_is_typed_as_any_weight_and_amounts_may_be_written_in_crates(string typed, string unit, double kg)
    {
        const string Fresh = "/log/sold?bin=B1";
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        (await site.ReadAsync(Fresh)).Should().NotContain("value=\"crate\"");

        (await SendAsync(site, ("weight", unit), ("crate", typed))).Location.Should().Contain("done=True");

        var household = site.Services.GetRequiredService<HouseholdOptions>();
        household.CrateKg.Should().BeApproximately(kg, 1e-4);
        (await SendAsync(site, ("weight", "kg"), ("crate", Site.Field(await site.ReadAsync(House), "crate")))).Location.Should().Contain("done=True");
        household.CrateKg.Should().BeApproximately(kg, 1e-4, "what was not typed anew stays what it is, whatever unit is chosen with it");
        (await site.ReadAsync(Fresh)).Should().Contain("value=\"crate\"");
        await SendAsync(site, ("crate", ""));
        (await site.ReadAsync(Fresh)).Should().NotContain("value=\"crate\"");
    }

    [Fact]
    public async Task Programs_read_and_change_the_same_and_are_told_what_is_wrong_or_said_by_the_installer()
    {
        await using var site = await Site.OpenAsync(change: s => s.Household.Given = new HashSet<string> { nameof(HouseholdOptions.TimeZone) }
            .ToHashSet(StringComparer.OrdinalIgnoreCase));
        (await site.ReadAsync("/api/household")).Should().Be(
            """{"timeZone":"America/New_York","language":"en","temperature":"F","weight":"lb","decimalMark":".","emergencyNumber":"911","crateKg":0,"given":["timeZone"]}""");

        var changed = await site.SendJsonAsync(HttpMethod.Patch, "/api/household", """{"temperature":"C","crateKg":20}""");

        changed.Status.Should().Be(HttpStatusCode.OK);
        changed.Html.Should().Contain("\"temperature\":\"C\"").And.Contain("\"crateKg\":20").And.Contain("\"weight\":\"lb\"", "what is left out stays");
        (await site.WordsAsync("/places/curing")).Should().Contain("°C");
        foreach (var (body, status, words) in new[]
        {
            ("""{"temperature":"C\n"}""", HttpStatusCode.BadRequest, "temperature: F or C."),
            ("""{"weight":"st"}""", HttpStatusCode.BadRequest, "weight: lb or kg."),
            ("""{"decimalMark":""}""", HttpStatusCode.BadRequest, "decimalMark: a point or a comma."),
            ("""{"emergencyNumber":"nine"}""", HttpStatusCode.BadRequest, "Right: 911, 112."),
            ("""{"crateKg":-1}""", HttpStatusCode.BadRequest, "0 (none) to 1000 kg"),
            ("""{"crateKg":1001}""", HttpStatusCode.BadRequest, "0 (none) to 1000 kg"),
            ("""{"language":"xx"}""", HttpStatusCode.BadRequest, "none of the tag 'xx'"),
            ("""{"timeZone":"Europe/Berlin"}""", HttpStatusCode.Conflict, "Household:timeZone"),
        })
        {
            var refused = await site.SendJsonAsync(HttpMethod.Patch, "/api/household", body);
            refused.Status.Should().Be(status, body);
            refused.Html.Should().Contain(words);
        }

        (await site.ReadAsync("/api/household")).Should().Be(changed.Html);
    }

    [Fact]
    public async Task Whom_the_settings_name_is_told_as_now_and_the_first_evening_both_say()
    {
        await using var site = await Site.OpenAsync(change: s => s.Tell.Post.Url = "http://127.0.0.1:1/");

        (await site.WordsAsync("/")).Should().NotContain("No texts go out.");
        (await site.WordsAsync(Start)).Should().Contain("Who gets texts Named in the settings file");
        await using var alone = await Site.OpenAsync();
        (await alone.WordsAsync(Start)).Should().Contain("Nobody gets texts yet.");
    }

    [Theory]
    [InlineData("crate", "a lot", "'a lot' is not a number")]
    [InlineData("crate", "3000", "A crate holds up to 1000 kg (2204 lb).")]
    [InlineData("timeZone", "Mars/Base", "There is no time zone 'Mars/Base'. Choose one from the list, such as America/New_York.")]
    [InlineData("emergencyNumber", "nine one one", "'nine one one' is no number to call. Write digits, such as 911 or 112.")]
    [InlineData("temperature", "K", "Something was chosen that the page does not offer.")]
    [InlineData("language", "xx", "Something was chosen that the page does not offer.")]
    public async Task What_is_wrong_is_said_with_what_would_be_right_and_nothing_changes(string field, string value, string words)
    {
        await using var site = await Site.OpenAsync();

        var answer = await SendAsync(site, [.. Berlin.Where(f => f.Item1 != field), (field, value)]);

        answer.Words.Should().Contain(words);
        site.Services.GetRequiredService<HouseholdOptions>().Should().BeEquivalentTo(new { TimeZone = "America/New_York", Temperature = "F", Weight = "lb", Language = "en" });
        site.Services.GetRequiredService<HouseholdDesk>().IsSaid.Should().BeFalse();
        if (field == "emergencyNumber") Site.Field(answer.Html, "emergencyNumber").Should().Be(value, "what was typed stays");
    }

    [Fact]
    public async Task A_damaged_file_of_the_household_keeps_nobody_out_and_is_set_aside_when_it_is_said_anew()
    {
        using var folder = new TempFolder();
        var file = Path.Combine(folder.Path, DataFolder.Household);
        await File.WriteAllTextAsync(file, """{"TimeZone":"Mars/Base","Temperature":"K",""", TestContext.Current.CancellationToken);
        await using var site = await Site.OpenAsync(record: folder);

        (await site.WordsAsync(House)).Should().Contain("What was set here before can't be read (household.json):");
        await SendAsync(site, Berlin);

        File.Exists(file + ".bad").Should().BeTrue();
        new KeptFile<HouseholdSetUp>(folder.Path, DataFolder.Household).Read().Content.TimeZone.Should().Be("Europe/Berlin");
    }

    [Fact]
    public async Task Steps_are_done_by_what_the_house_knows_and_are_put_away_for_good_over_a_restart()
    {
        using var folder = new TempFolder();
        string passphrase;
        await using (var site = await Site.OpenAsync(record: folder, empty: true))
        {
            passphrase = site.Passphrase;
            var form = await site.ReadAsync(Start + "/places");
            var added = await site.SendAsync(Start + "/places?handler=Place", form, ("name", "Cellar"), ("purpose", "Storage"), ("crops", "potato"), ("existing", "false"));
            added.Location.Should().StartWith(Start + "/places");
            (await site.WordsAsync("/")).Should().Contain("5 steps of the first evening are left.");
            var wrong = await site.SendAsync(Start + "/places?handler=Place", form, ("name", "Cellar"), ("purpose", "Storage"), ("existing", "false"), ("volume", "a lot"));
            wrong.Words.Should().Contain("2 of 6").And.Contain("'a lot' is not a number", "what is wrong is said where it was typed");
        }

        await using (var site = await Site.OpenAsync(record: folder, known: passphrase, empty: true))
        {
            (await site.WordsAsync(Start)).Should().Contain("Places Cellar Done");
            (await site.WordsAsync("/more")).Should().Contain("5 steps of the first evening are left.");
            (await site.SendAsync(Start + "?handler=Away", await site.ReadAsync(Start))).Status.Should().Be(HttpStatusCode.Found);
        }

        await using (var site = await Site.OpenAsync(record: folder, known: passphrase, empty: true))
        {
            (await site.ReadAsync("/")).Should().NotContain(Start);
            (await site.ReadAsync("/more")).Should().NotContain(Start);
            (await site.WordsAsync(House)).Should().NotContain("1 of 6").And.NotContain("Later");
            await site.SendAsync(Start + "?handler=Offer", await site.ReadAsync(Start));
            (await site.WordsAsync("/more")).Should().Contain("5 steps");
        }
    }

    [Fact]
    public async Task The_gate_is_the_last_step_shut_with_one_tap_and_opened_again_and_only_its_own_forms_are_taken_there()
    {
        const string Gate = Start + "/gate";
        await using var site = await Site.OpenAsync(empty: true);
        var door = site.Services.GetRequiredService<SensorDoor>();
        (await site.WordsAsync(Start)).Should().Contain("Close the gate Open: anything on your network can send readings");
        var page = await site.ReadAsync(Gate);
        Site.Words(page).Should().Contain("6 of 6").And.Contain("Until set-up is finished, everything is open").And.Contain("have the sensor password");
        (await site.SendAsync(Gate + "?handler=RemoveClient", page, ("id", "1"))).Status.Should().NotBe(HttpStatusCode.Found);
        (await site.SendAsync(Gate + "?handler=SensorPassword", page)).Status.Should().NotBe(HttpStatusCode.Found);
        door.IsOpen.Should().BeTrue();

        (await site.SendAsync(Gate + "?handler=Finish", page)).Location.Should().StartWith(Gate);

        door.IsOpen.Should().BeFalse();
        (await site.WordsAsync(Gate + "?done=finish")).Should().Contain("Sensors elsewhere now need a password.").And.Contain("Set-up is finished: sensors elsewhere").And.Contain("Next: Now");
        (await site.WordsAsync(Start)).Should().Contain("Close the gate Shut: sensors need the password Done");
        (await site.WordsAsync("/more")).Should().Contain("5 steps of the first evening are left.");
        await site.SendAsync(Gate + "?handler=Reopen", await site.ReadAsync(Gate));
        door.IsOpen.Should().BeTrue();
        (await site.WordsAsync(Start)).Should().Contain("Close the gate Open");
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Where_a_broker_of_the_households_own_or_the_settings_decide_there_is_no_gate_to_shut(bool ownBroker)
    {
        await using var site = await Site.OpenAsync(empty: true, change: s =>
        {
            if (ownBroker) s.Mqtt.Broker.Host = "127.0.0.1";
            else s.Mqtt.AllowAnonymous = false;
        });

        site.Services.GetRequiredService<FirstEvening>().IsDone(EveningStep.Gate).Should().BeTrue();
        (await site.WordsAsync(Start + "/gate")).Should().Contain(ownBroker ? "it decides who may publish" : "nothing connects without a password");
        (await site.ReadAsync(Start + "/gate")).Should().NotContain("handler=Finish");
    }

    [Fact]
    public async Task A_helper_is_sent_to_the_household_and_is_offered_no_step()
    {
        await using var site = await Site.OpenAsync(empty: true);
        using var sam = await Visitor.HelperAsync(site);

        foreach (var path in new[] { "", "/household", "/places", "/sensors", "/ways", "/people", "/test", "/gate" })
            (await sam.GetAsync(Start + path)).Status.Should().Be(HttpStatusCode.Forbidden, path);
        (await sam.GetAsync("/")).Html.Should().NotContain(Start);
        (await sam.GetAsync("/more")).Html.Should().NotContain(Start);
    }

    [Fact]
    public async Task A_test_that_is_not_taken_says_why_and_leaves_the_step_open()
    {
        await using var site = await Site.OpenAsync();
        (await site.WordsAsync(Start + "/test")).Should().Contain("Nobody gets texts yet. First say who.");
        var ways = await site.ReadAsync(Start + "/ways");
        var on = await site.SendAsync(Start + "/ways?handler=Mail", ways, ("Host", "127.0.0.1"), ("Port", "1"), ("Tls", "off"), ("From", "cellar@example.org"),
            ("Passphrase", site.Passphrase));
        on.Location.Should().StartWith(Start + "/ways");
        var people = await site.ReadAsync(Start + "/people");
        people.Should().Contain("value=\"mail\" checked");
        await site.SendAsync(Start + "/people?handler=Contact", people, ("name", "Nell"), ("channel", "mail"), ("address", "nell@example.org"), ("wants", "all"));
        var test = await site.ReadAsync(Start + "/test");
        var id = site.Services.GetRequiredService<Pipeline>().Snapshot.Contacts.Single().Id;

        var answer = await site.SendAsync(Start + "/test", test, ("id", id));

        answer.Words.Should().Contain("Nell: Not taken:").And.Contain("Nothing went out.");
        site.Services.GetRequiredService<FirstEvening>().IsDone(EveningStep.Test).Should().BeFalse();
        (await site.SendAsync(Start + "/test", test, ("id", "nobody"))).Words.Should().Contain("That contact is gone");
    }

    [Fact]
    public async Task Set_up_keeps_broker_mirror_and_tokens_behind_a_fold_and_no_page_of_it_names_a_call()
    {
        await using var site = await Site.OpenAsync();
        var page = await site.ReadAsync("/set-up");
        var fold = page.IndexOf("<details class=\"folds\" id=\"technical\"", StringComparison.Ordinal);

        fold.Should().BePositive();
        Site.Words(page[..fold]).Should().NotContainAny("MQTT over", "InfluxDB", "API", "JSON", "rootcellar.json");
        foreach (var id in new[] { "broker", "mirror", "tokens" }) page.IndexOf($"id=\"{id}\"", StringComparison.Ordinal).Should().BeGreaterThan(fold, id);
        Site.Words(page).Should().NotContainAny("/api/", "GET ", "PUT ", "curl");
    }

    // Where a link of a page leads.
    private static string Link(string html, string words)
    {
        var end = html.IndexOf($">{words}</a>", StringComparison.Ordinal);
        end.Should().BePositive($"there is a link '{words}'");
        var tag = html[html.LastIndexOf("<a ", end, StringComparison.Ordinal)..end];
        return tag[(tag.IndexOf("href=\"", StringComparison.Ordinal) + 6)..tag.LastIndexOf('"')];
    }

    private static async Task<Answer> SendAsync(Site site, params (string, string)[] fields) =>
        await site.SendAsync(House, await site.ReadAsync(House), fields);
}
