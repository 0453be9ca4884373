using System.Net;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>Passwords of sensors and readers on the pages, and what they say of an open or a besieged broker.</summary>
public partial class ClientPagesTests
{
    [Fact]
    public async Task Until_set_up_is_finished_now_says_that_everything_is_open_and_what_to_tap()
    {
        await using var site = await Site.OpenAsync();
        (await site.WordsAsync("/")).Should().Contain("Everything is open").And.Contain("Finish set-up");

        (await site.SendAsync("/set-up?handler=Finish", await site.ReadAsync("/set-up"))).Status.Should().Be(HttpStatusCode.Found);
        (await site.WordsAsync("/")).Should().NotContain("Everything is open");
        site.Services.GetRequiredService<SensorDoor>().IsOpen.Should().BeFalse();

        (await site.SendAsync("/set-up?handler=Reopen", await site.ReadAsync("/set-up"))).Status.Should().Be(HttpStatusCode.Found);
        (await site.WordsAsync("/")).Should().Contain("Everything is open");
    }

    [Fact]
    public async Task A_sensor_gets_a_password_of_its_own_by_one_tap_and_it_is_shown_once()
    {
        await using var site = await Site.OpenAsync();
        await (await site.Services.GetRequiredService<Pipeline>()
            .OfferAsync(new Arrived("rootcellar/cellar/door/temperature_c", Encoding.UTF8.GetBytes("5"), WantsReceipt: true, Dup: false,
                Replay: false)));

        var made = await site.SendAsync("/sensors?handler=Password", await site.ReadAsync("/sensors"), ("key", "cellar/door"));

        made.Words.Should().Contain("The password of cellar/door, shown this once");
        var secret = Secret().Match(made.Html).Value;
        (await RightsAsync(site, secret))!.Should().Match<ClientRights>(r => r.Kind == ClientKind.Sensor && r.Sensor == "cellar/door");
        (await site.ReadAsync("/sensors")).Should().NotContain(secret);
        var setUp = await site.ReadAsync("/set-up");
        setUp.Should().NotContain(secret);
        Site.Words(setUp).Should().Contain("cellar/door · sensor · not used yet");

        var id = site.Services.GetRequiredService<SensorDoor>().Facts.Credentials.Single().Id;
        var renewed = await site.SendAsync("/set-up?handler=RenewClient", setUp, ("id", $"{id}"));
        var fresh = Secret().Match(renewed.Html[renewed.Html.IndexOf("shown this once", StringComparison.Ordinal)..]).Value;
        (await RightsAsync(site, secret)).Should().BeNull();
        (await RightsAsync(site, fresh)).Should().NotBeNull();
        (await site.SendAsync("/set-up?handler=RemoveClient", setUp, ("id", $"{id}"))).Status.Should().Be(HttpStatusCode.Found);
        (await RightsAsync(site, fresh)).Should().BeNull();
        (await site.SendAsync("/sensors?handler=Password", await site.ReadAsync("/sensors"), ("key", "cellar/nobody"))).Words.Should()
            .NotContain("shown this once");
    }

    [Fact]
    public async Task A_reader_gets_its_password_and_a_name_is_given_once()
    {
        await using var site = await Site.OpenAsync();
        var made = await site.SendAsync("/set-up?handler=Reader", await site.ReadAsync("/set-up"), ("name", " siren "));
        var secret = Secret().Match(made.Html[made.Html.IndexOf("shown this once", StringComparison.Ordinal)..]).Value;
        (await RightsAsync(site, secret))!.Kind.Should().Be(ClientKind.Reader);
        (await site.SendAsync("/set-up?handler=Reader", await site.ReadAsync("/set-up"), ("name", "siren"))).Words.Should()
            .Contain("There is a reader named 'siren' already");
        (await RightsAsync(site, secret)).Should().NotBeNull("the first one stands");
        (await site.SendAsync("/set-up?handler=Reader", await site.ReadAsync("/set-up"), ("name", ""))).Words.Should()
            .Contain("A name, please");
    }

    [Fact]
    public async Task A_short_sensor_password_of_before_holds_until_it_is_stopped_and_a_new_one_is_asked_for()
    {
        const string Short = "moss-oak-rain-seed";
        await using var site = await Site.OpenAsync(fill: store => store.WriteAsync(c => Meta.Set(c, Meta.SensorPassword, Short)));
        (await site.WordsAsync("/set-up")).Should().Contain("This password is a short one from before");
        (await RightsAsync(site, Short))!.IsGuessable.Should().BeTrue();

        await site.SendAsync("/set-up?handler=SensorPassword", await site.ReadAsync("/set-up"));
        var page = await site.WordsAsync("/set-up");
        page.Should().Contain("The old one still works: " + Short).And.NotContain("This password is a short one from before");
        (await RightsAsync(site, Short)).Should().NotBeNull("no sensor was told of the new one yet");
        (await RightsAsync(site, site.Services.GetRequiredService<SensorDoor>().Facts.Password!))!.IsGuessable.Should().BeFalse();

        await site.SendAsync("/set-up?handler=OldPassword", await site.ReadAsync("/set-up"));
        (await RightsAsync(site, Short)).Should().BeNull();
    }

    [Fact]
    public async Task What_the_broker_turned_away_is_one_line_for_each_reason()
    {
        await using var site = await Site.OpenAsync();
        (await site.WordsAsync("/sensors")).Should().NotContain("Turned away");
        var refusals = site.Services.GetRequiredService<Refusals>();
        for (var i = 0; i < 5_312; i++) refusals.Count(Refusal.Password, IPAddress.Parse("192.168.7.20"), "a guess");
        foreach (var reason in Enum.GetValues<Refusal>().Except([Refusal.Password])) refusals.Count(reason, IPAddress.Loopback, "once");

        var page = await site.WordsAsync("/sensors");
        page.Should().Contain("5312 tries to connect with a wrong password or none since").And.Contain("from 192.168.7.20.").And.Contain(
            "1 messages longer than 128 kB");
        Since().Count(page).Should().Be(Enum.GetValues<Refusal>().Length);
    }

    [Fact]
    public void The_copy_beside_the_record_knows_who_may_connect_on_the_day_the_record_is_damaged()
    {
        using var folder = new TempFolder();
        var facts = new DoorFacts(SensorSecret.New(), null, SetUpFinished: true,
            [new ClientCredential(1, ClientKind.Sensor, "cellar/door", SensorSecret.Hash("a"), Sample.At, Sample.At)]);
        new SetUpCopy([], [], [], Door: facts).Write(folder.Path);
        SetUpCopy.Read(folder.Path)!.Door.Should().BeEquivalentTo(facts);
    }

    private static async Task<ClientRights?> RightsAsync(Site site, string secret) =>
        (await site.Services.GetRequiredService<SensorDoor>()
            .AdmitAsync(secret, IPAddress.Parse("192.168.7.9"), "a", TestContext.Current.CancellationToken)).Rights;

    [GeneratedRegex("[2-9a-km-np-z]{4}(-[2-9a-km-np-z]{4}){3}", RegexOptions.ExplicitCapture, 5000)]
    private static partial Regex Secret();

    [GeneratedRegex(" since .{5,40}?, last .{5,40}?, from ", RegexOptions.None, 5000)]
    private static partial Regex Since();
}
