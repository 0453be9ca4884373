using System.ComponentModel.DataAnnotations;

namespace RootCellar.Mirror;

/// <summary>Key <c>Mirror</c>: what is kept here goes to another server as well.</summary>
internal sealed class MirrorOptions
{
    public InfluxOptions Influx { get; set; } = new();

    /// <summary>What is new is sent at most this many seconds apart.</summary>
    [Range(1, 3600)]
    public int EverySeconds { get; set; } = 10;

    /// <summary>Points in one request; a server that finds it too large gets halves.</summary>
    [Range(1, 10_000)]
    public int BatchRows { get; set; } = 1_000;

    /// <summary>At most so many points a second while it catches up, so that days of queue do not choke a small line.</summary>
    [Range(1, 100_000)]
    public int RowsPerSecond { get; set; } = 500;
}

/// <summary>Key <c>Mirror:Influx</c>: any server that takes writes of the InfluxDB v2 API. Off while Url is empty.</summary>
internal sealed class InfluxOptions
{
    public string? Url { get; set; }

    public string? Org { get; set; }

    public string? Bucket { get; set; }

    /// <summary>A file that holds the token and nothing else.</summary>
    public string? TokenFile { get; set; }

    /// <summary>The token itself, for the environment: ROOTCELLAR__Mirror__Influx__Token. Never shown.</summary>
    public string? Token { get; set; }

    /// <summary>One request may take this long, seconds.</summary>
    [Range(1, 600)]
    public int TimeoutSeconds { get; set; } = 30;

    // Not keys of the settings, so not public.
    internal bool On => !string.IsNullOrWhiteSpace(Url);

    /// <summary>Which server and which shelf of it; another one begins anew.</summary>
    internal string Target => $"{Url!.TrimEnd('/')} {Org} {Bucket}";

    /// <summary>Everything wrong with these settings, each with its key and what would be right. A token is never part of it.</summary>
    public IEnumerable<string> Problems()
    {
        if (!On)
        {
            foreach (var (key, value) in new[] { (nameof(Org), Org), (nameof(Bucket), Bucket), (nameof(TokenFile), TokenFile),
                (nameof(Token), Token) })
                if (!string.IsNullOrEmpty(value))
                    yield return $"Mirror:Influx:{key} is set, but Mirror:Influx:Url is not. Right: http://influx.example:8086.";
            yield break;
        }

        if (!Uri.TryCreate(Url, UriKind.Absolute, out var url) || url.Scheme is not ("http" or "https"))
            yield return $"Mirror:Influx:Url: '{Url}' is not a web address. Right: http://influx.example:8086.";
        else if (url.UserInfo.Length > 0)
            yield return "Mirror:Influx:Url has a user or password in it. Right: the address alone, and the token in a file named by Mirror:Influx:TokenFile.";
        else if (url.Query.Length > 0 || url.Fragment.Length > 0)
            yield return "Mirror:Influx:Url: the address ends before any ? or #. Right: http://influx.example:8086.";
        if (string.IsNullOrWhiteSpace(Bucket)) yield return "Mirror:Influx:Bucket is missing: the bucket that points are written to.";
        if (string.IsNullOrWhiteSpace(Org))
            yield return "Mirror:Influx:Org is missing: the organisation the bucket belongs to. A server that knows none takes any word.";
        if (TokenFile is { Length: > 0 } && !File.Exists(TokenFile))
            yield return $"Mirror:Influx:TokenFile: there is no file '{TokenFile}'. It holds the token and nothing else.";
        else if (TokenFile is { Length: > 0 } && Token is { Length: > 0 })
            yield return "Mirror:Influx:TokenFile and Mirror:Influx:Token are both set. Right: one of them.";
        else if (TokenProblem() is { } problem) yield return problem;
    }

    /// <summary>The token as it is now; null for a server that asks for none.</summary>
    public string? ReadToken()
    {
        var text = TokenFile is { Length: > 0 } file ? File.ReadAllText(file) : Token;
        return string.IsNullOrWhiteSpace(text) ? null : text.Trim();
    }

    private string? TokenProblem()
    {
        var from = TokenFile is { Length: > 0 } ? $"the file '{TokenFile}' of Mirror:Influx:TokenFile" : "Mirror:Influx:Token";
        try
        {
            var token = ReadToken();
            if (token is null) return TokenFile is { Length: > 0 } ? $"{from} is empty. It holds the token and nothing else." : null;
            return token.Any(ch => ch is < '!' or > '~')
                ? $"{from} has a space, a line break or another sign in it that no token has. It holds the token and nothing else." : null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return $"{from} cannot be read ({e.Message}). The user that runs rootcellar must be able to.";
        }
    }
}
