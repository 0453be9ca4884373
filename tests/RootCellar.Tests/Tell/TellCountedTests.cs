using System.Net.Sockets;
using MailKit.Net.Smtp;
using MailKit.Security;
using Polly.CircuitBreaker;
using Polly.Timeout;
using RootCellar.Tell;
using RootCellar.Tests.Households;

namespace RootCellar.Tests.Tell;

/// <summary>What becomes of texts is counted, by the names that dashboards lean on.</summary>
public sealed class TellCountedTests
{
    private static readonly (string Reason, Exception Why)[] Failures =
    [
        ("refused", new RefusedException("no", null)),
        ("refused", new SmtpCommandException(SmtpErrorCode.MessageNotAccepted, SmtpStatusCode.MailboxBusy, "")),
        ("refused", new AuthenticationException()), ("no answer", new TimeoutException()), ("no answer", new TimeoutRejectedException()),
        ("waiting", new BrokenCircuitException()), ("not reached", new HttpRequestException()), ("not reached", new IOException()),
        ("not reached", new SocketException()), ("other", new InvalidOperationException()),
    ];

    [Fact]
    public void What_becomes_of_a_text_is_counted_by_channel_and_reason()
    {
        TestMeters.Heard(meters =>
        {
            var metrics = new TellMetrics(meters);
            metrics.Tried("pigeon");
            metrics.GivenUp("pigeon");
            metrics.Told("pigeon", TimeSpan.FromMinutes(1.5));
        }).Should().Equal("rootcellar.texts.tried 1 channel=pigeon", "rootcellar.texts.given.up 1 channel=pigeon",
            "rootcellar.texts.latency 90s channel=pigeon");
        foreach (var (reason, why) in Failures)
        {
            TestMeters.Heard(meters => new TellMetrics(meters).Failed("pigeon", why)).Should()
                .Equal($"rootcellar.texts.failed 1 channel=pigeon reason={reason}");
        }
    }
}
