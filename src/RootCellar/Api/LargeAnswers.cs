using System.Buffers;
using System.IO.Pipelines;
using System.Runtime.CompilerServices;
using System.Security.Cryptography;
using Microsoft.AspNetCore.ResponseCompression;
using Microsoft.Net.Http.Headers;
using RootCellar.Entry;

namespace RootCellar.Api;

/// <summary>
/// On an endpoint with a large answer: it is compressed, and bears an ETag, so that a caller who has it already is told so in a few bytes.
/// Nothing else of the API is compressed: where secrets are answered, the length of a compressed answer could tell of them.
/// </summary>
/// <param name="MadeOf">
/// The unchanging pictures that the answer is made of, and nothing else but its address: while they are the same it need not be made
/// at all. Null: it is made, and its bytes are compared.
/// </param>
internal sealed record LargeAnswer(Func<IServiceProvider, object[]>? MadeOf = null);

/// <summary>Answers what is marked so.</summary>
internal static class LargeAnswers
{
    public static void AddLargeAnswers(this IServiceCollection services) => services.AddResponseCompression(o =>
    {
        o.EnableForHttps = true;
        o.MimeTypes = ["application/json", "text/html", "image/svg+xml"];
        // At their quickest, which is what a Pi can afford, gzip makes less of our answers than brotli does (28 kB: 4.6 against 9.8 kB).
        o.Providers.Add<GzipCompressionProvider>();
        o.Providers.Add<BrotliCompressionProvider>();
    });

    /// <summary>
    /// Pages and their assets go out packed, for a phone at the far end of the house. What a page hides in a field is enciphered anew for
    /// each answer, so that its packed size tells nobody anything; pages for the household alone show secrets, and go out as they are.
    /// </summary>
    public static void UsePackedPages(this WebApplication app) => app.UseWhen(
        context => context.GetEndpoint() is { } endpoint && endpoint.Metadata.GetMetadata<HouseholdOnly>() is null
            && (endpoint.IsPage() || endpoint.Metadata.GetMetadata<ShownInPages>() is not null),
        pages => pages.UseResponseCompression());

    public static void UseLargeAnswers(this WebApplication app)
    {
        // A picture's number lives as long as the picture, and is no other's, also after a restart.
        var numbers = new ConditionalWeakTable<object, string>();
        app.UseWhen(
            context => context.GetEndpoint()?.Metadata.GetMetadata<LargeAnswer>() is not null,
            large => large.UseResponseCompression().Use((context, next) =>
            {
                // Browsers keep it for the one who asked, and ask whether it still holds.
                context.Response.Headers.CacheControl = "private, no-cache";
                if (context.GetEndpoint()!.Metadata.GetMetadata<LargeAnswer>()!.MadeOf is not { } of) return ByBytesAsync(context, next);
                var pictures = of(context.RequestServices).Select(o => numbers.GetValue(o, _ => Number()));
                return ByPicturesAsync(context, next, string.Join('-', pictures));
            }));
    }

    private static string Number() => Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(8));

    // The pictures are looked at before the answer is made: one that changes meanwhile is answered under the old tag, and sent again when
    // next asked for.
    private static Task ByPicturesAsync(HttpContext context, RequestDelegate next, string number)
    {
        var tag = Tag(number);
        if (Knows(context, tag))
        {
            NotChanged(context, tag);
            return Task.CompletedTask;
        }

        context.Response.OnStarting(() =>
        {
            if (context.Response.StatusCode == StatusCodes.Status200OK) context.Response.GetTypedHeaders().ETag = tag;
            return Task.CompletedTask;
        });
        return next(context);
    }

    // Held once, in pooled pieces, until its hash is known. Of a pipe that is complete, one reading is all of it.
    private static async Task ByBytesAsync(HttpContext context, RequestDelegate next)
    {
        var held = new Pipe(new PipeOptions(pauseWriterThreshold: 0, useSynchronizationContext: false));
        var body = context.Response.Body;
        try
        {
            try
            {
                context.Response.Body = held.Writer.AsStream(leaveOpen: true);
                await next(context);
                await context.Response.BodyWriter.FlushAsync(context.RequestAborted);
            }
            finally
            {
                context.Response.Body = body;
                await held.Writer.CompleteAsync();
            }

            await SendAsync(context, (await held.Reader.ReadAsync(context.RequestAborted)).Buffer);
        }
        finally
        {
            await held.Reader.CompleteAsync();
        }
    }

    private static async Task SendAsync(HttpContext context, ReadOnlySequence<byte> answer)
    {
        if (context.Response.StatusCode == StatusCodes.Status200OK)
        {
            var tag = Tag(Hash(answer));
            if (Knows(context, tag))
            {
                NotChanged(context, tag);
                return;
            }

            context.Response.GetTypedHeaders().ETag = tag;
        }

        foreach (var piece in answer) await context.Response.Body.WriteAsync(piece, context.RequestAborted);
    }

    // Weak: the same answer, compressed or not.
    private static EntityTagHeaderValue Tag(string number) => new($"\"{number}\"", isWeak: true);

    private static string Hash(in ReadOnlySequence<byte> bytes)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        foreach (var piece in bytes) hash.AppendData(piece.Span);
        return Convert.ToHexStringLower(hash.GetHashAndReset().AsSpan(0, 16));
    }

    private static bool Knows(HttpContext context, EntityTagHeaderValue tag) =>
        context.Request.GetTypedHeaders().IfNoneMatch
            .Any(t => t.Equals(EntityTagHeaderValue.Any) || t.Compare(tag, useStrongComparison: false));

    private static void NotChanged(HttpContext context, EntityTagHeaderValue tag)
    {
        context.Response.StatusCode = StatusCodes.Status304NotModified;
        context.Response.GetTypedHeaders().ETag = tag;
        context.Response.ContentType = null;
        context.Response.ContentLength = null;
    }
}
