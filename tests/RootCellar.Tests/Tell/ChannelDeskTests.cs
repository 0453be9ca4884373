using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Households;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Tell;

/// <summary>Ways out that are set up while the service runs, and the test text that shows whether they work.</summary>
public sealed class ChannelDeskTests : IDisposable
{
    private static readonly MailSetUp Mail = new("mail.example.org", 587, "auto", null, null, "a@b.example");
    private static readonly PostSetUp Post =
        new("http://g.example/", "POST", new Dictionary<string, string>(), "text/plain", "{{ text }}");

    private readonly TempFolder folder = new();
    private readonly HttpClient http = new();
    private readonly TellOptions settings = new();

    public void Dispose()
    {
        http.Dispose();
        folder.Dispose();
    }

    [Fact]
    public void What_is_set_up_holds_at_once_and_after_the_next_start_and_the_one_before_is_let_go()
    {
        using var desk = Desk();
        desk.Names.Should().BeEmpty();
        desk.Save("mail", new ChannelSetUp(Mail, null, null));
        var first = desk.Find("mail")!;
        (first.Channel.Name, first.Channel.Timeout).Should().Be(("mail", TimeSpan.FromSeconds(30)));
        desk.Save("post", desk.SetUp with { Post = Post });
        desk.Save("modem", desk.SetUp with { Modem = new ModemSetUp() });
        desk.Names.Should().BeEquivalentTo("mail", "post", "modem");
        (desk.Find("mail"), first.Replaced.IsCancellationRequested).Should().Be((first, false), "nothing of it was changed");

        desk.Save("mail", desk.SetUp with { Mail = Mail with { Port = 25 } });
        first.Replaced.IsCancellationRequested.Should().BeTrue("texts that wait for it are tried anew");
        desk.Find("mail").Should().NotBeSameAs(first);
        using (var again = Desk())
        {
            again.Names.Should().BeEquivalentTo("mail", "post", "modem");
            again.SetUp.Mail!.Port.Should().Be(25);
            again.SetUp.Post!.Body.Should().Be("{{ text }}");
        }

        desk.Save("mail", desk.SetUp.Without("mail"));
        desk.Save("modem", desk.SetUp.Without("modem"));
        (desk.Find("mail"), string.Join(' ', desk.Names)).Should().Be((null, "post"));
        desk.Problem.Should().BeNull();
    }

    [Fact]
    public void What_the_settings_file_says_wins()
    {
        using (var desk = Desk())
        {
            foreach (var channel in ChannelDesk.All) desk.IsConfigured(channel).Should().BeFalse();
            desk.IsConfigured("console").Should().BeTrue("nobody sets it up");
            desk.Save("mail", new ChannelSetUp(Mail, Post, new ModemSetUp()));
        }

        (settings.Mail.Host, settings.Mail.TimeoutSeconds) = ("set.example.org", 7);
        (settings.Post.Url, settings.Post.TimeoutSeconds) = ("http://set.example/", 8);
        (settings.Modem.On, settings.Modem.TimeoutSeconds) = (true, 9);
        using var configured = Desk(new CapturingChannel());
        configured.Configured.Should().BeSameAs(settings);
        foreach (var channel in ChannelDesk.All) configured.IsConfigured(channel).Should().BeTrue();
        configured.Names.Should().BeEquivalentTo("captured", "mail", "post", "modem");
        ChannelDesk.All.Select(c => configured.Find(c)!.Channel.Timeout!.Value.Seconds).Should().Equal(7, 8, 9);
        settings.Mail.Host = settings.Post.Url = "";
        settings.Modem.On = false;
        foreach (var channel in ChannelDesk.All) configured.IsConfigured(channel).Should().BeFalse();
    }

    [Fact]
    public void A_file_that_cannot_be_read_is_said_and_set_aside_and_what_cannot_be_kept_changes_nothing()
    {
        var file = Path.Combine(folder.Path, "channels.json");
        File.WriteAllText(file, "{");
        using var desk = Desk();
        desk.Problem.Should().StartWith("How texts go out cannot be read (channels.json)");
        desk.Save("mail", new ChannelSetUp(Mail, null, null));
        desk.Problem.Should().BeNull();
        File.ReadAllText(file + ".bad").Should().Be("{");

        File.Delete(file);
        Directory.CreateDirectory(file);
        desk.Invoking(d => d.Save("mail", new ChannelSetUp())).Should().Throw<SystemException>();
        (desk.SetUp.Mail, desk.Find("mail") is null, desk.Find("mail")!.Replaced.IsCancellationRequested).Should().Be((Mail, false, false));
    }

