using RootCellar.Entry;

namespace RootCellar.Pages;

/// <summary>The pages: server-rendered, one stylesheet, nothing from outside the machine.</summary>
internal static class PagesWiring
{
    public static void AddPages(this IServiceCollection services)
    {
        services.AddRazorPages(o => o.Conventions.AllowAnonymousToPage("/SignIn"));
        services.AddAntiforgery(o => o.Cookie.Name = "rootcellar-form");
    }

    public static void MapPages(this WebApplication app)
    {
        app.MapStaticAssets().AllowAnonymous();
        app.MapRazorPages();
    }
}
