using System.Text.Json;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Api;
using RootCellar.Entry;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Ledger;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Api;

/// <summary>/openapi/v1.json says what the calls take and answer, and says what the program does.</summary>
public class ApiDocumentTests
{
    // A value each field that must be there could have.
    private static readonly Dictionary<string, string> Samples = new(StringComparer.Ordinal)
    {
        ["bin"] = "\"B1\"",
        ["lot"] = "\"2025-1\"",
        ["crop"] = "\"potato\"",
        ["place"] = "\"cellar\"",
        ["weightKg"] = "5",
        ["reason"] = "\"rot\"",
        ["order"] = "\"O1\"",
        ["share"] = "\"few\"",
        ["what"] = "\"dry\"",
        ["row"] = "\"3\"",
        ["into"] = """[{"bin":"B1","weightKg":5}]""",
    };

    [Fact]
    public async Task Every_call_says_who_may_what_it_takes_and_all_that_it_answers()
    {
        await using var site = await Site.OpenAsync();
        var document = Bookkeeping.Parse(await site.ReadAsync("/openapi/v1.json"));
        var wrong = new List<string>();
        var ids = new HashSet<string>(StringComparer.Ordinal);
        foreach (var (method, path, call) in Calls(document))
        {
            var name = $"{method} {path}";
            if (!call.TryGetProperty("operationId", out var id) || !ids.Add(id.GetString()!)) wrong.Add($"{name}: no id of its own");
            if (!call.TryGetProperty("summary", out _)) wrong.Add($"{name}: no summary");
            if (call.TryGetProperty("parameters", out var parameters))
            {
                wrong.AddRange(parameters.EnumerateArray()
                    .Where(p => !p.TryGetProperty("description", out _)
                        || !p.GetProperty("schema").TryGetProperty("type", out var type) || type.ValueKind != JsonValueKind.String)
                    .Select(p => $"{name}: {p.GetProperty("name")} is not described"));
            }

            if (call.TryGetProperty("requestBody", out var body) && !IsTyped(document, body))
                wrong.Add($"{name}: its body may be anything");
            var answers = call.GetProperty("responses").EnumerateObject().ToList();
            if (!answers.Exists(a => a.Name[0] == '2')) wrong.Add($"{name}: nothing goes well");
            foreach (var answer in answers)
            {
                if (answer.Name is "204" or "202" or "304") continue;
                if (!IsTyped(document, answer.Value)) wrong.Add($"{name}: {answer.Name} may be anything");
                else if (answer.Name[0] != '2' && !answer.Value.GetProperty("content").TryGetProperty("application/problem+json", out _))
                    wrong.Add($"{name}: {answer.Name} is no problem");
            }

            string[] every = ["400", "401", "403", "429", "500"];
            wrong.AddRange(every.Where(s => !answers.Exists(a => a.Name == s)).Select(s => $"{name}: {s} is not said"));
        }

        wrong.Should().BeEmpty();
        document.GetProperty("security").EnumerateArray().Select(s => s.EnumerateObject().Single().Name).Should().Equal("token", "cookie");
        document.GetProperty("components").GetProperty("securitySchemes").EnumerateObject().Select(s => s.Name).Should()
            .Equal("token", "cookie");

        // As the document writes them.
        var there = site.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>()
            .Select(e => (Path: $"/{e.RoutePattern.RawText!.Trim('/').Replace("**", "", StringComparison.Ordinal).Replace(":long", "", StringComparison.Ordinal)}", e.Metadata))
            .Where(e => e.Path.StartsWith("/api/", StringComparison.Ordinal))
            .SelectMany(e => e.Metadata.GetMetadata<HttpMethodMetadata>()!.HttpMethods.Select(m => $"{m} {e.Path}"));
        Calls(document).Select(c => $"{c.Method.ToUpperInvariant()} {c.Path}").Should().BeEquivalentTo(there);
    }

    [Fact]
    public async Task Every_event_has_in_the_document_the_fields_and_words_that_the_ledger_reads()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        using var program = await Visitor.TokenAsync(site, Tokens.MayAll);
        var document = Bookkeeping.Parse(await site.ReadAsync("/openapi/v1.json"));
        var schemas = document.GetProperty("components").GetProperty("schemas");
        var events = schemas.GetProperty(nameof(EventShape)).GetProperty("discriminator").GetProperty("mapping").EnumerateObject()
            .ToDictionary(m => m.Name, m => Find(document, m.Value.GetString()!).GetProperty("allOf")[1], StringComparer.Ordinal);
        events.Keys.Should().BeEquivalentTo(EventKinds.Names);
        schemas.GetProperty(nameof(EventShape)).GetProperty("properties").EnumerateObject().Select(p => p.Name)
            .Should().BeEquivalentTo(EventReader.OfEvery.Except(["of"]));

