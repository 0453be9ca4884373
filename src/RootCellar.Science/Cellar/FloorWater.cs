using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>Whether to put water on the floor.</summary>
public enum FloorWaterVerdict
{
    /// <summary>Put down what <see cref="FloorWaterPlan"/> says.</summary>
    Put,

    /// <summary>The air is damper than wanted now, or the lots' own water will bring it there.</summary>
    NoNeed,

    /// <summary>Refused: at the wanted humidity the coldest produce would be within the margin of its dew point.</summary>
    WouldWet,
}

/// <summary>The question: how much water for a humidity, and how long does it last?</summary>
/// <param name="Inside">Air of the room now.</param>
/// <param name="WantedHumidityPercent">Humidity wanted at the same air temperature, percent.</param>
/// <param name="Outside">Air that leaks in, at the same pressure.</param>
/// <param name="ColdestPulpC">Coldest produce, C.</param>
/// <param name="AirM3">Air in the room, m3 (<see cref="GasBalance.AirM3"/>).</param>
/// <param name="AirChangesPerHour">Air changes, 1/h (<see cref="AirChange"/>).</param>
/// <param name="ProduceGramsPerHour">Water the lots give off, g/h: weight loss by transpiration.</param>
/// <param name="MarginC">Kept between the coldest produce and the dew point, C.</param>
public sealed record FloorWaterQuestion(
    AirState Inside,
    double WantedHumidityPercent,
    AirState Outside,
    double ColdestPulpC,
    double AirM3,
    double AirChangesPerHour,
    double ProduceGramsPerHour,
    double MarginC = Vent.NearlyWetMarginC);

/// <summary>The answer. Litres are kg of water.</summary>
/// <param name="Verdict">What to do.</param>
/// <param name="HighestHumidityPercent">Dampest air that keeps the margin at the coldest produce, percent, at the room's temperature.</param>
/// <param name="LitresAtOnce">To bring the room's air there, L; nought unless the verdict is Put.</param>
/// <param name="LitresPerDay">To hold it there, L/day; nought unless the verdict is Put.</param>
/// <param name="SurplusLitresPerDay">What the lots give off beyond what the air change takes, L/day: it will settle or raise the humidity further.</param>
public sealed record FloorWaterPlan(
    FloorWaterVerdict Verdict,
    double HighestHumidityPercent,
    double LitresAtOnce,
    double LitresPerDay,
    double SurplusLitresPerDay);

/// <summary>Water on a cellar floor. Room temperature is taken as held by walls and produce.</summary>
public static class FloorWater
{
    /// <summary>How much to put down, or why not.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A figure outside what <see cref="LitresAtOnce"/> and <see cref="LitresPerDay"/> take.</exception>
    public static FloorWaterPlan Plan(FloorWaterQuestion question)
    {
        ArgumentNullException.ThrowIfNull(question);
        double highest = HighestHumidityPercent(question.Inside.TemperatureC, question.ColdestPulpC, question.MarginC);
        double atOnce = LitresAtOnce(question.Inside, question.WantedHumidityPercent, question.AirM3);
        var wanted = MoistAir.At(question.Inside.TemperatureC, question.WantedHumidityPercent, question.Inside.PressurePa);
        double perDay = LitresPerDay(wanted, question.Outside, question.AirM3, question.AirChangesPerHour, question.ProduceGramsPerHour);
        double surplus = Math.Max(0, -perDay);
        if (question.WantedHumidityPercent > highest)
            return new FloorWaterPlan(FloorWaterVerdict.WouldWet, highest, 0, 0, surplus);
        // A room that keeps itself damper than wanted gets there by itself: a first dose would only overshoot.
        bool need = atOnce >= 0 && perDay >= 0 && atOnce + perDay > 0;
        return need
            ? new FloorWaterPlan(FloorWaterVerdict.Put, highest, atOnce, perDay, 0)
            : new FloorWaterPlan(FloorWaterVerdict.NoNeed, highest, 0, 0, surplus);
    }

