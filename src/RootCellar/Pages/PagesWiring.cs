using RootCellar.Charts;
using RootCellar.Pages.Bins;

namespace RootCellar.Pages;

/// <summary>The pages: server-rendered, one stylesheet, nothing from outside the machine.</summary>
internal static class PagesWiring
{
    public static void AddPages(this IServiceCollection services)
    {
        services.AddRazorPages(o => o.Conventions.AllowAnonymousToPage("/SignIn").AllowAnonymousToPage("/Trouble"));
        services.AddAntiforgery(o => o.Cookie.Name = "rootcellar-form");
        services.AddSingleton<Show>().AddSingleton<AlarmWords>().AddSingleton<Troubles>().AddSingleton<PlaceCards>();
        services.AddSingleton<PlaceCharts>().AddSingleton<LotCharts>();
        services.AddSingleton<EntryWords>().AddSingleton<Taking>();
    }

    /// <summary>Whatever goes wrong with a page is said on a page; programs get the bare answer.</summary>
    public static void UseTroublePage(this WebApplication app) => app.UseWhen(
        c => !Bare.Any(b => c.Request.Path.StartsWithSegments(b, StringComparison.Ordinal)),
        pages => pages.UseExceptionHandler("/trouble/500").UseStatusCodePagesWithReExecute("/trouble/{0}"));

    private static readonly PathString[] Bare = ["/api", "/openapi", "/metrics", "/health", "/charts", "/assets"];

    public static void MapPages(this WebApplication app)
    {
        app.MapGet("/assets/{name}", Assets.Serve).AllowAnonymous().ExcludeFromDescription();
        app.MapGet("/charts/places/{place}/{figure}.svg", ChartEndpoint.PlaceAsync).ExcludeFromDescription();
        app.MapGet("/charts/lots/{lot}/{figure}.svg", ChartEndpoint.LotAsync).ExcludeFromDescription();
        app.MapRazorPages();
    }
}
