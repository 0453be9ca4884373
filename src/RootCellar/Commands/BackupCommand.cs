using System.CommandLine;
using System.Globalization;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>A copy of the record while the service runs, and the way back.</summary>
internal static class BackupCommand
{
    public static Command BuildBackup()
    {
        var file = new Argument<string>("FILE") { Description = "where the copy goes; never overwritten" };
        var (data, json) = (CommandLine.Data(), Print.JsonOption());
        var command = new CommandWithExamples("backup",
            "Copy the record (readings, book, places, contacts, texts, tokens) into one file, whole and checked, also while the service runs. What is set up beside it goes along: how texts go out, how topics are read, rootcellar.json, templates, languages, crops.json.",
            "rootcellar backup /media/stick/rootcellar-2026-11-28.db --data /var/lib/rootcellar") { file, data, json };
        command.SetAction(p =>
        {
            string folder = p.GetValue(data)!, to = p.GetValue(file)!;
            var record = Path.Combine(folder, StoreFile.Name);
            StoreFile.MustBeThere(record);
            var copied = RecordCopy.Backup(record, to);
            if (copied.Foreign is { } foreign)
                p.InvocationConfiguration.Error.WriteLine(
                    $"rootcellar backup: restore will not take {to}: {foreign} Somebody has changed the record by hand; put that back and make another copy.");
            var output = p.InvocationConfiguration.Output;
            if (p.GetValue(json)) Print.Json(output, new { file = to, copied.Bytes, copied.Entries, copied.Readings, copied.LastReading, copied.Files });
            else output.WriteLine($"Kept in {to}: {What(copied)}.{With(" With it: {0}.", copied.Files)}");
            return 0;
        });
        return command;
    }

    public static Command BuildRestore()
    {
        var file = new Argument<string>("FILE") { Description = "a file that backup wrote" };
        var (data, json) = (CommandLine.Data(), Print.JsonOption());
        var command = new CommandWithExamples("restore",
            "Put a backup in the record's place. Stop the service first. The record that was there is kept under another name; texts that were waiting in the backup are not sent.",
            "rootcellar restore /media/stick/rootcellar-2026-11-28.db --data /var/lib/rootcellar") { file, data, json };
        command.SetAction(p =>
        {
            string folder = p.GetValue(data)!, from = p.GetValue(file)!;
            Directory.CreateDirectory(folder);
            using var held = DataFolderLock.Take(folder, "restore", TimeProvider.System.GetUtcNow());
            var (copied, aside) = RecordCopy.Restore(from, Path.Combine(folder, StoreFile.Name), TimeProvider.System.GetUtcNow());
            var output = p.InvocationConfiguration.Output;
            if (p.GetValue(json))
                Print.Json(output, new { file = from, copied.Bytes, copied.Entries, copied.Readings, copied.LastReading, copied.Files, copied.LeftOut, keptAs = aside });
            else output.WriteLine(
                $"Restored from {from}: {What(copied)}.{With(" With it: {0}.", copied.Files)}{With(" Left as this folder has them: {0}.", copied.LeftOut)}{(aside is null ? "" : $" The record that was there is kept as {aside}.")}");
            return 0;
        });
        return command;
    }

    private static string With(string words, IReadOnlyList<string> files) =>
        files.Count == 0 ? "" : string.Format(CultureInfo.InvariantCulture, words, string.Join(", ", files));

    private static string What(CopiedRecord copied) => string.Create(
        CultureInfo.InvariantCulture,
        $"{copied.Bytes / 1e6:0.0} MB, {copied.Entries} {(copied.Entries == 1 ? "entry" : "entries")} of the book, {copied.Readings} {(copied.Readings == 1 ? "reading" : "readings")}{(copied.LastReading is { } last ? $", the last of {last:yyyy-MM-dd HH:mm}Z" : "")}");
}
