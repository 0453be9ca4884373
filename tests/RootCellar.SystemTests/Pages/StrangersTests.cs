using System.Net;
using RootCellar.Monitoring;

namespace RootCellar.SystemTests.Pages;

/// <summary>One service for everybody who only knocks.</summary>
public sealed class StrangersTests(StrangersTests.LiveState house) : IClassFixture<StrangersTests.LiveState>
{
    [Theory]
    [InlineData("/")]
    [InlineData("/alarms")]
    [InlineData("/sensors")]
    [InlineData("/set-up")]
    [InlineData("/bins")]
    [InlineData("/bins/B1")]
    [InlineData("/log")]
    [InlineData("/log/sold?bin=B1")]
    [InlineData("/stock")]
    [InlineData("/ahead")]
    [InlineData("/log/moved")]
    [InlineData("/cellar")]
    [InlineData("/labels")]
    [InlineData("/places/cellar")]
    [InlineData("/lots/2025-1")]
    [InlineData("/charts/lots/2025-1/weight.svg")]
    [InlineData("/rows")]
    [InlineData("/rows/3")]
    [InlineData("/log/row-planted")]
    [InlineData("/charts/places/cellar/temperature.svg")]
    public async Task Nothing_of_the_house_shows_before_signing_in(string path)
    {
        using var handler = new HttpClientHandler { AllowAutoRedirect = false };
        using var client = new HttpClient(handler) { BaseAddress = house.Service.Address };
        var answer = await client.GetAsync(path, TestContext.Current.CancellationToken);
        answer.StatusCode.Should().Be(HttpStatusCode.Found);
        answer.Headers.Location!.ToString().Should().Contain("/sign-in");
    }

    public sealed class LiveState : IAsyncLifetime
    {
        internal ServiceUnderPages Service { get; private set; } = null!;

        public async ValueTask InitializeAsync() => Service = await ServiceUnderPages.StartAsync();

        public ValueTask DisposeAsync() => Service.DisposeAsync();
    }
}
