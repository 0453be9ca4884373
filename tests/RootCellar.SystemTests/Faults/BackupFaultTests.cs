using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using Microsoft.Data.Sqlite;
using MQTTnet;
using MQTTnet.Protocol;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Faults;

/// <summary>The backup that makes itself, onto a stick that fills up, with the power gone in the middle, and put back on another machine.</summary>
public sealed class BackupFaultTests
{
    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_stick_that_is_full_is_said_and_the_last_good_backup_stays()
    {
        await using var stick = await RamDisk.MountAsync(12);
        await using var service = await FilledAsync(3_000_000);
        await SetAsync(service, stick.Path);
        await MakeAsync(service, HttpStatusCode.OK);
        var good = Directory.GetFiles(stick.Path).Should().ContainSingle().Which;
        stick.FillUp();

        var said = await MakeAsync(service, HttpStatusCode.ServiceUnavailable);
        said.Should().Contain("(full)").And.Contain("is full: the copy takes about").And.Contain(stick.Path);
        Directory.GetFiles(stick.Path, "rootcellar-*").Should().Equal(good);
        (await service.GetAsync("/api/backup"))["trouble"]!.GetValue<string>().Should().Be("full");
        (await service.ReadinessAsync()).Text.Should().Contain("\"backup\":\"degraded\"");
        await RestoredAsync(good);

        stick.MakeRoom();
        await MakeAsync(service, HttpStatusCode.OK);
        (await service.GetAsync("/api/backup"))["trouble"].Should().BeNull();
    }

    [Fact]
    public async Task Killed_in_the_middle_again_and_again_every_backup_that_has_a_name_is_whole()
    {
        await using var stick = await RamDisk.MountAsync(400);
        await using var service = await FilledAsync(10_000_000);
        await SetAsync(service, stick.Path);
        await MakeAsync(service, HttpStatusCode.OK);
        var cut = 0;
        for (var round = 0; round < 8; round++)
        {
            var api = await service.ApiAsync();
            using var stop = new CancellationTokenSource();
            var making = api.PostAsync(new Uri("/api/backup", UriKind.Relative), null, stop.Token);
            await Eventually.HoldsAsync(
                () => making.IsCompleted || Directory.GetFiles(stick.Path, "*.part").Length > 0, "one is under way", details: () => service.Everything);
            service.Kill();
            await stop.CancelAsync();
            await making.ContinueWith(_ => { }, Cancelled, TaskContinuationOptions.None, TaskScheduler.Default);
            cut += Directory.GetFiles(stick.Path, "*.part").Length;
            await service.StartAsync();
        }

        cut.Should().BePositive("at least one was cut off");
        await MakeAsync(service, HttpStatusCode.OK);
        Directory.GetFiles(stick.Path).Should().OnlyContain(f => f.EndsWith(".db"), "what was cut off is cleared away by the next");
        foreach (var file in Directory.GetFiles(stick.Path)) await RestoredAsync(file);
    }

