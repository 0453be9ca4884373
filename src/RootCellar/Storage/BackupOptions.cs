using System.ComponentModel.DataAnnotations;
using System.Globalization;

namespace RootCellar.Storage;

/// <summary>The nightly backup. Key <c>Backup</c>.</summary>
internal sealed class BackupOptions
{
    /// <summary>Where it goes; where it is given here, the page cannot change it. Null: the household says so on the page.</summary>
    public string? Folder { get; set; }

    /// <summary>The folder may lie on the record's own card or disk, which then takes both with it when it fails.</summary>
    public bool SameCard { get; set; }

    /// <summary>When, on the household's clock, HH:mm.</summary>
    [RegularExpression("([01][0-9]|2[0-3]):[0-5][0-9]", ErrorMessage = "a time of day on the household's clock, such as 03:10")]
    public string At { get; set; } = "03:10";

    /// <summary>The newest backup of each of so many days is kept,</summary>
    [Range(1, 1000)]
    public int Daily { get; set; } = 7;

    /// <summary>of each of so many weeks,</summary>
    [Range(0, 1000)]
    public int Weekly { get; set; } = 4;

    /// <summary>and of each of so many months.</summary>
    [Range(0, 1000)]
    public int Monthly { get; set; } = 12;

    public TimeOnly Clock() => TimeOnly.ParseExact(At, "HH:mm", CultureInfo.InvariantCulture);

    public IEnumerable<string> Problems()
    {
        if (!string.IsNullOrEmpty(Folder) && !Path.IsPathFullyQualified(Folder))
            yield return $"Backup:Folder: '{Folder}' is not a whole path. Right: /media/stick/rootcellar.";
    }
}
