using System.Globalization;
using RootCellar.Charts;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Pages.Bins;
using RootCellar.Pages.History;
using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Pages.Foreseen;

/// <summary>Puts a reading of what is ahead into words. No figure is made here.</summary>
internal sealed class AheadCards(AheadReading ahead, AheadCharts charts, AheadWords words, WayWords ways, Show show)
{
    // Sums by crop are told for today and in four, twelve and twenty-four weeks.
    private static readonly int[] Weeks = [0, 4, 12, 24];

    private const int Season = 12;

    private string Query => ahead.Hold is { } hold
        ? string.Create(CultureInfo.InvariantCulture, $"?c={hold.TemperatureC}&rh={hold.HumidityPercent}&at={ahead.At!.Value.ToUnixTimeSeconds()}")
        : $"?at={ahead.At!.Value.ToUnixTimeSeconds()}";

    public AheadAll All()
    {
        var cellar = ahead.Cellar!;
        var last = cellar.Present[Math.Min(Season, cellar.Present.Count - 1)];
        List<string> says = [Strings.AheadAllSays.With(show.About(cellar.Present[0].Kg), show.AboutBetween(last.Kg), show.Day(last.On))];
        if (cellar.Held is { } held)
            says.Add(words.Held(ahead.Hold!.Value, show.AboutBetween(held[Math.Min(Season, held.Count - 1)].Kg)));
        // Of one lot alone its own card says it.
        if (ahead.Lots is [var first, .., var end])
            says.Add(Strings.AheadFirstAndLast.With(Named(first), Until(first.Present.Lasts), Named(end), Until(end.Present.Lasts)));
        return new AheadAll(
            says,
            [Chart(AheadCharts.Weight, s => s.Kg), Chart(AheadCharts.Lasting, s => s.LastsKg)],
            [.. Weeks.Select(w => w == 0 ? Strings.Now : show.Day(cellar.Present[w].On))],
            [.. ahead.Crops.Select(c => new AheadCrop(CropWords.Name(c.Crop!), [.. Weeks.Select(w => show.Bare(c.Present[w].Kg))]))]);
    }

    public AheadOther Other(LotAhead lot) =>
        new(lot.Lot.Lot, Kind(lot), Until(lot.Present.Lasts));

    public AheadCard Card(LotAhead lot, IReadOnlyList<Place> places, int number) => new(
        lot,
        show.AboutBetween(lot.Present.Steps[0].Kg, lot.Lot.ScaleStepKg),
        lot.Present.Lasts is { By: not EndsBy.Frost, When.Likely: { } end } && end > show.Now
            ? Strings.AheadUntil.With(Until(lot.Present.Lasts)) : Until(lot.Present.Lasts),
        ways.Of(lot.Lot.Way, places),
        [.. Rows(lot)],
        [.. lot.Cautions.Select(c => (c is HoldCaution.Freezes or HoldCaution.NearFreezing, words.Caution(c, lot.Lot.Kind, ahead.Hold!.Value)))],
        Chart(lot, number));

    private IEnumerable<AheadRow> Rows(LotAhead lot)
    {
        var (now, held) = (lot.Present, lot.Held);
        bool frozen = held?.Lasts.By == EndsBy.Frost;
        if (now.Steps[0].HealedPercent is { } healed && now.Healed?.Likely > ahead.At)
        {
            yield return new AheadRow(Strings.Healing, Percent(healed), HarvestWords.Stage(lot.Lot.Stage, Science.Keeping.Curing.RuleOf(lot.Lot.Kind)), held is null ? null : Percent(healed));
            if (lot.Lot.Stage < HealingStage.Adequate && now.Fit is { } fit) yield return Dates(Strings.FitToMoveNow, fit, frozen ? null : held?.Fit);
            yield return Dates(Strings.AheadHealed, now.Healed, frozen ? null : held?.Healed);
        }

        int week = Math.Min(Season, Math.Min(now.Steps.Count, held?.Steps.Count ?? int.MaxValue) - 1);
        yield return new AheadRow(
            Strings.AheadWeightOn.With(show.Day(now.Steps[week].On)), show.About(now.Steps[week].Kg, lot.Lot.ScaleStepKg),
            show.Between(now.Steps[week].Kg, lot.Lot.ScaleStepKg), held is null ? null : show.About(held.Steps[week].Kg, lot.Lot.ScaleStepKg),
            held is null ? null : show.Between(held.Steps[week].Kg, lot.Lot.ScaleStepKg));
        if (lot.Lot.SproutsSeen && now.Sprouts?.Likely is { } seen)
            yield return new AheadRow(Strings.AheadSprouts, Strings.AheadSeenOn.With(show.Day(seen)));
        else if (now.Sprouts is { } sprouts) yield return Dates(Strings.SproutsPeep, sprouts, frozen ? null : held?.Sprouts);
        if (now.Sprouted is { } sprouted) yield return Dates(Strings.SproutedMost, sprouted, frozen ? null : held?.Sprouted);
        yield return new AheadRow(
            Strings.AheadLasts, words.Lasts(now.Lasts, ahead.Until), words.By(now.Lasts),
            held is null ? null : words.Lasts(held.Lasts, ahead.Until), held is null ? null : words.By(held.Lasts));
    }

