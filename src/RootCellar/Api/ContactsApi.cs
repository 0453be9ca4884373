using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Tell;

namespace RootCellar.Api;

internal sealed record NewContact(string? Id, string? Name, string? Channel, string? Address, string? Wants, bool? Report = null);

/// <summary>Who is told, and what became of the texts.</summary>
internal static class ContactsApi
{
    public static void Map(RouteGroupBuilder group)
    {
        group.MapGet("", (Pipeline pipeline) => pipeline.Snapshot.Contacts).WithMetadata(new HouseholdOnly());
        group.MapPost("", async (NewContact body, Pipeline pipeline, CancellationToken cancellationToken) =>
        {
            if (ContactRules.Read(body.Id, body.Name, body.Channel, body.Address, body.Wants, out var contact, body.Report) is { } wrong) return ApiRoutes.Wrong(wrong.Text);
            await pipeline.AskAsync(
                (h, _, _) =>
                {
                    h.SaveContact(contact!);
                    return true;
                },
                cancellationToken);
            return Results.Created($"/api/contacts/{contact!.Id}", contact);
        });
        group.MapDelete("{id}", async (string id, Pipeline pipeline, CancellationToken cancellationToken) =>
            await pipeline.AskAsync((h, _, _) => h.RemoveContact(id), cancellationToken) ? Results.NoContent() : ApiRoutes.Missing($"There is no contact '{id}'."));
        group.MapPost("{id}/test", async (string id, Pipeline pipeline, CancellationToken cancellationToken) =>
            await pipeline.AskAsync((h, wall, _) => h.TellTest(id, wall), cancellationToken) ? Results.Accepted() : ApiRoutes.Missing($"There is no contact '{id}'."));
    }
}
