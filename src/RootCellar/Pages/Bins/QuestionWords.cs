using System.Text.Json;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science.Keeping;

namespace RootCellar.Pages.Bins;

/// <summary>
/// What the book asks, in the words of the pages and the household's units: by its code and figures, never out of its English.
/// </summary>
internal sealed partial class QuestionWords(Show show)
{
    public string Of(Question question, IReadOnlyList<Place> places)
    {
        var figures = question.Figures;
        var text = Words(question, figures, places);
        return figures.TryGetProperty("entry", out var entry) ? Strings.DoubtOther.With(entry.GetRawText(), text) : text;
    }

    private string Words(Question question, JsonElement f, IReadOnlyList<Place> places)
    {
        return question.Code switch
        {
            QuestionCode.AlreadyThere => Strings.DoubtAlreadyThere.With(Text(f, "bin"), PlaceName("place"), Day(f, "since")),
            QuestionCode.BeforeDigging => Strings.DoubtBeforeDigging.With(Text(f, "bin"), Day(f, "at"), Text(f, "lot"), Day(f, "dug")),
            QuestionCode.DueBefore => Strings.DoubtDueBefore.With(Text(f, "order"), Day(f, "due")),
            QuestionCode.DugTwice => Strings.DoubtDugTwice.With(Text(f, "lot"), Day(f, "dug")),
            QuestionCode.Emptied => Strings.DoubtEmptied.With(Text(f, "bin"), Moment(f, "emptied")),
            QuestionCode.FilledTwice => Strings.DoubtFilledTwice.With(
                Text(f, "bin"), Day(f, "filled"), Weight(f, "holdsKg"), Weight(f, "moreKg")),
            QuestionCode.FarOff => Strings.DoubtFarOff.With(Day(f, "day"), f.GetProperty("years").GetInt32()),
            QuestionCode.Future => Strings.DoubtFuture.With(Text(f, "day") is null ? Moment(f, "at") : Day(f, "day")),
            QuestionCode.LongAgo => Strings.DoubtLongAgo.With(Day(f, "day"), f.GetProperty("years").GetInt32()),
            QuestionCode.LooksAlike when Text(f, "lot") is { } lot => Strings.DoubtLooksAlikeLot.With(lot, Text(f, "other")),
            QuestionCode.LooksAlike when Text(f, "row") is { } row => Strings.DoubtLooksAlikeRow.With(row, Text(f, "other")),
            QuestionCode.LooksAlike when Text(f, "order") is { } order => Strings.DoubtLooksAlikeOrder.With(order, Text(f, "other")),
            QuestionCode.LooksAlike => Strings.DoubtLooksAlike.With(Text(f, "bin"), Text(f, "other")),
            QuestionCode.MoreThanDug => Strings.DoubtMoreThanDug.With(
                Text(f, "lot"), Weight(f, "dugKg"), Weight(f, "inBinsKg"), Weight(f, "moreKg")),
            QuestionCode.MoreThanThere => Strings.DoubtMoreThanThere.With(Text(f, "bin"), Weight(f, "holdsKg"), Weight(f, "goesKg")),
            QuestionCode.NotAllSorted => Strings.DoubtNotAllSorted.With(Text(f, "bin"), Weight(f, "holdsKg"), Weight(f, "sortedKg")),
            QuestionCode.NotInOrder when Text(f, "crop") is { } crop =>
                Strings.DoubtNotInOrder.With(Text(f, "order"), CropWords.Name(crop)),
            QuestionCode.NotInOrder => Strings.DoubtUnknownOrder.With(Text(f, "order")) + Near(f),
            QuestionCode.OtherCrop => Strings.DoubtOtherCrop.With(
                Text(f, "lot"), CropWords.Name(Text(f, "crop")!), CropWords.Name(Text(f, "given")!)),
            QuestionCode.OtherLot when Text(f, "from") is { } from =>
                Strings.DoubtOtherLotSorted.With(Text(f, "bin"), Weight(f, "holdsKg"), Text(f, "lot"), from, Text(f, "fromLot")),
            QuestionCode.OtherLot => Strings.DoubtOtherLot.With(Text(f, "bin"), Weight(f, "holdsKg"), Text(f, "lot")),
            QuestionCode.PlantedAfter => Strings.DoubtPlantedAfter.With(Text(f, "lot"), Day(f, "planted"), Day(f, "dug")),
            QuestionCode.PromisedTwice => Strings.DoubtPromisedTwice.With(
                Text(f, "order"), CropWords.Name(Text(f, "crop")!) + (Text(f, "grade") is { } grade ? $" ({grade})" : "")),
            QuestionCode.RowPlantedTwice => Strings.DoubtRowPlantedTwice.With(
                Text(f, "row"), Day(f, "planted"), Text(f, "variety") ?? CropWords.Name(Text(f, "crop")!)),
            QuestionCode.DugBeforePlanting => Strings.DoubtDugBeforePlanting.With(
                Text(f, "row"), Day(f, "planted"), Text(f, "lot"), Day(f, "dug")),
            QuestionCode.UnknownRow => Strings.DoubtUnknownRow.With(Text(f, "row"), Day(f, "on")) + Near(f),
            QuestionCode.VinesDeadTwice => Strings.DoubtVinesDeadTwice.With(Text(f, "row"), Day(f, "since")),
            QuestionCode.OtherCropInRow => Strings.DoubtOtherCropInRow.With(
                Text(f, "row"), CropWords.Name(Text(f, "crop")!), Day(f, "planted"), CropWords.Name(Text(f, "given")!)),
            QuestionCode.OtherPlanting => Strings.DoubtOtherPlanting.With(Text(f, "row"), Day(f, "planted"), Day(f, "given")),
            QuestionCode.TooHeavy => (f.GetProperty("tareGiven").GetBoolean() ? Strings.DoubtTooHeavy : Strings.DoubtTooHeavyTare)
                .With(Text(f, "bin"), Weight(f, "weighsKg"), Weight(f, "holdsKg")),
            QuestionCode.UnexpectedWeight => Unexpected(f),
            QuestionCode.WouldHarm => Strings.DoubtHarm.With(
                CropWords.Name(Text(f, "crop")!), Degrees(f, "belowC"), PlaceName("place"), Degrees(f, "airC")) + (
                Text(f, "suits") is null ? "" : " " + Strings.DoubtHarmSuits.With(PlaceName("suits"), Degrees(f, "suitsC"))),
            QuestionCode.UnknownBin when Text(f, "filled") is not null =>
                Strings.DoubtBeforeFilling.With(Text(f, "bin"), Moment(f, "filled"), Moment(f, "at")),
            QuestionCode.UnknownBin => Strings.DoubtUnknownBin.With(Text(f, "bin")) + Near(f),
            QuestionCode.UnknownLot => Strings.DoubtUnknownLot.With(Text(f, "lot"), Moment(f, "at")) + Near(f),
            QuestionCode.UnknownPlace => Strings.DoubtUnknownPlace.With(Text(f, "place")) + (
                Text(f, "near") is null ? "" : " " + Strings.DidYouMean.With(PlaceName("near"))),
            QuestionCode.Unmeasured => Strings.NoSuchMeasure,
            QuestionCode.Unreadable => Refused(f),
            // Of a later version, or without a code: better in English than not at all.
            _ => question.Text,
        };

        string PlaceName(string name) => EntryWords.PlaceName(Text(f, name), places);
    }

