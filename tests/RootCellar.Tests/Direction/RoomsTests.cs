using ArchUnitNET.Domain;
using ArchUnitNET.Domain.Extensions;
using ArchUnitNET.Loader;
using RootCellar.Monitoring;

namespace RootCellar.Tests.Direction;

/// <summary>The rooms of the house stand in one order. A room may use those above it and none below.</summary>
public sealed class RoomsTests
{
    // From the first to the last. What a room may use stands above it.
    static readonly string[] Rooms =
    [
        "Diagnostics", "Household", "Storage", "Readings", "Places", "Ledger", "Lots", "Watch", "Advice", "Tell", "Monitoring", "Charts", "Report",
        "Mirror", "Entry", "Api", "Pages", "Demo", "", "Commands",
    ];

    static readonly Architecture House = new ArchLoader().LoadAssembly(typeof(ServiceHost).Assembly).Build();

    [Fact]
    public void No_room_uses_one_that_comes_after_it()
    {
        var back = from type in House.Types
                   where type.FullName.StartsWith("RootCellar", StringComparison.Ordinal)
                   let room = RoomOf(type)
                   from used in type.GetTypeDependencies()
                   where used.FullName.StartsWith("RootCellar.", StringComparison.Ordinal) && !used.FullName.StartsWith("RootCellar.Science", StringComparison.Ordinal)
                   let other = RoomOf(used)
                   where Array.IndexOf(Rooms, other) > Array.IndexOf(Rooms, room)
                   select $"{(room)} -> {other}: {type.FullName} -> {used.FullName}";
        File.WriteAllLines("/tmp/arrows", back.Distinct().Order(StringComparer.Ordinal));
        back.Distinct().Order(StringComparer.Ordinal).Should().BeEmpty();
    }

    static string RoomOf(IType type)
    {
        var parts = type.FullName.Split('.');
        return Array.Find(Rooms, room => room.Length > 0 && parts.Length > 2 && parts[1] == room) ?? "";
    }
}
