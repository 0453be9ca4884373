using System.Net.Http.Headers;
using System.Text;
using System.Text.Json;
using Scriban;
using Scriban.Runtime;

namespace RootCellar.Tell;

/// <summary>The gateway answered, but not with a 2xx.</summary>
internal sealed class RefusedException(string message, TimeSpan? retryAfter) : Exception(message)
{
    public TimeSpan? RetryAfter { get; } = retryAfter;
}

/// <summary>One HTTP request for each text: SMS gateways, push services, hooks.</summary>
internal sealed class PostChannel(PostOptions options, HttpClient http) : IChannel
{
    public const string ChannelName = "post";

    private static readonly TimeSpan AnswerPatience = TimeSpan.FromSeconds(2);

    private readonly Template body = Template.Parse(options.BodyTemplate);

    public string Name => ChannelName;

    public TimeSpan? Timeout => TimeSpan.FromSeconds(options.TimeoutSeconds);

    /// <summary>What is wrong with a body template, or null.</summary>
    public static string? TemplateProblem(string template)
    {
        var parsed = Template.Parse(template);
        return parsed.HasErrors ? string.Join("; ", parsed.Messages.Select(m => m.ToString())) : null;
    }

    public async Task<string> SendAsync(Outgoing message, CancellationToken cancellationToken)
    {
        using var request = new HttpRequestMessage(new HttpMethod(options.Method), options.Url)
        {
            Content = new StringContent(Render(message), Encoding.UTF8, MediaTypeHeaderValue.Parse(options.ContentType)),
        };
        request.Headers.TryAddWithoutValidation("Idempotency-Key", message.Id);
        foreach (var (name, value) in options.Headers) request.Headers.TryAddWithoutValidation(name, value);
        using var response = await http.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, cancellationToken);
        if (!response.IsSuccessStatusCode)
        {
            throw new RefusedException($"the gateway answered {(int)response.StatusCode} {response.ReasonPhrase}",
                response.Headers.RetryAfter?.Delta);
        }

        return $"{(int)response.StatusCode} {response.ReasonPhrase} {await BeginningAsync(response, cancellationToken)}".TrimEnd();
    }

    // What a gateway answers is for people to read, and bounded. The text is taken by now: an answer that does not come to its end is no
    // reason to send it again.
    private static async Task<string> BeginningAsync(HttpResponseMessage response, CancellationToken cancellationToken)
    {
        var (buffer, read) = (new byte[300], 0);
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        patience.CancelAfter(AnswerPatience);
        try
        {
            await using var answer = await response.Content.ReadAsStreamAsync(patience.Token);
            while (read < buffer.Length && await answer.ReadAsync(buffer.AsMemory(read), patience.Token) is > 0 and var more) read += more;
        }
        catch (Exception e) when (e is OperationCanceledException or IOException or HttpRequestException)
        {
            // What came of it until then.
        }

        var text = Encoding.UTF8.GetString(buffer, 0, read);
        return new string([.. text.Select(c => char.IsControl(c) ? ' ' : c)]).Trim();
    }

    /// <summary>What would be sent for a text.</summary>
    public string Render(Outgoing message)
    {
        var values = new ScriptObject
        {
            ["id"] = message.Id,
            ["to"] = message.Recipient,
            ["text"] = message.Sms,
            ["subject"] = message.Subject,
            ["alarm"] = message.Alarm,
            ["priority"] = message.Priority,
        };
        values.Import("json", (object? value) => JsonSerializer.Serialize(value));
        // No loader, so no include; the limits end a template that would run for ever.
        var context = new TemplateContext { LoopLimit = 1000, RecursiveLimit = 20, TemplateLoader = null };
        context.PushGlobal(values);
        return body.Render(context);
    }
}
