using System.Text;

namespace RootCellar.SystemTests.Faults.PowerCut;

/// <summary>What recorder.c writes down, by its numbers.</summary>
internal enum Done : byte
{
    Opened = 1,
    Created,
    Written,
    CutTo,
    Synced,
    FolderSynced,
    Renamed,
    Removed,
    FolderMade,

    /// <summary>A way to write that the recorder does not follow: the log has a hole.</summary>
    Unseen,
}

/// <summary>One thing the program did to its folder.</summary>
/// <param name="At">Nanoseconds of CLOCK_MONOTONIC, as it began.</param>
/// <param name="File">The file's inode number, which a later file may have again.</param>
/// <param name="Place">Where in the file; for <see cref="Done.CutTo"/> its new length.</param>
internal sealed record Entry(Done Kind, long At, ulong File, long Place, string Name, byte[] Data)
{
    public static List<Entry> Read(string log)
    {
        var all = new List<Entry>();
        using var reader = new BinaryReader(System.IO.File.OpenRead(log));
        while (reader.BaseStream.Position < reader.BaseStream.Length)
        {
            var (kind, at, file, place) = ((Done)reader.ReadByte(), reader.ReadInt64(), reader.ReadUInt64(), reader.ReadInt64());
            var (name, data) = (reader.ReadInt32(), reader.ReadInt32());
            all.Add(new Entry(kind, at, file, place, Encoding.UTF8.GetString(reader.ReadBytes(name)), reader.ReadBytes(data)));
        }

        return all;
    }
}
