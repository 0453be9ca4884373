using Microsoft.Playwright;
using RootCellar.SystemTests.Pages;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Demo;

/// <summary>What a newcomer sees who runs the README's first command: the story told on the console and on the pages.</summary>
[Collection(OneAtATime.Name)]
public class DemoStoryTests
{
    // On a busy machine; how quick it is is no matter of this test.
    private static readonly TimeSpan HistoryWithin = TimeSpan.FromMinutes(4);
    private static readonly TimeSpan EveningWithin = TimeSpan.FromMinutes(5);

    // Two demos side by side: a story is a minute and a half of waiting for the afternoon, and little work.
    [Fact]
    public async Task The_story_is_told_from_the_dry_spell_to_the_cool_evening()
    {
        await Needs.ChromiumAsync();
        await Task.WhenAll(IsToldAsync(360, 740, "tour-trouble"), IsToldAsync(1280, 800, "tour-desk"));
        // The pictures of README and docs/tour.md; how they are put there is said in docs/testing.md.
        foreach (var picture in Tour) new FileInfo(Phone.Picture(picture)).Length.Should().BeGreaterThan(10_000, picture);
    }

    private static readonly string[] Tour =
        ["tour-now", "tour-trouble", "tour-bins", "tour-lot", "tour-room", "tour-report", "tour-ahead", "tour-desk"];

    private static async Task IsToldAsync(int width, int height, string picture)
    {
        var port = Ports.Free();
        using var demo = new Child("dotnet", [BuiltProgram.Path, "demo", "--http", $"127.0.0.1:{port}"]);
        await Says(demo, "messages told", HistoryWithin);

        // The history: a dry spell, a wet humidity element, a lamp left on; a handful of texts in twelve days.
        var history = demo.Output.TakeWhile(line => !line.Contains("messages told", StringComparison.Ordinal))
            .Where(line => line.Contains("  TEXT  ", StringComparison.Ordinal)).ToList();
        history.Should().HaveCountLessThan(10).And.OnlyContain(line => line.Length <= 160 + "Thu 17 Sep 12:30  TEXT  ".Length);
        history.Should().Contain(line => line.Contains("CURING ROOM", StringComparison.Ordinal)
            && line.Contains("too dry (", StringComparison.Ordinal));
        history.Should().NotContain(line => line.Contains("not used", StringComparison.Ordinal),
            "the wet one says 95 % or more, and the other sensor there measures");
        history.Should().Contain(line => line.Contains("CELLAR light", StringComparison.Ordinal));

        await using var phone = await Phone.OpenAsync(new Uri($"http://127.0.0.1:{port}"), width, height);
        await phone.SignInAsync(Passphrase(demo), "Ida");
        foreach (var place in (string[])["Curing room", "Cellar", "Pantry"])
        {
            await Assertions.Expect(phone.Page.GetByRole(AriaRole.Heading, new() { Name = place, Exact = true })).ToBeVisibleAsync();
        }

        await Assertions.Expect(phone.Page.GetByRole(AriaRole.Link, new() { Name = "Outdoors" })).ToBeVisibleAsync();

        // The hot afternoon, seconds after the history ends.
        var warm = await Says(demo, "too warm (", EveningWithin);
        warm.Should().Contain("CURING ROOM").And.Contain("keep door + vent shut");
        var alarm = phone.Page.Locator(".alarm", new() { HasText = "too warm (" });
        await phone.UntilAsync("/", alarm.First);
        await Assertions.Expect(alarm.First).ToContainTextAsync("keep door + vent shut");
        await phone.LookAsync(picture);
        await phone.PictureAsync(picture);
        await alarm.First.GetByRole(AriaRole.Button, new() { Name = "I'm on it" }).ClickAsync();
        await Assertions.Expect(phone.Page.Locator(".alarm", new() { HasText = "answered by Ida" }).First).ToBeVisibleAsync();

        await phone.Page.GotoAsync("/sent");
        await Assertions.Expect(phone.Page.GetByText("CELLAR light", new() { Exact = false }).First).ToBeVisibleAsync();
        await Assertions.Expect(phone.Page.GetByText("CURING ROOM", new() { Exact = false }).First).ToBeVisibleAsync();

        if (width < 500)
        {
            // A full book, and no page longer than the limits of docs/design.md.
            foreach (var (path, name, screens) in new[]
            {
                ("/bins", "bins", 3), ("/lots/2026-2", "lot", 3), ("/places/curing-room#over-time", "room", 6), ("/report", "report", 2),
                ("/ahead", "ahead", 3),
            })
            {
                await phone.Page.GotoAsync(path, new() { WaitUntil = WaitUntilState.NetworkIdle });
                await phone.PictureAsync("tour-" + name);
                (await phone.Page.EvaluateAsync<int>("() => document.documentElement.scrollHeight")).Should()
                    .BeLessThanOrEqualTo(screens * 740, path);
            }
        }

        // Until the evening cools the room there is time to look at every page with a full book: by night on the phone, by day on the desk.
        await LookAtEveryPageAsync(phone, dark: width < 500);

        (await Says(demo, "CURING ROOM fine again", EveningWithin, after: warm)).Should().Contain("worst");
        await phone.UntilAsync("/", phone.Page.Locator(".top:not(.trouble)"));
        if (width < 500)
        {
            // Calm on one screen, whatever is left of set-up and over.
            (await phone.Page.EvaluateAsync<int>("() => document.documentElement.scrollHeight")).Should().BeLessThanOrEqualTo(740);
            await phone.PictureAsync("tour-now");
        }

        phone.Complaints.Should().BeEmpty();
        (await demo.TerminateAsync(TimeSpan.FromSeconds(30))).Should().Be(0);
    }

