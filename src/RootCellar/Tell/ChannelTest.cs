using RootCellar.Household;

namespace RootCellar.Tell;

/// <summary>Sends a text that says it is a test, there and then, and tells what the far side said.</summary>
internal sealed class ChannelTest(ChannelDesk desk, TimeProvider time)
{
    /// <summary>A text as any other, for tests and previews.</summary>
    public Outgoing Sample(string channel, string to)
    {
        var text = Gsm0338.Fold(Strings.TextTest);
        return new Outgoing(
            Guid.NewGuid().ToString("N"), null, channel, to, "low", text, Strings.TextTestSubject, Strings.TextTest, time.GetUtcNow());
    }

    /// <returns>Whether it was taken, and what was answered or went wrong; null where the channel is not set up.</returns>
    public async Task<(bool Taken, string Words)?> SendAsync(string channel, string to, CancellationToken cancellationToken)
    {
        if (desk.Find(channel)?.Channel is not { } way) return null;
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        patience.CancelAfter(way.Timeout ?? TimeSpan.FromSeconds(30));
        try
        {
            var answer = await way.SendAsync(Sample(channel, to), patience.Token);
            return (true, answer.Length > 0 ? answer : Strings.ChannelSaidNothing);
        }
        catch (OperationCanceledException) when (!cancellationToken.IsCancellationRequested)
        {
            return (false, Strings.ChannelSilent);
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            return (false, e.Message);
        }
    }
}
