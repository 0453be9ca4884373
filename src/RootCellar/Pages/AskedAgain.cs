namespace RootCellar.Pages;

/// <summary>What the book asks before it takes an entry, with the form that is sent once more.</summary>
/// <param name="OnlyKeep">It can be written down to be checked, and not said to be right.</param>
/// <param name="Action">Where the form goes.</param>
/// <param name="Fields">What was typed.</param>
internal sealed record AskedAgain(string Question, bool OnlyKeep, string Action, IEnumerable<(string Name, string Value)> Fields);
