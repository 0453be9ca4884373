using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Crops;

public sealed class CropTableTests
{
    private const string Row = """
        { "id": "test-root", "name": "Test root",
          "harvest": "dug", "asks": ["rain"], "sprouts": "plain", "cull": ["rot", "other"],
          "shriveled": { "percent": 7, "source": "assumed" },
          "storage": { "temperature": "32 to 40 F", "humidity": "90 to 95 %", "source": "assumed" },
          "ideal": { "temperature": "0 C", "humidity": "95 to 98 %", "source": "assumed" },
          "storageLife": { "text": "4 months", "source": "assumed" },
          "freezing": { "at": "-0.8 C", "source": "assumed" },
          "ethylene": { "production": "very low", "sensitivity": "low", "source": "assumed" },
          "odours": { "gives": "strong", "takesUp": "none", "source": "assumed" },
          "transpiration": { "ngPerKgPaS": 469, "source": "assumed" },
          "vapourPressureLowering": { "value": 0.99, "source": "assumed" },
          "respiration": { "mgCO2PerKgH": { "0": 5, "10": 14 }, "source": "assumed" },
          "thermal": { "waterPercent": 89.7, "specificHeatKJPerKgK": 3.96, "source": "assumed" } }
        """;

    public static TheoryData<string> Ids => [.. CropTable.Default.Crops.Select(crop => crop.Id)];

    [Fact]
    public void There_are_at_least_25_crops_and_each_is_found_by_every_name_of_its_own()
    {
        CropTable.Default.Crops.Should().HaveCountGreaterThanOrEqualTo(25);
        foreach (var crop in CropTable.Default.Crops)
        {
            foreach (var name in crop.Aliases.Append(crop.Id).Append(crop.Name))
                CropTable.Default.Find(name)!.Id.Should().Be(crop.Id, name);
        }
    }

    [Fact]
    public void What_a_root_cellar_keeps_beside_potatoes_is_in_it() =>
        new[]
        {
            "pear", "quince", "parsley-root", "horseradish", "sunchoke", "radish", "kohlrabi", "leek", "shallot", "dry beans", "chestnut",
            "walnut", "dahlia tubers", "seed potatoes",
        }.Should().AllSatisfy(name => CropTable.Default.Find(name).Should().NotBeNull(name));

    [Theory, MemberData(nameof(Ids))]
    public void Every_row_has_sources_and_bands_in_order(string id)
    {
        var crop = CropTable.Default.Find(id)!;
        var bands = new Band?[] { crop.Curing, crop.Storage, crop.Ideal }.Concat(crop.OtherStorage).OfType<Band>();
        foreach (var band in bands)
        {
            band.Source.Should().NotBeNullOrWhiteSpace();
            band.TemperatureLowC.Should().BeLessThanOrEqualTo(band.TemperatureHighC);
            band.HumidityLowPercent.Should().BeLessThanOrEqualTo(band.HumidityHighPercent);
            band.TemperatureLowC.Should().BeGreaterThan(crop.FreezingPointC, $"{band.PrintedTemperature} must not freeze it");
        }

        // What alarms are judged by must have room between its edges, or it never clears.
        (crop.Storage.TemperatureHighC - crop.Storage.TemperatureLowC).Should().BeGreaterThan(2.5);
        (crop.Storage.HumidityHighPercent - crop.Storage.HumidityLowPercent).Should().BeGreaterThanOrEqualTo(5);
        crop.Sources.Should().NotBeEmpty().And.OnlyHaveUniqueItems();
        if (crop.ChillingBelowC is { } chilling)
        {
            chilling.Should().BeGreaterThan(crop.FreezingPointC);
            crop.Storage.TemperatureLowC.Should().BeGreaterThanOrEqualTo(chilling - 1e-9);
        }
    }

    [Fact]
    public void Potato_bands_are_exactly_the_ones_alarms_stand_on()
    {
        var potato = CropTable.Default.Find("potato")!;
        potato.Curing!.TemperatureLowC.Should().Be(10);
        potato.Curing.TemperatureHighC.Should().Be((60 - 32) * 5.0 / 9);
        potato.Curing.HumidityLowPercent.Should().Be(85);
        potato.Curing.HumidityHighPercent.Should().Be(95);
        potato.Storage.TemperatureLowC.Should().Be((38 - 32) * 5.0 / 9);
        potato.Storage.TemperatureHighC.Should().Be((45 - 32) * 5.0 / 9);
        potato.Storage.HumidityLowPercent.Should().Be(90);
        potato.Storage.HumidityHighPercent.Should().Be(95);
        potato.FreezingPointC.Should().Be(-0.8);
        potato.GreensInLight.Should().BeTrue();
    }

