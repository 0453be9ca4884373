namespace RootCellar.Demo;

/// <summary>Repeatable chance: the same seed and index give the same number on every machine and in any order of asking.</summary>
internal static class Chance
{
    /// <summary>From 0 up to but not including 1.</summary>
    public static double Uniform(int seed, long index)
    {
        // SplitMix64's finisher (Steele, Lea and Flood 2014, "Fast splittable pseudorandom number generators"), from memory.
        var z = unchecked((ulong)index * 0x9E3779B97F4A7C15UL + (ulong)(uint)seed * 0xD1B54A32D192ED03UL);
        z = unchecked((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL);
        z = unchecked((z ^ (z >> 27)) * 0x94D049BB133111EBUL);
        return ((z ^ (z >> 31)) >> 11) * (1.0 / (1UL << 53));
    }

    /// <summary>
    /// Mean 0, standard deviation 1, never beyond 3: the sum of four uniform numbers is near enough to a bell for a cheap part.
    /// </summary>
    public static double Bell(int seed, long index)
    {
        double sum = 0;
        for (var i = 0; i < 4; i++)
            sum += Uniform(seed + 7919 * i, index);
        return Math.Clamp((sum - 2) * Math.Sqrt(3), -3, 3);
    }
}
