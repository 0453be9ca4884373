using CsCheck;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;
using RootCellar.Tell;
using RootCellar.Tests.Watch;
using RootCellar.Watch;

namespace RootCellar.Tests.Advice;

public sealed class PlaceJudgeTests
{
    private static readonly DateTimeOffset At = new(2025, 9, 24, 17, 45, 0, TimeSpan.Zero);
    private static readonly Place Room = new("curing", "Curing room", Purpose.Curing, 30, ["potato"]);
    private static readonly Rule[] Airs = [.. Enum.GetValues<Rule>().Where(r => r.IsOfRoomAir())];
    private static readonly JudgementWords Words = new(new RootCellar.Household.HouseholdOptions { TimeZone = "UTC" });

    private sealed record Situation(PlaceAir Inside, PlaceAir? Outside, Band Band, IReadOnlyList<StandingLimit> Standing)
    {
        public PlaceJudgement Judged => PlaceJudge.Of(Room, Inside, Band, Standing, Outside);
    }

    // Findings as the watch would have them of this air, each on its way in, in alarm or on its way back.
    private static readonly Gen<Situation> Situations = Gen.Select(
        Gen.Double[-4, 38], Gen.Double[20, 100], Gen.Nullable(Gen.Double[-4, 38]), Gen.Nullable(Gen.Double[-25, 40]),
        Gen.Nullable(Gen.Double[10, 100]),
        Gen.Bool, Gen.Double[400, 60_000], Gen.Int[0, 2].Array[7]).Select((t, rh, pulp, outC, outRh, keptDry, ppm, states) =>
    {
        var band = keptDry
            ? Watching.Held(new ClimateBand(0, 10, 60, 70), -1)
            : Watching.Held(new ClimateBand(10, 15.6, 85, 95), -0.8, 10);
        var inside = Air(t, rh, pulp, ppm);
        StandingLimit?[] all =
        [
            t > band.Air.TemperatureHighC ? Stands(Rule.TooWarm, Measure.Air, t, band.Air.TemperatureHighC) : null,
            t < band.Air.TemperatureLowC ? Stands(Rule.TooCold, Measure.Air, t, band.Air.TemperatureLowC) : null,
            t < 0 ? Stands(Rule.FreezingNear, Measure.Air, t, 0) : null,
            rh < band.Air.HumidityLowPercent ? Stands(Rule.TooDry, Measure.Humidity, rh, band.Air.HumidityLowPercent) : null,
            pulp < inside.DewPointC ? Stands(Rule.TooWet, Measure.DewMargin, pulp!.Value - inside.DewPointC!.Value, 0) : null,
            states[5] == 0 ? Stands(Rule.LightInTheDark, Measure.Light, 40, 10) : null,
            ppm > 5000 ? Stands(Rule.Co2High, Measure.Co2, ppm, 5000) : null,
        ];
        List<StandingLimit> standing = [];
        for (var i = 0; i < all.Length; i++)
        {
            if (all[i] is { } limit) standing.Add(limit with { State = (StandingState)states[i], Alarm = states[i] == 0 ? null : "a" + i });
        }

        return new Situation(inside, outC is { } c ? Air(c, outRh, null, null) : null, band, standing);
    });

    private static StandingLimit Stands(Rule rule, Measure measure, double value, double limit) =>
        new(rule, StandingState.Alarm, new Shown(measure, value, limit), value, At.AddMinutes(-20), null, rule.Slug());

    private static PlaceAir Air(double t, double? rh, double? pulp, double? ppm) => new(
        "x", At, t, rh, rh is { } h ? MoistAir.At(t, h).DewPointC : null, null, pulp, pulp, null, ppm, AirQuality.Good);

