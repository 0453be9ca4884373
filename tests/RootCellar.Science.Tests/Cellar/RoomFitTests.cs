using RootCellar.Science.Cellar;
using RootCellar.Science.Tests.Published;

namespace RootCellar.Science.Tests.Cellar;

public sealed class RoomFitTests
{
    [Fact]
    public void The_page_of_simulated_rooms_is_up_to_date() => GeneratedPage.MustBe("room.md", RoomFitPage.Page());
}
