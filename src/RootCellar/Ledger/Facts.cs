using RootCellar.Household;

namespace RootCellar.Ledger;

/// <summary>
/// How much, as entered: a weight, or a measure with the kg of one unit. <see cref="Grams"/> is null while nobody knows what one unit weighs,
/// because the crop is not known yet.
/// </summary>
internal readonly record struct Amount(long? Grams, string? Unit, double Units)
{
    /// <summary>Measured by volume or by the sack, which is no weighing.</summary>
    public bool ByVolume => Unit is not null && !Measures.IsWeight(Unit);
}

/// <summary>What happened, read out of the fields of an event; corrections are merged into the fields before.</summary>
internal abstract record Fact(bool Checked)
{
    internal sealed record Dug(
        bool Checked, string Lot, string Crop, string? Variety, string? Row, DateOnly? PlantedOn, DateOnly DugOn, DateTimeOffset DugAt,
        DateTimeOffset NotBefore, string? Skin, Amount? Amount, IReadOnlyList<string> Flags, double? PulpC) : Fact(Checked);

    internal sealed record Filled(bool Checked, string Bin, string Lot, Amount Amount, string? Grade, string? Place) : Fact(Checked);

    internal sealed record Moved(bool Checked, string Bin, string Place) : Fact(Checked);

    internal sealed record Weighed(bool Checked, string Bin, Amount Amount, double? TareKg, double? ResolutionKg) : Fact(Checked);

    internal sealed record Sorted(bool Checked, string Bin, IReadOnlyList<SortedInto> Into) : Fact(Checked);

    /// <summary>A way out; <see cref="Empties"/> says that nothing is left, whatever the book has.</summary>
    internal sealed record Out(bool Checked, string Bin, string Reason, Amount Amount, string? Order, bool Empties) : Fact(Checked);

    /// <summary>A row put into the ground: <see cref="PlantedOn"/> begins at <see cref="From"/> where it was written.</summary>
    internal sealed record RowPlanted(
        bool Checked, string Row, string Crop, string? Variety, DateOnly PlantedOn, DateTimeOffset From, string? Maturity, int? MaturityDays, double? LengthM, string? Lot) : Fact(Checked);

    internal sealed record VinesDead(bool Checked, string Row, DateOnly On, DateTimeOffset From, string? How) : Fact(Checked);

    internal sealed record Promised(bool Checked, string Order, string Crop, string? Grade, Amount Amount, DateOnly? Due) : Fact(Checked);

    internal sealed record Sprouts(bool Checked, string Bin, string Share, double? LengthMm) : Fact(Checked);

    internal sealed record Condition(bool Checked, string Bin, string What) : Fact(Checked);
}

/// <summary>One of the bins a bin was sorted into.</summary>
internal sealed record SortedInto(string Bin, string? Grade, string? Place, Amount Amount);