    [Fact]
    public void Open_and_shut_are_never_asked_of_one_room_at_once() => Situations.Sample(
        s =>
        {
            var order = s.Judged.Order;
            (order.Any(x => x.Opens) && order.Any(x => x.Shuts)).Should().BeFalse();
            order.Count(x => x.Opens || x.Kind == StepKind.KeepShut).Should().BeLessThanOrEqualTo(1);
            // A later turn of the door says by what it goes, and never the one that stands already.
            if (order.Any(x => x.Kind is StepKind.ShutAt or StepKind.ShutAtHumidity or StepKind.ShutOnceWarmerOut))
                order.Should().Contain(x => x.Opens);
            if (order.Any(x => x.Kind == StepKind.OpenOnceUnder)) order.Should().Contain(x => x.Kind == StepKind.KeepShut);
            (order.Any(x => x.Kind == StepKind.WetFloor) && order.Any(x => x.Kind is StepKind.FanOverBins or StepKind.SpreadOut)).Should()
                .BeFalse();
        },
        iter: 20_000);

    [Fact]
    public void Nobody_is_told_to_open_where_outside_air_would_freeze_wet_or_not_help() => Situations.Sample(
        s =>
        {
            if (s.Outside is not { TemperatureC: { } outC } || !s.Judged.Order.Any(x => x.Kind == StepKind.Open)) return;
            var pulp = s.Inside.ColdestPulpC ?? s.Inside.TemperatureC!.Value;
            (outC > s.Band.FreezingPointC + Vent.FreezingGuardC).Should().BeTrue();
            if (s.Outside.DewPointC is { } dew)
                (dew < pulp || dew <= s.Inside.DewPointC).Should().BeTrue("it must not wet more than the room does");
            var t = s.Inside.TemperatureC!.Value;
            var nearerT = Math.Abs(Off(outC, s.Band) - Off(t, s.Band)) > 0
                && ((t > s.Band.Air.TemperatureHighC && outC < t) || (t < s.Band.Air.TemperatureLowC && outC > t));
            var damper = s.Inside.DewPointC != s.Outside.DewPointC;
            (nearerT || damper).Should().BeTrue();
        },
        iter: 20_000);

    private static double Off(double t, Band band) => Math.Max(0, Math.Max(t - band.Air.TemperatureHighC, band.Air.TemperatureLowC - t));

    [Theory]
    [InlineData("potato", nameof(StepKind.WetFloor))]
    [InlineData("potato,onion", nameof(StepKind.CoverDamp))]
    [InlineData("potato,sweet-potato", nameof(StepKind.WetFloor))]
    public void A_room_where_onions_cure_too_is_not_made_damp(string crops, string does)
    {
        var place = Room with { Crops = crops.Split(',') };
        var band = new BandsInForce(CropLookup.Find, new WatchOptions()).For(place)!;
        band.Air.HumidityLowPercent.Should().Be(85, "potatoes decide");
        PlaceJudge.Of(place, Air(13, 70, null, null), band, [Stands(Rule.TooDry, Measure.Humidity, 70, 85)], null)
            .Order.Where(x => !x.Opens && !x.Shuts).Select(x => x.Kind.ToString()).Should().Equal(does);
    }

    [Fact]
    public void Where_the_gas_kills_nothing_else_is_asked() => Situations.Sample(
        s =>
        {
            if (!s.Standing.Any(x => x.Rule == Rule.Co2High && x.State != StandingState.Returning && x.Shown.Value >= 30_000)) return;
            s.Judged.Order.Should().ContainSingle().Which.Kind.Should().BeOneOf(StepKind.StayOut, StepKind.StayOutAndCall);
        },
        iter: 5000);

    [Fact]
    public void What_is_back_asks_for_nothing_but_a_shut_door() => Situations.Sample(
        s =>
        {
            var back = PlaceJudge.Of(Room, s.Inside, s.Band, [.. s.Standing.Select(x => x with { State = StandingState.Returning })],
                s.Outside);
            back.Order.Should().OnlyContain(x => x.Kind == StepKind.ShutIfOpen);
        },
        iter: 2000);

