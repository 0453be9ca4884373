using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Pages.Evening;

/// <summary>The first text: a test to whoever is told, with what the other side answered.</summary>
internal sealed class TestModel(Pipeline pipeline, Outbox outbox, ChannelTest test, FirstEvening evening) : PageModel
{
    public FirstEvening Evening => evening;

    /// <summary>Whom a text would reach.</summary>
    public IReadOnlyList<Contact> People => [.. pipeline.Snapshot.Contacts.Where(c => outbox.Channels.Contains(c.Channel))];

    /// <summary>What came of the test just sent.</summary>
    public (string Name, bool Taken, string Words)? Answer { get; private set; }

    public string? Problem { get; private set; }

    public async Task OnPostAsync(string? id)
    {
        if (People.FirstOrDefault(c => c.Id == id) is not { } contact)
        {
            Problem = Strings.EveningTestGone;
            return;
        }

        var said = await test.SendAsync(contact.Channel, contact.Address, HttpContext.RequestAborted);
        Answer = said is { } answer ? (contact.Name, answer.Taken, answer.Words) : (contact.Name, false, Strings.ChannelNotOn);
        if (Answer is not { Taken: true }) return;
        try
        {
            await evening.TestedAsync();
        }
        catch (StoreProblemException)
        {
            // The text went out, which is what was asked; the step is only not ticked.
        }
    }
}
