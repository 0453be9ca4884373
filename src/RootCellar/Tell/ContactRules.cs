using System.Text.RegularExpressions;
using MimeKit;
using RootCellar.Household;

namespace RootCellar.Tell;

/// <summary>What a contact may be; used by pages and API alike.</summary>
internal static partial class ContactRules
{
    private const int LongestWaitMinutes = 240;
    private const int MostTextsADay = 100;

    /// <summary>Makes a contact of what was given; otherwise says what is wrong and what would be right.</summary>
    public static Refused? Read(string? id, string? name, string? channel, string? address, string? wants, out Contact? contact,
        bool? report = null)
    {
        contact = null;
        name = name?.Trim();
        address = address?.Trim() ?? "";
        channel = channel?.Trim().ToLowerInvariant();
        wants = string.IsNullOrEmpty(wants) ? "all" : wants.Trim().ToLowerInvariant();
        if (string.IsNullOrEmpty(name) || name.Length > 80) return new Refused(RefusedFor.Name, "name: who is it? At most 80 letters.");
        if (channel is null || !ChannelDesk.All.Contains(channel, StringComparer.Ordinal))
            return new Refused(RefusedFor.Choice, $"channel: '{channel}' is not one of {string.Join(", ", ChannelDesk.All)}.");
        if (Address(channel, address, out address) is { } wrong) return wrong with { Text = $"address: {wrong.Text}" };
        if (wants is not ("all" or "urgent")) return new Refused(RefusedFor.Choice, $"wants: '{wants}' is not one of all, urgent.");
        contact = new Contact(string.IsNullOrEmpty(id) ? Guid.NewGuid().ToString("N")[..12] : id, name, channel, address, wants, report
            ?? true);
        return null;
    }

    /// <summary>When a contact is told and in which language, as given; what is null stays as it is, and an empty time or language or a 0 takes it away.</summary>
    /// <param name="contact">As it was; as it is after it.</param>
    /// <param name="given">As typed or sent.</param>
    public static Refused? Times(ref Contact contact, GivenTimes given)
    {
        var wait = given.WaitMinutes ?? contact.WaitMinutes;
        if (wait is < 0 or > LongestWaitMinutes)
            return new Refused(RefusedFor.Wait, $"waitMinutes: {wait} is not between 0 (at once) and {LongestWaitMinutes}.");
        var most = given.MostADay ?? contact.MostADay ?? 0;
        if (most is < 0 or > MostTextsADay)
            return new Refused(RefusedFor.MostADay, $"mostADay: {most} is not between 1 and {MostTextsADay}, or 0 for however many there are.");
        var (from, to) = (contact.QuietFrom, contact.QuietTo);
        if (!Clock(given.QuietFrom, ref from) || !Clock(given.QuietTo, ref to) || from is null != to is null || (from is not null && from == to))
            return new Refused(RefusedFor.Quiet, "quietFrom, quietTo: two times of the household's clock, e.g. \"21:30\" and \"06:00\", or both empty.");
        var (wakes, well) = (given.Wakes ?? contact.Wakes, given.AllIsWell ?? contact.AllIsWell);
        if (wakes is not ("urgent" or "high")) return new Refused(RefusedFor.Choice, $"wakes: '{wakes}' is not one of urgent, high.");
        if (well is not ("never" or "daily" or "weekly"))
            return new Refused(RefusedFor.Choice, $"allIsWell: '{well}' is not one of never, daily, weekly.");
        var language = given.Language is null ? contact.Language : given.Language.Length == 0 ? null : given.Language;
        if (language is not null && !Language.Shipped.Contains(language, StringComparer.Ordinal))
            return new Refused(RefusedFor.Choice, $"language: '{language}' is not one of {string.Join(", ", Language.Shipped)}, or \"\" for the household's.");
        contact = contact with
        {
            Language = language,
            WaitMinutes = wait,
            QuietFrom = from,
            QuietTo = to,
            Wakes = wakes,
            LowInTheMorning = given.LowInTheMorning ?? contact.LowInTheMorning,
            MostADay = most == 0 ? null : most,
            AllIsWell = well,
        };
        return null;
    }

    private static bool Clock(string? given, ref string? time)
    {
        if (given is null) return true;
        if (string.IsNullOrWhiteSpace(given))
        {
            time = null;
            return true;
        }

        if (!ClockTime.TryRead(given, out var read)) return false;
        time = read;
        return true;
    }

    /// <summary>Where a channel reaches somebody.</summary>
    /// <param name="channel">One of <see cref="ChannelDesk.All"/>.</param>
    /// <param name="given">As it was typed.</param>
    /// <param name="address">As it is kept.</param>
    public static Refused? Address(string channel, string? given, out string address)
    {
        address = given?.Trim() ?? "";
        switch (channel)
        {
            case MailChannel.ChannelName:
                return MailboxAddress.TryParse(address, out _) && address.Contains('@', StringComparison.Ordinal) ? null
                    : new Refused(RefusedFor.MailAddress, $"'{address}' is not a mail address. Right: ann@example.org.");
            case ModemChannel.ChannelName:
                var number = string.Concat(address.Where(c => !" -()./".Contains(c, StringComparison.Ordinal)));
                if (!Number().IsMatch(number))
                    return new Refused(RefusedFor.Number, $"'{address}' is not a telephone number. Right: +15551234567.");
                address = number;
                return null;
            default:
                return address.Length is 0 or > 200
                    ? new Refused(RefusedFor.PostAddress, "the number or name the gateway knows this person by, e.g. +15551234567.") : null;
        }
    }

    [GeneratedRegex("^\\+?[0-9]{3,20}$", RegexOptions.None, 1000)]
    private static partial Regex Number();
}

/// <summary>When a contact is to be told, and in which language, as typed or sent.</summary>
internal sealed record GivenTimes(
    int? WaitMinutes = null, string? QuietFrom = null, string? QuietTo = null, string? Wakes = null, bool? LowInTheMorning = null,
    int? MostADay = null, string? AllIsWell = null, string? Language = null);
