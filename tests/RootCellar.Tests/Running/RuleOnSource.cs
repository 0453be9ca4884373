using System.Collections.Immutable;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.Diagnostics;

namespace RootCellar.Tests.Running;

/// <summary>A rule of the build, run by the compiler itself over an example.</summary>
internal static class RuleOnSource
{
    private static readonly ImmutableArray<MetadataReference> References =
    [
        .. ((string)AppContext.GetData("TRUSTED_PLATFORM_ASSEMBLIES")!).Split(Path.PathSeparator)
            .Where(p => Path.GetFileName(p).StartsWith("System.", StringComparison.Ordinal))
            .Select(p => MetadataReference.CreateFromFile(p)),
    ];

    /// <summary>What the rule reports of a source that compiles without an error.</summary>
    public static async Task<ImmutableArray<Diagnostic>> LookAsync(DiagnosticAnalyzer rule, string source)
    {
        var compilation = CSharpCompilation.Create(
            "looked-at",
            [CSharpSyntaxTree.ParseText(source, cancellationToken: TestContext.Current.CancellationToken)],
            References,
            new CSharpCompilationOptions(OutputKind.DynamicallyLinkedLibrary, nullableContextOptions: NullableContextOptions.Enable));
        compilation.GetDiagnostics(TestContext.Current.CancellationToken).Where(d => d.Severity == DiagnosticSeverity.Error).Should()
            .BeEmpty("the example itself compiles");
        return await compilation.WithAnalyzers([rule]).GetAnalyzerDiagnosticsAsync(TestContext.Current.CancellationToken);
    }
}
