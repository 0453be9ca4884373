using System.Text.Json;
using RootCellar.Commands;
using RootCellar.Household;

namespace RootCellar.Tests.Commands;

/// <summary>`outlook` as a grower or a script meets it.</summary>
public sealed class OutlookCommandTests : IDisposable
{
    private static readonly string[] DayKeys =
    [
        "day", "weightLossPercent", "waterLossPercent", "respirationLossPercent", "healing", "dormancyUsed",
        "sproutMillimetres", "sproutedSharePercent", "lightHours", "wetHours", "coldHours",
    ];

    private readonly string _folder = Directory.CreateTempSubdirectory("outlook-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task Json_is_one_document_with_exactly_the_promised_keys()
    {
        using var document = await Json("--crop", "potato", "--hold", "12.8C 95% 20d");
        var outlook = document.RootElement;
        Keys(outlook).Should().Equal("crop", "variety", "days", "milestones");
        outlook.GetProperty("crop").GetString().Should().Be("potato");
        outlook.GetProperty("variety").ValueKind.Should().Be(JsonValueKind.Null);
        foreach (var day in outlook.GetProperty("days").EnumerateArray())
        {
            Keys(day).Should().Equal(DayKeys);
            Keys(day.GetProperty("weightLossPercent")).Should().Equal("low", "mid", "high");
            Keys(day.GetProperty("dormancyUsed")).Should().Equal("low", "mid", "high");
            Keys(day.GetProperty("healing")).Should().Equal("days20C", "stage");
        }

        var milestones = outlook.GetProperty("milestones").EnumerateArray().ToList();
        milestones.Select(m => m.GetProperty("what").GetString()).Should().StartWith(["sealed", "adequate", "healed"]);
        foreach (var milestone in milestones)
        {
            Keys(milestone).Should().Equal("what", "day");
            Keys(milestone.GetProperty("day")).Should().Equal("early", "likely", "late");
        }
    }

    [Fact]
    public async Task Days_begin_at_nought_and_the_stages_follow_one_another()
    {
        using var document = await Json("--crop", "potato", "--hold", "12.8C 95% 20d");
        var days = Days(document);
        var first = days[0];
        first.GetProperty("weightLossPercent").GetProperty("high").GetDouble().Should().Be(0);
        first.GetProperty("healing").GetProperty("stage").GetString().Should().Be("open");
        days.Select(day => day.GetProperty("healing").GetProperty("stage").GetString()).Distinct().Should()
            .Equal("open", "sealed", "adequate", "healed");
        days.Select(day => day.GetProperty("weightLossPercent").GetProperty("mid").GetDouble()).Should().BeInAscendingOrder();
        foreach (var day in days)
        {
            var loss = day.GetProperty("weightLossPercent");
            loss.GetProperty("mid").GetDouble().Should().BeInRange(
                loss.GetProperty("low").GetDouble(), loss.GetProperty("high").GetDouble());
            (day.GetProperty("waterLossPercent").GetDouble() + day.GetProperty("respirationLossPercent").GetDouble()).Should()
                .BeApproximately(loss.GetProperty("mid").GetDouble(), 0.0002);
        }
    }

    [Theory]
    [InlineData("12.8C 95% 3d", "0 1 2 3")]
    [InlineData("12.8C 95% 2.5d", "0 1 2 2.5")]
    [InlineData("12.8C 95% 6h", "0 0.25")]
    [InlineData("12.8C 95% 36h", "0 1 1.5")]
    public async Task There_is_an_entry_for_every_day_and_the_last_at_the_end(string hold, string days)
    {
        using var document = await Json("--crop", "potato", "--hold", hold);
        string.Join(' ', Days(document).Select(day => day.GetProperty("day").GetRawText())).Should().Be(days);
    }

    [Fact]
    public async Task Holds_follow_each_other_however_they_are_written()
    {
        using var once = await Json("--crop", "potato", "--hold", "12.8C 95% 14d", "4C 92% 16d");
        using var twice = await Json("--crop", "potato", "--hold", "12.8C 95% 14d", "--hold", "4C 92% 16d");
        using var bare = await Json("--crop", "potato", "--hold", "12.8C", "95%", "14d", "4C", "92%", "16d");
        twice.RootElement.GetRawText().Should().Be(once.RootElement.GetRawText());
        bare.RootElement.GetRawText().Should().Be(once.RootElement.GetRawText());
        Days(once).Should().HaveCount(31);
    }

    [Fact]
    public async Task A_ramp_lies_between_the_holds_at_its_ends()
    {
        using var ramp = await Json("--crop", "potato", "--hold", "12.8C..7.2C 95% 20d");
        using var warm = await Json("--crop", "potato", "--hold", "12.8C 95% 20d");
        using var cool = await Json("--crop", "potato", "--hold", "7.2C 95% 20d");
        Healed(ramp).Should().BeGreaterThan(Healed(cool)).And.BeLessThan(Healed(warm));
    }

    [Fact]
    public async Task Fahrenheit_says_the_same_as_Celsius()
    {
        using var c = await Json("--crop", "potato", "--hold", "10C 95% 5d");
        using var f = await Json("--crop", "potato", "--hold", "50F 95% 120h");
        f.RootElement.GetRawText().Should().Be(c.RootElement.GetRawText());
    }

    [Fact]
    public async Task A_file_of_steady_air_says_the_same_as_a_hold()
    {
        string file = Write("# from the shed\nHours,Temperature_C,humidity_pct\n0,12.8,95\n24,12.8,95\n240,12.8,95\n");
        using var byFile = await Json("--crop", "potato", "--air", file);
        using var byHold = await Json("--crop", "potato", "--hold", "12.8C 95% 10d");
        byFile.RootElement.GetRawText().Should().Be(byHold.RootElement.GetRawText());
    }

    [Fact]
    public async Task A_file_may_know_the_pulp_and_the_light()
    {
        string lit = Write("hours,temperature_c,humidity_pct,pulp_c,light_lx\n0,12,95,8,800\n48,12,95,8,800\n");
        using var byFile = await Json("--crop", "potato", "--air", lit);
        using var byHold = await Json("--crop", "potato", "--hold", "12C 95% 2d");
        Days(byFile)[^1].GetProperty("lightHours").GetDouble().Should().BeGreaterThan(5);
        Days(byHold)[^1].GetProperty("lightHours").GetDouble().Should().Be(0);
        // Colder than the air's dew point: wet, and a wet skin does not heal.
        Days(byFile)[^1].GetProperty("wetHours").GetDouble().Should().Be(48);
        Healed(byFile).Should().Be(0);
    }

    [Fact]
    public async Task A_weight_adds_what_is_left_of_it()
    {
        using var document = await Json("--crop", "potato", "--hold", "4C 92% 30d", "--weight", "50lb");
        var last = Days(document)[^1];
        Keys(last).Should().Equal([.. DayKeys, "weightKg"]);
        double left = last.GetProperty("weightKg").GetProperty("mid").GetDouble();
        left.Should().BeApproximately(50 * 0.45359237 * (1 - last.GetProperty("weightLossPercent").GetProperty("mid").GetDouble() / 100),
            0.001);
        last.GetProperty("weightKg").GetProperty("low").GetDouble().Should().BeLessThan(left);
        (await Run("outlook", "--crop", "potato", "--hold", "4C 92% 30d", "--weight", "50lb")).Output.Should().Contain("50.0 lb (22.7 kg)");
    }

    [Fact]
    public async Task A_variety_is_named_and_its_rest_is_its_own()
    {
        using var named = await Json("--crop", "potato", "--variety", "alpine russet", "--hold", "7.2C 95% 60d");
        named.RootElement.GetProperty("variety").GetString().Should().Be("Alpine Russet");
        using var unknown = await Json("--crop", "potato", "--hold", "7.2C 95% 60d");
        Used(named).Should().BeLessThan(Used(unknown), "Alpine Russet rests longer than most");
    }

    [Fact]
    public async Task A_lot_said_to_sprout_after_165_days_at_7_2_C_does_so_when_held_there()
    {
        using var document = await Json("--crop", "potato", "--dormancy", "165d@7.2C", "--hold", "7.2C 95% 200d");
        var sprouted = document.RootElement.GetProperty("milestones").EnumerateArray()
            .Single(m => m.GetProperty("what").GetString() == "sprouted").GetProperty("day");
        // In a crate it stands 0.2 C above the air, by its own breath.
        sprouted.GetProperty("likely").GetDouble().Should().BeInRange(160, 165);
        sprouted.GetProperty("early").GetDouble().Should().BeLessThan(150);
        sprouted.GetProperty("late").GetDouble().Should().BeGreaterThan(175);
    }

    [Fact]
    public async Task Dormancy_goes_before_the_variety()
    {
        using var said = await Json("--crop", "potato", "--variety", "Alpine Russet", "--dormancy", "90d@7.2C", "--hold", "7.2C 95% 30d");
        using var named = await Json("--crop", "potato", "--variety", "Alpine Russet", "--hold", "7.2C 95% 30d");
        Used(said).Should().BeGreaterThan(Used(named));
    }

    [Theory]
    [InlineData("--skin cut", "--skin set")]
    [InlineData("--skin tender", "--skin set")]
    [InlineData("--packed layer", "--packed crate")]
    [InlineData("--piece 50g", "--piece 300g")]
    public async Task A_worse_skin_a_barer_lot_and_small_ones_lose_more(string more, string less)
    {
        using var worse = await Json(["--crop", "potato", "--hold", "12.8C 90% 14d", .. more.Split(' ')]);
        using var better = await Json(["--crop", "potato", "--hold", "12.8C 90% 14d", .. less.Split(' ')]);
        Lost(worse).Should().BeGreaterThan(Lost(better));
    }

    [Fact]
    public async Task A_crop_that_neither_cures_nor_rests_has_neither()
    {
        using var document = await Json("--crop", "beet", "--hold", "1C 95% 10d");
        document.RootElement.GetProperty("milestones").GetArrayLength().Should().Be(0);
        Used(document).Should().Be(0);
        string table = (await Run("outlook", "--crop", "beet", "--hold", "1C 95% 10d")).Output;
        table.Should().NotContain("Dormancy used").And.NotContain("Skin").And.Contain("so its range is wide");
    }

    [Fact]
    public async Task The_table_speaks_plainly_and_warns()
    {
        string table = (await Run("outlook", "--crop", "potato", "--hold", "12.8C 95% 14d", "12.8C..-2C 95% 10d")).Output;
        table.Should().Contain("Skin (of 6.9 d at 20 C)").And.Contain("Fully cured: about day 14").And.Contain("variety unknown")
            .And.Contain("hours below its freezing point of -0.8 C").And.Contain("do not handle").And.Contain(
                "None of this says whether a lot is fit to eat").And.NotContain("safe");
        string onions = (await Run("outlook", "--crop", "onion", "--hold", "24C 60% 30d")).Output;
        onions.Should().Contain("Necks closing").And.NotContain("Skins");
    }

    [Theory]
    [InlineData("--hold 4C/95%/3d", "'--crop' is required")]
    [InlineData("--crop betet --hold 4C/95%/3d", "no crop is called \"betet\"; did you mean beet?")]
    [InlineData("--crop potato", "give the air the lot will stand in, by --hold")]
    [InlineData("--crop potato --hold 12.8/95%/14d", "\"12.8\" has no unit; write 12.8C or 12.8F")]
    [InlineData("--crop potato --hold 12.8C/95/14d", "\"95\" has no unit; write 95%")]
    [InlineData("--crop potato --hold 12.8C/95%/14", "\"14\" has no unit; write 14d or 14h")]
    [InlineData("--crop potato --hold 12.8C/95%", "each hold is a temperature, a humidity and a length of time")]
    [InlineData("--crop potato --hold 12.8C..8C..4C/95%/3d", "a change is written from..to")]
    [InlineData("--crop potato --hold 60C/95%/3d", "60C is outside what can be worked; it must be from -20C to 50C")]
    [InlineData("--crop potato --hold 4C/195%/3d", "195% is outside")]
    [InlineData("--crop potato --hold 4C/95%/0d", "0d is outside")]
    [InlineData("--crop potato --hold 4C/95%/600d/4C/95%/600d", "the air lasts 1200 days; an outlook goes up to 1095 days")]
    [InlineData("--crop potato --hold 4C/95%/3d --skin rough", "--skin rough is not known; it may be set, tender, scuffed, cut")]
    [InlineData("--crop potato --hold 4C/95%/3d --packed heap", "--packed heap is not known; it may be crate, layer, bin")]
    [InlineData("--crop potato --hold 4C/95%/3d --piece 5g", "--piece 5g is outside what can be worked; it must be from 20g to 1kg")]
    [InlineData("--crop potato --hold 4C/95%/3d --weight 50", "--weight \"50\" has no unit")]
    [InlineData("--crop potato --hold 4C/95%/3d --variety Alpin", "did you mean Alpine Russet?")]
    [InlineData("--crop potato --hold 4C/95%/3d --variety zzzzzz", "no potato variety is called \"zzzzzz\"")]
    [InlineData("--crop beet --hold 4C/95%/3d --variety Kennebec", "--variety is for potatoes only; leave it out for beet")]
    [InlineData("--crop beet --hold 4C/95%/3d --dormancy 100d@7C", "--dormancy is for potatoes only; leave it out for beet")]
    [InlineData("--crop potato --hold 4C/95%/3d --dormancy 165d", "such as 165d@7.2C")]
    [InlineData("--crop potato --hold 4C/95%/3d --dormancy 165@7.2C", "\"165\" has no unit")]
    [InlineData("--crop potato --hold 4C/95%/3d --dormancy 165d@1C", "it must be from 2.5C")]
    [InlineData("--crop potato --hold 4C/95%/3d --dormancy 30d@3C", "give more days or a warmer temperature")]
    [InlineData("--crop potato --hold 4C/95%/3d --air nowhere.csv", "not by both")]
    [InlineData("--crop potato --air nowhere.csv", "--air nowhere.csv cannot be read")]
    public Task Bad_input_is_exit_2_with_one_line_that_says_what_would_be_right(string line, string says) =>
        Refused([.. line.Split(' ').Select(word => word.Replace('/', ' '))], says);

    [Theory]
    [InlineData("", "is empty; its first line must be hours,temperature_c,humidity_pct")]
    [InlineData("hours,temperature_c\n0,5\n", "has no column humidity_pct")]
    [InlineData("hours,temperature_c,humidity_pct,smell\n0,5,95,3\n", "has a column \"smell\" that is not known")]
    [InlineData("hours,temperature_c,humidity_pct\n", "has 0 rows of air")]
    [InlineData("hours,temperature_c,humidity_pct\n0,5,95\n", "has 1 row of air; it needs two or more")]
    [InlineData("hours,temperature_c,humidity_pct\n0,5,95\n0,5,95\n", "line 3, hours: 0 does not come after 0")]
    [InlineData("hours,temperature_c,humidity_pct\n0,5,95\n3,warm,95\n", "line 3, temperature_c: \"warm\" must be a number from -20 to 50")]
    [InlineData("hours,temperature_c,humidity_pct\n0,5,950\n3,5,95\n", "line 2, humidity_pct: \"950\" must be a number from 1 to 100")]
    [InlineData("hours,temperature_c,humidity_pct\n0,5\n3,5,95\n", "line 2, humidity_pct: \"\" must be a number")]
    [InlineData("hours,temperature_c,humidity_pct\n0,NaN,95\n3,5,95\n", "line 2, temperature_c: \"NaN\" must be a number")]
    [InlineData("hours,temperature_c,humidity_pct\n0,5\"C,95\n3,5,95\n", "line 2: a quotation mark stands where none belongs")]
    public Task A_bad_file_of_air_says_which_line(string content, string says) =>
        Refused(["--crop", "potato", "--air", Write(content)], says);

    private static async Task Refused(string[] args, string says)
    {
        var ended = await Run(["outlook", .. args]);
        ended.Error.Should().Contain(says).And.StartWith("rootcellar outlook: ");
        ended.Code.Should().Be(2);
        ended.Output.Should().BeEmpty();
        ended.Error.TrimEnd('\n').Should().NotContain("\n");
    }

    private string Write(string content)
    {
        string path = Path.Combine(_folder, "air.csv");
        File.WriteAllText(path, content);
        return path;
    }

    private static IReadOnlyList<JsonElement> Days(JsonDocument document) => [.. document.RootElement.GetProperty("days").EnumerateArray()];

    private static double Healed(JsonDocument document) => Days(document)[^1].GetProperty("healing").GetProperty("days20C").GetDouble();

    private static double Used(JsonDocument document) => Days(document)[^1].GetProperty("dormancyUsed").GetProperty("mid").GetDouble();

    private static double Lost(JsonDocument document) => Days(document)[^1].GetProperty("weightLossPercent").GetProperty("mid").GetDouble();

    private static IEnumerable<string> Keys(JsonElement element) => element.EnumerateObject().Select(property => property.Name);

    private static async Task<JsonDocument> Json(params string[] args)
    {
        var ended = await Run(["outlook", .. args, "--json"]);
        ended.Error.Should().BeEmpty();
        ended.Code.Should().Be(0);
        return JsonDocument.Parse(ended.Output);
    }

    private static async Task<(int Code, string Output, string Error)> Run(params string[] args)
    {
        using var output = new StringWriter { NewLine = "\n" };
        using var error = new StringWriter { NewLine = "\n" };
        int code = await CommandLine.RunAsync(args, output, error, TestContext.Current.CancellationToken);
        return (code, output.ToString(), error.ToString());
    }
}
