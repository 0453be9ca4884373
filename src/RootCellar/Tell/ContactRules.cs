using System.Text.RegularExpressions;
using MimeKit;
using RootCellar.Household;

namespace RootCellar.Tell;

/// <summary>What a contact may be; used by pages and API alike.</summary>
internal static partial class ContactRules
{
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
