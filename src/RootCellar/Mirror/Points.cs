using System.Text.Json;
using InfluxDB.Client.Api.Domain;
using InfluxDB.Client.Writes;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Mirror;

/// <summary>
/// Rows of the record as lines of line protocol (docs/influx.md). The same row gives the same line whenever it is made: a point that is
/// sent again falls on itself. So a tag is only what never changes of a row: not where a sensor stands today, nor what it is called.
/// </summary>
internal static class Points
{
    public const string ReadingName = "reading";
    public const string SummaryName = "reading_summary";
    public const string AirName = "air";
    public const string BinName = "bin";
    public const string LotName = "lot";
    public const string AlarmName = "alarm";
    public const string LedgerName = "ledger";
    public const string MirrorName = "mirror";

    private const long NanosInMilli = 1_000_000;

    private static readonly string[] EntryTags = ["bin", "lot", "crop", "variety", "grade", "place", "row", "reason"];

    /// <summary>A reading as it came; null where the value is no number, for there is no point of that.</summary>
    /// <param name="sequence">The row's number within its millisecond (a running one, or a hash of the value), which keeps two of one
    /// millisecond apart here too.</param>
    public static string? Reading(string sensor, Quantity quantity, long atMs, long sequence, double? value, Quality quality) =>
        value is { } number && double.IsFinite(number)
        ? Line(
            PointData.Builder.Measurement(ReadingName).Tag("sensor", Tag(sensor)).Tag("quality", Slug.Of(quality))
                .Field(ReadingCsv.NameOf(quantity), number),
            atMs,
            Math.Abs(sequence % NanosInMilli))
        : null;

    /// <summary>What is left of readings that were thinned.</summary>
    public static string Summary(string sensor, Quantity quantity, long atMs, double low, double mean, double high, long count) => Line(
        PointData.Builder.Measurement(SummaryName).Tag("sensor", Tag(sensor)).Tag("quantity", ReadingCsv.NameOf(quantity))
            .Field("low", low).Field("mean", mean).Field("high", high).Field("count", count),
        atMs);

    public static string Air(PlaceAir air)
    {
        var point = PointData.Builder.Measurement(AirName).Tag("place", Tag(air.Place)).Field("quality", Slug.Of(air.Quality));
        foreach (var (name, value) in new[]
        {
            ("temperature_c", air.TemperatureC), ("humidity_pct", air.RelativeHumidityPercent), ("dew_point_c", air.DewPointC),
                ("deficit_pa", air.VapourPressureDeficitPa),
            ("pulp_c", air.PulpC), ("coldest_pulp_c", air.ColdestPulpC), ("light_lx", air.LightLux), ("co2_ppm", air.Co2Ppm),
        })
        {
            Number(point, name, value);
        }

        return Line(point, air.At.ToUnixTimeMilliseconds());
    }

    /// <summary>How every bin and every lot is estimated to stand.</summary>
    public static IEnumerable<string> Estimates(LotViews views)
    {
        if (views.At is not { } at) yield break;
        foreach (var b in views.Bins.Values.OrderBy(b => b.Bin, StringComparer.Ordinal))
        {
            var point = Named(PointData.Builder.Measurement(BinName), ("bin", b.Bin), ("lot", b.Lot), ("crop", b.Crop),
                ("variety", b.Variety), ("grade", b.Grade))
                .Field("book_kg", b.BookKg).Field("low_kg", b.Kg.Low).Field("kg", b.Kg.Value).Field("high_kg", b.Kg.High)
                .Field("lost_pct", b.Shrink.Percent)
                .Field("healed_days", b.HealedDays).Field("fit_to_move", b.FitNow)
                .Field("wet_hours", b.WetHours).Field("cold_hours", b.ColdHours).Field("freezing_hours", b.FreezingHours)
                    .Field("light_hours", b.LightHours).Field("dark_hours", b.DarkHours)
                .Field("loss_if_left_kg", b.IfLeft.Kg.Value).Field("use_rank", views.UseRank(b.Bin));
            Number(point, "pulp_c", b.PulpC);
            Rest(point, b.RestUsed, b.Sprouted, at);
            if (b.RestUsed is not null) point.Field("sprouted_share_pct", b.SproutedSharePercent).Field("sprout_mm", b.SproutMm);
            if (b.Place is { Length: > 0 } place) point.Field("place", Text(place));
            yield return Line(point, at.ToUnixTimeMilliseconds());
        }

        foreach (var l in views.Lots.Values.OrderBy(l => l.Lot, StringComparer.Ordinal))
        {
            var point = Named(PointData.Builder.Measurement(LotName), ("lot", l.Lot), ("crop", l.Crop), ("variety", l.Variety))
                .Field("book_kg", l.BookKg).Field("low_kg", l.Kg.Low).Field("kg", l.Kg.Value).Field("high_kg", l.Kg.High)
                .Field("lost_pct", l.Shrink.Percent)
                .Field("water_multiplier", l.WaterMultiplier.Value).Field("bins", l.Bins.Count);
            Rest(point, l.RestUsed, l.Sprouted, at);
            yield return Line(point, at.ToUnixTimeMilliseconds());
        }
    }

