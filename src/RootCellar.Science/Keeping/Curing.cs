using RootCellar.Science.Crops;

namespace RootCellar.Science.Keeping;

/// <summary>The rule a crop cures by.</summary>
public enum CuringRule
{
    /// <summary>Not cured: cooled at once.</summary>
    None,

    /// <summary>Suberization and wound periderm of potatoes (<see cref="WoundHealing"/>).</summary>
    Potato,

    /// <summary>Warm, damp healing of sweet potatoes, in days at 29 C.</summary>
    SweetPotato,

    /// <summary>Drying of the necks and scales of onion, garlic and shallot, in days at 27 C in dry air.</summary>
    Drying,

    /// <summary>Hardening of the rind of pumpkins and winter squash, in days at 28 C.</summary>
    Rind,
}

/// <summary>
/// Curing of any crop: a rate per day by its own rule, and the days at the rule's own temperature for each stage. "Sealed"
/// and "healed" stand for the like of it: a closed layer, tight necks, a hard rind.
/// </summary>
public static class Curing
{
    /// <summary>The rule of a crop.</summary>
    public static CuringRule RuleOf(Crop crop)
    {
        ArgumentNullException.ThrowIfNull(crop);
        return crop.Curing?.Rule ?? CuringRule.None;
    }

    /// <summary>Curing per day, in days at the rule's own temperature, damp or dry as the rule wants it.</summary>
    public static double RatePerDay(CuringRule rule, double pulpC, double relativeHumidityPercent, bool wet, double co2Ppm = double.NaN) =>
        rule switch
        {
            CuringRule.Potato => WoundHealing.RatePerDay(pulpC, relativeHumidityPercent, wet, co2Ppm),
            // Three times as fast per 10 C: 7 d at 27 to 29 C against 14 to 21 d at 65 to 75 F (USDA AIB 410, Iowa State), so that roots put
            // straight into store hardly cure there; nothing below 12 C (chilling), 45 C harms (Nielsen and Johnson 1974, Phytopathology 64);
            // ends and dry edge assumed.
            CuringRule.SweetPotato when !wet => Faster(pulpC, 29, Ln3) * Math.Clamp((pulpC - 12) / 4, 0, 1) * Math.Clamp((42 - pulpC) / 6, 0, 1)
                * Math.Clamp(1 - (85 - relativeHumidityPercent) / 40, 0, 1),
            // Necks dry in warm moving dry air: full rate up to 70 % humidity (about 70 % is the figure for heated air), none at 95 %
            // (assumed).
            CuringRule.Drying when !wet => Faster(Math.Min(pulpC, 32), 27, Ln2) * Math.Clamp((pulpC - 2) / 8, 0, 1) * Math.Clamp(
                1 - (relativeHumidityPercent - 70) / 25, 0, 1),
            // Chilling below 10 C; a wet or very damp rind does not harden (over 85 % spreads disease, North Carolina); edges assumed.
            CuringRule.Rind when !wet => Faster(Math.Min(pulpC, 32), 28, Ln2) * Math.Clamp((pulpC - 10) / 4, 0, 1) * Math.Clamp(
                1 - (relativeHumidityPercent - 85) / 15, 0, 1),
            _ => 0,
        };

    /// <summary>Days at the rule's own temperature to a stage; infinite where the crop is not cured.</summary>
    public static double DaysTo(CuringRule rule, HealingStage stage) => (rule, stage) switch
    {
        (_, HealingStage.Open) => 0,
        (CuringRule.Potato, HealingStage.Sealed) => WoundHealing.SealedDays,
        (CuringRule.Potato, HealingStage.Adequate) => WoundHealing.AdequateDays,
        (CuringRule.Potato, _) => WoundHealing.HealedDays,
        // Suberin across wounds in 6 d (Nielsen and Johnson 1974); 4 to 7 d (AH-66); 7 d (Iowa State). First layer assumed.
        (CuringRule.SweetPotato, HealingStage.Sealed) => 3,
        (CuringRule.SweetPotato, HealingStage.Adequate) => 5,
        (CuringRule.SweetPotato, _) => 7,
        // 14 to 20 d of drying and curing (Opara 2003); 10 to 14 d forced. Tight neck assumed at half of it.
        (CuringRule.Drying, HealingStage.Sealed) => 7,
        (CuringRule.Drying, HealingStage.Adequate) => 12,
        (CuringRule.Drying, _) => 18,
        // 10 d at 27 to 30 C (Nova Scotia; Alabama); the way there assumed.
        (CuringRule.Rind, HealingStage.Sealed) => 5,
        (CuringRule.Rind, HealingStage.Adequate) => 7,
        (CuringRule.Rind, _) => 10,
        _ => double.PositiveInfinity,
    };

    /// <summary>The stage after so many days at the rule's own temperature.</summary>
    public static HealingStage StageAfter(CuringRule rule, double days)
    {
        for (var stage = HealingStage.Healed; stage > HealingStage.Open; stage--)
        {
            if (days >= DaysTo(rule, stage))
                return stage;
        }

        return HealingStage.Open;
    }

    private const double Ln2 = 0.6931471805599453;
    private const double Ln3 = 1.0986122886681098;

    private static double Faster(double pulpC, double atC, double logPerTen) => Portable.Exp(logPerTen / 10 * (pulpC - atC));
}
