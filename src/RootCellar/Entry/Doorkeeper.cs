using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>What came of a try to sign in.</summary>
internal abstract record SignInAnswer
{
    internal sealed record Household : SignInAnswer;

    internal sealed record Helper(long Id, string Name) : SignInAnswer;

    /// <summary>Not right: the passphrase; or the name or the PIN, and it is not said which.</summary>
    internal sealed record Wrong : SignInAnswer;

    /// <summary>Not looked at: too many tries. <see cref="Locked"/>: until the household says so, however long one waits.</summary>
    internal sealed record Wait(TimeSpan For, DateTimeOffset Until, bool Locked) : SignInAnswer;

    /// <summary>A PIN that cannot be counted cannot be tried.</summary>
    internal sealed record NoRecord(string Problem) : SignInAnswer;
}

/// <summary>Looks at passphrases and PINs, never at more than are allowed.</summary>
internal sealed class Doorkeeper(Store store, SignInTries tries, EntryMetrics metrics)
{
    /// <summary>The passphrase, at the sign-in page or wherever it is asked for once more.</summary>
    public SignInAnswer Household(Trier from, string? passphrase) => metrics.Seen("household", LookAtPassphrase(from, passphrase));

    public async Task<SignInAnswer> HelperAsync(Trier from, string? name, string? pin) =>
        metrics.Seen("helper", await LookAtPinAsync(from, name, pin));

    private SignInAnswer LookAtPassphrase(Trier from, string? passphrase)
    {
        if (tries.Begin(from) is var wait && wait > TimeSpan.Zero) return Wait(wait);
        if (string.IsNullOrWhiteSpace(passphrase) || !store.Read(c => Passphrase.IsRight(c, passphrase))) return new SignInAnswer.Wrong();
        tries.Forgive(from);
        return new SignInAnswer.Household();
    }

    private async Task<SignInAnswer> LookAtPinAsync(Trier from, string? name, string? pin)
    {
        if (tries.Begin(from) is var early && early > TimeSpan.Zero) return Wait(early);
        if (!Helpers.IsName(name)) return new SignInAnswer.Wrong();
        pin = pin?.Trim() ?? "";
        try
        {
            // A name nobody has is written about too, and its PIN compared: it takes as long.
            var known = await store.WriteAsync(c => Helpers.Try(c, name!, tries.Now) ?? Nobody(c));
            var counted = known ?? tries.BeginUnknown(name!);
            if (counted.Locked || counted.Wait > TimeSpan.Zero) return Wait(counted.Wait, counted.Locked);
            if (!Pin.IsRight(known?.Hash, pin)) return new SignInAnswer.Wrong();
            await store.WriteAsync(c => Helpers.Right(c, counted.Id, tries.Now));
            tries.Uncount(from);
            return new SignInAnswer.Helper(counted.Id, counted.Name);
        }
        catch (StoreProblemException e)
        {
            return new SignInAnswer.NoRecord(e.Message);
        }
    }

    private SignInAnswer.Wait Wait(TimeSpan wait, bool locked = false) => new(wait, tries.Now + wait, locked);

    private static PinTry? Nobody(SqliteConnection connection)
    {
        Meta.Set(connection, "probed", "1");
        return null;
    }
}
