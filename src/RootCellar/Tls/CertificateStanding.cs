namespace RootCellar.Tls;

/// <summary>What is wrong with the certificate, the worst first.</summary>
internal enum CertificateTrouble
{
    None,

    /// <summary>There is no such file.</summary>
    Missing,

    /// <summary>The service may not read it.</summary>
    Unreadable,

    /// <summary>It holds no certificate in PEM.</summary>
    NoCertificate,

    /// <summary>It holds no private key in PEM.</summary>
    NoKey,

    /// <summary>The key is locked with a passphrase.</summary>
    KeyLocked,

    /// <summary>The key is damaged, of no use here, or of another certificate.</summary>
    KeyOfAnother,

    /// <summary>It holds from a later day on.</summary>
    NotYet,

    /// <summary>It ran out.</summary>
    Expired,

    /// <summary>It runs out within <see cref="HouseCertificate.RenewWithin"/>.</summary>
    RunsOut,

    /// <summary>It names no address, as browsers want it (subjectAltName, RFC 9525).</summary>
    NamesNothing,
}

/// <summary>How the certificate stands.</summary>
/// <param name="Trouble">Of the files as they are now.</param>
/// <param name="File">Which of the two it is about.</param>
/// <param name="Detail">What the system said to it.</param>
/// <param name="Until">When the one that is shown to clients runs out; null where none is.</param>
/// <param name="Left">How long that is; negative where it ran out.</param>
/// <param name="IsGood">One is shown to clients, and holds today.</param>
/// <param name="Names">The names and addresses in it.</param>
internal sealed record CertificateStanding(
    CertificateTrouble Trouble, string File, string? Detail, DateTimeOffset? Until, TimeSpan? Left, bool IsGood, IReadOnlyList<string> Names)
{
    /// <summary>None was brought.</summary>
    public static readonly CertificateStanding Off = new(CertificateTrouble.None, "", null, null, null, IsGood: false, []);

    /// <summary>Somebody has to see to it.</summary>
    public bool CallsForSomeone => Trouble != CertificateTrouble.None;
}
