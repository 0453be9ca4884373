using System.Text.Json;
using RootCellar.Commands;
using RootCellar.Science.Crops;

namespace RootCellar.Tests.Commands;

/// <summary>The commands as a person or a script meets them: arguments in; stdout, stderr and exit code out.</summary>
public sealed class CommandTests
{
    private static readonly string[] AirKeys =
    [
        "temperatureC", "relativeHumidityPercent", "pressurePa", "saturationVapourPressurePa", "vapourPressurePa",
        "vapourPressureDeficitPa", "dewPointC", "wetBulbC", "humidityRatio", "absoluteHumidityGramsPerCubicMetre",
        "enthalpyJoulesPerKilogram",
    ];

    [Fact]
    public async Task Air_json_is_one_document_with_exactly_the_promised_keys()
    {
        var ended = await Run("air", "--temp", "25C", "--rh", "80%", "--json");
        ended.Code.Should().Be(0);
        ended.Error.Should().BeEmpty();
        using var document = JsonDocument.Parse(ended.Output);
        Keys(document.RootElement).Should().Equal(AirKeys);
        document.RootElement.GetProperty("dewPointC").GetDouble().Should().BeApproximately(21.3094, 0.0005);
        document.RootElement.GetProperty("pressurePa").GetDouble().Should().Be(101325);
    }

    [Fact]
    public async Task Air_json_below_nought_has_the_frost_point_and_with_pulp_the_two_pulp_keys()
    {
        using var document = JsonDocument.Parse(
            (await Run("air", "--temp", "-5C", "--rh", "90%", "--pulp", "33.8F", "--pressure", "950hPa", "--json")).Output);
        Keys(document.RootElement).Should().BeEquivalentTo([.. AirKeys, "frostPointC", "condensationMarginC", "pulpDeficitPa"]);
        var air = document.RootElement;
        air.GetProperty("pressurePa").GetDouble().Should().Be(95000);
        air.GetProperty("condensationMarginC").GetDouble().Should().BeApproximately(1 - air.GetProperty("dewPointC").GetDouble(), 1e-9);
        air.GetProperty("frostPointC").GetDouble().Should().BeInRange(air.GetProperty("dewPointC").GetDouble(), 0);
    }

    [Fact]
    public async Task Air_at_nought_has_no_frost_point()
    {
        using var document = JsonDocument.Parse((await Run("air", "--temp", "32F", "--rh", "90%", "--json")).Output);
        Keys(document.RootElement).Should().Equal(AirKeys);
    }

    [Fact]
    public async Task Air_table_has_both_units_and_how_far_to_trust_them()
    {
        var ended = await Run("air", "--temp", "4C", "--rh", "95%", "--pulp", "3.5C");
        ended.Output.Should().Contain("3.3 C (37.9 F)").And.Contain("41 Pa").And.Contain("16 to 66 Pa").And.Contain("sensor's own error");
    }

    [Fact]
    public async Task Check_of_a_folder_that_is_not_there_says_so()
    {
        var ended = await Run("check", "--data", "/nowhere/at/all");
        (ended.Code, ended.Output).Should().Be((2, ""));
        ended.Error.Should().Contain("there is no folder /nowhere/at/all").And.Contain("--data DIR");
    }

    [Theory]
    [InlineData("air --temp 55 --rh 85%", "--temp \"55\" has no unit; write 55C or 55F")]
    [InlineData("air --temp 55F --rh 85", "--rh \"85\" has no unit; write 85%")]
    [InlineData("air --temp 55F --rh 105%", "--rh 105% is outside what can be worked; it must be from 0.1% to 100%")]
    [InlineData("air --temp 155C --rh 50%", "--temp 155C is outside")]
    [InlineData("air --temp 55F --rh 50% --pressure 29.9", "--pressure \"29.9\" has no unit")]
    [InlineData("air --rh 85%", "'--temp' is required")]
    [InlineData("air --temp 85C --rh 100% --pressure 510hPa", "steam")]
    [InlineData("air --temp 5C --rh 50% --bogus", "--bogus")]
    [InlineData("crops potatoe", "no crop is called \"potatoe\"; did you mean potato?")]
    [InlineData("crops zzzzzzzz", "no crop is called \"zzzzzzzz\"")]
    [InlineData("crops kenebec", "no crop is called \"kenebec\"; did you mean Kennebec?")]
    [InlineData("crops --together potato,aple", "no crop is called \"aple\"; did you mean apple?")]
    [InlineData("crops --together potato,kennebec", "no crop is called \"kennebec\"; it is a potato variety: write potato.")]
    [InlineData("crops --together potato,spud", "two different crops or more")]
    [InlineData("crops --together potato, apple", "crops by commas without spaces")]
    [InlineData("crops potato --varieties", "give a NAME, --together or --varieties, one of them")]
    [InlineData("salts --temp 60C", "--temp 60C is outside what can be worked; it must be from 0C to 50C")]
    [InlineData("sing", "\"sing\" is not known here; it may be ")]
    [InlineData("", "a command is missing")]
    public async Task Bad_input_is_exit_2_with_one_line_on_stderr_and_nothing_on_stdout(string line, string says)
    {
        var ended = await Run(line.Split(' ', StringSplitOptions.RemoveEmptyEntries));
        ended.Code.Should().Be(2);
        ended.Output.Should().BeEmpty();
        ended.Error.Should().Contain(says);
        ended.Error.TrimEnd('\n').Should().NotContain("\n");
    }

