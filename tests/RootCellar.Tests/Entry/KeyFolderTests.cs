using System.Net;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Entry;

/// <summary>The keys that seal cookies, as a dying card leaves them: signing in goes on, and it is said.</summary>
public class KeyFolderTests
{
    public static TheoryData<string, Func<byte[], byte[]>> Damages => new()
    {
        { "garbage", whole => [.. whole.Select(b => (byte)(b ^ 0x5A))] },
        { "cut in the middle", whole => whole[..(whole.Length / 2)] },
        { "zero bytes", whole => new byte[whole.Length] },
        { "empty", _ => [] },
        { "its secret lost", whole => System.Text.Encoding.UTF8.GetBytes(
            Regex.Replace(System.Text.Encoding.UTF8.GetString(whole), "<value>[^<]*</value>", "<value></value>", RegexOptions.None,
                TimeSpan.FromSeconds(5))) },
        { "its secret no secret", whole => System.Text.Encoding.UTF8.GetBytes(
            Regex.Replace(System.Text.Encoding.UTF8.GetString(whole), "<value>[^<]*</value>", "<value>*not base64*</value>",
                RegexOptions.None, TimeSpan.FromSeconds(5))) },
        { "another file", _ => "<html><body>Not a key</body></html>"u8.ToArray() },
    };

    [Theory]
    [MemberData(nameof(Damages), DisableDiscoveryEnumeration = true)]
    public async Task A_damaged_key_is_set_aside_and_said_and_people_sign_in(string damage, Func<byte[], byte[]> how)
    {
        using var folder = new TempFolder();
        string passphrase, cookie;
        await using (var before = await Site.OpenAsync(record: folder))
        {
            passphrase = before.Passphrase;
            using var ann = await Visitor.HouseholdAsync(before);
            cookie = ann.Cookie("rootcellar")!;
        }

        var keys = Path.Combine(folder.Path, "keys");
        var file = Directory.GetFiles(keys, "*.xml").Should().ContainSingle().Which;
        if (!OperatingSystem.IsWindows()) File.GetUnixFileMode(file).Should().Be(UnixFileMode.UserRead | UnixFileMode.UserWrite);
        var bad = how(await File.ReadAllBytesAsync(file, TestContext.Current.CancellationToken));
        await File.WriteAllBytesAsync(file, bad, TestContext.Current.CancellationToken);

        // Opening signs in: no 500 there.
        await using (var site = await Site.OpenAsync(record: folder, known: passphrase))
        {
            using var old = new Visitor(site, cookie: $"rootcellar={cookie}");
            (await old.GetAsync("/")).Location.Should().Contain("/sign-in", damage);
            (await site.WordsAsync("/")).Should().Contain("A key file was damaged and is set aside as keys/");
            (await HealthAsync(site)).Should().Be(HealthStatus.Degraded);
            using var fresh = await Visitor.HouseholdAsync(site);
            (await fresh.GetAsync("/alarms")).Status.Should().Be(HttpStatusCode.OK);
        }

        var aside = Directory.GetFiles(keys, "*.bad").Should().ContainSingle().Which;
        (await File.ReadAllBytesAsync(aside, TestContext.Current.CancellationToken)).Should()
            .Equal(bad, "it is kept for whoever wants to look");
        await using var again = await Site.OpenAsync(record: folder, known: passphrase);
        (await again.WordsAsync("/")).Should().Contain("is set aside as keys/", "a restart does not hide it");
        File.Delete(aside);
        (await again.WordsAsync("/")).Should().NotContain("set aside");
        (await HealthAsync(again)).Should().Be(HealthStatus.Healthy);
    }

    [Fact]
    public async Task One_bad_key_beside_a_good_one_signs_nobody_out()
    {
        using var folder = new TempFolder();
        string passphrase, cookie;
        await using (var before = await Site.OpenAsync(record: folder))
        {
            passphrase = before.Passphrase;
            using var ann = await Visitor.HouseholdAsync(before);
            cookie = ann.Cookie("rootcellar")!;
        }

        await File.WriteAllTextAsync(Path.Combine(folder.Path, "keys", "key-old.xml"), "<key", TestContext.Current.CancellationToken);
        await using var site = await Site.OpenAsync(record: folder, known: passphrase);
        using var still = new Visitor(site, cookie: $"rootcellar={cookie}");
        (await still.GetAsync("/")).Words.Should().Contain("key-old.xml");
    }

    [Fact]
    public async Task Where_no_key_can_be_written_people_sign_in_until_the_next_start_and_are_told()
    {
        using var folder = new TempFolder();
        await File.WriteAllTextAsync(Path.Combine(folder.Path, "keys"), "a file where the folder should be",
            TestContext.Current.CancellationToken);
        await using var site = await Site.OpenAsync(record: folder);
        using var ann = await Visitor.HouseholdAsync(site);
        (await ann.GetAsync("/")).Words.Should().Contain("could not be written").And.Contain("after the next start");
        (await HealthAsync(site)).Should().Be(HealthStatus.Degraded);
    }

    private static async Task<HealthStatus> HealthAsync(Site site) =>
        (await site.Services.GetRequiredService<HealthCheckService>()
            .CheckHealthAsync(TestContext.Current.CancellationToken)).Entries["entry"].Status;
}
