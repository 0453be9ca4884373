using System.Reflection;
using RootCellar.Household;
using RootCellar.Watch;
using Scriban;
using Scriban.Parsing;
using Scriban.Runtime;
using Scriban.Syntax;

namespace RootCellar.Tell;

/// <summary>What is wrong with a template of the grower's own, and where. The shipped one is used instead.</summary>
internal sealed record TemplateProblem(string File, int Line, int Column, string Message)
{
    public override string ToString() => $"{File}, line {Line}, column {Column}: {Message}";
}

/// <summary>How much a template may be and do.</summary>
/// <param name="File">Bytes of a file.</param>
/// <param name="Text">Characters it may write.</param>
/// <param name="Loops">Rounds of one loop.</param>
internal sealed record TemplateLimits(int File = 8_000, int Text = 8_000, int Loops = 200)
{
    /// <summary>A template that is still at it is broken off.</summary>
    public TimeSpan Time { get; init; } = TimeSpan.FromSeconds(2);
}

/// <summary>
/// The shipped templates, and those of a folder of the grower's before them. A template gets plain values only and has
/// no way out: no files, no includes, no .NET objects, and an end to loops, recursion, nesting and length.
/// </summary>
internal sealed class TemplateSet
{
    /// <summary>Templates of the weekly report are a set of their own in the same folder.</summary>
    public static IReadOnlyList<string> OfReport { get; } = ["report.subject.sbn", "report.text.sbn", "report.html.sbn"];

    private readonly IReadOnlyList<string> names;
    private readonly TemplateLimits limits;
    private readonly Dictionary<string, Template> shipped = new(StringComparer.Ordinal);
    private readonly Dictionary<string, Template> own = new(StringComparer.Ordinal);
    private readonly List<TemplateProblem> problems = [];

    /// <param name="folder">The grower's own; null for none.</param>
    /// <param name="names">The templates of this set; null: those of the alarms.</param>
    /// <param name="limits">How much a template may be and do.</param>
    public TemplateSet(string? folder = null, IReadOnlyList<string>? names = null, TemplateLimits? limits = null)
    {
        this.names = names ?? Names();
        this.limits = limits ?? new TemplateLimits();
        foreach (var name in this.names)
            shipped[name] = Template.Parse(Shipped(name), name);
        // What is wrong with a room's air is worded once; the grower may still word each rule.
        if (names is null)
        {
            foreach (var name in OfRooms())
                shipped[name] = shipped[name.EndsWith(".over.sbn", StringComparison.Ordinal) ? "room.over.sbn" : "room.sbn"];
        }

        if (folder is null || !Directory.Exists(folder))
            return;

        foreach (var path in Directory.EnumerateFiles(folder, "*.sbn").Order(StringComparer.Ordinal))
        {
            // Two sets share the folder; a name that belongs to neither is said once, by that of the alarms.
            var name = Path.GetFileName(path);
            if (shipped.ContainsKey(name) || (names is null && !OfReport.Contains(name))) Load(path);
        }
    }

    public IReadOnlyList<TemplateProblem> Problems => problems;

    /// <summary>
    /// Every shipped template's file name: <c>room</c> for all rules of a room's air, one for each other rule, <c>.over</c> for an end,
    /// <c>reminder</c>, <c>mail</c>.
    /// </summary>
    public static IReadOnlyList<string> Names() =>
    [
        "room.sbn",
        "room.over.sbn",
        .. Enum.GetValues<Rule>().Where(rule => !rule.IsOfRoomAir()).Select(rule => rule.Slug() + ".sbn"),
        .. Enum.GetValues<Rule>().Where(rule => rule != Rule.ClockStepped && !rule.IsOfRoomAir()).Select(rule => rule.Slug() + ".over.sbn"),
        "ended.sbn",
        "reminder.sbn",
        "mail.sbn",
    ];

    /// <summary>Names a grower may give a template for one rule of a room's air.</summary>
    public static IEnumerable<string> OfRooms() =>
        Enum.GetValues<Rule>().Where(rule => rule.IsOfRoomAir())
            .SelectMany(rule => (string[])[rule.Slug() + ".sbn", rule.Slug() + ".over.sbn"]);

