#!/bin/sh
# What a command says of itself with -h is what the SYNOPSIS of its page says, and the page
# describes every option of it.
. tests/tap.sh

# one_line: a text as words with one blank between them
one_line() {
    tr -s ' \n' '  ' | sed 's/^ //; s/ $//'
}

# synopsis PAGE: the words of the section, markup taken off
synopsis() {
    awk '
    function word(i,    s, w) {
        s = ""
        for (; i <= NF; i++) {
            if ($i == "Ar" || $i == "Cm") continue
            w = $i
            if (w == "Fl") { i++; w = "-" $i }
            s = s (s == "" ? "" : " ") w
        }
        return s
    }
    /^\.Sh NAME/ { in_name = 1; next }
    /^\.Sh SYNOPSIS/ { on = 1; in_name = 0; next }
    /^\.Sh / { on = in_name = 0; next }
    in_name && $1 == ".Nm" { name = $2; next }
    !on { next }
    $1 == ".Nm" { print name; next }
    $1 == ".Op" { print "[" word(2) "]"; next }
    $1 == ".Fl" { $1 = "Fl"; print word(1); next }
    $1 == ".Ar" { print word(2); next }
    { print "markup that this test does not know: " $0 }' "$1" | one_line
}

# rendered PAGE: the same as mandoc sets it
rendered() {
    mandoc -Tascii "$1" | sed "s/.$(printf '\b')//g" |
        sed -n '/^SYNOPSIS/,/^DESCRIPTION/p' | sed '1d;$d' | one_line
}

# described PAGE: long options with an entry of their own
described() {
    sed -n '/^\.Sh DESCRIPTION/,/^\.Sh [^D]/s/^\.It .*Fl -\([a-z-]*\).*/--\1/p' "$1"
}

for tool in "$bin"/valve-*; do
    name=$(basename "$tool")
    page=docs/man/$name.1
    run "$tool" -h
    usage=$(printf '%s\n' "${out#usage: }" | sed '/^$/,$d' | one_line)
    is "$name: -h ends well" "$status|$err" '0|'
    [ -f "$page" ] || { ok "$name has a page" false; continue; }
    is "$name: -h is the SYNOPSIS" "$usage" "$(synopsis "$page")"
    is "$name: -h says what it is for, as the NAME does, and where there is more" \
        "$(printf '%s\n' "$out" | sed '1,/^$/d')" "$(sed -n 's/^\.Nd //p' "$page")

man $name: every option, and examples.  man valvebook: tables, units, names."
    if command -v mandoc >/dev/null 2>&1; then
        is "$name: -h is the SYNOPSIS as it is set" "$usage" "$(rendered "$page")"
    else
        skip "$name: -h is the SYNOPSIS as it is set" 'no mandoc'
    fi
    wanted=$({ printf '%s\n' "$usage" | tr '[] ' '\n\n\n' | grep '^--'; echo --help; echo --version; } | sort -u)
    is "$name: every option is described, in order" "$(described "$page")" "$wanted"
done

# listed NAME WORDS: valvebook(7) has each of these words
listed() {
    lacks=
    for word in $2; do
        grep -qw -e "$word" docs/man/valvebook.7 || lacks="$lacks $word"
    done
    is "valvebook.7 lists every $1" "${2:+some}$lacks" some
}
names='s/^    {"\([a-z_]*\)", VB_'
listed quantity "$(sed -n "${names}DIM.*/\\1/p" lib/trade/quantity.c)"
listed part "$(sed -n "${names}RENEWS.*/\\1/p; s/^    {\"\([a-z_]*\)\", 0},/\\1/p" lib/trade/quantity.c)"
listed fact "$(sed -n 's/^    \[VB_FACT[A-Z_]*\] = {"\([a-z_]*\)".*/\1/p' lib/trade/family.c)"
listed column "$(for t in families engines events gauges plan lobes shims trials history readings; do
    sed -n "/^    {\"$t\", [0-9]/,/^     \"/p" lib/book/tables.c | grep -o '[KTND]*("[a-z_]*")' |
        sed 's/.*"\(.*\)".*/\1/'
done | sort -u)"
listed 'missing value' "$(sed -n '/^vb_missing/,/^}/p' lib/trade/unit.c |
    sed -n '/words\[\] = {/,/};/p' | grep -o '"[a-z/]*"' | tr -d '"')"
done_testing
