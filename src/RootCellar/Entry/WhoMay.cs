using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace RootCellar.Entry;

/// <summary>
/// One rule for every endpoint. The household and its tokens may everything. Helpers, and tokens made for logging, may look at pages,
/// charts and the API, and may change only what is marked: what nobody thought of stays shut.
/// </summary>
internal sealed class WhoMay : IAuthorizationRequirement
{
    // Folders of pages whose forms are the book's: what is logged there is a helper's work.
    private static readonly string[] OfTheBook = ["Bins", "Lots", "Rows", "Stock"];

    /// <summary>Whether a page's forms are open to helpers by where it lies.</summary>
    public static bool IsOfTheBook(string viewEnginePath) =>
        OfTheBook.Contains(viewEnginePath.Split('/', StringSplitOptions.RemoveEmptyEntries)[0], StringComparer.Ordinal);

    public static bool Helper(HttpContext context)
    {
        // Where nothing is, nothing is kept from anybody: they are told that it is not there.
        if (context.GetEndpoint() is not { } endpoint) return true;
        if (endpoint.Metadata.GetMetadata<HouseholdOnly>() is not null) return false;
        if (endpoint.Metadata.GetMetadata<HelpersMay>() is { } marked && marked.Opens(context)) return true;
        var page = endpoint.Metadata.GetMetadata<PageActionDescriptor>();
        var looks = HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsHead(context.Request.Method);
        if (looks) return page is not null || endpoint.Metadata.GetMetadata<HelpersSee>() is not null;
        return page is not null && IsOfTheBook(page.ViewEnginePath);
    }
}

internal sealed class WhoMayHandler : AuthorizationHandler<WhoMay>
{
    protected override Task HandleRequirementAsync(AuthorizationHandlerContext context, WhoMay requirement)
    {
        if (context.User.MaySetUp()
            || (context.User.Identity?.IsAuthenticated == true && context.Resource is HttpContext http && WhoMay.Helper(http)))
            context.Succeed(requirement);
        return Task.CompletedTask;
    }
}