    [Fact]
    public void Pile_density_of_potatoes_is_turned_from_pounds_a_cubic_foot()
    {
        // Olsen and Teixeira, University of Idaho: 40-43 lb/ft3 = 641-689 kg/m3.
        var potato = CropTable.Default.Find("potato")!;
        potato.BulkDensityLowKgPerM3!.Value.Should().BeApproximately(641, 0.5);
        potato.BulkDensityHighKgPerM3!.Value.Should().BeApproximately(689, 0.5);
    }

    [Theory]
    [InlineData("Sweet Potato", "sweet-potato")]
    [InlineData("SWEETPOTATO", "sweet-potato")]
    [InlineData("onions", "onion")]
    [InlineData("celery root", "celeriac")]
    [InlineData("sunchoke", "jerusalem-artichoke")]
    [InlineData("Hamburg parsley", "parsley-root")]
    [InlineData("radishes", "radish")]
    public void Names_are_found_whatever_their_case_and_spaces(string written, string id) =>
        CropTable.Default.Find(written)!.Id.Should().Be(id);

    [Theory]
    [InlineData("potatoe", "potato")]
    [InlineData("tatoes", "potato")]
    [InlineData("carot", "carrot")]
    [InlineData("jerusalem", "jerusalem-artichoke")]
    [InlineData("pumkin", "pumpkin")]
    [InlineData("zzzzzzzz", null)]
    [InlineData("", null)]
    public void A_miss_suggests_what_is_near(string written, string? id)
    {
        CropTable.Default.Find(written).Should().BeNull();
        CropTable.Default.Suggest(written).Should().Be(id);
    }

    [Fact]
    public void A_table_of_ones_own_may_carry_comments_and_trailing_commas() =>
        CropTable.Parse($"// mine\n[ {Row}, ]").Find("test root")!.Storage.TemperatureLowC.Should().Be(0);

