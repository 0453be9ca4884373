using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>What a book takes of memory, while nothing else takes any.</summary>
[Collection(Alone.Name)]
public sealed class BookMemoryTests
{
    [Fact]
    public async Task An_entry_takes_no_more_memory_than_the_room_is_reckoned_by()
    {
        const int count = 50_000;
        using var folder = new TempFolder();
        await using var store = folder.Open(new HouseTime(Sample.At));
        await BookRoomTests.FillAsync(store, count);
        using var door = new LedgerDoor(store, new HouseTime(Sample.At), new HouseholdOptions(), new LimitOptions(),
            NullLogger<LedgerDoor>.Instance);
        var before = GC.GetTotalMemory(forceFullCollection: true);
        door.Load();
        var one = (GC.GetTotalMemory(forceFullCollection: true) - before) / count;
        // With the next entry it is made anew, beside the one that is still read.
        var next = BookBuilder.With(door.Book, []);
        var both = (GC.GetTotalMemory(forceFullCollection: true) - before) / count;
        TestContext.Current.TestOutputHelper!.WriteLine($"{one} bytes an entry, with the next book beside it {both}");
        door.Book.Entries.Count.Should().Be(count).And.Be(next.Entries.Count);
        // Half as much again is used while it is read and made.
        (both * 3 / 2).Should().BeLessThan(BookRoom.BytesPerEntry);
    }
}

/// <summary>Tests that measure the memory of the whole process run when no other does.</summary>
[CollectionDefinition(Name, DisableParallelization = true)]
public sealed class Alone
{
    public const string Name = "alone";
}
