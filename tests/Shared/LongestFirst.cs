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
    // By how long they took ("dotnet test --logger trx" tells).
    private static readonly string[] Long =
    [
        "KillTests", "DemoStoryTests", "StoreFaultTests", "SeasonStoryTests", "PagesTests", "ContainerTests", "ComposeTests", "InstallTests",
        "HouseholdDaysTests", "SurfacesTests", "SeasonTests", "MadeClientTests", "EveryPageTests", "PlaceJudgeTests", "WhoMayTests",
        "OneTextTests", "LargeAnswersTests", "KeyFolderTests", "OwnerGetsInTests", "HomesteadBookTests", "DamagedLedgerTests",
    ];

    public IReadOnlyCollection<TTestCollection> OrderTestCollections<TTestCollection>(
        IReadOnlyCollection<TTestCollection> testCollections)
        where TTestCollection : ITestCollection =>
        [.. testCollections.OrderBy(c => At(c.TestCollectionDisplayName))];

    private static int At(string collection) =>
        Array.FindIndex(Long, name => collection.Contains($".{name} ", StringComparison.Ordinal)) is >= 0 and var at ? at : Long.Length;
}
