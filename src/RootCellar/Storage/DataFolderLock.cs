using System.Globalization;
using System.Text.Json;

namespace RootCellar.Storage;

/// <summary>Who has a data folder to itself.</summary>
/// <param name="Command">The command as it is typed: run, demo, import, restore.</param>
/// <param name="Process">Its process number; in a container that of the container, often 1.</param>
/// <param name="Machine">The machine's name; in a container the container's.</param>
/// <param name="Http">Where the running service answers, for instance http://localhost:8080; null until it does, and for other
/// commands.</param>
internal sealed record DataFolderHolder(string Command, int Process, string Machine, DateTimeOffset Since, string? Http = null)
{
    public const string Run = "run";

    public const string Demo = "demo";

    /// <summary>Whether it is the service, which other commands may ask for something.</summary>
    public bool IsService => Command is Run or Demo;
}

/// <summary>The data folder is another process's: one line that says whose, since when, and what to do.</summary>
internal sealed class DataFolderInUseException(string folder, DataFolderHolder? holder) : Exception(Words(folder, holder))
{
    /// <summary>Who has it; null where it is not said.</summary>
    public DataFolderHolder? Holder { get; } = holder;

    private static string Words(string folder, DataFolderHolder? holder)
    {
        var who = holder is null
            ? "another rootcellar"
            : string.Create(
                CultureInfo.InvariantCulture,
                $"'rootcellar {holder.Command}' (process {holder.Process} on {holder.Machine}, since {holder.Since.UtcDateTime:yyyy-MM-dd HH:mm}Z)");
        var what = holder is { IsService: true } ? "Stop the service first (systemctl stop rootcellar)" : "Wait until that has ended";
        return $"the data folder {folder} is in use by {who}. {what}, or give another folder with --data DIR; nothing was changed.";
    }
}

/// <summary>
/// One writer for a data folder. Two services on one folder would give one number to two sensors and file one's readings under the other.
/// The lock is the system's own on the open file <c>rootcellar.lock</c>: it holds between containers that share the folder, and ends with
/// the process however that ends, so a file left behind means nothing. The file stays; it says who holds it.
/// </summary>
/// <remarks>A file system without such locks (some network shares) lets two in: .NET takes "not supported" for a yes.</remarks>
internal sealed class DataFolderLock : IDisposable
{
    public const string Name = "rootcellar.lock";

    private readonly FileStream? file;
    private DataFolderHolder holder;

    private DataFolderLock(FileStream? file, DataFolderHolder holder)
    {
        this.file = file;
        this.holder = holder;
        Write();
    }

    /// <summary>False where the folder takes no lock file, being read-only or full: then nobody else can write there either.</summary>
    public bool Held => file is not null;

    /// <summary>Takes the folder, which must exist, for this process.</summary>
    /// <param name="folder">The data folder.</param>
    /// <param name="command">The command as it is typed, for whoever comes second.</param>
    /// <param name="now">The real time, whatever clock the service runs on.</param>
    /// <exception cref="DataFolderInUseException">Another process has it.</exception>
    public static DataFolderLock Take(string folder, string command, DateTimeOffset now) =>
        TryTake(folder, command, now, out var holder) ?? throw new DataFolderInUseException(folder, holder);

    /// <summary>As <see cref="Take"/>; null where another process has it.</summary>
    /// <param name="holder">Who has it; null where it is not said, as in the first moments of a lock or on a full disk.</param>
    public static DataFolderLock? TryTake(string folder, string command, DateTimeOffset now, out DataFolderHolder? holder)
    {
        var path = Path.Combine(folder, Name);
        var ours = new DataFolderHolder(command, Environment.ProcessId, Environment.MachineName, now);
        holder = ours;
        foreach (var (mode, access) in ((FileMode, FileAccess)[])[(FileMode.OpenOrCreate, FileAccess.ReadWrite),
            (FileMode.Open, FileAccess.Read)])
        {
            try
            {
                var isNew = !File.Exists(path);
                var held = new DataFolderLock(new FileStream(path, mode, access, Others, bufferSize: 0), ours);
                // Made by root for a command, it is still the service's to take.
                if (isNew) RecordCopy.BelongToFolder(path);
                return held;
            }
            catch (IOException e) when (IsHeld(e))
            {
                holder = Read(path);
                return null;
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                // A read-only folder may hold a lock file of better days; where it does not, the service still has to watch.
            }
        }

        return new DataFolderLock(null, ours);
    }

    /// <summary>Says where the service answers, now that it does.</summary>
    public void Answers(string http)
    {
        holder = holder with { Http = http };
        Write();
    }

    public void Dispose()
    {
        if (file is { CanWrite: true })
        {
            Try(() => file.SetLength(0));
        }

        file?.Dispose();
    }

    // On Unix this is flock, which a reader without a lock of its own gets past. Windows would keep readers out, too.
    private static FileShare Others => OperatingSystem.IsWindows() ? FileShare.Read : FileShare.None;

    /// <summary>EWOULDBLOCK as Linux, then as macOS counts it, and the sharing violation of Windows.</summary>
    private static bool IsHeld(IOException e) => e.HResult is 11 or 35 or unchecked((int)0x80070020);

    private static DataFolderHolder? Read(string path)
    {
        try
        {
            using var stream = OperatingSystem.IsWindows()
                ? new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite)
                : new FileStream(Libc.OpenWithoutLock(path), FileAccess.Read);
            return JsonSerializer.Deserialize<DataFolderHolder>(stream, JsonRules.Options);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException or ArgumentException)
        {
            return null;
        }
    }

    private void Write()
    {
        if (file is not { CanWrite: true }) return;
        Try(() =>
        {
            file.SetLength(0);
            file.Position = 0;
            file.Write(JsonSerializer.SerializeToUtf8Bytes(holder, JsonRules.Options));
        });
    }

    /// <summary>On a full disk the lock holds without its words.</summary>
    private static void Try(Action write)
    {
        try
        {
            write();
        }
        catch (IOException)
        {
            // Only the message of whoever comes second is poorer for it.
        }
    }
}
