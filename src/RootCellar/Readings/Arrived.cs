namespace RootCellar.Readings;

/// <summary>
/// A message as a broker handed it over. <see cref="Replay"/> is true for a retained message sent again at
/// subscription: its age is unknown and it is never a fresh reading.
/// </summary>
internal readonly record struct Arrived(string Topic, ReadOnlyMemory<byte> Payload, bool WantsReceipt, bool Dup, bool Replay);
