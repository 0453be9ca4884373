using System.Net.Security;
using System.Security.Authentication;
using Microsoft.AspNetCore.Server.Kestrel.Https;

namespace RootCellar.Tls;

/// <summary>
/// The certificate as the web server and the broker show it. Its files are read anew every minute, so that a renewed one holds without a
/// restart; one that cannot be used leaves the one before in force, and the plain ports as they are. Safe from any thread.
/// </summary>
internal sealed class HouseCertificate
{
    /// <summary>From then on somebody should renew it: three weekends (assumed).</summary>
    public static readonly TimeSpan RenewWithin = TimeSpan.FromDays(21);

    private readonly Lock looking = new();
    private readonly TlsOptions tls;
    private readonly TimeProvider time;
    private readonly ILogger<HouseCertificate> log;
    private volatile LoadedCertificate? loaded;
    private volatile CertificateStanding now = CertificateStanding.Off;
    private CertificateFiles? tried;
    private CertificateFault? fault;

    public HouseCertificate(TlsOptions tls, TimeProvider time, ILogger<HouseCertificate> log)
    {
        (this.tls, this.time, this.log) = (tls, time, log);
        Look();
    }

    public bool IsSet => tls.IsSet;

    /// <summary>As of the last look, at most a minute ago.</summary>
    public CertificateStanding Now => now;

    /// <summary>What a server of ours does with whoever comes over TLS.</summary>
    public TlsHandshakeCallbackOptions Handshake => new() { OnConnection = _ => ValueTask.FromResult(Offer()) };

    /// <summary>Whether the one that is shown is made out for this name.</summary>
    public bool IsFor(string host) => loaded?.IsFor(host) == true;

    public void Look()
    {
        if (!tls.IsSet) return;
        lock (looking)
        {
            var (was, before) = (now, loaded);
            if (CertificateFiles.Read(tls, out var unread) is not { } files) (tried, fault) = (null, unread);
            else if (files != tried) Take(files);
            now = Stand();
            if (was == CertificateStanding.Off) return;
            if (now.CallsForSomeone && (now.Trouble, now.File) != (was.Trouble, was.File)) log.LogWarning("{Why}", CertificateWords.Why(now));
            else if (loaded != before) log.LogInformation("The certificate was renewed; it holds until {Until:yyyy-MM-dd}", loaded!.Until);
        }
    }

    private SslServerAuthenticationOptions Offer() => loaded is { } shown
        ? new SslServerAuthenticationOptions { ServerCertificateContext = shown.Context }
        : throw new AuthenticationException("There is no certificate that could be shown.");

    private void Take(CertificateFiles files)
    {
        tried = files;
        if (LoadedCertificate.Of(files, tls, out fault) is { } fresh) loaded = fresh;
    }

    private CertificateStanding Stand()
    {
        var at = time.GetUtcNow();
        if (loaded is not { } shown) return CertificateStanding.Off with { Trouble = fault!.Trouble, File = fault.File, Detail = fault.Detail };
        var left = shown.Until - at;
        var dated = at < shown.From ? CertificateTrouble.NotYet
            : left <= TimeSpan.Zero ? CertificateTrouble.Expired
            : left <= RenewWithin ? CertificateTrouble.RunsOut
            : shown.Names.Count == 0 ? CertificateTrouble.NamesNothing
            : CertificateTrouble.None;
        return new CertificateStanding(
            fault?.Trouble ?? dated, fault?.File ?? tls.CertificateFile, fault?.Detail, shown.Until, left, at >= shown.From && left > TimeSpan.Zero,
            shown.Names);
    }
}
