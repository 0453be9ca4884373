using System.Net;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Storage;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>The nightly backup on its page, on Now and by the API.</summary>
public sealed class BackupPageTests : IDisposable
{
    private const string Address = "/set-up/backup";
    private readonly TempFolder stick = new();

    private string Folder => Path.Combine(stick.Path, "rootcellar");

    public void Dispose() => stick.Dispose();

    [Fact]
    public async Task The_household_says_where_and_sees_what_is_there()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        (await site.WordsAsync("/")).Should().Contain("Nothing is backed up: if the card dies, all is lost.").And.Contain("Set up a backup");
        var page = await site.ReadAsync(Address);

        var asked = await site.SendAsync(Address + "?handler=Save", page, ("folder", Folder));
        asked.Words.Should().Contain("is on the record's own card. If the card dies, the backups die too");
        asked.Html.Should().Contain($"id=\"folder\" name=\"folder\" value=\"{Folder}\"", "what was typed stays");
        (await site.SendAsync(Address + "?handler=Save", page, ("folder", "stick"))).Words.Should()
            .Contain("'stick' is not a whole path. Write /media/stick/rootcellar.");
        (await site.SendAsync(Address + "?handler=Save", page, ("folder", "/nowhere/at/all"))).Words.Should().Contain("There is no /nowhere/at/all");

        var saved = await site.SendAsync(Address + "?handler=Save", asked.Html, ("folder", Folder), ("sameCard", "true"));
        saved.Location.Should().Be(Address + "?done=on");
        (await site.WordsAsync(saved.Location!)).Should().Contain("Saved. A backup is made each night.").And.Contain("Last backup 2:00 am")
            .And.Contain("2 entries of the book, no readings").And.Contain("They help against a mistake, not against a dead card");
        (await site.WordsAsync("/")).Should().Contain("Last backup 2:00 am. It is on the record's own card.").And.NotContain("Nothing is backed up");
        Directory.GetFiles(Folder).Should().ContainSingle();

        site.Time.Advance(TimeSpan.FromMinutes(1));
        (await site.SendAsync(Address + "?handler=Now", page)).Location.Should().Be(Address + "?done=made");
        (await site.WordsAsync(Address + "?done=made")).Should().Contain("Backed up and read back.").And.Contain("Last backup 2:01 am");

        // The stick is taken out.
        Directory.Delete(Folder, recursive: true);
        await site.Services.GetRequiredService<Backups>().LookAsync(TestContext.Current.CancellationToken);
        (await site.WordsAsync("/")).Should().Contain("Back up the record.").And.Contain($"{Folder} is not there. Put the stick in the box.");
        (await site.ReadAsync("/health/ready")).Should().Contain("\"backup\":\"degraded\"");
        (await site.SendAsync(Address + "?handler=Now", page)).Location.Should().NotBeNull();
        (await site.WordsAsync(Address + "?done=made")).Should().NotContain("Backed up and read back.").And.Contain("Put the stick in the box.");

