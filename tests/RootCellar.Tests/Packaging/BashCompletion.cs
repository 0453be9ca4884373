using System.Text;

namespace RootCellar.Tests.Packaging;

/// <summary>
/// What bash needs to finish a half-typed command, from the program's commands. All of it is in the file: to ask the program each time
/// would take about a second on a small Pi (assumed).
/// </summary>
internal static class BashCompletion
{
    public static string Of(IReadOnlyList<CommandTree.Node> nodes)
    {
        var paths = nodes.Where(n => n.Words.Count > 0).Select(Path).ToList();
        var values = nodes.SelectMany(n => n.Options.Where(o => CommandTree.Values(o).Count > 0)
            .Select(o => $"        {Path(n)}:{o.Name}) words='{string.Join(' ', CommandTree.Values(o))}' ;;\n"));
        // What only its user knows is left to bash, which offers files.
        var takes = nodes.SelectMany(n => n.Options).Where(o => !CommandTree.IsFlag(o) && CommandTree.Values(o).Count == 0 && o.Name != "--data")
            .Select(o => o.Name).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal);
        var known = new StringBuilder();
        foreach (var node in nodes)
            known.Append($"        '{Path(node)}') words='{string.Join(' ', node.Children.Select(c => c.Name).Concat(node.Options.Select(o => o.Name)).Append("--help"))}' ;;\n");
        return $$"""
            # bash completion of rootcellar. Written by the tests from the program's commands; a change here is lost. See DEVELOPERS.md.
            _rootcellar() {
                local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} path='' words='' word
                for word in "${COMP_WORDS[@]:1:COMP_CWORD-1}"; do
                    case "$path/$word" in
                    {{string.Join('|', paths)}}) path=$path/$word ;;
                    esac
                done
                case "$before" in
                --data) mapfile -t COMPREPLY < <(compgen -d -- "$current"); return ;;
                {{string.Join('|', takes)}}) return ;;
                esac
                case "$path:$before" in
            {{string.Concat(values)}}    esac
                [ -n "$words" ] || case "$path" in
            {{known}}    esac
                mapfile -t COMPREPLY < <(compgen -W "$words" -- "$current")
            }
            complete -o bashdefault -o default -F _rootcellar rootcellar

            """;
    }

    private static string Path(CommandTree.Node node) => string.Concat(node.Words.Select(w => "/" + w));
}
