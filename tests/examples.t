#!/bin/sh
# The EXAMPLES of every manual page do what the page shows, to the letter. A literal block
# without a line that begins with "$ " is a file, named by the .Pa before it; in the others
# such lines are commands, which a backslash continues, and the lines behind each are all that
# it prints. A status other than 0 is right only where the page shows it with "echo $?".
. tests/tap.sh
PATH=$bin:$PATH
LC_ALL=C
export PATH LC_ALL
dir=$work/run
steps=$work/steps

# extract PAGE: files into $dir, commands and their output into $steps/NNN.cmd and NNN.out
extract() {
    awk -v dir="$dir" -v steps="$steps" '
    function die(why) { printf "%s:%d: %s\n", FILENAME, FNR, why; failed = 1; exit 1 }
    function plain(s) {
        gsub(/\\&/, "", s); gsub(/\\\(\+-/, "\302\261", s); gsub(/\\e/, "\001", s)
        if (s ~ /\\/) die("an escape that this test does not know")
        gsub(/\001/, "\\", s)
        return s
    }
    function put(file, s) { print s >>file; close(file) }
    function block_ends(    i, file, c) {
        if (has_cmd) {
            if (substr(line[1], 1, 2) != "$ ") die("output without a command")
            for (i = 1; i <= n; i++)
                if (substr(line[i], 1, 2) == "$ ") {
                    c = sprintf("%s/%03d", steps, ++count)
                    put(c ".cmd", substr(line[i], 3))
                    while (line[i] ~ /\\$/ && i < n)
                        put(c ".cmd", line[++i])
                    printf "" >(c ".out")
                    close(c ".out")
                } else
                    put(c ".out", line[i])
            return
        }
        if (name == "") die("a file without a name")
        if (name in made) die("a second file named " name)
        made[name] = 1
        for (i = 1; i <= n; i++)
            put(dir "/" name, line[i])
        name = ""
    }
    /^\.Sh / { on = $2 == "EXAMPLES"; next }
    !on { next }
    /^\.Bd / {
        if ($0 != ".Bd -literal -offset indent") die("an unusual block")
        inside = 1; n = 0; has_cmd = 0; next
    }
    /^\.Ed/ { block_ends(); inside = 0; next }
    inside { line[++n] = plain($0); if (substr($0, 1, 2) == "$ ") has_cmd = 1; next }
    /^\.Pa / { name = $2 }
    END { if (!failed && inside) die("a block without an end") }' "$1"
}

# play PAGE: run its commands in order
play() {
    before=0 uses=0
    tool=$(basename "$1" .1)
    for c in "$steps"/*.cmd; do
        command=$(cat "$c")
        case $command in *"$tool "*) uses=$((uses + 1)) ;; esac
        (cd "$dir" || exit 2
            (exit "$before")
            eval "$command") </dev/null >"$work/got" 2>&1
        before=$?
        after=$(printf '%s/%03d.cmd' "$steps" $(($(basename "$c" .cmd | sed 's/^0*//') + 1)))
        shown=$(cat "$after" 2>/dev/null)
        [ "$before" -eq 0 ] || [ "$shown" = 'echo $?' ] || echo "status $before" >>"$work/got"
        is "${1#docs/man/}: $(tr -s '\n\t' '  ' <"$c")" "$(cat "$work/got")" "$(cat "${c%.cmd}.out")"
    done
}

for page in docs/man/*.[17]; do
    rm -rf "$dir" "$steps"
    mkdir "$dir" "$steps"
    run extract "$page"
    is "${page#docs/man/}: examples can be read" "$status $out" '0 '
    uses=0
    [ "$(ls "$steps")" ] && (exit "$status") && play "$page"
    case $page in *.1) ok "${page#docs/man/}: three examples or more" [ "$uses" -ge 3 ] ;; esac
done
done_testing
