using System.Security.Claims;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.DataProtection;

namespace RootCellar.Entry;

/// <summary>Who comes in: the household by passphrase, helpers by PIN, both kept in a cookie; scripts by bearer token; /health by anyone.</summary>
internal static class EntryWiring
{
    /// <summary>The page that is shown in place of one that only the household may open.</summary>
    public const string AskPage = "/ask-the-household";

    /// <summary>No script, style, picture or call from elsewhere, and none within a page; no page within another.</summary>
    public const string ContentPolicy =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; "
        + "base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

    private const string Either = "cookie-or-token";
    private static readonly object Refused = new();

    public static void AddEntry(this IServiceCollection services, string folder)
    {
        services.AddDataProtection().SetApplicationName("rootcellar").PersistKeysToFileSystem(Directory.CreateDirectory(Path.Combine(folder, "keys")));
        services.AddAuthentication(Either)
            .AddPolicyScheme(Either, null, o => o.ForwardDefaultSelector = c =>
                c.Request.Headers.Authorization.Count > 0 ? TokenHandler.Scheme : CookieAuthenticationDefaults.AuthenticationScheme)
            .AddScheme<AuthenticationSchemeOptions, TokenHandler>(TokenHandler.Scheme, null, o => o.ForwardForbid = CookieAuthenticationDefaults.AuthenticationScheme)
            .AddCookie(o =>
            {
                o.LoginPath = "/sign-in";
                o.Cookie.Name = "rootcellar";
                o.Cookie.HttpOnly = true;
                // Lax, since a bin's label is opened by the phone's camera: Strict would ask for the PIN at every bin.
                o.Cookie.SameSite = SameSiteMode.Lax;
                o.ExpireTimeSpan = TimeSpan.FromDays(180);
                // Cookies live on the phone's clock, also when the house runs on the demo's.
                o.TimeProvider = TimeProvider.System;
                o.Events.OnRedirectToLogin = c =>
                {
                    if (IsForPrograms(c.Request)) c.Response.StatusCode = StatusCodes.Status401Unauthorized;
                    else c.Response.Redirect(c.RedirectUri);
                    return Task.CompletedTask;
                };
                o.Events.OnRedirectToAccessDenied = c => RefuseAsync(c.HttpContext);
                o.Events.OnValidatePrincipal = async c =>
                {
                    if (c.Principal is { } who && c.HttpContext.RequestServices.GetRequiredService<Stamps>().Holds(who)) return;
                    c.RejectPrincipal();
                    await c.HttpContext.SignOutAsync(CookieAuthenticationDefaults.AuthenticationScheme);
                };
            });
        var rule = new AuthorizationPolicyBuilder().RequireAuthenticatedUser().AddRequirements(new WhoMay()).Build();
        services.AddAuthorizationBuilder().SetDefaultPolicy(rule).SetFallbackPolicy(rule);
        services.AddSingleton<IAuthorizationHandler, WhoMayHandler>();
        // Waits are on the real clock, also in the demo.
        services.AddSingleton(new SignInTries(TimeProvider.System));
        services.AddSingleton<Stamps>().AddSingleton<Doorkeeper>();
    }

