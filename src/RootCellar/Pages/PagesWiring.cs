using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Advice;
using RootCellar.Charts;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;
using RootCellar.Pages.Evening;
using RootCellar.Pages.Foreseen;
using RootCellar.Pages.History;
using RootCellar.Pages.Rows;
using RootCellar.Readings;

namespace RootCellar.Pages;

/// <summary>The pages: server-rendered, one stylesheet, nothing from outside the machine.</summary>
internal static class PagesWiring
{
    public static void AddPages(this IServiceCollection services)
    {
        services.AddRazorPages(o =>
        {
            o.Conventions.AllowAnonymousToPage("/SignIn").AllowAnonymousToPage("/Trouble").AllowAnonymousToPage("/Language")
                .AllowAnonymousToPage("/Answer").AllowAnonymousToPage("/Help/Open");
            foreach (var page in (string[])["/SetUp", "/Channels", "/Backup", "/Calibrate"])
                o.Conventions.AddPageApplicationModelConvention(page, m => m.EndpointMetadata.Add(new HouseholdOnly()));
            o.Conventions.AddFolderApplicationModelConvention("/Evening", m => m.EndpointMetadata.Add(new HouseholdOnly()));
            // Steps that show forms of other pages take those forms and no others.
            Takes(o, "/Evening/Places", "Place", "RemovePlace");
            Takes(o, "/Evening/Sensors", "Put", "Use", "Password", "Forget", "TakeBack");
            Takes(o, "/Evening/Ways", "Mail", "Post", "Modem", "Test", "Off");
            Takes(o, "/Evening/People", "Contact");
            Takes(o, "/Evening/Gate", "Finish", "Reopen");
            // Acknowledging is for whoever is in the cellar; shelving keeps an alarm quiet for everybody.
            o.Conventions.AddPageApplicationModelConvention("/Alarms", m => m.EndpointMetadata.Add(new HelpersMay("Acknowledge")));
            o.Conventions.AddPageApplicationModelConvention("/SignOut", m => m.EndpointMetadata.Add(new HelpersMay()));
            o.Conventions.AddPageApplicationModelConvention("/Language", m => m.EndpointMetadata.Add(new HelpersMay()));
        }).AddMvcOptions(o => o.Filters.Add<MissingFields>());
        services.AddAntiforgery(o =>
        {
            o.Cookie.Name = "rootcellar-form";
            o.Cookie.HttpOnly = true;
            // As the cookie of whoever is signed in: with Strict a page opened from a message would begin another, and forms open elsewhere
            // would not fit it.
            o.Cookie.SameSite = SameSiteMode.Lax;
        });
        services.AddSingleton<Show>().AddSingleton<Troubles>().AddSingleton<PlaceCards>().AddSingleton<PlaceTiles>().AddSingleton<NowMaker>();
        services.AddSingleton<RoomWords>().AddSingleton<RoomDoesWords>();
        services.AddSingleton<EntryWords>().AddSingleton<EntryDesk>().AddSingleton<QuestionWords>().AddSingleton<AdviceWords>()
            .AddSingleton<WayWords>().AddSingleton<EntryLines>().AddSingleton<ToDo>().AddSingleton<AdviceHere>();
        services.AddSingleton<FirstEvening>().AddSingleton<BackupWords>().AddSingleton<RowWords>().AddSingleton<Outside>();
        services.AddSingleton<PlaceCharts>().AddSingleton<LotCharts>().AddSingleton<AheadCharts>().AddSingleton<SensorsToSeeTo>().AddHostedService<CacheWarmer>();
    }

    private static void Takes(RazorPagesOptions options, string page, params string[] forms) =>
        options.Conventions.AddPageApplicationModelConvention(page, m =>
        {
            foreach (var other in m.HandlerMethods.Where(h => HttpMethods.IsPost(h.HttpMethod) && !forms.Contains(h.HandlerName)).ToList())
                m.HandlerMethods.Remove(other);
        });

    /// <summary>
    /// Whatever goes wrong with a page is said on a page; programs get a problem body; a picture gets the bare answer. Routing has to have
    /// matched before, and matches anew for the page of trouble.
    /// </summary>
    public static void UseErrorAnswers(this WebApplication app)
    {
        app.UseWhen(EndpointMarks.AnswersPrograms, programs => programs.UseProblemAnswers());
        app.UseWhen(EndpointMarks.AnswersPeople, pages => pages.UseExceptionHandler("/trouble/500").UseStatusCodePagesWithReExecute(
            "/trouble/{0}").Use((context, next) =>
        {
            // A form that failed is not sent once more: its page of trouble is only read.
            if (context.Features.Get<IStatusCodeReExecuteFeature>() is not null
                || context.Features.Get<IExceptionHandlerFeature>() is not null)
                context.Request.Method = HttpMethods.Get;
            return next(context);
        }));
    }

    public static void MapPages(this WebApplication app)
    {
        app.MapGet("/assets/{name}", Assets.Serve).AllowAnonymous().WithMetadata(new ShownInPages()).ExcludeFromDescription();
        var charts = app.MapGroup("/charts").WithMetadata(new ShownInPages(), new HelpersSee()).ExcludeFromDescription();
        charts.MapGet("places/{place}/{figure}.svg", ChartEndpoint.Place);
        charts.MapGet("lots/{lot}/{figure}.svg", ChartEndpoint.Lot);
        charts.MapGet("report/{week}/{figure}.svg", ChartEndpoint.Report);
        charts.MapGet("ahead/cellar/{figure}.svg", ChartEndpoint.AheadOfAll);
        charts.MapGet("ahead/lots/{lot}.svg", ChartEndpoint.AheadOfLot);
        app.MapRazorPages();
    }
}