    /// <summary>The shipped text of a template, to start an own one from.</summary>
    public static string Shipped(string name)
    {
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("Templates/" + name)
            ?? throw new InvalidOperationException($"The template {name} is missing from the program.");
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }

    /// <summary>Renders the grower's own template where there is a sound one, else the shipped one.</summary>
    public string Render(string name, IReadOnlyDictionary<string, object?> values)
    {
        if (own.TryGetValue(name, out var template))
        {
            try
            {
                // Loops in loops stay under every count and still would not end in a lifetime.
                using var time = new CancellationTokenSource(limits.Time);
                var text = Run(name, template, values, time.Token);
                if (!string.IsNullOrWhiteSpace(text))
                    return text;

                Reject(name, 1, 1, "it renders to nothing");
            }
            catch (ScriptRuntimeException e)
            {
                Reject(name, e.Span.Start.Line + 1, e.Span.Start.Column + 1, e.OriginalMessage);
            }
        }

        // The program's own text is made however slow the machine is just now.
        return Run(name, shipped[name], values, CancellationToken.None);
    }

    public bool HasOwn(string name) => own.ContainsKey(name);

    private string Run(string name, Template template, IReadOnlyDictionary<string, object?> values, CancellationToken time)
    {
        var globals = new ScriptObject();
        foreach (var (key, value) in values)
            globals[key] = value;

        // The household's words by their keys in the strings file, with values in their places.
        globals.Import("say", (string key, params object?[] given) =>
            (Strings.ResourceManager.GetString(key, null) ?? throw new ArgumentException($"there is no string '{key}'",
                nameof(key))).With(given));
        var context = name.EndsWith(".html.sbn", StringComparison.Ordinal) ? new HtmlContext() : new TemplateContext();
        Restrict(context, time);
        context.PushGlobal(globals);
        return template.Render(context);
    }

    private void Restrict(TemplateContext context, CancellationToken time)
    {
        context.LoopLimit = limits.Loops;
        context.RecursiveLimit = 10;
        context.ObjectRecursionLimit = 5;
        context.LimitToString = limits.Text;
        context.OnStringLimit = ScriptLimitBehavior.Throw;
        context.OutputLimit = limits.Text;
        context.OnOutputLimit = ScriptLimitBehavior.Throw;
        context.RegexTimeOut = TimeSpan.FromMilliseconds(100);
        context.StrictVariables = true;
        context.TemplateLoader = null;
        context.CancellationToken = time;
    }

    /// <summary>Whatever a template writes of its values is text, not HTML, by which way it may come.</summary>
    private sealed class HtmlContext : TemplateContext
    {
        public override TemplateContext Write(SourceSpan span, object? textAsObject) =>
            base.Write(span, textAsObject is null ? null : System.Net.WebUtility.HtmlEncode(ObjectToString(textAsObject)));
    }

    private void Load(string path)
    {
        var name = Path.GetFileName(path);
        if (!shipped.ContainsKey(name))
        {
            Reject(name, 1, 1, "there is no template of this name; the names are " + string.Join(
                ", ", Names().Concat(OfRooms()).Concat(OfReport)));
            return;
        }

        string text;
        try
        {
            text = new FileInfo(path).Length <= limits.File ? File.ReadAllText(path) : "";
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            Reject(name, 1, 1, e.Message);
            return;
        }

        if (string.IsNullOrWhiteSpace(text))
        {
            Reject(name, 1, 1, $"it is empty, or longer than {limits.File} bytes");
            return;
        }

        var template = Template.Parse(text, name, new ParserOptions { ExpressionDepthLimit = 20 });
        if (template.HasErrors)
        {
            var first = template.Messages.First(message => message.Type == ParserMessageType.Error);
            Reject(name, first.Span.Start.Line + 1, first.Span.Start.Column + 1, first.Message);
            return;
        }

        own[name] = template;
    }

    /// <summary>Puts an own template out of use and says why.</summary>
    public void Reject(string name, int line, int column, string message)
    {
        own.Remove(name);
        problems.Add(new TemplateProblem(name, line, column, message));
    }
}
