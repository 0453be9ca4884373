using Microsoft.AspNetCore.Html;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Pages.Evening;
using RootCellar.Pages.Look;

namespace RootCellar.Pages;

/// <summary>One page behind "More".</summary>
internal sealed record MoreLine(string Address, IHtmlContent Icon, string Name, string What);

/// <summary>All that has no place in the bar: the field and the shop, the watch, the house.</summary>
internal sealed class MoreModel(FirstEvening evening) : PageModel
{
    public IEnumerable<IReadOnlyList<MoreLine>> Groups =>
    [
        [
            new("/cellar", Icons.Bins, Strings.InTheCellar, Strings.MoreCellar),
            new("/rows", Icons.Rows, Strings.Rows, Strings.MoreRows),
            new("/stock", Icons.Stock, Strings.StockAndOrders, Strings.MoreStock),
            new("/labels", Icons.Label, Strings.Labels, Strings.MoreLabels),
            new("/report", Icons.Report, Strings.TheWeeksReport, Strings.MoreReport),
        ],
        [
            new("/alarms", Icons.Text, Strings.Alarms, Strings.MoreAlarms),
            new("/sensors", Icons.Sensor, Strings.Sensors, Strings.MoreSensors),
            .. User.IsHelper() || evening.Left is not (> 0 and var left) ? Array.Empty<MoreLine>()
                : [new MoreLine(FirstEvening.Address, Icons.Door, Strings.HelpFirstEvening, FirstEvening.LeftSaid(left))],
            .. User.IsHelper() ? Array.Empty<MoreLine>() : [new MoreLine("/set-up", Icons.SetUp, Strings.SetUp, Strings.MoreSetUp)],
        ],
    ];
}
