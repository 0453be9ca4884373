using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Demo;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Demo;

/// <summary>The book of the demo's homestead, written through the real door beside the air its sensors measure.</summary>
public class HomesteadBookTests(ITestOutputHelper output)
{
    private static readonly DateTimeOffset AllTold = HomesteadBook.Deeds[^1].At.AddHours(1);

    [Fact]
    public void Deeds_stand_in_order_of_time() => HomesteadBook.Deeds.Select(d => d.At).Should().BeInAscendingOrder();

    /// <summary>The one weigh-in nobody could place is the only thing to be checked; everything else is taken without a question.</summary>
    [Theory]
    [InlineData(12)]
    [InlineData(1)]
    public async Task The_whole_season_is_taken_and_closes_to_the_gram(int days)
    {
        await using var farm = await Farm.OpenAsync(days);
        await farm.ToAsync(AllTold);

        farm.Book.Entries.Should().HaveCount(HomesteadBook.Deeds.Count);
        farm.Book.Entries.Where(e => e.Entry.Question is not null).Select(e => e.Entry.Note).Should().Equal("was this K7?");
        farm.Book.Doubts.Should().BeEmpty();
        foreach (var lot in farm.Book.Lots.Values)
        {
            var b = lot.Balance;
            output.WriteLine($"{lot.Id}: {b}");
            b.Gap.Should().Be(0, lot.Id);
            lot.Bins.Should().OnlyContain(bin => bin.Steps.Sum(s => s.Grams) == bin.Grams, lot.Id);
            if (lot.Id != "2026-S") b.ShrinkGrams.Should().BePositive("{0} was weighed or emptied, and everything loses weight", lot.Id);
        }
    }

    [Fact]
    public async Task When_history_ends_every_bin_has_its_estimate_and_each_lot_stands_where_the_story_wants_it()
    {
        await using var farm = await Farm.OpenAsync(12);
        var views = await farm.ToAsync(Homestead.HistoryEnd);
        foreach (var bin in views.UseFirst)
            output.WriteLine($"{bin.Bin,-3} {bin.Place,-12} book {bin.BookKg:0.00} est {bin.Kg.Value:0.00} ({bin.Kg.Low:0.00}-{bin.Kg.High:0.00}) x{bin.WaterMultiplier.Value:0.00} {bin.Stage} {bin.HealedDays:0.00} dark {bin.DarkHours:0} rest {bin.RestUsed?.Value:0.00} {bin.Advice.Code}: {bin.Advice.Text}");

        var live = farm.Book.AllBins.Where(b => b.EmptiedAt is null && b.Grams > 0).Select(b => b.Id).ToList();
        live.Should().HaveCountGreaterThanOrEqualTo(12).And.HaveCountLessThanOrEqualTo(25);
        views.Bins.Keys.Should().BeEquivalentTo(live);
        views.NotFollowed.Should().BeEmpty();
        views.Bins.Values.Should().OnlyContain(b => b.Questions.Count == 0, "the scale agrees with the air");

        views.MoveNow.Select(b => b.Bin).Should().Equal("Y1", "Y2", "Y3", "Y4", "Y5");
        views.Bins.Values.Where(b => b.Lot == "2026-2").Should().OnlyContain(b => b.Place == Homestead.Cellar && b.FitNow);
        views.Bins.Values.Where(b => b.Lot == "2026-4").Should().OnlyContain(b => b.Place == Homestead.CuringRoom && !b.FitNow);
        views.Bins["K4"].BookKg.Should().Be(24.9, "the misread weigh-in was put right");
        views.Bins["R3"].Advice.Code.Should().Be("rot-signs");

        // Dug before the first reading, and where nothing measures: said as dark.
        views.Bins["N3"].DarkHours.Should().BeInRange(32 * 24, 34 * 24);
        views.Bins["S1"].DarkSharePercent.Should().BeApproximately(100, 1e-6);
        views.Bins["K1"].DarkHours.Should().BeLessThan(1);
    }

    [Fact]
    public async Task The_kitchens_order_can_be_met_and_the_suppers_cannot()
    {
        await using var farm = await Farm.OpenAsync(12);
        var views = await farm.ToAsync(Homestead.HistoryEnd);
        var plans = AcrossBins.Promises(farm.Book, views).ToDictionary(p => p.Promise.Order, StringComparer.Ordinal);
        plans["school-kitchen"].OpenKg.Should().Be(40);
        plans["school-kitchen"].Answer.Should().Be(CanMeet.Yes);
        plans["harvest-supper"].Answer.Should().Be(CanMeet.No);
        plans["harvest-supper"].ShortKg.Should().BeInRange(4, 6);

        await farm.ToAsync(AllTold);
        farm.Book.Orders.Single(o => o.Order == "school-kitchen").OpenGrams.Should().Be(0);
    }

