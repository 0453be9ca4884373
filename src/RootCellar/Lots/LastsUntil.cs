namespace RootCellar.Lots;

/// <summary>What ends the keeping of a lot.</summary>
internal enum EndsBy
{
    /// <summary>Most of it has a sprout of 5 mm.</summary>
    Sprouts,

    /// <summary>It has lost so much of its weight that it shows.</summary>
    Shriveling,

    /// <summary>The keeping time of handbooks is over.</summary>
    Age,

    /// <summary>It would freeze.</summary>
    Frost,
}

/// <summary>Until when a lot lasts, with its 90 % interval. A question of looks and sale: never whether it is fit to eat.</summary>
/// <param name="When">What is null in it is further off than is looked ahead.</param>
/// <param name="By">What comes first; null where nothing comes in sight.</param>
internal sealed record LastsUntil(When When, EndsBy? By)
{
    /// <summary>Whether it is likely still to last then.</summary>
    public bool At(DateTimeOffset moment) => When.Likely is not { } end || end > moment;

    /// <summary>The first of several: of each of their dates the earliest.</summary>
    public static LastsUntil First(IEnumerable<LastsUntil> all)
    {
        var ends = all.ToList();
        var when = new When(ends.Min(e => e.When.Early), ends.Min(e => e.When.Likely), ends.Min(e => e.When.Late));
        var first = ends.Where(e => e.When.Likely is not null).MinBy(e => e.When.Likely)
            ?? ends.Where(e => e.When.Early is not null).MinBy(e => e.When.Early);
        return new LastsUntil(when, first?.By);
    }
}