    private static async Task LookAtEveryPageAsync(Phone phone, bool dark)
    {
        await phone.Page.EmulateMediaAsync(new PageEmulateMediaOptions { ColorScheme = dark ? ColorScheme.Dark : ColorScheme.Light });
        foreach (var path in (string[])
        [
            "/", "/bins", "/bins?sort=first", "/bins?show=due", "/more", "/bins/K3", "/lots/2026-2", "/places/curing-room", "/rows", "/rows/upper field 4",
            "/rows/upper field 1", "/stock", "/ahead", "/report", "/alarms", "/sent", "/sensors", "/sensors/calibrate?sensor=curing-room/north-shelf", "/set-up", "/set-up/channels", "/set-up/backup", "/first-evening", "/first-evening/household", "/first-evening/sensors", "/first-evening/test", "/first-evening/gate", "/crops",
            "/log", "/log/weighed?bin=K3", "/log/sorted?bin=K3", "/log/culled?bin=K3", "/log/sold?bin=K3", "/log/moved", "/log/dug",
            "/log/filled", "/log/promised", "/log/row-planted", "/log/vines-dead", "/log/correct/1", "/log/correct/11", "/log/correct/20",
            "/log/undo/20", "/log/to-check", "/cellar", "/cellar#bin=K3", "/labels", "/labels?sheet=paper", "/help", "/help/texts", "/help/cautions",
            "/sign-out",
        ])
        {
            await phone.Page.GotoAsync(path);
            await phone.LookAsync(
                "demo-" + (path == "/" ? "now" : path.Trim('/').Replace('/', '-').Replace('?', '-').Replace('=', '-').Replace('#', '-').Replace(' ', '-')) + (
                    dark ? "-dark" : ""));
        }

        await phone.Page.EmulateMediaAsync(new PageEmulateMediaOptions { ColorScheme = ColorScheme.Light });
    }

    private static Task<string> Says(Child demo, string words, TimeSpan within, string? after = null) => Eventually.GivesAsync(
        () => demo.Output.SkipWhile(line => after is not null && line != after).Skip(after is null ? 0 : 1)
            .FirstOrDefault(line => line.Contains(words, StringComparison.Ordinal)),
        $"the demo says '{words}'",
        within,
        () => demo.Everything);

    private static string Passphrase(Child demo)
    {
        var line = demo.Output.First(l => l.StartsWith("The household passphrase", StringComparison.Ordinal));
        return line[(line.LastIndexOf(' ') + 1)..];
    }
}
