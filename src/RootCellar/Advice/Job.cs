using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Readings;
using RootCellar.Science.Keeping;
using RootCellar.Storage;
using RootCellar.Tls;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>
/// What there is to do, ranked by what waiting costs: first what is a danger to people, then what spoils produce within days, then what
/// costs weight, then what is not known.
/// </summary>
internal enum JobKind
{
    /// <summary>Carbon dioxide is high: air the room before going in.</summary>
    AirTheRoom = 1,

    /// <summary>Frost is near.</summary>
    KeepFromFrost,

    /// <summary>Wet, or signs of rot: take out and sort.</summary>
    SortOut,

    /// <summary>It stands in cold that harms it.</summary>
    Warm,

    /// <summary>Light has greened it, or is about to.</summary>
    Cover,

    /// <summary>Anything else is wrong with a room's air.</summary>
    SeeToRoom,

    /// <summary>Any other alarm that stands.</summary>
    SeeToAlarm,

    /// <summary>A promise that there is not enough for.</summary>
    SaveAPromise,

    /// <summary>Dry air costs weight, though no alarm of it stands.</summary>
    WetTheAir,

    /// <summary>Crops that cost each other keeping time stand in one room.</summary>
    KeepApart,

    /// <summary>Healed far enough: to the storage room.</summary>
    Move,

    /// <summary>A promise that is due within the week, or not sure to be met.</summary>
    KeepAPromise,

    /// <summary>Healed far enough within the week to come.</summary>
    MoveSoon,

    /// <summary>What a sensor says cannot be believed.</summary>
    SeeToSensor,

    /// <summary>The same of one that reads damp to the top.</summary>
    DryTheSensor,

    /// <summary>
    /// Its sprouts are longer than those of what is still spoken of as food: sort it first, for seed or to be thrown
    /// out.
    /// </summary>
    SortSprouted,

    /// <summary>The card under the record gives errors.</summary>
    SeeToCard,

    /// <summary>The card under the record has little room left.</summary>
    MakeRoom,

    /// <summary>The backup of the record is old, or cannot be made.</summary>
    BackUp,

    /// <summary>The certificate of https and MQTT over TLS runs out, or cannot be used.</summary>
    SeeToCertificate,

    /// <summary>Sprouting, or about to.</summary>
    UseFirst,

    /// <summary>The weigh-in that teaches most.</summary>
    WeighIn,
}

/// <summary>One job, as facts; each surface has its words for it, longer or shorter.</summary>
/// <param name="Bins">What it is about, by name; none where it is about a room, an alarm or a sensor.</param>
/// <param name="Kg">What is at stake, where that is known.</param>
internal sealed record Job(JobKind Kind, IReadOnlyList<string> Bins, string? Place, double? Kg)
{
    /// <summary>It does not wait until tomorrow.</summary>
    public bool Urgent { get; init; }

    /// <summary>Since when; of what is to come, when.</summary>
    public DateTimeOffset? When { get; init; }

    /// <summary>The advice of bins that it sums up, of the bin with most at stake; null where it is none.</summary>
    public BinAdvice? Advice { get; init; }

    /// <summary>Where the bins are to go, where that is known.</summary>
    public string? To { get; init; }

    /// <summary>The rule the bins cure by, of those to be moved.</summary>
    public CuringRule Rule { get; init; }

    /// <summary>The last sign of rot that was seen.</summary>
    public ConditionSeen? Seen { get; init; }

    public CropsApart? Apart { get; init; }

    public Alarm? Alarm { get; init; }

    public PromisePlan? Promise { get; init; }

    public IReadOnlyList<SensorTrouble> Sensors { get; init; } = [];

    public WeighInWorth? WeighIn { get; init; }

    public BackupStanding? Backup { get; init; }

    public CertificateStanding? Certificate { get; init; }

    /// <summary>What the card got wrong.</summary>
    public CardError? Card { get; init; }

    /// <summary>What is left of the card.</summary>
    public DiskLeft? Left { get; init; }
}
