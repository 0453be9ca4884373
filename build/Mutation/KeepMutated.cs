namespace RootCellar.Mutation;

/// <summary>
/// The one test that Stryker itself runs: it keeps the assembly with all changes in it, which <see cref="Worker"/> then tries.
/// </summary>
public class KeepMutated
{
    [Fact]
    public void Copied()
    {
        if (Environment.GetEnvironmentVariable("MUTATION_KEEP") is not { Length: > 0 } where) return;
        foreach (var name in (string[])["rootcellar.dll", "RootCellar.Science.dll"])
        {
            var built = Path.Combine(AppContext.BaseDirectory, name);
            if (!File.Exists(built)) continue;
            File.Copy(built, Path.Combine(where, name), overwrite: true);

            // Stryker wants to have seen one change come by, or it takes every test for one of all of them.
            var all = System.Reflection.Assembly.Load(Path.GetFileNameWithoutExtension(name)).GetTypes();
            Array.Find(all, t => t.Name == "MutantControl")?.GetMethod("IsActive")!.Invoke(null, [0]);
        }
    }
}
