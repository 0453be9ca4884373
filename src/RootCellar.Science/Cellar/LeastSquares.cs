namespace RootCellar.Science.Cellar;

/// <summary>Least squares of a few columns by their normal equations, each column brought to its own size first.</summary>
internal static class LeastSquares
{
    // So little that it moves no figure, and columns that say the same do not end the sum.
    private const double Ridge = 1e-9;

    /// <summary>The weights of the columns that come nearest to y where used.</summary>
    public static double[] Solve(double[][] columns, double[] y, bool[] used)
    {
        var (inverse, size) = Inverse(columns, used);
        var right = new double[columns.Length];
        for (int c = 0; c < columns.Length; c++)
        {
            for (int i = 0; i < y.Length; i++)
            {
                if (used[i])
                    right[c] += columns[c][i] * y[i];
            }

            right[c] /= size[c];
        }

        return [.. Enumerable.Range(0, columns.Length).Select(c => right.Select((r, d) => inverse[c, d] * r).Sum() / size[c])];
    }

    /// <summary>y less the weighted columns; NaN where not used.</summary>
    public static double[] Residuals(double[][] columns, double[] weights, double[] y, bool[] used)
    {
        var left = new double[y.Length];
        for (int i = 0; i < y.Length; i++)
        {
            left[i] = used[i] ? y[i] : double.NaN;
            for (int c = 0; c < columns.Length; c++)
                left[i] -= weights[c] * columns[c][i];
        }

        return left;
    }

    public static double Squares(double[] residuals) => residuals.Where(double.IsFinite).Sum(r => r * r);

    /// <summary>
    /// Covariance of the weights. Neighbouring readings share their errors: with a correlation of rho between them, n readings are worth
    /// n (1 - rho)/(1 + rho) (Bartlett's effective number for a first-order process, from memory).
    /// </summary>
    public static double[,] Covariance(double[][] columns, double[] residuals, bool[] used)
    {
        var (inverse, size) = Inverse(columns, used);
        int n = used.Count(u => u);
        double together = 0, squares = Squares(residuals);
        for (int i = 1; i < residuals.Length; i++)
        {
            if (used[i] && used[i - 1])
                together += residuals[i] * residuals[i - 1];
        }

        double rho = Math.Clamp(squares > 0 ? together / squares : 0, 0, 0.999);
        double variance = squares / Math.Max(1, n - columns.Length) * (1 + rho) / (1 - rho);
        var covariance = new double[columns.Length, columns.Length];
        for (int a = 0; a < columns.Length; a++)
        {
            for (int b = 0; b < columns.Length; b++)
                covariance[a, b] = variance * inverse[a, b] / size[a] / size[b];
        }

        return covariance;
    }

    private static (double[,] Inverse, double[] Size) Inverse(double[][] columns, bool[] used)
    {
        int k = columns.Length;
        double[] size = [.. columns.Select(c => Math.Sqrt(c.Where((_, i) => used[i]).Sum(v => v * v)))];
        for (int c = 0; c < k; c++)
            size[c] = size[c] > 0 ? size[c] : 1;
        // Gauss and Jordan; the diagonal is never nought, for the ridge.
        var (m, inverse) = (new double[k, k], new double[k, k]);
        for (int a = 0; a < k; a++)
        {
            for (int b = 0; b <= a; b++)
            {
                double sum = 0;
                for (int i = 0; i < used.Length; i++)
                {
                    if (used[i])
                        sum += columns[a][i] * columns[b][i];
                }

                m[a, b] = m[b, a] = sum / size[a] / size[b];
            }

            m[a, a] += Ridge;
            inverse[a, a] = 1;
        }

        for (int p = 0; p < k; p++)
        {
            double pivot = m[p, p];
            for (int c = 0; c < k; c++)
                (m[p, c], inverse[p, c]) = (m[p, c] / pivot, inverse[p, c] / pivot);
            for (int r = 0; r < k; r++)
            {
                double times = m[r, p];
                if (r == p)
                    continue;
                for (int c = 0; c < k; c++)
                {
                    m[r, c] -= times * m[p, c];
                    inverse[r, c] -= times * inverse[p, c];
                }
            }
        }

        return (inverse, size);
    }
}
