using RootCellar.Monitoring;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>What the pages say while the service runs without its record.</summary>
public sealed class LostRecordPageTests
{
    [Theory]
    [InlineData(true, "Alarms are still watched for and sent.")]
    [InlineData(false, "The copy of the set-up is gone too: no room is watched and nobody is texted until then.")]
    public async Task A_lost_record_is_said_at_the_top_of_the_page_with_what_goes_on(bool copy, string expected)
    {
        using var folder = new TempFolder();
        await File.WriteAllTextAsync(folder.File + "-wal", "the last days", TestContext.Current.CancellationToken);
        if (copy) new SetUpCopy([], [], []).Write(folder.Path);
        await using (var site = await Site.OpenAsync(record: folder))
        {
            var page = System.Net.WebUtility.HtmlDecode(await site.ReadAsync("/"));
            page.Should().Contain($"The record {folder.File} is missing, but there was one").And.Contain("restore FILE").And.Contain(
                expected);
        }

        (await File.ReadAllTextAsync(folder.File + "-wal", TestContext.Current.CancellationToken)).Should().Be("the last days");
        File.Exists(folder.File).Should().BeFalse();
        File.Exists(Path.Combine(folder.Path, SetUpCopy.Name)).Should()
            .Be(copy, "without its record the service leaves the copy alone too");
    }
}
