using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>What opening the vent now would do to the air, and to the coldest produce.</summary>
/// <remarks>
/// The figures are those of the air alone: what the sensors leave uncertain (about 0.5 C of dew point at 95 +-3 %) is not in
/// them, and is what the 1 C margin is for. Advice on keeping produce, not on the air a person breathes: see
/// <see cref="RoomCaution"/>.
/// </remarks>
public static class Vent
{
    /// <summary>Below this margin to the dew point, beware, C (derived: a sensor good to 3 % moves the dew point by 0.5 C at 95 %; 1 C assumed from it).</summary>
    public const double NearlyWetMarginC = 1.0;

    /// <summary>Least useful difference, C: 1 to 4 C below the crop (British store practice, AHDB).</summary>
    public const double LeastColderC = 1.0;

    /// <summary>Largest difference, C: outside air mixed to at most 4 C below the crop (British store practice, AHDB; Idaho practice is 3 to 5 F, 1.7 to 2.8 C, for forced air).</summary>
    public const double MostColderC = 4.0;

    /// <summary>Kept above the crop's freezing point, C: 0.5 for the sensor and 0.5 for a cold spot by the vent (assumed).</summary>
    public const double FreezingGuardC = 1.0;

    /// <summary>Deficit grown by this factor, and by <see cref="FasterDryingPa"/>, is worth a word (assumed).</summary>
    public const double FasterDryingFactor = 1.5;

    /// <summary>Growth of the deficit worth a word, Pa (assumed: about what a sensor leaves uncertain at 4 C).</summary>
    public const double FasterDryingPa = 25;

    /// <summary>What opening the vent would do, and whether to.</summary>
    /// <remarks>
    /// Air by <see cref="RoomAir.Blend"/> after <see cref="RoomAir.FreshShare"/>. Rule: open where outside air is 1 to 4 C below
    /// the coldest produce and its dew point below it (derived from the condensation rule of Pringle and Robinson 1996, that
    /// tubers get wet when colder than the dew point, and from the 1 to 4 C of store practice). Order: freezing, wetting, no need, warm, chill, then degrees of yes.
    /// Where produce is being wetted already, drier air is let in briefly though nothing needs cooling, unless it could freeze.
    /// </remarks>
    /// <exception cref="ArgumentOutOfRangeException">
    /// Airs outside -40 to 45 C, produce outside -5 to 45 C, a freezing point outside -5 to 1 C, air changes outside 0.001 to 1000
    /// per hour, more than 240 h.
    /// </exception>
    /// <exception cref="ArgumentException">The airs differ in pressure.</exception>
    public static VentAdvice Ask(VentQuestion question)
    {
        ArgumentNullException.ThrowIfNull(question);
        double pulpC = question.ColdestPulpC;
        Require.Within(pulpC, -5, 45, nameof(question.ColdestPulpC));
        Require.Within(question.FreezingPointC, -5, 1, nameof(question.FreezingPointC));
        Require.Within(question.AirChangesPerHour, 0.001, 1000, nameof(question.AirChangesPerHour));
        Require.Within(question.Hours, 0, 240, nameof(question.Hours));
        if (question.WantedPulpC is { } wantedC)
            Require.Within(wantedC, -5, 45, nameof(question.WantedPulpC));

        var after = RoomAir.Blend(question.Inside, question.Outside, RoomAir.FreshShare(question.AirChangesPerHour * question.Hours));
        var (verdict, reasons) = Judge(question, after);
        double before = question.Inside.PulpDeficitPa(pulpC);
        double then = after.Air.PulpDeficitPa(pulpC);
        if (then > FasterDryingFactor * Math.Max(0, before) && then > before + FasterDryingPa)
            reasons.Add(VentReason.DriesProduceFaster);
        return new VentAdvice(
            verdict,
            reasons,
            after,
            pulpC - question.Outside.TemperatureC,
            question.Outside.CondensationMarginC(pulpC),
            question.Inside.CondensationMarginC(pulpC),
            after.Air.CondensationMarginC(pulpC),
            question.Outside.TemperatureC - question.FreezingPointC,
            before,
            then,
            HoursTo(pulpC - MostColderC, question.Inside.TemperatureC, question.Outside.TemperatureC, question.AirChangesPerHour));
    }

    /// <summary>
    /// Hours until the mix has cooled to a temperature: -ln((T - T_out)/(T_in - T_out))/n, the room's air alone
    /// (exponential approach of a perfectly mixed box; derived). Temperature is taken to mix as dry air does, which is
    /// within 0.1 C between airs of -10 to 20 C. Nought where it is there already, null where it never gets there.
    /// </summary>
    public static double? HoursTo(double temperatureC, double insideC, double outsideC, double airChangesPerHour)
    {
        Require.Within(airChangesPerHour, 1e-6, 1e6, nameof(airChangesPerHour));
        if (insideC <= temperatureC)
            return 0;
        if (outsideC >= temperatureC)
            return null;
        return -Portable.Log((temperatureC - outsideC) / (insideC - outsideC)) / airChangesPerHour;
    }

    private static (VentVerdict Verdict, List<VentReason> Reasons) Judge(VentQuestion question, BlendedAir after)
    {
        double pulpC = question.ColdestPulpC;
        double outsideMargin = question.Outside.CondensationMarginC(pulpC);
        double colder = pulpC - question.Outside.TemperatureC;
        bool wetNow = question.Inside.CondensationMarginC(pulpC) <= 0;
        bool nearlyWets = outsideMargin < NearlyWetMarginC;

        if (question.Outside.TemperatureC <= question.FreezingPointC + FreezingGuardC)
            return (VentVerdict.WaitFreezing, [VentReason.IncomingCouldFreeze]);
        if (outsideMargin <= 0)
            return (VentVerdict.WaitWet, colder <= 0 ? [VentReason.IncomingWets, VentReason.OutsideNotColder] : [VentReason.IncomingWets]);

        // Here the air outside is drier than the surface of the produce: it dries what is wet, whatever its temperature.
        List<VentReason> also = [];
        if (nearlyWets)
            also.Add(VentReason.IncomingNearlyWets);
        if (after.FogGramsPerKg > 0)
            also.Add(VentReason.MixFogs);
        if (after.Air.CondensationMarginC(pulpC) <= 0)
            also.Add(VentReason.MixWets);

        bool coldEnough = pulpC <= question.WantedPulpC;
        if (wetNow && (coldEnough || colder <= 0))
            return (VentVerdict.OpenBriefly, [VentReason.DriesWetProduce, coldEnough ? VentReason.ColdEnough : VentReason.OutsideNotColder, .. also]);
        if (coldEnough)
            return (VentVerdict.NoNeed, [VentReason.ColdEnough]);
        if (colder <= 0)
            return (VentVerdict.WaitWarm, [VentReason.OutsideNotColder, .. also]);
        if (pulpC - question.Inside.TemperatureC >= MostColderC)
            return (VentVerdict.WaitChill, [VentReason.RoomTooCold, .. also]);
        if (colder > MostColderC)
            return (VentVerdict.OpenBriefly, [VentReason.OutsideMuchColder, .. also]);
        if (colder < LeastColderC)
            return (VentVerdict.OpenBriefly, [VentReason.OutsideBarelyColder, .. also]);
        // Only a sensor that reads over 100 % can be near its dew point and 1 C colder at once.
        return (nearlyWets ? VentVerdict.OpenBriefly : VentVerdict.Open, [VentReason.OutsideColder, .. also]);
    }
}
