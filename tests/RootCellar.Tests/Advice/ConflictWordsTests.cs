using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Science.Crops;

namespace RootCellar.Tests.Advice;

public sealed class ConflictWordsTests
{
    [Theory]
    [InlineData("apple", "carrot", ConflictKind.Ethylene, "Ethylene from Apple: Carrot, topped turns bitter.",
        "Another room for Apple; else a closed box")]
    [InlineData("cabbage", "pear", ConflictKind.Ethylene, "yellows", "the air goes from Cabbage, late to Pear, European and out.")]
    [InlineData("potato", "apple", ConflictKind.Ethylene, "sprouts sooner", "Another room for Apple")]
    [InlineData("apple", "pear", ConflictKind.Ethylene, "each hastens the other", "take out what ripens first")]
    [InlineData("apple", "carrot", ConflictKind.Odour, "The smell of Carrot, topped gets into Apple.",
        "As for the ethylene of Apple: another room, or a closed, vented box for it.")]
    [InlineData("apple", "turnip", ConflictKind.Odour, "The smell of Turnip gets into Apple.", "Apple")]
    [InlineData("pear", "onion", ConflictKind.Odour, "The smell of Onion, dry gets into Pear, European.", "Pear, European")]
    [InlineData("onion", "beet", ConflictKind.Humidity, "15 % apart. Damp rots the one, dry air shrivels the other.",
        "hold the room dry for Onion, dry and pack Beet")]
    [InlineData(
        "sweet-potato", "potato", ConflictKind.Temperature, "5.6 C (10 F) apart; chilling injures Sweet potato below 12 C",
        "Another room for Sweet potato, a cool one in the house perhaps.")]
    [InlineData("potato", "winter-squash", ConflictKind.Temperature, "2.8 C (5 F) apart; chilling injures Winter squash below 10 C.",
        "Winter squash high up and Potato on the floor by the inlet")]
    public void Each_says_what_happens_to_which_crop_and_what_to_do_with_which(string a, string b, ConflictKind kind, string what,
        string toDo)
    {
        var conflict = Compatibility.Check([CropTable.Default.Find(a)!, CropTable.Default.Find(b)!]).Single(c => c.Kind == kind);
        conflict.What().Should().Contain(what);
        conflict.WhatToDo().Should().Contain(toDo);
    }

    [Theory]
    [InlineData("C", "Potato: 3.3 to 7.2 °C; Winter squash: 10 to 15.6 °C; 2.8 °C apart; chilling injures Winter squash below 10 °C.")]
    [InlineData("F", "Potato: 38 to 45 °F; Winter squash: 50 to 60 °F; 5 °F apart; chilling injures Winter squash below 50 °F.")]
    public void A_household_reads_it_in_its_own_degrees(string scale, string says)
    {
        var conflict = Compatibility.Check([CropTable.Default.Find("potato")!, CropTable.Default.Find("winter-squash")!])
            .Single(c => c.Kind == ConflictKind.Temperature);
        var show = new Show(new HouseholdOptions { Temperature = scale }, TimeProvider.System);
        conflict.What(show).Replace('\u00A0', ' ').Should().Be(says);
    }

    [Fact]
    public void Of_two_that_taint_each_other_the_other_way_is_not_forgotten()
    {
        var onion = CropTable.Default.Find("onion")!;
        var (weak, strong) = (Smells("weak", OdourLevel.Some), Smells("strong", OdourLevel.Strong));
        var conflict = Compatibility.Check([weak, strong]).Single();
        conflict.What().Should().Be("The smell of strong gets into weak, and the other way about.");
        conflict.WhatToDo().Should().StartWith("strong at the exhaust or in a closed, vented box, weak where the fresh air comes in");

        Crop Smells(string name, OdourLevel gives) => onion
            with
        { Id = name, Name = name, Aliases = [], Odours = new Odours(gives, OdourLevel.Strong, "test") };
    }
}
