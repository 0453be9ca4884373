using System.Reflection;
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

/// <summary>
/// The shipped templates, and those of a folder of the grower's before them. A template gets plain values only and has
/// no way out: no files, no includes, no .NET objects, and an end to loops, recursion, nesting and length.
/// </summary>
internal sealed class TemplateSet
{
    private const int LongestFile = 8_000;
    private const int LongestText = 8_000;

    private readonly Dictionary<string, Template> shipped = new(StringComparer.Ordinal);
    private readonly Dictionary<string, Template> own = new(StringComparer.Ordinal);
    private readonly List<TemplateProblem> problems = [];

    public TemplateSet(string? folder = null)
    {
        foreach (var name in Names())
            shipped[name] = Template.Parse(Shipped(name), name);

        if (folder is null || !Directory.Exists(folder))
            return;

        foreach (var path in Directory.EnumerateFiles(folder, "*.sbn").Order(StringComparer.Ordinal))
            Load(path);
    }

    public IReadOnlyList<TemplateProblem> Problems => problems;

    /// <summary>Every template's file name: one per rule, its <c>.over</c> where it has an end, <c>reminder</c> and <c>mail</c>.</summary>
    public static IReadOnlyList<string> Names() =>
    [
        .. Enum.GetValues<Rule>().Select(rule => rule.Slug() + ".sbn"),
        .. Enum.GetValues<Rule>().Where(rule => rule != Rule.ClockStepped).Select(rule => rule.Slug() + ".over.sbn"),
        "reminder.sbn",
        "mail.sbn",
    ];

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
                var text = Run(template, values);
                if (!string.IsNullOrWhiteSpace(text))
                    return text;

                Reject(name, 1, 1, "it renders to nothing");
            }
            catch (ScriptRuntimeException e)
            {
                Reject(name, e.Span.Start.Line + 1, e.Span.Start.Column + 1, e.OriginalMessage);
            }
        }

        return Run(shipped[name], values);
    }

    public bool HasOwn(string name) => own.ContainsKey(name);

    private static string Run(Template template, IReadOnlyDictionary<string, object?> values)
    {
        var globals = new ScriptObject();
        foreach (var (key, value) in values)
            globals[key] = value;

        var context = new TemplateContext
        {
            LoopLimit = 200,
            RecursiveLimit = 10,
            ObjectRecursionLimit = 5,
            LimitToString = LongestText,
            OnStringLimit = ScriptLimitBehavior.Throw,
            OutputLimit = LongestText,
            OnOutputLimit = ScriptLimitBehavior.Throw,
            RegexTimeOut = TimeSpan.FromMilliseconds(100),
            StrictVariables = true,
            TemplateLoader = null,
        };
        context.PushGlobal(globals);
        return template.Render(context);
    }

    private void Load(string path)
    {
        var name = Path.GetFileName(path);
        if (!shipped.ContainsKey(name))
        {
            Reject(name, 1, 1, "there is no template of this name; the names are " + string.Join(", ", Names()));
            return;
        }

        string text;
        try
        {
            text = new FileInfo(path).Length <= LongestFile ? File.ReadAllText(path) : "";
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            Reject(name, 1, 1, e.Message);
            return;
        }

        if (string.IsNullOrWhiteSpace(text))
        {
            Reject(name, 1, 1, $"it is empty, or longer than {LongestFile} bytes");
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
