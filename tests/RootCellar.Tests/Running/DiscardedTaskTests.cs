using System.Collections.Immutable;
using Microsoft.CodeAnalysis;
using RootCellar.Rules;

namespace RootCellar.Tests.Running;

/// <summary>The build's own rule RC0001, on the compiler itself.</summary>
public sealed class DiscardedTaskTests
{
    [Theory]
    [InlineData("void M() { _ = WorkAsync(); }")]
    [InlineData("void M() { WorkAsync(); }")]
    [InlineData("void M() => WorkAsync();")]
    [InlineData("async Task M() { await Task.Yield(); WorkAsync(); }")]
    [InlineData("void M() { WorkAsync().ContinueWith(_ => { }); }")]
    [InlineData("void M() { _ = WorkAsync().ContinueWith(t => t.Exception); }")]
    [InlineData("void M() { _ = FigureAsync(); }")]
    [InlineData("void M() { WorkAsync().ConfigureAwait(false); }")]
    [InlineData("void M() { _ = (object)WorkAsync(); }")]
    [InlineData("void M() { var _ = WorkAsync(); }")]
    [InlineData("void M(Discarded? other) { other?.WorkAsync(); }")]
    [InlineData("Action M() => () => WorkAsync();")]
    [InlineData("Action M() => async () => await WorkAsync();")]
    [InlineData("void M() { async void Local() => await WorkAsync(); Local(); }")]
    [InlineData("async void M() => await WorkAsync();")]
    public async Task A_discarded_task_is_reported(string method) => (await LookAsync(method)).Should().ContainSingle().Which.Id.Should()
        .Be("RC0001");

    [Theory]
    [InlineData("async Task M() { await WorkAsync(); }")]
    [InlineData("async Task M() { await Task.WhenAny(WorkAsync(), Task.Delay(1)); }")]
    [InlineData("Task M() => WorkAsync();")]
    [InlineData("Task kept = Task.CompletedTask; void M() { kept = WorkAsync(); }")]
    [InlineData("Task? kept; void M() { kept ??= WorkAsync(); }")]
    [InlineData("Func<Task> M() => () => WorkAsync();")]
    [InlineData("void M() { _ = int.TryParse(\"1\", out var _); }")]
    [InlineData("void M() { WorkAsync().Wait(); }")]
    public async Task A_task_that_is_awaited_or_kept_is_not(string method) => (await LookAsync(method)).Should().BeEmpty();

    private static Task<ImmutableArray<Diagnostic>> LookAsync(string method)
    {
        var source = $$"""
            using System;
            using System.Threading.Tasks;
            class Discarded
            {
                {{method}}
                Task WorkAsync() => Task.CompletedTask;
                ValueTask<int> FigureAsync() => new(1);
            }
            """;
        return RuleOnSource.LookAsync(new DiscardedTask(), source);
    }
}
