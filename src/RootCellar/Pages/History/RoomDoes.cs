using System.Globalization;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Pages.History;

/// <summary>One thing a room does, with its words.</summary>
internal sealed record RoomLine(string Name, IReadOnlyList<string> Says);

/// <summary>The section of a place's page on what the room does.</summary>
/// <param name="Known">From what it is known.</param>
/// <param name="Load">What was typed, as it was typed.</param>
/// <param name="Problem">Why the load could not be read.</param>
internal sealed record RoomDoes(
    string Known, IReadOnlyList<RoomLine> Lines, bool VolumeMissing, string Load, string LoadAt, string? Problem)
{
    public bool AsksLoad => Problem is not null || Load.Length > 0;
}

/// <summary>Makes the section.</summary>
internal sealed class RoomDoesWords(RoomSums sums, RoomWords words, LotKeeper lots, Show show)
{
    /// <returns>Null outdoors and where nothing is held to anything.</returns>
    public RoomDoes? Of(PlaceView view, string? load, string? loadAt)
    {
        if (view.Place.Purpose == Purpose.Outdoors || view.Band is null) return null;
        (load, loadAt) = (load?.Trim() ?? "", loadAt?.Trim() ?? "");
        if (loadAt.Length == 0) loadAt = Units.Number(show.Degrees(RoomSums.UsualLoadC), "0");
        var problem = Read(load, loadAt, out var asked);
        var figures = sums.Of(view.Judgement, view.Band, lots.Views, asked);
        List<RoomLine> lines = [];
        Add(Strings.RoomDoor, words.Door(figures.Door) is { } door ? [door] : []);
        Add(Strings.RoomFloor, words.Floor(figures.Floor) is { } floor ? [floor] : []);
        Add(Strings.RoomLoad, words.Load(figures.Load));
        Add(Strings.RoomAir, words.BreathOut(figures.Breath));
        return new RoomDoes(RoomWords.Known(figures.Response), lines, figures.VolumeM3 is null, load, loadAt, problem);

        void Add(string name, IEnumerable<string> says)
        {
            List<string> all = [.. says];
            if (all.Count > 0) lines.Add(new RoomLine(name, all));
        }
    }

    private string? Read(string load, string loadAt, out LoadAsked? asked)
    {
        asked = null;
        if (load.Length == 0) return null;
        if (Number(load) is not { } weight) return Units.NotANumber(load);
        if (Number(loadAt) is not { } degrees) return Units.NotANumber(loadAt);
        var (kg, celsius) = (show.WeightKg(weight), show.Celsius(degrees));
        if (!RoomSums.CanBe(kg, celsius))
        {
            return Strings.RoomLoadWrong.With(
                show.Rough(RoomSums.MostKg), show.Temperature(RoomSums.ColdestLoadC), show.Temperature(RoomSums.WarmestLoadC));
        }

        asked = new LoadAsked(kg, celsius);
        return null;
    }

    private static double? Number(string text) =>
        Numerals.TryRead(text, out var number) ? number : null;
}