    [Fact]
    public void Whatever_is_wrong_fits_one_text_and_no_safety_sentence_is_cut() => Situations.Sample(
        s =>
        {
            var judged = s.Judged;
            var alarms = judged.Findings.Where(f => f.State == StandingState.Alarm).ToList();
            if (alarms.Count == 0) return;
            var changes = alarms.Select(f => new AlarmChange(
                null,
                new Alarm(
                    f.Alarm!, 1, f.Rule, "curing", f.Sensor, f.Priority, AlarmState.Unacknowledged, true, f.Measure, f.Value, f.Limit,
                    f.Worst, At, f.Since),
                Telling.Raised,
                TimeSpan.FromMinutes(20))).ToList();
            var room = new RoomText(judged, changes, RoomText.NothingYet, false, ["Nell", "Amos", "Rosa"], At);
            var sms = Tests.Tell.Messages.Renderer().Render(changes[0], Room, s.Band, room: room).Sms;
            Gsm0338.Septets(sms).Should().BeLessThanOrEqualTo(160, sms);
            var people = judged.Order.Any(x => x.ForPeople);
            foreach (var step in judged.Order.Where(x => people ? x.ForPeople : x.Safety)) sms.Should().Contain(Words.Words(step));
            if (judged.Order.FirstOrDefault(x => !x.Safety) is { } first && !judged.Order.Any(x => x.Safety))
                sms.ToLowerInvariant().Should().Contain(Words.Words(first).ToLowerInvariant().TrimEnd('.'));
        },
        iter: 20_000);

    [Fact]
    public void The_hot_dry_afternoon_opens_the_door_wets_the_floor_and_shuts_in_time()
    {
        var band = Watching.Held(new ClimateBand(10, 140.0 / 9, 85, 95), -0.8, 10);
        var inside = Air(75.0.FromF(), 60, null, null);
        var judged = PlaceJudge.Of(
            Room, inside, band,
            [Stands(Rule.TooWarm, Measure.Air, 75.0.FromF(), 140.0 / 9), Stands(Rule.TooDry, Measure.Humidity, 60, 85)],
            Air(48.0.FromF(), 70, null, null));
        Words.Order(judged.Order, judged.Decides).Should().Be("48F out: 1 open door + vent 2 wet floor, clear of plugs 3 shut at 57F.");
    }

    [Fact]
    public void Forty_thousand_ppm_says_stay_out_and_call_and_six_thousand_says_air_it_first()
    {
        Text(42_000).Should()
            .Be("DANGER CURING ROOM CO2 42,000 ppm: it can kill since 17:25. STAY OUT, even to help someone. Call 911: CO2 in a cellar. Keep all away. Told Nell, Amos.");
        Text(31_000).Should().Contain("Stay out till it has been aired");
        Text(6_200).Should().Be(
            "URGENT CURING ROOM CO2 6,200 ppm, limit 5,000 since 17:25. Not a safety gauge. Before you go in, air it well from outside. Never go in alone. Told Nell, Amos.");

        static string Text(double ppm)
        {
            var band = Watching.Held(new ClimateBand(10, 15, 85, 95), -0.8, 10);
            var judged = PlaceJudge.Of(Room, Air(12, 90, null, ppm), band, [Stands(Rule.Co2High, Measure.Co2, ppm, 5000)], null);
            var change = new AlarmChange(
                null,
                new Alarm("a", 1, Rule.Co2High, "curing", null, AlarmPriority.Urgent, AlarmState.Unacknowledged, true, Measure.Co2, ppm,
                    5000, ppm, At, At.AddMinutes(-20)),
                Telling.Raised,
                TimeSpan.FromMinutes(20));
            return Tests.Tell.Messages.Renderer().Render(
                change, Room, band, room: new RoomText(judged, [change], RoomText.NothingYet, false, ["Nell", "Amos"], At)).Sms;
        }
    }
}

internal static class Degrees
{
    public static double FromF(this double fahrenheit) => (fahrenheit - 32) / 1.8;
}
