using System.Diagnostics;

namespace RootCellar.SystemTests.Running;

/// <summary>Bounded waiting for what another process will do; asks often, so that a test is no slower than the program.</summary>
public static class Eventually
{
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);
    private static readonly TimeSpan Between = TimeSpan.FromMilliseconds(25);

    /// <param name="details">Added to the failure: what a person needs to see.</param>
    public static async Task HoldsAsync(Func<Task<bool>> condition, string what, TimeSpan? timeout = null, Func<string>? details = null)
    {
        var watch = Stopwatch.StartNew();
        var limit = timeout ?? Patience;
        while (!await condition())
        {
            if (watch.Elapsed > limit) Assert.Fail($"Not within {limit.TotalSeconds:0} s: {what}.{Environment.NewLine}{details?.Invoke()}");
            await Task.Delay(Between, TestContext.Current.CancellationToken);
        }
    }

    public static Task HoldsAsync(Func<bool> condition, string what, TimeSpan? timeout = null, Func<string>? details = null) =>
        HoldsAsync(() => Task.FromResult(condition()), what, timeout, details);

    public static async Task<T> GivesAsync<T>(Func<Task<T?>> ask, string what, TimeSpan? timeout = null, Func<string>? details = null)
        where T : class
    {
        T? answer = null;
        await HoldsAsync(async () => (answer = await ask()) is not null, what, timeout, details);
        return answer!;
    }

    public static Task<T> GivesAsync<T>(Func<T?> ask, string what, TimeSpan? timeout = null, Func<string>? details = null)
        where T : class => GivesAsync(() => Task.FromResult(ask()), what, timeout, details);
}
