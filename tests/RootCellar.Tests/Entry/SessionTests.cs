using System.Net;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Storage;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Entry;

/// <summary>A sign-in ends when it is ended, whoever has a copy of its cookie and whatever became of the record.</summary>
public class SessionTests
{
    private const string Session = "rootcellar";

    [Fact]
    public async Task A_copied_cookie_ends_at_sign_out_and_stays_ended_after_a_restart()
    {
        using var folder = new TempFolder();
        string copied, other, passphrase;
        await using (var site = await Site.OpenAsync(record: folder))
        {
            passphrase = site.Passphrase;
            using var ann = await Visitor.HouseholdAsync(site);
            using var bo = await Visitor.HouseholdAsync(site, "Bo");
            (copied, other) = (ann.Cookie(Session)!, bo.Cookie(Session)!);
            (await OpensAsync(site, copied)).Should().BeTrue("a copy is as good as the cookie while it holds");
            await ann.SendAsync("/sign-out", (await ann.GetAsync("/sign-out")).Html);
            (await OpensAsync(site, copied)).Should().BeFalse();
            (await OpensAsync(site, other)).Should().BeTrue();
        }

        await using (var again = await Site.OpenAsync(record: folder, known: passphrase))
        {
            (await OpensAsync(again, copied)).Should().BeFalse();
            (await OpensAsync(again, other)).Should().BeTrue();
            // As a backup from before the sign-out would bring it back.
            await again.Store.WriteAsync(c => c.Execute("DELETE FROM ended_session"));
        }

        await using var restored = await Site.OpenAsync(record: folder, known: passphrase);
        (await OpensAsync(restored, copied)).Should().BeFalse();
    }

    [Fact]
    public async Task With_a_damaged_record_helpers_stay_out_and_the_household_comes_in_as_ever()
    {
        using var folder = new TempFolder();
        string removed, helper, ended, household, passphrase;
        await using (var site = await Site.OpenAsync(record: folder))
        {
            passphrase = site.Passphrase;
            using var sam = await Visitor.HelperAsync(site);
            using var kim = await Visitor.HelperAsync(site, "Kim", "559013");
            using var ann = await Visitor.HouseholdAsync(site);
            using var bo = await Visitor.HouseholdAsync(site, "Bo");
            (removed, helper, household, ended) = (sam.Cookie(Session)!, kim.Cookie(Session)!, ann.Cookie(Session)!, bo.Cookie(Session)!);
            await bo.SendAsync("/sign-out", (await bo.GetAsync("/sign-out")).Html);
            (await ann.SendAsync("/set-up?handler=RemoveHelper", (await ann.GetAsync("/set-up")).Html, ("id", "1"))).Status.Should()
                .Be(HttpStatusCode.Found);
            (await OpensAsync(site, removed)).Should().BeFalse();
            (await OpensAsync(site, helper)).Should().BeTrue();
        }

        SqliteConnection.ClearAllPools();
        foreach (var side in new[] { "-wal", "-shm" }) File.Delete(folder.File + side);
        await File.WriteAllBytesAsync(folder.File, [.. Enumerable.Repeat((byte)0xEE, 100_000)], TestContext.Current.CancellationToken);

        await using var damaged = await Site.OpenAsync(record: folder, known: passphrase);
        damaged.Store.StartProblem.Should().NotBeNull();
        (await OpensAsync(damaged, removed)).Should().BeFalse("a helper who was removed");
        (await OpensAsync(damaged, helper)).Should().BeFalse("whether a helper was removed is not known now");
        (await OpensAsync(damaged, ended)).Should().BeFalse("who signed out");
        (await OpensAsync(damaged, household)).Should().BeTrue();
        using var fresh = await Visitor.HouseholdAsync(damaged);
        (await fresh.GetAsync("/alarms")).Status.Should().Be(HttpStatusCode.OK);
    }

    [Fact]
    public async Task A_copy_that_cannot_be_read_lets_nobody_in_by_an_old_cookie()
    {
        using var folder = new TempFolder();
        string household;
        await using (var site = await Site.OpenAsync(record: folder))
        {
            using var ann = await Visitor.HouseholdAsync(site);
            household = ann.Cookie(Session)!;
        }

        SqliteConnection.ClearAllPools();
        foreach (var side in new[] { "-wal", "-shm" }) File.Delete(folder.File + side);
        await File.WriteAllTextAsync(folder.File, "no record", TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(Path.Combine(folder.Path, "entry-copy.json"), "{\"passphraseHash\":",
            TestContext.Current.CancellationToken);
        await using var damaged = await Site.OpenAsync(record: folder);
        (await OpensAsync(damaged, household)).Should().BeFalse();
    }

    [Fact]
    public async Task The_copy_beside_the_record_is_for_its_owner_only()
    {
        using var folder = new TempFolder();
        await using (await Site.OpenAsync(record: folder))
        {
        }

        if (!OperatingSystem.IsWindows())
            File.GetUnixFileMode(Path.Combine(folder.Path, "entry-copy.json")).Should().Be(UnixFileMode.UserRead | UnixFileMode.UserWrite);
    }

    private static async Task<bool> OpensAsync(Site site, string cookie)
    {
        using var thief = new Visitor(site, cookie: $"{Session}={cookie}");
        return (await thief.GetAsync("/alarms")).Status == HttpStatusCode.OK;
    }
}
