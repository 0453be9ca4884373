using System.Text;

namespace RootCellar.SystemTests.Faults.PowerCut;

/// <summary>What of the unsynced writes the disk kept when the power went.</summary>
internal enum Loss
{
    /// <summary>Nothing.</summary>
    All,

    /// <summary>Each by chance, whatever came before or after it: a disk writes in the order it likes.</summary>
    Half,

    /// <summary>The first of them, and of the last one its first sectors.</summary>
    Torn,
}

/// <summary>
/// A disk that keeps for sure only what was synced: what is in a file once the file was, and its name once the folder was. Everything else
/// it may keep or not. Stricter than most file systems, which is the point.
/// </summary>
internal sealed class CutDisk
{
    private const int Sector = 512;

    private readonly Dictionary<ulong, Content> byNumber = [];
    private readonly SortedDictionary<string, Content> now = new(StringComparer.Ordinal);
    private readonly SortedDictionary<string, Content> named = new(StringComparer.Ordinal);
    private readonly SortedSet<string> folders = new(StringComparer.Ordinal);
    private readonly List<Naming> unnamed = [];
    private readonly List<(Content File, Entry Write)> waiting = [];

    /// <summary>A folder as it is, all of it synced long ago.</summary>
    public CutDisk(string folder)
    {
        foreach (var path in Directory.EnumerateDirectories(folder, "*", SearchOption.AllDirectories))
            folders.Add(Path.GetRelativePath(folder, path));
        foreach (var path in Directory.EnumerateFiles(folder, "*", SearchOption.AllDirectories))
        {
            var content = new Content(File.ReadAllBytes(path));
            named[Path.GetRelativePath(folder, path)] = now[Path.GetRelativePath(folder, path)] = content;
        }
    }

    /// <summary>Writes that the disk has not confirmed.</summary>
    public int Unsynced => waiting.Count + unnamed.Count;

    public void Do(Entry e)
    {
        switch (e.Kind)
        {
            case Done.Opened:
                byNumber[e.File] = now.TryGetValue(e.Name, out var there)
                    ? there : throw new InvalidDataException($"{e.Name} is opened and was never made.");
                break;
            case Done.Created:
                byNumber[e.File] = new Content([]);
                Name(new Naming(e.Name, byNumber[e.File], null));
                break;
            case Done.Written or Done.CutTo:
                waiting.Add((byNumber[e.File], e));
                break;
            case Done.Synced:
                var file = byNumber[e.File];
                foreach (var (_, write) in waiting.Where(w => ReferenceEquals(w.File, file))) file.Apply(write, write.Data.Length);
                waiting.RemoveAll(w => ReferenceEquals(w.File, file));
                break;
            case Done.FolderSynced:
                foreach (var naming in unnamed.Where(n => n.IsIn(e.Name))) naming.Apply(named);
                unnamed.RemoveAll(n => n.IsIn(e.Name));
                break;
            case Done.Renamed:
                Name(new Naming(Encoding.UTF8.GetString(e.Data), now[e.Name], e.Name));
                break;
            case Done.Removed:
                Name(new Naming(e.Name, null, null));
                break;
            case Done.FolderMade:
                folders.Add(e.Name);
                break;
            default:
                throw new InvalidDataException($"The recorder does not follow {e.Name}: the log has a hole.");
        }
    }

    /// <summary>Makes the folder as it may be found after a power cut now.</summary>
    public void MakeAfterCut(string folder, Loss loss, Random random)
    {
        var names = new SortedDictionary<string, Content>(named, StringComparer.Ordinal);
        var kept = loss == Loss.Torn ? random.Next(unnamed.Count + 1) : 0;
        for (var i = 0; i < unnamed.Count; i++)
        {
            if (loss == Loss.Half ? random.Next(2) == 0 : i < kept) unnamed[i].Apply(names);
        }

        var files = names.Values.Distinct().ToDictionary(c => c, c => new Content(c.Bytes.ToArray()));
        var whole = loss == Loss.Torn ? random.Next(waiting.Count + 1) : 0;
        for (var i = 0; i < waiting.Count; i++)
        {
            var (of, write) = waiting[i];
            if (!files.TryGetValue(of, out var file)) continue;
            if (loss == Loss.Half ? random.Next(2) == 0 : i < whole) file.Apply(write, write.Data.Length);
            else if (loss == Loss.Torn && i == whole)
                file.Apply(write, Math.Min(write.Data.Length, Sector * random.Next((write.Data.Length / Sector) + 1)));
        }

        Write(folder, names.Select(n => (n.Key, files[n.Value])));
    }

    /// <summary>As a running program sees it: everything that was written.</summary>
    public IReadOnlyDictionary<string, byte[]> Seen()
    {
        var files = now.Values.Distinct().ToDictionary(c => c, c => new Content(c.Bytes.ToArray()));
        foreach (var (of, write) in waiting)
        {
            if (files.TryGetValue(of, out var file)) file.Apply(write, write.Data.Length);
        }

        return now.ToDictionary(n => n.Key, n => files[n.Value].Bytes.ToArray(), StringComparer.Ordinal);
    }

    private void Name(Naming naming)
    {
        naming.Apply(now);
        unnamed.Add(naming);
    }

    private void Write(string folder, IEnumerable<(string Name, Content Content)> files)
    {
        Directory.CreateDirectory(folder);
        foreach (var name in folders) Directory.CreateDirectory(Path.Combine(folder, name));
        foreach (var (name, content) in files) File.WriteAllBytes(Path.Combine(folder, name), content.Bytes);
    }

    /// <summary>A name that a file got, or lost where there is none; <paramref name="Before"/> is the name it had.</summary>
    private sealed record Naming(string Name, Content? File, string? Before)
    {
        public bool IsIn(string folder) => (Path.GetDirectoryName(Name) is { Length: > 0 } parent ? parent : ".") == folder;

        public void Apply(SortedDictionary<string, Content> names)
        {
            if (Before is not null) names.Remove(Before);
            if (File is null) names.Remove(Name);
            else names[Name] = File;
        }
    }

    /// <summary>What is in a file.</summary>
    private sealed class Content(byte[] start)
    {
        private byte[] bytes = start;
        private int length = start.Length;

        public ReadOnlySpan<byte> Bytes => bytes.AsSpan(0, length);

        public void Apply(Entry write, int count)
        {
            if (write.Kind == Done.CutTo)
            {
                Grow((int)write.Place);
                if (write.Place < length) Array.Clear(bytes, (int)write.Place, length - (int)write.Place);
                length = (int)write.Place;
                return;
            }

            if (count == 0) return;
            Grow((int)write.Place + count);
            write.Data.AsSpan(0, count).CopyTo(bytes.AsSpan((int)write.Place));
            length = Math.Max(length, (int)write.Place + count);
        }

        private void Grow(int to)
        {
            if (to > bytes.Length) Array.Resize(ref bytes, Math.Max(to, bytes.Length * 2));
        }
    }
}
