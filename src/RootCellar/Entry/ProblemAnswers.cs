using System.ComponentModel;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Http.Metadata;
using RootCellar.Ledger;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>
/// Every error a program meets has a body that says what was wrong and what would be right (RFC 9457), also where no call was reached.
/// </summary>
internal static partial class ProblemAnswers
{
    private const string Calls = "The calls and their shapes are in /openapi/v1.json.";

    public static void UseProblemAnswers(this IApplicationBuilder app)
    {
        app.UseExceptionHandler(new ExceptionHandlerOptions
        {
            ExceptionHandler = FailedAsync,
            AllowStatusCode404Response = true,
            // What a caller sent wrongly is the caller's to know, and the record logs itself what is wrong with it.
            SuppressDiagnosticsCallback = failed => failed.Exception is BadHttpRequestException or StoreProblemException,
        });
        app.UseStatusCodePages(bare => AnswerAsync(bare.HttpContext, bare.HttpContext.Response.StatusCode, Detail(bare.HttpContext)));
    }

    /// <summary>Answers with a problem.</summary>
    public static Task AnswerAsync(HttpContext context, int status, string detail) => Results.Problem(detail, statusCode: status)
        .ExecuteAsync(context);

    private static Task FailedAsync(HttpContext context) => context.Features.Get<IExceptionHandlerFeature>()?.Error switch
    {
        BadHttpRequestException bad => AnswerAsync(context, bad.StatusCode, Detail(bad)),
        BookFullException full =>
            AnswerAsync(context, StatusCodes.Status507InsufficientStorage, $"Nothing was written down. {full.Message}"),
        StoreProblemException e =>
            AnswerAsync(context, StatusCodes.Status503ServiceUnavailable, $"It was not written down: {e.Message} Send it again later."),
        _ => AnswerAsync(
            context,
            StatusCodes.Status500InternalServerError,
            "Something is wrong with the service, not with what was sent. Whether it was kept is not sure: look, then send it again. "
            + "The cause is in the service's log."),
    };

    private static string Detail(BadHttpRequestException bad)
    {
        if (bad.InnerException is JsonException json)
        {
            var at = json.Path is { Length: > 1 } path ? $", at {path}" : "";
            var where = json.LineNumber is { } line ? $" (line {line + 1}, byte {(json.BytePositionInLine ?? 0) + 1}{at})" : "";
            return $"The body is not the JSON this call takes{where}. {Calls}";
        }

        if (bad.StatusCode == StatusCodes.Status413PayloadTooLarge) return "The body is too large: at most 20 MB.";
        return Unbound().Match(bad.Message) is { Success: true } unbound
            ? $"{Unreadable((unbound.Groups["name"].Value, unbound.Groups["value"].Value))} {Calls}"
            : $"{bad.Message} {Calls}";
    }

    private static string Unreadable((string Name, string Value) given) => $"{given.Name}: '{given.Value}' cannot be read here.";

    // The framework's generated calls say nothing of a value that may be left out and cannot be read: it is looked for again.
    private static (string Name, string Value)? Unread(HttpContext context)
    {
        foreach (var asked in context.GetEndpoint()?.Metadata.GetOrderedMetadata<IParameterBindingMetadata>() ?? [])
        {
            if (!asked.HasTryParse || context.Request.Query[asked.Name].FirstOrDefault() is not { Length: > 0 } given) continue;
            if (!TypeDescriptor.GetConverter(asked.ParameterInfo.ParameterType).IsValid(given)) return (asked.Name, given);
        }

        return null;
    }

    private static string Detail(HttpContext context) => context.Response.StatusCode switch
    {
        StatusCodes.Status400BadRequest => $"{(Unread(context) is { } unread ? Unreadable(unread) : "That could not be read.")} {Calls}",
        StatusCodes.Status401Unauthorized =>
            "Who asks is not known. Send Authorization: Bearer TOKEN (made under Set-up, or with 'rootcellar token add NAME'), or sign in on the pages.",
        StatusCodes.Status404NotFound => $"There is nothing at {context.Request.Path}. {Calls}",
        StatusCodes.Status405MethodNotAllowed =>
            $"{context.Request.Method} is not for {context.Request.Path}; right: {context.Response.Headers.Allow}. {Calls}",
        StatusCodes.Status415UnsupportedMediaType => "Send the body as Content-Type: application/json.",
        _ => $"That did not work. {Calls}",
    };

    [GeneratedRegex("^Failed to bind parameter \"[^\"]*?(?<name>[A-Za-z0-9_]+)\" from \"(?<value>.*)\"\\.$", RegexOptions.ExplicitCapture,
        1000)]
    private static partial Regex Unbound();
}
