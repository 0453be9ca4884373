using System.Collections.Concurrent;
using System.Reflection;
using Markdig;
using Markdig.Extensions.AutoIdentifiers;
using Markdig.Syntax;
using Markdig.Syntax.Inlines;
using Microsoft.AspNetCore.Html;

namespace RootCellar.Pages.Help;

/// <summary>The guides of docs/help, out of the program itself, as HTML. Each is made once, when somebody first opens it.</summary>
internal static class HelpText
{
    // What looks like HTML in a guide is shown as it is written.
    private static readonly MarkdownPipeline Pipeline =
        new MarkdownPipelineBuilder().DisableHtml().UseAutoIdentifiers(AutoIdentifierOptions.GitHub).Build();

    private static readonly ConcurrentDictionary<string, HtmlString> Made = new(StringComparer.Ordinal);

    public static IHtmlContent Of(string name) => Made.GetOrAdd(name, n => new HtmlString(Render(Markdown(n))));

    /// <summary>A guide as it is written.</summary>
    public static string Markdown(string name)
    {
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream($"Help/{name}.md")
            ?? throw new InvalidOperationException($"The guide {name} is missing from the program.");
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }

    /// <summary>Its title is the page's own heading, and what links to another guide leads to that one's page.</summary>
    public static string Render(string markdown)
    {
        var document = Markdig.Markdown.Parse(markdown, Pipeline);
        if (document.OfType<HeadingBlock>().FirstOrDefault(h => h.Level == 1) is { } title) document.Remove(title);
        foreach (var link in document.Descendants<LinkInline>()) link.Url = Led(link.Url);
        return document.ToHtml(Pipeline);
    }

    private static string? Led(string? url) =>
        url?.Split('#', 2) is [var file, ..] && file.EndsWith(".md", StringComparison.Ordinal) && !file.Contains('/', StringComparison.Ordinal)
            ? $"{HelpParts.Address}/{file[..^3]}{url[file.Length..]}" : url;
}
