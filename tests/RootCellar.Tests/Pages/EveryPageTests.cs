namespace RootCellar.Tests.Pages;

/// <summary>How long they take is measured by the benchmarks (limits).</summary>
public sealed class EveryPageTests(ITestOutputHelper output)
{
    [Fact]
    public async Task With_fifty_thousand_entries_every_page_and_every_address_answers()
    {
        var pages = new EveryPage(TimeProvider.System, () => TimeSpan.Zero, output.WriteLine);
        await pages.VisitAllAsync(starts: 0);
        pages.Rows.Keys.Where(p => p.StartsWith('/') && !p.StartsWith("/api", StringComparison.Ordinal)).Should()
            .HaveCountGreaterThan(30, "pages are found");
        pages.Rows.Keys.Where(p => p.StartsWith("/api", StringComparison.Ordinal)).Should().HaveCountGreaterThan(15, "addresses are found");
    }
}
