namespace RootCellar.Storage;

/// <summary>
/// Holds callers back while as much as is allowed is under way. A bound on the number of messages is none on memory, for one message may
/// carry a thousand values. Whoever comes while there is room is let in whole, so the bound is passed by one caller's at most.
/// </summary>
internal sealed class Allowance(long most)
{
    private readonly Lock one = new();
    private TaskCompletionSource room = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private long used;
    private bool waived;

    /// <summary>What is under way now.</summary>
    public long Used
    {
        get
        {
            lock (one) return used;
        }
    }

    /// <summary>While set, everybody passes, also those that wait already; it is counted all the same.</summary>
    public bool Waived
    {
        set
        {
            lock (one) waived = value;
            Give(0);
        }
    }

    /// <summary>Ends once there is room for it; it then counts until it is given back.</summary>
    public async ValueTask TakeAsync(long amount)
    {
        while (true)
        {
            Task freed;
            lock (one)
            {
                if (used < most || waived)
                {
                    used += amount;
                    return;
                }

                freed = room.Task;
            }

            await freed;
        }
    }

    public void Give(long amount)
    {
        TaskCompletionSource? freed = null;
        lock (one)
        {
            used -= amount;
            if (used < most || waived) (freed, room) = (room, new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously));
        }

        freed?.TrySetResult();
    }
}
