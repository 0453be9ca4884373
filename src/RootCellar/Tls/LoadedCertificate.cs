using System.Net.Security;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace RootCellar.Tls;

/// <summary>Why the files give no certificate that could be shown.</summary>
internal sealed record CertificateFault(CertificateTrouble Trouble, string File, string? Detail = null);

/// <summary>The text of the two files.</summary>
internal sealed record CertificateFiles(string Certificate, string Key)
{
    /// <summary>A chain is a few kB; no more is read of what is none.</summary>
    private const long LongestBytes = 1_000_000;

    /// <returns>Null with the fault.</returns>
    public static CertificateFiles? Read(TlsOptions tls, out CertificateFault? fault)
    {
        var certificate = Read(tls.CertificateFile, CertificateTrouble.NoCertificate, out fault);
        if (certificate is null) return null;
        var key = tls.KeyFile == tls.CertificateFile ? certificate : Read(tls.KeyFile, CertificateTrouble.NoKey, out fault);
        return key is null ? null : new CertificateFiles(certificate, key);
    }

    private static string? Read(string file, CertificateTrouble tooLong, out CertificateFault? fault)
    {
        try
        {
            using var stream = File.OpenRead(file);
            fault = stream.Length > LongestBytes ? new CertificateFault(tooLong, file) : null;
            if (fault is not null) return null;
            using var reader = new StreamReader(stream);
            return reader.ReadToEnd();
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            fault = e is FileNotFoundException or DirectoryNotFoundException
                ? new CertificateFault(CertificateTrouble.Missing, file) : new CertificateFault(CertificateTrouble.Unreadable, file, e.Message);
            return null;
        }
    }
}

/// <summary>
/// A certificate with its key and the chain to be sent with it. Never disposed of: connections that began with it may still need it, and
/// there is one in a few weeks.
/// </summary>
internal sealed record LoadedCertificate(SslStreamCertificateContext Context, DateTimeOffset From, DateTimeOffset Until, IReadOnlyList<string> Names)
{
    /// <returns>Null with the fault.</returns>
    public static LoadedCertificate? Of(CertificateFiles files, TlsOptions tls, out CertificateFault? fault)
    {
        fault = null;
        var chain = new X509Certificate2Collection();
        try
        {
            chain.ImportFromPem(files.Certificate);
        }
        catch (CryptographicException e)
        {
            fault = new CertificateFault(CertificateTrouble.NoCertificate, tls.CertificateFile, e.Message);
        }

        if (fault is null && chain.Count == 0) fault = new CertificateFault(CertificateTrouble.NoCertificate, tls.CertificateFile);
        // PKCS #8 (RFC 5958) says it in the label, the older form of OpenSSL in a header.
        else if (files.Key.Contains("ENCRYPTED PRIVATE KEY-----", StringComparison.Ordinal) || files.Key.Contains("Proc-Type: 4,ENCRYPTED", StringComparison.Ordinal))
            fault ??= new CertificateFault(CertificateTrouble.KeyLocked, tls.KeyFile);
        else if (!files.Key.Contains("PRIVATE KEY-----", StringComparison.Ordinal))
            fault ??= new CertificateFault(CertificateTrouble.NoKey, tls.KeyFile);
        if (fault is not null) return null;
        try
        {
            var leaf = X509Certificate2.CreateFromPem(files.Certificate, files.Key);
            return new LoadedCertificate(
                SslStreamCertificateContext.Create(leaf, chain, offline: true), new DateTimeOffset(leaf.NotBefore), new DateTimeOffset(leaf.NotAfter),
                [.. leaf.Extensions.OfType<X509SubjectAlternativeNameExtension>()
                    .SelectMany(n => n.EnumerateDnsNames().Concat(n.EnumerateIPAddresses().Select(a => a.ToString())))]);
        }
        catch (Exception e) when (e is CryptographicException or ArgumentException or NotSupportedException)
        {
            fault = new CertificateFault(CertificateTrouble.KeyOfAnother, tls.KeyFile, e.Message);
            return null;
        }
    }

    /// <summary>Whether it is made out for this name.</summary>
    public bool IsFor(string host) => Context.TargetCertificate.MatchesHostname(host, allowWildcards: true, allowCommonName: false);
}
