using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace RootCellar.Storage;

/// <summary>The few calls to the C library that .NET has no words for. Not for Windows: ask first.</summary>
internal static class Libc
{
    /// <summary>
    /// Opens a file for reading without taking a lock on it. A <see cref="FileStream"/> takes a shared one whatever it is asked for, and so
    /// cannot read a file that somebody holds exclusively.
    /// </summary>
    /// <returns>An invalid handle where the file cannot be opened.</returns>
    public static SafeFileHandle OpenWithoutLock(string path) => new(Open(path, 0), ownsHandle: true);

    /// <summary>From here on whatever this process makes, and SQLite within it, is its user's alone: files 0600, folders 0700.</summary>
    /// <remarks>umask always succeeds; what it returns is the former mask.</remarks>
    public static void KeepPrivate()
    {
        if (!OperatingSystem.IsWindows()) _ = Umask(0b000_111_111);
    }

    [DllImport("libc", EntryPoint = "umask"), DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern uint Umask(uint mask);

    [DllImport("libc", EntryPoint = "open", SetLastError = true), DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Open([MarshalAs(UnmanagedType.LPUTF8Str)] string path, int flags);
}
