using System.Collections;
using System.Globalization;
using System.Reflection;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Households;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;
using RootCellar.Tests.Tell;
using RootCellar.Watch;
using HouseLanguages = RootCellar.Household.Languages;

namespace RootCellar.Tests.Languages;

/// <summary>Spanish is in the program, whole: on the phone of whoever chose it, and in the texts of a contact who reads it.</summary>
public sealed partial class SpanishTests
{
    // The same word in both languages, or no word.
    private static readonly HashSet<string> Alike = new(StringComparer.Ordinal) { "Control", "Sensor", "Alarm", "Total", "Broker", "host", "port" };

    [Fact]
    public void Every_sentence_is_there_with_the_same_places_for_values()
    {
        Language.Of("es", new HouseholdOptions(), folder: null).Problems.Should().BeEmpty();
        var spanish = Shipped();
        var english = English();
        spanish.Keys.Where(k => !k.StartsWith("crop.", StringComparison.Ordinal)).Except(english.Keys).Should().BeEmpty("English has no such sentence");
        english.Keys.Except(spanish.Keys).Should().BeEmpty("Spanish lacks it");
        CropTable.Default.Crops.Where(c => !spanish.ContainsKey(CropWords.Key(c))
            || (c.EthyleneEffect is not null && !spanish.ContainsKey(CropWords.EthyleneKey(c)))).Should().BeEmpty();
        english.Where(e => !Values(e.Value).SetEquals(Values(spanish[e.Key]))).Select(e => $"{e.Key}: {e.Value} | {spanish[e.Key]}")
            .Should().BeEmpty();
    }

    [Fact]
    public void No_sentence_of_three_words_was_left_in_english()
    {
        var spanish = Shipped();
        English().Where(e => spanish[e.Key] == e.Value && Word().Matches(Value().Replace(e.Value, " ")).Count(w => !Alike.Contains(w.Value)) > 2)
            .Select(e => e.Key + ": " + e.Value).Should().BeEmpty();
    }

