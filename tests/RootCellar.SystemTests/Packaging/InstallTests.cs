using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Packaging;

/// <summary>
/// The Debian package and the archive on a machine that is thrown away, by dpkg and systemd themselves: installed, used, brought forward with
/// what it holds, refused where a newer version wrote the record, removed and purged.
/// </summary>
public sealed class InstallTests(ITestOutputHelper output)
{
    private const string Old = "0.0.9";
    private const string New = "0.1.0";

    /// <summary>Where SQLite keeps the number of the schema; 99 is newer than any.</summary>
    private const string AsOfTheFuture = @"printf '\000\000\000\143' | dd of=/var/lib/rootcellar/rootcellar.db bs=1 seek=60 conv=notrunc status=none";

    [Fact]
    public async Task The_package_is_installed_brought_forward_held_back_removed_and_purged_as_a_household_would()
    {
        await using var gateway = await Gateway.StartAsync();
        await using var machine = await InstalledMachine.StartAsync(
            output, $"ROOTCELLAR__Watch__OnDelaySeconds=0 ROOTCELLAR__Tell__Post__Url={gateway.Url}", await BuiltPackages.OfAsync(Old),
            await BuiltPackages.OfAsync(New));
        var arch = await BuiltPackages.ArchitectureAsync();

        // Installed: it runs at once, under its own user and its unit, and on port 80 as well.
        output.WriteLine(await machine.DoneAsync($"dpkg -i rootcellar_{Old}_{arch}.deb"));
        (await machine.StateAsync()).Should().Be("active");
        (await machine.DoneAsync("systemctl is-enabled rootcellar.service rootcellar.socket")).Should().Be("enabled\nenabled");
        (await machine.DoneAsync("stat -c '%a %U:%G' /etc/rootcellar /etc/rootcellar/rootcellar.json")).Should()
            .Be("750 root:rootcellar\n640 root:rootcellar");
        (await machine.DoneAsync("rootcellar check")).Should().Contain("All well.").And.NotContain("no rootcellar.json there");
        (await machine.DoneAsync("rootcellar --version")).Should().MatchRegex(@"^\d+\.\d+\.\d+.*\+[0-9a-f]{40}$");
        await machine.KnowAsync();
        (await machine.GetAsync("/health/ready")).Should().Contain("\"status\":\"healthy\"");
        (await machine.Api.GetStringAsync(new Uri(machine.ByTheSocket, "/health/ready"), TestContext.Current.CancellationToken)).Should()
            .Contain("\"status\":\"healthy\"");

        // Used, under exactly this unit.
        await machine.PostAsync("/api/places", $$"""{"place":"{{Air.CuringRoom}}","name":"Curing room","purpose":"curing"}""");
        await machine.PostAsync("/api/contacts", """{"name":"Nell","channel":"post","address":"+15550142"}""");
        await PublishAsync(machine, Air.Right, Air.TooWarm);
        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 1, "the text is told");
        (await machine.GetAsync($"/api/places/{Air.CuringRoom}/air")).Should().NotBeEmpty();
        await machine.DoneAsync("rootcellar backup /run/copy.db");
        var modes = await machine.DoneAsync(
            "stat -c '%a %U %n' /var/lib/rootcellar /var/lib/rootcellar/rootcellar.db* /var/lib/rootcellar/rootcellar.lock /var/lib/rootcellar/keys");
        modes.Split('\n').Should().OnlyContain(
            l => l.StartsWith("600 rootcellar ", StringComparison.Ordinal) || l.StartsWith("700 rootcellar ", StringComparison.Ordinal));
        await machine.DoneAsync("systemctl stop rootcellar");
        (await machine.DoneAsync("systemctl show rootcellar -p Result -p NRestarts")).Split('\n').Should().BeEquivalentTo("Result=success",
            "NRestarts=0");
        // Stopped is stopped, whoever asks on port 80.
        var asked = () => machine.Api.GetStringAsync(new Uri(machine.ByTheSocket, "/"), TestContext.Current.CancellationToken);
        await asked.Should().ThrowAsync<HttpRequestException>();
        (await machine.StateAsync()).Should().Be("inactive");
        // What root left in the folder does not lock the service out.
        await machine.DoneAsync("chown root:root /var/lib/rootcellar/rootcellar.lock && systemctl start rootcellar");

        // Brought forward: stopped, replaced and started, with all it held.
        await machine.DoneAsync($"dpkg -i rootcellar_{New}_{arch}.deb");
        (await machine.StateAsync()).Should().Be("active");
        (await machine.GetAsync("/api/places")).Should().Contain("Curing room");
        await PublishAsync(machine, Air.Right);