    [Theory]
    [InlineData("\"32 to 40 F\"", "\"32-40F\"",
        "row 1 (test-root), field storage.temperature: \"32-40F\" cannot be read; write \"32 to 40 F\"")]
    [InlineData("\"32 to 40 F\"", "\"40 to 32 F\"", "field storage.temperature: \"40 to 32 F\" has its low end above its high end")]
    [InlineData("\"32 to 40 F\"", "\"32 to 400 F\"", "field storage.temperature")]
    [InlineData("\"90 to 95 %\"", "\"90 to 105 %\"", "field storage.humidity")]
    [InlineData("\"name\": \"Test root\",", "", "row 1 (test-root), field name: is missing")]
    [InlineData("\"name\"", "\"nmae\"", "field nmae: is not known here; known are id, name,")]
    [InlineData("\"at\": \"-0.8 C\", \"source\": \"assumed\"", "\"at\": \"-0.8 C\"", "field freezing.source: is missing")]
    [InlineData("\"-0.8 C\"", "\"-0.8 to 0 C\"", "field freezing.at: must be one temperature")]
    [InlineData("\"sensitivity\": \"low\"", "\"sensitivity\": \"some\"", "field ethylene.sensitivity: \"some\" must be very low")]
    [InlineData("test-root", "Test Root", "field id")]
    [InlineData("\"gives\": \"strong\"", "\"gives\": \"much\"", "field odours.gives: \"much\" must be none, some or strong")]
    [InlineData("\"ngPerKgPaS\": 469", "\"ngPerKgPaS\": 0", "field transpiration.ngPerKgPaS: must be a number from 1 to 20000")]
    [InlineData("\"value\": 0.99", "\"value\": 1.1", "field vapourPressureLowering.value: must be a number from 0.5 to 1")]
    [InlineData("\"0\": 5, \"10\": 14", "", "field respiration.mgCO2PerKgH: must hold rates by rising temperature")]
    [InlineData("\"0\": 5, \"10\": 14", "\"10\": 14, \"0\": 5", "field respiration.mgCO2PerKgH: must hold rates by rising temperature")]
    [InlineData("\"10\": 14", "\"50 F\": 14", "field respiration.mgCO2PerKgH: \"50 F\" must be a temperature in C")]
    [InlineData("\"10\": 14", "\"10\": -4", "field respiration.mgCO2PerKgH.10: must be a number from 0.1 to 2000")]
    [InlineData("\"waterPercent\": 89.7", "\"waterPercent\": 897", "field thermal.waterPercent: must be a number from 2 to 100")]
    [InlineData("\"4 months\"", "4", "field storageLife.text: must be a text")]
    [InlineData("\"4 months\"", "\" \"", "field storageLife.text: must be a text that is not empty")]
    [InlineData("\"name\"", "\"aliases\": \"root\", \"name\"", "field aliases: must be a list of texts")]
    [InlineData("\"name\"", "\"aliases\": [\"root\", 3], \"name\"", "field aliases: must be a list of texts")]
    [InlineData("\"name\"", "\"canning\": {}, \"name\"", "field canning: must be a list")]
    [InlineData("\"name\"", "\"food\": \"no\", \"name\"", "field food: must be true or false")]
    [InlineData("\"harvest\": \"dug\"", "\"harvest\": \"taken\"", "field harvest: \"taken\" must be dug, lifted, pulled, cut, picked or gathered")]
    [InlineData("\"harvest\": \"dug\",", "", "field harvest: is missing")]
    [InlineData("\"asks\": [\"rain\"]", "\"asks\": [\"snow\"]", "field asks: \"snow\" must be skin, wet-soil, rain, late-blight or rot-seen")]
    [InlineData("\"asks\": [\"rain\"],", "", "field asks: is missing")]
    [InlineData("\"cull\": [\"rot\", \"other\"]", "\"cull\": [\"rot\", \"rot\"]", "field cull: has a word twice")]
    [InlineData("\"sprouts\": \"plain\"", "\"sprouts\": true", "field sprouts: must be a text")]
    [InlineData("\"percent\": 7", "\"percent\": 70", "field shriveled.percent: must be a number from 1 to 50")]
    [InlineData("\"name\"", "\"canningProcess\": \"steam\", \"name\"", "field canningProcess: \"steam\" must be pressure, fruit or pickle")]
    [InlineData("\"name\"", "\"curing\": { \"rule\": \"none\", \"temperature\": \"10 C\", \"humidity\": \"85 %\", \"days\": \"7\", \"source\": \"x\" }, \"name\"",
        "field curing.rule: a crop that is not cured has no curing at all")]
    [InlineData("\"name\"", "\"greensInLight\": { \"source\": \"assumed\" }, \"name\"", "field greensInLight.value: must be true or false")]
    [InlineData("\"name\"", "\"bushel\": { \"pounds\": 0, \"source\": \"assumed\" }, \"name\"",
        "field bushel.pounds: must be a number above 0")]
    [InlineData("\"name\"", "\"bushel\": { \"pounds\": \"50\", \"source\": \"assumed\" }, \"name\"",
        "field bushel.pounds: must be a number above 0")]
    [InlineData("\"name\"", "\"bushel\": { \"source\": \"assumed\" }, \"name\"", "field bushel.pounds: must be a number above 0")]
    [InlineData("\"name\"", "\"bushel\": 50, \"name\"", "field bushel: must hold pounds, source")]
    [InlineData("\"name\"", "\"early\": { \"days\": 30, \"source\": \"x\" }, \"name\"", "field early: must hold percent, freshNgPerKgPaS or both")]
    [InlineData("\"name\"", "\"early\": { \"percent\": 4, \"source\": \"x\" }, \"name\"", "field early.days: must be a number from 1 to 365")]
    [InlineData("\"name\"", "\"early\": { \"percent\": 40, \"days\": 30, \"source\": \"x\" }, \"name\"", "field early.percent: must be a number from 0.1 to 20")]
    [InlineData("\"name\"", "\"early\": { \"percent\": 4, \"days\": 30 }, \"name\"", "field early.source: is missing")]
    [InlineData("\"name\"", "\"spread\": { \"factor\": 9, \"source\": \"x\" }, \"name\"", "field spread.factor: must be a number from 1.3 to 4")]
    [InlineData("\"waterPercent\": 89.7, ", "", "field thermal.waterPercent: must be a number from 2 to 100")]
    [InlineData("\"waterPercent\": 89.7", "\"waterPercent\": \"89.7\"", "field thermal.waterPercent: must be a number from 2 to 100")]
    [InlineData("\"waterPercent\"", "\"dryPercent\": 10, \"waterPercent\"",
        "field thermal.dryPercent: is not known here; known are waterPercent, ")]
    [InlineData("\"ideal\"", "\"note\": \"x\", \"idael\"", "field idael: is not known here")]
    [InlineData("test-root", "Test Root", "\"Test Root\" must be small letters, digits and single hyphens")]
    [InlineData("\"test-root\"", "3", "Crop table, row 1, field id: must be a text")]
    public void A_wrong_row_is_named_with_its_field_and_what_would_be_right(string right, string wrong, string says)
    {
        string json = $"[{Row}]".Replace(right, wrong, StringComparison.Ordinal);
        json.Should().NotBe($"[{Row}]");
        FluentActions.Invoking(() => CropTable.Parse(json)).Should().Throw<FormatException>().Which.Message.Should().Contain(says);
    }

