using Microsoft.AspNetCore.Html;
using Microsoft.Data.Sqlite;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages.Look;
using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>A figure of a tile: the whole of it large, the rest small, where it goes, and where it lies in its furrow.</summary>
/// <param name="Least">Said where the sensor only knows that it is at least so much.</param>
/// <param name="Off">How far out of the band; null inside it.</param>
/// <param name="Way">Null where it is not known where it goes.</param>
/// <param name="Gauge">Null where there is no band.</param>
internal sealed record TileFigure(
    string Whole, string Rest, string? Least, string? Off, Meaning Meaning, AirWay? Way, IHtmlContent? Gauge);

/// <summary>A place on the Now page.</summary>
/// <param name="Word">The word beside its sign.</param>
/// <param name="Judged">One line: what is wrong; or else what stands there.</param>
internal sealed record PlaceTile(Place Place, Meaning Meaning, string Word, IReadOnlyList<TileFigure> Figures, string Judged)
{
    /// <summary>Something is beyond its limit and an alarm of it stands.</summary>
    public bool Trouble => Figures.Any(f => f.Meaning == Meaning.Now);
}

/// <summary>Makes the tiles of the Now page.</summary>
internal sealed class PlaceTiles(Show show, Store store, JudgementWords judgement, LotKeeper lots)
{
    public PlaceTile Of(PlaceView view, PlaceCard card)
    {
        var meaning = MeaningOf(card);
        return new PlaceTile(
            view.Place, meaning, Word(view, meaning), [.. Figures(view)], Judged(view, card, meaning));
    }

    /// <summary>What a card's level means.</summary>
    public static Meaning MeaningOf(PlaceCard card) => card.Level switch
    {
        "raised" => Meaning.Now,
        "known" => Meaning.Soon,
        "well" => Meaning.Well,
        _ => Meaning.Unknown,
    };

    private static string Word(PlaceView view, Meaning meaning) =>
        meaning == Meaning.Soon && view.Alarms.Any(a => a.Active) && view.Judgement.Findings.Any(f => f.Calls)
            ? Strings.SignKnown : Signs.Word(meaning);

    private string Judged(PlaceView view, PlaceCard card, Meaning meaning)
    {
        var wrong = judgement.Standing(view.Judgement, show.Now);
        if (wrong.Length > 0) return view.Alarms.Any(a => a.Active) && meaning == Meaning.Soon ? $"{wrong}. {card.Verdict}." : wrong;
        if (view.Emptied && meaning == Meaning.Unknown && view.Air is { Quality: not AirQuality.None })
            return $"{card.Verdict}. {Strings.EmptiedNote}";
        if (meaning is Meaning.Now or Meaning.Unknown) return card.Verdict;
        var bins = lots.Views.Bins.Values.Where(b => b.Place == view.Place.Id).ToList();
        var stands = bins.Count == 0 ? Strings.TileEmpty
            : (bins.Count == 1 ? Strings.TileOneBin : Strings.TileBins).With(show.Rough(bins.Sum(b => b.Kg.Value)), bins.Count);
        var more = card.Jobs.Count > 0 ? Strings.VerdictAirRight.With(card.Jobs.Count) : null;
        if (meaning == Meaning.Soon) more = card.Verdict;
        if (view.Air?.Quality == AirQuality.Thin) more = Strings.AirThin;
        return more is null ? stands : $"{stands} · {more}";
    }

    private IEnumerable<TileFigure> Figures(PlaceView view)
    {
        var air = view.Air is { Quality: not AirQuality.None } ? view.Air : null;
        if (view.Band is { FrostOnly: true })
        {
            // The weather says nothing of what lies under the cover.
            if (air?.ColdestProduce?.TemperatureC is not { } produce) yield break;
            yield return Figure(
                Strings.Pulp, produce, show.Temperature, null, v => Units.Number(show.Degrees(v), "0.#"), show.TemperatureUnit, Strings.Pulp,
                Measure.Pulp, null, view);
            yield break;
        }

        var band = view.Band?.Air;
        if (air is null && band is null) yield break;
        var (warms, wets) = air is null ? (null, null) : Ways(view.Place.Id, air);
        yield return Figure(
            Strings.Temperature, air?.TemperatureC, show.Temperature, band is null ? null : (band.TemperatureLowC, band.TemperatureHighC),
            v => Units.Number(show.Degrees(v), "0.#"), show.TemperatureUnit, least: null, Measure.Air, warms, view);
        yield return Figure(
            Strings.Humidity, air?.RelativeHumidityPercent, Show.Humidity,
            band is null ? null : (band.HumidityLowPercent, band.HumidityHighPercent), v => Units.Number(v, "0.#"), "%",
            air?.HumidityAtLeastPercent is null ? null : Strings.TileAtLeast, Measure.Humidity, wets, view);
    }

    private TileFigure Figure(
        string name, double? value, Func<double, string> say, (double Low, double High)? band, Func<double, string> limit, string unit,
        string? least, Measure measure, AirWay? way, PlaceView view)
    {
        if (value is not { } v)
        {
            return new TileFigure("–", "\u00A0" + unit, null, null, Meaning.Unknown, null, band is not { } b ? null
                : Furrow.Of(null, b.Low, b.High, limit(b.Low), limit(b.High), Meaning.Unknown,
                    Strings.TileNotKnown.With(name, Strings.Range.With(limit(b.Low), limit(b.High) + "\u00A0" + unit))));
        }

        var says = say(v);
        var cut = says.IndexOfAny(['.', ',', '\u00A0']);
        if (band is not { } wants) return new TileFigure(says[..cut], says[cut..], least, null, Meaning.Unknown, way, null);
        var wrong = view.Judgement.Findings.FirstOrDefault(f => f.Measure == measure && f.Calls);
        var outside = v < wants.Low || v > wants.High;
        var meaning = wrong?.Alarm is not null ? Meaning.Now : outside || wrong is not null ? Meaning.Soon : Meaning.Well;
        var wantsSays = Strings.Range.With(limit(wants.Low), limit(wants.High) + "\u00A0" + unit);
        return new TileFigure(
            says[..cut], says[cut..], least, outside ? show.Against(v, wants.Low, wants.High, measure == Measure.Air) : null, meaning, way,
            Furrow.Of(v, wants.Low, wants.High, limit(wants.Low), limit(wants.High), meaning,
                Strings.TileGauge.With(name, says, wantsSays, way is { } w ? AirWays.Word(w) : Strings.WayNotKnown)));
    }

    private (AirWay? Temperature, AirWay? Humidity) Ways(string place, PlaceAir now)
    {
        try
        {
            return AirWays.Of(store.Read(c => PlaceRows.Air(c, place, show.Now - AirWays.Back, show.Now)), now, show.Now);
        }
        catch (SqliteException)
        {
            // The banner says that the record is in trouble; the air now needs no record.
            return (null, null);
        }
    }
}
