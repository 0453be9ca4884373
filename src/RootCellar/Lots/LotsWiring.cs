using RootCellar.Diagnostics;
using RootCellar.Ledger;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Lots;

/// <summary>The wiring of this room.</summary>
internal static class LotsWiring
{
    public static void AddLots(this IServiceCollection services)
    {
        services.AddSingleton(p =>
        {
            var door = p.GetRequiredService<LedgerDoor>();
            var keeper = new LotKeeper(
                p.GetRequiredService<Store>(), () => door.Book, p.GetRequiredService<Announcements>(), p.GetRequiredService<TimeProvider>(),
                p.GetRequiredService<ILogger<LotKeeper>>());
            // From when the book changed need not be said: kept states are named by what was folded.
            door.BookChanged += (_, _) => keeper.Call();
            door.AskBeyond = (entry, book) => keeper.Views.Ask(entry, book);
            return keeper;
        });
        services.AddSingleton(p =>
        {
            var door = p.GetRequiredService<LedgerDoor>();
            return new LotHistory(p.GetRequiredService<LotKeeper>(), p.GetRequiredService<Store>(), () => door.Book,
                p.GetRequiredService<ILogger<LotHistory>>());
        });
        services.AddSingleton<StockNow>().AddSingleton<AheadNow>().AddSingleton<AheadWords>();
        services.AddSingleton<IRoomMetrics, EstimatesMetrics>();
        services.AddHealthChecks().AddCheck<EstimatesCheck>("estimates");
        services.AddHostedService(p => p.GetRequiredService<LotKeeper>());
    }
}
