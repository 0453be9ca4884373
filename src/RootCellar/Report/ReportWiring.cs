using RootCellar.Diagnostics;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Report;

/// <summary>The wiring of this room.</summary>
internal static class ReportWiring
{
    public static void AddReport(this IServiceCollection services, string folder)
    {
        services.AddSingleton(new ReportTemplates(Path.Combine(folder, "templates")));
        services.AddSingleton<ReportMaker>().AddSingleton<ReportDesk>().AddSingleton<JobsNow>().AddSingleton<ComingDates>();
        services.AddSingleton(p =>
        {
            var (door, pipeline) = (p.GetRequiredService<LedgerDoor>(), p.GetRequiredService<Pipeline>());
            return new ReportClock(
                p.GetRequiredService<Store>(), p.GetRequiredService<ReportOptions>(), p.GetRequiredService<TellOptions>(),
                p.GetRequiredService<ReportMaker>(), () => door.Book, () => pipeline.Snapshot.Contacts,
                p.GetRequiredService<Outbox>(), p.GetRequiredService<TimeProvider>(), p.GetRequiredService<ILogger<ReportClock>>(),
                p.GetRequiredService<FailedWork>());
        });
        services.AddHostedService(p => p.GetRequiredService<ReportClock>());
    }
}
