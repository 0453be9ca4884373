using System.Text.Json;
using System.Text.Json.Serialization;
using Microsoft.OpenApi;
using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;

namespace RootCellar.Api;

/// <summary>An event as it is sent to the ledger. Nothing is read by these: they are what the document says of events.</summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "event")]
[JsonDerivedType(typeof(DugEvent), Dug.Name)]
[JsonDerivedType(typeof(FilledEvent), Filled.Name)]
[JsonDerivedType(typeof(MovedEvent), Moved.Name)]
[JsonDerivedType(typeof(WeighedEvent), Weighed.Name)]
[JsonDerivedType(typeof(SortedEvent), Sorted.Name)]
[JsonDerivedType(typeof(CulledEvent), TakenOut.CulledName)]
[JsonDerivedType(typeof(SoldEvent), TakenOut.SoldName)]
[JsonDerivedType(typeof(CannedEvent), TakenOut.CannedName)]
[JsonDerivedType(typeof(EatenEvent), TakenOut.EatenName)]
[JsonDerivedType(typeof(GivenEvent), TakenOut.GivenName)]
[JsonDerivedType(typeof(PlantedEvent), TakenOut.PlantedName)]
[JsonDerivedType(typeof(PromisedEvent), Promised.Name)]
[JsonDerivedType(typeof(SproutsSeenEvent), Sprouts.Name)]
[JsonDerivedType(typeof(ConditionSeenEvent), Appearance.Name)]
[JsonDerivedType(typeof(RowPlantedEvent), RowPlanted.Name)]
[JsonDerivedType(typeof(VinesDeadEvent), VinesDead.Name)]
[JsonDerivedType(typeof(CropDescribedEvent), CropDescribed.Name)]
[JsonDerivedType(typeof(CorrectionEvent), Correction.Name)]
internal abstract record EventShape
{
    /// <summary>When it happened; now where not said.</summary>
    public DateTimeOffset? At { get; init; }

    /// <summary>Who did it; who the token or cookie belongs to where not said.</summary>
    public string? By { get; init; }

    public string? Note { get; init; }

    /// <summary>Keeps it also where the book asks, to be checked later.</summary>
    public bool? Keep { get; init; }

    /// <summary>Somebody looked, and it is so.</summary>
    public bool? Checked { get; init; }

    private const string Id = nameof(EventShape);

    /// <summary>
    /// Says in the document that every event is an event with fields of its own: what all have in common stands once, and generators make a
    /// base class of it. The framework would repeat it in each and leave the base empty.
    /// </summary>
    public static void Inherit(OpenApiDocument document)
    {
        if (document.Components?.Schemas is not { } schemas) return;
        if (!schemas.TryGetValue(Id, out var found) || found is not OpenApiSchema { Discriminator.Mapping: { } events } all) return;
        var each = events.Values.Select(e => (Id: e.Reference.Id!, Schema: (OpenApiSchema)schemas[e.Reference.Id!])).ToList();
        var common = each.Select(e => e.Schema.Properties!.Keys)
            .Aggregate<IEnumerable<string>>((one, other) => one.Intersect(other)).ToHashSet(StringComparer.Ordinal);
        all.Properties = each[0].Schema.Properties!.Where(p => common.Contains(p.Key)).ToDictionary(StringComparer.Ordinal);
        all.Properties["event"] = new OpenApiSchema { Type = JsonSchemaType.String, Description = "What happened." };
        (all.AnyOf, all.Required) = (null, new HashSet<string>(StringComparer.Ordinal) { "event" });
        foreach (var (id, own) in each)
        {
            foreach (var name in common) own.Properties!.Remove(name);
            own.Required?.ExceptWith(common);
            schemas[id] = new OpenApiSchema { AllOf = [new OpenApiSchemaReference(Id, document), own], Description = own.Description };
            own.Description = null;
        }
    }
}

internal enum SkinWord { Set, Tender, Scuffed, Cut }

internal enum DiggingFlag { WetSoil, Rain, LateBlight, RotSeen }

internal enum LiesWord { Layer, Crate, Sack, Bin, Heap, Sand }

internal enum ShareWord { None, Few, Half, Most }

internal enum ConditionWord { Dry, Wet, Soft, Shrivelled, Green, Mould }