    private AheadRow Dates(string what, When now, When? held) =>
        new(what, words.Day(now, ahead.Until), words.Between(now), held is null ? null : words.Day(held, ahead.Until),
            held is null ? null : words.Between(held));

    private AheadChart Chart(string figure, Func<CellarStep, Interval> kg)
    {
        var (cellar, spec) = (ahead.Cellar!, charts.Of(ahead, figure)!);
        return new AheadChart(
            "ahead-" + figure, spec, $"/charts/ahead/cellar/{figure}.svg{Query}",
            Says(spec.Title, kg(cellar.Present[0]), kg(cellar.Present[^1]), cellar.Present[^1].On, cellar.Held is { } h ? kg(h[^1]) : null),
            cellar.Held is null ? [Strings.AheadAsItGoes] : [Strings.AheadAsItGoes, Strings.AheadHeld],
            [.. cellar.Present.Select((s, i) => new AheadLine(
                s.At, s.On, cellar.Held is null ? [show.AboutBetween(kg(s))] : [show.AboutBetween(kg(s)), show.AboutBetween(kg(cellar.Held[i]))]))]);
    }

    private AheadChart Chart(LotAhead lot, int number)
    {
        var (spec, now, held, step) = (charts.Of(lot), lot.Present.Steps, lot.Held?.Steps, lot.Lot.ScaleStepKg);
        bool heals = now[0].HealedPercent < 100;
        List<string> columns = [Strings.AheadAsItGoes];
        if (held is not null) columns.Add(Strings.AheadHeld);
        if (heals) columns.Add(Strings.Healing);
        var longest = held?.Count > now.Count ? held : now;
        return new AheadChart(
            $"ahead-lot-{number}", spec, $"/charts/ahead{LotModel.Address(lot.Lot.Lot)}.svg{Query}",
            Says(spec.Title, now[0].Kg, now[^1].Kg, now[^1].On, held is null ? null : held[Math.Min(held.Count, now.Count) - 1].Kg, step),
            columns,
            [.. longest.Select((s, i) => new AheadLine(s.At, s.On, [.. Cells(i)]))]);

        IEnumerable<string> Cells(int i)
        {
            yield return i < now.Count ? show.AboutBetween(now[i].Kg, step) : "";
            if (held is not null) yield return i < held.Count ? show.AboutBetween(held[i].Kg, step) : "";
            if (heals) yield return i < now.Count && now[i].HealedPercent is { } healed ? Percent(healed) : "";
        }
    }

    /// <summary>The chart in one sentence, with a second for the air that is held.</summary>
    private string Says(string title, in Interval first, in Interval last, DateOnly on, Interval? held, double scaleStepKg = 0)
    {
        string says = Strings.AheadChartSays.With(title, show.About(first, scaleStepKg), show.AboutBetween(last, scaleStepKg), show.Day(on));
        return held is { } then && ahead.Hold is { } hold
            ? says + " " + words.Held(hold, show.AboutBetween(then, scaleStepKg)) : says;
    }

    /// <summary>Its variety, else its crop.</summary>
    public static string Kind(LotAhead lot) => lot.Lot.Variety ?? CropWords.Name(lot.Lot.Crop);

    private string Until(LastsUntil lasts) => words.Lasts(lasts, ahead.Until);

    private static string Named(LotAhead lot) => Strings.LotIs.With(NameRules.Seen(lot.Lot.Lot));

    private static string Percent(double value) => Units.Number(value, "0") + "\u00A0%";
}
