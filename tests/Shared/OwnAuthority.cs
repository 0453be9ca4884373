using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace RootCellar.Shared;

/// <summary>
/// A household's own authority as a household makes one: a root that phones are told to trust, one below it that signs, and certificates
/// for the box, in files.
/// </summary>
internal sealed class OwnAuthority : IDisposable
{
    private static readonly DateTimeOffset Begins = new(2025, 1, 1, 0, 0, 0, TimeSpan.Zero);

    private readonly ECDsa rootKey = ECDsa.Create(ECCurve.NamedCurves.nistP256);
    private readonly ECDsa signingKey = ECDsa.Create(ECCurve.NamedCurves.nistP256);
    private readonly X509Certificate2 signing;

    public OwnAuthority()
    {
        Root = Authority("Our house", rootKey).CreateSelfSigned(Begins, Begins.AddYears(20));
        using var bare = Authority("Our house signing", signingKey).Create(Root, Begins, Begins.AddYears(19), Serial());
        signing = bare.CopyWithPrivateKey(signingKey);
    }

    /// <summary>What a phone is given.</summary>
    public X509Certificate2 Root { get; }

    /// <summary>Trusts the root and nothing else.</summary>
    public X509ChainPolicy Trust => new()
    {
        TrustMode = X509ChainTrustMode.CustomRootTrust,
        CustomTrustStore = { Root },
        RevocationMode = X509RevocationMode.NoCheck,
    };

    /// <summary>Makes a certificate and its key, with the chain behind it.</summary>
    /// <returns>Its serial number.</returns>
    public string Issue(string certificateFile, string keyFile, DateTimeOffset? until = null, DateTimeOffset? from = null, params string[] names)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=cellar", key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(false, false, 0, true));
        request.CertificateExtensions.Add(new X509EnhancedKeyUsageExtension([new Oid("1.3.6.1.5.5.7.3.1")], false));
        var named = new SubjectAlternativeNameBuilder();
        foreach (var name in names)
        {
            if (IPAddress.TryParse(name, out var address)) named.AddIpAddress(address);
            else named.AddDnsName(name);
        }

        if (names.Length > 0) request.CertificateExtensions.Add(named.Build());
        using var leaf = request.Create(signing, from ?? Begins, until ?? Begins.AddYears(10), Serial());
        File.WriteAllText(certificateFile, $"{leaf.ExportCertificatePem()}\n{signing.ExportCertificatePem()}\n");
        File.WriteAllText(keyFile, key.ExportPkcs8PrivateKeyPem() + "\n");
        return leaf.SerialNumber;
    }

    public void Dispose()
    {
        Root.Dispose();
        signing.Dispose();
        rootKey.Dispose();
        signingKey.Dispose();
    }

    private static CertificateRequest Authority(string name, ECDsa key)
    {
        var request = new CertificateRequest($"CN={name}", key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(true, false, 0, true));
        request.CertificateExtensions.Add(new X509KeyUsageExtension(X509KeyUsageFlags.KeyCertSign | X509KeyUsageFlags.CrlSign, true));
        return request;
    }

    private static byte[] Serial()
    {
        var serial = RandomNumberGenerator.GetBytes(16);
        serial[0] &= 0x7F;
        return serial;
    }
}
