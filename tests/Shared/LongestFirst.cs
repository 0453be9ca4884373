using Xunit.Sdk;
using Xunit.v3;

[assembly: TestCollectionOrderer(typeof(RootCellar.TestsShared.LongestFirst))]

namespace RootCellar.TestsShared;

/// <summary>
/// Classes that take longest begin first: one that began last would hold up the whole run on one thread while the others have nothing
/// left to do.
/// </summary>
public sealed class LongestFirst : ITestCollectionOrderer
{
    // By how long they took; docs/testing.md says how to see that.
    private static readonly string[] Long =
    [
        "KillTests", "DemoStoryTests", "StoreFaultTests", "SeasonStoryTests", "PagesTests", "ContainerTests", "ComposeTests",
    ];

    public IReadOnlyCollection<TTestCollection> OrderTestCollections<TTestCollection>(
        IReadOnlyCollection<TTestCollection> testCollections)
        where TTestCollection : ITestCollection =>
        [.. testCollections.OrderBy(c => Array.FindIndex(Long, name => c.TestCollectionDisplayName.Contains($".{name} ", StringComparison.Ordinal)) is >= 0 and var at ? at : Long.Length)];
}
