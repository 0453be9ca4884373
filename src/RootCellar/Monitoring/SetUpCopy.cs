using System.Text.Json;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Monitoring;

/// <summary>
/// A copy of places, sensors, contacts and who may connect beside the record, written whenever they change and read only when the record
/// cannot be opened: so that alarms are still judged and sent on the day the card fails. Never the truth.
/// </summary>
internal sealed record SetUpCopy(IReadOnlyList<Place> Places, IReadOnlyList<SensorRow> Sensors, IReadOnlyList<Contact> Contacts,
    string? SensorPassword = null, DoorFacts? Door = null)
{
    public const string Name = DataFolder.SetUpCopy;

    public static SetUpCopy? Read(string folder)
    {
        try
        {
            return JsonSerializer.Deserialize<SetUpCopy>(File.ReadAllText(Path.Combine(folder, Name)), JsonRules.Options);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException)
        {
            return null;
        }
    }

    public void Write(string folder) => DiskSync.WriteWhole(
        Path.Combine(folder, Name), stream => JsonSerializer.Serialize(stream, this, JsonRules.Options));
}