    public static void UseEntry(this WebApplication app)
    {
        app.Use((context, next) =>
        {
            var headers = context.Response.Headers;
            headers.ContentSecurityPolicy = ContentPolicy;
            headers.XContentTypeOptions = "nosniff";
            headers["Referrer-Policy"] = "same-origin";
            headers["Cross-Origin-Resource-Policy"] = "same-origin";
            headers["Cross-Origin-Opener-Policy"] = "same-origin";
            return next();
        });
        app.Use(async (context, next) =>
        {
            await next(context);
            if (!context.Items.ContainsKey(Refused) || context.Response.HasStarted) return;
            // Once more, as the page that says whom to ask.
            context.SetEndpoint(null);
            context.Request.RouteValues.Clear();
            (context.Request.Method, context.Request.Path, context.Request.QueryString) = (HttpMethods.Get, AskPage, QueryString.Empty);
            await next(context);
        });
        app.UseRouting();
        // Pages carry antiforgery tokens; for the API with the page's cookie, the browser's own word on where a call comes from.
        // (SameSite does not tell ports apart: another service on the same Pi would pass.)
        app.Use((context, next) => !IsApiChange(context.Request) || IsFromHere(context.Request)
            ? next(context)
            : ProblemAsync(context, "This call comes from a page elsewhere."));
        app.UseAuthentication();
        // A browser that says nothing of where it comes from: what a form on another page cannot send.
        app.Use((context, next) => !IsApiChange(context.Request) || context.User.Identity?.IsAuthenticated != true || IsMoreThanAForm(context.Request)
            ? next(context)
            : ProblemAsync(context, "With a cookie, a change is sent as Content-Type: application/json (or with the header X-Requested-With)."));
        app.UseAuthorization();
    }

    public static Task SignInAsHouseholdAsync(HttpContext context, string who) =>
        SignInAsync(context, Who.Identity(CookieAuthenticationDefaults.AuthenticationScheme, Who.Household, who, context.RequestServices.GetRequiredService<Stamps>().OfHousehold()));

    public static Task SignInAsHelperAsync(HttpContext context, long id, string name) =>
        SignInAsync(context, Who.Identity(CookieAuthenticationDefaults.AuthenticationScheme, Who.Helper, name, context.RequestServices.GetRequiredService<Stamps>().OfHelper(id), id));

    public static Task SignOutAsync(HttpContext context) => context.SignOutAsync(CookieAuthenticationDefaults.AuthenticationScheme);

    private static Task SignInAsync(HttpContext context, ClaimsIdentity identity) =>
        context.SignInAsync(CookieAuthenticationDefaults.AuthenticationScheme, new ClaimsPrincipal(identity), new AuthenticationProperties { IsPersistent = true });

    private static bool IsForPrograms(HttpRequest request) =>
        request.Path.StartsWithSegments("/api", StringComparison.Ordinal) || request.Path.StartsWithSegments("/openapi", StringComparison.Ordinal) || request.Path == "/metrics";

    private static bool IsApiChange(HttpRequest request) =>
        !HttpMethods.IsGet(request.Method) && !HttpMethods.IsHead(request.Method) && request.Headers.Authorization.Count == 0 && request.Path.StartsWithSegments("/api", StringComparison.Ordinal);

    private static bool IsFromHere(HttpRequest request)
    {
        if (request.Headers.Origin is [{ } origin] && !IsOurs(origin, request.Host)) return false;
        return request.Headers.Origin.Count <= 1 && (request.Headers["Sec-Fetch-Site"].ToString() is "" or "same-origin" or "none");
    }

    private static bool IsMoreThanAForm(HttpRequest request) => request.HasJsonContentType() || request.Headers.XRequestedWith.Count > 0;

    private static bool IsOurs(string origin, HostString host) =>
        Uri.TryCreate(origin, UriKind.Absolute, out var from) && Uri.TryCreate($"{from.Scheme}://{host.Value}", UriKind.Absolute, out var here)
        && string.Equals(from.Authority, here.Authority, StringComparison.OrdinalIgnoreCase);

    private static Task RefuseAsync(HttpContext context)
    {
        if (IsForPrograms(context.Request)) return ProblemAsync(context, "Helpers, and tokens made with --may log, may read, write into the book and acknowledge alarms. This is for the household.");
        context.Response.StatusCode = StatusCodes.Status403Forbidden;
        context.Items[Refused] = true;
        return Task.CompletedTask;
    }

    private static Task ProblemAsync(HttpContext context, string detail) => Results.Problem(detail, statusCode: StatusCodes.Status403Forbidden).ExecuteAsync(context);
}
