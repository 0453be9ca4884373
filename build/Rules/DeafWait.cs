using System.Collections.Immutable;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.Diagnostics;
using Microsoft.CodeAnalysis.Operations;

namespace RootCellar.Rules;

/// <summary>
/// RC0002: pages, API and charts wait for something without hearing that the client went away. What they await takes a CancellationToken,
/// or is waited for with <c>WaitAsync(token)</c>, which ends the waiting and not the work. <c>CancellationToken.None</c> is an answer too:
/// somebody thought of it. What is awaited in these rooms themselves, and what takes the whole HttpContext, is looked at where it waits.
/// </summary>
[DiagnosticAnalyzer(LanguageNames.CSharp)]
public sealed class DeafWait : DiagnosticAnalyzer
{
    private static readonly DiagnosticDescriptor Rule = new(
        "RC0002",
        "A request waits and does not hear that its client went away",
        "{0} is awaited without a CancellationToken. Give it HttpContext.RequestAborted, or wait with .WaitAsync(HttpContext.RequestAborted) where what was begun must be finished.",
        "Reliability",
        DiagnosticSeverity.Warning,
        isEnabledByDefault: true);

    private static readonly string[] Rooms = ["RootCellar.Pages", "RootCellar.Api", "RootCellar.Charts"];

    public override ImmutableArray<DiagnosticDescriptor> SupportedDiagnostics { get; } = [Rule];

    public override void Initialize(AnalysisContext context)
    {
        context.ConfigureGeneratedCodeAnalysis(GeneratedCodeAnalysisFlags.Analyze | GeneratedCodeAnalysisFlags.ReportDiagnostics);
        context.EnableConcurrentExecution();
        context.RegisterOperationAction(Look, OperationKind.Await);
    }

    private static void Look(OperationAnalysisContext context)
    {
        if (!IsOfRooms(context.ContainingSymbol.ContainingNamespace)) return;
        // A background service has a token of its own, and no client.
        if (Inside(((IAwaitOperation)context.Operation).Operation) is not IInvocationOperation call
            || IsBackground(context.ContainingSymbol.ContainingType))
            return;
        if (call.Arguments.Any(IsHeard)) return;
        var method = call.TargetMethod;
        var ours = SymbolEqualityComparer.Default.Equals(method.ContainingAssembly, context.Compilation.Assembly);
        var deaf = ours
            ? !IsOfRooms(method.ContainingNamespace)
            : method.Name == "WaitAsync" || call.Arguments.Any(
                a => a.ArgumentKind == ArgumentKind.DefaultValue && IsToken(a.Parameter?.Type));
        if (deaf) context.ReportDiagnostic(Diagnostic.Create(Rule, call.Syntax.GetLocation(), method.Name));
    }

    private static bool IsHeard(IArgumentOperation argument) =>
        argument.ArgumentKind == ArgumentKind.Explicit
            && (IsToken(argument.Parameter?.Type) || argument.Parameter?.Type.Name == "HttpContext");

    private static bool IsToken(ITypeSymbol? type) => type is { Name: "CancellationToken", ContainingNamespace.Name: "Threading" };

    private static bool IsOfRooms(INamespaceSymbol? space)
    {
        var name = space?.ToDisplayString() ?? "";
        return Rooms.Any(room => name == room || name.StartsWith(room + ".", StringComparison.Ordinal));
    }

    private static bool IsBackground(ITypeSymbol? type)
    {
        for (; type is not null; type = type.BaseType)
        {
            if (type.Name == "BackgroundService") return true;
        }

        return false;
    }

    private static IOperation Inside(IOperation operation)
    {
        while (operation is IConversionOperation conversion) operation = conversion.Operand;
        return operation is IInvocationOperation { TargetMethod.Name: "ConfigureAwait", Instance: { } instance }
            ? Inside(instance) : operation;
    }
}
