using System.CommandLine;
using RootCellar.Entry;
using RootCellar.Household;

namespace RootCellar.Commands;

/// <summary>
/// Helpers of the household, also while the service runs. PINs are drawn here: one typed would stay in the shell's history.
/// </summary>
internal static class HelperCommand
{
    public static Command Build()
    {
        var command = new CommandWithExamples("helper", "Helpers: they sign in with a PIN, log and acknowledge alarms, and do not set up.",
            "rootcellar helper add Sam");
        var name = new Argument<string>("NAME") { Description = "the helper's name, as the book shall show it" };
        var data = CommandLine.Data();
        var json = Print.JsonOption();

        var add = new CommandWithExamples("add", "Add a helper and print the PIN once.", "rootcellar helper add Sam") { name, data, json };
        add.SetAction(p => TokenCommand.With(p.GetValue(data)!, "helper", c =>
        {
            var who = p.GetValue(name)!;
            if (!Helpers.IsName(who)) throw new UsageException($"'{who}' is no name: one line of 1 to {Helpers.LongestName} letters.");
            var pin = Pin.Propose();
            if (!Helpers.Add(c, who, pin, TimeProvider.System.GetUtcNow()))
                throw new UsageException(
                    $"There is a helper '{who}' already. Take another name, or remove that one first: rootcellar helper remove {who}");
            var output = p.InvocationConfiguration.Output;
            if (p.GetValue(json)) Print.Json(output, new { name = who.Trim(), pin });
            else output.WriteLine(pin);
            return 0;
        }));

        var list = new CommandWithExamples("list", "Who helps.", "rootcellar helper list") { data, json };
        list.SetAction(p => TokenCommand.With(p.GetValue(data)!, "helper", c =>
        {
            var all = Helpers.All(c);
            var calendar = CommandLine.Settings(p.GetValue(data)!).Household.Calendar();
            var output = p.InvocationConfiguration.Output;
            if (p.GetValue(json)) Print.Json(output, all.Select(h => new { h.Name, h.CreatedAt, h.LastSeen, h.Locked }));
            else if (all.Count == 0) output.WriteLine("No helpers yet. Add one: rootcellar helper add NAME");
            else foreach (var helper in all)
            {
                var seen = helper.LastSeen is { } last ? $"last signed in {calendar.DayOf(last):yyyy-MM-dd}" : "has not signed in yet";
                output.WriteLine($"{helper.Name}\tsince {calendar.DayOf(helper.CreatedAt):yyyy-MM-dd}\t{seen}{(helper.Locked ? "\tlocked" : "")}");
            }

            return 0;
        }));

        var remove = new CommandWithExamples("remove", "Sign a helper out for good; what they wrote stays with their name.",
            "rootcellar helper remove Sam") { name, data };
        remove.SetAction(p => TokenCommand.With(p.GetValue(data)!, "helper", c =>
        {
            var who = p.GetValue(name)!;
            if (Helpers.Remove(c, who)) return 0;
            p.InvocationConfiguration.Error.WriteLine($"There is no helper '{who}'. See them: rootcellar helper list");
            return 1;
        }));

        command.Add(add);
        command.Add(list);
        command.Add(remove);
        return command;
    }
}
