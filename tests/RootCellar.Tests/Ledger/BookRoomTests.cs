using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Storage;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>A start survives a book of any size.</summary>
public sealed class BookRoomTests
{
    [Fact]
    public async Task A_book_there_is_no_room_for_leaves_the_watch_and_is_said()
    {
        using var folder = new TempFolder();
        var time = new HouseTime(Sample.At);
        await using var store = folder.Open(time);
        await FillAsync(store, 1_500);
        using var door = new LedgerDoor(store, time, new HouseholdOptions(), new LimitOptions(), NullLogger<LedgerDoor>.Instance)
        { Room = 1_000 };
        door.Load();
        door.Book.Entries.Should().BeEmpty();
        door.Trouble.Should().Match<BookTrouble>(t => t.Entries == 1_500 && t.Text.Contains("memory for 1000"));
        var write = () => door.TakeAsync(Bookkeeping.Read("""{"event":"eaten","bin":"B1","weightKg":1}""", Sample.At), null, "test");
        (await write.Should().ThrowAsync<StoreProblemException>()).Which.Message.Should().Contain("Nothing is lost");
        store.Text("SELECT count(*) FROM ledger").Should().Be("1500");
    }

    [Fact]
    public async Task A_full_book_is_refused_more_long_before_memory_ends()
    {
        using var folder = new TempFolder();
        var time = new HouseTime(Sample.At);
        await using var store = folder.Open(time);
        await FillAsync(store, 990);
        using var door = new LedgerDoor(store, time, new HouseholdOptions(), new LimitOptions(), NullLogger<LedgerDoor>.Instance)
        { Room = 1_000 };
        door.Load();
        var some = "[" + string.Join(',', Enumerable.Repeat("""{"event":"condition-seen","bin":"B1","what":"dry"}""", 10)) + "]";
        (await door.TakeAsync(Bookkeeping.Read(some, Sample.At), null, "test")).Should().BeOfType<LedgerAnswer.Kept>();
        var more = () => door.TakeAsync(Bookkeeping.Read("""{"event":"condition-seen","bin":"B1","what":"wet"}""", Sample.At), null,
            "test");
        await more.Should().ThrowAsync<BookFullException>();
    }

    internal static Task FillAsync(Store store, int count) => store.WriteAsync(c =>
    {
        foreach (var entry in BookProperties.ManyYears(count))
            LedgerRows.Add(c, new LedgerRow(entry, $"phone-{entry.Id:D8}", 0, $"{entry.Id:x32}"));
    });
}
