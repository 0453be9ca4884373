using RootCellar.Science.Crops;

namespace RootCellar.Science.Tests.Crops;

public sealed class VarietyTableTests
{
    private const string Row = """
        { "name": "Cellar Queen", "aliases": ["Queen"], "skin": "red", "source": "assumed",
          "maturity": { "class": "mid-late", "days": "110 to 120", "source": "assumed" },
          "dormancy": [{ "days": "120", "temperature": "45 F", "definition": "idaho", "source": "assumed" }],
          "ratings": [{ "word": "medium-long", "source": "assumed" }] }
        """;

    public static TheoryData<string> Names => [.. VarietyTable.Default.Varieties.Select(variety => variety.Name)];

    [Fact]
    public void There_are_at_least_20_varieties_of_every_usual_skin()
    {
        VarietyTable.Default.Varieties.Should().HaveCountGreaterThanOrEqualTo(20);
        VarietyTable.Default.Varieties.Select(variety => variety.Skin).Should()
            .Contain([SkinColour.Russet, SkinColour.Red, SkinColour.White, SkinColour.Yellow]);
    }

    [Theory, MemberData(nameof(Names))]
    public void Every_variety_is_found_by_its_names_and_none_is_a_crops(string name)
    {
        var variety = VarietyTable.Default.Find(name)!;
        foreach (string other in variety.Aliases.Append(name.ToUpperInvariant()))
        {
            VarietyTable.Default.Find(other).Should().BeSameAs(variety);
            CropTable.Default.Find(other).Should().BeNull();
        }

        variety.Sources.Should().NotBeEmpty().And.OnlyHaveUniqueItems();
        variety.Sources.Should().OnlyContain(source => !string.IsNullOrWhiteSpace(source));
    }

    [Theory, MemberData(nameof(Names))]
    public void Every_dormancy_lies_within_its_interval_and_says_where_it_is_from(string name)
    {
        var prior = VarietyTable.Default.Find(name)!.Dormancy;
        prior.DaysAt.Should().BeGreaterThan(prior.LowDays).And.BeLessThan(prior.HighDays);
        prior.TemperatureC.Should().BeInRange(2, 10);
        prior.Source.Should().NotBeNullOrWhiteSpace();
    }

    [Fact]
    public void Alpine_Russet_keeps_all_three_published_values_and_stands_on_the_one_at_45_F()
    {
        // Brandt, Olsen, Stark and Gupta, Univ. Idaho 2009: 185, 165, 140 days at 42, 45, 48 F; +-25 % from season to season.
        var alpine = VarietyTable.Default.Find("alpine russet")!;
        alpine.DormancyFigures.Select(figure => figure.Days).Should().Equal(185, 165, 140);
        alpine.Dormancy.DaysAt.Should().Be(165);
        alpine.Dormancy.TemperatureC.Should().Be(DormancyPrior.ReferenceC);
        alpine.Dormancy.LowDays.Should().BeApproximately(123.75, 1e-9);
        alpine.Dormancy.HighDays.Should().BeApproximately(206.25, 1e-9);
    }

    [Fact]
    public void A_doubtful_figure_has_a_wider_interval()
    {
        var burbank = VarietyTable.Default.Find("Russet Burbank")!.Dormancy;
        burbank.DaysAt.Should().Be(155);
        burbank.LowDays.Should().BeApproximately(93, 1e-9);
        burbank.HighDays.Should().BeApproximately(217, 1e-9);
        burbank.Source.Should().Contain("low confidence").And.EndWith("; 40 % to either side, for the figure is doubtful");
        VarietyTable.Default.Find("alpine russet")!.Dormancy.Source.Should().EndWith("; 25 % to either side, from season to season");
    }

    [Theory]
    [InlineData("Kennebec", 160, 140, 185)]
    [InlineData("Goldrush", 125, 100, 150)]
    [InlineData("Yukon Gold", 142.5, 100, 185)]
    [InlineData("Sebago", 90, 70, 110)]
    public void A_published_word_gives_the_days_assumed_for_it(string name, double days, double low, double high)
    {
        var prior = VarietyTable.Default.Find(name)!.Dormancy;
        (prior.DaysAt, prior.LowDays, prior.HighDays).Should().Be((days, low, high));
        prior.Source.Should().Contain("assumed");
    }

