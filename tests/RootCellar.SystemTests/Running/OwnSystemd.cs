namespace RootCellar.SystemTests.Running;

/// <summary>
/// A systemd of the test's own, as process 1 of its own namespaces, on a copy of this machine's files that is thrown away: units run under
/// exactly what they say, and nothing here is changed. The network is the machine's. Root only.
/// </summary>
public sealed class OwnSystemd : IAsyncDisposable
{
    private const string Systemd = "/lib/systemd/systemd";
    private readonly Scratch scratch = new();
    private Child? child;

    private OwnSystemd()
    {
    }

    /// <summary>The machine's files as its units see them, to be laid out before the start.</summary>
    /// <param name="prepare">Commands of a shell; $ROOT is where the units' "/" is made.</param>
    public static async Task<OwnSystemd> StartAsync(string prepare)
    {
        Skips.Unless(Environment.UserName == "root" && File.Exists(Systemd) && Tool.Find("unshare") is not null,
            "A systemd of its own is started by root, where systemd is installed.");
        var own = new OwnSystemd();
        var script = own.scratch.File("start.sh");
        // systemd-run and DynamicUser want namespaces that a changed root alone does not allow: the root is turned, not only changed.
        await File.WriteAllTextAsync(
            script,
            $"""
            set -e
            ROOT={own.scratch.File("root")}; LAYER={own.scratch.File("layer")}
            mkdir -p $ROOT $LAYER
            mount -t tmpfs tmpfs $LAYER
            mkdir $LAYER/upper $LAYER/work
            mount -t overlay overlay -o lowerdir=/,upperdir=$LAYER/upper,workdir=$LAYER/work $ROOT
            mount -t proc proc $ROOT/proc
            mount --rbind /sys $ROOT/sys
            mount --rbind /dev $ROOT/dev
            mount -t tmpfs tmpfs $ROOT/run
            mount -t tmpfs tmpfs $ROOT/tmp
            printf '[Unit]\nDescription=nothing by itself\n' > $ROOT/etc/systemd/system/quiet.target
            {prepare}
            cd $ROOT
            mkdir -p mnt
            pivot_root . mnt
            umount -l /mnt
            exec env -i container=other PATH=/usr/sbin:/usr/bin:/sbin:/bin {Systemd} --system --unit=quiet.target
            """);
        own.child = new Child(
            "unshare", ["--mount", "--pid", "--cgroup", "--uts", "--ipc", "--fork", "--kill-child", "--propagation", "private", "sh",
                script]);
        try
        {
            await Eventually.HoldsAsync(
                async () => own.child.HasExited || (await own.RunAsync("systemctl", "is-active", "quiet.target")).Out.Trim() == "active",
                "systemd is up",
                TimeSpan.FromSeconds(30),
                () => own.child.Everything);
        }
        catch (Exception)
        {
            await own.DisposeAsync();
            throw;
        }

        if (!own.child.HasExited) return own;
        var why = own.child.Everything;
        await own.DisposeAsync();
        Skips.Because($"A systemd of its own does not start here: {why}");
        return own;
    }

    /// <summary>A command within.</summary>
    public async Task<Said> RunAsync(params string[] command)
    {
        var first = (await File.ReadAllTextAsync($"/proc/{child!.Id}/task/{child.Id}/children")).Trim();
        if (first.Length == 0) return new Said(-1, "", "not there yet");
        return await Tool.RunAsync("nsenter", ["-t", first, "--mount", "--pid", "--cgroup", "--uts", "--ipc", .. command],
            longest: TimeSpan.FromSeconds(100));
    }

    public async ValueTask DisposeAsync()
    {
        // Process 1 of the namespace goes with it, and all within with that.
        child?.Dispose();
        await Eventually.HoldsAsync(
            () =>
            {
                scratch.Dispose();
                return !Directory.Exists(scratch.Path);
            },
            "its folder is gone");
    }
}
