
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

public class ProgressTests
{
    [Fact]
    public async Task Until_the_first_look_is_done_it_is_known_how_far_it_is()
    {
        await using var cellar = await WithRoomsAsync();
        cellar.Keeper.Progress.Should().BeNull("nothing is in a bin");
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(2), 5, 90);
        cellar.Book = Books.Of(Books.Lot("R1", Start, [Books.Bin("B1", Start, 20, (StoreRoom, Start))]));
        cellar.Keeper.Progress.Should().Be(0);
        (await cellar.AtAsync(Start.AddDays(2))).Bins.Should().ContainKey("B1");
        cellar.Keeper.Progress.Should().BeNull("every lot was looked at");
    }
}