    private string Unexpected(JsonElement f)
    {
        var seen = Strings.DoubtWeight.With(Text(f, "bin"), Weight(f, "weighsKg"), Weight(f, "lowKg"), Weight(f, "highKg"));
        string Meant() => Weight(f, "meantKg");
        return seen + " " + (Text(f, "may") switch
        {
            nameof(ScaleQuestionKind.ToppedUp) => Strings.DoubtWeightToppedUp,
            nameof(ScaleQuestionKind.TakenOut) => Strings.DoubtWeightTakenOut,
            nameof(ScaleQuestionKind.PoundsAsKilograms) => Strings.DoubtWeightPounds.With(Meant()),
            nameof(ScaleQuestionKind.KilogramsAsPounds) => Strings.DoubtWeightKilograms.With(Meant()),
            nameof(ScaleQuestionKind.TareForgotten) => Strings.DoubtWeightTareForgotten,
            nameof(ScaleQuestionKind.TareTakenTwice) => Strings.DoubtWeightTareTwice,
            _ => Strings.DoubtWeightPoint.With(Meant()),
        });
    }

    private static string Near(JsonElement figures) => Text(figures, "near") is { } near ? " " + Strings.DidYouMean.With(near) : "";

    private string Weight(JsonElement figures, string name) => show.Weight(figures.GetProperty(name).GetDouble());

    private string Degrees(JsonElement figures, string name) => show.Temperature(figures.GetProperty(name).GetDouble());

    private string Moment(JsonElement figures, string name) => show.Time(figures.GetProperty(name).GetDateTimeOffset());

    // A day as it was entered, or that of a moment on the household's clock.
    private string Day(JsonElement figures, string name) =>
        Text(figures, name) is { } text && HouseholdCalendar.TryDay(text, out var day)
            ? show.Day(day) : show.Day(figures.GetProperty(name).GetDateTimeOffset());

    private static string? Text(JsonElement figures, string name) => figures.TryGetProperty(name, out var value)
        && value.ValueKind == JsonValueKind.String ? value.GetString() : null;
}
