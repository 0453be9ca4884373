using System.Globalization;
using RootCellar.Household;
using RootCellar.Tests.Storage;
using RootCellar.Tests.Tell;

namespace RootCellar.Tests.Languages;

public sealed class LanguageTests
{
    [Fact]
    public void What_a_file_lacks_or_has_wrong_is_said_in_english_and_named()
    {
        using var folder = new TempFolder();
        Lay(
            folder, ("Now", "Ahora"), ("OpenCount", "{0} de {1} abiertas"), ("Range", "{0} a {1"), ("Alarms", ""),
                ("ShortMonthNames", "ene feb mar"), ("Nothing", "Nada"),
            ("crop.potato", "Papa"), ("crop.moonfruit", "Luna"), ("ShortDayNames", "dom lun mar mié jue vie sáb"));
        var language = Language.Of(new HouseholdOptions { Language = "pt" }, folder.Path);
        language.Problems.Select(p => p.Split(',', ':')[1].Trim()).Should().Equal("OpenCount", "Range", "Alarms", "ShortMonthNames",
            "Nothing", "crop.moonfruit");
        language.Speak();
        (Strings.Now, Strings.OpenCount, Strings.Alarms, Strings.Sensors,
            Strings.Language).Should().Be(("Ahora", "{0} open", "Alarms", "Sensors", "pt"));
        (CropWords.Name("potato"), CropWords.Name("onion")).Should().Be(("Papa", "Onion, dry"));
        new DateTime(2025, 10, 4, 0, 0, 0, DateTimeKind.Unspecified).ToString("ddd d MMM",
            CultureInfo.CurrentCulture).Should().Be("sáb 4 Oct");
    }

    [Theory]
    [InlineData(null)]
    [InlineData("<root><data")]
    public void Without_a_file_that_can_be_read_it_is_english_and_says_so(string? file)
    {
        using var folder = new TempFolder();
        Directory.CreateDirectory(Path.Combine(folder.Path, Language.Folder));
        if (file is not null) File.WriteAllText(Path.Combine(folder.Path, Language.Folder, "pt.resx"), file);
        var language = Language.Of(new HouseholdOptions { Language = "pt" }, folder.Path);
        language.Problems.Should().ContainSingle().Which.Should().Contain("pt.resx");
        language.Speak();
        Strings.Now.Should().Be("Now");
    }

    [Fact]
    public void Nothing_is_wrong_with_a_file_of_all_the_strings()
    {
        using var folder = new TempFolder();
        PseudoLanguage.Write(folder.Path);
        Language.Of(new HouseholdOptions { Language = PseudoLanguage.Code }, folder.Path).Problems.Should().BeEmpty();
    }

    [Theory]
    [InlineData(0.5)]
    [InlineData(3)]
    [InlineData(26)]
    [InlineData(75)]
    public void Every_text_of_every_rule_is_in_the_language(double hours)
    {
        using var folder = new TempFolder();
        PseudoLanguage.Write(folder.Path);
        Language.Of(new HouseholdOptions { Language = PseudoLanguage.Code }, folder.Path).Speak();
        var renderer = Messages.Renderer();
        foreach (var (change, place) in Messages.All(TimeSpan.FromHours(hours), "cellar/zz4", "zz"))
        {
            foreach (var late in new[] { false, true })
            {
                var text = renderer.Render(change, place with { Name = "zz" }, Messages.Held, mayBeRepeat: late, late: late);
                foreach (var said in new[] { text.Sms, text.Subject, text.Body })
                    PseudoLanguage.Strange(said).Should().BeEmpty($"{change.After.Rule} {change.Tell}: {said}");
            }
        }
    }

    private static void Lay(TempFolder folder, params (string Key, string Said)[] words)
    {
        Directory.CreateDirectory(Path.Combine(folder.Path, Language.Folder));
        File.WriteAllText(
            Path.Combine(folder.Path, Language.Folder, "pt.resx"),
            "<root>" + string.Concat(words.Select(w =>
                $"<data name=\"{w.Key}\" xml:space=\"preserve\"><value>{w.Said}</value></data>")) + "</root>");
    }
}
