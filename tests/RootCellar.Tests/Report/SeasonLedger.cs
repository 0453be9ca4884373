using System.Text.Json.Nodes;

namespace RootCellar.Tests.Report;

/// <summary>What a lot's entries of one week come to, whole grams.</summary>
internal sealed class LedgerWeek
{
    public long Start { get; set; }

    public long In { get; set; }

    public SortedDictionary<string, long> Outs { get; } = new(StringComparer.Ordinal);

    public long Shrink { get; set; }

    public long End { get; set; }
}

/// <summary>
/// The book of one lot added up with pencil and paper: knows nothing of the program's book. What the scale says counts, what is
/// missing against the book is shrink, what goes out beyond the book was there all the same.
/// </summary>
internal static class SeasonLedger
{
    public static List<LedgerWeek> Of(IEnumerable<(DateTimeOffset At, JsonObject Event)> written, DateTimeOffset start, int weeks)
    {
        var all = Enumerable.Range(0, weeks).Select(_ => new LedgerWeek()).ToList();
        var bins = new Dictionary<string, long>(StringComparer.Ordinal);
        int at = 0;
        foreach (var (when, e) in written)
        {
            while (when >= start.AddDays(7 * (at + 1))) Turn();
            Take(all[at], bins, e);
        }

        while (at < weeks - 1) Turn();
        all[at].End = bins.Values.Sum();
        return all;

        void Turn()
        {
            all[at].End = all[at + 1].Start = bins.Values.Sum();
            at++;
        }
    }

    private static void Take(LedgerWeek week, Dictionary<string, long> bins, JsonObject e)
    {
        string what = (string)e["event"]!;
        string bin = (string?)e["bin"] ?? "";
        switch (what)
        {
            case "filled":
                bins[bin] = Grams(e);
                week.In += Grams(e);
                break;
            case "weighed":
                week.Shrink += bins[bin] - Grams(e);
                bins[bin] = Grams(e);
                break;
            case "sorted":
                var into = e["into"]!.AsArray().Select(i => i!.AsObject()).ToList();
                week.Shrink += bins[bin] - into.Sum(Grams);
                bins.Remove(bin);
                foreach (var one in into) bins[(string)one["bin"]!] = Grams(one);
                break;
            case "culled" or "eaten" or "sold":
                string way = what == "culled" ? $"culled-{e["reason"]}" : what;
                long left = bins[bin] - Grams(e);
                week.Outs[way] = week.Outs.GetValueOrDefault(way) + Grams(e);
                bool all = (bool?)e["empties"] ?? false;
                if (all || left <= 0)
                {
                    week.Shrink += left;
                    bins.Remove(bin);
                }
                else
                {
                    bins[bin] = left;
                }

                break;
        }
    }

    private static long Grams(JsonObject of) => of["measure"] is JsonObject m
        ? (long)Math.Round((decimal)(double)m["amount"]! * (decimal)(double)m["kgPerUnit"]! * 1000, MidpointRounding.AwayFromZero)
        : (long)Math.Round((decimal)(double)of["weightKg"]! * 1000, MidpointRounding.AwayFromZero);
}