    [Fact]
    public async Task On_a_new_machine_everything_is_back_and_the_sensors_connect_as_before()
    {
        await using var stick = await RamDisk.MountAsync(64);
        string secret;
        JsonNode lots;
        await using (var old = new RunningService(null, ("Backup:Folder", stick.Path)))
        {
            await old.StartAsync();
            await old.AddPlaceAsync("cellar", "Cellar", "storage");
            await old.PostAsync("/api/ledger", new { @event = "dug", lot = "2026-1", crop = "potato", weightKg = 40 });
            await old.AddContactAsync("post", "+15550142");
            using (var set = await (await old.ApiAsync()).PutAsJsonAsync("/api/channels/post", new { url = "http://127.0.0.1:9/send" }, Cancelled))
                set.StatusCode.Should().Be(HttpStatusCode.OK);
            using (var client = await ConnectAsync(old, null, null)) await SayAsync(client, "5.5");
            await old.SensorAsync("cellar/door");
            using (var made = await (await old.ApiAsync()).PostAsJsonAsync("/api/credentials", new { sensor = "cellar/door" }, Cancelled))
                secret = (await made.Content.ReadFromJsonAsync<JsonNode>(Cancelled))!["secret"]!.GetValue<string>();
            await (await old.ApiAsync()).PatchAsJsonAsync("/api/broker", new { setUpFinished = true }, Cancelled);
            // Whichever the service made by itself, one of now.
            await Eventually.HoldsAsync(() => Directory.GetFiles(stick.Path, "*.db").Length > 0, "one was made by itself", TimeSpan.FromSeconds(60),
                () => old.Everything);
            await MakeAsync(old, HttpStatusCode.OK);
            lots = await old.GetAsync("/api/lots");
            old.Kill();
        }

        var newest = Directory.GetFiles(stick.Path, "*.db").Order(StringComparer.Ordinal).Last();
        await using var fresh = new RunningService(null, ("Backup:Folder", stick.Path), ("Mqtt:AllowAnonymous", "false"));
        var said = await BuiltProgram.RunAsync("restore", newest, "--data", fresh.Data);
        said.Exit.Should().Be(0, said.ToString());
        said.Out.Should().Contain("channels.json");
        await fresh.StartAsync();

        (await fresh.GetAsync("/api/lots")).ToJsonString().Should().Be(lots.ToJsonString());
        (await fresh.GetAsync("/api/channels/post"))["post"]!["url"]!.GetValue<string>().Should().Be("http://127.0.0.1:9/send");
        (await fresh.GetAsync("/api/contacts")).AsArray().Should().ContainSingle();
        using (var stranger = await ConnectAsync(fresh, "door", "guess")) stranger.IsConnected.Should().BeFalse();
        using var door = await ConnectAsync(fresh, "cellar/door", secret);
        door.IsConnected.Should().BeTrue();
        await SayAsync(door, "4.5");
        await Eventually.HoldsAsync(
            async () => (await fresh.LastAsync("cellar/door", "temperature"))["value"]!.GetValue<double>() == 4.5, "it is heard again",
            details: () => fresh.Everything);
        await Eventually.HoldsAsync(
            () => Directory.GetFiles(stick.Path, "*.db").Select(f => Path.GetFileName(f)[..17]).Distinct().Count() == 1,
            "the record goes on under its own mark", details: () => fresh.Everything);
    }

    private static async Task<IMqttClient> ConnectAsync(RunningService service, string? user, string? password)
    {
        var client = new MqttClientFactory().CreateMqttClient();
        var options = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", service.MqttPort).WithClientId("esp-door");
        if (user is not null) options = options.WithCredentials(user, password);
        try
        {
            await client.ConnectAsync(options.Build(), Cancelled);
        }
        catch (Exception e) when (e is MQTTnet.Exceptions.MqttCommunicationException or MQTTnet.Exceptions.MqttProtocolViolationException
            || e.GetType().Name == "MqttConnectingFailedException")
        {
            // Refused: not connected.
        }

        return client;
    }

    private static Task<MqttClientPublishResult> SayAsync(IMqttClient client, string value) => client.PublishAsync(
        new MqttApplicationMessageBuilder().WithTopic("rootcellar/cellar/door/temperature_c").WithPayload(value)
            .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build(),
        Cancelled);

    private static async Task<RunningService> FilledAsync(int bytes)
    {
        var service = await RunningService.StartAsync();
        await using (var connection = new SqliteConnection(
            new SqliteConnectionStringBuilder { DataSource = service.RecordPath, Pooling = false }.ToString()))
        {
            await connection.OpenAsync(Cancelled);
            using var command = connection.CreateCommand();
            command.CommandText = "INSERT INTO meta (key, value) VALUES ('ballast', hex(randomblob($bytes / 2)))";
            command.Parameters.AddWithValue("$bytes", bytes);
            command.ExecuteNonQuery();
        }

        return service;
    }

    private static async Task SetAsync(RunningService service, string folder)
    {
        using var answer = await (await service.ApiAsync()).PutAsJsonAsync("/api/backup", new { folder }, Cancelled);
        answer.StatusCode.Should().Be(HttpStatusCode.OK, await answer.Content.ReadAsStringAsync(Cancelled));
    }

    private static async Task<string> MakeAsync(RunningService service, HttpStatusCode expected)
    {
        using var answer = await (await service.ApiAsync()).PostAsync(new Uri("/api/backup", UriKind.Relative), null, Cancelled);
        var text = await answer.Content.ReadAsStringAsync(Cancelled);
        answer.StatusCode.Should().Be(expected, text + service.Everything);
        return text;
    }

    private static async Task RestoredAsync(string file)
    {
        using var box = new Scratch();
        var said = await BuiltProgram.RunAsync("restore", file, "--data", box.Path);
        said.Exit.Should().Be(0, said.ToString());
    }
}
