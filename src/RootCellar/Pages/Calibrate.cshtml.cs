using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.WebUtilities;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Science.Air;
using RootCellar.Storage;

namespace RootCellar.Pages;

/// <summary>What a sensor is calibrated in, and how far it has come: all of it stands in the page's address, so that it outlives the phone's sleep.</summary>
internal sealed record CalibrateAsked
{
    public string? Sensor { get; set; }

    public Quantity? What { get; set; }

    public HeldAgainst? Against { get; set; }

    /// <summary>The salt's formula, or the other sensor.</summary>
    public string? With { get; set; }

    /// <summary>When it was laid there, Unix seconds.</summary>
    public long? Since { get; set; }

    /// <summary>The place it goes back to.</summary>
    public string? Back { get; set; }

    /// <summary>How warm the jar is, or what the instrument shows; as typed, in the household's units.</summary>
    public string? Typed { get; set; }

    /// <summary>Without the point of before.</summary>
    public bool Alone { get; set; }

    public string Address => QueryHelpers.AddQueryString("/sensors/calibrate", Fields().Select(f => KeyValuePair.Create(f.Key, (string?)f.Value)));

    /// <summary>All of it but what is typed, as it stands in the address of the page and of its forms.</summary>
    public IDictionary<string, string> Fields()
    {
        (string Name, object? Value)[] all =
        [
            ("sensor", Sensor), ("what", What), ("against", Against), ("with", With), ("since", Since), ("back", Back), ("alone", Alone ? true : null),
        ];
        return all.Where(f => f.Value is not null)
            .ToDictionary(f => f.Name, f => Convert.ToString(f.Value, CultureInfo.InvariantCulture)!, StringComparer.Ordinal);
    }
}

/// <summary>Guides somebody through a salt jar, an ice bath or two sensors side by side, waits until the reading stands still, and takes it.</summary>
internal sealed class CalibrateModel(Pipeline pipeline, Store store, Show show) : PageModel
{
    // What somebody began the day before is begun again.
    private static readonly TimeSpan Longest = TimeSpan.FromHours(24);

    private static readonly Quantity[] Quantities = [Quantity.Humidity, Quantity.Temperature, Quantity.Pulp];

    [BindProperty(SupportsGet = true)]
    public CalibrateAsked Asked { get; set; } = new();

    public SensorView Sensor { get; private set; } = null!;

    public string? Problem { get; private set; }

    public string? Done { get; private set; }

    public bool MayUndo { get; private set; }

    /// <summary>What it measures that can be put right.</summary>
    public IReadOnlyList<Quantity> Measured => [.. Measures(Sensor)];

    public static IEnumerable<Quantity> Measures(SensorView sensor) => Quantities.Where(q => sensor.Last.Any(r => r.Quantity == q));

    /// <summary>Sensors that measure the same.</summary>
    public IEnumerable<SensorView> Others(Quantity what) => pipeline.Snapshot.Sensors
        .Where(s => s.Key != Sensor.Key && !s.Silent && s.Last.Any(r => r.Quantity == what)).OrderByDescending(s => s.Place == Sensor.Place).Take(8);

    public Quantity What => Asked.What!.Value;

    public HeldAgainst Against => Asked.Against!.Value;

    /// <summary>When it was laid there; null where it is still to be.</summary>
    public DateTimeOffset? Since { get; private set; }

    public TimeSpan Left { get; private set; }

    public Settling Now { get; private set; } = null!;

    /// <summary>What is true there; null where it is still to be typed or nothing is heard.</summary>
    public CalibrationPoint? Point { get; private set; }

    /// <summary>What would be in force; null where the point makes no sense.</summary>
    public Calibration? Coming { get; private set; }

    /// <summary>The point of before that it is put together with.</summary>
    public CalibrationPoint? Earlier { get; private set; }

    public bool Typing => Against == HeldAgainst.Instrument || (Against == HeldAgainst.Salt && JarC is null);

    public string? PlaceName(string? place) => place is null ? null : pipeline.Snapshot.Place(place)?.Place.Name;

    public string AddressTo(Quantity what, HeldAgainst against, string? with = null) =>
        new CalibrateAsked { Sensor = Sensor.Key, What = what, Against = against, With = with }.Address;

    public static string AddressOf(string sensor) => new CalibrateAsked { Sensor = sensor }.Address;

    public string Value(double value, Quantity what) => what == Quantity.Humidity ? Show.Humidity(value) : show.Temperature(value);

    public string Apart(double by, Quantity what) => what == Quantity.Humidity
        ? Show.Humidity(by) : show.TemperatureApart(by);

