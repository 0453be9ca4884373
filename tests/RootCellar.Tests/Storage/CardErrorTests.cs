using Microsoft.Data.Sqlite;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Storage;

/// <summary>A card that gives back other bytes than it was given: noticed where the record is read, said at once, and nothing else stops.</summary>
public sealed class CardErrorTests
{
    [Fact]
    public async Task A_damaged_page_is_a_job_and_in_health_and_the_service_goes_on()
    {
        using var folder = new TempFolder();
        await using (var store = folder.Open(new HouseTime(Sample.At)))
        {
            await store.WriteAsync(c =>
            {
                SensorRows.Save(c, new SensorRow(1, "cellar/a", null, null, null, Sample.At, null));
                c.Execute(
                    """
                    WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < 99999)
                    INSERT INTO rollup (sensor, quantity, at_ms, low, mean, high, count) SELECT 1, 1, i * 300000, 4, 5, 6, 10 FROM n
                    """);
            });
        }

        // The record is one plain file now. Its last quarter is summaries alone.
        using (var file = new FileStream(folder.File, FileMode.Open, FileAccess.Write))
        {
            file.Position = file.Length / 4096 * 3 / 4 * 4096;
            var garbage = new byte[16 * 4096];
            Array.Fill(garbage, (byte)0xA5);
            file.Write(garbage);
        }

        await using var site = await Site.OpenAsync(record: folder);
        (await site.ReadAsync("/health/ready")).Should().Contain("\"card\":\"healthy\"");
        var reading = async () => await site.TryAsync("/api/export?what=summaries");
        await reading.Should().ThrowAsync<IOException>("what was begun and cannot be ended is broken off, not passed for whole");

        site.Store.CardErrors.Seen.Should().BeEquivalentTo(new { Damaged = true, Count = 1L, First = site.Time.GetUtcNow() });
        (await site.ReadAsync("/health/ready")).Should().Contain("\"card\":\"degraded\"");
        (await site.ReadAsync("/metrics")).Should().Contain("rootcellar_card_errors_total{} 1");
        (await site.WordsAsync("/")).Should().Contain("Back up now, then put in a new card.").And.Contain("Part of the record can't be read: 1 errors since");
        await site.FillAsync();
        site.Book.Entries.Should().HaveCount(2);
    }

    [Theory]
    [InlineData(10, true)]
    [InlineData(11, true)]
    [InlineData(26, true)]
    [InlineData(13, false)]
    [InlineData(5, false)]
    [InlineData(19, false)]
    public void Only_what_speaks_of_the_card_counts(int code, bool counts)
    {
        var errors = new CardErrors(new HouseTime(Sample.At));
        errors.Note(new SqliteException("said", code));
        (errors.Seen is not null).Should().Be(counts);
        CardErrors.IsOne(new SqliteException("said", code)).Should().Be(counts);
    }
}
