using System.Diagnostics;
using System.Globalization;
using System.Reflection;
using Mono.Cecil;
using Mono.Cecil.Cil;
using Xunit.Abstractions;
using Xunit.Sdk;

namespace RootCellar.Mutation;

/// <summary>
/// Tries changes one after the other in one process: Stryker has compiled all of them into the assembly, each behind a question which of
/// them is on. It reads orders from its input and answers with a line each; <c>build/Mutation/run</c> gives them.
/// </summary>
internal static class Worker
{
    private static readonly string Tests = typeof(Worker).Assembly.GetName().Name!;

    /// <summary>
    /// <c>instrument FROM TO</c>, or <c>ASSEMBLY NUMBER</c>: the assembly with the changes, and which is on from the start (-1: none).
    /// </summary>
    private static void Main(string[] args)
    {
        if (args[0] == "instrument") Instrument(args[1], args[2]);
        else Serve(args[0], int.Parse(args[1], CultureInfo.InvariantCulture));
    }

    /// <summary>
    /// Stryker's own notes of which changes were come by search a list each time, which takes minutes where one walks through seasons.
    /// Here it is an array: 1 for come by, 2 for come by where something is set once for the whole process.
    /// </summary>
    private static void Instrument(string from, string to)
    {
        using var module = ModuleDefinition.ReadModule(from);
        var control = module.GetTypes().Single(t => t.Name == "MutantControl");
        var once = module.GetTypes().Single(t => t.Name == "MutantContext").Methods.Single(m => m.Name == "InStatic");
        const Mono.Cecil.FieldAttributes shared = Mono.Cecil.FieldAttributes.Public | Mono.Cecil.FieldAttributes.Static;
        var hits = new FieldDefinition("Hits", shared, new ArrayType(module.TypeSystem.Byte));
        control.Fields.Add(hits);
        var body = control.Methods.Single(m => m.Name == "IsActive").Body;
        body.Instructions.Clear();
        body.ExceptionHandlers.Clear();
        body.Variables.Clear();
        var il = body.GetILProcessor();
        var answer = il.Create(OpCodes.Ldarg_0);
        il.Emit(OpCodes.Ldsfld, hits);
        il.Emit(OpCodes.Brfalse, answer);
        il.Emit(OpCodes.Ldsfld, hits);
        il.Emit(OpCodes.Ldarg_0);
        il.Emit(OpCodes.Ldsfld, hits);
        il.Emit(OpCodes.Ldarg_0);
        il.Emit(OpCodes.Ldelem_U1);
        il.Emit(OpCodes.Call, once);
        il.Emit(OpCodes.Ldc_I4_1);
        il.Emit(OpCodes.Add);
        il.Emit(OpCodes.Or);
        il.Emit(OpCodes.Stelem_I1);
        il.Append(answer);
        il.Emit(OpCodes.Ldsfld, control.Fields.Single(f => f.Name == "ActiveMutant"));
        il.Emit(OpCodes.Ceq);
        il.Emit(OpCodes.Ret);
        module.Write(to);
    }

    private static void Serve(string mutated, int active)
    {
        var control = Assembly.Load(mutated).GetTypes().Single(t => t.Name == "MutantControl");
        var (on, hitsOf) = (control.GetField("ActiveMutant")!, control.GetField("Hits")!);
        var hits = new byte[100_000];
        on.SetValue(null, active);
        hitsOf.SetValue(null, hits);
        using var output = new StreamWriter(Console.OpenStandardOutput()) { AutoFlush = true };
        using var input = new StreamReader(Console.OpenStandardInput());
        Console.SetOut(TextWriter.Null);
        Console.SetIn(TextReader.Null);
        var cases = Find();
        output.WriteLine($"ready {cases.Count}");
        while (input.ReadLine()?.Split(' ') is { } order)
        {
            if (order[0] == "list")
            {
                foreach (var (one, i) in cases.Select((c, i) => (c, i)))
                    output.WriteLine($"{i}\t{one.TestMethod.TestClass.Class.Name}\t{one.DisplayName}");
            }

            if (order[0] == "cover") output.WriteLine(Cover(cases[int.Parse(order[1], CultureInfo.InvariantCulture)], hits));
            if (order[0] == "try")
            {
                int[] numbers = [.. order[1..].Select(i => int.Parse(i, CultureInfo.InvariantCulture))];
                int id = numbers[0];
                Array.Clear(hits);
                on.SetValue(null, id);
                int failed = numbers[1..].Where(i => Fails(cases[i])).FirstOrDefault(-1);
                on.SetValue(null, active);
                var said = failed >= 0 ? $"killed {failed}" : hits[id] == 0 ? "unreached" : "survived";

                // What a change broke for good would be counted against the next ones too.
                if (failed >= 0 && active == -1 && Fails(cases[failed])) said = "spoilt";
                output.WriteLine(said);
            }

            output.WriteLine("done");
        }
    }

