using System.Globalization;

namespace RootCellar.Readings;

/// <summary>One value of a message, with what it most likely is.</summary>
internal sealed record RecipeValue(FoundValue Found, ValueGuess? Guess);

/// <summary>Why a message offers no figure.</summary>
internal enum NothingFound
{
    /// <summary>Words, or figures written in a way that is not understood.</summary>
    NoFigure,

    /// <summary>Bytes that are no text.</summary>
    Binary,

    TooLong,
}

/// <summary>
/// What a topic that was heard most likely is: one device, its values, what tells its messages from those of a neighbour's device, and the
/// topic that says whether it is there. Made to be confirmed with one tap.
/// </summary>
internal sealed record Recipe(
    string Topic, string Device, IReadOnlyList<RecipeValue> Values, IReadOnlyDictionary<string, string> Where, (string Topic, string Online, string Offline)? Status)
{
    // Names that tell one device of a shared topic from another.
    private static readonly string[] Identity = ["/id", "/channel", "/model", "/mac", "/address", "/devEui", "/device"];

    // Levels that name no device.
    private static readonly HashSet<string> Plumbing = new(StringComparer.OrdinalIgnoreCase)
    {
        "tele", "stat", "sensor", "sensors", "state", "status", "result", "event", "events", "up", "uplink", "data", "rootcellar",
    };

    private static readonly (string Online, string Offline)[] Words = [("online", "offline"), ("true", "false"), ("1", "0"), ("connected", "disconnected")];

    private static readonly string[] StatusLevels = ["availability", "LWT", "status", "online", "connected"];

    /// <summary>Why there is no figure in it; null where there is one.</summary>
    public NothingFound? Nothing { get; private init; }

    /// <summary>Whether there is something in it that a mapping can read.</summary>
    public bool IsUseful => Nothing is null;

    public static Recipe Of(HeardTopic heard, IReadOnlyDictionary<string, HeardTopic> all)
    {
        // Half a message would be read as another one.
        var found = heard.IsTooLong ? [] : PayloadValues.Of(heard.Last);
        var where = Identity.Select(at => (At: at, found.FirstOrDefault(f => f.Pointer == at)?.Text))
            .Where(i => i.Text is { Length: > 0 and < 60 }).ToDictionary(i => i.At, i => i.Text!, StringComparer.Ordinal);
        // A model alone tells no two devices apart.
        if (where.Count == 1 && where.ContainsKey("/model")) where.Clear();
        return new Recipe(
            heard.Topic, Named(heard.Topic, where),
            [.. found.Where(f => f.Pointer is null || !where.ContainsKey(f.Pointer)).Select(f => new RecipeValue(f, ValueGuesses.Of(heard.Topic, f, found)))],
            where, StatusOf(heard.Topic, all))
        {
            Nothing = heard.IsTooLong ? NothingFound.TooLong : !PayloadValues.IsText(heard.Last) ? NothingFound.Binary
                : found.Any(f => f.Value is not null && !(f.Pointer is { } at && where.ContainsKey(at))) ? null : NothingFound.NoFigure,
        };
    }

    /// <summary>The mappings of what was said to be what; quantity and unit by <see cref="QuantityNames"/>.</summary>
    public IReadOnlyList<Mapping> Mappings(IEnumerable<(FoundValue Found, string Quantity, string? Unit)> said, string place, string sensor) =>
    [
        .. said.Select(s => new Mapping
        {
            Topic = Topic,
            Pointer = s.Found.Pointer,
            Pick = s.Found.Pick is { } pick && (pick != "1" || !IsPlain(s.Found.Text)) ? pick : null,
            Quantity = s.Quantity,
            Unit = s.Unit,
            Place = place,
            Sensor = sensor,
            Where = new Dictionary<string, string>(Where, StringComparer.Ordinal),
            StatusTopic = Status?.Topic,
            Online = Status?.Online ?? "online",
            Offline = Status?.Offline ?? "offline",
        }),
    ];

    private static bool IsPlain(string text) =>
        double.TryParse(text, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out _);

    private static string Named(string topic, IReadOnlyDictionary<string, string> where)
    {
        var levels = topic.Split('/').Where(l => l.Length > 0 && !Plumbing.Contains(l) && !NamesAFigure(l)).TakeLast(3)
            .Concat(where.Values.Except([where.GetValueOrDefault("/model", "")], StringComparer.Ordinal));
        var name = string.Join('-', levels).Replace('+', '-').Replace('#', '-');
        return name.Length == 0 ? "sensor" : name.Length <= 64 ? name : name[^64..];
    }

    private static bool NamesAFigure(string level) =>
        ValueGuesses.Of(level, new FoundValue(null, null, "50", 50, null), []) is not null || level.Contains(':', StringComparison.Ordinal);

    private static (string Topic, string Online, string Offline)? StatusOf(string topic, IReadOnlyDictionary<string, HeardTopic> all)
    {
        var levels = topic.Split('/');
        for (var depth = levels.Length; depth > 0; depth--)
        {
            var root = string.Join('/', levels[..depth]);
            foreach (var heard in StatusLevels.Select(s => all.GetValueOrDefault($"{root}/{s}")).OfType<HeardTopic>().Where(h => h.Topic != topic))
            {
                var said = PayloadValues.Of(heard.Last).Select(v => v.Text).Append(System.Text.Encoding.UTF8.GetString(heard.Last).Trim()).ToList();
                foreach (var (online, offline) in Words)
                {
                    if (said.Contains(online, StringComparer.OrdinalIgnoreCase) || said.Contains(offline, StringComparer.OrdinalIgnoreCase))
                        return (heard.Topic, online, offline);
                }
            }
        }

        return null;
    }
}
