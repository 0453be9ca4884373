using System.Collections.Immutable;
using Microsoft.CodeAnalysis;
using RootCellar.Rules;

namespace RootCellar.Tests.Running;

/// <summary>The build's own rule RC0002, on the compiler itself.</summary>
public sealed class DeafWaitTests
{
    [Theory]
    [InlineData("async Task M() => await book.TakeAsync(1);")]
    [InlineData("async Task M() => await book.OptionalAsync();")]
    [InlineData("async Task<int> M() { return await book.FigureAsync().ConfigureAwait(false); }")]
    [InlineData("Func<Task> M() => async () => await book.TakeAsync(1);")]
    [InlineData("async Task M() { await book.TakeAsync(await book.FigureAsync()).WaitAsync(aborted); }")]
    [InlineData("async Task M(System.IO.Stream body) => await body.FlushAsync(default(CancellationToken)).WaitAsync(TimeSpan.FromSeconds(1), TimeProvider.System);")]
    public async Task A_wait_that_does_not_hear_the_client_go_is_reported(string method) => (await LookAsync(method)).Should()
        .ContainSingle().Which.Id.Should().Be("RC0002");

    [Theory]
    [InlineData("async Task M() => await book.TakeAsync(1).WaitAsync(aborted);")]
    [InlineData("async Task M() => await book.OptionalAsync(aborted);")]
    [InlineData("async Task M() => await book.OptionalAsync(CancellationToken.None);")]
    [InlineData("async Task M() => await OwnAsync(); Task OwnAsync() => Task.CompletedTask;")]
    [InlineData("async Task M(Func<Task> next) => await next();")]
    [InlineData("async Task M() => await Task.Yield();")]
    public async Task A_wait_that_hears_it_is_not(string method) => (await LookAsync(method)).Should().BeEmpty();

    [Fact]
    public async Task Other_rooms_and_background_work_have_no_client()
    {
        const string Deaf = "async Task M() => await book.TakeAsync(1);";
        (await LookAsync(Deaf, room: "RootCellar.Lots")).Should().BeEmpty();
        (await LookAsync(Deaf, basis: "BackgroundService")).Should().BeEmpty();
        (await LookAsync(Deaf, room: "RootCellar.Pages.Bins")).Should().ContainSingle();
    }

    private static Task<ImmutableArray<Diagnostic>> LookAsync(string method, string room = "RootCellar.Pages", string basis = "object")
    {
        var source = $$"""
            using System;
            using System.Threading;
            using System.Threading.Tasks;
            using RootCellar.Ledger;
            class BackgroundService { }
            namespace RootCellar.Ledger
            {
                class Book
                {
                    public Task TakeAsync(int entry) => Task.CompletedTask;
                    public Task OptionalAsync(CancellationToken cancellationToken = default) => Task.CompletedTask;
                    public ValueTask<int> FigureAsync() => new(1);
                }
            }
            namespace {{room}}
            {
                class Model : {{basis}}
                {
                    Book book = new();
                    CancellationToken aborted;
                    {{method}}
                }
            }
            """;
        return RuleOnSource.LookAsync(new DeafWait(), source);
    }
}
