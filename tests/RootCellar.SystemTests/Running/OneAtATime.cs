namespace RootCellar.SystemTests.Running;

/// <summary>For tests that need the processor to themselves: they run after all others, one by one.</summary>
[CollectionDefinition(Name, DisableParallelization = true)]
public sealed class OneAtATime
{
    public const string Name = "one at a time";
}