    /// <summary>
    /// A change of an alarm, at the moment the alarm itself names for it: raised, acknowledged or back to normal. Shelving has none of its
    /// own there; <paramref name="loggedMs"/> stands for it.
    /// </summary>
    public static string Alarm(string body, long loggedMs)
    {
        var a = JsonSerializer.Deserialize<Alarm>(body, JsonRules.Options)!;
        var moments = new[] { a.RaisedAt, a.AcknowledgedAt ?? a.RaisedAt, a.ReturnedAt ?? a.RaisedAt };
        return AlarmAt(a, a.State, a.Active, a.State == AlarmState.Shelved ? loggedMs : moments.Max().ToUnixTimeMilliseconds());
    }

    /// <summary>What the last state of an alarm still says of its life, for a server that has none of it.</summary>
    public static IEnumerable<string> AlarmLife(string body)
    {
        var a = JsonSerializer.Deserialize<Alarm>(body, JsonRules.Options)!;
        yield return AlarmAt(a, AlarmState.Unacknowledged, active: true, a.RaisedAt.ToUnixTimeMilliseconds());
        var (seen, back) = (a.AcknowledgedAt, a.ReturnedAt);
        if (seen is { } s)
            yield return AlarmAt(a, back < s ? AlarmState.Normal : AlarmState.Acknowledged, active: !(back < s),
                s.ToUnixTimeMilliseconds());
        if (back is { } b)
            yield return AlarmAt(a, seen < b ? AlarmState.Normal : AlarmState.ReturnedUnacknowledged, active: false,
                b.ToUnixTimeMilliseconds());
    }

    public static string Entry(LedgerEntry e)
    {
        var point = Named(
            PointData.Builder.Measurement(LedgerName),
            [("event", e.Event), .. EntryTags.Select(name => (name, TextOf(e.Body, name)))]);
        point.Field("id", e.Id).Field("fields", Text(e.Body.GetRawText()));
        Number(point, "weight_kg", e.Kind.Read(e.Body)?.Grams() / 1000.0);
        foreach (var (name, text) in new[] { ("by", e.By), ("note", e.Note), ("question", e.Question?.Text),
            ("order", TextOf(e.Body, "order")) })
            if (!string.IsNullOrEmpty(text)) point.Field(name, Text(text));
        if (e.Of is { } of) point.Field("corrects", of);
        // Two entries of one minute are two points: the running number stands in the part of the time nobody reads.
        return Line(point, e.At.ToUnixTimeMilliseconds(), e.Id % NanosInMilli);
    }

    /// <summary>A point that any server takes: asked when it refuses everything else.</summary>
    public static string Probe(long behind, DateTimeOffset now) =>
        Line(PointData.Builder.Measurement(MirrorName).Field("behind_rows", behind), now.ToUnixTimeMilliseconds());

    private static string AlarmAt(Alarm a, AlarmState state, bool active, long atMs)
    {
        var point = Named(
            PointData.Builder.Measurement(AlarmName), ("rule", a.Rule.Slug()), ("priority", a.Priority.ToString().ToLowerInvariant()),
            ("place", a.Place), ("sensor", a.Sensor));
        point.Field("alarm", Text(a.Id)).Field("state", state.Slug()).Field("active", active ? 1L : 0L)
            .Field("raised", state == AlarmState.Unacknowledged ? 1L : 0L).Field("count", (long)a.Count);
        Number(point, "value", a.Value);
        Number(point, "limit", a.Limit);
        Number(point, "worst", a.Worst);
        if (a.AcknowledgedBy is { Length: > 0 } by) point.Field("acknowledged_by", Text(by));
        return Line(point, atMs);
    }

    private static void Rest(PointData.Builder point, Science.Air.Interval? used, When? sprouted, DateTimeOffset at)
    {
        if (used is not { } rest) return;
        point.Field("rest_used_low", rest.Low).Field("rest_used", rest.Value).Field("rest_used_high", rest.High);
        if (sprouted?.Likely is { } likely) point.Field("days_to_sprouts", Math.Round((likely - at).TotalDays, 1));
    }

    private static string? TextOf(JsonElement body, string name) => body.TryGetProperty(name, out var value)
        && value.ValueKind == JsonValueKind.String ? value.GetString() : null;

    private static PointData.Builder Named(PointData.Builder point, params IEnumerable<(string Name, string? Value)> tags)
    {
        foreach (var (name, value) in tags)
            if (!string.IsNullOrEmpty(value)) point.Tag(name, Tag(value));
        return point;
    }

    private static void Number(PointData.Builder point, string name, double? value)
    {
        if (value is { } number && double.IsFinite(number)) point.Field(name, number);
    }

    // A tag cannot end in a backslash: it would take the comma after it along.
    private static string Tag(string text) => Text(text).TrimEnd('\\');

    // Line protocol is lines: some servers take a line break within quotes for the end of one.
    private static string Text(string text) => text.AsSpan().IndexOfAnyInRange('\0', '\u001f') < 0 && !text.Contains('\u007f')
        ? text : string.Concat(text.Select(ch => char.IsControl(ch) ? ' ' : ch));

    private static string Line(PointData.Builder point, long atMs, long nanos = 0) =>
        point.Timestamp((atMs * NanosInMilli) + nanos, WritePrecision.Ns).ToPointData().ToLineProtocol();
}