    [Fact]
    public async Task A_test_text_says_what_the_other_side_said()
    {
        var (given, answer) = ("", Task.FromResult("250 ok"));
        using var desk = new ChannelDesk(new Answering(text =>
        {
            given = $"{text.Channel} {text.Recipient} {text.Priority} {text.Alarm}";
            text.Sms.Should().StartWith("RootCellar test").And.Contain("nothing to do");
            (text.Subject, text.CreatedAt).Should().Be(("RootCellar test", Sample.At));
            return answer;
        }));
        var test = new ChannelTest(desk, new HouseTime(Sample.At));
        var cancelled = TestContext.Current.CancellationToken;

        (await test.SendAsync("mail", "ann@example.org", cancelled)).Should().BeNull("it is not set up");
        (await test.SendAsync("answering", "ann", cancelled)).Should().Be((true, "250 ok"));
        given.Should().Be("answering ann low ");
        answer = Task.FromResult("");
        (await test.SendAsync("answering", "ann", cancelled)).Should().Be((true, "(nothing)"));
        answer = Task.FromException<string>(new RefusedException("the gateway answered 403", null));
        (await test.SendAsync("answering", "ann", cancelled)).Should().Be((false, "the gateway answered 403"));
        answer = Task.FromException<string>(new OperationCanceledException());
        (await test.SendAsync("answering", "ann", cancelled)).Should().Match<(bool Taken, string Words)?>(
            a => !a!.Value.Taken && a.Value.Words == "the other side did not answer in time");
        test.Sample("a", "b").Id.Should().HaveLength(32).And.NotBe(test.Sample("a", "b").Id);
    }

    [Fact]
    public async Task A_test_waits_no_longer_than_the_channel_may_take_and_goes_with_who_asked()
    {
        using var desk = new ChannelDesk(new Silent());
        var test = new ChannelTest(desk, TimeProvider.System);
        (await test.SendAsync("silent", "ann", TestContext.Current.CancellationToken))!.Value.Taken.Should().BeFalse();
        using var gone = new CancellationTokenSource();
        await gone.CancelAsync();
        await test.Awaiting(t => t.SendAsync("silent", "ann", gone.Token)).Should().ThrowAsync<OperationCanceledException>();
    }

    [Fact]
    public async Task A_text_that_waits_for_a_wrong_server_goes_out_by_the_right_one_once_it_is_set_up()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        var time = new HouseTime(Sample.At);
        await using var store = folder.Open(time);
        using var desk = Desk();
        // A port nobody listens on.
        desk.Save("post", new ChannelSetUp(null, Post with { Url = $"http://127.0.0.1:{Radio.FreePort()}/" }, null));
        using var outbox = new Outbox(desk, store, time, new TellMetrics(TestMeters.Factory), NullLogger<Outbox>.Instance, new TellPace { Time = time });
        await outbox.StartAsync(TestContext.Current.CancellationToken);
        var text = new Outgoing("m1", null, "post", "+1555", "high", "CELLAR 50F", "Too warm", "body", Sample.At);
        await store.WriteAsync(c => OutboxRows.SaveNew(c, text));
        outbox.Accept([text], Task.FromResult(true));
        await Sample.UntilAsync(() => outbox.Troubles.ContainsKey("post"));

        desk.Save("post", desk.SetUp with { Post = Post with { Url = $"http://{listener.LocalEndpoint}/" } });
        using (var client = await listener.AcceptTcpClientAsync(TestContext.Current.CancellationToken))
        {
            var got = new byte[2_000];
            var read = 0;
            while (!System.Text.Encoding.ASCII.GetString(got, 0, read).EndsWith("CELLAR 50F", StringComparison.Ordinal))
                read += await client.GetStream().ReadAsync(got.AsMemory(read), TestContext.Current.CancellationToken);
            await client.GetStream().WriteAsync("HTTP/1.1 204 OK\r\nConnection: close\r\n\r\n"u8.ToArray(), TestContext.Current.CancellationToken);
        }

        await Sample.UntilAsync(() => outbox.Underway == 0);
        store.Read(c => OutboxRows.Latest(c, 1)).Single().Should().Match<Outgoing>(
            r => r.State == OutgoingState.Sent && r.Attempts >= 2 && !r.MayBeRepeat);
        outbox.Troubles.Should().BeEmpty();
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    private ChannelDesk Desk(params IChannel[] others) =>
        new(settings, new KeptFile<ChannelSetUp>(folder.Path, "channels.json"), new ChannelMaker(http), others);

    private sealed class Answering(Func<Outgoing, Task<string>> answer) : IChannel
    {
        public string Name => "answering";

        public Task<string> SendAsync(Outgoing message, CancellationToken cancellationToken) => answer(message);
    }

    private sealed class Silent : IChannel
    {
        public string Name => "silent";

        public TimeSpan? Timeout => TimeSpan.FromMilliseconds(20);

        public async Task<string> SendAsync(Outgoing message, CancellationToken cancellationToken)
        {
            await Task.Delay(System.Threading.Timeout.Infinite, cancellationToken);
            return "";
        }
    }
}
