using System.Globalization;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>The one line for a bin: the first of a list, most urgent first, that has something to say.</summary>
internal static class Advising
{
    /// <summary>A sign of rot counts for so long after it was seen, or until the bin is sorted or culled, days (assumed).</summary>
    public const int SignsDays = 21;

    /// <summary>Dry air is spoken of from this loss in thirty days on, as a share (assumed: shrivelling shows at about 5 %).</summary>
    public const double DryLoss = 0.02;

    /// <summary>Half a day of air says how dry a room is; less may be an open door (assumed).</summary>
    private const double EnoughHours = 12;

    /// <summary>Sprouting is soon within so many days (assumed).</summary>
    public const int SproutingDays = 28;

    /// <summary>
    /// Potatoes with longer sprouts are not spoken of as food any more, mm: about an inch (common practice, from memory).
    /// </summary>
    public const double LongestSproutMm = 25;

    /// <summary>Cold that leaves no more hours than this before it harms is seen to today (assumed).</summary>
    public const double UrgentHours = 48;

    /// <summary>A crop that is chilled from here on is not cooled for storage, C.</summary>
    public const double WarmFromC = 5;

    /// <summary>Hours without readings that are spoken of (assumed).</summary>
    public const double DarkRunHours = 6;

    public static BinAdvice Of(LotView lot, BinView bin, Crop crop, Purpose? purpose, Trajectory course, Ahead ahead, BinEstimate estimate,
        DateTimeOffset now, bool measured, HouseholdCalendar calendar, SuitingPlaces storage,
        double driestPercent)
    {
        var state = course.State;
        // Without readings nothing is said of this very moment.
        bool seen = course.DarkRunHours == 0;
        var cold = Cold.Level(crop, state.PulpC);
        if (seen && (cold is ColdLevel.Emergency or ColdLevel.Warning))
        {
            return new BinAdvice(Urgency.Now, "freezing", Cold.Words(crop, state.PulpC, degrees: Degrees))
            {
                Says = cold == ColdLevel.Emergency ? AdviceSays.Freezing : AdviceSays.NearFreezing,
                Figures = new AdviceFigures(crop, PulpC: state.PulpC),
            };
        }

        if (seen && state.WetRunHours > Wetness.GraceHours)
            return new BinAdvice(Urgency.Now, "wet", Wetness.Words(-1, state.WetRunHours))
            { Says = AdviceSays.Wet, Figures = new AdviceFigures(Hours: state.WetRunHours) };
        if (RotSign(bin, now) is { } sign)
        {
            return new BinAdvice(Urgency.Now, "rot-signs",
                $"It was {sign.What} on {Day(sign.At, calendar, now)}: take it out, sort it, and keep what touched wet or smelly pieces apart.")
            {
                Says = AdviceSays.RotSeen,
                Figures = new AdviceFigures(Seen: sign.What, At: sign.At),
            };
        }

        if (Greening.Level(state.LightHours) == GreeningLevel.Act)
            return Light(Urgency.Now, AdviceSays.GreenLight, state.LightHours);
        if (seen && Chilling(crop, state, storage) is { } chilling) return chilling;
        if (estimate is { Cured: true, FitNow: true } && purpose == Purpose.Curing) return Move(crop, estimate.Way, storage);
        if (lot.Flags.Count > 0 && (now - lot.DugAt).TotalDays < SignsDays && Signs(lot.Flags) is var signs and not RotSigns.None)
            return new BinAdvice(Urgency.Soon, "rot-signs", RotRisk.Words(signs, Curing.RuleOf(crop)))
            { Says = AdviceSays.SignsFromTheField, Figures = new AdviceFigures(crop, Signs: signs) };
        if (Cold.HoursLeft(crop, state.PulpC, state.ChillDegreeDays) == 0)
        {
            return new BinAdvice(Urgency.Soon, "chilled",
                $"It has had as much cold as harms {crop.Name.ToLowerInvariant()}: look for pits and soft spots, and use the sound ones before the others.")
            { Says = AdviceSays.Chilled, Figures = new AdviceFigures(crop) };
        }

        if (DryAir(crop, purpose, ahead, estimate, driestPercent) is { } dry) return dry;
        if (Sprouting(crop, state, estimate, now, calendar) is { } sprouting) return sprouting;
        if (Greening.Level(state.LightHours) == GreeningLevel.Alert) return Light(Urgency.Soon, AdviceSays.Light, state.LightHours);
        if (course.DarkRunHours >= DarkRunHours && purpose == Purpose.Outdoors)
        {
            return new BinAdvice(
                Urgency.Note, "dark",
                "Nothing in it tells of frost: put a probe in it. The estimate goes by the middle of the crop's band and is that much less sure.")
            { Says = AdviceSays.NoProbe, Figures = new AdviceFigures(crop, Hours: course.DarkRunHours) };
        }

        if (course.DarkRunHours >= DarkRunHours)
        {
            string where = bin.Place ?? "where it stands";
            return new BinAdvice(
                Urgency.Note, "dark",
                measured
                    ? $"No readings from {where} for {Span(course.DarkRunHours)}: the estimate goes on from the last known day and grows less sure. See to the sensor."
                    : $"Nothing measures the air in {where}: the estimate takes it for the middle of the crop's band and is that much less sure.")
            {
                Says = measured ? AdviceSays.Silent : AdviceSays.NeverMeasured,
                Figures = new AdviceFigures(crop, Hours: course.DarkRunHours),
            };
        }

        return estimate is { Cured: true, FitNow: false, FitToMove: { Likely: { } likely } when }
            ? new BinAdvice(Urgency.Nothing, "none", $"It will be fit to move about {Day(likely, calendar, now)}{Between(when, calendar, now)}.")
            { Says = AdviceSays.FitAbout, Figures = new AdviceFigures(When: when) }
            : new BinAdvice(Urgency.Nothing, "none", "Nothing for this bin on its own.");
    }

