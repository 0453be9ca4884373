using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Readings;

/// <summary>How foreign topics are read: what the settings say, and what was set up while the service runs.</summary>
public sealed class MappingDeskTests : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly MqttOptions settings = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void What_is_set_up_holds_at_once_and_after_the_next_start_beside_what_the_settings_say()
    {
        settings.Mappings.Add(Of("set/1"));
        settings.Mappings.Add(Of("set/2"));
        var desk = Desk();
        var told = 0;
        desk.Changed += (_, _) => told++;
        var ids = desk.Add([Of("a"), Of("b")])!;
        ids.Should().HaveCount(2).And.OnlyHaveUniqueItems().And.AllSatisfy(i => i.Should().HaveLength(8));
        desk.InForce.Select(m => m.Topic).Should().Equal("set/1", "set/2", "a", "b");
        desk.Configured.Select(m => m.Id).Should().Equal("file-1", "file-2");
        told.Should().Be(1);
        Desk().Kept.Select(k => (k.Id, k.Mapping.Topic)).Should().Equal((ids[0], "a"), (ids[1], "b"));

        desk.Remove(["file-1", "nobody"]).Should().BeFalse("what the settings say stays");
        told.Should().Be(1);
        desk.Remove([ids[0]]).Should().BeTrue();
        (told, desk.Kept.Single().Id).Should().Be((2, ids[1]));
        Desk().InForce.Select(m => m.Topic).Should().Equal("set/1", "set/2", "b");
    }

    [Fact]
    public void There_are_400_at_most()
    {
        var desk = Desk();
        desk.Add([.. Enumerable.Range(0, 399).Select(i => Of($"t/{i}"))])!.Should().HaveCount(399);
        desk.Add([Of("a"), Of("b")]).Should().BeNull();
        desk.Add([Of("a")]).Should().NotBeNull();
        desk.Add([Of("b")]).Should().BeNull();
        Desk().Kept.Should().HaveCount(400);
    }

    [Fact]
    public void A_file_that_cannot_be_read_is_said_and_set_aside_by_the_next_change()
    {
        var file = Path.Combine(folder.Path, "mappings.json");
        File.WriteAllText(file, "[");
        var desk = Desk();
        desk.Problem.Should().Contain("mappings.json");
        desk.InForce.Should().BeEmpty();
        desk.Add([Of("a")]);
        desk.Problem.Should().BeNull();
        File.ReadAllText(file + ".bad").Should().Be("[");

        File.Delete(file);
        Directory.CreateDirectory(file);
        desk.Invoking(d => d.Add([Of("b")])).Should().Throw<SystemException>();
        desk.Kept.Should().HaveCount(1, "all is as it was");
    }

    private static Mapping Of(string topic) => new() { Topic = topic, Quantity = "temperature_c" };

    private MappingDesk Desk() => new(settings, new KeptFile<KeptMappings>(folder.Path, "mappings.json"));
}
