using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Telling;

/// <summary>
/// What a text may be, said apart from the program's own table: 3GPP TS 23.038, section 6.2.1, the basic characters alone.
/// </summary>
public static class TextRules
{
    private const string Basic =
        "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà";

    /// <summary>The whole text of a curing room at 68F with no sensor outdoors.</summary>
    public const string TooWarm =
        @"^CURING ROOM 3F too warm \(68F\) since \d{1,2}:\d\d [ap]m\. Open door \+ vent only while it's under 60F out\.( Told [^.]+\.)?$";

    public static void ShouldFitOneText(this string text)
    {
        text.Length.Should().BeInRange(1, 160, text);
        text.Where(c => !Basic.Contains(c, StringComparison.Ordinal)).Should().BeEmpty(text);
    }

    public static string Text(this Call call) => (string)JsonNode.Parse(call.Body)!["text"]!;

    /// <summary>Makes the curing room's air right, then too warm, and waits for nothing.</summary>
    public static async Task WarmUpAsync(this RunningService service)
    {
        await MosquittoClients.PublishAsync(service.MqttPort, $"rootcellar/{Air.CuringRoom}/door", Air.Right, "-q", "1");
        await MosquittoClients.PublishAsync(service.MqttPort, $"rootcellar/{Air.CuringRoom}/door", Air.TooWarm, "-q", "1");
    }

    public static Task CoolDownAsync(this RunningService service) =>
        MosquittoClients.PublishAsync(service.MqttPort, $"rootcellar/{Air.CuringRoom}/door", Air.Right, "-q", "1");
}
