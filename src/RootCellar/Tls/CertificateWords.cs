using System.Globalization;
using RootCellar.Household;

namespace RootCellar.Tls;

/// <summary>Says what is wrong with the certificate, where, and what would be right; on pages, at the start and in <c>check</c> alike.</summary>
internal static class CertificateWords
{
    /// <summary>Empty where nothing is wrong.</summary>
    public static string Why(CertificateStanding now)
    {
        var why = now.Trouble switch
        {
            CertificateTrouble.Missing => Strings.CertificateMissing.With(now.File),
            CertificateTrouble.Unreadable => Strings.CertificateUnreadable.With(now.File, now.Detail),
            CertificateTrouble.NoCertificate => Strings.CertificateNone.With(now.File),
            CertificateTrouble.NoKey => Strings.CertificateNoKey.With(now.File),
            CertificateTrouble.KeyLocked => Strings.CertificateKeyLocked.With(now.File),
            CertificateTrouble.KeyOfAnother => Strings.CertificateKeyOfAnother.With(now.File),
            CertificateTrouble.NotYet => Strings.CertificateNotYet.With(now.File),
            CertificateTrouble.Expired => Strings.CertificateExpired.With(Day(now.Until!.Value), now.File),
            CertificateTrouble.RunsOut => Strings.CertificateRunsOut.With(Day(now.Until!.Value), Math.Floor(now.Left!.Value.TotalDays), now.File),
            CertificateTrouble.NamesNothing => Strings.CertificateNamesNothing.With(now.File),
            _ => "",
        };
        return now.Trouble switch
        {
            CertificateTrouble.None or CertificateTrouble.RunsOut or CertificateTrouble.NamesNothing => why,
            CertificateTrouble.Expired or CertificateTrouble.NotYet => $"{why} {Strings.CertificatePlainGoesOn}",
            _ when now.IsGood => $"{why} {Strings.CertificateBeforeGoesOn.With(Day(now.Until!.Value))}",
            _ => $"{why} {Strings.CertificateOff} {Strings.CertificatePlainGoesOn}",
        };
    }

    public static string Day(DateTimeOffset day) => day.ToString("d MMM yyyy", CultureInfo.CurrentCulture);
}
