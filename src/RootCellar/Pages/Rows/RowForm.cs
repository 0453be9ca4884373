using System.Globalization;
using RootCellar.Ledger;
using RootCellar.Pages.Bins;

namespace RootCellar.Pages.Rows;

/// <summary>Forms begun with what the book knows of a row.</summary>
internal static class RowForm
{
    /// <summary>The form of a planting: the row after the last one, of the same kind.</summary>
    public static LogForm Plant(Book book, string? like, DateOnly today)
    {
        var model = like is null ? null : book.Row(like);
        var number = int.TryParse(like, NumberStyles.None, CultureInfo.InvariantCulture, out var last) ? last + 1 : 1;
        var taken = book.Rows.Where(r => r.PlantedOn.Year == today.Year || (r.Lots.Count == 0 && !r.Ended)).Select(r => r.Row)
            .ToHashSet(StringComparer.Ordinal);
        while (taken.Contains(number.ToString(CultureInfo.InvariantCulture))) number++;
        return new LogForm
        {
            Key = LogForm.NewKey(),
            Row = number.ToString(CultureInfo.InvariantCulture),
            Crop = model?.Crop ?? "potato",
            Variety = model?.Variety,
            Maturity = model?.Maturity,
            MaturityDays = model?.MaturityDays?.ToString(CultureInfo.InvariantCulture),
            PlantedOn = WriteModel.Date(today),
        };
    }

    /// <summary>The form of a digging with what the book knows of the row.</summary>
    public static LogForm Dig(Book book, string name, DateOnly today, LogForm form)
    {
        if (book.Row(name.Trim()) is not { } row) return form with { Row = name };
        var first = row.Lot ?? (row.Row.Length > 0 && char.IsAsciiDigit(row.Row[0]) ? $"{today.Year}-R{row.Row}"
            : $"{today.Year}-{row.Row}");
        var (lot, number) = (first, 2);
        while (book.Lots.ContainsKey(lot)) lot = $"{first}-{number++}";
        return form with { Lot = lot, Crop = row.Crop, Variety = row.Variety, Row = row.Row, PlantedOn = WriteModel.Date(row.PlantedOn) };
    }
}
