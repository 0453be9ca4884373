using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Science.Crops;

namespace RootCellar.Commands;

/// <summary>A crop as `crops --json` prints it. Fields are only ever added.</summary>
internal sealed record CropDocument(
    string Id,
    string Name,
    IReadOnlyList<string> Aliases,
    BandDocument? Curing,
    BandDocument Storage,
    BandDocument Ideal,
    IReadOnlyList<BandDocument> OtherStorage,
    string StorageLife,
    double FreezingPointC,
    double? ChillingBelowC,
    string EthyleneProduction,
    string EthyleneSensitivity,
    bool GreensInLight,
    double? BushelKg,
    string? Note,
    IReadOnlyList<string> Sources,
    SourcedText? EthyleneEffect,
    OdoursDocument Odours,
    TranspirationDocument Transpiration,
    Sourced VapourPressureLowering,
    RespirationTable Respiration,
    ThermalTraits? Thermal,
    CanningDocument? Canning,
    HarmLimits Harm,
    HarmLimits? CuringHarm,
    string Harvest,
    IReadOnlyList<string> Asks,
    string Sprouts,
    IReadOnlyList<string> CullReasons,
    string? CannedBy,
    bool Food,
    double ShriveledPercent,
    bool Own,
    string? Like,
    EarlyLoss? Early,
    Sourced Spread)
{
    public static CropDocument Of(Crop crop) => new(
        crop.Id,
        crop.Name,
        crop.Aliases,
        crop.Curing is { } curing ? BandDocument.Of(curing, null) with { DaysLow = curing.DaysLow, DaysHigh = curing.DaysHigh } : null,
        BandDocument.Of(crop.Storage, null),
        BandDocument.Of(crop.Ideal, null),
        [.. crop.OtherStorage.Select(band => BandDocument.Of(band, band.For))],
        crop.StorageLife,
        crop.FreezingPointC,
        crop.ChillingBelowC,
        Print.Words(crop.EthyleneProduction),
        Print.Words(crop.EthyleneSensitivity),
        crop.GreensInLight,
        crop.BushelKg?.Value,
        crop.Note,
        crop.Sources,
        crop.EthyleneEffect,
        new OdoursDocument(Print.Words(crop.Odours.Gives), Print.Words(crop.Odours.TakesUp), crop.Odours.Source),
        new TranspirationDocument(crop.Transpiration.Value, crop.Transpiration.Source),
        crop.VapourPressureLowering,
        crop.Respiration,
        crop.Thermal,
        crop.Canning.Count > 0 ? new CanningDocument(CanningYield.CautionOf(crop.Canned), crop.Canning) : null,
        HarmTable.Default.Of(crop),
        crop.Curing is null ? null : HarmTable.Default.Of(crop, curing: true),
        Slug.Of(crop.Harvest),
        [.. crop.Asks.Select(Slug.Of)],
        Slug.Of(crop.Sprouts),
        [.. crop.Cull.Select(Slug.Of)],
        crop.Canned is { } process ? Slug.Of(process) : null,
        crop.Food,
        100 * crop.Shriveled.Value,
        crop.Definition is not null,
        crop.Like,
        crop.Early,
        crop.Spread);
}

internal sealed record BandDocument(
    string? For,
    double TemperatureLowC,
    double TemperatureHighC,
    double HumidityLowPercent,
    double HumidityHighPercent,
    int? DaysLow,
    int? DaysHigh,
    string PrintedTemperature,
    string Source)
{
    public static BandDocument Of(Band band, string? use) => new(
        use, band.TemperatureLowC, band.TemperatureHighC, band.HumidityLowPercent, band.HumidityHighPercent, null, null,
        band.PrintedTemperature, band.Source);
}

internal sealed record OdoursDocument(string Gives, string TakesUp, string Source);

internal sealed record TranspirationDocument(double NgPerKgPaS, string Source);

internal sealed record CanningDocument(string Caution, IReadOnlyList<CanningYield> Yields);

internal sealed record TogetherDocument(IReadOnlyList<string> Crops, CommonBand? Common, IReadOnlyList<ConflictDocument> Conflicts);

internal sealed record ConflictDocument(string A, string B, string Kind, string Severity, string What, string WhatToDo)
{
    public static ConflictDocument Of(Conflict conflict) => new(
        conflict.A.Id, conflict.B.Id, Print.Words(conflict.Kind), Print.Words(conflict.Severity), conflict.What(), conflict.WhatToDo());
}

/// <summary>A potato variety as `crops --varieties --json` prints it.</summary>
internal sealed record VarietyDocument(
    string Name,
    IReadOnlyList<string> Aliases,
    string Skin,
    MaturityDocument? Maturity,
    DormancyPrior Dormancy,
    IReadOnlyList<DormancyFigureDocument> DormancyFigures,
    IReadOnlyList<DormancyRatingDocument> DormancyRatings,
    SourcedText? Greening,
    SourcedText? Sweetening,
    string? Note,
    IReadOnlyList<string> Sources)
{
    public static VarietyDocument Of(Variety variety) => new(
        variety.Name,
        variety.Aliases,
        Print.Words(variety.Skin),
        variety.Maturity is { } maturity ? new MaturityDocument(
            Print.Words(maturity.Class), maturity.DaysLow, maturity.DaysHigh, maturity.Source) : null,
        variety.Dormancy,
        [.. variety.DormancyFigures.Select(figure => new DormancyFigureDocument(
            figure.DaysLow, figure.DaysHigh, figure.TemperatureLowC, figure.TemperatureHighC, Print.Words(figure.End), figure.Doubtful,
            figure.Source))],
        [.. variety.DormancyRatings.Select(rating => new DormancyRatingDocument(Print.Words(rating.Class), rating.Source))],
        variety.Greening,
        variety.Sweetening,
        variety.Note,
        variety.Sources);
}

internal sealed record MaturityDocument(string Class, int? DaysLow, int? DaysHigh, string Source);

internal sealed record DormancyFigureDocument(
    int? DaysLow, int? DaysHigh, double? TemperatureLowC, double? TemperatureHighC, string Definition, bool Doubtful, string Source);

internal sealed record DormancyRatingDocument(string Word, string Source);
