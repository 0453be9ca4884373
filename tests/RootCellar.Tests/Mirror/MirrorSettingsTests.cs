using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Mirror;

public sealed class MirrorSettingsTests : IDisposable
{
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Theory]
    [InlineData("""{"Url":"influx:8086","Org":"o","Bucket":"b"}""", "Mirror:Influx:Url: 'influx:8086' is not a web address")]
    [InlineData("""{"Url":"http://me:sesame@x","Org":"o","Bucket":"b"}""", "Mirror:Influx:Url has a user or password in it")]
    [InlineData("""{"Url":"http://x/?org=a","Org":"o","Bucket":"b"}""", "the address ends before any ? or #")]
    [InlineData("""{"Url":"http://x","Org":"o"}""", "Mirror:Influx:Bucket is missing")]
    [InlineData("""{"Url":"http://x","Bucket":"b"}""", "Mirror:Influx:Org is missing")]
    [InlineData("""{"Bucket":"b"}""", "Mirror:Influx:Bucket is set, but Mirror:Influx:Url is not")]
    [InlineData("""{"Url":"http://x","Org":"o","Bucket":"b","TokenFile":"/nowhere/token"}""",
        "Mirror:Influx:TokenFile: there is no file '/nowhere/token'")]
    [InlineData("""{"Url":"http://x","Org":"o","Bucket":"b","Token":"open sesame"}""", "Mirror:Influx:Token has a space")]
    [InlineData("""{"Url":"http://x","Org":"o","Bucket":"b","TimeoutSeconds":0}""",
        "Mirror:Influx:TimeoutSeconds: '0' must be from 1 to 600")]
    [InlineData("""{"Url":"http://x","Org":"o","Bucket":"b","Buckets":"c"}""", "Did you mean Mirror:Influx:Bucket?")]
    public void A_wrong_setting_is_named_with_what_would_be_right_and_no_secret_is_shown(string influx, string says)
    {
        var problems = Problems(influx);
        problems.Should().Contain(p => p.Contains(says, StringComparison.Ordinal)).And.NotContain(
            p => p.Contains("sesame", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("", "is empty")]
    [InlineData("two words", "has a space")]
    public void A_token_file_holds_the_token_and_nothing_else(string content, string says)
    {
        var file = Path.Combine(folder.Path, "token");
        File.WriteAllText(file, content);
        Problems($$"""{ "Url":"http://x","Org":"o","Bucket":"b","TokenFile":"{{file}}" }""").Should().ContainSingle().Which.Should()
            .Contain(says).And.NotContain("two words");
        File.WriteAllText(file, "abc==\n");
        Problems($$"""{ "Url":"http://x","Org":"o","Bucket":"b","TokenFile":"{{file}}" }""").Should().BeEmpty();
    }

    [Fact]
    public void Without_an_address_the_mirror_is_off_and_nothing_of_it_is_wrong()
    {
        Problems("{}").Should().BeEmpty();
        SettingsFile.Bind(SettingsFile.Load(folder.Path), []).Mirror.Influx.On.Should().BeFalse();
    }

    private List<string> Problems(string influx)
    {
        File.WriteAllText(Path.Combine(folder.Path, SettingsFile.Name), $$"""{ "Mirror": { "Influx": {{influx}} } }""");
        var problems = new List<string>();
        SettingsFile.Bind(SettingsFile.Load(folder.Path, problems: problems), problems);
        return problems;
    }
}
