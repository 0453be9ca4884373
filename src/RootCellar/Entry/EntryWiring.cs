using System.Security.Claims;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.DataProtection;

namespace RootCellar.Entry;

/// <summary>Who comes in: the household by passphrase and cookie, scripts by bearer token, /health by anyone.</summary>
internal static class EntryWiring
{
    private const string Either = "cookie-or-token";

    public static void AddEntry(this IServiceCollection services, string folder)
    {
        services.AddDataProtection().SetApplicationName("rootcellar").PersistKeysToFileSystem(Directory.CreateDirectory(Path.Combine(folder, "keys")));
        services.AddAuthentication(Either)
            .AddPolicyScheme(Either, null, o => o.ForwardDefaultSelector = c =>
                c.Request.Headers.Authorization.Count > 0 ? TokenHandler.Scheme : CookieAuthenticationDefaults.AuthenticationScheme)
            .AddScheme<AuthenticationSchemeOptions, TokenHandler>(TokenHandler.Scheme, null)
            .AddCookie(o =>
            {
                o.LoginPath = "/sign-in";
                o.Cookie.Name = "rootcellar";
                o.Cookie.HttpOnly = true;
                o.Cookie.SameSite = SameSiteMode.Lax;
                o.ExpireTimeSpan = TimeSpan.FromDays(180);
                // Cookies live on the phone's clock, also when the house runs on the demo's.
                o.TimeProvider = TimeProvider.System;
                o.Events.OnRedirectToLogin = c =>
                {
                    if (c.Request.Path.StartsWithSegments("/api", StringComparison.Ordinal) || c.Request.Path.StartsWithSegments("/openapi", StringComparison.Ordinal) || c.Request.Path == "/metrics") c.Response.StatusCode = StatusCodes.Status401Unauthorized;
                    else c.Response.Redirect(c.RedirectUri);
                    return Task.CompletedTask;
                };
            });
        services.AddAuthorizationBuilder().SetFallbackPolicy(new AuthorizationPolicyBuilder().RequireAuthenticatedUser().Build());
        services.AddSingleton<SignInTries>();
    }

    public static void UseEntry(this WebApplication app)
    {
        app.Use((context, next) =>
        {
            var headers = context.Response.Headers;
            headers.ContentSecurityPolicy = "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
            headers.XContentTypeOptions = "nosniff";
            headers["Referrer-Policy"] = "same-origin";
            return next();
        });
        // Pages carry antiforgery tokens; for the API with the page's cookie, the browser's own word on where a call comes from.
        // (SameSite does not tell ports apart: another service on the same Pi would pass.)
        app.Use((context, next) =>
        {
            var request = context.Request;
            var harmless = HttpMethods.IsGet(request.Method) || HttpMethods.IsHead(request.Method) || request.Headers.Authorization.Count > 0;
            if (harmless || !request.Path.StartsWithSegments("/api", StringComparison.Ordinal) || request.Headers.Origin is not [{ } origin] || IsOurs(origin, request.Host)) return next();
            context.Response.StatusCode = StatusCodes.Status403Forbidden;
            return Task.CompletedTask;
        });
        app.UseAuthentication();
        app.UseAuthorization();
    }

    private static bool IsOurs(string origin, HostString host) =>
        Uri.TryCreate(origin, UriKind.Absolute, out var from) && string.Equals(from.Authority, new Uri($"{from.Scheme}://{host.Value}").Authority, StringComparison.OrdinalIgnoreCase);

    public static Task SignInAsync(HttpContext context, string who) => context.SignInAsync(
        CookieAuthenticationDefaults.AuthenticationScheme,
        new ClaimsPrincipal(new ClaimsIdentity([new Claim(ClaimTypes.Name, who)], CookieAuthenticationDefaults.AuthenticationScheme)),
        new AuthenticationProperties { IsPersistent = true });

    public static Task SignOutAsync(HttpContext context) => context.SignOutAsync(CookieAuthenticationDefaults.AuthenticationScheme);
}