        // Held back: a record that a newer version wrote is not given to this one, and nothing is changed.
        await machine.DoneAsync("systemctl stop rootcellar && " + AsOfTheFuture);
        var before = await machine.DoneAsync("md5sum /var/lib/rootcellar/rootcellar.db");
        var refused = await machine.RunAsync($"dpkg -i rootcellar_{Old}_{arch}.deb");
        refused.Exit.Should().NotBe(0);
        refused.Error.Should().Contain("has schema 99, and this version knows up to").And.Contain("Install that one again");
        (await machine.DoneAsync("dpkg-query -W -f '${Version} ${Status}' rootcellar")).Should().Be($"{New} install ok installed");
        await machine.RunAsync("systemctl stop rootcellar");
        (await machine.DoneAsync("md5sum /var/lib/rootcellar/rootcellar.db")).Should().Be(before);

        // A record of an earlier schema is copied before it is brought forward.
        await machine.DoneAsync(
            "rm -f /var/lib/rootcellar/rootcellar.db* && install -m 600 first-version.db /var/lib/rootcellar/rootcellar.db");
        await machine.DoneAsync($"dpkg -i rootcellar_{New}_{arch}.deb");
        (await machine.StateAsync()).Should().Be("active");
        (await machine.DoneAsync("cd /var/lib/rootcellar && stat -c '%a %U' rootcellar.db.schema* && od -An -N4 -j60 -tu1 rootcellar.db.schema*"))
            .Should().MatchRegex(@"^600 rootcellar\n +0 +0 +0 +1$");

        // Removed, the record stays; purged, nothing does.
        (await machine.DoneAsync("dpkg -r rootcellar")).Should().Contain("the record stays in /var/lib/rootcellar");
        (await machine.RunAsync("systemctl is-active rootcellar")).Exit.Should().NotBe(0);
        await machine.DoneAsync("test -s /var/lib/rootcellar/rootcellar.db && test -s /etc/rootcellar/rootcellar.json");
        await machine.DoneAsync("dpkg -P rootcellar");
        (await machine.RunAsync("ls -d /var/lib/rootcellar /etc/rootcellar /usr/lib/rootcellar /usr/bin/rootcellar")).Out.Should().BeEmpty();
        (await machine.RunAsync("getent passwd rootcellar")).Out.Should().BeEmpty();

        await TheArchiveAsync(machine, arch);
    }

    /// <summary>The same, shorter, of the archive on the machine that has nothing of it any more.</summary>
    private static async Task TheArchiveAsync(InstalledMachine machine, string arch)
    {
        await machine.DoneAsync($"for v in {Old} {New}; do tar xzf rootcellar-$v-linux-{arch}.tar.gz; done");
        var (old, now) = ($"./rootcellar-{Old}-linux-{arch}/install", $"./rootcellar-{New}-linux-{arch}/install");
        (await machine.DoneAsync(old)).Should().Contain($"{Old} runs.");
        (await machine.StateAsync()).Should().Be("active");
        await machine.KnowAsync();
        await machine.PostAsync("/api/places", $$"""{"place":"{{Air.CuringRoom}}","name":"Curing room","purpose":"curing"}""");

        (await machine.DoneAsync(now)).Should().Contain($"{New} runs.");
        (await machine.GetAsync("/api/places")).Should().Contain("Curing room");

        await machine.DoneAsync("systemctl stop rootcellar && " + AsOfTheFuture);
        var refused = await machine.RunAsync(old);
        refused.Exit.Should().Be(1);
        refused.Error.Should().Contain("has schema 99");
        (await machine.DoneAsync($"grep -l '{New}' /usr/local/lib/rootcellar/VERSION")).Should().NotBeEmpty();

        (await machine.DoneAsync($"{now} --remove")).Should().Contain("the record stays in /var/lib/rootcellar");
        await machine.DoneAsync("test -s /var/lib/rootcellar/rootcellar.db && ! test -e /usr/local/bin/rootcellar");
        await machine.DoneAsync($"{now} --purge");
        (await machine.RunAsync("ls -d /var/lib/rootcellar /etc/rootcellar /usr/local/lib/rootcellar")).Out.Should().BeEmpty();
    }

    private static async Task PublishAsync(InstalledMachine machine, params string[] payloads)
    {
        using var publisher = new Publisher(machine.Mqtt, "door");
        await publisher.ConnectAsync(TestContext.Current.CancellationToken);
        foreach (var (payload, number) in payloads.Select((p, n) => (p, n)))
            (await publisher.PublishAsync($"rootcellar/{Air.CuringRoom}/door", payload, $"{number}",
                TestContext.Current.CancellationToken)).Kept.Should().BeTrue();
    }
}