    /// <summary>
    /// Dampest air whose dew point stays the margin below the coldest produce, percent at air temperature, at most 100:
    /// 100 e_s(pulp - margin)/e_s(air) (definition of the dew point).
    /// </summary>
    public static double HighestHumidityPercent(double airC, double coldestPulpC, double marginC = Vent.NearlyWetMarginC)
    {
        Require.Within(airC, -5, 45, nameof(airC));
        Require.Within(coldestPulpC, -5, 45, nameof(coldestPulpC));
        Require.Within(marginC, 0, 10, nameof(marginC));
        return Math.Min(100, 100 * Saturation.OverWaterPa(coldestPulpC - marginC) / Saturation.OverWaterPa(airC));
    }

    /// <summary>
    /// Water that brings the air of a room from its humidity to another at the same temperature, L: air volume times the
    /// difference of absolute humidity (derived; ideal gas). Below nought the air holds more already. Wood, soil and walls
    /// take up several times as much before the air gets there: a lower bound.
    /// </summary>
    public static double LitresAtOnce(AirState air, double wantedHumidityPercent, double airM3)
    {
        Require.Within(wantedHumidityPercent, MoistAir.LowestHumidityPercent, 100, nameof(wantedHumidityPercent));
        Require.Within(airM3, 0.1, 1e6, nameof(airM3));
        double wanted = MoistAir.AbsoluteHumidityGramsPerCubicMetre(
            MoistAir.VapourPressurePa(air.TemperatureC, wantedHumidityPercent), air.TemperatureC);
        return airM3 * (wanted - air.AbsoluteHumidityGramsPerCubicMetre) / 1000;
    }

    /// <summary>
    /// Water a day that holds the air of a room, L: dry air exchanged (24 n V rho) times the difference of humidity ratio, less
    /// what the lots give off (water balance of a perfectly mixed box; derived). Below nought the lots give off more
    /// than the air change takes away.
    /// </summary>
    /// <param name="held">Air to hold.</param>
    /// <param name="outside">Air that leaks in.</param>
    /// <param name="airM3">Air in the room, m3.</param>
    /// <param name="airChangesPerHour">1/h, 0 to 1000.</param>
    /// <param name="produceGramsPerHour">Water the lots give off, g/h.</param>
    public static double LitresPerDay(AirState held, AirState outside, double airM3, double airChangesPerHour, double produceGramsPerHour)
    {
        Require.Within(airM3, 0.1, 1e6, nameof(airM3));
        Require.Within(airChangesPerHour, 0, 1000, nameof(airChangesPerHour));
        Require.Within(produceGramsPerHour, 0, 1e6, nameof(produceGramsPerHour));
        double dryKgPerDay = 24 * airChangesPerHour * airM3 * RoomAir.DryAirKgPerM3(held);
        return dryKgPerDay * (held.HumidityRatio - outside.HumidityRatio) - 24 * produceGramsPerHour / 1000;
    }

    /// <summary>Days an amount lasts at a daily need; null where nothing is needed, so it never runs out by this balance.</summary>
    public static double? DaysLasting(double litres, double litresPerDay)
    {
        Require.Within(litres, 0, 1e6, nameof(litres));
        return litresPerDay > 0 ? litres / litresPerDay : null;
    }

    /// <summary>
    /// Heat that water takes from the room as it evaporates, MJ: 2.501 - 0.00233 T per kg (vapour enthalpy of ASHRAE
    /// Fundamentals 2017 ch. 1 equation 30 less 4.186 T of the liquid).
    /// </summary>
    public static double EvaporationMegajoules(double litres, double waterC)
    {
        Require.Within(litres, 0, 1e6, nameof(litres));
        Require.Within(waterC, 0, 45, nameof(waterC));
        return litres * (2.501 + 0.00186 * waterC - 0.004186 * waterC);
    }
}
