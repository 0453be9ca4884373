using System.Text.Json;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Http.Metadata;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.OpenApi;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.Extensions.Options;
using Microsoft.OpenApi;

namespace RootCellar.Api;

/// <summary>
/// /openapi/v1.json: the calls as the program has them, and what no call says of itself: who may come in, what can go wrong everywhere.
/// </summary>
internal static class ApiDocument
{
    // Said once for all calls. What one call means otherwise stands on its parameter.
    private static readonly Dictionary<string, (string Words, string? Format)> Parameters = new(StringComparer.Ordinal)
    {
        ["place"] = ("The id of a place, as GET /api/places gives it.", null),
        ["sensor"] = ("The name of a sensor, as GET /api/sensors gives it; the slash in it may stay as it is.", null),
        ["lot"] = ("The name of a lot.", null),
        ["bin"] = ("The name of a bin.", null),
        ["channel"] = ("A way texts go out: mail, post or modem.", null),
        ["id"] = ("The id, as the list gives it.", null),
        ["state"] = ("Only those in this state: unacknowledged, acknowledged, returned-unacknowledged, shelved or normal.", null),
        ["from"] = ("From this moment on: RFC 3339, or a day of the household, which is its first moment.", null),
        ["to"] = ("Up to this moment, which is not part of it: RFC 3339, or a day of the household, which is its first moment.", null),
        ["step"] = ("The length of a step: 5m, 1h, 1d or seconds.", null),
        ["week"] = ("A week of ISO 8601, such as 2026-W48; the last whole one where not said.", null),
        ["on"] = ("A day of the household; today where not said.", "date"),
    };

    public static void AddApiDocument(this IServiceCollection services)
    {
        services.AddOpenApi(o =>
        {
            // What most generators of clients read best.
            o.OpenApiVersion = OpenApiSpecVersion.OpenApi3_0;
            o.AddSchemaTransformer((schema, _, _) =>
            {
                OnlyNumbers(schema);
                OnlyWords(schema);
                return Task.CompletedTask;
            });
            o.AddOperationTransformer((operation, _, _) =>
            {
                Explain(operation);
                return Task.CompletedTask;
            });
            o.AddDocumentTransformer((document, context, _) =>
            {
                Head(document, context.ApplicationServices.GetRequiredService<IOptionsMonitor<CookieAuthenticationOptions>>());
                EventShape.Inherit(document);
                return Task.CompletedTask;
            });
        });
    }

    /// <summary>What can go wrong with every call of a kind, so that a new call says it too.</summary>
    public static void AddProblems(IEndpointConventionBuilder calls) => calls.Finally(call =>
    {
        var known = call.Metadata.OfType<IProducesResponseTypeMetadata>().Select(m => m.StatusCode).ToHashSet();
        foreach (var status in Meets((RouteEndpointBuilder)call).Where(s => !known.Contains(s)))
        {
            call.Metadata.Add(new ProducesResponseTypeMetadata(status, typeof(ProblemDetails), ["application/problem+json"]));
        }

        if (!call.Metadata.OfType<LargeAnswer>().Any()) return;
        call.Metadata.Add(new ProducesResponseTypeMetadata(StatusCodes.Status304NotModified, typeof(void)));
    });

    private static IEnumerable<int> Meets(RouteEndpointBuilder call)
    {
        int[] every =
        [
            StatusCodes.Status400BadRequest, StatusCodes.Status401Unauthorized, StatusCodes.Status403Forbidden,
            StatusCodes.Status421MisdirectedRequest, StatusCodes.Status429TooManyRequests, StatusCodes.Status500InternalServerError,
        ];
        IEnumerable<int> found = call.RoutePattern.Parameters.Count > 0 ? [StatusCodes.Status404NotFound] : [];
        if (call.Metadata.OfType<IAcceptsMetadata>().Any())
            found = [.. found, StatusCodes.Status413PayloadTooLarge, StatusCodes.Status415UnsupportedMediaType];
        var looks = call.Metadata.OfType<IHttpMethodMetadata>().LastOrDefault()?.HttpMethods.Contains(HttpMethods.Get) == true;
        return looks ? [.. every, .. found] : [.. every, .. found, StatusCodes.Status503ServiceUnavailable];
    }

    // Numbers in quotes are read too, but nobody needs to send them, and none is ever answered.
    private static void OnlyNumbers(OpenApiSchema schema)
    {
        if (schema.Type is not { } type || !type.HasFlag(JsonSchemaType.String)) return;
        if (!type.HasFlag(JsonSchemaType.Number) && !type.HasFlag(JsonSchemaType.Integer)) return;
        (schema.Type, schema.Pattern) = (type & ~JsonSchemaType.String, null);
    }

    // The framework says neither that words are text, without which generators send numbers for them, nor keeps apart that a word may be
    // left out, which is said where it is used.
    private static void OnlyWords(OpenApiSchema schema)
    {
        if (schema.Enum is not { Count: > 1 } words) return;
        schema.Type = JsonSchemaType.String;
        schema.Enum = [.. words.Where(w => w?.GetValueKind() == JsonValueKind.String && !w.IsJsonNullSentinel())];
    }

    private static void Explain(OpenApiOperation operation)
    {
        foreach (var parameter in operation.Parameters?.OfType<OpenApiParameter>() ?? [])
        {
            if (parameter.Name is not { } name || !Parameters.TryGetValue(name, out var said)) continue;
            parameter.Description ??= said.Words;
            if (said.Format is { } format && parameter.Schema is OpenApiSchema schema) schema.Format = format;
        }
    }

    private static void Head(OpenApiDocument document, IOptionsMonitor<CookieAuthenticationOptions> cookies)
    {
        document.Info.Title = "RootCellar";
        document.Info.Description =
            "What the service of a root cellar knows and takes. Units are SI. Every error is a problem document (RFC 9457).";
        document.AddComponent<IOpenApiSecurityScheme>("token", new OpenApiSecurityScheme
        {
            Type = SecuritySchemeType.Http,
            Scheme = "bearer",
            Description = "Made under Set-up, or with 'rootcellar token add NAME'.",
        });
        document.AddComponent<IOpenApiSecurityScheme>("cookie", new OpenApiSecurityScheme
        {
            Type = SecuritySchemeType.ApiKey,
            In = ParameterLocation.Cookie,
            Name = cookies.Get(CookieAuthenticationDefaults.AuthenticationScheme).Cookie.Name,
            Description =
                "Of whoever signed in on the pages. With it a change is sent as application/json or with the header X-Requested-With.",
        });
        // One of the two is enough.
        document.Security =
        [
            new OpenApiSecurityRequirement { [new OpenApiSecuritySchemeReference("token", document)] = [] },
            new OpenApiSecurityRequirement { [new OpenApiSecuritySchemeReference("cookie", document)] = [] },
        ];
    }
}
