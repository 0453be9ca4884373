using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Storage;

/// <summary>An error of the card under the record.</summary>
/// <param name="Count">How many there were since the start.</param>
/// <param name="Damaged">A page of the record does not hold what it must; else the card did not read or write.</param>
internal sealed record CardError(DateTimeOffset First, DateTimeOffset Last, long Count, bool Damaged, string Message);

/// <summary>
/// Errors of the card, noticed wherever the record is read or written. A card that fails once fails again, so what was seen stays said until
/// the next start. Safe from any thread.
/// </summary>
internal sealed class CardErrors(TimeProvider time)
{
    private readonly Lock one = new();
    private volatile CardError? seen;

    /// <summary>What was seen since the start; null while nothing was.</summary>
    public CardError? Seen => seen;

    /// <summary>Whether it speaks of the card: SQLITE_IOERR, SQLITE_CORRUPT, SQLITE_NOTADB.</summary>
    public static bool IsOne(SqliteException e) => e.SqliteErrorCode is 10 or 11 or 26;

    public void Note(SqliteException e)
    {
        if (IsOne(e)) Note(e.SqliteErrorCode is not 10, e.Message);
    }

    public void Note(IOException e) => Note(damaged: false, e.Message);

    private void Note(bool damaged, string message)
    {
        var now = time.GetUtcNow();
        lock (one) seen = new CardError(seen?.First ?? now, now, (seen?.Count ?? 0) + 1, damaged || seen?.Damaged == true, message);
    }
}

/// <summary>Degraded from the first error of the card on.</summary>
internal sealed class CardCheck(Store store) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(store.CardErrors.Seen is { } seen
            ? HealthCheckResult.Degraded($"The card under the record gave {seen.Count} errors, the last: {seen.Message}")
            : HealthCheckResult.Healthy());
}
