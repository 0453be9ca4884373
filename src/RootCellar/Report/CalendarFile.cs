using System.Security.Cryptography;
using System.Text;
using Ical.Net;
using Ical.Net.CalendarComponents;
using Ical.Net.DataTypes;
using Ical.Net.Serialization;

namespace RootCellar.Report;

/// <summary>Dates as a calendar reads them (RFC 5545, RFC 7986).</summary>
internal static class CalendarFile
{
    public const string MediaType = "text/calendar; charset=utf-8";

    private const string Name = "RootCellar";

    // Phones look a few times a day at most, whatever they are asked to.
    private const string LookAgainAfter = "PT1H";

    /// <param name="dates">What is in it.</param>
    /// <param name="mark">Of this one calendar: the same date has another identifier in another one.</param>
    /// <param name="at">The moment it is made.</param>
    public static string Of(IEnumerable<ComingDate> dates, string mark, DateTimeOffset at)
    {
        var calendar = new Calendar { ProductId = "-//RootCellar//Calendar//EN", Method = "PUBLISH" };
        calendar.AddProperty("NAME", Name);
        calendar.AddProperty("X-WR-CALNAME", Name);
        var refresh = new CalendarProperty("REFRESH-INTERVAL", LookAgainAfter);
        refresh.AddParameter("VALUE", "DURATION");
        calendar.Properties.Add(refresh);
        foreach (var date in dates)
        {
            calendar.Events.Add(new CalendarEvent
            {
                Uid = UidOf(mark, date.Id),
                Summary = date.What,
                Description = date.About.Length == 0 ? null : date.About,
                Start = new CalDateTime(date.On),
                End = new CalDateTime(date.On.AddDays(1)),
                DtStamp = new CalDateTime(at.UtcDateTime, "UTC"),
                // A job is no appointment: whoever looks for a free hour finds one.
                Transparency = TransparencyType.Transparent,
            });
        }

        return new CalendarSerializer().SerializeToString(calendar)!;
    }

    /// <summary>A date that moves keeps it, so that a phone moves its entry and makes no second one.</summary>
    public static string UidOf(string mark, string id) =>
        new Guid(SHA256.HashData(Encoding.UTF8.GetBytes(mark + '\n' + id)).AsSpan(0, 16)).ToString();
}
