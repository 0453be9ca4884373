using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

public sealed class AllowanceTests
{
    [Fact]
    public async Task Whoever_comes_when_all_is_taken_waits_until_some_is_given_back()
    {
        var allowance = new Allowance(10);
        await allowance.TakeAsync(4);
        await allowance.TakeAsync(1_000);
        var third = allowance.TakeAsync(1).AsTask();
        var fourth = allowance.TakeAsync(1).AsTask();
        third.IsCompleted.Should().BeFalse();
        allowance.Give(4);
        third.IsCompleted.Should().BeFalse("1,000 are under way still");
        allowance.Give(1_000);
        await Task.WhenAll(third, fourth);
        allowance.Used.Should().Be(2);
        await allowance.TakeAsync(50);
        var held = allowance.TakeAsync(1).AsTask();
        held.IsCompleted.Should().BeFalse();
        allowance.Waived = true;
        await held;
        await allowance.TakeAsync(1);
        allowance.Waived = false;
        allowance.TakeAsync(1).AsTask().IsCompleted.Should().BeFalse();
    }
}
