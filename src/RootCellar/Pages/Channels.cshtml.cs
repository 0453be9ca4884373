using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Tell;

namespace RootCellar.Pages;

/// <summary>What was typed about a way out; nothing of it is lost when something is wrong.</summary>
public sealed record ChannelForm
{
    public string? Host { get; init; }

    public int? Port { get; init; }

    public string? Tls { get; init; }

    public string? User { get; init; }

    public string? Password { get; init; }

    public string? From { get; init; }

    public string? Url { get; init; }

    public string? Method { get; init; }

    public string? Headers { get; init; }

    public bool ForgetHeaders { get; init; }

    public string? ContentType { get; init; }

    public string? Body { get; init; }

    public string? Minutes { get; init; }

    /// <summary>The household's own, asked for again where texts are to go to another server.</summary>
    public string? Passphrase { get; init; }
}

/// <summary>How texts go out: mail, a gateway, a modem; set up without a file and without a restart.</summary>
internal sealed class ChannelsModel(
    ChannelDesk desk, ChannelMaker make, ChannelTest test, Outbox outbox, Doorkeeper doorkeeper, KnownBrowsers browsers, Show show,
    ModemInbox inbox, AnswerCounts answers, PingState pinged) : PageModel
{
    private const string PingPart = "ping";

    public ChannelForm Mail { get; private set; } = new();

    public ChannelForm Post { get; private set; } = new();

    public ChannelForm Ping { get; private set; } = new();

    public bool IsPingConfigured => desk.IsPingConfigured;

    public bool PingIsWrong => desk.Ping is not null && (pinged.HeldBack ?? pinged.Fault) is not null;

    /// <summary>What of the service is not alive, in words.</summary>
    internal static string Dead(string checks) => string.Join(", ", checks.Split(", ").Select(c => c switch
    {
        "broker" => Strings.PingIntake,
        "record" => Strings.PingRecord,
        "watch" => Strings.PingWatch,
        _ => Strings.PingStart,
    }));

    /// <summary>How the calls to the address outside go.</summary>
    public string PingSays => desk.Ping is null ? Strings.PingOff
        : pinged.HeldBack is { } held ? Strings.PingHeld.With(Dead(held))
        : pinged.Fault is { } fault ? Strings.PingFails.With(fault)
        : pinged.AnsweredAt is { } at ? Strings.PingOk.With(show.Age(at)) : Strings.PingNotYet;

    /// <summary>What is wrong, by channel.</summary>
    public Dictionary<string, string> Problems { get; } = new(StringComparer.Ordinal);

    /// <summary>What came of the test, by channel.</summary>
    public (string Channel, bool Taken, string Words, string To)? Tested { get; private set; }

    public string? Done { get; private set; }

    public string? FileProblem => desk.Problem;

    public string? Preview { get; private set; }

    public IEnumerable<string> HeadersKept => desk.SetUp.Post?.Headers.Keys ?? [];

    public bool PasswordKept => desk.SetUp.Mail?.Password is not null;

    public bool ModemOn => desk.Find(ModemChannel.ChannelName) is not null;

    /// <summary>Why a text is not answered by text; null while it can be.</summary>
    public string? AnswersProblem => !inbox.IsAsked ? Strings.AnswersOff
        : inbox.Problem is { Length: > 0 } why ? Strings.AnswersHeardNot.With(why) : null;

    /// <summary>What came in since the start; null while nothing did.</summary>
    public string? AnswersCount => Enum.GetValues<AnswerOutcome>().Sum(o => answers[o]) == 0 ? null : Strings.AnswersCount.With(
        answers[AnswerOutcome.Acknowledged], answers[AnswerOutcome.Nothing] + answers[AnswerOutcome.Unclear], answers[AnswerOutcome.Unknown]);

    public bool IsConfigured(string channel) => desk.IsConfigured(channel);

    public bool IsOn(string channel) => desk.Find(channel) is not null;

    public string? Trouble(string channel) => outbox.Troubles.GetValueOrDefault(channel);

    public static string Key(string channel) => channel switch
    {
        MailChannel.ChannelName => "Tell:Mail",
        PostChannel.ChannelName => "Tell:Post",
        _ => "Tell:Modem",
    };

    public void OnGet(string? done)
    {
        Fill();
        Done = done switch
        {
            "on" => Strings.ChannelSaved,
            "off" => Strings.ChannelTurnedOff,
            PingPart => Strings.PingSaved,
            _ => null,
        };
    }

    public IActionResult OnPostMail(ChannelForm form)
    {
        Fill();
        var before = desk.SetUp.Mail;
        Mail = form;
        var wrong = ChannelRules.Mail(form.Host, form.Port, form.Tls, form.User, Typed(form.Password), form.From, before, out var mail);
        if (wrong is not null) return Refuse(MailChannel.ChannelName, Words(wrong, form));
        var elsewhere = !string.Equals(before?.Host, mail!.Host, StringComparison.OrdinalIgnoreCase) || before?.Port != mail.Port;
        return Save(MailChannel.ChannelName, desk.SetUp with { Mail = mail }, elsewhere ? form : null);
    }

    public IActionResult OnPostPost(ChannelForm form, bool preview)
    {
        Fill();
        Post = form;
        var typed = string.IsNullOrWhiteSpace(form.Headers) ? null : ChannelRules.Headers(form.Headers);
        if (typed is null && !string.IsNullOrWhiteSpace(form.Headers)) return Refuse(PostChannel.ChannelName, Strings.HeaderWrong.With(""));
        var headers = typed ?? (form.ForgetHeaders ? new Dictionary<string, string>(StringComparer.OrdinalIgnoreCase) : null);
        var before = desk.SetUp.Post;
        var wrong = ChannelRules.Post(form.Url, form.Method, headers, form.ContentType, form.Body, before, out var post);
        if (wrong is not null) return Refuse(PostChannel.ChannelName, Words(wrong, form));
        Show(post!);
        Post = form with { Body = post!.Body };
        if (preview) return Page();
        return Save(PostChannel.ChannelName, desk.SetUp with { Post = post }, before?.Url == post.Url ? null : form);
    }

    public IActionResult OnPostModem()
    {
        Fill();
        return Save(ModemChannel.ChannelName, desk.SetUp with { Modem = new ModemSetUp() }, null);
    }

    public IActionResult OnPostPing(ChannelForm form)
    {
        Fill();
        Ping = form;
        if (desk.IsPingConfigured) return Refuse(PingPart, Strings.ChannelInFile);
        var minutes = 5;
        if (!string.IsNullOrWhiteSpace(form.Minutes)
            && (!int.TryParse(form.Minutes.Trim(), System.Globalization.CultureInfo.CurrentCulture, out minutes) || minutes is < 1 or > 1440))
            return Refuse(PingPart, Strings.PingEveryWrong);
        if (ChannelRules.Ping(form.Url, minutes * 60, desk.SetUp.Ping, out var ping) is { } wrong) return Refuse(PingPart, Words(wrong, form));
        if (ping is not null && ping.Url != desk.SetUp.Ping?.Url)
        {
            var answer = doorkeeper.Household(browsers.Who(HttpContext), form.Passphrase);
            if (answer is not SignInAnswer.Household) return Refuse(PingPart, SignInModel.Words(answer, Strings.ChannelPassphrase, show));
        }

        try
        {
            desk.SavePing(ping);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return Refuse(PingPart, Strings.NotSaved.With(e.Message));
        }

        return RedirectToPage(null, null, new { done = ping is null ? "off" : PingPart }, PingPart);
    }

    public IActionResult OnPostOff(string? channel)
    {
        Fill();
        return channel is not null && ChannelDesk.All.Contains(channel, StringComparer.Ordinal)
            ? Save(channel, desk.SetUp.Without(channel), null, "off") : RedirectToPage();
    }

    public async Task<IActionResult> OnPostTestAsync(string? channel, string? to)
    {
        Fill();
        if (channel is null || !ChannelDesk.All.Contains(channel, StringComparer.Ordinal)) return RedirectToPage();
        if (ContactRules.Address(channel, to, out var address) is { } wrong)
        {
            Tested = (channel, false, ContactForm.Words(wrong, new ContactForm { Address = to }), to ?? "");
            return Page();
        }

        var answer = await test.SendAsync(channel, address, HttpContext.RequestAborted);
        Tested = answer is { } said ? (channel, said.Taken, said.Words, address) : (channel, false, Strings.ChannelNotOn, address);
        return Page();
    }

    private static string? Typed(string? secret) => string.IsNullOrEmpty(secret) ? null : secret;

    private static string Words(Refused refused, ChannelForm form) => refused.For switch
    {
        RefusedFor.MailServer => Strings.MailServerWrong.With(form.Host),
        RefusedFor.Port => Strings.PortWrong.With(form.Port),
        RefusedFor.MailAddress => Strings.MailAddressWrong.With(form.From),
        RefusedFor.WebAddress => Strings.WebAddressWrong.With(form.Url),
        RefusedFor.Header => Strings.HeaderWrong.With(refused.Text),
        RefusedFor.Body => Strings.ChannelBodyWrong.With(refused.Text),
        RefusedFor.TooLong => Strings.ChannelTooLong,
        _ => Strings.NotOffered,
    };

    /// <param name="asked">The form whose passphrase is looked at first; null where texts go where they went before.</param>
    private IActionResult Save(string channel, ChannelSetUp setUp, ChannelForm? asked, string done = "on")
    {
        // Set in the file meanwhile, or by somebody who made the form himself.
        if (desk.IsConfigured(channel)) return Refuse(channel, Strings.ChannelInFile);
        if (asked is not null)
        {
            var answer = doorkeeper.Household(browsers.Who(HttpContext), asked.Passphrase);
            if (answer is not SignInAnswer.Household) return Refuse(channel, SignInModel.Words(answer, Strings.ChannelPassphrase, show));
        }

        try
        {
            desk.Save(channel, setUp);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return Refuse(channel, Strings.NotSaved.With(e.Message));
        }

        return RedirectToPage(null, null, new { done }, channel);
    }

    private PageResult Refuse(string channel, string words)
    {
        Problems[channel] = words;
        return Page();
    }

    private void Show(PostSetUp post) =>
        Preview = $"{post.Method} {post.Url}\n{make.Post(post.Options).Render(test.Sample(PostChannel.ChannelName, "+15551234567"))}";

    private void Fill()
    {
        var (mail, post) = (desk.SetUp.Mail, desk.SetUp.Post);
        Ping = desk.SetUp.Ping is { } ping ? new ChannelForm { Url = ping.Url, Minutes = $"{Math.Max(1, ping.EverySeconds / 60)}" }
            : new ChannelForm { Minutes = "5" };
        Mail = mail is null ? new ChannelForm { Port = 587, Tls = "auto" }
            : new ChannelForm { Host = mail.Host, Port = mail.Port, Tls = mail.Tls, User = mail.User, From = mail.From };
        Post = post is null ? new ChannelForm { Method = "POST", ContentType = ChannelRules.Bodies.Keys.First() }
            : new ChannelForm { Url = post.Url, Method = post.Method, ContentType = post.ContentType, Body = post.Body };
        if (post is not null) Show(post);
    }
}
