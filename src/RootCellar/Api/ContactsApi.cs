using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Tell;

namespace RootCellar.Api;

internal sealed record NewContact(
    string? Id = null, string? Name = null, string? Channel = null, string? Address = null, string? Wants = null, bool? Report = null,
    int? WaitMinutes = null, string? QuietFrom = null, string? QuietTo = null, string? Wakes = null, bool? LowInTheMorning = null,
    int? MostADay = null, string? AllIsWell = null, string? Language = null)
{
    public GivenTimes Times => new(WaitMinutes, QuietFrom, QuietTo, Wakes, LowInTheMorning, MostADay, AllIsWell, Language);
}

/// <summary>Who is told, and what became of the texts.</summary>
internal static class ContactsApi
{
    public static void Map(RouteGroupBuilder group)
    {
        group.MapGet("", (Pipeline pipeline) => pipeline.Snapshot.Contacts)
            .WithName("listContacts").WithSummary("The contacts: who gets texts and mail.").WithMetadata(new HouseholdOnly());
        group.MapPost("", async (NewContact body, Pipeline pipeline, CancellationToken cancellationToken) =>
        {
            if (Read(body, null, out var contact) is { } wrong) return ApiRoutes.Wrong(wrong.Text);
            await SaveAsync(pipeline, contact!, cancellationToken);
            return Results.Created($"/api/contacts/{contact!.Id}", contact);
        }).WithName("saveContact").WithSummary("Adds a contact, or replaces the one with that id.")
            .Produces<Contact>(StatusCodes.Status201Created);
        group.MapPatch("{id}", async (string id, NewContact body, Pipeline pipeline, CancellationToken cancellationToken) =>
        {
            if (pipeline.Snapshot.Contacts.FirstOrDefault(c => c.Id == id) is not { } was) return ApiRoutes.Missing($"There is no contact '{id}'.");
            if (Read(body, was, out var contact) is { } wrong) return ApiRoutes.Wrong(wrong.Text);
            await SaveAsync(pipeline, contact!, cancellationToken);
            return Results.Ok(contact);
        }).WithName("changeContact").WithSummary("Changes the fields that are sent; the rest of the contact stays.").Produces<Contact>();
        group.MapDelete("{id}", async (string id, Pipeline pipeline, CancellationToken cancellationToken) =>
            await pipeline.AskAsync((h, _, _) => h.RemoveContact(id), cancellationToken)
                ? Results.NoContent() : ApiRoutes.Missing($"There is no contact '{id}'."))
            .WithName("removeContact").WithSummary("Removes a contact.").Produces(StatusCodes.Status204NoContent);
        group.MapPost("{id}/test", async (string id, Pipeline pipeline, CancellationToken cancellationToken) =>
            await pipeline.AskAsync((h, wall, _) => h.TellTest(id, wall), cancellationToken)
                ? Results.Accepted() : ApiRoutes.Missing($"There is no contact '{id}'."))
            .WithName("testContact").WithSummary("Sends the contact a text that says it is a test.").Produces(StatusCodes.Status202Accepted);
    }

    /// <param name="was">Whose values hold where nothing is given; null for somebody new.</param>
    private static Refused? Read(NewContact body, Contact? was, out Contact? contact)
    {
        if (ContactRules.Read(was?.Id ?? body.Id, body.Name ?? was?.Name, body.Channel ?? was?.Channel, body.Address ?? was?.Address,
            body.Wants ?? was?.Wants, out contact, body.Report ?? was?.Report) is { } wrong) return wrong;
        if (was is not null)
            contact = was with { Name = contact!.Name, Channel = contact.Channel, Address = contact.Address, Wants = contact.Wants, Report = contact.Report };
        return ContactRules.Times(ref contact!, body.Times);
    }

    private static Task<bool> SaveAsync(Pipeline pipeline, Contact contact, CancellationToken cancellationToken) => pipeline.AskAsync(
        (h, _, _) =>
        {
            h.SaveContact(contact);
            return true;
        },
        cancellationToken);
}