    [Theory]
    [InlineData("2 C", 120)]
    [InlineData("1.9 C", 125)]
    [InlineData("10 C", 120)]
    [InlineData("10.1 C", 125)]
    public void A_figure_from_2_to_10_C_goes_before_the_word(string temperature, double days)
    {
        string json = $"[{Row}]".Replace("45 F", temperature, StringComparison.Ordinal)
            .Replace("medium-long", "medium", StringComparison.Ordinal);
        VarietyTable.Parse(json).Find("Queen")!.Dormancy.DaysAt.Should().Be(days);
    }

    [Theory]
    [InlineData("Norland")]
    [InlineData("Kufri Jyoti")]
    [InlineData("Asterix")]
    public void Without_a_figure_that_can_be_compared_the_guess_is_wide_whatever_skin_and_earliness(string name) =>
        VarietyTable.Default.Find(name)!.Dormancy.Should().Be(DormancyPrior.Unknown);

    [Fact]
    public void Days_under_and_over_keep_their_open_end()
    {
        var bahar = VarietyTable.Default.Find("Kufri Bahar")!.DormancyFigures.Single();
        (bahar.DaysLow, bahar.DaysHigh, bahar.Days, bahar.TemperatureC).Should().Be((null, 42, null, 19));
        VarietyTable.Default.Find("Kufri Sindhuri")!.DormancyFigures.Single().DaysLow.Should().Be(56);
        VarietyTable.Default.Find("Asterix")!.DormancyFigures.Single().TemperatureC.Should().BeNull();
    }

    [Theory]
    [InlineData("alpine rusett", "Alpine Russet")]
    [InlineData("Kenebec", "Kennebec")]
    [InlineData("yukn gold", "Yukon Gold")]
    [InlineData("zzzzzzzz", null)]
    public void A_miss_suggests_what_is_near(string written, string? name)
    {
        VarietyTable.Default.Find(written).Should().BeNull();
        VarietyTable.Default.Suggest(written).Should().Be(name);
    }

    [Fact]
    public void A_table_of_ones_own_is_read_with_comments()
    {
        var queen = VarietyTable.Parse($"// mine\n[ {Row}, ]").Find("queen")!;
        queen.Maturity.Should().Be(new Maturity(MaturityClass.MidLate, 110, 120, "assumed"));
        queen.DormancyRatings.Single().Class.Should().Be(DormancyClass.MediumLong);
        queen.Dormancy.DaysAt.Should().Be(120, "days go before words");
        (queen.Greening, queen.Sweetening, queen.Note).Should().Be((null, null, null));
        queen = VarietyTable.Parse($"[{Row}]".Replace("\"skin\"", """
            "greening": { "text": "little", "source": "a" }, "sweetening": { "text": "much", "source": "b" }, "note": "mine", "skin"
            """, StringComparison.Ordinal)).Find("queen")!;
        (queen.Greening, queen.Sweetening, queen.Note).Should().Be((new SourcedText("little", "a"), new SourcedText("much", "b"), "mine"));
    }

    [Theory]
    [InlineData("\"red\"", "\"pink\"",
        "Variety table, row 1 (Cellar Queen), field skin: \"pink\" must be russet, red, white, yellow or blue")]
    [InlineData("\"idaho\"", "\"mine\"", "field dormancy.definition: \"mine\" must be idaho, britain, first sprouts or not said")]
    [InlineData("\"days\": \"120\"", "\"days\": \"about 120\"", "field dormancy.days: \"about 120\" cannot be read")]
    [InlineData("\"days\": \"120\"", "\"days\": 120", "field dormancy.days: must be a text")]
    [InlineData("\"medium-long\"", "\"middling\"", "field ratings.word: \"middling\" must be short, medium, medium-long or long")]
    [InlineData("\"mid-late\"", "\"soon\"", "field maturity.class: \"soon\" must be early, mid-early,")]
    [InlineData("\"skin\": \"red\", \"source\": \"assumed\"", "\"skin\": \"red\"", "field source: is missing")]
    [InlineData("\"skin\"", "\"hue\": \"red\", \"skin\"", "field hue: is not known here; known are name, aliases, skin,")]
    [InlineData("\"definition\"", "\"doubtful\": 1, \"definition\"", "field dormancy.doubtful: must be true or false")]
    public void A_wrong_row_is_named_with_its_field_and_what_would_be_right(string right, string wrong, string says)
    {
        string json = $"[{Row}]".Replace(right, wrong, StringComparison.Ordinal);
        json.Should().NotBe($"[{Row}]");
        FluentActions.Invoking(() => VarietyTable.Parse(json)).Should().Throw<FormatException>().Which.Message.Should().Contain(says);
    }
}
