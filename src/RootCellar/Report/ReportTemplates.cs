using RootCellar.Tell;
using Scriban.Runtime;

namespace RootCellar.Report;

/// <summary>The report's three templates and the grower's own before them. Safe from any thread.</summary>
internal sealed class ReportTemplates(string? folder)
{
    public const string Subject = "report.subject.sbn";
    public const string Text = "report.text.sbn";
    public const string Html = "report.html.sbn";

    public static IReadOnlyList<string> Names => TemplateSet.OfReport;

    // A household of two hundred lots comes to some 200 kB.
    private static readonly TemplateLimits Limits = new(File: 64_000, Text: 2_000_000, Loops: 5_000) { Time = TimeSpan.FromSeconds(10) };

    private readonly Lock one = new();
    private readonly TemplateSet set = new(folder, Names, Limits);

    public IReadOnlyList<TemplateProblem> Problems
    {
        get
        {
            lock (one) return [.. set.Problems];
        }
    }

    public string Render(string name, ScriptObject values)
    {
        lock (one) return set.Render(name, values.ToDictionary(v => v.Key, v => (object?)v.Value, StringComparer.Ordinal));
    }
}
