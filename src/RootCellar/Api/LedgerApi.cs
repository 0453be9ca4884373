using System.ComponentModel;
using System.Globalization;
using System.Text.Json;
using Microsoft.AspNetCore.Mvc;
using RootCellar.Entry;
using RootCellar.Ledger;

namespace RootCellar.Api;

/// <summary>The ledger: writing into it and reading it.</summary>
internal static class LedgerApi
{
    private const int MostEvents = 1_000;

    /// <summary>As many as can be written at once: who wrote them reads them back in one.</summary>
    private const int OnePage = MostEvents;

    private const int LongestPage = 10_000;

    public static void Map(RouteGroupBuilder group)
    {
        group.MapPost("", WriteAsync).WithName("writeLedger").WithSummary("Writes events into the book, all of them or none.")
            .WithDescription("One event may also be sent by itself, not in an array: its entry is then answered by itself.")
            .Accepts<IReadOnlyList<EventShape>>("application/json")
            .Produces<IReadOnlyList<EntryShape>>(StatusCodes.Status201Created).Produces<IReadOnlyList<EntryShape>>()
            .Produces<BookAsks>(StatusCodes.Status409Conflict, "application/problem+json")
            .ProducesProblem(StatusCodes.Status422UnprocessableEntity).ProducesProblem(StatusCodes.Status507InsufficientStorage)
            .WithMetadata(new HelpersMay());
        group.MapGet("", Read).WithName("readLedger").WithSummary("The book, oldest first, page by page.")
            .Produces<IEnumerable<EntryShape>>()
            .WithMetadata(new LargeAnswer(s => [s.GetRequiredService<LedgerDoor>().Book]));
    }

    private static async Task<IResult> WriteAsync(
        HttpContext context,
        LedgerDoor door,
        RateLimits limits,
        [Description("Keeps also what the book asks about, to be checked later: it counts for nothing until a correction clears it.")] bool? keep,
        [FromHeader(Name = "Idempotency-Key"), Description(
            "Any text of at most 200 letters: the same events sent again under it are kept once.")]
        string? key)
    {
        var sent = await ApiRoutes.BodyAsync(context);
        var many = sent.ValueKind == JsonValueKind.Array;
        var elements = many ? sent.EnumerateArray().ToList() : [sent];
        if (elements.Count is 0 or > MostEvents) return ApiRoutes.Wrong($"An array of 1 to {MostEvents} events.");
        if (limits.More(context, elements.Count) is { } tooMany) return tooMany;
        key = key?.Trim() ?? "";
        if (key.Length > 200) return ApiRoutes.Wrong("Idempotency-Key: at most 200 letters.");
        var given = new List<NewEntry>(elements.Count);
        foreach (var element in elements)
        {
            var entry = EventReader.Read(element, door.Now, out var wrong);
            if (entry is null) return ApiRoutes.Wrong(many ? $"Event {given.Count}: {wrong}" : wrong!);
            if (!context.User.MayWriteAs(entry.By))
                return Results.Problem(
                    $"by: you are signed in as {context.User.Identity?.Name}, who writes in their own name only. Leave by out.",
                    statusCode: StatusCodes.Status403Forbidden);
            if (context.User.IsHelper()) entry = entry with { By = null };
            given.Add(keep == true ? entry with { Keep = true } : entry);
        }

        var taking = door.TakeAsync(given, key.Length == 0 ? null : key, context.User.Identity?.Name ?? "household");
        var answer = await taking.WaitAsync(context.RequestAborted);
        return answer switch
        {
            LedgerAnswer.Kept kept => Results.Json(Shown(kept.Entries), statusCode: StatusCodes.Status201Created),
            LedgerAnswer.Repeated repeated => Results.Json(Shown(repeated.Entries)),
            LedgerAnswer.Asked asked => Results.Problem(BookAsks.Of(asked.Questions, many)),
            LedgerAnswer.Wrong wrong => ApiRoutes.Wrong(many ? $"Event {wrong.Index}: {wrong.Detail}" : wrong.Detail),
            LedgerAnswer.KeyTaken taken => Results.Problem(taken.Detail, statusCode: StatusCodes.Status422UnprocessableEntity),
            _ => throw new InvalidOperationException($"An answer nobody shows: {answer}"),
        };

        object Shown(IReadOnlyList<LedgerEntry> entries)
        {
            var book = door.Book;
            var shapes = entries.Select(e => EntryShape.Of(book, book.Find(e.Id)!)).ToList();
            return many ? shapes : shapes[0];
        }
    }

