using RootCellar.Watch;

namespace RootCellar.Tests.Watch;

public sealed class LimitTests
{
    /// <summary>
    /// A trace is "minute:value" with "-" for a missing value; what is expected is "minute+" for raised and "minute-" for
    /// returned. Limit 60, above, deadband 2, on-delay 20 min, off-delay 15 min.
    /// </summary>
    [Theory]
    [InlineData("never beyond", "0:59 10:60 20:58 60:60", "")]
    [InlineData("the limit itself is not beyond", "0:60 30:60 60:60", "")]
    [InlineData("raised when the delay is over", "0:61 5:62 10:63 15:62 20:61 25:61", "20+")]
    [InlineData("raised at the first value after the delay", "0:61 7:61 14:61 21:61", "21+")]
    [InlineData("a short spell does not raise", "0:61 10:61 15:59 16:61 30:61 35:61", "")]
    [InlineData("a second spell counts afresh", "0:61 15:61 16:60 17:61 36:61 37:61", "37+")]
    [InlineData("chatter about the limit never raises", "0:61 5:59.9 10:61 15:59.9 20:61 25:59.9 30:61 35:59.9 40:61 45:59.9", "")]
    [InlineData("returns by the deadband and the off-delay", "0:61 20:61 30:58 40:57 45:58 50:58", "20+ 45-")]
    [InlineData("inside but not by the deadband stays", "0:61 20:61 30:59 60:59 90:58.1 200:59", "20+")]
    [InlineData("a bounce restarts the off-delay", "0:61 20:61 30:58 40:59 41:58 50:58 56:58", "20+ 56-")]
    [InlineData("raised again after it returned", "0:61 20:61 30:58 45:58 50:61 69:61 70:61", "20+ 45- 70+")]
    [InlineData("a gap while pending does not count", "0:61 10:61 15:- 60:- 61:61 65:61 70:61 71:61", "71+")]
    [InlineData("a gap alone never raises", "0:61 5:- 30:- 60:- 90:-", "")]
    [InlineData("a gap while raised never clears", "0:61 20:61 25:- 100:- 900:-", "20+")]
    [InlineData("a gap while returning does not count", "0:61 20:61 30:58 40:58 41:- 99:- 100:58 104:58 105:58", "20+ 105-")]
    [InlineData("nothing at all", "0:- 50:-", "")]
    [InlineData("not a number is missing", "0:61 10:NaN 20:61 29:61", "")]
    public void Raises_and_returns_as_the_trace_says(string why, string trace, string expected) =>
        Run(new Limit(Side.Above, 2, TimeSpan.FromMinutes(20), TimeSpan.FromMinutes(15)), trace, 60).Should().Be(expected, why);

    [Theory]
    [InlineData("at once and back at once", "0:61 1:58 2:61", "0+ 1- 2+")]
    [InlineData("the deadband still counts", "0:61 1:59 2:58.1 3:58", "0+ 3-")]
    public void Zero_delays_mean_at_once(string why, string trace, string expected) =>
        Run(new Limit(Side.Above, 2, TimeSpan.Zero, TimeSpan.Zero), trace, 60).Should().Be(expected, why);

    [Theory]
    [InlineData("below", "0:-0.1 5:-0.1 10:0.2 30:0.29 40:0.3 55:0.3", "5+ 55-")]
    [InlineData("above is well", "0:0 5:0 10:5", "")]
    public void A_low_limit_is_the_mirror_of_a_high_one(string why, string trace, string expected) =>
        Run(new Limit(Side.Below, 0.3, TimeSpan.FromMinutes(5), TimeSpan.FromMinutes(15)), trace, 0).Should().Be(expected, why);

    [Fact]
    public void A_limit_that_moves_away_lets_the_alarm_return()
    {
        var limit = new Limit(Side.Above, 0.5, TimeSpan.Zero, TimeSpan.Zero);

        limit.Observe(14, 7, TimeSpan.Zero).Should().Be(LimitStep.Raised);
        limit.Observe(14, 15.6, TimeSpan.FromMinutes(5)).Should().Be(LimitStep.Returned);
    }

    [Fact]
    public void A_run_begins_with_its_first_value_beyond()
    {
        var limit = new Limit(Side.Above, 2, TimeSpan.FromMinutes(20), TimeSpan.FromMinutes(15));
        Run(limit, "0:59 3:61 10:62 23:61", 60).Should().Be("23+");

        limit.Since.Should().Be(TimeSpan.FromMinutes(3));
    }

    private static string Run(Limit limit, string trace, double at)
    {
        List<string> steps = [];
        foreach (var point in trace.Split(' '))
        {
            var parts = point.Split(':');
            double? value = string.Equals(parts[1], "-", StringComparison.Ordinal) ? null : double.Parse(parts[1]);
            var step = limit.Observe(value, at, TimeSpan.FromMinutes(double.Parse(parts[0])));
            if (step != LimitStep.None)
                steps.Add(parts[0] + (step == LimitStep.Raised ? "+" : "-"));
        }

        return string.Join(' ', steps);
    }
}
