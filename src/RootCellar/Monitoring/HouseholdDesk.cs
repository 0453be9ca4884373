using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>
/// The household's zone, language and units, set up on the page: kept in a file beside the record, and gone by at once. What the installer
/// gave, in the file or the environment, wins and stays as it is.
/// </summary>
internal sealed class HouseholdDesk
{
    private readonly Lock one = new();
    private readonly HouseholdOptions household;
    private readonly Languages languages;
    private readonly LedgerDoor ledger;
    private readonly KeptFile<HouseholdSetUp> file;

    public HouseholdDesk(HouseholdOptions household, Languages languages, LedgerDoor ledger, Store store)
    {
        (this.household, this.languages, this.ledger) = (household, languages, ledger);
        file = new KeptFile<HouseholdSetUp>(store.Folder, DataFolder.Household);
        (SetUp, Problem) = file.Read();
    }

    /// <summary>What the household set up itself.</summary>
    public HouseholdSetUp SetUp { get; private set; }

    /// <summary>Why the file of it cannot be read; null while it can.</summary>
    public string? Problem { get; private set; }

    /// <summary>As it holds, whoever set it up.</summary>
    public HouseholdSetUp Holds => new(household.Zone().Id, household.Language, household.Temperature, household.Weight, household.EmergencyNumber,
        household.DecimalMark, household.CrateKg);

    /// <summary>Whether somebody has said how the household speaks: the installer or the household itself.</summary>
    public bool IsSaid => SetUp.TimeZone is not null || household.Given.Contains(nameof(HouseholdOptions.TimeZone));

    /// <summary>Keeps it and goes by it from now on.</summary>
    /// <exception cref="IOException">It could not be kept; all is as it was.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public Task SaveAsync(HouseholdSetUp fresh)
    {
        var before = household.Zone();
        lock (one)
        {
            // What the page did not ask for, since the installer gave it, stays as it was said before.
            fresh = new HouseholdSetUp(fresh.TimeZone ?? SetUp.TimeZone, fresh.Language ?? SetUp.Language, fresh.Temperature ?? SetUp.Temperature,
                fresh.Weight ?? SetUp.Weight, fresh.EmergencyNumber ?? SetUp.EmergencyNumber, fresh.DecimalMark ?? SetUp.DecimalMark,
                fresh.CrateKg ?? SetUp.CrateKg);
            file.Write(fresh, setAside: Problem is not null);
            (SetUp, Problem) = (fresh, null);
            household.Take(fresh);
            languages.Change();
        }

        return household.Zone().Equals(before) ? Task.CompletedTask : ledger.ReadAgainAsync();
    }
}
