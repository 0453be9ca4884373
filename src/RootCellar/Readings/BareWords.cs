using System.Buffers;
using System.Text;

namespace RootCellar.Readings;

/// <summary>
/// What printf makes of a failed read, standing in JSON without quotes: nan, -inf, Infinity. That is not JSON, but the other values of such
/// a message are sound; with the word in quotes the message can be read, and the one value is a reading that is not believed.
/// </summary>
internal static class BareWords
{
    /// <summary>The payload with each such word in quotes; null when there is none.</summary>
    public static byte[]? Quoted(ReadOnlySpan<byte> payload)
    {
        var quoted = new ArrayBufferWriter<byte>(payload.Length + 16);
        var found = false;
        for (var at = 0; at < payload.Length;)
        {
            var length = payload[at] == (byte)'"' ? TextAt(payload[at..]) : WordAt(payload[at..]);
            var part = payload.Slice(at, length);
            at += length;
            if (IsNotFinite(part))
            {
                found = true;
                quoted.Write("\""u8);
                quoted.Write(part);
                quoted.Write("\""u8);
            }
            else
            {
                quoted.Write(part);
            }
        }

        return found ? quoted.WrittenSpan.ToArray() : null;
    }

    /// <summary>Whether it is nan, inf or infinity, in any case and with a sign or without.</summary>
    public static bool IsNotFinite(ReadOnlySpan<byte> word)
    {
        if (word.Length > 0 && word[0] is (byte)'-' or (byte)'+') word = word[1..];
        return Ascii.EqualsIgnoreCase(word, "nan") || Ascii.EqualsIgnoreCase(word, "inf") || Ascii.EqualsIgnoreCase(word, "infinity");
    }

    // A text with its quotes; to the end where the closing one is missing.
    private static int TextAt(ReadOnlySpan<byte> rest)
    {
        for (var i = 1; i < rest.Length; i++)
        {
            if (rest[i] == (byte)'\\') i++;
            else if (rest[i] == (byte)'"') return i + 1;
        }

        return rest.Length;
    }

    // A number or a word, or one other sign.
    private static int WordAt(ReadOnlySpan<byte> rest)
    {
        var length = 0;
        while (length < rest.Length
            && (char.IsAsciiLetterOrDigit((char)rest[length]) || rest[length] is (byte)'-' or (byte)'+' or (byte)'.'))
            length++;
        return Math.Max(1, length);
    }
}
