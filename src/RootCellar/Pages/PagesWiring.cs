using Microsoft.AspNetCore.Diagnostics;
using RootCellar.Charts;
using RootCellar.Digging;
using RootCellar.Entry;
using RootCellar.Pages.Bins;
using RootCellar.Pages.Rows;

namespace RootCellar.Pages;

/// <summary>The pages: server-rendered, one stylesheet, nothing from outside the machine.</summary>
internal static class PagesWiring
{
    public static void AddPages(this IServiceCollection services)
    {
        services.AddRazorPages(o =>
        {
            o.Conventions.AllowAnonymousToPage("/SignIn").AllowAnonymousToPage("/Trouble");
            o.Conventions.AddPageApplicationModelConvention("/SetUp", m => m.EndpointMetadata.Add(new HouseholdOnly()));
            // Acknowledging is for whoever is in the cellar; shelving keeps an alarm quiet for everybody.
            o.Conventions.AddPageApplicationModelConvention("/Alarms", m => m.EndpointMetadata.Add(new HelpersMay("Acknowledge")));
            o.Conventions.AddPageApplicationModelConvention("/SignOut", m => m.EndpointMetadata.Add(new HelpersMay()));
        });
        services.AddAntiforgery(o =>
        {
            o.Cookie.Name = "rootcellar-form";
            o.Cookie.HttpOnly = true;
            // As the cookie of whoever is signed in: with Strict a page opened from a message would begin another, and forms open elsewhere would not fit it.
            o.Cookie.SameSite = SameSiteMode.Lax;
        });
        services.AddSingleton<Show>().AddSingleton<AlarmWords>().AddSingleton<Troubles>().AddSingleton<PlaceCards>();
        services.AddSingleton<EntryWords>().AddSingleton<Taking>().AddSingleton<QuestionWords>().AddSingleton<AdviceWords>().AddSingleton<EntryLines>().AddSingleton<ToDo>();
        services.AddSingleton<RowWords>().AddSingleton<Outside>();
        services.AddSingleton<PlaceCharts>().AddSingleton<LotCharts>().AddHostedService<HistoryReady>();
    }

    /// <summary>Whatever goes wrong with a page is said on a page; programs get the bare answer.</summary>
    public static void UseTroublePage(this WebApplication app) => app.UseWhen(
        c => !Bare.Any(b => c.Request.Path.StartsWithSegments(b, StringComparison.Ordinal)),
        pages => pages.UseExceptionHandler("/trouble/500").UseStatusCodePagesWithReExecute("/trouble/{0}").Use((context, next) =>
        {
            // A form that failed is not sent once more: its page of trouble is only read.
            if (context.Features.Get<IStatusCodeReExecuteFeature>() is not null || context.Features.Get<IExceptionHandlerFeature>() is not null) context.Request.Method = HttpMethods.Get;
            return next(context);
        }));

    private static readonly PathString[] Bare = ["/api", "/openapi", "/metrics", "/health", "/charts", "/assets"];

    public static void MapPages(this WebApplication app)
    {
        app.MapGet("/assets/{name}", Assets.Serve).AllowAnonymous().ExcludeFromDescription();
        app.MapGet("/charts/places/{place}/{figure}.svg", ChartEndpoint.PlaceAsync).ExcludeFromDescription();
        app.MapGet("/charts/lots/{lot}/{figure}.svg", ChartEndpoint.LotAsync).ExcludeFromDescription();
        app.MapGet("/charts/report/{week}/{figure}.svg", ChartEndpoint.ReportAsync).ExcludeFromDescription();
        app.MapRazorPages();
    }
}
