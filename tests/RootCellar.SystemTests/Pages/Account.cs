using System.Text.Json.Nodes;

namespace RootCellar.SystemTests.Pages;

/// <summary>Where everything of a lot is, in whole grams, as the API says it. Outs: by reason, as <c>eaten 1361, sold 9072</c>.</summary>
internal sealed record Account(long Dug, long OnHand, long Loose, long Shrink, string Outs)
{
    public static Account Of(JsonNode lot)
    {
        var book = lot["book"]!;
        var outs = book["outKg"]!.AsObject().OrderBy(o => o.Key, StringComparer.Ordinal)
            .Select(o => (Reason: o.Key, Grams: Grams(o.Value))).ToList();
        var account = new Account(Grams(book["dugKg"]), Grams(book["onHandKg"]), Grams(book["notInBinsKg"]), Grams(book["shrinkKg"]),
            string.Join(", ", outs.Select(o => $"{o.Reason} {o.Grams}")));
        account.Dug.Should()
            .Be(account.OnHand + account.Loose + account.Shrink + outs.Sum(o => o.Grams), $"lot {lot["lot"]} closes to the gram");
        return account;
    }

    /// <summary>A weight in pounds as the book keeps it; the pound is 453.59237 g by definition.</summary>
    public static long Lb(double pounds) => (long)Math.Round(pounds * 453.59237);

    public static long Grams(JsonNode? kg) => (long)Math.Round((double)kg! * 1000);
}
