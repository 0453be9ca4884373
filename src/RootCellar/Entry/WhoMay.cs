using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace RootCellar.Entry;

/// <summary>On an endpoint: the household's and its tokens' alone, also to look at.</summary>
internal sealed class HouseholdOnly;

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
/// One rule for every endpoint. The household and its tokens may everything. Helpers, and tokens made for logging, may look at pages, charts
/// and the API, and may change only what is marked: what nobody thought of stays shut.
/// </summary>
internal sealed class WhoMay : IAuthorizationRequirement
{
    // Folders of pages whose forms are the book's: what is logged there is a helper's work.
    private static readonly string[] OfTheBook = ["Bins", "Lots", "Rows", "Stock"];

    private static readonly string[] Shown = ["/api", "/charts"];

    /// <summary>Whether a page's forms are open to helpers by where it lies.</summary>
    public static bool IsOfTheBook(string viewEnginePath) => OfTheBook.Contains(viewEnginePath.Split('/', StringSplitOptions.RemoveEmptyEntries)[0], StringComparer.Ordinal);

    public static bool Helper(HttpContext context)
    {
        if (context.GetEndpoint() is not { } endpoint || endpoint.Metadata.GetMetadata<HouseholdOnly>() is not null) return false;
        if (endpoint.Metadata.GetMetadata<HelpersMay>() is { } marked && marked.Opens(context)) return true;
        var page = endpoint.Metadata.GetMetadata<PageActionDescriptor>();
        var looks = HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsHead(context.Request.Method);
        if (looks) return page is not null || Array.Exists(Shown, s => context.Request.Path.StartsWithSegments(s, StringComparison.Ordinal));
        return page is not null && IsOfTheBook(page.ViewEnginePath);
    }
}

internal sealed class WhoMayHandler : AuthorizationHandler<WhoMay>
{
    protected override Task HandleRequirementAsync(AuthorizationHandlerContext context, WhoMay requirement)
    {
        if (context.User.MaySetUp() || (context.User.Identity?.IsAuthenticated == true && context.Resource is HttpContext http && WhoMay.Helper(http))) context.Succeed(requirement);
        return Task.CompletedTask;
    }
}
