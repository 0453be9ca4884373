using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

/// <summary>Which backups stay.</summary>
public sealed class BackupFileTests
{
    private static readonly BackupOptions Keep = new();

    [Fact]
    public void After_a_year_of_nights_there_are_seven_days_four_weeks_and_twelve_months()
    {
        var kept = Nights(new DateTime(2026, 1, 1, 3, 10, 0), 400);

        // Sunday, 4 Feb 2027 minus 400 days: the newest of each day, of each week (its Sunday, the last one's newest), of each month.
        kept.Should().HaveCountLessThanOrEqualTo(7 + 4 + 12);
        var last = kept[0].Made.Date;
        last.Should().Be(new DateTime(2027, 2, 4));
        kept.Take(7).Select(f => f.Made.Date).Should().Equal(Enumerable.Range(0, 7).Select(d => last.AddDays(-d)));
        kept.Select(f => f.Made.Date).Should().Contain([new(2027, 1, 31), new(2027, 1, 24), new(2027, 1, 17)], "Sundays end weeks (ISO 8601)");
        kept.Where(f => f.Made.Date < new DateTime(2027, 1, 1)).Should().OnlyContain(
            f => f.Made.Day == DateTime.DaysInMonth(f.Made.Year, f.Made.Month), "older than the weeks only the last of a month is left");
        kept.Select(f => f.Made.Month).Distinct().Should().HaveCount(12);
        kept[^1].Made.Date.Should().Be(new DateTime(2026, 3, 31));
    }

    [Fact]
    public void Of_many_a_day_the_newest_stays_and_of_few_days_all()
    {
        BackupFile[] some = [Of("20261130-120000"), Of("20261130-031000"), Of("20261129-031000"), Of("20261101-031000")];
        BackupFile.Superfluous(some, Keep).Should().Equal(some[1]);
        BackupFile.Superfluous([some[0]], new BackupOptions { Daily = 1, Weekly = 0, Monthly = 0 }).Should().BeEmpty();
    }

    [Fact]
    public void A_clock_that_was_a_year_ahead_for_a_night_takes_no_other_backup_away()
    {
        List<BackupFile> all = [.. Nights(new DateTime(2026, 9, 1, 3, 10, 0), 60)];
        var before = all.ToList();
        all.Insert(0, Of("20271031-031000"));
        // It takes the place of one day, one week and one month at most, and those that go are the oldest of their kind.
        BackupFile.Superfluous(all, Keep).Should().HaveCountLessThanOrEqualTo(2);
        before.Take(6).Should().NotContain(f => BackupFile.Superfluous(all, Keep).Contains(f));
        // A clock that was back at 1970: the one it made may go, the others stay.
        before.Add(Of("19700101-000005"));
        BackupFile.Superfluous(before, Keep).Should().BeSubsetOf([before[^1]]);
    }

    [Theory]
    [InlineData("rootcellar-3fa2c1-20261130-031000.db", true)]
    [InlineData("rootcellar-2026-11-28.db", false)]
    [InlineData("rootcellar-3fa2c1-20261130-031000.db.part", false)]
    [InlineData("rootcellar-3FA2C1-20261130-031000.db", false)]
    [InlineData("rootcellar-3fa2c1-20261340-031000.db", false)]
    [InlineData("photo.db", false)]
    public void Only_what_it_made_itself_is_its_to_take_away(string name, bool its) => (BackupFile.Read(name) is not null).Should().Be(its);

    private static List<BackupFile> Nights(DateTime first, int count)
    {
        var all = new List<BackupFile>();
        for (var night = 0; night < count; night++)
        {
            all.Insert(0, Of(first.AddDays(night).ToString("yyyyMMdd-HHmmss")));
            all = [.. all.Except(BackupFile.Superfluous(all, Keep))];
        }

        return all;
    }

    private static BackupFile Of(string stamp) => BackupFile.Read($"rootcellar-3fa2c1-{stamp}.db")!;
}
