using ArchUnitNET.Domain;
using ArchUnitNET.Domain.Extensions;
using ArchUnitNET.Loader;

namespace RootCellar.Tests.Direction;

/// <summary>The rooms of the service stand in one order: a room may use those before it and none after it.</summary>
public sealed class RoomsTests
{
    // The root ("") is wiring: it uses all rooms, and only the commands, which start it, use the root.
    private static readonly string[] Rooms =
    [
        "Diagnostics", "Household", "Storage", "Tls", "Readings", "Places", "Ledger", "Lots", "Watch", "Advice", "Tell", "Monitoring", "Charts",
        "Report",
        "Mirror", "Entry", "Api", "Pages", "Demo", "", "Commands",
    ];

    private static readonly Architecture Program = new ArchLoader().LoadAssembly(typeof(ServiceHost).Assembly).Build();

    [Fact]
    public void No_room_uses_one_that_comes_after_it()
    {
        var arrows = Arrows();
        arrows.Where(a => Place(a.To) > Place(a.From)).Select(a => $"{a.From} -> {a.To}: {a.User} uses {a.Used}").Should().BeEmpty();
        // What was looked at is the whole of each type, its methods too.
        arrows.Should().Contain(a => a.From == "Pages" && a.To == "Ledger").And.Contain(a => a.From == "" && a.To == "Pages");
    }

    [Fact]
    public void Every_folder_is_a_room_of_the_list()
    {
        var found = Program.Types.Where(t => t.FullName.StartsWith("RootCellar.", StringComparison.Ordinal)).Select(RoomOf).Distinct();
        found.Should().BeEquivalentTo(Rooms);
    }

    private static List<(string From, string To, string User, string Used)> Arrows() =>
    [
        .. (from type in Program.Types
            where IsOurs(type)
            from used in type.GetTypeDependencies()
            where IsOurs(used) && RoomOf(used) != RoomOf(type)
            select (RoomOf(type), RoomOf(used), type.FullName, used.FullName)).Distinct().Order(),
    ];

    private static bool IsOurs(IType type) =>
        type.FullName.StartsWith("RootCellar.", StringComparison.Ordinal)
            && !type.FullName.StartsWith("RootCellar.Science.", StringComparison.Ordinal);

    private static int Place(string room) => Array.IndexOf(Rooms, room) is >= 0 and var place
        ? place : throw new InvalidOperationException($"No room {room}.");

    // RootCellar.Pages.Bins.BinLine is of Pages; RootCellar.ServiceHost of the root.
    private static string RoomOf(IType type) => type.FullName.Split('+')[0].Split('.') is [_, var room, _, ..] ? room : "";
}
