using RootCellar.Household;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Tests.Tell;

/// <summary>The parts of answering a text: what was answered, by whom, and what to.</summary>
public sealed class AnswerTests
{
    [Theory]
    [InlineData("OK", null)]
    [InlineData("ok 12", 12)]
    [InlineData(" Okay, I'm on it", null)]
    [InlineData("O.K. 7!", 7)]
    [InlineData("Ok #3 thanks", 3)]
    [InlineData("12", 12)]
    [InlineData("12.", 12)]
    [InlineData("ok, there at 7", null)]
    [InlineData("OK12", 12)]
    public void What_says_ok_is_an_answer(string text, int? code) => AnswerWords.Read(text).Should().Be(new AnswerWords(code));

    [Theory]
    [InlineData("")]
    [InlineData("Okra at 7")]
    [InlineData("not ok")]
    [InlineData("12 bins moved")]
    [InlineData("ok 123456")]
    [InlineData("STOP")]
    public void Anything_else_is_none(string text) => AnswerWords.Read(text).Should().BeNull();

    [Theory]
    [InlineData("+15551234567", "+15551234567", true)]
    [InlineData("5551234567", "+15551234567", true)]
    [InlineData("01712345678", "+491712345678", true)]
    [InlineData("00491712345678", "+491712345678", true)]
    [InlineData("+15551234567", "+15551234568", false)]
    [InlineData("234567", "+15551234567", false)]
    [InlineData("1234567", "+15551234567", false)]
    [InlineData("551234567", "+49155551234567", false)]
    [InlineData("12345", "12345", true)]
    [InlineData("5551234567", "15551234567", false)]
    [InlineData("", "+15551234567", false)]
    public void A_number_is_the_contact_s_own_or_it_is_not(string a, string b, bool same)
    {
        PhoneNumber.IsSame(a, b).Should().Be(same);
        PhoneNumber.IsSame(b, a).Should().Be(same);
    }

    [Fact]
    public void Numbers_go_with_alarms_and_the_oldest_is_given_anew()
    {
        var book = new AnswerBook();
        (book.CodeOf("a"), book.CodeOf("b"), book.CodeOf("a")).Should().Be((1, 2, 1));
        for (var i = 3; i <= AnswerBook.Highest; i++) book.CodeOf("x" + i).Should().Be(i);
        book.CodeOf("late").Should().Be(1);
        book.CodeOf("b").Should().Be(2);
        book.CodeOf("a").Should().Be(2, "its number was given anew, and so was the next one's");
        book.CodeOf("b").Should().Be(3);

        var after = new AnswerBook();
        after.Put(Text("1", ["a"], 41));
        after.CodeOf("b").Should().Be(42, "what was sent before a restart keeps its number");
        after.CodeOf("a").Should().Be(41);
    }

    [Fact]
    public void What_waits_is_what_an_address_was_told_and_nobody_acknowledged_each_once()
    {
        var book = new AnswerBook();
        book.Put(Text("1", ["a"], 1));
        book.Put(Text("2", ["b", "a"], 2));
        book.Put(Text("3", ["c"], 3, to: "+2"));
        book.Put(Text("4", ["d"], 4));
        book.Put(Text("5", ["d"], null));
        book.Remove("4");
        Alarm[] open = [Open("a"), Open("b"), Open("c"), Open("d"), Open("e")];

        book.Waiting("+1", open).Should().ContainSingle().Which.Should().BeEquivalentTo(new { Code = 2, Alarms = new[] { open[1], open[0] } });
        book.Waiting("+1", [open[1].Acknowledge("Nell", Messages.At), open[0]]).Single().Alarms.Should().Equal(open[0]);
        book.Waiting("+2", open).Single().Code.Should().Be(3);
        book.Waiting("+3", open).Should().BeEmpty();
        book.Of("+1", 1).Should().Equal("a");
        book.Of("+1", 2).Should().Equal("b", "a");
        book.Of("+1", 3).Should().BeEmpty("that was told to somebody else");
        book.Of("+1", 4).Should().BeEmpty("that reached nobody");
    }

