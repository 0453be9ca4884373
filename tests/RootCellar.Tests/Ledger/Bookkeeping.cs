using System.Text.Json;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>A door with a real record behind it, on 4 October 2025 and after.</summary>
internal sealed class Bookkeeping : IAsyncDisposable
{
    public Bookkeeping() => Open();

    public TempFolder Folder { get; } = new();

    public HouseTime Time { get; } = new(Sample.At);

    public Store Store { get; private set; } = null!;

    public LedgerDoor Door { get; private set; } = null!;

    public Book Book => Door.Book;

    /// <summary>100 kg of potatoes dug as lot R1, 20 kg of them in bin B1 and 30 kg in B2, both in the curing room.</summary>
    public static async Task<Bookkeeping> WithTwoBinsAsync()
    {
        var books = new Bookkeeping();
        await books.KeepAsync(
            """
            [{"event":"dug","at":"2025-10-01T08:00:00Z","lot":"R1","crop":"potato","variety":"Kennebec","weightKg":100},
             {"event":"filled","at":"2025-10-01T09:00:00Z","bin":"B1","lot":"R1","weightKg":20,"grade":"table","place":"curing"},
             {"event":"filled","at":"2025-10-01T10:00:00Z","bin":"B2","lot":"R1","weightKg":30,"place":"curing"}]
            """);
        return books;
    }

    public static JsonElement Parse(string json)
    {
        using var document = JsonDocument.Parse(json);
        return document.RootElement.Clone();
    }

    public static Recorded Recorded(LedgerEntry entry) => RootCellar.Ledger.Recorded.Of(entry);

    public static IReadOnlyList<NewEntry> Read(string json, DateTimeOffset now)
    {
        var sent = Parse(json);
        return [.. (sent.ValueKind == JsonValueKind.Array ? sent.EnumerateArray() : Enumerable.Repeat(sent, 1)).Select(e =>
            EventReader.Read(e, now, out var wrong) ?? throw new InvalidOperationException(wrong))];
    }

    public Task<LedgerAnswer> TakeAsync(string json, string? key = null) => Door.TakeAsync(Read(json, Door.Now), key, "test");

    /// <summary>Takes, and it must be kept.</summary>
    public async Task<IReadOnlyList<LedgerEntry>> KeepAsync(string json, string? key = null) =>
        (await TakeAsync(json, key)).Should().BeOfType<LedgerAnswer.Kept>(json).Which.Entries;

    /// <summary>Takes, and it must be asked about, with nothing kept.</summary>
    public async Task<string> AskedAsync(string json)
    {
        var before = Book.Entries.Count;
        var asked = (await TakeAsync(json)).Should().BeOfType<LedgerAnswer.Asked>(json).Which.Questions;
        Book.Entries.Count.Should().Be(before);
        Store.Text("SELECT count(*) FROM ledger").Should().Be($"{before}");
        return asked[0].Question;
    }

    public async Task RestartAsync()
    {
        Door.Dispose();
        await Store.DisposeAsync();
        Open();
    }

    public async ValueTask DisposeAsync()
    {
        Door.Dispose();
        await Store.DisposeAsync();
        Folder.Dispose();
    }

    private void Open()
    {
        Store = Folder.Open(Time);
        Door = new LedgerDoor(Store, Time, new HouseholdOptions { TimeZone = "UTC" }, new LimitOptions(), NullLogger<LedgerDoor>.Instance);
        Door.Load();
    }
}