    [Theory]
    [InlineData(0.5)]
    [InlineData(26)]
    public void Every_text_fits_one_message_and_says_what_the_english_says(double hours)
    {
        var renderer = Messages.Renderer();
        var spanish = HouseLanguages.Shipped.Of("es");
        foreach (var (change, place) in Messages.All(TimeSpan.FromHours(hours)))
        {
            var english = renderer.Render(change, place, Messages.Held);
            var said = spanish.Say(() => renderer.Render(change, place, Messages.Held));
            Gsm0338.Septets(said.Sms).Should().BeLessThanOrEqualTo(Gsm0338.TextSeptets, said.Sms);
            said.Sms.Should().NotBe(english.Sms).And.NotMatchRegex(@"\w\?\w", "that is a letter no text message has");
            said.SaidInText.Select(f => f.Rule).Should().Equal(english.SaidInText.Select(f => f.Rule), said.Sms);
        }
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void What_is_added_to_a_text_later_fits_the_phones_alphabet(bool repeat)
    {
        var created = new DateTimeOffset(2025, 10, 4, 19, 0, 0, TimeSpan.Zero);
        var text = new Outgoing("1", null, "post", "+1", "low", "SOTANO a 68F.", "Sótano", "", created) { Language = "es", MayBeRepeat = repeat };
        var marked = HouseLanguages.Shipped.In(text.Language, () => Marks.On(text, created.AddDays(2).AddHours(3)));
        marked.Sms.Should().Contain("dias").And.Be(Gsm0338.Fold(marked.Sms));
        marked.Subject.Should().Contain("días");
    }

    [Fact]
    public async Task Each_contact_is_texted_in_the_language_they_read_and_the_others_in_the_households()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce(), new HouseTime(new DateTimeOffset(2025, 10, 4, 19, 0, 0, TimeSpan.Zero)));
        await farm.AskAsync(h =>
        {
            h.SaveContact(Contact("ann"));
            h.SaveContact(Contact("luz") with { Language = "es", MostADay = 1, AllIsWell = "daily", LowInTheMorning = true });
            return true;
        });
        await farm.GoAsync(5, 12);
        (await TextsAsync(farm, "ann")).Should().ContainSingle().Which.Should().Contain("too warm");
        (await TextsAsync(farm, "luz")).Should().ContainSingle().Which.Should().Contain("de mas").And.NotContain("too warm")
            .And.EndWith(HouseLanguages.Shipped.Of("es").Say(() => Gsm0338.Fold(Strings.TextLastToday)), "the mark on it is in her language too");
        await farm.GoAsync(5, 4);
        (await TextsAsync(farm, "ann")).Should().HaveCountGreaterThan(1);
        for (var hour = 0; hour < 12; hour++) farm.Time.Advance(TimeSpan.FromHours(1));
        await farm.GoAsync(5, 4);
        (await TextsAsync(farm, "luz")).Should().Contain(t => t.StartsWith("RootCellar anda", StringComparison.Ordinal));
        (await TextsAsync(farm, "luz")).Should().NotContain(t => t.Contains("fine", StringComparison.Ordinal)
            || t.Contains("no open alarm", StringComparison.Ordinal) || t.Contains("as of", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Whoever_holds_the_phone_chooses_and_no_other_phone_changes()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        using var luz = new Visitor(site);
        using var ann = await Visitor.HouseholdAsync(site);
        var door = await luz.GetAsync("/sign-in");
        door.Words.Should().Contain("Household passphrase").And.Contain("Español");
        var chosen = await luz.SendAsync("/language?returnUrl=%2Fsign-in", (await luz.GetAsync("/language")).Html, ("code", "es"));
        chosen.Location.Should().Be("/sign-in");
        (await luz.GetAsync("/sign-in")).Html.Should().Contain("<html lang=\"es\"").And.Contain("Frase de la casa");
        await luz.SignInAsync(site.Passphrase, "Luz");
        (await luz.GetAsync("/bins")).Words.Should().Contain("Cajas").And.NotContain("Bins");
        (await luz.GetAsync("/report")).Words.Should().NotContain("The week");
        (await ann.GetAsync("/bins")).Words.Should().Contain("Bins").And.NotContain("Cajas");
        (await ann.GetAsync("/report")).Html.Should().Contain("lang=\"en\"").And.NotContain("semana");

        // What is not offered changes nothing, and nobody is sent elsewhere.
        (await luz.SendAsync("/language?returnUrl=https%3A%2F%2Felsewhere.example", (await luz.GetAsync("/language")).Html, ("code", "xx"))).Location.Should().Be("/");
        (await luz.GetAsync("/bins")).Words.Should().Contain("Cajas");
    }

    [Fact]
    public async Task A_contacts_language_is_chosen_on_the_page_and_by_the_API_and_another_is_refused()
    {
        await using var site = await Site.OpenAsync();
        (await site.SendAsync("/set-up?handler=Contact", await site.ReadAsync("/set-up"), ("name", "Luz"), ("channel", "post"), ("address", "+15550100"),
            ("wants", "all"), ("language", "es"))).Status.Should().Be(System.Net.HttpStatusCode.Redirect);
        (await site.WordsAsync("/set-up")).Should().Contain("texts in Español");
        var listed = await site.ReadAsync("/api/contacts");
        listed.Should().Contain("\"language\":\"es\"");
        var id = Id().Match(listed).Groups["id"].Value;
        var refused = await site.SendJsonAsync(HttpMethod.Patch, "/api/contacts/" + id, """{"language":"de"}""");
        refused.Html.Should().Contain("is not one of en, es");
        (await site.SendJsonAsync(HttpMethod.Patch, "/api/contacts/" + id, """{"wants":"urgent"}""")).Html.Should().Contain("\"language\":\"es\"");
        (await site.SendJsonAsync(HttpMethod.Patch, "/api/contacts/" + id, """{"language":""}""")).Html.Should().Contain("\"language\":null");
    }

    [Fact]
    public void A_file_of_the_households_own_goes_before_what_is_in_the_program()
    {
        using var folder = new TempFolder();
        Directory.CreateDirectory(Path.Combine(folder.Path, Language.Folder));
        File.WriteAllText(Path.Combine(folder.Path, Language.Folder, "es.resx"),
            "<root><data name=\"Bins\"><value>Rejas</value></data></root>");
        var language = new HouseLanguages(new HouseholdOptions(), folder.Path).Of("es");
        language.Problems.Should().BeEmpty();
        language.Say(() => (Strings.Bins, Strings.Now)).Should().Be(("Rejas", "Ahora"));
    }

    private static Contact Contact(string name) => new(name, name, CapturingChannel.ChannelName, name, "all");

    private static async Task<IReadOnlyList<string>> TextsAsync(Farm farm, string to)
    {
        await farm.SettledAsync();
        return [.. farm.Store.Read(c => OutboxRows.Latest(c, 100)).Where(t => t.Recipient == to && t.State != OutgoingState.Held)
            .OrderBy(t => t.CreatedAt).Select(t => t.Sms)];
    }

    private static Dictionary<string, string> English() => Strings.ResourceManager.GetResourceSet(CultureInfo.InvariantCulture, true, true)!
        .Cast<DictionaryEntry>().ToDictionary(e => (string)e.Key, e => (string)e.Value!, StringComparer.Ordinal);

    private static Dictionary<string, string> Shipped()
    {
        using var file = typeof(Language).Assembly.GetManifestResourceStream("languages/es.resx")!;
        return XDocument.Load(file).Root!.Elements("data").ToDictionary(d => d.Attribute("name")!.Value, d => d.Element("value")!.Value, StringComparer.Ordinal);
    }

    private static HashSet<string> Values(string text) => Value().Matches(text).Select(m => m.Value).ToHashSet(StringComparer.Ordinal);

    [GeneratedRegex(@"\{[0-9][^}]*\}", RegexOptions.None, 1000)]
    private static partial Regex Value();

    [GeneratedRegex(@"\p{L}{3,}", RegexOptions.None, 1000)]
    private static partial Regex Word();

    [GeneratedRegex("\"id\":\"(?<id>[^\"]+)\"", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Id();
}
