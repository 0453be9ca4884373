using RootCellar.Advice;
namespace RootCellar.Tell;

/// <summary>Marks a text whose story is not the plain one: it was long under way, or may have left before the service died.</summary>
internal static class Marks
{
    /// <summary>Later than this, "for 25 min" is no longer so (assumed).</summary>
    private static readonly TimeSpan LateAfter = TimeSpan.FromMinutes(15);

    public static Outgoing On(Outgoing message, DateTimeOffset now)
    {
        var late = now - message.CreatedAt;
        var mark = (late > LateAfter ? $" (late by {Wording.Duration(late)})" : "") + (message.MayBeRepeat ? " (may be a repeat)" : "");
        return mark.Length == 0 ? message : message with { Sms = Fitting(message.Sms, mark), Subject = message.Subject + mark };
    }

    // Still one text message: the end of the advice gives way.
    private static string Fitting(string text, string mark)
    {
        while (Gsm0338.Septets(text + mark) > Gsm0338.TextSeptets) text = text[..^1];
        return text + mark;
    }
}
