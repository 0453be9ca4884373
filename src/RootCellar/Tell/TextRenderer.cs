using System.Text.RegularExpressions;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Tell;

/// <summary>One message in its forms. <see cref="Sms"/> is at most 160 septets of the GSM alphabet; the mail is plain text.</summary>
internal sealed record MessageText(string Sms, string Subject, string Body)
{
    /// <summary>What of a room's air the text has room for.</summary>
    public IReadOnlyList<Finding> SaidInText { get; init; } = [];

    /// <summary>What of it the mail says.</summary>
    public IReadOnlyList<Finding> SaidInMail { get; init; } = [];
}

/// <summary>
/// Turns what became of an alarm into words. The first line of a template says what is so, the lines after it what to
/// do; where a text would be too long, the place's name is shortened first, then the advice loses its last sentence.
/// </summary>
/// <param name="nameOf">What people call a sensor, by its topic.</param>
internal sealed partial class TextRenderer(TemplateSet templates, HouseholdOptions household, Func<Uri?>? page = null,
    Func<string, string?>? nameOf = null)
{
    private const int ShortestPlace = 12;
    private const int LongestReason = 40;
    private readonly JudgementWords words = new(household, nameOf);

    /// <summary>What temperatures are said in.</summary>
    public TemperatureScale Scale => household.Scale;

    /// <summary>The household's days and hours.</summary>
    public HouseholdCalendar Calendar => household.Calendar();

    public IReadOnlyList<TemplateProblem> Problems => templates.Problems;

    /// <summary>As the household speaks; mails lead to <paramref name="page"/>. The grower's own templates are in the folder "templates" beside the record.</summary>
    public static TextRenderer Of(HouseholdOptions household, string folder, Func<Uri?>? page = null, Func<string, string?>? nameOf = null) => new(
        new TemplateSet(Path.Combine(folder, "templates")),
        household,
        page,
        nameOf);

    /// <param name="place">Null for the whole household, or where the place is no more.</param>
    /// <param name="band">What the mail explains; null where there is none.</param>
    /// <param name="mayBeRepeat">A kill may have come between sending it and writing that down.</param>
    /// <param name="late">It could not be sent when it was due.</param>
    /// <param name="room">The judgement of the room, and what is told together; of an alarm of a room's air.</param>
    public MessageText Render(AlarmChange change, Place? place, Band? band, bool mayBeRepeat = false, bool late = false,
        RoomText? room = null)
    {
        if (change.Tell == Telling.None)
            throw new ArgumentException("There is nothing to tell of this change.", nameof(change));

        room = OfRoom(change, place, room);
        var alarm = change.After;
        var name = OneLine(place?.Name is { Length: > 0 } given ? given : alarm.Place.Length > 0 ? alarm.Place : "RootCellar")
            .ToUpperInvariant();
        var inText = place?.ShortName is { } shortName ? shortName.ToUpperInvariant() : name;
        var values = Values(change, place, room);
        var marks = (late ? " " + Strings.TextLate : "") + (mayBeRepeat ? " " + Strings.TextRepeat : "");

        var sms = Fit(change, Gsm0338.Fold(inText), values, marks, room);
        SetRoom(values, room);
        var (fact, advice) = Lines(change, name, values);
        var (subject, body) = Mail(change, name, band, values, fact, advice);
        return new MessageText(sms, subject + marks, body)
        { SaidInText = Said(change, room, sms), SaidInMail = Said(change, room, Gsm0338.Fold(body)) };
    }

    // Read back from what leaves, so that nothing that was cut counts as told. The grower's own words are taken to tell of their own rule.
    private IReadOnlyList<Finding> Said(AlarmChange change, RoomText? room, string text) => room is null
        ? []
        : [.. room.Listed.Where(f => text.Contains(Gsm0338.Fold(words.What(f, room.Judgement.FreezingPointC)), StringComparison.Ordinal)
            || (f.Rule == change.After.Rule && OwnWords(change)))];

    private bool OwnWords(AlarmChange change) => templates.HasOwn(TemplateOf(change))
        || (change.Tell == Telling.Reminder && templates.HasOwn("reminder.sbn"));

    /// <summary>What is so and what to do about it, with the place named as given; for pages.</summary>
    public (string Fact, string Advice) Say(AlarmChange change, Place? place, RoomText? room = null)
    {
        room = OfRoom(change, place, room);
        return Lines(change, place?.Name ?? "RootCellar", Values(change, place, room));
    }

    // An alarm of a room's air whose room is not at hand is told by its own record alone.
    private static RoomText? OfRoom(AlarmChange change, Place? place, RoomText? room)
    {
        var alarm = change.After;
        if (room is not null || !alarm.Rule.IsOfRoomAir()) return room;
        var judgement = new PlaceJudgement(place ?? new Place(alarm.Place, alarm.Place, Purpose.Storage, null, []), RoomState.Unknown, [],
            [], null, null, null, null);
        return new RoomText(judgement, [change], RoomText.NothingYet, false, [], alarm.ReturnedAt ?? alarm.Since + change.Lasted);
    }

    private static string TemplateOf(AlarmChange change) => change is { Tell: Telling.Over, After.Ended: not null }
        ? "ended.sbn" : change.After.Rule.Slug() + (change.Tell == Telling.Over ? ".over.sbn" : ".sbn");

    private string Fit(AlarmChange change, string name, Dictionary<string, object?> values, string marks, RoomText? room)
    {
        while (true)
        {
            var ownWords = OwnWords(change);
            var fitted = room is null || ownWords ? Shortened(change, name, values, marks) : FitRoom(change, name, values, marks, room);
            if (fitted is { } text)
                return text;

            var template = templates.HasOwn(TemplateOf(change)) ? TemplateOf(change) : room is null || ownWords
                ? "reminder.sbn" : "room.sbn";
            if (!templates.HasOwn(template))
                break;

            templates.Reject(template, 1, 1, $"its first line does not fit into {Gsm0338.TextSeptets} characters");
        }

        // Only reached if a shipped template were too long, which the tests rule out; a cut text is still better than none.
        var cut = Gsm0338.Fold(Lines(change, Cut(name, ShortestPlace), values).Fact);
        while (Gsm0338.Septets(cut + marks) > Gsm0338.TextSeptets)
            cut = cut[..^1];
        return cut + marks;
    }

    // First the place is shortened, then nobody is named, then steps go from the end, then findings; a safety sentence and the first step
    // never.
    private string? FitRoom(AlarmChange change, string name, Dictionary<string, object?> values, string marks, RoomText room)
    {
        var order = room.Order.ToList();
        var findings = Math.Max(1, room.Listed.Count);
        var told = room.Told;
        while (true)
        {
            SetRoom(values, room, order, findings, told);
            if (Placed(change, name, values, marks) is { } text) return text;
            var first = order.FindIndex(s => !s.Safety);
            var last = order.FindLastIndex(s => !s.Safety);
            if (told.Count > 0) told = [];
            else if (last > first) order.RemoveAt(last);
            else if (findings > 1) findings--;
            else if (last >= 0 && order.Exists(s => s.Safety)) order.RemoveAt(last);
            else if (order.Exists(s => s.ForPeople) && order.FindIndex(s => !s.ForPeople) is >= 0 and var other) order.RemoveAt(other);
            else return null;
        }
    }

    private string? Placed(AlarmChange change, string name, Dictionary<string, object?> values, string marks)
    {
        for (var length = name.Length; ;)
        {
            var (fact, advice) = Lines(change, Cut(name, length), values);
            var text = Gsm0338.Fold((fact + " " + advice).TrimEnd() + marks);
            var excess = Gsm0338.Septets(text) - Gsm0338.TextSeptets;
            if (excess <= 0) return text;
            if (length <= ShortestPlace) return null;
            length = Math.Max(ShortestPlace, length - Math.Max(1, excess / 2));
        }
    }

    private void SetRoom(Dictionary<string, object?> values, RoomText? room, IReadOnlyList<Step>? order = null, int findings = int.MaxValue,
        IReadOnlyList<string>? told = null)
    {
        if (room is null) return;
        told ??= room.Told;
        var urgent = room.Together.Any(c => c.After.Priority == AlarmPriority.Urgent) && room.Together[0].Tell != Telling.Over;
        values["what"] = room.What(words, findings);
        values["order"] = words.Order(order ?? room.Order, room.Judgement.Decides);
        values["told"] = told.Count == 0 ? "" : Strings.TextTold.With(string.Join(", ", told));
        values["alert"] = !urgent ? "" : (order ?? room.Order).Any(s => s.Kind == StepKind.StayOutAndCall)
            ? Strings.TextDanger + " " : Strings.TextUrgent + " ";
    }

    private string? Shortened(AlarmChange change, string name, Dictionary<string, object?> values, string marks)
    {
        for (var dropped = 0; ; dropped++)
        {
            var length = name.Length;
            while (true)
            {
                var (fact, advice) = Lines(change, Cut(name, length), values);
                var sentences = SentenceEnd().Split(advice).Where(sentence => sentence.Length > 0).ToArray();
                if (dropped > sentences.Length || (dropped > 0 && change.After.Priority == AlarmPriority.Urgent))
                    return null;

                var text = Gsm0338.Fold(string.Join(' ', [fact, .. sentences[..^dropped]]) + marks);
                var excess = Gsm0338.Septets(text) - Gsm0338.TextSeptets;
                if (excess <= 0)
                    return text;
                if (length <= ShortestPlace)
                    break;

                // An extension character takes two septets, so this many characters are enough or the next round takes more.
                length = Math.Max(ShortestPlace, length - Math.Max(1, excess / 2));
            }
        }
    }

    private (string Fact, string Advice) Lines(AlarmChange change, string place, Dictionary<string, object?> values)
    {
        values["place"] = place;
        var (fact, advice) = Split(templates.Render(TemplateOf(change), values));
        if (change.Tell != Telling.Reminder
            || (change.After.Rule.IsOfRoomAir() && !templates.HasOwn(TemplateOf(change)) && !templates.HasOwn("reminder.sbn")))
            return (fact, advice);

        values["text"] = fact;
        values["advice"] = advice;
        return Split(templates.Render("reminder.sbn", values));
    }

    private static (string Fact, string Advice) Split(string rendered)
    {
        var lines = rendered.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
        return lines.Length == 0 ? ("", "") : (lines[0], string.Join(' ', lines[1..]));
    }

    private Dictionary<string, object?> Values(AlarmChange change, Place? place, RoomText? room)
    {
        var alarm = change.After;
        var (value, limit) = (alarm.Value, alarm.Limit) switch
        {
            ({ } v, { } l) when change.Tell != Telling.Over && alarm.Measure != Measure.DewMargin =>
                Wording.Against(alarm.Measure, v, l, Scale),
            ({ } v, { } l) => (Wording.Figure(alarm.Measure, v, Scale), Wording.Figure(alarm.Measure, l, Scale)),
            ({ } v, null) => (Wording.Figure(alarm.Measure, v, Scale), ""),
            _ => ("", ""),
        };
        var lasted = Wording.Duration(change.Lasted);
        var moment = change.Lasted < TimeSpan.FromMinutes(1);
        var (inside, outside) = (room?.Judgement.Air, room?.Judgement.Outdoors);
        var values = new Dictionary<string, object?>(StringComparer.Ordinal)
        {
            ["value"] = value,
            ["limit"] = limit,
            ["worst"] = (alarm.Worst ?? alarm.Value) is { } worst ? Wording.Figure(alarm.Measure, worst, Scale) : "",
            ["lasting"] = moment ? Strings.TextNow : Strings.TextFor.With(lasted),
            ["after"] = moment ? Strings.TextAtOnce : Strings.TextAfter.With(lasted),
            ["over"] = change.Tell == Telling.Over,
            ["reminder"] = change.Tell == Telling.Reminder,
            ["curing"] = place?.Purpose == Purpose.Curing,
            ["in_pulp"] = alarm.Measure is Measure.Pulp or Measure.DewMargin,
            // What a sensor cannot tell apart (1 C, a dew point of 0.5 C) is neither.
            ["outdoors_warmer"] = outside?.TemperatureC - inside?.TemperatureC > 1,
            ["outdoors_drier"] = inside?.DewPointC - outside?.DewPointC > 0.5,
            ["outdoors_wetter"] = outside?.DewPointC - inside?.DewPointC > 0.5,
            ["kept_dry"] = alarm is { Measure: Measure.Humidity, Limit: < 90 },
            ["ahead"] = alarm.Value > 0,
            ["count"] = alarm.Count,
            ["sensor"] = Named(alarm.Sensor),
            ["other"] = Named(alarm.Other),
            ["reason"] = Cut(Gsm0338.Fold(OneLine(alarm.Detail ?? "")).TrimEnd('.'), LongestReason),
        };
        if (alarm.Ended is { } why)
        {
            var what = JudgementWords.Name(alarm.Rule, alarm.Measure);
            // Of several sensors in the room, which.
            if (alarm.Rule is Rule.SensorSilent or Rule.SensorNotBelievable) what = Strings.EndedOfSensor.With(what, values["sensor"]);
            values["what"] = JudgementWords.Ended([what], why);
        }

        SetRoom(values, room);
        return values;
    }

    private (string Subject, string Body) Mail(AlarmChange change, string name, Band? band, Dictionary<string, object?> values, string fact,
        string advice)
    {
        var alarm = change.After;
        values["place"] = name;
        var title = JudgementWords.Name(alarm.Rule, alarm.Measure);
        values["title"] = change.Tell switch
        {
            Telling.Over => Strings.TextTitleOver.With(title),
            Telling.Reminder => Strings.TextTitleStill.With(title),
            _ => title,
        };
        values["text"] = fact;
        values["advice"] = advice;
        values["since"] = WrittenTime.Moment(TimeZoneInfo.ConvertTime(alarm.Since, household.Zone()).DateTime, year: false);
        values["band"] = (band?.Why ?? []).Select(Reason).ToList();
        values["conflicts"] = (band?.Conflicts ?? []).Select(Reason).ToList();
        values["limits"] = band is null or { FrostOnly: true } ? "" : LimitWords.Said(band.Limits, Degrees, Percent);
        values["harmed"] = (band?.Limits.Why ?? []).Select(w => $"{LimitWords.Harmed(w, Degrees, Percent)} ({w.Source})").ToList();
        values["unsuited"] = band is null ? [] : LimitWords.DoesNotSuit(band.Limits, Degrees, Percent).ToList();
        values["link"] = page?.Invoke()?.ToString() ?? "";

        var mail = templates.Render("mail.sbn", values).ReplaceLineEndings("\n").TrimStart();
        var end = mail.IndexOf('\n', StringComparison.Ordinal);
        return end < 0 ? (mail, fact) : (mail[..end].Trim(), mail[(end + 1)..].Trim() + "\n");
    }

    private string Degrees(double celsius) => Wording.Temperature(celsius, Scale);

    private static string Percent(double percent) => Wording.Figure(Measure.Humidity, percent, TemperatureScale.Celsius);

    private string Reason(BandReason reason)
    {
        var wish = reason.Wish;
        return Strings.TextReason.With(
            CropWords.Name(reason.Crop), ShowWatch.Name(reason.Purpose).ToLowerInvariant(),
            Strings.Range.With(Wording.Temperature(wish.TemperatureLowC, Scale), Wording.Temperature(wish.TemperatureHighC, Scale)),
            $"{wish.HumidityLowPercent:0}-{wish.HumidityHighPercent:0}%", reason.Source);
    }

    // The place is named before it; without a name of its own, what follows the last stroke of its topic is the sensor.
    private string Named(string? sensor) =>
        Wording.SensorName(Gsm0338.Fold(OneLine(sensor ?? "")), nameOf?.Invoke(sensor ?? "") is { } name ? Gsm0338.Fold(OneLine(name)) : null);

    private static string Cut(string text, int length) =>
        text.Length <= length ? text : text[..(length - 1)].TrimEnd(' ', '.', ',', '-') + ".";

    private static string OneLine(string text) => Space().Replace(text, " ").Trim();

    [GeneratedRegex(@"(?<=[.!?])\s+", RegexOptions.None, matchTimeoutMilliseconds: 1000)]
    private static partial Regex SentenceEnd();

    [GeneratedRegex(@"\s+", RegexOptions.None, matchTimeoutMilliseconds: 1000)]
    private static partial Regex Space();
}
