namespace RootCellar.Readings;

/// <summary>Where the brokers hand messages on.</summary>
internal interface IReadingSink
{
    /// <summary>
    /// Takes a message. The outer task ends when it is queued (that is the back-pressure), the inner one when it is done with; for a
    /// message that wants a receipt, when its readings are on disk.
    /// </summary>
    ValueTask<Task> OfferAsync(Arrived arrived);
}
