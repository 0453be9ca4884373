using System.Globalization;
using System.Text.RegularExpressions;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Packaging;

/// <summary>The unit of the packages: how little it may, by systemd's own figure. That the service lives under it: InstallTests.</summary>
public sealed partial class UnitTests(ITestOutputHelper output)
{
    private const double MostExposure = 2.0;

    [Fact]
    public async Task Its_exposure_is_at_most_two_by_systemd_s_own_figure()
    {
        var analyze = await Needs.SystemdAnalyzeAsync();

        var said = await Tool.RunAsync(analyze,
            ["security", "--offline=true", "--no-pager", Repository.File("src/RootCellar/Packaging/rootcellar.service")]);

        output.WriteLine(said.Out);
        var figure = Exposure().Match(said.Out);
        figure.Success.Should().BeTrue(said.ToString());
        double.Parse(figure.Groups["figure"].Value, CultureInfo.InvariantCulture).Should().BeLessThanOrEqualTo(MostExposure);
    }

    [GeneratedRegex(@"Overall exposure level for rootcellar\.service: (?<figure>\d+\.\d+)",
        RegexOptions.ExplicitCapture | RegexOptions.NonBacktracking)]
    private static partial Regex Exposure();
}