    [Theory]
    [InlineData("\"90 to 95 %\"", "\"0 to 100 %\"")]
    [InlineData("\"waterPercent\": 89.7", "\"waterPercent\": 100")]
    [InlineData("\"waterPercent\": 89.7", "\"waterPercent\": 2")]
    public void The_ends_of_what_is_possible_are_possible(string right, string end) =>
        CropTable.Parse($"[{Row}]".Replace(right, end, StringComparison.Ordinal)).Crops.Should().ContainSingle();

    [Fact]
    public void A_row_may_say_what_few_crops_need()
    {
        const string more = """
            "aliases": ["rooty"], "food": false, "canningProcess": "fruit",
            "curing": { "rule": "rind", "temperature": "10 C", "humidity": "85 %", "days": "7 to 21", "source": "cured" },
            "otherStorage": [{ "for": "seed", "temperature": "3 C", "humidity": "90 %", "source": "other" }],
            "chilling": { "below": "50 F", "source": "chilled" },
            "ethyleneEffect": { "text": "turns bitter", "source": "bitter" },
            "greensInLight": { "value": true, "source": "green" },
            "canning": [{ "as": "cubed", "poundsPer7LiquidQuarts": 14, "poundsPer9LiquidPints": 9,
                "container": "a jar", "source": "canned" }],
            "bushel": { "pounds": 50, "source": "bushelled" }, "bulkDensity": { "from": "640 to 690 kg/m3", "source": "piled" },
            "name"
            """;
        var crop = CropTable.Parse($"[{Row.Replace("\"name\"", more, StringComparison.Ordinal)}]").Find("rooty")!;
        (crop.GreensInLight, crop.GreensInLightSource).Should().Be((true, "green"));
        (crop.Food, crop.Canned, crop.Curing!.Rule).Should().Be((false, CanningProcess.Fruit, CuringRule.Rind));
        (crop.Harvest, crop.Sprouts, crop.Shriveled).Should().Be((Harvest.Dug, SproutKind.Plain, new Sourced(0.07, "assumed")));
        (crop.Curing.TemperatureLowC, crop.Curing.Source).Should().Be((10, "cured"));
        crop.OtherStorage.Single().Should().Match<StorageBand>(b => b.For == "seed" && b.TemperatureHighC == 3 && b.Source == "other");
        (crop.ChillingBelowC, crop.EthyleneEffect).Should().Be((10, new SourcedText("turns bitter", "bitter")));
        crop.Canning.Single().Should().Match<CanningYield>(
            c => c.As == "cubed" && c.PoundsPer7LiquidQuarts == 14 && c.PoundsPer9LiquidPints == 9 && c.Source == "canned");
        crop.BushelKg!.Value.Should().BeApproximately(22.68, 0.005);
        crop.BushelKg.Source.Should().Be("bushelled");
        (crop.BulkDensityLowKgPerM3!.Value, crop.BulkDensityHighKgPerM3!.Source).Should().Be((640, "piled"));
        crop.Sources.Should().Contain(["cured", "other", "assumed"]);
    }

    [Theory]
    [InlineData("{}", "must be a list of rows")]
    [InlineData("[ 3 ]", "must be { \"id\": ... }")]
    [InlineData("[ 3 ]", "row 1, field the whole row")]
    [InlineData("[ { ", "not JSON")]
    public void A_table_of_the_wrong_shape_is_refused(string json, string says) =>
        FluentActions.Invoking(() => CropTable.Parse(json)).Should().Throw<FormatException>().Which.Message.Should().Contain(says);

    [Fact]
    public void Two_rows_cannot_share_a_name() =>
        FluentActions.Invoking(() => CropTable.Parse($"[{Row},{Row}]")).Should().Throw<FormatException>()
            .Which.Message.Should().Contain("row 2 (test-root)").And.Contain("already names test-root");
}