internal enum MaturityWord { Early, Mid, Late }

internal enum VinesWord { Died, Mown, Pulled, Frost }

/// <summary>A weight or volume as it was counted: kg, g, lb, oz, quart, pint, peck, bushel, sack or bag.</summary>
/// <param name="KgPerUnit">What one unit weighs, where it is known better than the table knows it.</param>
internal sealed record MeasureShape(double Amount, string Unit, double? KgPerUnit = null, string? Source = null, string? As = null);

/// <summary>An event with an amount: <c>weightKg</c> or <c>measure</c>.</summary>
internal abstract record AmountEvent : EventShape
{
    public double? WeightKg { get; init; }

    public MeasureShape? Measure { get; init; }
}

internal sealed record DugEvent(
    string Lot, string Crop, string? Variety = null, string? Row = null, DateOnly? PlantedOn = null, string? DugOn = null,
    SkinWord? Skin = null, IReadOnlyList<DiggingFlag>? Flags = null, double? PulpC = null) : AmountEvent;

/// <param name="Lies">How it lies: in one layer, an open crate, a sack, a deep bin, a heap, in sand or sawdust.</param>
/// <param name="PieceKg">What one piece weighs, about.</param>
/// <param name="TareKg">The empty bin, if it was on the scale too.</param>
internal sealed record FilledEvent(
    string Bin, string Lot, string? Grade = null, string? Place = null, LiesWord? Lies = null, double? PieceKg = null, double? TareKg = null)
    : AmountEvent;

internal sealed record MovedEvent(string Bin, string Place) : EventShape;

internal sealed record WeighedEvent(string Bin, double? TareKg = null, double? ResolutionKg = null) : AmountEvent;

internal sealed record SortedIntoShape(
    string Bin, string? Grade = null, string? Place = null, double? WeightKg = null, MeasureShape? Measure = null);

internal sealed record SortedEvent(string Bin, IReadOnlyList<SortedIntoShape> Into) : EventShape;

internal sealed record CulledEvent(CullReason Reason) : OutEvent;

/// <summary>Produce that leaves a bin. <c>empties</c>: nothing is left in it.</summary>
internal abstract record OutEvent : AmountEvent
{
    public required string Bin { get; init; }

    public string? Order { get; init; }

    public bool? Empties { get; init; }
}

internal sealed record SoldEvent : OutEvent;

internal sealed record CannedEvent : OutEvent;

internal sealed record EatenEvent : OutEvent;

internal sealed record GivenEvent : OutEvent;

/// <summary>Used as seed; the planting of a row is <c>row-planted</c>.</summary>
internal sealed record PlantedEvent : OutEvent;

internal sealed record PromisedEvent(string Order, string Crop, string? Grade = null, DateOnly? Due = null) : AmountEvent;

/// <param name="Length">Of the sprouts, in mm.</param>
internal sealed record SproutsSeenEvent(string Bin, ShareWord Share, double? Length = null) : EventShape;

internal sealed record ConditionSeenEvent(string Bin, ConditionWord What) : EventShape;

internal sealed record RowPlantedEvent(
    string Row, string Crop, string? Variety = null, DateOnly? PlantedOn = null, MaturityWord? Maturity = null, double? MaturityDays = null,
    double? LengthM = null, double? LengthFt = null, string? Lot = null) : EventShape;

/// <summary>A crop the table does not have.</summary>
/// <param name="Crop">What it is called.</param>
/// <param name="Like">The crop of the table it keeps like; without it and figures it is known to the book only.</param>
/// <param name="Figures">Fields of a row of the crop table, instead of that crop's.</param>
internal sealed record CropDescribedEvent(string Crop, string? Like = null, JsonElement? Figures = null) : EventShape;

internal sealed record VinesDeadEvent(string Row, DateOnly? On = null, VinesWord? How = null) : EventShape;

/// <summary>Puts an entry right: the fields that were wrong, as they should have been, beside these; null takes a field off.</summary>
internal sealed record CorrectionEvent(long Of, bool? Void = null, DateTimeOffset? RightAt = null, string? RightNote = null) : EventShape
{
    [JsonExtensionData]
    public Dictionary<string, JsonElement>? Fields { get; init; }
}
