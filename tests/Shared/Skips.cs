using System.Diagnostics.CodeAnalysis;
using Xunit;

namespace RootCellar.Shared;

/// <summary>
/// A test that cannot run on this machine is skipped and says what is missing. Where everything must be there (CI sets the switch), that is
/// a failure: a guard that nobody tries is no guard.
/// </summary>
internal static class Skips
{
    public const string Switch = "ROOTCELLAR_TESTS_SKIP_NOTHING";

    private static bool AreFailures => Environment.GetEnvironmentVariable(Switch) is { Length: > 0 };

    [DoesNotReturn]
    public static void Because(string reason)
    {
        if (AreFailures) Assert.Fail($"{reason} ({Switch} is set: nothing may be skipped here.)");
        EvenWhereNothingMay(reason);
    }

    public static void Unless([DoesNotReturnIf(false)] bool can, string reason)
    {
        if (!can) Because(reason);
    }

    /// <summary>For what no machine without the whole internet has.</summary>
    [DoesNotReturn]
    public static void EvenWhereNothingMay(string reason)
    {
#pragma warning disable RS0030 // The one place that skips.
        Assert.Skip(reason);
#pragma warning restore RS0030
    }
}
