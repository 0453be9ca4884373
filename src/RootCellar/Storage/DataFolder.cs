using RootCellar.Monitoring;

namespace RootCellar.Storage;

/// <summary>The names of what lies in a data folder beside the record.</summary>
internal static class DataFolder
{
    /// <summary>The installer's own settings.</summary>
    public const string Settings = "rootcellar.json";

    /// <summary>The folder of the household's own templates.</summary>
    public const string Templates = "templates";

    /// <summary>The folder of the keys that sign people in; made after the record at a first start.</summary>
    public const string Keys = "keys";

    /// <summary>Places, sensors and contacts, for when the record cannot be opened.</summary>
    public const string SetUpCopy = "setup-copy.json";

    /// <summary>How texts go out, as set up on the page; with passwords.</summary>
    public const string Channels = "channels.json";

    /// <summary>That the service runs, and when it last watched.</summary>
    public const string Alive = "alive.json";

    /// <summary>From where on the time is counted while it is not known.</summary>
    public const string Clock = "clock.json";

    /// <summary>How topics that are not of our convention are read, as set up on the page.</summary>
    public const string Mappings = "mappings.json";

    /// <summary>What decides about cookies, for when the record cannot be opened.</summary>
    public const string EntryCopy = "entry-copy.json";

    /// <summary>Where the nightly backup goes, as set up on the page, and how the last one went.</summary>
    public const string Backup = "backup.json";

    /// <summary>Zone, language and units, as set up on the page.</summary>
    public const string Household = "household.json";

    /// <summary>The household's own crops.</summary>
    public const string OwnCrops = "crops.json";
}