    [Fact]
    public async Task Crops_json_has_the_potato_bands_with_their_source()
    {
        using var document = JsonDocument.Parse((await Run("crops", "Potato", "--json")).Output);
        var storage = document.RootElement.GetProperty("storage");
        storage.GetProperty("temperatureLowC").GetDouble().Should().Be((38 - 32) * 5.0 / 9);
        storage.GetProperty("humidityHighPercent").GetDouble().Should().Be(95);
        storage.GetProperty("source").GetString().Should().NotBeNullOrEmpty();
        document.RootElement.GetProperty("curing").GetProperty("daysHigh").GetInt32().Should().Be(21);
        document.RootElement.GetProperty("sources").GetArrayLength().Should().BeGreaterThan(3);
    }

    [Fact]
    public async Task Crops_lists_every_crop_in_both_forms()
    {
        using var document = JsonDocument.Parse((await Run("crops", "--json")).Output);
        document.RootElement.GetArrayLength().Should().BeGreaterThanOrEqualTo(25);
        string table = (await Run("crops")).Output;
        foreach (var crop in document.RootElement.EnumerateArray())
            table.Should().Contain(crop.GetProperty("id").GetString());
    }

    [Fact]
    public async Task Crops_json_has_the_fields_of_before_and_the_figures_of_water_loss_and_breath()
    {
        using var document = JsonDocument.Parse((await Run("crops", "beet", "--json")).Output);
        var beet = document.RootElement;
        Keys(beet).Should().StartWith(["id", "name", "aliases", "storage", "ideal", "otherStorage", "storageLife", "freezingPointC",
            "ethyleneProduction", "ethyleneSensitivity", "greensInLight", "bushelKg", "sources"]);
        beet.GetProperty("transpiration").GetProperty("ngPerKgPaS").GetDouble().Should().Be(469);
        beet.GetProperty("vapourPressureLowering").GetProperty("value").GetDouble().Should().Be(0.99);
        beet.GetProperty("respiration").GetProperty("points")[4].GetProperty("mgCo2PerKgH").GetDouble().Should().Be(60);
        beet.GetProperty("thermal").GetProperty("waterPercent").GetDouble().Should().Be(87.6);
        beet.GetProperty("odours").GetProperty("gives").GetString().Should().Be("none");
        beet.GetProperty("canning").GetProperty("caution").GetString().Should().Contain("tested pressure process");
        beet.GetProperty("canning").GetProperty("yields")[0].GetProperty("poundsPer7LiquidQuarts").GetDouble().Should().Be(21);
    }

    [Fact]
    public async Task A_canning_quantity_is_never_shown_without_its_caution()
    {
        foreach (string id in new[] { "potato", "carrot", "apple", "celeriac", "onion" })
        {
            string shown = (await Run("crops", id)).Output;
            shown.Contains("liquid pints", StringComparison.Ordinal).Should()
                .Be(shown.Contains(CanningYield.CautionOf(CropTable.Default.Find(id)!.Canned), StringComparison.Ordinal), id);
        }

        (await Run("crops", "potato")).Output.Should().Contain("20 lb to 7 liquid quarts").And.Contain("A dry quart is no canning");
    }

