using RootCellar.Tests.Households;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>A house with its pages, and a sensor that speaks to it over real MQTT.</summary>
internal sealed record HouseOnAir(Site Site, Radio Radio) : IAsyncDisposable
{
    /// <inheritdoc cref="Site.OpenAsync"/>
    public static async Task<HouseOnAir> OpenAsync(
        Action<Settings>? change = null, TempFolder? record = null, string? known = null, DateTimeOffset? at = null)
    {
        var port = Radio.FreePort();
        var site = await Site.OpenAsync(record: record, known: known, at: at, change: s =>
        {
            s.Mqtt.Listen = $"127.0.0.1:{port}";
            change?.Invoke(s);
        });
        return new HouseOnAir(site, await Radio.OnAsync(port));
    }

    public async ValueTask DisposeAsync()
    {
        await Radio.DisposeAsync();
        await Site.DisposeAsync();
    }
}
