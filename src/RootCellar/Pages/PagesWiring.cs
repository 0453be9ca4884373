using RootCellar.Pages.Bins;

namespace RootCellar.Pages;

/// <summary>The pages: server-rendered, one stylesheet, nothing from outside the machine.</summary>
internal static class PagesWiring
{
    public static void AddPages(this IServiceCollection services)
    {
        services.AddRazorPages(o => o.Conventions.AllowAnonymousToPage("/SignIn"));
        services.AddAntiforgery(o => o.Cookie.Name = "rootcellar-form");
        services.AddSingleton<Show>().AddSingleton<AlarmWords>().AddSingleton<Troubles>().AddSingleton<PlaceCards>();
        services.AddSingleton<EntryWords>().AddSingleton<Taking>().AddSingleton<QuestionWords>().AddSingleton<EntryLines>().AddSingleton<ToDo>();
    }

    public static void MapPages(this WebApplication app)
    {
        app.MapGet("/assets/{name}", Assets.Serve).AllowAnonymous().ExcludeFromDescription();
        app.MapGet("/charts/places/{place}/{figure}.svg", ChartEndpoint.DrawAsync).ExcludeFromDescription();
        app.MapRazorPages();
    }
}
