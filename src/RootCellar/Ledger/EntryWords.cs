using System.Globalization;
using System.Text.Json;
using RootCellar.Household;
using RootCellar.Ledger.Events;
using RootCellar.Places;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>Entries of the book in the words of the pages and the household's units.</summary>
internal sealed class EntryWords(Show show)
{
    /// <summary>An entry as it stands; a correction says what it changed.</summary>
    public string Of(Book book, Standing standing, IReadOnlyList<Place> places)
    {
        if (standing.Entry.Of is not { } of)
            return standing.Event is { } told ? Say(book, told, places) : Raw(standing.Entry.Kind, standing.Fields);
        var target = book.Find(of)!;
        if (Correction.IsVoid(standing.Fields)) return Strings.TakenBack.With(Of(book, target, places));
        var before = LedgerSelection.Before(book, standing);
        var root = LedgerSelection.Root(book, standing).Entry.Kind;
        var (was, now) = (Say(book, root, before, places), Say(book, root, Correction.Merge(before, standing.Fields), places));
        return was == now ? Strings.PutRight.With(was) : Strings.PutRightTo.With(was, now);
    }

    public static string PlaceName(string? id, IReadOnlyList<Place> places) =>
        id is null ? Strings.NoPlaceGiven : places.FirstOrDefault(p => p.Id == id)?.Name ?? id;

    /// <summary>What a lot is, in two words: its variety where it has one, else its crop.</summary>
    public static string Kind(LotView lot) => lot.Variety ?? CropWords.Name(lot.Crop);

    public string Say(Book book, EventKind what, JsonElement fields, IReadOnlyList<Place> places) =>
        what.Read(Correction.OfItself(fields)) is { } told ? Say(book, told, places) : Raw(what, fields);

    private string Say(Book book, LedgerEvent told, IReadOnlyList<Place> places)
    {
        var parts = Parts(told, places).Where(p => !string.IsNullOrEmpty(p)).ToList();
        var name = told is Dug dug ? HarvestWords.Done(book.Crops.Find(dug.Crop)) : LogKinds.Name(told.Kind());
        return parts.Count == 0 ? name : Strings.EntryLine.With(name, string.Join(", ", parts));
    }

    /// <summary>What makes no sense is shown as it is.</summary>
    private static string Raw(EventKind what, JsonElement fields) => Strings.EntryLine.With(LogKinds.Name(what), fields.GetRawText());

    private IEnumerable<string?> Parts(LedgerEvent told, IReadOnlyList<Place> places) => told switch
    {
        Dug d => [Lot(d.Lot), CropWords.Name(d.Crop), d.Variety, d.Amount is { } amount ? Amount(amount, d.Kind()) : null, Word(d.Skin)],
        Filled f =>
        [
            Amount(f.Amount, f.Kind()), f.TareKg is { } empty ? Strings.TareIs.With(show.Weight(empty)) : null, Lot(f.Lot), Grade(f.Grade),
            f.Place is null ? null : To(f.Place, places), f.Lies is null ? null : LogKinds.Lies(f.Lies),
            f.PieceKg is { } piece ? Strings.PieceIs.With(Units.Number(show.PieceOf(piece), "0.#"), show.PieceUnit) : null,
        ],
        Moved m => [To(m.Place, places)],
        Weighed w => [Amount(w.Amount, w.Kind()), w.TareKg is { } tare ? Strings.TareIs.With(show.Weight(tare)) : null],
        Sorted s => [.. s.Into.Select(i => Strings.IntoIs.With(i.Bin, Amount(i.Amount, s.Kind()), i.Grade).Trim())],
        TakenOut o =>
        [
            Amount(o.Amount, o.Kind()), Word(o.Reason), o.Order is null ? null : Strings.OrderIs.With(o.Order),
            o.Empties ? Strings.NothingLeft : null,
        ],
        Promised p =>
        [
            Amount(p.Amount, p.Kind()), CropWords.Name(p.Crop), p.Due is { } due ? Strings.DueIs.With(show.Day(due)) : null, Grade(p.Grade),
            Strings.OrderIs.With(p.Order),
        ],
        Sprouts s => [Word(s.Share), s.Length is { } mm ? Length(mm) : null],
        Appearance c => [Word(c.What)],
        RowPlanted r =>
        [
            Strings.RowIs.With(r.Row), CropWords.Name(r.Crop), r.Variety, r.Maturity is null ? null : LogKinds.Choice(r.Maturity),
            r.MaturityDays is { } days ? Strings.RowDaysAre.With(days.ToString("0", CultureInfo.CurrentCulture)) : null,
            r.Metres() is { } metres ? show.Length(metres) : null, r.PlantedOn is { } on ? show.Day(on) : null,
        ],
        VinesDead v => [Strings.RowIs.With(v.Row), v.How is null ? null : LogKinds.Choice(v.How), v.On is { } day ? show.Day(day) : null],
        CropDescribed c =>
        [
            c.Crop,
            c.Like is { } like ? Strings.CropLike.With(CropWords.Name(like)) : c.Figures is null ? Strings.CropBookOnly : null,
        ],
        _ => [],
    };

    private string? Amount(Amount amount, EventKind what)
    {
        if (amount.Unit is not { } unit) return amount.WeightKg is { } kg ? show.Weight(kg) : null;
        return unit == show.WeightUnit
            ? Units.Number(amount.Units, "0.0#") + "\u00A0" + unit
            : Units.Number(amount.Units, "0.###") + "\u00A0"
                + LogKinds.Unit(unit, what, one: amount.Units == 1, amount.Measure?.KgPerUnit).ToLowerInvariant();
    }

    private string Length(double mm) => show.Pounds
        ? Strings.Inches.With(Units.Number(show.ShortOf(mm), "0.##"))
        : Strings.Millimetres.With(Units.Number(mm, "0.#"));

    private static string Lot(string lot) => Strings.LotIs.With(NameRules.Seen(lot));

    private static string? Grade(string? grade) => grade is null ? null : Strings.GradeIs.With(grade);

    private static string? Word(string? choice) => choice is null ? null : LogKinds.Choice(choice);

    private static string To(string place, IReadOnlyList<Place> places) => Strings.ToPlace.With(PlaceName(place, places));
}