    /// <summary>The flags of a digging as the science counts them.</summary>
    public static RotSigns Signs(IEnumerable<string> flags) => flags.Aggregate(RotSigns.None, (all, flag) => all | flag switch
    {
        "wet-soil" => RotSigns.SaturatedSoil,
        "rain" => RotSigns.RainAtDigging,
        "late-blight" => RotSigns.LateBlight,
        "rot-seen" => RotSigns.RotSeen,
        _ => RotSigns.None,
    });

    /// <summary>The last sign of rot seen in a bin that nobody has sorted out since.</summary>
    public static ConditionSeen? RotSign(BinView bin, DateTimeOffset now) => bin.Conditions.LastOrDefault(c =>
        c.What is "wet" or "soft" or "mould"
        && (now - c.At).TotalDays <= SignsDays
        && !bin.Steps.Any(s => s.At >= c.At && s.Grams < 0 && (s.IsSorted || TakenOut.CulledAs(s.Kind) is not null))
        && !bin.Conditions.Any(d => d.At > c.At && d.What == "dry"));

    /// <summary>The last look in which sprouts were seen in a bin, where nobody has sorted or culled them out since; null else.</summary>
    public static Ledger.SproutsSeen? SproutSign(BinView bin, DateTimeOffset now) =>
        bin.SproutsSeen.LastOrDefault(s => s.At <= now) is { } look
        && look.Share != Ledger.SproutsSeen.None
        && !bin.Steps.Any(s => s.At >= look.At && s.Grams < 0 && (s.IsSorted || TakenOut.CulledAs(s.Kind) == "sprouted"))
        ? look : null;

    // The line goes out by API and MQTT, whose units are SI; pages and texts have words of their own.
    private static string Weight(double kg) => string.Create(CultureInfo.InvariantCulture, $"{kg:0.##} kg");

    private static string Degrees(double celsius) => string.Create(CultureInfo.InvariantCulture, $"{celsius:0.#} C");

    /// <summary>"14 Oct", by the household's days, and with its year where that is not this one.</summary>
    private static string Day(DateTimeOffset at, HouseholdCalendar calendar, DateTimeOffset now) => calendar.DayOf(at)
        .ToString(calendar.DayOf(at).Year == calendar.DayOf(now).Year ? "d MMM" : "d MMM yyyy", CultureInfo.InvariantCulture);

    private static BinAdvice Light(Urgency urgency, AdviceSays says, double hours) => new(urgency, "light", Greening.Words(hours))
    { Says = says, Figures = new AdviceFigures(Hours: hours) };

    private static BinAdvice? DryAir(Crop crop, Purpose? purpose, Ahead ahead, BinEstimate estimate, double driestPercent)
    {
        var band = PlaceAirRecord.BandOf(crop, purpose ?? Purpose.Storage);
        double share = estimate.IfLeft.Kg.Value / Math.Max(1e-9, estimate.Kg.Value);
        if (purpose == Purpose.Outdoors || ahead.Assumed || ahead.KnownHours < EnoughHours || ahead.Air.RelativeHumidityPercent >= band.HumidityLowPercent
            || share < DryLoss)
            return null;
        var cover = DriestWish.Forbids(driestPercent, band.HumidityLowPercent);
        return new BinAdvice(Urgency.Soon, "dry-air", string.Create(
            CultureInfo.InvariantCulture,
            $"Dry air is costing about {Weight(estimate.IfLeft.Kg.Value * 7 / estimate.IfLeft.Days)} a week: {ahead.Air.RelativeHumidityPercent:0} % over {Span(ahead.KnownHours)}, and {crop.Name.ToLowerInvariant()} wants {band.HumidityLowPercent:0} to {band.HumidityHighPercent:0} %. {(cover ? "Cover it, and leave the floor dry: what else is kept there wants it dry." : "Wet the floor, clear of plugs, or cover the bins.")}"))
        {
            Says = cover ? AdviceSays.DryAirCover : AdviceSays.DryAir,
            Figures = new AdviceFigures(crop, Hours: ahead.KnownHours, Kg: estimate.IfLeft.Kg.Value * 7 / estimate.IfLeft.Days,
                Percent: ahead.Air.RelativeHumidityPercent, LowPercent: band.HumidityLowPercent, HighPercent: band.HumidityHighPercent),
        };
    }