    private static IResult Read(
        [Description("Only entries of this bin.")] string? bin,
        [Description("Only entries of this lot and its bins.")] string? lot,
        string? from,
        string? to,
        [Description("At most so many entries, 1 to 10000; 1000 where not said. Where there are more, the header Link has the address of the next page (rel=\"next\").")] int? limit,
        [Description("Only what stands after the entry of this number.")] long? after,
        HttpContext context,
        LedgerDoor door)
    {
        if (ApiRoutes.Time(door.Calendar, nameof(from), from, DateTimeOffset.MinValue, out var start) is { } notFrom) return notFrom;
        if (ApiRoutes.Time(door.Calendar, nameof(to), to, DateTimeOffset.MaxValue, out var end) is { } notTo) return notTo;
        var most = limit ?? OnePage;
        if (most is < 1 or > LongestPage) return ApiRoutes.Wrong($"limit: {limit} is not a number from 1 to {LongestPage}.");
        var book = door.Book;
        if (after is { } id && book.Find(id) is null) return ApiRoutes.Wrong($"after: there is no entry {id}.");
        var found = LedgerSelection.Of(book, bin, lot, start, end, after is { } last ? book.Find(last) : null).Take(most + 1).ToList();
        if (found.Count > most)
        {
            found.RemoveAt(most);
            // RFC 8288.
            var next = QueryString.Create(new Dictionary<string, string?>(StringComparer.Ordinal)
            {
                ["bin"] = bin,
                ["lot"] = lot,
                ["from"] = from,
                ["to"] = to,
                ["limit"] = most.ToString(CultureInfo.InvariantCulture),
                ["after"] = found[^1].Entry.Id.ToString(CultureInfo.InvariantCulture),
            }.Where(q => !string.IsNullOrEmpty(q.Value)));
            context.Response.Headers.Link = $"<{context.Request.PathBase}{context.Request.Path}{next}>; rel=\"next\"";
        }

        return Results.Ok(found.Select(s => EntryShape.Of(book, s)));
    }
}

/// <summary>The book asks instead of keeping what was sent: nothing was written down.</summary>
internal sealed class BookAsks : ProblemDetails
{
    public required string Question { get; init; }

    public required string Code { get; init; }

    public JsonElement Figures { get; init; }

    public required IReadOnlyList<LedgerQuestion> Questions { get; init; }

    /// <summary>What to send where it is right as it is.</summary>
    public Insist Insist { get; } = new(
        "Put right what was wrong, or send the same with \"keep\": true (or ?keep=true): it is kept to be checked and counts for nothing "
        + "until a correction clears it.",
        "Or send it with \"checked\": true when you have looked and it is so: it counts at once, where the book can count it.");

    public static BookAsks Of(IReadOnlyList<LedgerQuestion> questions, bool many)
    {
        var first = questions[0];
        return new BookAsks
        {
            Title = "The book asks",
            Status = StatusCodes.Status409Conflict,
            Detail = $"Nothing was written down. {first.Question}",
            Question = many ? $"Event {first.Index}: {first.Question}" : first.Question,
            Code = first.Code,
            Figures = first.Figures,
            Questions = questions,
        };
    }
}

/// <summary>How to insist, in words.</summary>
internal sealed record Insist(string Keep, string Checked);
