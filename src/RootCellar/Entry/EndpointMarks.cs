using Microsoft.AspNetCore.Mvc.RazorPages;

namespace RootCellar.Entry;

/// <summary>On an endpoint: the household's and its tokens' alone, also to look at.</summary>
internal sealed class HouseholdOnly;

/// <summary>
/// On an endpoint that is no page: whoever is signed in may look at it. Without it only the household and its tokens may.
/// </summary>
internal sealed class HelpersSee;

/// <summary>On a picture or file that pages show: a stranger is sent to the sign-in page, an error has no body.</summary>
internal sealed class ShownInPages;

/// <summary>On an endpoint that changes something: helpers may too. Of a page with <paramref name="handlers"/>, only these.</summary>
internal sealed class HelpersMay(params string[] handlers)
{
    public bool Opens(HttpContext context)
    {
        if (handlers.Length == 0) return true;
        // As the pages choose their handler.
        var handler = Convert.ToString(context.Request.RouteValues["handler"], System.Globalization.CultureInfo.InvariantCulture);
        if (string.IsNullOrEmpty(handler)) handler = context.Request.Query["handler"].ToString();
        return handlers.Contains(handler, StringComparer.OrdinalIgnoreCase);
    }
}

/// <summary>
/// What the matched endpoint is, told by its metadata and never by the letters of the path: routing takes /API for /api, so a rule that
/// compares paths can be walked around. An endpoint that nobody marked counts as one for programs, with every defence.
/// </summary>
internal static class EndpointMarks
{
    public static bool IsPage(this Endpoint endpoint) => endpoint.Metadata.GetMetadata<PageActionDescriptor>() is not null;

    /// <summary>
    /// Whether a refusal or an error is answered with a problem body (RFC 9457). Where nothing matched there is nothing to defend, and the
    /// path decides how 404 looks.
    /// </summary>
    public static bool AnswersPrograms(HttpContext context) => context.GetEndpoint() is { } endpoint
        ? !endpoint.IsPage() && endpoint.Metadata.GetMetadata<ShownInPages>() is null
        : context.Request.Path.StartsWithSegments("/api", StringComparison.OrdinalIgnoreCase)
            || context.Request.Path.StartsWithSegments("/openapi", StringComparison.OrdinalIgnoreCase);

    /// <summary>Whether an error is shown on a page.</summary>
    public static bool AnswersPeople(HttpContext context) =>
        !AnswersPrograms(context) && context.GetEndpoint()?.Metadata.GetMetadata<ShownInPages>() is null;

    /// <summary>
    /// Whether it is a change that a browser could be made to send with its owner's cookie. Pages have antiforgery tokens of their own, and
    /// no browser sends a token of ours by itself; everything else counts.
    /// </summary>
    public static bool CouldBeForged(HttpContext context) =>
        !HttpMethods.IsGet(context.Request.Method) && !HttpMethods.IsHead(context.Request.Method)
            && context.Request.Headers.Authorization.Count == 0
        && context.GetEndpoint() is { } endpoint && !endpoint.IsPage();
}
