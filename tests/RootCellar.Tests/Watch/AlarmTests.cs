using RootCellar.Watch;

namespace RootCellar.Tests.Watch;

public sealed class AlarmTests
{
    private static readonly DateTimeOffset At = new(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);

    /// <summary>
    /// The state table of ANSI/ISA-18.2-2016 (alarm state transitions; read through IEC 62682 and OPC UA Part 9), a row per arrow.
    /// </summary>
    [Theory]
    [InlineData("normal", false, "raise", "unacknowledged", true)]
    [InlineData("normal", false, "acknowledge", "normal", false)]
    [InlineData("normal", false, "return", "normal", false)]
    [InlineData("normal", false, "shelve", "normal", false)]
    [InlineData("normal", false, "unshelve", "normal", false)]
    [InlineData("unacknowledged", true, "raise", "unacknowledged", true)]
    [InlineData("unacknowledged", true, "acknowledge", "acknowledged", true)]
    [InlineData("unacknowledged", true, "return", "returned-unacknowledged", false)]
    [InlineData("unacknowledged", true, "shelve", "shelved", true)]
    [InlineData("unacknowledged", true, "unshelve", "unacknowledged", true)]
    [InlineData("acknowledged", true, "raise", "acknowledged", true)]
    [InlineData("acknowledged", true, "acknowledge", "acknowledged", true)]
    [InlineData("acknowledged", true, "return", "normal", false)]
    [InlineData("acknowledged", true, "shelve", "shelved", true)]
    [InlineData("acknowledged", true, "unshelve", "acknowledged", true)]
    [InlineData("returned-unacknowledged", false, "raise", "unacknowledged", true)]
    [InlineData("returned-unacknowledged", false, "acknowledge", "normal", false)]
    [InlineData("returned-unacknowledged", false, "return", "returned-unacknowledged", false)]
    [InlineData("returned-unacknowledged", false, "shelve", "shelved", false)]
    [InlineData("returned-unacknowledged", false, "unshelve", "returned-unacknowledged", false)]
    [InlineData("shelved", true, "raise", "shelved", true)]
    [InlineData("shelved", true, "acknowledge", "shelved", true)]
    [InlineData("shelved", true, "return", "shelved", false)]
    [InlineData("shelved", true, "shelve", "shelved", true)]
    [InlineData("shelved", true, "unshelve", "unacknowledged", true)]
    [InlineData("shelved", false, "raise", "shelved", true)]
    [InlineData("shelved", false, "return", "shelved", false)]
    [InlineData("shelved", false, "unshelve", "normal", false)]
    public void States_go_as_the_standard_says(string state, bool active, string action, string expected, bool stillActive)
    {
        var alarm = An(Enum.GetValues<AlarmState>().Single(s => s.Slug() == state), active);
        var after = action switch
        {
            "raise" => alarm.Raise(At, At),
            "acknowledge" => alarm.Acknowledge("Ann", At),
            "return" => alarm.ReturnToNormal(At),
            "shelve" => alarm.Shelve(At.AddHours(1)),
            _ => alarm.Unshelve(),
        };

        (after.State.Slug(), after.Active).Should().Be((expected, stillActive));
    }

    [Fact]
    public void Raised_again_it_is_the_same_alarm_counted_twice_and_not_acknowledged()
    {
        var again = An(AlarmState.Unacknowledged, active: true).ReturnToNormal(At.AddMinutes(5)).Raise(At.AddMinutes(9), At.AddMinutes(7));

        again.Should().BeEquivalentTo(
            new
            {
                Id = "cellar-too-warm-1",
                Count = 2,
                RaisedAt = At.AddMinutes(9),
                Since = At.AddMinutes(7),
                ReturnedAt = (DateTimeOffset?)null
            });
    }

    [Fact]
    public void Acknowledging_notes_who_and_when()
    {
        var done = An(AlarmState.Unacknowledged, active: true).Acknowledge("Ann", At.AddMinutes(3));

        (done.AcknowledgedBy, done.AcknowledgedAt).Should().Be(("Ann", At.AddMinutes(3)));
    }

    private static Alarm An(AlarmState state, bool active) => new(
        "cellar-too-warm-1", 1, Rule.TooWarm, "cellar", null, AlarmPriority.High, state, active, Measure.Air, 9, 7.2, 9.5, At, At);
}
