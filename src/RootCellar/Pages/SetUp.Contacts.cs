using RootCellar.Household;
using RootCellar.Tell;

namespace RootCellar.Pages;

/// <summary>When each contact is told, in words and as choices.</summary>
internal sealed partial class SetUpModel
{
    /// <summary>How long somebody may wait for others, minutes.</summary>
    public static IReadOnlyList<int> Waits => [0, 10, 20, 40, 60, 120];

    public static IEnumerable<(string Value, string Words)> HowOften =>
        [("never", Strings.WellNever), ("daily", Strings.WellDaily), ("weekly", Strings.WellWeekly)];

    /// <summary>Whether everybody waits for somebody else.</summary>
    public bool NobodyAtOnce => Contacts.Count > 0 && Contacts.All(c => c.WaitMinutes > 0);

    /// <summary>What is not at once; empty where everything is.</summary>
    public string TimesOf(Contact contact)
    {
        List<string> said = [];
        if (contact.WaitMinutes > 0) said.Add(Strings.WaitUntil.With(contact.WaitMinutes));
        if (contact is { QuietFrom: { } from, QuietTo: { } to })
            said.Add((contact.Wakes == "high" ? Strings.QuietSaidHigh : Strings.QuietSaid).With(WrittenTime.Hour(ClockTime.Of(from)), WrittenTime.Hour(ClockTime.Of(to))));
        if (contact.LowInTheMorning) said.Add(Strings.LowSaid);
        if (contact.MostADay is { } most) said.Add(Strings.MostSaid.With(most));
        if (contact.AllIsWell != "never") said.Add(contact.AllIsWell == "daily" ? Strings.WellSaidDaily : Strings.WellSaidWeekly);
        if (contact.Language is { } language) said.Add(Strings.LanguageSaid.With(languages.Of(language).Name));
        return string.Join(" · ", said);
    }
}
