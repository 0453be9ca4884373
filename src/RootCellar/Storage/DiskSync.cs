using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace RootCellar.Storage;

/// <summary>
/// Getting things onto the disk and not on their way there. A file that was made or renamed is safe only once its folder is, too.
/// </summary>
internal static class DiskSync
{
    /// <summary>
    /// Writes a file whole: under another name first, synced, then renamed and the folder synced. After a power cut there is the old file
    /// or the new one. Only its owner may read it.
    /// </summary>
    /// <exception cref="IOException">It could not be written; the old file stands.</exception>
    public static void WriteWhole(string file, Action<Stream> write)
    {
        var fresh = file + ".new";
        // One that a killed start left might have other rights.
        File.Delete(fresh);
        var how = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows()) how.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        using (var stream = new FileStream(fresh, how))
        {
            write(stream);
            stream.Flush(flushToDisk: true);
        }

        File.Move(fresh, file, overwrite: true);
        Folder(Path.GetDirectoryName(Path.GetFullPath(file))!);
    }

    /// <summary>What was written to a file, by whomever, is on the disk when this returns.</summary>
    public static void OfFile(string file)
    {
        using var handle = File.OpenHandle(file, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite | FileShare.Delete);
        RandomAccess.FlushToDisk(handle);
    }

    /// <summary>
    /// What was synced of a file is read from the disk the next time, and not from memory: a stick that took it and did not keep it is found out.
    /// </summary>
    public static void Forget(string file)
    {
        if (!OperatingSystem.IsLinux()) return;
        using var handle = File.OpenHandle(file, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
        // Only a hint; whether it is followed shows in nothing but where the bytes come from.
        _ = Advise(handle, 0, 0, DontNeed);
    }

    /// <summary>
    /// The names in a folder are on the disk when this returns. Where a folder cannot be synced (Windows, some network disks), nothing is
    /// done.
    /// </summary>
    public static void Folder(string folder)
    {
        if (OperatingSystem.IsWindows()) return;
        // .NET opens no folders.
        using var handle = new SafeFileHandle(Open(folder, 0), ownsHandle: true);
        if (!handle.IsInvalid) RandomAccess.FlushToDisk(handle);
    }

    // POSIX_FADV_DONTNEED, on every processor .NET runs on.
    private const int DontNeed = 4;

    [DllImport("libc", EntryPoint = "posix_fadvise"), DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Advise(SafeFileHandle file, nint offset, nint length, int advice);

    [DllImport("libc", EntryPoint = "open", SetLastError = true)]
    private static extern nint Open([MarshalAs(UnmanagedType.LPUTF8Str)] string path, int flags);
}
