// The tests are written for xunit v3. What of it they use and xunit v2 lacks.
global using Xunit.Abstractions;

namespace Xunit
{
    internal sealed class TestContext
    {
        public static TestContext Current { get; } = new();

        public CancellationToken CancellationToken => CancellationToken.None;

        public ITestOutputHelper? TestOutputHelper { get; } = new Nowhere();

        private sealed class Nowhere : ITestOutputHelper
        {
            public void WriteLine(string message)
            {
            }

            public void WriteLine(string format, params object[] args)
            {
            }
        }
    }
}

namespace RootCellar
{
    /// <summary>Of xunit v3, passed on to xunit v2.</summary>
    internal interface IAsyncLifetime : Xunit.IAsyncLifetime, IAsyncDisposable
    {
        new ValueTask InitializeAsync();

        async Task Xunit.IAsyncLifetime.InitializeAsync() => await InitializeAsync();

        async Task Xunit.IAsyncLifetime.DisposeAsync() => await ((IAsyncDisposable)this).DisposeAsync();
    }
}

namespace RootCellar.Shared
{
    /// <summary>
    /// xunit v2 cannot skip a running test: what this machine lacks fails here, and Stryker leaves a test that fails unmutated out.
    /// </summary>
    internal static class Skips
    {
        public static void Because(string reason) => Assert.Fail(reason);

        public static void Unless([System.Diagnostics.CodeAnalysis.DoesNotReturnIf(false)] bool can, string reason) =>
            Assert.True(can, reason);

        public static void EvenWhereNothingMay(string reason) => Assert.Fail(reason);
    }
}
