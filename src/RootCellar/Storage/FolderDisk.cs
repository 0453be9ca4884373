namespace RootCellar.Storage;

/// <summary>On which card, stick or disk a folder lies.</summary>
internal static class FolderDisk
{
    private const string Mounts = "/proc/self/mountinfo";

    /// <summary>
    /// Whether two folders lie on one device, so that both are gone when it fails. Two partitions of one card are one device. Where it cannot
    /// be told (another system than Linux) only folders of one root are.
    /// </summary>
    public static bool Same(string one, string other) => string.Equals(Of(one), Of(other), StringComparison.Ordinal);

    private static string Of(string folder)
    {
        var path = Path.GetFullPath(folder);
        if (!File.Exists(Mounts)) return Path.GetPathRoot(path) ?? path;
        path = Real(path);
        // mountinfo (proc(5)): id, parent, major:minor, root, mount point, ...; of two at one point the later lies on top.
        var best = (Point: "", Device: "");
        foreach (var line in File.ReadLines(Mounts))
        {
            var parts = line.Split(' ');
            if (parts.Length < 5) continue;
            var point = Unescaped(parts[4]);
            if (IsUnder(path, point) && point.Length >= best.Point.Length) best = (point, parts[2]);
        }

        return Whole(best.Device);
    }

    /// <summary>The device that a partition is of.</summary>
    private static string Whole(string device)
    {
        var link = new DirectoryInfo($"/sys/dev/block/{device}");
        if (!link.Exists || link.ResolveLinkTarget(returnFinalTarget: true) is not DirectoryInfo real) return device;
        return File.Exists(Path.Combine(real.FullName, "partition")) ? real.Parent!.FullName : real.FullName;
    }

    /// <summary>With its links followed, as far as there are folders.</summary>
    private static string Real(string path)
    {
        var real = "/";
        foreach (var part in path.Split('/', StringSplitOptions.RemoveEmptyEntries))
        {
            real = Path.Combine(real, part);
            if (new DirectoryInfo(real) is { LinkTarget: not null } link)
                real = link.ResolveLinkTarget(returnFinalTarget: true)?.FullName ?? real;
        }

        return real;
    }

    private static bool IsUnder(string path, string point) =>
        point == "/" || path == point || path.StartsWith(point + "/", StringComparison.Ordinal);

    // A space in a mount point is written \040.
    private static string Unescaped(string point)
    {
        for (var at = point.IndexOf('\\', StringComparison.Ordinal); at >= 0 && at + 3 < point.Length; at = point.IndexOf('\\', at + 1))
            point = point[..at] + (char)Convert.ToInt32(point.Substring(at + 1, 3), 8) + point[(at + 4)..];
        return point;
    }
}
