using RootCellar.Entry;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Entry;

public class EntryTests
{
    [Fact]
    public async Task The_passphrase_is_made_once_and_known_by_its_hash()
    {
        using var folder = new TempFolder();
        await using var store = folder.Open(new HouseTime(Sample.At));
        var passphrase = await store.WriteAsync(Passphrase.CreateIfMissing);
        passphrase.Should().MatchRegex("^([a-z]+-){4}[a-z]+$");
        (await store.WriteAsync(Passphrase.CreateIfMissing)).Should().BeNull();
        store.Text("SELECT value FROM meta WHERE key = 'passphrase_hash'").Should().NotContainAny(passphrase!.Split('-'));
        store.Read(c => Meta.Get(c, Meta.SensorPassword)).Should().Match(p => SensorSecret.IsLong(p));

        string[] right = [passphrase, passphrase.ToUpperInvariant(), passphrase.Replace('-', ' '),
            $"  {passphrase.Replace("-", "  ", StringComparison.Ordinal)} "];
        string[] wrong = ["", "-", passphrase + "-x", passphrase.Replace("-", "", StringComparison.Ordinal), passphrase[..^1]];
        right.Should().AllSatisfy(p => store.Read(c => Passphrase.IsRight(c, p)).Should().BeTrue());
        wrong.Should().AllSatisfy(p => store.Read(c => Passphrase.IsRight(c, p)).Should().BeFalse());

        await store.WriteAsync(c => Passphrase.Set(c, "blue door"));
        store.Read(c => Passphrase.IsRight(c, "Blue Door")).Should().BeTrue();
        store.Read(c => Passphrase.IsRight(c, passphrase)).Should().BeFalse();
    }

    [Fact]
    public async Task A_token_is_shown_once_has_one_owner_and_ends_when_removed()
    {
        using var folder = new TempFolder();
        await using var store = folder.Open(new HouseTime(Sample.At));
        store.Read(c => Passphrase.IsRight(c, "")).Should().BeFalse("there is none yet");
        var siren = await store.WriteAsync(c => Tokens.Add(c, "siren", Sample.At));
        siren.Should().MatchRegex("^rc_[0-9a-f]{64}$");
        (await store.WriteAsync(c => Tokens.Add(c, "siren", Sample.At))).Should().BeNull("the name is taken");
        store.Read(c => Tokens.Owner(c, siren!))!.Name.Should().Be("siren");
        store.Read(c => Tokens.Owner(c, siren!.ToUpperInvariant())).Should().BeNull();
        store.Read(Tokens.All).Should().Equal(new TokenView("siren", Sample.At));
        store.Text("SELECT hash FROM token").Should().NotContain(siren![3..]);
        (await store.WriteAsync(c => Tokens.Remove(c, "siren"))).Should().BeTrue();
        (await store.WriteAsync(c => Tokens.Remove(c, "siren"))).Should().BeFalse();
        store.Read(c => Tokens.Owner(c, siren)).Should().BeNull();
    }
}
