namespace RootCellar.Readings;

/// <summary>
/// A message as a broker handed it over. <see cref="Replay"/> is true for a retained message sent again at
/// subscription: its age is unknown and it is never a fresh reading. <see cref="Client"/> is the address it was published from; null where
/// the broker does not say.
/// </summary>
internal readonly record struct Arrived(string Topic, ReadOnlyMemory<byte> Payload, bool WantsReceipt, bool Dup, bool Replay,
    string? Client = null);

/// <summary>A new sensor was turned away: nothing of its message was kept, and to send it again is of no use.</summary>
internal sealed class SensorTurnedAwayException(string message) : Exception(message);
