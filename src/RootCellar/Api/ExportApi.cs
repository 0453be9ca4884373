using System.ComponentModel;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using Microsoft.AspNetCore.Server.Kestrel.Core.Features;
using RootCellar.Ledger;
using RootCellar.Report;
using RootCellar.Storage;

namespace RootCellar.Api;

/// <summary>Everything in the record as CSV, for any time, row by row as it is read.</summary>
internal static class ExportApi
{
    // Each reads the record as of one moment, and the record's log grows until it is done: few at once, and none that dawdles (assumed).
    private static readonly SemaphoreSlim Few = new(2);
    private static readonly MinDataRate NotSlower = new(bytesPerSecond: 20_000, gracePeriod: TimeSpan.FromSeconds(30));

    public static void Map(RouteGroupBuilder group) => group.MapGet("export", Export)
        .WithName("export").WithSummary("Everything in the record as CSV, in SI, for any time.")
        .WithDescription(
            "Readings are as they came for as long as Keep:RawDays says; of the time before, summaries holds the lowest, mean and highest of each five minutes.")
        .Produces<string>(StatusCodes.Status200OK, "text/csv");

    private static IResult Export(
        [Description("readings, air, summaries, alarms, ledger or estimates.")] string? what,
        string? from,
        string? to,
        [FromQuery(Name = "for"), Description("spreadsheet (no cell is a formula; the default) or import (every cell exactly as it is kept).")] string? use,
        HttpContext context,
        LedgerDoor door,
        Store store)
    {
        if (what is null || !RecordCsv.Kinds.Contains(what, StringComparer.Ordinal))
            return ApiRoutes.Wrong($"what: '{what}' is not one of {string.Join(", ", RecordCsv.Kinds)}.");
        if (use is not (null or "" or "spreadsheet" or "import")) return ApiRoutes.Wrong($"for: '{use}' is not one of spreadsheet, import.");
        if (ApiRoutes.Time(door.Calendar, nameof(from), from, DateTimeOffset.UnixEpoch, out var start) is { } notFrom) return notFrom;
        if (ApiRoutes.Time(door.Calendar, nameof(to), to, DateTimeOffset.MaxValue, out var end) is { } notTo) return notTo;
        if (end <= start) return ApiRoutes.Wrong("from must be before to.");
        // The writer of CSV knows no other way, and a thread that waits for a slow reader holds no memory.
        context.Features.Get<IHttpBodyControlFeature>()!.AllowSynchronousIO = true;
        if (context.Features.Get<IHttpMinResponseDataRateFeature>() is { } rate) rate.MinDataRate = NotSlower;
        var meant = use == "import" ? CsvFor.Import : CsvFor.Spreadsheet;
        return Results.Stream(
            async body =>
            {
                await Few.WaitAsync(context.RequestAborted);
                try
                {
                    await Task.Factory.StartNew(Write, CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default);
                }
                finally
                {
                    Few.Release();
                }

                void Write()
                {
                    using var output = new StreamWriter(body, bufferSize: 1 << 16, leaveOpen: true);
                    store.Read(connection =>
                    {
                        RecordCsv.Export(what, connection, door.Calendar, output, start, end, meant);
                        return true;
                    });
                }
            },
            "text/csv; charset=utf-8",
            $"rootcellar-{what}.csv");
    }
}
