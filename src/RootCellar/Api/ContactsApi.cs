using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Tell;

namespace RootCellar.Api;

internal sealed record NewContact(
    string? Id = null, string? Name = null, string? Channel = null, string? Address = null, string? Wants = null, bool? Report = null);

/// <summary>Who is told, and what became of the texts.</summary>
internal static class ContactsApi
{
    public static void Map(RouteGroupBuilder group)
    {
        group.MapGet("", (Pipeline pipeline) => pipeline.Snapshot.Contacts)
            .WithName("listContacts").WithSummary("Who is told.").WithMetadata(new HouseholdOnly());
        group.MapPost("", async (NewContact body, Pipeline pipeline, CancellationToken cancellationToken) =>
        {
            if (ContactRules.Read(body.Id, body.Name, body.Channel, body.Address, body.Wants, out var contact, body.Report) is { } wrong)
                return ApiRoutes.Wrong(wrong.Text);
            await pipeline.AskAsync(
                (h, _, _) =>
                {
                    h.SaveContact(contact!);
                    return true;
                },
                cancellationToken);
            return Results.Created($"/api/contacts/{contact!.Id}", contact);
        }).WithName("saveContact").WithSummary("Adds somebody to tell, or changes who has that id.")
            .Produces<Contact>(StatusCodes.Status201Created);
        group.MapDelete("{id}", async (string id, Pipeline pipeline, CancellationToken cancellationToken) =>
            await pipeline.AskAsync((h, _, _) => h.RemoveContact(id), cancellationToken)
                ? Results.NoContent() : ApiRoutes.Missing($"There is no contact '{id}'."))
            .WithName("removeContact").WithSummary("Tells them no more.").Produces(StatusCodes.Status204NoContent);
        group.MapPost("{id}/test", async (string id, Pipeline pipeline, CancellationToken cancellationToken) =>
            await pipeline.AskAsync((h, wall, _) => h.TellTest(id, wall), cancellationToken)
                ? Results.Accepted() : ApiRoutes.Missing($"There is no contact '{id}'."))
            .WithName("testContact").WithSummary("Sends them a text that says it is a test.").Produces(StatusCodes.Status202Accepted);
    }
}