    /// <summary>What is in force of a quantity.</summary>
    public Calibration? InForce(Quantity what) => Sensor.Calibrations.FirstOrDefault(c => c.Quantity == what);

    /// <summary>What the air over a salt would be where the sensor lies now, or at 10 C where its temperature is not known; null where the salt is none.</summary>
    public double? Over(string formula) => SaltStandards.All.First(s => s.Formula == formula).At(JarC ?? 10)?.RelativeHumidityPercent;

    public static string SaltName(string formula) => formula switch
    {
        "MgCl2" => Strings.SaltMagnesium,
        "NaCl" => Strings.SaltTable,
        "KCl" => Strings.SaltPotassium,
        "K2SO4" => Strings.SaltSulphate,
        _ => formula,
    };

    public string Name(HeldAgainst against, string? with) => against switch
    {
        HeldAgainst.Salt => Strings.CalibrateSalt.With(SaltName(with ?? "")),
        HeldAgainst.Ice => Strings.CalibrateIce,
        HeldAgainst.Sensor => Strings.CalibrateBeside.With(pipeline.Snapshot.Sensor(with)?.Called ?? with),
        _ => Strings.CalibrateInstrument,
    };

    public string PointWords(CalibrationPoint point, Quantity what) => (point.Standard is { } salt
        ? Strings.CalibratePointSalt.With(SaltName(salt), Value(point.Reference, what), Value(point.Reads, what))
        : Strings.CalibratePoint.With(Value(point.Reference, what), Value(point.Reads, what)));

    /// <summary>What is added to or taken off a reading.</summary>
    public string Change(Calibration calibration, double reads)
    {
        var by = calibration.Correction.Apply(reads).Value - reads;
        return (by < 0 ? Strings.CalibrateTakesOff : Strings.CalibrateAdds).With(Apart(Math.Abs(by), calibration.Quantity));
    }

    public IActionResult OnGet(string? done)
    {
        if (!Find()) return Page();
        Done = done switch
        {
            "taken" => Strings.CalibrateDone,
            "off" => Strings.CalibrateDoneOff,
            "undone" => Strings.CalibrateUndone,
            "back" => Strings.CalibratePutBack,
            _ => null,
        };
        MayUndo = Asked.What is not null && done is "taken" or "off" or "undone";
        return Page();
    }

    /// <summary>It lies there now: the wait begins, and its place goes without it if so asked.</summary>
    public async Task<IActionResult> OnPostBeginAsync(bool takeOut)
    {
        if (!Find() || Asked.Against is null) return Page();
        var back = Asked.Back;
        if (takeOut && Sensor.Place is { } place && Against.IsElsewhere())
        {
            if (!await SaidAsync((h, wall, mono) => h.SaveSensor(Sensor.Key, null, Sensor.Name, mono, wall))) return Page();
            back = place;
        }

        return Redirect((Asked with { Since = show.Now.ToUnixTimeSeconds(), Back = back }).Address);
    }

    public async Task<IActionResult> OnPostTakeAsync()
    {
        if (!Find() || Asked.Against is null) return Page();
        if (Coming is not { } coming)
        {
            Problem ??= Typing && Point is null ? Units.NotANumber(Asked.Typed ?? "") : Strings.CalibrateNotStill;
            return Page();
        }

        return await SaidAsync((h, wall, _) => h.SaveCalibration(Sensor.Key, What, coming, wall)) ? To("taken") : Page();
    }

    public async Task<IActionResult> OnPostOffAsync()
    {
        if (!Find() || Asked.What is null) return Page();
        return await SaidAsync((h, wall, _) => h.SaveCalibration(Sensor.Key, What, null, wall)) ? To("off") : Page();
    }

    /// <summary>As it was before the last change.</summary>
    public async Task<IActionResult> OnPostUndoAsync()
    {
        if (!Find() || Asked.What is null) return Page();
        var before = store.Read(c => CalibrationRows.Before(c, Sensor.Key, What));
        return await SaidAsync((h, wall, _) => h.SaveCalibration(Sensor.Key, What, before is null ? null : before with { Since = wall }, wall)) ? To("undone") : Page();
    }

    public async Task<IActionResult> OnPostBackAsync()
    {
        if (!Find()) return Page();
        var back = Asked.Back;
        if (!await SaidAsync((h, wall, mono) => h.SaveSensor(Sensor.Key, back, Sensor.Name, mono, wall))) return Page();
        Asked.Back = null;
        return To("back");
    }

    private double? JarC => Sensor.Last.FirstOrDefault(r => r.Quantity == Quantity.Temperature) is { Counts: true } own
        ? Sensor.CorrectedOf(own)?.Value ?? own.Value : null;