    /// <summary>
    /// How a test ends, how long it takes once the process has warmed up, and what it comes by; with a minus what it comes by the first time only.
    /// </summary>
    private static string Cover(IXunitTestCase one, byte[] hits)
    {
        Array.Clear(hits);
        var (failed, cold) = (Fails(one, out var first), hits.ToArray());
        Array.Clear(hits);
        Fails(one, out var second);
        var met = Enumerable.Range(0, hits.Length).Where(i => cold[i] != 0).Select(i => (cold[i] & 2) != 0 || hits[i] == 0 ? -i : i);
        return string.Create(CultureInfo.InvariantCulture,
            $"{(failed ? "failed" : "passed")}\t{Math.Min(first, second)}\t{string.Join(' ', met)}");
    }

    private static bool Fails(IXunitTestCase one, out long milliseconds)
    {
        // Of the processor, not of the clock: on a machine that has much other work a quick test would pass for a slow one.
        var before = Process.GetCurrentProcess().TotalProcessorTime;
        bool fails = Fails(one);
        milliseconds = (long)(Process.GetCurrentProcess().TotalProcessorTime - before).TotalMilliseconds;
        return fails;
    }

    private static bool Fails(IXunitTestCase one)
    {
        bool failed = false;
        Run(one, message => failed |= message is ITestCaseFinished { TestsFailed: > 0 });
        return failed;
    }

    private static List<IXunitTestCase> Find()
    {
        var (found, done) = (new List<IXunitTestCase>(), new ManualResetEventSlim());
        var discoverer = new XunitTestFramework(new Sink(_ => true)).GetDiscoverer(Reflector.Wrap(typeof(Worker).Assembly));
        discoverer.Find(includeSourceInformation: false, new Sink(message =>
        {
            if (message is ITestCaseDiscoveryMessage { TestCase: IXunitTestCase one }) found.Add(one);
            if (message is IDiscoveryCompleteMessage) done.Set();
            return true;
        }), new Options());
        done.Wait();
        return [.. found.OrderBy(c => c.TestMethod.TestClass.Class.Name, StringComparer.Ordinal).ThenBy(c => c.UniqueID, StringComparer.Ordinal)];
    }

    private static void Run(IXunitTestCase one, Action<IMessageSinkMessage> on)
    {
        using var done = new ManualResetEventSlim();
        var executor = new XunitTestFramework(new Sink(_ => true)).GetExecutor(new AssemblyName(Tests));
        executor.RunTests([one], new Sink(message =>
        {
            on(message);
            if (message is ITestAssemblyFinished) done.Set();
            return true;
        }), new Options());
        done.Wait();
    }

    private sealed class Sink(Func<IMessageSinkMessage, bool> on) : IMessageSink
    {
        public bool OnMessage(IMessageSinkMessage message) => on(message);
    }

    /// <summary>One test after the other, and every row of a theory by itself: one of many rows would be too slow as a whole.</summary>
    private sealed class Options : ITestFrameworkDiscoveryOptions, ITestFrameworkExecutionOptions
    {
        private readonly Dictionary<string, object?> values = new(StringComparer.Ordinal)
        {
            ["xunit.discovery.PreEnumerateTheories"] = (bool?)true,
            ["xunit.execution.DisableParallelization"] = (bool?)true,
            ["xunit.execution.SynchronousMessageReporting"] = (bool?)true,
        };

        public TValue? GetValue<TValue>(string name) => values.TryGetValue(name, out var value) && value is TValue known ? known : default;

        public void SetValue<TValue>(string name, TValue value) => values[name] = value;
    }
}
