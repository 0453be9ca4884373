using System.Net;
using System.Net.Sockets;
using RootCellar.Tell;

namespace RootCellar.Tests.Tell;

/// <summary>Texts by HTTP, to a real server on the loopback address.</summary>
public sealed class PostChannelTests
{
    private static readonly Outgoing Text =
        new("id-1", "cellar-too-warm-7", "post", "+1555", "high", "Too \"warm\"", "Cellar", "Body", Messages.At);

    [Fact]
    public async Task A_text_is_one_request_in_the_form_the_gateway_wants()
    {
        var got = await AskAsync(new PostOptions { Headers = { ["X-Key"] = "secret" } }, Text);
        got.Should().StartWith("POST ").And.Contain("Content-Type: application/json").And.Contain("X-Key: secret").And.Contain(
            "Idempotency-Key: id-1")
            .And.EndWith("""{"to":"\u002B1555","text":"Too \u0022warm\u0022","alarm":"cellar-too-warm-7","priority":"high"}""");
        got = await AskAsync(
            new PostOptions { Method = "PUT", ContentType = "text/plain", BodyTemplate = "{{ id }} {{ subject }}: {{ text }}" }, Text);
        got.Should().StartWith("PUT ").And.Contain("Content-Type: text/plain").And.EndWith("id-1 Cellar: Too \"warm\"");
    }

    [Fact]
    public async Task What_the_gateway_says_against_it_is_said_and_its_wait_is_kept()
    {
        var refused = (await ((Func<Task>)(() => AskAsync(new PostOptions(), Text, "503 Out\r\nRetry-After: 90"))).Should()
            .ThrowAsync<RefusedException>()).Which;
        refused.Message.Should().Be("the gateway answered 503 Out");
        refused.RetryAfter.Should().Be(TimeSpan.FromSeconds(90));
    }

    [Theory]
    [InlineData("Content-Length: 6\r\n\r\n a\tb\r\n", "200 Fine a b")]
    [InlineData("Content-Length: 1000\r\n\r\nqueued", "200 Fine queued")] // broken off
    [InlineData("Content-Length: 0\r\n\r\n", "200 Fine")]
    public async Task What_the_gateway_answers_is_handed_on_and_a_text_it_took_is_taken_however_the_answer_ends(string answer, string said)
    {
        var cancelled = TestContext.Current.CancellationToken;
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        using var http = new HttpClient();
        var sending = new PostChannel(new PostOptions { Url = $"http://{listener.LocalEndpoint}/" }, http).SendAsync(Text, cancelled);
        using (var client = await listener.AcceptTcpClientAsync(cancelled))
        {
            var (got, read) = (new byte[4096], 0);
            while (!System.Text.Encoding.ASCII.GetString(got, 0, read).EndsWith("\"high\"}", StringComparison.Ordinal))
                read += await client.GetStream().ReadAsync(got.AsMemory(read), cancelled);
            await client.GetStream().WriteAsync(System.Text.Encoding.ASCII.GetBytes($"HTTP/1.1 200 Fine\r\n{answer}"), cancelled);
        }

        (await sending).Should().Be(said);
    }

    [Fact]
    public void A_template_that_cannot_be_read_is_named()
    {
        PostChannel.TemplateProblem("{{ text }}").Should().BeNull();
        PostChannel.TemplateProblem("{{ for }}").Should().NotBeNullOrEmpty();
        PostChannel.TemplateProblem("{{ for }}\n{{ 1 + }}").Should().Contain("; <input>(");
        var channel = new PostChannel(new PostOptions { TimeoutSeconds = 7 }, new HttpClient());
        (channel.Name, channel.Timeout).Should().Be(("post", TimeSpan.FromSeconds(7)));
    }

    /// <summary>What the far side got, to the letter.</summary>
    private static async Task<string> AskAsync(PostOptions options, Outgoing text, string answer = "204 OK")
    {
        var cancelled = TestContext.Current.CancellationToken;
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        options.Url = $"http://{listener.LocalEndpoint}/hook";
        using var http = new HttpClient();
        var sending = new PostChannel(options, http).SendAsync(text, cancelled);
        using var client = await listener.AcceptTcpClientAsync(cancelled);
        await using var stream = client.GetStream();
        var got = new System.Text.StringBuilder();
        var buffer = new byte[4096];
        while (!IsWhole(got.ToString()))
            got.Append(System.Text.Encoding.UTF8.GetString(buffer, 0, await stream.ReadAsync(buffer, cancelled)));
        await stream.WriteAsync(System.Text.Encoding.ASCII.GetBytes($"HTTP/1.1 {answer}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"),
            cancelled);
        await sending;
        return got.ToString();

        static bool IsWhole(string request)
        {
            var head = request.IndexOf("\r\n\r\n", StringComparison.Ordinal);
            if (head < 0) return false;
            var length = request.Split("\r\n")
                .Single(l => l.StartsWith("Content-Length: ", StringComparison.Ordinal))["Content-Length: ".Length..];
            return request.Length - head - 4 >= int.Parse(length, System.Globalization.CultureInfo.InvariantCulture);
        }
    }
}
