namespace RootCellar.Science.Keeping;

/// <summary>What a lot brings from the field that makes rot likely.</summary>
[Flags]
public enum RotSigns
{
    /// <summary>Nothing known.</summary>
    None = 0,

    /// <summary>Late blight late in the season.</summary>
    LateBlight = 1,

    /// <summary>Soil saturated for more than 24 hours.</summary>
    SaturatedSoil = 2,

    /// <summary>Rain during digging.</summary>
    RainAtDigging = 4,

    /// <summary>Rot seen at digging.</summary>
    RotSeen = 8,

    /// <summary>Frosted in the field. Not one of the four that are counted; it rules out curing by itself.</summary>
    FieldFrost = 16,
}

/// <summary>What a lot's flags call for.</summary>
/// <param name="Flags">How many of the four flags are up, 0 to 4.</param>
/// <param name="SkipCuring">Do not cure warm and damp: dry, cool at once, sell or use early.</param>
public readonly record struct RotAdvice(int Flags, bool SkipCuring);

/// <summary>Pulp temperature at digging.</summary>
public enum DiggingPulp
{
    /// <summary>Below 7.2 C: cold tubers shatter and bruise.</summary>
    TooCold,

    /// <summary>7.2 to 10 C.</summary>
    Cool,

    /// <summary>10 to 16 C.</summary>
    Best,

    /// <summary>16 to 18.3 C.</summary>
    Warm,

    /// <summary>Above 18.3 C: leak and other wet rots.</summary>
    TooWarm,
}

/// <summary>
/// Rot risk of a potato lot as it comes in, by rule, not by model. The flags and how long to dry are Walsh's, New Brunswick
/// (in Potatoes in Canada): none, cure; one, a couple of days; two, a couple of weeks; three, humidifier off, fans on, could
/// be more than two months. No flag is no proof: late blight can hide in 0 to 44 % of tubers (Plant Disease 93:940, 2009).
/// </summary>
public static class RotRisk
{
    /// <summary>Above this pulp at digging is risky, C (65 F: extension on Pythium leak; Bethke: stop above 18 C).</summary>
    public const double StopAboveC = 18.3;

    /// <summary>Above this it is warm, C (Bethke: 10 to 16 C ideal; 60 F).</summary>
    public const double WarmAboveC = 16;

    /// <summary>Below this it is cool, C (50 F; Univ. Nebraska's page on soft rot would dig below it).</summary>
    public const double CoolBelowC = 10;

    /// <summary>Below this avoid digging, C (45 F: shatter bruise).</summary>
    public const double AvoidBelowC = 7.2;

    private const RotSigns Counted = RotSigns.LateBlight | RotSigns.SaturatedSoil | RotSigns.RainAtDigging | RotSigns.RotSeen;

    /// <summary>What the flags call for.</summary>
    /// <remarks>
    /// Curing is skipped after field frost or late blight (Utah State Univ.: skip curing, cool at once, sell early) and from three
    /// flags up (assumed).
    /// </remarks>
    public static RotAdvice Advise(RotSigns flags)
    {
        int up = System.Numerics.BitOperations.PopCount((uint)(flags & Counted));
        return new RotAdvice(up, up >= 3 || (flags & (RotSigns.FieldFrost | RotSigns.LateBlight)) != RotSigns.None);
    }

    /// <summary>What to say of the flags.</summary>
    /// <param name="flags">What the lot brings along.</param>
    /// <param name="cures">
    /// How the crop cures. Only what heals in warm damp air is dried for so long before it; what is cured dry is dried the longer, and what
    /// is not cured would shrivel (common practice).
    /// </param>
    public static string Words(RotSigns flags, CuringRule cures = CuringRule.Potato)
    {
        var advice = Advise(flags);
        if (!HealsInDampAir(cures) && advice.Flags > 0)
        {
            return (advice.SkipCuring
                    ? "High rot risk: use or sell it early, "
                    : "Something from the field speaks for rot: store only what is sound and dry outside, use it before the others, ")
                + (cures == CuringRule.Drying ? "dry it longer than usual in moving air, " : "")
                + "and look for wet and smelly spots for three weeks and on.";
        }

        string drying = advice.Flags switch
        {
            0 => "",
            1 => "dry it with moving air for a couple of days",
            2 => "dry it with moving air for a couple of weeks",
            _ => "keep the room dry with air moving, perhaps for more than two months",
        };
        if (advice.SkipCuring)
        {
            return (drying.Length == 0 ? "High rot risk: " : $"High rot risk: {drying}, ")
                + "skip the warm damp curing, cool it at once, use or sell it early, and look for wet and smelly spots for three weeks and on.";
        }

        return advice.Flags == 0
            ? "Nothing from the field speaks for rot: cure as usual, and still look the lot over after two or three weeks."
            : $"Something from the field speaks for rot: {drying} before curing, and look for wet and smelly spots.";
    }

    /// <summary>Whether it is cured warm and damp, which feeds rot too.</summary>
    public static bool HealsInDampAir(CuringRule cures) => cures is CuringRule.Potato or CuringRule.SweetPotato;

    /// <summary>How warm the pulp is for digging; null where it is not known.</summary>
    public static DiggingPulp? AtDigging(double pulpC) => pulpC switch
    {
        > StopAboveC => DiggingPulp.TooWarm,
        > WarmAboveC => DiggingPulp.Warm,
        >= CoolBelowC => DiggingPulp.Best,
        >= AvoidBelowC => DiggingPulp.Cool,
        < AvoidBelowC => DiggingPulp.TooCold,
        _ => null,
    };

    /// <summary>What to say of the pulp at digging.</summary>
    public static string DiggingWords(double pulpC) => AtDigging(pulpC) switch
    {
        DiggingPulp.TooWarm =>
            $"The pulp is {Said.Degrees(pulpC)}, above {Said.Degrees(StopAboveC)}: leak and soft rot start easily in potatoes stored so warm, so stop and dig in the cool of the morning.",
        DiggingPulp.Warm => $"The pulp is {Said.Degrees(pulpC)}, warm for digging: get it out of the sun and cool it the same day.",
        DiggingPulp.Best => $"The pulp is {Said.Degrees(pulpC)}: within the best range for digging.",
        DiggingPulp.Cool => $"The pulp is {Said.Degrees(pulpC)}, cool for digging: handle gently, cold potatoes bruise.",
        DiggingPulp.TooCold =>
            $"The pulp is {Said.Degrees(pulpC)}, below {Said.Degrees(AvoidBelowC)}: cold potatoes shatter and bruise, so wait until it warms.",
        _ => "The temperature of the pulp is not known: put a thermometer into a few potatoes before storing them.",
    };
}
