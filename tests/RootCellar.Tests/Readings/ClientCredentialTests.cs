using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Readings;

/// <summary>Passwords of single clients in the record.</summary>
public sealed class ClientCredentialTests
{
    [Fact]
    public void A_password_is_kept_as_its_hash_until_another_takes_its_place_or_it_is_taken_away()
    {
        using var record = StoreFile.OpenForWriting("Data Source=:memory:", "memory");
        var scale = ClientCredentialRows.Put(record, ClientKind.Sensor, "cellar/scale", "h1", Sample.At);
        var siren = ClientCredentialRows.Put(record, ClientKind.Reader, "cellar/scale", "h2", Sample.At.AddHours(1));
        ClientCredentialRows.Used(record, scale, Sample.At.AddHours(2));
        ClientCredentialRows.Used(record, scale, Sample.At.AddHours(3));
        var old = new ClientCredential(scale, ClientKind.Sensor, "cellar/scale", "h1", Sample.At, Sample.At.AddHours(2));
        var reader = new ClientCredential(siren, ClientKind.Reader, "cellar/scale", "h2", Sample.At.AddHours(1), null);
        ClientCredentialRows.All(record).Should().Equal([reader, old], "only the first use is kept");

        ClientCredentialRows.Put(record, ClientKind.Sensor, "cellar/scale", "h3", Sample.At.AddHours(4)).Should().Be(scale);
        ClientCredentialRows.All(record).Should().Equal(reader, old with { Hash = "h3", CreatedAt = Sample.At.AddHours(4) });

        Meta.Set(record, Meta.SensorPassword, "new");
        Meta.Set(record, Meta.OldSensorPassword, "old");
        var facts = ClientCredentialRows.Facts(record);
        (facts.Password, facts.OldPassword, facts.SetUpFinished, facts.Credentials.Count).Should().Be(("new", "old", false, 2));
        Meta.Set(record, Meta.SetUpFinished, "1");
        ClientCredentialRows.Facts(record).SetUpFinished.Should().BeTrue();

        ClientCredentialRows.RemoveOfSensor(record, "cellar/scale");
        ClientCredentialRows.All(record).Should().Equal([reader], "a reader is no sensor");
        ClientCredentialRows.Remove(record, scale).Should().BeFalse();
        ClientCredentialRows.Remove(record, siren).Should().BeTrue();
        ClientCredentialRows.All(record).Should().BeEmpty();
    }
}
