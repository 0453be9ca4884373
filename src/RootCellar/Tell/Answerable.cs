namespace RootCellar.Tell;

/// <summary>What answering a text acknowledges.</summary>
/// <param name="Alarms">The alarms it told of; the one it was sent for first.</param>
/// <param name="Code">The number to answer with, where the modem hears answers; null: it is not answered by text.</param>
/// <param name="Links">The links that were sent with it: a mail that is sent again has a new one, and the first one goes on.</param>
internal sealed record Answerable(IReadOnlyList<string> Alarms, int? Code = null, IReadOnlyList<AnswerLink>? Links = null);

/// <summary>A link by which one mail is answered, once, by whoever holds it.</summary>
/// <param name="Hash">SHA-256 of its token, in hex; the token itself is in the mail and nowhere else.</param>
/// <param name="Until">From then on it answers nothing.</param>
/// <param name="UsedAt">Null: not yet.</param>
internal sealed record AnswerLink(string Hash, DateTimeOffset Until, DateTimeOffset? UsedAt = null);
