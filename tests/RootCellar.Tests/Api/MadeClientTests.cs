using System.Reflection;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using NSwag;
using NSwag.CodeGeneration.CSharp;
using RootCellar.Entry;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Api;

/// <summary>A client that a generator makes from the document alone compiles, and works with the service it was made from.</summary>
public class MadeClientTests
{
    /// <summary>A script as a grower's helper would write it, by the made client's own types.</summary>
    private const string Script = """
        using System;
        using System.Collections.Generic;
        using System.Linq;
        using System.Net.Http;
        using System.Threading.Tasks;

        namespace Made;

        public static class Script
        {
            public static async Task<IReadOnlyList<string>> RunAsync(HttpClient http)
            {
                var api = new CellarClient(http);
                var said = new List<string>();
                foreach (PlaceShape place in await api.ListPlacesAsync())
                    said.Add($"place {place.Place} {place.Purpose} {place.Bands?.TemperatureLowC}");

                PlaceShape attic = await api.AddPlaceAsync(new NewPlace { Place = "attic", Purpose = "storage", VolumeM3 = 12.5 });
                said.Add($"added {attic.Place} {attic.VolumeM3}");

                EventShape dug = new EventShapeDugEvent
                {
                    Lot = "2025-9", Crop = "potato", Skin = SkinWord.Set, Flags = [DiggingFlag.WetSoil], WeightKg = 40,
                };
                EventShape filled = new EventShapeFilledEvent { Bin = "B9", Lot = "2025-9", Place = "attic", WeightKg = 30, Note = "good ones" };
                foreach (EntryShape entry in await api.WriteLedgerAsync(null, "key-1", [dug, filled]))
                    said.Add($"entry {entry.Event} {entry.Note} {entry.State}");
                said.Add($"again {(await api.WriteLedgerAsync(null, "key-1", [dug, filled])).Count}");
                var book = await api.ReadLedgerAsync(null, "2025-9", null, null, null, null);
                said.Add($"book {book.First().AdditionalProperties["crop"]}");

                LotShape lot = (await api.ListLotsAsync()).Single(l => l.Lot == "2025-9");
                said.Add($"lot {lot.Variety ?? "none"} {lot.Book.DugKg} {lot.Bins.Single().Bin}");
                said.Add($"dug on {lot.DugOn:yyyy-MM-dd}");
                BinShape bin = await api.ReadBinAsync("B9");
                said.Add($"bin {bin.BookKg} {bin.Stays.Single().Place}");
                foreach (AdviceShape advice in await api.ListAdviceAsync()) said.Add($"advice {advice.Place} {advice.State}");
                ExpectedStockShape stock = await api.ReadStockAsync(new DateTimeOffset(2026, 1, 31, 0, 0, 0, TimeSpan.Zero));
                said.Add($"stock {stock.Crops.Single().Crop}");
                said.Add($"alarms {(await api.ListAlarmsAsync("shelved")).Count}");
                said.Add($"report {(await api.ReadReportAsync(null)).Week}");
                Contact ann = await api.SaveContactAsync(new NewContact { Name = "Ann", Channel = "mail", Address = "ann@example.org" });
                await api.RemoveContactAsync(ann.Id);

                try
                {
                    await api.ReadPlaceAsync("nowhere");
                }
                catch (ApiException<ProblemDetails> e)
                {
                    said.Add($"problem {e.StatusCode} {e.Result.Status} {e.Result.Detail}");
                }

                try
                {
                    await api.WriteLedgerAsync(null, null, [new EventShapeEatenEvent { Bin = "B9", WeightKg = 3000 }]);
                }
                catch (ApiException<BookAsks> e)
                {
                    said.Add($"asked {e.StatusCode} {e.Result.Code} {e.Result.Questions.Single().Index}");
                }

                return said;
            }
        }
        """;

    [Fact]
    public async Task A_client_made_from_the_document_works()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var program = Compile(await MakeAsync(await site.ReadAsync("/openapi/v1.json")), Script);
        using var http = new HttpClient { BaseAddress = site.Address };
        var token = await site.Store.WriteAsync(c => Tokens.Add(c, "script", site.Time.GetUtcNow()));
        http.DefaultRequestHeaders.Authorization = new("Bearer", token);

        var script = program.GetType("Made.Script")!.GetMethod("RunAsync")!;
        var said = await (Task<IReadOnlyList<string>>)script.Invoke(null, [http])!;

        said.Should().ContainInOrder(
            "added attic 12.5", "entry dug  counted", "entry filled good ones counted", "again 2", "book potato", "lot none 40 B9",
            "bin 30 attic", "stock potato", "alarms 0", "problem 404 404 There is no place 'nowhere'.", "asked 409 more-than-there 0");
        said.Should().Contain(s => s.StartsWith("place curing Curing ", StringComparison.Ordinal)).And.Contain("advice attic unknown");
    }

    private static async Task<string> MakeAsync(string document)
    {
        var settings = new CSharpClientGeneratorSettings { ClassName = "CellarClient", InjectHttpClient = true, UseBaseUrl = false };
        settings.CSharpGeneratorSettings.Namespace = "Made";
        var read = await OpenApiDocument.FromJsonAsync(document, TestContext.Current.CancellationToken);
        return new CSharpClientGenerator(read, settings).GenerateFile();
    }

    private static Assembly Compile(params string[] sources)
    {
        var cancellation = TestContext.Current.CancellationToken;
        var here = ((string)AppContext.GetData("TRUSTED_PLATFORM_ASSEMBLIES")!).Split(Path.PathSeparator);
        var compilation = CSharpCompilation.Create(
            "made-client",
            sources.Select(s => CSharpSyntaxTree.ParseText(s, cancellationToken: cancellation)),
            here.Select(p => MetadataReference.CreateFromFile(p)),
            new CSharpCompilationOptions(OutputKind.DynamicallyLinkedLibrary));
        using var made = new MemoryStream();
        var result = compilation.Emit(made, cancellationToken: cancellation);
        result.Diagnostics.Where(d => d.Severity == DiagnosticSeverity.Error).Select(d => d.ToString()).Should().BeEmpty();
        return Assembly.Load(made.ToArray());
    }
}