    /// <summary>It stands in cold that harms it.</summary>
    private static BinAdvice? Chilling(Crop crop, in LotState state, SuitingPlaces storage)
    {
        if (crop.ChillingHarm is null || !(state.PulpC < Cold.HarmBelowC(crop))) return null;
        double left = Cold.HoursLeft(crop, state.PulpC, state.ChillDegreeDays);
        var to = storage.KnownToSuit(crop);
        string where = to is { } suits
            ? string.Create(CultureInfo.InvariantCulture, $"bring it to {suits.Place.Id} ({suits.Air.TemperatureC:0.#} C)") : "bring it where it is warmer";
        string harm = left > 0 ? $"about {Span(left)} more of this harm it" : "it has had as much as harms it";
        return new BinAdvice(left > UrgentHours ? Urgency.Soon : Urgency.Now, "chilling", string.Create(
            CultureInfo.InvariantCulture,
            $"{crop.Name} at {state.PulpC:0.#} C is chilled below {crop.ChillingBelowC:0.#} C, and {harm}: {where}."))
        {
            Says = AdviceSays.Chilling,
            Figures = new AdviceFigures(crop, PulpC: state.PulpC, Hours: left, To: to?.Place.Id, ToName: to?.Place.Name,
                ToC: to?.Air.TemperatureC),
        };
    }

    private static BinAdvice Move(Crop crop, WayAhead way, SuitingPlaces storage)
    {
        if (storage.Any && way.Place is null)
        {
            return new BinAdvice(Urgency.Note, "none",
                $"Healed far enough to move, but every storage place is too cold for it now: leave it until one is warmer.")
            { Says = AdviceSays.NowhereToMove, Figures = new AdviceFigures(crop) };
        }

        return new BinAdvice(Urgency.Soon, "move", $"Healed far enough to move: bring it to {way.Place ?? "the storage room"}{Hold(crop)}.")
        { Says = AdviceSays.Move, Figures = new AdviceFigures(crop, To: way.Place, ToName: storage.Find(way.Place)?.Name) };
    }

    private static BinAdvice? Sprouting(Crop crop, in LotState state, BinEstimate estimate, DateTimeOffset now, HouseholdCalendar calendar)
    {
        if (estimate.Sprouting is { } seen)
        {
            return new BinAdvice(Urgency.Soon, "sprouting",
                $"Sprouts were seen in it on {Day(seen.At, calendar, now)}: use it before the others.")
            { Says = AdviceSays.SproutsSeen, Figures = new AdviceFigures(crop, Seen: seen.Share, At: seen.At) };
        }

        if (estimate.RestUsed is null) return null;
        if (!crop.Food)
        {
            return state.RestUsed >= 1 || estimate.SproutsSeen
                ? new BinAdvice(Urgency.Note, "none", "Its rest is over and sprouts are growing: keep it colder until it is planted.")
                { Says = AdviceSays.SeedSprouting } : null;
        }

        if (estimate.TooLongSprouted)
        {
            return new BinAdvice(
                Urgency.Soon, "long-sprouts",
                "Its sprouts are likely longer than 25 mm (an inch): keep it for seed, or throw it out. Sprouted potatoes hold poisons that cooking does not take out.")
            {
                Says = AdviceSays.LongSprouts,
            };
        }

        if (state.SproutedShare >= 0.5)
            return new BinAdvice(Urgency.Soon, "sprouting",
                $"More than half of it is likely to have sprouts of 5 mm: use it first, rub them off, or keep it for seed.")
            { Says = AdviceSays.Sprouted };
        if (state.RestUsed >= 1 || estimate.SproutsSeen)
        {
            return new BinAdvice(
                Urgency.Soon, "sprouting", "Its rest is over and sprouts are growing: use it before the others, or keep it colder.")
            {
                Says = AdviceSays.Sprouting,
            };
        }

        return estimate.Peeping is { Likely: { } likely } when && (likely - now).TotalDays <= SproutingDays
            ? new BinAdvice(Urgency.Note, "sprouting",
                $"Will peep about {Day(likely, calendar, now)}{Between(when, calendar, now)}: use it before then, or keep it colder.")
            { Says = AdviceSays.WillPeep, Figures = new AdviceFigures(When: when) }
            : null;
    }

    private static string Hold(Crop crop)
    {
        var band = crop.Storage;
        string how = crop.Chilling is { Value: > WarmFromC } ? "keep it at" : "cool it by half a degree C or so a day to";
        return string.Create(
            CultureInfo.InvariantCulture,
            $" and {how} {band.TemperatureLowC:0.#} to {band.TemperatureHighC:0.#} C");
    }

    private static string Between(When when, HouseholdCalendar calendar, DateTimeOffset now) => when is { Early: { } early, Late: { } late }
        ? $" ({Day(early, calendar, now)} to {Day(late, calendar, now)})" : "";

    private static string Span(double hours) => hours < 72
        ? string.Create(CultureInfo.InvariantCulture, $"{hours:0} hours")
        : string.Create(CultureInfo.InvariantCulture, $"{hours / 24:0} days");
}
