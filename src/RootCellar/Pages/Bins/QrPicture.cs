using System.Globalization;
using System.Text;
using QRCoder;

namespace RootCellar.Pages.Bins;

/// <summary>A QR code as the outline of its dark squares, for an SVG path.</summary>
/// <param name="Side">Squares on a side, with the four empty ones all round that scanners need (ISO/IEC 18004).</param>
internal sealed record QrPicture(int Side, string Path)
{
    /// <summary>A quarter of it may be soiled and it still reads (level Q): labels live on dirty bins.</summary>
    public static QrPicture Of(string text)
    {
        using var data = QRCodeGenerator.GenerateQrCode(text, QRCodeGenerator.ECCLevel.Q);
        var path = new StringBuilder();
        var side = data.ModuleMatrix.Count;
        for (var y = 0; y < side; y++)
        {
            for (var x = 0; x < side;)
            {
                var start = x;
                while (x < side && data.ModuleMatrix[y][x]) x++;
                if (x > start) path.Append(CultureInfo.InvariantCulture, $"M{start} {y}h{x - start}v1h-{x - start}z");
                else x++;
            }
        }

        return new QrPicture(side, path.ToString());
    }
}