    private RedirectResult To(string done) => Redirect(new CalibrateAsked { Sensor = Sensor.Key, What = Asked.What, Back = Asked.Back }.Address + "&done=" + done);

    private async Task<bool> SaidAsync(Func<LiveState, DateTimeOffset, TimeSpan, bool> change) =>
        (Problem = await pipeline.ChangeAsync(change, Strings.SensorOrPlaceGone, HttpContext.RequestAborted)) is null;

    // The sensor, and how it stands. False: there is nothing to do on this page but to read why.
    private bool Find()
    {
        if (pipeline.Snapshot.Sensor(Asked.Sensor) is not { } sensor)
        {
            Problem = Strings.SensorOrPlaceGone;
            return false;
        }

        Sensor = sensor;
        if (Asked.What is not { } what || Asked.Against is not { } against || !Measured.Contains(what) || !Fits(what, against)) Asked.Against = null;
        if (PlaceName(Asked.Back) is null || Sensor.Place is not null) Asked.Back = null;
        if (Asked.Against is null || Asked.Since is not { } seconds) return true;
        var now = show.Now;
        if (seconds > now.ToUnixTimeSeconds() + 60 || seconds < (now - Longest).ToUnixTimeSeconds()) return true;
        Since = DateTimeOffset.FromUnixTimeSeconds(seconds);
        Look(Since.Value, now);
        return true;
    }

    private bool Fits(Quantity what, HeldAgainst against) => against switch
    {
        HeldAgainst.Salt => what == Quantity.Humidity && HeldAgainstRules.Salts.Contains(Asked.With),
        HeldAgainst.Ice => what != Quantity.Humidity,
        HeldAgainst.Sensor => Others(what).Any(s => s.Key == Asked.With),
        _ => true,
    };

    private void Look(DateTimeOffset since, DateTimeOffset now)
    {
        Left = since + Against.Least() - now;
        Now = store.Read(c => Settling.Of(c, Sensor.Key, What, Sensor.ExpectedInterval, since, now));
        if (Now.Reads is not { } reads || Reference(reads, since, now) is not { } point) return;
        Point = point;
        if (Left > TimeSpan.Zero || !Now.Still) return;
        if (Math.Abs(reads - point.Reference) > What.Rules().LargestError)
        {
            Problem = Strings.CalibrateTooFar.With(Value(reads, What), Value(point.Reference, What), Apart(What.Rules().LargestError, What));
            return;
        }

        Earlier = Asked.Alone ? null : InForce(What)?.GoesWith(point.Reference);
        (Coming, _) = Calibration.Of(What, now, Earlier is null ? [point] : [Earlier, point]);
        if (Coming is null)
        {
            Problem = Earlier is null ? Strings.CalibrateNoSense.With(Value(reads, What), Value(point.Reference, What))
                : Strings.CalibratePairOdd.With(PointWords(Earlier, What), PointWords(point, What));
        }
    }

    private CalibrationPoint? Reference(double reads, DateTimeOffset since, DateTimeOffset now)
    {
        double? typed = Numerals.TryRead(Asked.Typed, out var number) ? What == Quantity.Humidity && Against == HeldAgainst.Instrument ? number : show.Celsius(number) : null;
        switch (Against)
        {
            case HeldAgainst.Salt:
                if ((JarC ?? typed) is not { } jar) return null;
                var (point, _) = CalibrationPoint.OverSalt(Asked.With!, Math.Round(jar, 1), reads, Now.Moved);
                if (point is null) Problem = Strings.CalibrateSaltOut.With(SaltName(Asked.With!), show.Temperature(jar));
                return point;
            case HeldAgainst.Ice:
                return new CalibrationPoint(null, null, 0, SensorCorrection.IceBathPlusOrMinusC, reads, Now.Moved);
            case HeldAgainst.Sensor:
                var other = pipeline.Snapshot.Sensor(Asked.With)!;
                var its = store.Read(c => Settling.Of(c, other.Key, What, other.ExpectedInterval, since, now));
                if (its.Reads is not { } raw) return null;
                // It has to stand still as well, or the two were not in the same air.
                if (!its.Still) Now = Now with { Enough = Now.Enough && its.Enough, Moved = Math.Max(Now.Moved, its.Moved) };
                var right = other.Calibrations.FirstOrDefault(c => c.Quantity == What)?.Correction.Apply(raw);
                return new CalibrationPoint(null, null, right?.Value ?? raw, right?.PlusOrMinus ?? What.CheapPlusOrMinus(), reads, Now.Moved);
            default:
                return typed is { } shown ? new CalibrationPoint(null, null, shown, What.CheapPlusOrMinus(), reads, Now.Moved) : null;
        }
    }
}
