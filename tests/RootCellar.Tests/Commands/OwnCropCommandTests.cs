using System.Text.Json;
using RootCellar.Commands;
using RootCellar.Ledger;
using RootCellar.Tests.Ledger;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Commands;

/// <summary>The commands that speak of crops know those of the household whose data folder they are given.</summary>
public sealed class OwnCropCommandTests
{
    private const string Own = """
        // ours
        [ { "name": "Medlar", "like": "pear", "storage": { "temperature": "34 to 46 F", "humidity": "80 to 90 %" } },
          { "name": "Mashua", "like": "potato" }, { "name": "Salsola" } ]
        """;

    [Fact]
    public async Task Crops_of_the_file_are_listed_and_said_to_be_own()
    {
        using var folder = await FolderAsync(Own);
        var list = await Run("crops", "--data", folder.Path);
        list.Output.Should().ContainAll("Medlar (own, like pear)", "Salsola (own, known to the book only)", "Quince");
        using var json = JsonDocument.Parse((await Run("crops", "medlar", "--data", folder.Path, "--json")).Output);
        (json.RootElement.GetProperty("own").GetBoolean(), json.RootElement.GetProperty("like").GetString()).Should().Be((true, "pear"));
        using var table = JsonDocument.Parse((await Run("crops", "pear", "--data", folder.Path, "--json")).Output);
        table.RootElement.GetProperty("own").GetBoolean().Should().BeFalse();
        (await Run("crops", "salsola", "--data", folder.Path)).Output.Should().Contain("known to the book only");
        (await Run("crops", "--together", "medlar,carrot", "--data", folder.Path)).Output.Should().Contain("All keep at 1.1 to 4.4 C");
    }

    [Fact]
    public async Task An_outlook_is_made_of_them_and_says_what_they_are_reckoned_like()
    {
        using var folder = await FolderAsync(Own);
        (await Run("outlook", "--crop", "medlar", "--hold", "3C 85% 30d", "--data", folder.Path)).Output.Should()
            .Contain("Medlar (own, like pear), in crates");
        using var json = JsonDocument.Parse(
            (await Run("outlook", "--crop", "Medlar", "--hold", "3C 85% 3d", "--data", folder.Path, "--json")).Output);
        (json.RootElement.GetProperty("crop").GetString(), json.RootElement.GetProperty("own").GetBoolean()).Should().Be(("Medlar", true));
        var bookOnly = await Run("outlook", "--crop", "salsola", "--hold", "3C 85% 3d", "--data", folder.Path);
        (bookOnly.Code, bookOnly.Error).Should().Be((2, bookOnly.Error));
        bookOnly.Error.Should().Contain("known to the book only").And.Contain("say what it keeps like");
    }

    [Fact]
    public async Task What_a_page_described_is_known_too_and_the_file_says_it_last()
    {
        using var folder = new TempFolder();
        await using (var site = await Site.OpenAsync(record: folder))
            await site.WriteAsync("""[{"event":"crop-described","crop":"Medlar","like":"pear"}]""");
        (await Run("crops", "--data", folder.Path)).Output.Should().Contain("Medlar (own, like pear)");
        await WriteAsync(folder, """[ { "name": "Medlar", "like": "quince" } ]""");
        (await Run("crops", "--data", folder.Path)).Output.Should().Contain("Medlar (own, like quince)");
    }

    [Fact]
    public async Task Without_a_folder_the_table_is_all_there_is_and_what_cannot_be_read_is_named()
    {
        (await Run("crops", "medlar")).Error.Should().Contain("no crop is called \"medlar\"");
        var nowhere = await Run("crops", "--data", "/nowhere/at/all");
        (nowhere.Code, nowhere.Output).Should().Be((2, ""));
        nowhere.Error.Should().Contain("there is no folder /nowhere/at/all");
        using var folder = await FolderAsync("""[ { "name": "Medlar", "like": "peer" } ]""");
        foreach (var command in (string[][])[["crops"], ["outlook", "--crop", "potato", "--hold", "3C 85% 3d"]])
        {
            var ended = await Run([.. command, "--data", folder.Path]);
            (ended.Code, ended.Output).Should().Be((2, ""));
            ended.Error.Should().Contain("crops.json, row 1: Crop Medlar, field like: \"peer\"").And.Contain("Did you mean pear?");
        }
    }

    private static async Task<TempFolder> FolderAsync(string crops)
    {
        var folder = new TempFolder();
        await WriteAsync(folder, crops);
        return folder;
    }

    private static Task WriteAsync(TempFolder folder, string crops) =>
        File.WriteAllTextAsync(Path.Combine(folder.Path, OwnCropFile.Name), crops, TestContext.Current.CancellationToken);

    private static async Task<(int Code, string Output, string Error)> Run(params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        int code = await CommandLine.RunAsync(args, output, error, TestContext.Current.CancellationToken);
        return (code, output.ToString(), error.ToString());
    }
}
