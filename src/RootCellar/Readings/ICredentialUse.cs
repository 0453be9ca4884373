namespace RootCellar.Readings;

/// <summary>Whom the broker tells which password opened.</summary>
internal interface ICredentialUse
{
    /// <summary>A password opened; the first time, its sensor's topics become its own alone.</summary>
    Task UsedAsync(long id);
}
