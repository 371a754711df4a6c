# shellcheck shell=sh
# Sourced by the benchmarks: dir and B are set.
bin=$PWD/$B/bin
tests=$PWD/$B/tests
packages=$PWD/build/npm/node_modules

begin() {
    mkdir -p "$dir"
    rm -f "$dir"/*.times "$dir"/*.db*
    cp tests/bench/recipe.csv tests/bench/same.mlr "$dir/"
    for peer in mlr node; do
        command -v "$peer" >/dev/null 2>&1 || echo "bench: no $peer here: its rows are left out"
    done
    [ -d "$packages/@duckdb/node-api" ] || echo "bench: no DuckDB here: its rows are left out"
}

# take NAME COMMAND: one line of wall, cpu and memory is added to NAME.times
take() {
    (cd "$dir" && "$tests/measure" "$2" 2>"$1.err" >/dev/null) || {
        echo "bench: failed: $2" >&2
        cat "$dir/$1.err" >&2
        exit 1
    }
    tail -n 1 "$dir/$1.err" >>"$dir/$1.times"
}

# duck NAME WHAT [DATABASE FILE]: a piece of duck.mjs
duck() {
    [ -d "$packages/@duckdb/node-api" ] && command -v node >/dev/null 2>&1 || return 0
    take "$1" "node $PWD/tests/bench/duck.mjs $packages $2 ${3:-:memory:} ${4:-}"
}

median() { # FILE COLUMN
    awk -v c="$2" '{ print $c }' "$1" | sort -n | awk '{ a[NR] = $1 } END { print a[int((NR + 1) / 2)] }'
}

heading() {
    printf '%-28s %8s %8s %10s\n' "" "wall s" "cpu s" "maxrss KiB"
}

row() { # NAME WORDS
    [ -f "$dir/$1.times" ] || return 0
    printf '%-28s %8.2f %8.2f %10d\n' "$2" "$(median "$dir/$1.times" 1)" \
        "$(median "$dir/$1.times" 2)" "$(median "$dir/$1.times" 3)"
}

# ratio WORDS GOAL NAME... : NAME...: median and range over the rounds of the ratio of the sums
# of wall time; GOAL is what it should not be above, - for none
ratio() {
    ratio_words=$1 ratio_goal=$2 ratio_above=0
    shift 2
    set -- "$@" end
    ratio_files=
    for ratio_f in "$@"; do
        case $ratio_f in
        :) ratio_above=$(echo "$ratio_files" | wc -w) ;;
        end) break ;;
        *)
            [ -f "$dir/$ratio_f.times" ] || return 0
            ratio_files="$ratio_files $dir/$ratio_f.times"
            ;;
        esac
    done
    # shellcheck disable=SC2086
    paste $ratio_files | awk -v above="$ratio_above" '{
        a = b = 0
        for (i = 1; i <= NF; i += 3) if ((i + 2) / 3 <= above) a += $i; else b += $i
        print a / b }' | sort -n | awk -v words="$ratio_words" -v goal="$ratio_goal" '{ a[NR] = $1 }
        END { m = a[int((NR + 1) / 2)]
            printf "%-40s %5.2f (%.2f to %.2f)%s\n", words, m, a[1], a[NR],
                goal == "-" ? "" : sprintf("  goal %.2f: %s", goal, m <= goal + 0 ? "met" : "missed") }'
}
