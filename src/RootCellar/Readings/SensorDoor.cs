using System.Security.Cryptography;
using System.Text;

namespace RootCellar.Readings;

/// <summary>Who may publish to the built-in broker.</summary>
internal sealed class SensorDoor
{
    private volatile string? password;
    private volatile bool setUpFinished;

    public void Set(string? sensorPassword, bool finished)
    {
        password = sensorPassword;
        setUpFinished = finished;
    }

    /// <summary>
    /// With the sensor password always; without it as the setting says, and when it says nothing: from this machine,
    /// and from elsewhere until set-up is finished, so that a first sensor needs no ceremony.
    /// </summary>
    public bool Admits(string? given, bool fromThisMachine, bool? allowAnonymous)
    {
        if (!string.IsNullOrEmpty(given) && password is { } right)
        {
            return CryptographicOperations.FixedTimeEquals(Encoding.UTF8.GetBytes(given), Encoding.UTF8.GetBytes(right));
        }

        return allowAnonymous ?? (fromThisMachine || !setUpFinished);
    }
}
