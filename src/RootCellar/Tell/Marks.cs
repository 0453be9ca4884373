using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Pages;

namespace RootCellar.Tell;

/// <summary>Marks a text whose story is not the plain one: it was long under way, or may have left before the service died.</summary>
internal static class Marks
{
    /// <summary>Later than this, "for 25 min" is no longer so (assumed).</summary>
    private static readonly TimeSpan LateAfter = TimeSpan.FromMinutes(15);

    public static Outgoing On(Outgoing message, DateTimeOffset now)
    {
        var late = now - message.DueAt;
        var mark = (late > LateAfter ? " " + Strings.TextLateBy.With(Wording.Duration(late)) : "") + (message.MayBeRepeat
            ? " " + Strings.TextRepeat : "");
        return mark.Length == 0 ? message : message with { Sms = Fitting(message, mark), Subject = message.Subject + mark };
    }

    /// <summary>
    /// The text with its mark, still one text message. Who was told gives way first. A text that may end in a caution goes without its
    /// mark rather than without that.
    /// </summary>
    public static string Fitting(Outgoing message, string mark)
    {
        var text = message.Sms;
        mark = Gsm0338.Fold(mark);
        if (Gsm0338.Septets(text + mark) <= Gsm0338.TextSeptets) return text + mark;
        if (ToldAt(text) is > 0 and var told) text = text[..told];
        // A number that is cut would be another alarm's.
        if (Gsm0338.Septets(text + mark) > Gsm0338.TextSeptets && AnswerAt(text) is > 0 and var answer) text = text[..answer];
        if (Gsm0338.Septets(text + mark) > Gsm0338.TextSeptets && (message.Said is not null || message.Priority == "urgent")) return text;
        while (Gsm0338.Septets(text + mark) > Gsm0338.TextSeptets) text = text[..^1];
        return text + mark;
    }

    /// <summary>
    /// The text with how to answer it, before who was told, who give way to it; without it where there is no room: "OK" alone serves as well
    /// while one text waits for an answer.
    /// </summary>
    public static string WithAnswer(string text, int code)
    {
        var answer = Gsm0338.Fold(" " + Strings.TextAnswer.With(code));
        var told = ToldAt(text) is > 0 and var at ? at : text.Length;
        if (Gsm0338.Septets(text + answer) <= Gsm0338.TextSeptets) return text.Insert(told, answer);
        return Gsm0338.Septets(text[..told] + answer) <= Gsm0338.TextSeptets ? text[..told] + answer : text;
    }

    private static int ToldAt(string text) =>
        text.LastIndexOf(Gsm0338.Fold(" " + Strings.TextTold.With("").TrimEnd('.')), StringComparison.Ordinal);

    private static int AnswerAt(string text) =>
        text.LastIndexOf(Gsm0338.Fold(" " + Strings.TextAnswer.With("").TrimEnd('.')), StringComparison.Ordinal);
}
