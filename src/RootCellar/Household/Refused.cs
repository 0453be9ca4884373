namespace RootCellar.Household;

/// <summary>
/// Why something cannot be set up so: in English for programs, and by what is wrong for pages, which have words of their own.
/// </summary>
internal sealed record Refused(RefusedFor For, string Text);

internal enum RefusedFor
{
    /// <summary>Not among the choices; a form offers the right ones only.</summary>
    Choice,
    Name,

    /// <summary>It has characters that are not seen, or reads like a path.</summary>
    OddName,
    PlaceId,

    /// <summary>What texts call it has other than Latin letters, or is long.</summary>
    ShortName,
    PlaceIdTaken,
    Volume,
    MailAddress,
    PostAddress,

    /// <summary>No telephone number.</summary>
    Number,
    /// <summary>Not what a crate can hold.</summary>
    Crate,
    MailServer,
    Port,
    WebAddress,
    Header,
    Body,
    TooLong,

    /// <summary>How long a contact waits for others.</summary>
    Wait,

    /// <summary>The hours in which a contact is left alone.</summary>
    Quiet,

    /// <summary>How many texts a day.</summary>
    MostADay,

    /// <summary>No zone of the clock.</summary>
    Zone,
}
