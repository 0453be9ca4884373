using System.ComponentModel;
using System.Globalization;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;

namespace RootCellar.Api;

/// <summary>What is ahead of every lot and of all of them together; the page Ahead shows the same reading.</summary>
internal static class AheadApi
{
    public static void Map(RouteGroupBuilder group) => group.MapGet("ahead", Of)
        .WithName("readAhead")
        .WithSummary("What is ahead: weights week by week, healing, first sprouts and until when each lot lasts; as it goes and if held.")
        .Produces<AheadShape>()
        // The days ahead are the household's: a new one is a new picture.
        .WithMetadata(new LargeAnswer(s => [s.GetRequiredService<AheadNow>().Key]));

    private static IResult Of(
        [Description("Air to be held beside the present course, C; with holdHumidityPercent.")] double? holdTemperatureC,
        [Description("Its humidity, percent; with holdTemperatureC.")] double? holdHumidityPercent,
        AheadNow ahead)
    {
        if (holdTemperatureC is null && holdHumidityPercent is null) return Results.Ok(AheadShape.Of(ahead.Of(null)));
        if (holdTemperatureC is not { } c || holdHumidityPercent is not { } percent)
            return ApiRoutes.Wrong("Air that is held has both: holdTemperatureC=4.4&holdHumidityPercent=92.");
        return Hold.Of(c, percent) is { } hold
            ? Results.Ok(AheadShape.Of(ahead.Of(hold)))
            : ApiRoutes.Wrong(string.Create(
                CultureInfo.InvariantCulture,
                $"No lot is reckoned in that air. Right: holdTemperatureC from {Hold.ColdestC} to {Hold.WarmestC}, holdHumidityPercent from {Hold.DriestPercent} to {Hold.DampestPercent}."));
    }
}
