using RootCellar.Household;

namespace RootCellar.Report;

/// <summary>A figure that a report says of a lot, a place or the house. Names are part of the API.</summary>
internal enum WeekFigure
{
    Filled,
    TakenOut,
    Culled,
    Shrink,
    AtEnd,
    BookAtEnd,
    TooWarm,
    TooCold,
    TooDry,
    TooDamp,
    AlarmsRaised,
}

/// <summary>One figure of a report by itself, to be held against the same figure once more is known.</summary>
/// <param name="About">Which lot or place; empty for the house.</param>
/// <param name="Value">kg of lots, hours out of the band of places, a count of alarms.</param>
/// <param name="Off">What an estimate may be off, kg; 0 where it is no estimate.</param>
internal sealed record SaidFigure(WeekFigure Figure, string About, double Value, double Off = 0)
{
    public static bool IsOfPlace(WeekFigure figure) =>
        figure is WeekFigure.TooWarm or WeekFigure.TooCold or WeekFigure.TooDry or WeekFigure.TooDamp;

    /// <summary>All that are not nought: what is missing is nought.</summary>
    public static IReadOnlyList<SaidFigure> Of(WeekFigures week) =>
    [
        .. week.Lots.SelectMany(Of).Concat(week.Places.SelectMany(Of))
            .Append(new SaidFigure(WeekFigure.AlarmsRaised, "", week.Alarms.Raised)).Where(f => f.Value != 0),
    ];

    private static IEnumerable<SaidFigure> Of(LotWeek l) =>
    [
        new(WeekFigure.Filled, l.Lot, l.Book.InGrams / 1000.0),
        new(WeekFigure.TakenOut, l.Lot, (l.Book.OutGrams - l.Book.CulledGrams) / 1000.0),
        new(WeekFigure.Culled, l.Lot, l.Book.CulledGrams / 1000.0),
        new(WeekFigure.Shrink, l.Lot, l.Estimate.ShrinkGrams / 1000.0, l.Estimate.ShrinkKg is { } s ? (s.High - s.Low) / 2 : 0),
        new(WeekFigure.AtEnd, l.Lot, l.Estimate.EndGrams / 1000.0, l.Estimate.EndKg is { } e ? (e.High - e.Low) / 2 : 0),
        new(WeekFigure.BookAtEnd, l.Lot, l.Book.EndGrams / 1000.0),
    ];

    private static IEnumerable<SaidFigure> Of(PlaceWeek p) =>
    [
        new(WeekFigure.TooWarm, p.Place.Id, p.Temperature?.Above?.Hours ?? 0),
        new(WeekFigure.TooCold, p.Place.Id, p.Temperature?.Below?.Hours ?? 0),
        new(WeekFigure.TooDry, p.Place.Id, p.Humidity?.Below?.Hours ?? 0),
        new(WeekFigure.TooDamp, p.Place.Id, p.Humidity?.Above?.Hours ?? 0),
    ];
}