        foreach (var (name, own) in events.Where(e => e.Key != Correction.Name))
        {
            var fields = own.GetProperty("properties").EnumerateObject().ToDictionary(p => p.Name, p => p.Value, StringComparer.Ordinal);
            var required = own.GetProperty("required").EnumerateArray().Select(r => r.GetString()!).ToList();
            List<string> must = [.. required, .. fields.Keys.Intersect(["weightKg"])];
            Listed(await RefusedAsync(name, must, ("zzz", "1")), "It has ").Except(["checked"]).Should().BeEquivalentTo(fields.Keys, name);
            foreach (var (field, schema) in fields)
            {
                if (Words(document, schema) is not { } words) continue;
                var given = schema.TryGetProperty("items", out _) ? """["zzz"]""" : "\"zzz\"";
                Listed(await RefusedAsync(name, must, (field, given)), " is not one of ").Should().BeEquivalentTo(words, $"{name}.{field}");
            }

            // Whatever the document says must be there must be there.
            foreach (var field in required)
                (await RefusedAsync(name, [.. must.Except([field])], ("note", "\"x\""))).Should().Contain(field, name);
        }

        async Task<string> RefusedAsync(string name, IReadOnlyList<string> must, (string Field, string Value) odd)
        {
            var fields = must.Where(m => m != odd.Field).Select(m => $"\"{m}\":{Samples[m]}").Append($"\"{odd.Field}\":{odd.Value}");
            var answer = await program.JsonAsync("POST", "/api/ledger", $$"""{"event":"{{name}}",{{string.Join(',', fields)}}}""");
            ((int)answer.Status).Should().Be(400, answer.Html);
            return Bookkeeping.Parse(answer.Html).GetProperty("detail").GetString()!;
        }
    }

    // The document names a shape by its type alone: two of one name would be told as one.
    [Fact]
    public void No_two_shapes_have_one_name() => typeof(ApiRoutes).Assembly.GetTypes().Select(t => t.Name)
        .Where(n => n.EndsWith("Shape", StringComparison.Ordinal)).Should().OnlyHaveUniqueItems();

    private static IEnumerable<(string Method, string Path, JsonElement Call)> Calls(JsonElement document) =>
        document.GetProperty("paths").EnumerateObject().SelectMany(p => p.Value.EnumerateObject().Select(c => (c.Name, p.Name, c.Value)));

    private static bool IsTyped(JsonElement document, JsonElement body)
    {
        if (!body.TryGetProperty("content", out var content)) return false;
        var said = content.EnumerateObject().Single();
        if (!said.Value.TryGetProperty("schema", out var schema)) return false;
        // A table is text to JSON; its columns stand in docs/commands.md.
        if (said.Name == "text/csv") return schema.TryGetProperty("type", out var type) && type.GetString() == "string";
        var one = schema.TryGetProperty("items", out var items) ? items : schema;
        if (one.TryGetProperty("oneOf", out var choice)) one = choice.EnumerateArray().Last();
        return one.TryGetProperty("$ref", out var reference) && Find(document, reference.GetString()!).TryGetProperty("properties", out _);
    }

    private static JsonElement Find(JsonElement document, string reference) =>
        reference.TrimStart('#', '/').Split('/').Aggregate(document, (at, name) => at.GetProperty(name));

    private static IEnumerable<string>? Words(JsonElement document, JsonElement schema)
    {
        if (schema.TryGetProperty("items", out var items)) schema = items;
        if (schema.TryGetProperty("oneOf", out var choice)) schema = choice.EnumerateArray().Last();
        return schema.TryGetProperty("$ref", out var reference) && Find(document, reference.GetString()!)
            .TryGetProperty("enum", out var words)
            ? words.EnumerateArray().Select(w => w.GetString()!)
            : null;
    }

    private static string[] Listed(string detail, string after)
    {
        var list = detail[(detail.LastIndexOf(after, StringComparison.Ordinal) + after.Length)..];
        return list[..list.IndexOf('.', StringComparison.Ordinal)].Split(", ");
    }
}