        (await site.SendAsync(Address + "?handler=Off", page)).Location.Should().Be(Address + "?done=off");
        (await site.WordsAsync("/")).Should().NotContain("Back up the record.");
    }

    [Fact]
    public async Task A_copy_to_take_away_wants_the_passphrase_and_is_a_whole_record()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var page = await site.ReadAsync(Address);
        (await site.SendAsync(Address + "?handler=Download", page, ("passphrase", "guess"))).Words.Should().Contain("That is not the passphrase.");

        var bytes = await DownloadAsync(site, page);
        File.WriteAllBytes(stick.File, bytes);
        using var box = new TempFolder();
        var (copied, _) = RecordCopy.Restore(stick.File, box.File, Sample.At);
        copied.Entries.Should().Be(2);
        Directory.GetFiles(site.Store.Folder, "*download*").Should().BeEmpty();
    }

    [Fact]
    public async Task What_the_installer_says_wins_and_programs_are_told_the_same()
    {
        Directory.CreateDirectory(Folder);
        await using var site = await Site.OpenAsync(change: s => (s.Backup.Folder, s.Backup.SameCard) = (Folder, true));
        await site.Services.GetRequiredService<Backups>().LookAsync(TestContext.Current.CancellationToken);
        (await site.WordsAsync(Address)).Should().Contain("set in the settings file").And.NotContain("Stop backing up");
        var page = await site.ReadAsync(Address);
        (await site.SendAsync(Address + "?handler=Save", page, ("folder", stick.Path))).Words.Should().Contain("it wins: change it there");
        (await site.PutAsync("/api/backup", """{"folder":null}""")).Status.Should().Be(HttpStatusCode.Conflict);

        using var told = JsonDocument.Parse(await site.ReadAsync("/api/backup"));
        told.RootElement.GetProperty("setBy").GetString().Should().Be("file");
        told.RootElement.GetProperty("copies").GetInt32().Should().Be(1);
        told.RootElement.GetProperty("trouble").ValueKind.Should().Be(JsonValueKind.Null);
        (await site.ReadAsync("/metrics")).Should().Contain("rootcellar_backup_age_seconds{} 0").And.Contain("rootcellar_backups_made_total{} 1");
    }

    [Fact]
    public async Task Metrics_are_of_this_house_alone_however_many_there_are_in_the_process()
    {
        Directory.CreateDirectory(Folder);
        await using var house = await Site.OpenAsync(change: s => (s.Backup.Folder, s.Backup.SameCard) = (Folder, true));
        await using var other = await Site.OpenAsync();
        await house.Services.GetRequiredService<Backups>().LookAsync(TestContext.Current.CancellationToken);

        foreach (var (site, age) in new[] { (other, "NaN"), (house, "0"), (other, "NaN") })
            (await site.ReadAsync("/metrics")).Split('\n').Where(l => l.StartsWith("rootcellar_backup_age_seconds{}", StringComparison.Ordinal))
                .Should().Equal("rootcellar_backup_age_seconds{} " + age);
    }

    [Fact]
    public async Task By_the_api_it_is_set_made_and_refused_with_what_would_be_right()
    {
        await using var site = await Site.OpenAsync();
        using (var none = await site.PostJsonAsync("/api/backup", "{}")) none.StatusCode.Should().Be(HttpStatusCode.Conflict);
        (await site.PutAsync("/api/backup", """{"folder":"stick"}""")).Html.Should().Contain("Right: /media/stick/rootcellar");
        (await site.PutAsync("/api/backup", JsonSerializer.Serialize(new { folder = Folder }))).Html.Should().Contain("sameCard: true");
        (await site.PutAsync("/api/backup", JsonSerializer.Serialize(new { folder = Folder, sameCard = true }))).Status.Should().Be(HttpStatusCode.OK);
        using (var made = await site.PostJsonAsync("/api/backup", "{}")) made.StatusCode.Should().Be(HttpStatusCode.OK);
        Directory.GetFiles(Folder).Should().ContainSingle();
        Directory.Delete(Folder, recursive: true);
        using var gone = await site.PostJsonAsync("/api/backup", "{}");
        gone.StatusCode.Should().Be(HttpStatusCode.ServiceUnavailable);
        (await gone.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)).Should().Contain("folder-missing").And.Contain(Folder);
    }

    [Fact]
    public async Task A_helper_sees_the_job_and_not_the_page()
    {
        await using var site = await Site.OpenAsync();
        using var sam = await Visitor.HelperAsync(site);
        (await sam.GetAsync(Address)).Status.Should().Be(HttpStatusCode.Forbidden);
        (await sam.GetAsync("/api/backup")).Status.Should().Be(HttpStatusCode.Forbidden);
    }

    private static async Task<byte[]> DownloadAsync(Site site, string page)
    {
        using var answer = await site.PostFormAsync(
            Address + "?handler=Download", page, ("passphrase", site.Passphrase));
        answer.StatusCode.Should().Be(HttpStatusCode.OK);
        answer.Content.Headers.ContentDisposition!.FileName.Should().StartWith("rootcellar-2025-10-04-");
        return await answer.Content.ReadAsByteArrayAsync(TestContext.Current.CancellationToken);
    }
}
