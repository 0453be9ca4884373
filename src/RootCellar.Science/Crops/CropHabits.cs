namespace RootCellar.Science.Crops;

/// <summary>How a crop comes in.</summary>
public enum Harvest
{
    /// <summary>Out of the ground with fork or spade.</summary>
    Dug,

    /// <summary>Loosened, and taken up by its top.</summary>
    Lifted,

    /// <summary>Drawn by hand.</summary>
    Pulled,

    /// <summary>Cut from its stalk or vine.</summary>
    Cut,

    /// <summary>From the tree.</summary>
    Picked,

    /// <summary>Off the ground, where it fell.</summary>
    Gathered,
}

/// <summary>What may be asked of a crop at harvest.</summary>
public enum HarvestSign
{
    /// <summary>Whether its skin was set.</summary>
    Skin,

    /// <summary>Soil that stood wet.</summary>
    WetSoil,

    /// <summary>Rain at the time.</summary>
    Rain,

    /// <summary>Late blight where it grew.</summary>
    LateBlight,

    /// <summary>Rot that was seen.</summary>
    RotSeen,
}

/// <summary>Whether a crop sprouts in store, and what goes with it.</summary>
public enum SproutKind
{
    /// <summary>It does not.</summary>
    None,

    /// <summary>It does, and its keeping ends by it.</summary>
    Plain,

    /// <summary>It does, and its sprouts hold poisons: a caution goes with them.</summary>
    Poisonous,
}

/// <summary>For what a crop is culled.</summary>
public enum CullReason
{
    /// <summary>Rot of any kind.</summary>
    Rot,

    /// <summary>Greened by light.</summary>
    Green,

    /// <summary>Sprouted.</summary>
    Sprouted,

    /// <summary>Cut, bruised or cracked.</summary>
    Damage,

    /// <summary>Frozen.</summary>
    Frost,

    /// <summary>Eaten by insects, slugs or mice.</summary>
    Pests,

    /// <summary>Anything else.</summary>
    Other,

    /// <summary>Browned skin of stored fruit.</summary>
    Scald,

    /// <summary>Sunken spots under the skin of apples.</summary>
    BitterPit,

    /// <summary>Flesh browned or mealy from within.</summary>
    Breakdown,

    /// <summary>Hollowed by wasps.</summary>
    Wasps,

    /// <summary>Rot that begins at the neck of a bulb.</summary>
    NeckRot,

    /// <summary>Wrinkled or limp.</summary>
    Shrivelled,

    /// <summary>Burst.</summary>
    Split,

    /// <summary>Woody or pithy.</summary>
    Woody,

    /// <summary>Pitted by cold above freezing.</summary>
    Chilled,

    /// <summary>Weevils or their grubs.</summary>
    Weevils,

    /// <summary>Mould.</summary>
    Mould,

    /// <summary>Its oil gone off.</summary>
    Rancid,
}

/// <summary>
/// The kind of tested process a crop is canned by. What the directions are is for USDA and NCHFP to say; a kind only says which
/// caution goes with it.
/// </summary>
public enum CanningProcess
{
    /// <summary>Low in acid: under pressure.</summary>
    Pressure,

    /// <summary>Fruit: a process of its own.</summary>
    Fruit,

    /// <summary>Low in acid, and no process known for it plain: pickled, or as kraut.</summary>
    Pickle,
}
