namespace RootCellar;

/// <summary>The service cannot start, for a reason the person at the machine can mend; shown as one line, exit 2.</summary>
internal sealed class StartException(string message, Exception? inner = null) : Exception(message, inner);
