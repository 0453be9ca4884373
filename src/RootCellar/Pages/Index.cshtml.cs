using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Diagnostics;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>Now: every place, its air, what it is held to, and what is wrong.</summary>
internal sealed class IndexModel(
    Pipeline pipeline, MqttOptions mqtt, TellOptions tellOptions, AlarmWords words, PlaceCards cards, Outbox outbox, Teller teller,
    ToDo toDo, FailedWork failedWork, SensorDoor door) : PageModel
{
    public IReadOnlyList<PlaceCard> Places { get; private set; } = [];

    public IReadOnlyList<AlarmCard> HouseAlarms { get; private set; } = [];

    /// <summary>What the bins and the promises call for.</summary>
    public ToDoList ToDo { get; private set; } = ToDoList.Nothing;

    public int Waiting { get; private set; }

    /// <summary>Set-up is not finished, and anything on the network may connect.</summary>
    public bool EverythingOpen => string.IsNullOrEmpty(mqtt.Broker.Host) && door.IsOpen;

    /// <summary>The service's own work that failed within the last hour, the latest first.</summary>
    public IReadOnlyList<WorkFailure> Failed { get; } = failedWork.Recent;

    /// <summary>Whose work; the log has which of it.</summary>
    public static string Work(string room) => room switch
    {
        Store.Room => Strings.WorkRecord,
        "watch" => Strings.WorkWatch,
        "texts" => Strings.WorkTexts,
        "report" => Strings.WorkReport,
        "charts" => Strings.WorkCharts,
        "broker" => Strings.WorkBroker,
        _ => Strings.WorkOther,
    };

    /// <summary>Alarms would reach nobody away from this page.</summary>
    public bool NobodyTold { get; private set; }

    /// <summary>Nothing can be sent at all, so a contact would not help.</summary>
    public bool NoChannel => outbox.Channels.Count == 0;

    public void OnGet()
    {
        var now = pipeline.Snapshot;
        var views = now.Places;
        ToDo = toDo.Of(now);
        Places = [.. views.OrderBy(v => v.Place.Purpose).ThenBy(v => v.Place.Name, NameOrder.Instance).Select(v => cards.Of(v, ToDo))];
        // What belongs to no place that is shown belongs to the house, so that no alarm is ever out of sight.
        HouseAlarms = words.Of(now.OpenAlarms.Where(a => !views.Any(v => v.Place.Id == a.Place)), views, "/");
        Waiting = now.Sensors.Count(s => s.Place is null);
        // A contact on a channel that is not configured hears nothing, so it does not count.
        NobodyTold = views.Count > 0 && teller.AlwaysTold.Count == 0 && !now.Contacts.Any(c => outbox.Channels.Contains(c.Channel))
            && string.IsNullOrEmpty(tellOptions.Post.Url)
                && (string.IsNullOrEmpty(tellOptions.Mail.Host) || string.IsNullOrEmpty(tellOptions.Mail.To));
    }
}
