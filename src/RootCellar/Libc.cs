using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace RootCellar;

/// <summary>The few calls to the C library that .NET has no words for. Not for Windows: ask first.</summary>
internal static class Libc
{
    /// <summary>
    /// Opens a file for reading without taking a lock on it. A <see cref="FileStream"/> takes a shared one whatever it is asked for, and so
    /// cannot read a file that somebody holds exclusively.
    /// </summary>
    /// <returns>An invalid handle where the file cannot be opened.</returns>
    public static SafeFileHandle OpenWithoutLock(string path) => new(Open(path, 0), ownsHandle: true);

    [DllImport("libc", EntryPoint = "open", SetLastError = true), DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Open([MarshalAs(UnmanagedType.LPUTF8Str)] string path, int flags);
}
