using System.Collections.Concurrent;
using System.Reflection;
using Markdig;
using Markdig.Extensions.AutoIdentifiers;
using Markdig.Renderers.Html;
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

    private static readonly ConcurrentDictionary<(string Name, string Language), HtmlString> Made = new();

    /// <summary>The language they are written in first, and whose headings name their parts in addresses.</summary>
    public const string First = "en";

    /// <summary>Whether they are written in a language.</summary>
    public static bool IsIn(string language) => language == First || Assembly.GetExecutingAssembly().GetManifestResourceInfo(Resource("words", language)) is not null;

    public static IHtmlContent Of(string name, string language) => Made.GetOrAdd((name, language), g => new HtmlString(
        Render(Markdown(g.Name, g.Language), Markdown(g.Name, First))));

    /// <summary>A guide as it is written.</summary>
    public static string Markdown(string name, string language = First)
    {
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(Resource(name, language))
            ?? throw new InvalidOperationException($"The guide {name} is missing from the program in the language {language}.");
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }

    /// <summary>Its title is the page's own heading, and what links to another guide leads to that one's page.</summary>
    /// <param name="markdown">As it is written.</param>
    /// <param name="first">The same in the first language: one address leads to a part of it in any language.</param>
    public static string Render(string markdown, string first)
    {
        var document = Markdig.Markdown.Parse(markdown, Pipeline);
        foreach (var (heading, named) in Headings(document).Zip(Headings(Markdig.Markdown.Parse(first, Pipeline))).ToList())
            heading.GetAttributes().Id = named.GetAttributes().Id;
        if (Headings(document).FirstOrDefault(h => h.Level == 1) is { } title) document.Remove(title);
        foreach (var link in document.Descendants<LinkInline>()) link.Url = Led(link.Url);
        return document.ToHtml(Pipeline);
    }

    private static IEnumerable<HeadingBlock> Headings(MarkdownDocument document) => document.OfType<HeadingBlock>();

    private static string Resource(string name, string language) => language == First ? $"Help/{name}.md" : $"Help/{language}/{name}.md";

    private static string? Led(string? url) =>
        url?.Split('#', 2) is [var file, ..] && file.EndsWith(".md", StringComparison.Ordinal) && !file.Contains('/', StringComparison.Ordinal)
            ? $"{HelpParts.Address}/{file[..^3]}{url[file.Length..]}" : url;
}
