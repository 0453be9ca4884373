using System.Globalization;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;

namespace RootCellar.Lots;

/// <summary>A bin is brought to a place whose air harms what is in it: the door of the book asks.</summary>
internal static class HarmAsked
{
    /// <summary>What was written down for longer ago than this is not asked about: the air of now says nothing of then.</summary>
    private static readonly TimeSpan Recent = TimeSpan.FromDays(1);

    /// <summary>Null where nothing is known to speak against it.</summary>
    public static Question? Of(LedgerEvent brought, LedgerEntry entry, Book book, SuitingPlaces storage, DateTimeOffset now)
    {
        IEnumerable<(string Bin, string? Place)> all = brought switch
        {
            Moved moved => [(moved.Bin, moved.Place)],
            Filled filled => [(filled.Bin, filled.Place)],
            Sorted sorted => sorted.Into.Select(i => (i.Bin, i.Place)),
            _ => [],
        };
        return all.Select(b => Of(b.Bin, b.Place, entry, book, storage, now)).FirstOrDefault(q => q is not null);
    }

    private static Question? Of(string bin, string? place, LedgerEntry entry, Book book, SuitingPlaces storage, DateTimeOffset now)
    {
        if (place is null || now - entry.At > Recent || !book.Bins.TryGetValue(bin, out var there) || there.Place != place
            || book.Lots[there.Lot].Known is not { } crop || storage.HarmingC(place, crop) is not { } airC)
            return null;
        var suits = storage.KnownToSuit(crop);
        var below = crop.ChillingBelowC ?? crop.FreezingPointC;
        string other = suits is { } s
            ? string.Create(CultureInfo.InvariantCulture, $" {s.Place.Id} ({s.Air.TemperatureC:0.#} C) suits it.") : "";
        return Question.Of(
            QuestionCode.WouldHarm,
            string.Create(CultureInfo.InvariantCulture,
                $"{crop.Name} is harmed below {below:0.#} C, and {place} is at {airC:0.#} C.{other} Is {place} right?"),
            new { bin, place, crop = crop.Id, belowC = below, airC, suits = suits?.Place.Id, suitsC = suits?.Air.TemperatureC });
    }
}
