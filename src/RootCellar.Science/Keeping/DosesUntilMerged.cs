namespace RootCellar.Science.Keeping;
internal static class Greening { public static double DoseHoursPerHour(double lux, double pulpC) { if (double.IsNaN(lux)) return 0; double g = pulpC <= 4 ? 0 : pulpC <= 10 ? 0.5 * (pulpC - 4) / 6 : pulpC <= 20 ? 0.5 + 0.5 * (pulpC - 10) / 10 : Math.Max(0, 1 - 0.2 * (pulpC - 20) / 5); return g * lux / (lux + 500); } }
internal static class Sweetening { public static double After(double dd, double pulpC, double days) => pulpC < 7.2 ? dd + (7.2 - pulpC) * days : dd; }