    /// <summary>
    /// The scale knows each lot's thirst, the service does not: weigh-ins bring it nearer to the truth than the published middle is.
    /// </summary>
    [Fact]
    public async Task Weigh_ins_teach_what_the_lot_truly_loses()
    {
        await using var farm = await Farm.OpenAsync(12);
        var views = await farm.ToAsync(AllTold);
        foreach (var (lot, bin) in new[] { ("2026-2", "K1"), ("2026-3", "Y1"), ("2026-4", "R1") })
        {
            var learned = views.Bins[bin].WaterMultiplier;
            var truth = HomesteadBook.WaterMultipliers[lot] * LotKnown.Prior(CropTable.Default.Find("potato")!, null, farm.Book.Lots[lot].Skin)!.WaterMultiplier;
            output.WriteLine($"{lot}: true {truth:0.00}, learned {learned.Value:0.00} ({learned.Low:0.00}-{learned.High:0.00})");
            truth.Should().BeInRange(learned.Low, learned.High, lot);
            // Never weighed it would be 4.6; weighed in the curing room, it takes the other room's sensor on trust. With two days of weighing
            // nothing is known yet of how far the scale's zero wanders: 3.62 it is.
            (learned.High / learned.Low).Should().BeLessThan(4, "the scale has taught something about {0}", lot);
        }
    }

    [Fact]
    public async Task With_a_day_of_air_what_came_before_it_is_dark_and_said_so()
    {
        await using var farm = await Farm.OpenAsync(1);
        var views = await farm.ToAsync(Homestead.HistoryEnd);
        views.Bins["K1"].DarkHours.Should().BeInRange(10.5 * 24, 11 * 24);
        views.Bins["K1"].Said.Should().Contain(s => s.Contains("nobody measured", StringComparison.Ordinal));
        views.Bins.Keys.Should().HaveCountGreaterThanOrEqualTo(12);
        views.Bins.Values.Should().OnlyContain(b => b.Kg.Low > 0 && b.Kg.Low <= b.Kg.Value && b.Kg.Value <= b.Kg.High);
    }

    /// <summary>A record with the homestead's places and air, its people writing into the ledger, and the keeper of the lots.</summary>
    private sealed class Farm : IAsyncDisposable
    {
        private readonly TempFolder folder = new();
        private readonly HouseTime time;
        private readonly Store store;
        private readonly LedgerDoor door;
        private readonly LotKeeper keeper;
        private readonly Writer writer;
        private readonly World world;

        private Farm(DateTimeOffset start)
        {
            time = new HouseTime(start);
            store = folder.Open(time);
            door = new LedgerDoor(store, time, new HouseholdOptions { TimeZone = Homestead.Zone.Id }, new LimitOptions(),
                NullLogger<LedgerDoor>.Instance)
            {
                KnownPlaces = () => [.. Homestead.Places.Select(p => p.Id)],
            };
            keeper = new LotKeeper(store, () => door.Book, new Announcements(), time, NullLogger<LotKeeper>.Instance);
            writer = new Writer(door);
            world = new World(start);
        }

        public Book Book => door.Book;

        public static async Task<Farm> OpenAsync(int days)
        {
            var farm = new Farm(Homestead.HistoryEnd - TimeSpan.FromDays(days));
            await farm.store.WriteAsync(c =>
            {
                foreach (var place in Homestead.Places) PlaceRows.Save(c, place);
            });
            await farm.writer.UpToAsync(farm.time.GetUtcNow());
            return farm;
        }

        /// <summary>Goes to an instant: the air of the way is kept, what is due is written, the lots are brought up to it.</summary>
        public async Task<LotViews> ToAsync(DateTimeOffset instant)
        {
            var from = time.GetUtcNow();
            await store.WriteAsync(c =>
            {
                for (var at = from; at < instant; at += TimeSpan.FromMinutes(5))
                {
                    var scene = world.AdvanceTo(at);
                    Save(Homestead.CuringRoom, scene.CuringRoom, Homestead.CuringShape);
                    Save(Homestead.Cellar, scene.Cellar, Homestead.CellarShape);

                    void Save(string place, RoomState room, RoomShape shape) =>
                        PlaceRows.SaveAir(c, new PlaceAir(place, at, room.AirC, room.RelativeHumidityPercent(shape), room.PulpC, null, null,
                            null, null, null, AirQuality.Good));
                }
            });
            while (writer.Next is { } next && next <= instant)
            {
                if (next > time.GetUtcNow()) time.Advance(next - time.GetUtcNow());
                await writer.UpToAsync(time.GetUtcNow());
            }

            time.Advance(instant.AddMinutes(1) - time.GetUtcNow());
            return await keeper.AdvanceAsync(TestContext.Current.CancellationToken);
        }

        public async ValueTask DisposeAsync()
        {
            keeper.Dispose();
            door.Dispose();
            await store.DisposeAsync();
            folder.Dispose();
        }
    }
}
