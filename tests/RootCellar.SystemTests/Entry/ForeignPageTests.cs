using System.Net;
using RootCellar.SystemTests.Pages;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Entry;

/// <summary>
/// A page of another service on the same machine: the same site to a browser, which therefore sends the grower's cookie along.
/// </summary>
public class ForeignPageTests
{
    [Fact]
    public async Task A_foreign_page_cannot_shelve_an_alarm_whatever_the_letters_of_the_path()
    {
        await using var service = await ServiceUnderPages.StartAsync();
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740);
        await phone.SignInAsync(service.Passphrase, "Ann");
        await phone.Page.EvaluateAsync("""
            () => fetch('/api/places', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ place: 'cellar', purpose: 'storage' }) })
            """);
        string? alarm = null;
        var degrees = -3.0;
        await Eventually.HoldsAsync(
            async () =>
            {
                degrees -= 0.1;
                await service.PublishAsync(
                    ("rootcellar/cellar/door/temperature_c", degrees.ToString("0.0", System.Globalization.CultureInfo.InvariantCulture)));
                alarm = await phone.Page.EvaluateAsync<string?>(
                    "async () => (await (await fetch('/api/alarms')).json()).find(a => a.rule.includes('freez'))?.id ?? null");
                return alarm is not null;
            },
            "frost is an alarm",
            TimeSpan.FromSeconds(60));

        // The cookie goes along (same host, other port): without the defence each of these shelves the alarm.
        var foreign = new Uri($"http://127.0.0.1:{Ports.Free()}/");
        // A real server: a page that the test made up has no address, and a browser lets such a page call nothing on this machine.
        using var elsewhere = new HttpListener();
        elsewhere.Prefixes.Add(foreign.ToString());
        elsewhere.Start();
        var serving = ServeAsync(elsewhere);
        foreach (var api in new[] { "api", "API", "Api" })
        {
            await phone.Page.GotoAsync(foreign.ToString());
            foreach (var type in new[] { "text/plain", "application/x-www-form-urlencoded" })
            {
                // What a form of that page would send, too. The browser tells neither the page nor this test what was answered.
                await phone.Page.EvaluateAsync(
                    """
                    ([url, type]) => fetch(url, {
                      method: 'POST', mode: 'no-cors', credentials: 'include', headers: { 'Content-Type': type }, body: type === 'text/plain' ? '' : 'a=b'
                    }).catch(() => 0)
                    """,
                    new[] { $"{service.Address}{api}/alarms/{alarm}/shelve", type });
            }
        }

        await phone.Page.GotoAsync("/alarms");
        (await StateAsync()).Should().NotBe("shelved");
        (await phone.Page.EvaluateAsync<string>("async () => (await fetch('/metrics')).text()"))
            .Should().MatchRegex("rootcellar_entry_refused_total\\{[^}]*reason=\"elsewhere\"[^}]*\\} 6\\b",
                "all six came, cookie and all, and were refused");
        // By its own page, in capitals too, it can be shelved: what was refused above is real.
        await phone.Page.EvaluateAsync(
            "id => fetch(`/API/alarms/${id}/shelve`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}' })",
            alarm);
        (await StateAsync()).Should().Be("shelved");

        elsewhere.Stop();
        await serving;

        Task<string> StateAsync() => phone.Page.EvaluateAsync<string>(
            "async id => (await (await fetch('/api/alarms')).json()).find(a => a.id === id).state", alarm);
    }
    private static async Task ServeAsync(HttpListener listener)
    {
        try
        {
            while (true)
            {
                var asked = await listener.GetContextAsync();
                asked.Response.ContentType = "text/html";
                await asked.Response.OutputStream.WriteAsync("<title>elsewhere</title>"u8.ToArray());
                asked.Response.Close();
            }
        }
        catch (Exception e) when (e is HttpListenerException or ObjectDisposedException)
        {
            // Stopped.
        }
    }
}
