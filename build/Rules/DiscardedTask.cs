using System.Collections.Immutable;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.Diagnostics;
using Microsoft.CodeAnalysis.Operations;

namespace RootCellar.Rules;

/// <summary>
/// RC0001: a task is started and nobody keeps it, so nobody hears when it fails. Compiler and kept analyzers see a bare call in an async
/// method only; this sees every one, and <c>_ = XAsync()</c>, dropped <c>ContinueWith</c>, lambdas of no result, and <c>async void</c>.
/// </summary>
[DiagnosticAnalyzer(LanguageNames.CSharp)]
public sealed class DiscardedTask : DiagnosticAnalyzer
{
    private static readonly DiagnosticDescriptor Rule = new(
        "RC0001",
        "A task is discarded",
        "Nobody hears when this fails: {0}. Await it, keep the task, or hand it to FailedWork.Watch or FailedWork.Run.",
        "Reliability",
        DiagnosticSeverity.Warning,
        isEnabledByDefault: true);

    private static readonly ImmutableHashSet<string> Awaited = ImmutableHashSet.Create(
        "System.Threading.Tasks.Task",
        "System.Threading.Tasks.ValueTask",
        "System.Runtime.CompilerServices.ConfiguredTaskAwaitable",
        "System.Runtime.CompilerServices.ConfiguredValueTaskAwaitable");

    public override ImmutableArray<DiagnosticDescriptor> SupportedDiagnostics { get; } = [Rule];

    public override void Initialize(AnalysisContext context)
    {
        // Pages are compiled from generated code, and a task is discarded there as easily.
        context.ConfigureGeneratedCodeAnalysis(GeneratedCodeAnalysisFlags.Analyze | GeneratedCodeAnalysisFlags.ReportDiagnostics);
        context.EnableConcurrentExecution();
        context.RegisterOperationAction(LookAtStatement, OperationKind.ExpressionStatement);
        context.RegisterOperationAction(LookAtVariable, OperationKind.VariableDeclarator);
        context.RegisterOperationAction(LookAtLambda, OperationKind.AnonymousFunction);
        context.RegisterOperationAction(LookAtLocalFunction, OperationKind.LocalFunction);
        context.RegisterSymbolAction(LookAtMethod, SymbolKind.Method);
    }

    private static void LookAtStatement(OperationAnalysisContext context)
    {
        var done = ((IExpressionStatementOperation)context.Operation).Operation;
        switch (done)
        {
            // What an await gives may be a task (Task.WhenAny); which of them ended is then the point, and it was waited for.
            case IAwaitOperation:
                return;
            case ISimpleAssignmentOperation { Target: IDiscardOperation, Value: var value } when IsTask(Inside(value).Type):
                Report(context, value, "the task is assigned to _");
                return;
            case IAssignmentOperation or ICoalesceAssignmentOperation:
                return;
        }

        if (IsTask(done.Type)) Report(context, done, "the task is neither awaited nor kept");
    }

    private static void LookAtVariable(OperationAnalysisContext context)
    {
        var variable = ((IVariableDeclaratorOperation)context.Operation).Symbol;
        if (variable.Name.Trim('_').Length > 0 || !IsTask(variable.Type)) return;
        Report(context, context.Operation, $"the task is assigned to {variable.Name}");
    }

    private static void LookAtLambda(OperationAnalysisContext context) =>
        LookAt(context, ((IAnonymousFunctionOperation)context.Operation).Symbol);

    private static void LookAtLocalFunction(OperationAnalysisContext context) =>
        LookAt(context, ((ILocalFunctionOperation)context.Operation).Symbol);

    private static void LookAt(OperationAnalysisContext context, IMethodSymbol function)
    {
        if (function is { IsAsync: true, ReturnsVoid: true }) Report(context, context.Operation, "an async function of no result");
    }

    private static void LookAtMethod(SymbolAnalysisContext context)
    {
        var method = (IMethodSymbol)context.Symbol;
        if (method is not { IsAsync: true, ReturnsVoid: true }) return;
        context.ReportDiagnostic(Diagnostic.Create(Rule, method.Locations[0], "an async method of no result"));
    }

    private static void Report(OperationAnalysisContext context, IOperation where, string why) =>
        context.ReportDiagnostic(Diagnostic.Create(Rule, where.Syntax.GetLocation(), why));

    private static IOperation Inside(IOperation operation)
    {
        while (operation is IConversionOperation conversion) operation = conversion.Operand;
        return operation;
    }

    private static bool IsTask(ITypeSymbol? type)
    {
        for (; type is not null; type = type.BaseType)
        {
            if (Awaited.Contains($"{type.ContainingNamespace?.ToDisplayString()}.{type.Name}")) return true;
        }

        return false;
    }
}
