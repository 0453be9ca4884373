using Microsoft.Data.Sqlite;

namespace RootCellar.Storage;

/// <summary>Rows of one kind that come in great numbers: the writer puts many of them into one transaction.</summary>
internal interface IBulk
{
    int Count { get; }

    /// <summary>Belongs to whatever transaction the writer is in.</summary>
    /// <exception cref="SqliteException">The first row that could not be written; the caller undoes the transaction.</exception>
    void Write(Prepared writer);
}

/// <summary>Statements prepared once on the writer's connection, one object for each that uses them, closed with it.</summary>
internal sealed class Prepared(SqliteConnection connection) : IDisposable
{
    private readonly Dictionary<Type, IDisposable> made = [];

    public T Of<T>(Func<SqliteConnection, T> make)
        where T : class, IDisposable
    {
        if (made.TryGetValue(typeof(T), out var known)) return (T)known;
        var one = make(connection);
        made.Add(typeof(T), one);
        return one;
    }

    public void Dispose()
    {
        foreach (var one in made.Values) one.Dispose();
    }
}
