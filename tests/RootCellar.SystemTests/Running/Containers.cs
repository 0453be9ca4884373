namespace RootCellar.SystemTests.Running;

/// <summary>For tests with a Docker daemon of their own: one after the other, beside all others.</summary>
[CollectionDefinition(Name)]
public sealed class Containers
{
    public const string Name = "containers";
}
