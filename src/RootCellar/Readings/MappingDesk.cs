using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>A mapping with its id; those of the settings file have one too, and stay as they are.</summary>
internal sealed record KeptMapping(string Id, Mapping Mapping);

/// <summary>The file of mappings.</summary>
internal sealed record KeptMappings(IReadOnlyList<KeptMapping> Mappings)
{
    public KeptMappings()
        : this([])
    {
    }
}

/// <summary>
/// How topics that are not of our convention are read: what the settings file says, and what was set up on the page or by the API, which holds
/// from the next message on. Safe from any thread.
/// </summary>
internal sealed class MappingDesk
{
    /// <summary>Enough for any house, and few enough that every message can be held against them.</summary>
    public const int Most = 400;

    private readonly Lock one = new();
    private readonly KeptFile<KeptMappings> file;
    private volatile KeptMappings kept;

    public MappingDesk(MqttOptions mqtt, KeptFile<KeptMappings> file)
    {
        this.file = file;
        Configured = [.. mqtt.Mappings.Select((m, i) => new KeptMapping(FormattableString.Invariant($"file-{i + 1}"), m))];
        (kept, var why) = file.Read();
        Problem = why is null ? null : Strings.MappingFileBad.With(why);
    }

    /// <summary>Those of the settings file.</summary>
    public IReadOnlyList<KeptMapping> Configured { get; }

    /// <summary>Those set up while the service ran, oldest first.</summary>
    public IReadOnlyList<KeptMapping> Kept => kept.Mappings;

    public IReadOnlyList<Mapping> InForce => [.. Configured.Concat(Kept).Select(k => k.Mapping)];

    /// <summary>What is wrong with the file; null while all is well.</summary>
    public string? Problem { get; private set; }

    /// <summary>Told after each change.</summary>
    public event EventHandler? Changed;

    /// <summary>Takes mappings that <see cref="MappingRules"/> found no fault with; their ids. Null: there are too many.</summary>
    /// <exception cref="IOException">They could not be kept; all is as it was.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public IReadOnlyList<string>? Add(IReadOnlyList<Mapping> mappings)
    {
        List<KeptMapping> fresh = [.. mappings.Select(m => new KeptMapping(Guid.NewGuid().ToString("N")[..8], m))];
        lock (one)
        {
            if (kept.Mappings.Count + fresh.Count > Most) return null;
            Write(new KeptMappings([.. kept.Mappings, .. fresh]));
        }

        Changed?.Invoke(this, EventArgs.Empty);
        return [.. fresh.Select(f => f.Id)];
    }

    /// <summary>Takes some away; false where none of them is there.</summary>
    /// <exception cref="IOException">It could not be kept; all is as it was.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public bool Remove(IReadOnlyCollection<string> ids)
    {
        lock (one)
        {
            KeptMapping[] left = [.. kept.Mappings.Where(m => !ids.Contains(m.Id, StringComparer.Ordinal))];
            if (left.Length == kept.Mappings.Count) return false;
            Write(new KeptMappings(left));
        }

        Changed?.Invoke(this, EventArgs.Empty);
        return true;
    }

    private void Write(KeptMappings fresh)
    {
        file.Write(fresh, setAside: Problem is not null);
        (kept, Problem) = (fresh, null);
    }
}
