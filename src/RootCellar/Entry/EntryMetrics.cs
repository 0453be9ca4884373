using System.Diagnostics.Metrics;
using RootCellar.Diagnostics;
using RootCellar.Household;

namespace RootCellar.Entry;

/// <summary>Meter <c>RootCellar.Entry</c>: who came in, who did not and why, who was too fast. No names and no addresses in it.</summary>
internal sealed class EntryMetrics : IRoomMetrics
{
    private readonly Counter<long> signedIn;
    private readonly Counter<long> refused;
    private readonly Counter<long> limited;

    public EntryMetrics(IMeterFactory meters)
    {
        var meter = meters.Create("RootCellar.Entry");
        signedIn = meter.CreateCounter<long>("rootcellar.entry.signed.in", description: "Sign-ins, by household or helper.");
        refused = meter.CreateCounter<long>("rootcellar.entry.refused", description: "Sign-ins and requests refused, by reason.");
        limited = meter.CreateCounter<long>("rootcellar.entry.rate.limited",
            description: "Requests refused because too many came, by who sent them.");
    }

    /// <summary>Counts what came of a try to sign in, and passes it on.</summary>
    public SignInAnswer Seen(string who, SignInAnswer answer)
    {
        switch (answer)
        {
            case SignInAnswer.Household or SignInAnswer.Helper: signedIn.Add(1, new KeyValuePair<string, object?>("who", who)); break;
            case SignInAnswer.Wait wait: Refused(wait.Locked ? "locked" : "wait"); break;
            case SignInAnswer.NoRecord: Refused("no-record"); break;
            default: Refused("wrong"); break;
        }

        return answer;
    }

    /// <param name="reason">wrong, wait, locked, no-record (signing in); elsewhere (another site's page), host, session (a cookie that
    /// ended), token.</param>
    public void Refused(string reason) => refused.Add(1, new KeyValuePair<string, object?>("reason", reason));

    public void Limited(string who) => limited.Add(1, new KeyValuePair<string, object?>("who", who));
}
