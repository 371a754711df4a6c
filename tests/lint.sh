#!/bin/sh
# What a machine can see of our own rules (DEVELOPERS.md). Prints nothing when all is well.
set -u
cd "$(dirname "$0")/.." || exit 2
bad=0
say() {
    echo "$*"
    bad=1
}
# report TEXT: whatever a check printed on its standard input
report() {
    while IFS= read -r line; do
        echo "$1: $line"
        bad=1
    done
}

sources=$(find cmd include lib tests fixtures -name '*.c' -o -name '*.h' | sort)
scripts=$(find tests fixtures .ci -name '*.sh' -o -path '.ci/*' -type f | sort)
log=$(mktemp) || exit 2
trap 'rm -f "$log"' EXIT

# formatting
# shellcheck disable=SC2086
clang-format --dry-run -Werror $sources >"$log" 2>&1 || { grep -a 'error:' "$log" | head -20; bad=1; }

# every command starts the library, or a GSL error would end it
grep -L '    vb_start();' cmd/*.c | report 'does not call vb_start()'

# every header alone, with everything it needs
for h in include/valvebook/*.h lib/*/*.h; do
    ${CC:-cc} -std=c17 -D_XOPEN_SOURCE=700 -Iinclude -Wall -Wextra -Werror -fsyntax-only \
        -x c "$h" >"$log" 2>&1 || { say "header does not stand alone: $h"; head -5 "$log"; }
done

# words that are banned: they overrun, hide state, or look at the clock behind our back
banned='strcpy|strcat|strncpy|sprintf|strtok|atoi|atof|gets|localtime|gmtime|mktemp|alloca|setlocale'
grep -nEw "($banned)[[:space:]]*\(" $(find cmd include lib -name '*.[ch]') >"$log"
report "banned word" <"$log"
grep -nEw 'TODO|FIXME|XXX|HACK' $sources >"$log"
report "unfinished" <"$log"

# which room may reach which
arrow() { # ROOM PATTERN
    # shellcheck disable=SC2046
    grep -nE "include *[<\"]($2)" $(find "$1" -name '*.[ch]') >"$log"
    report "$1 must not reach this" <"$log"
}
text_headers='chart|csv|date|html|ical|input|length|letter|lock|mail|openmetrics|out|pipe|recipe|report|sheet|stock|svg|table|tidy|timing_chart|tool|trend_report'
arrow lib/trade "sqlite3|csv\.h|zlib|stdio_ext|fcntl|unistd|time\.h|sys/"
arrow lib/trade "valvebook/($text_headers|book)\.h"
arrow lib/text 'sqlite3|valvebook/book\.h|.*lib/book'
arrow lib/book 'csv\.h>|zlib'
arrow cmd 'sqlite3|csv\.h>|zlib|gsl/'
grep -nE '\b(SELECT|INSERT|UPDATE|DELETE|PRAGMA) ' cmd/*.c >"$log"
report "SQL in cmd" <"$log"
grep -nE '\b(time|clock_gettime|gettimeofday|getenv) *\(' lib/trade/*.c >"$log"
report "clock or environment in lib/trade" <"$log"

# size
for f in $(find cmd lib include -name '*.[ch]'); do
    n=$(wc -l <"$f")
    [ "$n" -le 600 ] || say "$f has $n lines"
done
awk 'length > 100 { printf "%s:%d: longer than 100\n", FILENAME, FNR }' $sources >"$log"
report "line" <"$log"

# pages and scripts
mandoc -Tlint -Wwarning docs/man/*.[17] >"$log" 2>&1
report "mandoc" <"$log"
if command -v shellcheck >/dev/null 2>&1; then
    # shellcheck disable=SC2086
    shellcheck -s sh -S warning -e SC2044,SC2046,SC2034,SC2154 $scripts >"$log" 2>&1 || { cat "$log"; bad=1; }
fi

# nothing of this machine, nothing outside the layout
git grep -nE '/(home|root|tmp/[a-z]+_jobs|work)/' -- . ':!LICENSE' ':!tests/lint.sh' >"$log"
report "path of a machine" <"$log"
top="README.md DEVELOPERS.md LICENSE Makefile cmd include lib tests fixtures docs"
for f in $(git ls-files | cut -d/ -f1 | sort -u); do
    case $f in .*) continue ;; esac
    case " $top " in *" $f "*) ;; *) say "outside the layout: $f" ;; esac
done
exit $bad
