namespace RootCellar.SystemTests.Running;

/// <summary>
/// For tests that need the processor to themselves, and those that make a network of their own, which a browser takes for a change of its
/// own (ERR_NETWORK_CHANGED): they run after all others, one by one.
/// </summary>
[CollectionDefinition(Name, DisableParallelization = true)]
public sealed class OneAtATime
{
    public const string Name = "one at a time";
}
