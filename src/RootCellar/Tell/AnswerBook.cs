using RootCellar.Watch;

namespace RootCellar.Tell;

/// <summary>One text that waits for an answer: the alarms of it that nobody has acknowledged yet.</summary>
internal sealed record Standing(int Code, IReadOnlyList<Alarm> Alarms);

/// <summary>
/// The texts that can be answered by text, and the numbers they are answered with. A number goes with an alarm, so that a reminder has the one
/// of the first text, and all who are told have the same. Owned by the pipeline's one thread.
/// </summary>
internal sealed class AnswerBook
{
    /// <summary>Two digits are quickly typed; after so many alarms the oldest number is given anew.</summary>
    public const int Highest = 99;

    // More than stand in a month with everything wrong (assumed).
    private const int Most = 500;

    private readonly LinkedList<Outgoing> texts = [];
    private readonly Dictionary<string, int> codes = new(StringComparer.Ordinal);
    private int last;

    /// <summary>The number of an alarm; the next one where it has none.</summary>
    public int CodeOf(string alarm)
    {
        if (codes.TryGetValue(alarm, out var known)) return known;
        Assign(alarm, (last % Highest) + 1);
        return last;
    }

    /// <summary>A text that went out or is about to.</summary>
    public void Put(Outgoing text)
    {
        if (text.Answerable is not { Code: { } code } asks || text.Over) return;
        Remove(text.Id);
        texts.AddLast(text);
        if (texts.Count > Most) texts.RemoveFirst();
        if (codes.GetValueOrDefault(asks.Alarms[0]) != code) Assign(asks.Alarms[0], code);
    }

    /// <summary>It reached nobody.</summary>
    public void Remove(string id)
    {
        for (var node = texts.Last; node is not null; node = node.Previous)
        {
            if (node.Value.Id != id) continue;
            texts.Remove(node);
            return;
        }
    }

    /// <summary>What waits for an answer from a number, the newest text first; no alarm is in two of them.</summary>
    /// <param name="address">The contact's own.</param>
    /// <param name="open">The alarms that are open.</param>
    public IReadOnlyList<Standing> Waiting(string address, IEnumerable<Alarm> open)
    {
        var left = open.Where(a => a.State is AlarmState.Unacknowledged or AlarmState.ReturnedUnacknowledged)
            .ToDictionary(a => a.Id, StringComparer.Ordinal);
        List<Standing> waiting = [];
        for (var node = texts.Last; node is not null && left.Count > 0; node = node.Previous)
        {
            if (node.Value.Recipient != address) continue;
            var asks = node.Value.Answerable!;
            List<Alarm> mine = [.. asks.Alarms.Where(left.ContainsKey).Select(a => left[a])];
            if (mine.Count == 0) continue;
            foreach (var alarm in mine) left.Remove(alarm.Id);
            waiting.Add(new Standing(asks.Code!.Value, mine));
        }

        return waiting;
    }

    /// <summary>The alarms of the newest text with that number to that address, whatever became of them; none where there is no such text.</summary>
    public IReadOnlyList<string> Of(string address, int code)
    {
        for (var node = texts.Last; node is not null; node = node.Previous)
        {
            if (node.Value.Recipient == address && node.Value.Answerable!.Code == code) return node.Value.Answerable.Alarms;
        }

        return [];
    }

    private void Assign(string alarm, int code)
    {
        foreach (var old in codes.Where(c => c.Value == code).Select(c => c.Key).ToList()) codes.Remove(old);
        codes[alarm] = last = code;
    }
}
