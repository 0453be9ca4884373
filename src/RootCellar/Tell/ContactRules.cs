using MimeKit;
using RootCellar.Household;

namespace RootCellar.Tell;

/// <summary>What a contact may be; used by pages and API alike.</summary>
internal static class ContactRules
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
        if (channel is not (MailChannel.ChannelName or PostChannel.ChannelName))
            return new Refused(RefusedFor.Choice, $"channel: '{channel}' is not one of mail, post.");
        if (channel == MailChannel.ChannelName
            && !(MailboxAddress.TryParse(address, out _) && address.Contains('@', StringComparison.Ordinal)))
        {
            return new Refused(RefusedFor.MailAddress, $"address: '{address}' is not a mail address. Right: ann@example.org.");
        }

        if (channel == PostChannel.ChannelName && address.Length is 0 or > 200)
            return new Refused(RefusedFor.PostAddress, "address: the number or name the gateway knows this person by, e.g. +15551234567.");
        if (wants is not ("all" or "urgent")) return new Refused(RefusedFor.Choice, $"wants: '{wants}' is not one of all, urgent.");
        contact = new Contact(string.IsNullOrEmpty(id) ? Guid.NewGuid().ToString("N")[..12] : id, name, channel, address, wants, report
            ?? true);
        return null;
    }
}
