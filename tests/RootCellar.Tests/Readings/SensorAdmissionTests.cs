using Microsoft.Extensions.Logging;
using RootCellar.Readings;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Readings;

/// <summary>Messages of new sensors that are turned away: which limit they met, how they are summed up, and how often it is said.</summary>
public sealed class SensorAdmissionTests : ILogger
{
    private readonly List<string> said = [];
    private readonly SensorAdmission admission;

    public SensorAdmissionTests() => admission = new SensorAdmission(new SensorLimits { Most = 9, MostWaitingPerClient = 2 }, this);

    [Fact]
    public void What_was_turned_away_is_one_run_until_a_day_brought_none()
    {
        admission.Run(TimeSpan.Zero).Should().BeNull();
        Count(SensorLimit.Client, "10.0.0.7", 0);
        Count(SensorLimit.LiveState, "10.0.0.8", 1);
        Count(SensorLimit.LiveState, null, 2);
        admission.Run(TimeSpan.FromHours(3)).Should().Be(new TurnedAway(Sample.At, Sample.At.AddHours(2), 3, 2, "10.0.0.7"));
        admission.Run(TimeSpan.FromHours(3))!.ByClient.Should().Be(1);
        Count(SensorLimit.Client, "10.0.0.9", 3);
        admission.Run(TimeSpan.FromHours(26.9))!.Client.Should().Be("10.0.0.9");
        admission.Run(TimeSpan.FromHours(27)).Should().BeNull();
        Count(SensorLimit.LiveState, "10.0.0.8", 30);
        admission.Run(TimeSpan.FromHours(30)).Should().Be(new TurnedAway(Sample.At.AddHours(30), Sample.At.AddHours(30), 1, 1, null));
        (admission.ByHouse, admission.ByClient).Should().Be((3, 2));
    }

    [Fact]
    public void The_first_is_said_at_once_and_more_of_it_as_a_sum_once_an_hour()
    {
        const string house = "messages of new sensors were turned away: the house has its 9 sensors (Sensors:Most). Forget invented ones on "
            + "the Sensors page, or raise the limit";
        for (var minute = 0; minute < 90; minute++) Count(SensorLimit.LiveState, null, minute / 60.0);
        said.Should().Equal($"1 {house}", $"60 {house}");
        Count(SensorLimit.Client, "10.0.0.7", 2);
        said[2].Should().Be("30 messages of new sensors were turned away: 10.0.0.7 brought 2 sensors that nobody has put in a place "
            + "(Sensors:MostWaitingPerClient). Forget invented ones on the Sensors page, or raise the limit");
        Count(SensorLimit.LiveState, null, 30);
        said[3].Should().StartWith("1 messages", "a new run is said at once");
    }

    IDisposable? ILogger.BeginScope<TState>(TState state) => null;

    bool ILogger.IsEnabled(LogLevel logLevel) => true;

    void ILogger.Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
        Func<TState, Exception?, string> formatter) =>
        said.Add(formatter(state, exception));

    private void Count(SensorLimit limit, string? client, double hours) =>
        admission.Count(limit, client, Sample.At.AddHours(hours), TimeSpan.FromHours(hours));
}