    [Fact]
    public async Task Crops_together_tells_what_is_wrong_and_what_to_do_the_worst_first()
    {
        using var document = JsonDocument.Parse((await Run("crops", "--together", "carrot, apple,Onions", "--json")).Output);
        document.RootElement.GetProperty("crops").EnumerateArray().Select(id => id.GetString()).Should().Equal("carrot", "apple", "onion");
        var worst = document.RootElement.GetProperty("conflicts")[0];
        (worst.GetProperty("a").GetString(), worst.GetProperty("b").GetString(), worst.GetProperty("kind").GetString(),
            worst.GetProperty("severity").GetString())
            .Should().Be(("apple", "carrot", "ethylene", "never"));
        worst.GetProperty("what").GetString().Should().Contain("turns bitter");
        document.RootElement.TryGetProperty("common", out _).Should().BeFalse();

        string table = (await Run("crops", "--together", "carrot,apple,onion")).Output;
        table.Should().Contain("turns bitter").And.Contain("never").And.Contain("No band of temperature and humidity suits all of them.");
        (await Run("crops", "--together", "carrot,beet")).Output.Should()
            .Contain("Nothing speaks against").And.Contain("0.0 to 4.4 C (32 to 40 F), 90 to 100 %");
    }

    [Fact]
    public async Task Varieties_are_listed_and_one_is_shown_by_its_name()
    {
        using var all = JsonDocument.Parse((await Run("crops", "--varieties", "--json")).Output);
        string table = (await Run("crops", "--varieties")).Output;
        all.RootElement.GetArrayLength().Should().BeGreaterThanOrEqualTo(20);
        foreach (var variety in all.RootElement.EnumerateArray())
            table.Should().Contain(variety.GetProperty("name").GetString());

        using var alpine = JsonDocument.Parse((await Run("crops", "alpine russet", "--json")).Output);
        alpine.RootElement.GetProperty("dormancy").GetProperty("daysAt").GetDouble().Should().Be(165);
        alpine.RootElement.GetProperty("dormancyFigures").GetArrayLength().Should().Be(3);
        (await Run("crops", "Alpine Russet")).Output.Should()
            .Contain("185 days at 5.6 C (42.0 F)").And.Contain("165 (124 to 206) at 7.2 C");
    }

    [Fact]
    public async Task Salts_json_gives_the_humidity_at_the_jars_temperature()
    {
        using var document = JsonDocument.Parse((await Run("salts", "--temp", "20C", "--json")).Output);
        var salts = document.RootElement.GetProperty("salts").EnumerateArray()
            .ToDictionary(salt => salt.GetProperty("formula").GetString()!);
        double Humidity(string formula) => salts[formula].GetProperty("points")[0].GetProperty("relativeHumidityPercent").GetDouble();
        // Greenspan 1977, J. Res. NBS 81A(1):89-96.
        Humidity("LiCl").Should().BeApproximately(11.31, 0.01);
        Humidity("NaCl").Should().BeApproximately(75.47, 0.02);
    }

    [Theory]
    [InlineData("air")]
    [InlineData("crops")]
    [InlineData("salts")]
    public async Task Help_shows_an_example_even_where_something_required_is_missing(string command)
    {
        var ended = await Run(command, "--help");
        ended.Code.Should().Be(0);
        ended.Output.Should().Contain("Examples:").And.Contain($"rootcellar {command}");
    }

    [Theory]
    [InlineData("air --temp 55F --rh 85% --pulp 50F")]
    [InlineData("crops \"sweet potato\"")]
    [InlineData("crops --together potato,apple,onion")]
    [InlineData("crops --varieties")]
    [InlineData("crops \"Alpine Russet\"")]
    public async Task The_examples_of_the_help_work(string line)
    {
        string[] args = [.. line.Split('"').SelectMany(
            (part, i) => i % 2 == 1 ? [part] : part.Split(' ', StringSplitOptions.RemoveEmptyEntries))];
        (await Run(args)).Code.Should().Be(0);
    }

    private static IEnumerable<string> Keys(JsonElement element) => element.EnumerateObject().Select(property => property.Name);

    private static async Task<(int Code, string Output, string Error)> Run(params string[] args)
    {
        using var output = new StringWriter { NewLine = "\n" };
        using var error = new StringWriter { NewLine = "\n" };
        int code = await CommandLine.RunAsync(args, output, error, TestContext.Current.CancellationToken);
        return (code, output.ToString(), error.ToString());
    }
}