    [Fact]
    public void How_to_answer_stands_before_who_was_told_and_is_never_cut_in_two()
    {
        Marks.WithAnswer("CELLAR 9F too warm. 1 Shut it. Told Nell, Amos.", 12).Should().Be("CELLAR 9F too warm. 1 Shut it. Reply OK 12. Told Nell, Amos.");
        var full = "CELLAR " + new string('x', 134) + " Told Nell, Amos.";
        Marks.WithAnswer(full, 12).Should().Be(full[..141] + " Reply OK 12.", "who was told gives way");
        var fuller = new string('x', 155);
        Marks.WithAnswer(fuller, 12).Should().Be(fuller, "nothing else does");

        for (var length = 100; length <= 160; length++)
        {
            var text = Text("1", ["a"], 12) with { Priority = "low", Sms = Marks.WithAnswer(new string('x', length), 12) };
            var marked = Marks.Fitting(text, " (may be a repeat)");
            Gsm0338.Septets(marked).Should().BeLessThanOrEqualTo(Gsm0338.TextSeptets);
            (marked.Contains(" Reply OK 12.", StringComparison.Ordinal) || !marked.Contains("Reply", StringComparison.Ordinal)).Should().BeTrue(marked);
        }
    }

    [Fact]
    public void A_link_has_a_token_of_its_own_each_time_and_only_its_hash_is_kept()
    {
        var links = new AnswerLinks(() => new Uri("http://192.168.1.20:8080"));
        var mail = Text("1", ["a"], null, to: "nell@homestead.example") with { Channel = "mail", Body = "It is cold.\n" };
        var (kept, address) = links.Make(mail, Messages.At)!.Value;
        var token = address.AbsolutePath["/answer/".Length..];
        token.Should().HaveLength(AnswerLinks.TokenLength).And.MatchRegex("^[A-Za-z0-9_-]{32}$", "192 bits");
        kept.Answerable!.Links.Should().Equal(new AnswerLink(AnswerLinks.HashOf(token), Messages.At.AddHours(24)));
        System.Text.Json.JsonSerializer.Serialize(kept).Should().NotContain(token);
        AnswerLinks.With(kept, address).Body.Should().StartWith("It is cold.\n\n").And.Contain(address.ToString());
        var again = links.Make(kept, Messages.At)!.Value;
        again.Address.Should().NotBe(address);
        again.Kept.Answerable!.Links.Should().HaveCount(2, "a mail that came twice is answered by either");

        links.Make(mail with { Over = true }, Messages.At).Should().BeNull();
        links.Make(mail with { Answerable = null }, Messages.At).Should().BeNull();
        links.Make(mail with { Channel = "post" }, Messages.At).Should().BeNull();
        new AnswerLinks(() => null).Make(mail, Messages.At).Should().BeNull();
    }

    [Fact]
    public void A_reply_is_one_text()
    {
        var contact = new Contact("n", "Nell", ModemChannel.ChannelName, "+1", "all");
        var teller = new Teller(new TellOptions(), Messages.Renderer());
        var long_ = teller.Reply(contact, () => new string('é', 300), Messages.At).Sms;
        Gsm0338.Septets(long_).Should().Be(160);
        long_.Should().EndWith("...");
        teller.Reply(contact, () => "OK, Nell", Messages.At).Sms.Should().Be("OK, Nell");
    }

    private static Outgoing Text(string id, string[] alarms, int? code, string to = "+1") =>
        new(id, alarms[0], ModemChannel.ChannelName, to, "high", "x", "x", "x", Messages.At) { Answerable = new Answerable(alarms, code) };

    private static Alarm Open(string id) => new(id, 1, Rule.TooCold, "cellar", null, AlarmPriority.High, AlarmState.Unacknowledged, true, Measure.Air,
        1, 2, 1, Messages.At, Messages.At);
}
