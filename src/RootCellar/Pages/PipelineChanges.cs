using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Storage;

namespace RootCellar.Pages;

/// <summary>Changes of the watch, asked for on a page.</summary>
internal static class PipelineChanges
{
    /// <param name="not">What is said where there is nothing to change.</param>
    /// <returns>Null: it is done. Else why it is not, or holds until a restart only.</returns>
    public static async Task<string?> ChangeAsync(this Pipeline pipeline, Func<LiveState, DateTimeOffset, TimeSpan, bool> change, string not,
        CancellationToken cancellationToken)
    {
        try
        {
            return await pipeline.AskAsync(change, cancellationToken) ? null : not;
        }
        catch (StoreProblemException e)
        {
            return Strings.UntilRestart.With(e.Message);
        }
    }
}
