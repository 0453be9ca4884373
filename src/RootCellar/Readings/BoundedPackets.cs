using System.Buffers;
using System.IO.Pipelines;
using Microsoft.AspNetCore.Connections;

namespace RootCellar.Readings;

/// <summary>
/// A connection's bytes as far as MQTT packets of a bounded length go. The broker library waits for a whole packet before it looks
/// at it, so a length that is too great must be refused as soon as it is announced, in the first five bytes.
/// Leans on the library's habit of taking whole packets: what is read always begins with one.
/// </summary>
/// <param name="most">Bytes of a packet after its fixed header.</param>
/// <param name="refused">Told of the announced length, once.</param>
internal sealed class BoundedPackets(PipeReader inner, int most, Action<int> refused) : PipeReader
{
    // MQTT 5.0, section 1.5.5: at most four bytes of length, seven bits each, the least first.
    private const int LengthBytes = 4;

    public override async ValueTask<ReadResult> ReadAsync(CancellationToken cancellationToken = default) =>
        Check(await inner.ReadAsync(cancellationToken));

    public override bool TryRead(out ReadResult result)
    {
        if (!inner.TryRead(out result)) return false;
        Check(result);
        return true;
    }

    public override void AdvanceTo(SequencePosition consumed) => inner.AdvanceTo(consumed);

    public override void AdvanceTo(SequencePosition consumed, SequencePosition examined) => inner.AdvanceTo(consumed, examined);

    public override void CancelPendingRead() => inner.CancelPendingRead();

    public override void Complete(Exception? exception = null) => inner.Complete(exception);

    /// <summary>The length that the packet at the start announces; 0 while its header is not there whole, or is none.</summary>
    internal static int Announced(ReadOnlySequence<byte> bytes)
    {
        var length = 0;
        var reader = new SequenceReader<byte>(bytes);
        reader.TryRead(out _);
        for (var i = 0; i < LengthBytes && reader.TryRead(out var next); i++)
        {
            length |= (next & 0x7F) << (7 * i);
            if ((next & 0x80) == 0) return length;
        }

        return 0;
    }

    private ReadResult Check(ReadResult result)
    {
        if (Announced(result.Buffer) is var length && length <= most) return result;
        refused(length);
        throw new ConnectionAbortedException($"A packet of {length} bytes was announced; at most {most} are taken.");
    }
}
