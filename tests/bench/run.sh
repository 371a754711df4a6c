#!/bin/sh
# make bench: whole processes on one seeded export, each against a general tool in the same
# run, taking turns so that both meet the same machine. Prints a table; docs/performance.md
# has the figures of one such run. ROWS, ROUNDS and SEED may be set.
set -eu
B=${B:-build}
here=tests/bench
dir=$B/bench
rows=${ROWS:-2000000} rounds=${ROUNDS:-5} seed=${SEED:-1}
mkdir -p "$dir"
"$B/tests/bench_data" "$rows" "$seed" >"$dir/export.csv"
"$B/tests/bench_data" "$rows" "$seed" engines >"$dir/engines.csv"
rm -f "$dir/empty.db"
"$B/bin/valve-book" "$dir/empty.db" "$here/families.csv" "$dir/engines.csv"
cp "$here/recipe.csv" "$here/same.mlr" "$dir/"
bytes=$(wc -c <"$dir/export.csv")
bin=$PWD/$B/bin
measure=$PWD/$B/tests/measure
fields=engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line

# take NAME COMMAND: one line of wall, cpu and memory is added to NAME.times
take() {
    (cd "$dir" && "$measure" "$2" 2>"$1.err" >/dev/null) || {
        echo "bench: failed: $2" >&2
        cat "$dir/$1.err" >&2
        exit 1
    }
    tail -n 1 "$dir/$1.err" >>"$dir/$1.times"
}

rm -f "$dir"/*.times
i=0
while [ "$i" -lt "$rounds" ]; do
    i=$((i + 1))
    cp "$dir/empty.db" "$dir/ours.db"
    rm -f "$dir/theirs.db"
    take pipe "$bin/valve-tidy --recipe recipe.csv export.csv | $bin/valve-book ours.db"
    take import "sqlite3 theirs.db '.mode csv' '.import export.csv raw'"
    take tidy "$bin/valve-tidy --recipe recipe.csv export.csv > ours.csv"
    if command -v mlr >/dev/null 2>&1; then
        take mlr "mlr --icsv --ocsv put -f same.mlr then cut -o -f $fields export.csv > theirs.csv"
    fi
    cp "$dir/empty.db" "$dir/ours.db"
    take book "$bin/valve-book ours.db ours.csv"
    take drift "$bin/valve-drift --format csv ours.db > drift.csv"
    take again "$bin/valve-drift --format csv ours.db > drift.csv"
done

median() { # FILE COLUMN
    awk -v c="$2" '{ print $c }' "$1" | sort -n | awk '{ a[NR] = $1 } END { print a[int((NR + 1) / 2)] }'
}
echo "$rows rows, $bytes bytes, median of $rounds rounds; sqlite3 $(sqlite3 --version | cut -d' ' -f1)"
printf '%-28s %8s %8s %10s\n' "" "wall s" "cpu s" "maxrss KiB"
for t in pipe import tidy mlr book drift again; do
    [ -f "$dir/$t.times" ] || continue
    case $t in
    pipe) name="valve-tidy | valve-book" ;;
    import) name="sqlite3 .import" ;;
    tidy) name="valve-tidy" ;;
    mlr) name="mlr, same conversions" ;;
    book) name="valve-book of a tidy table" ;;
    drift) name="valve-drift of that book" ;;
    again) name="the same once more" ;;
    esac
    printf '%-28s %8.2f %8.2f %10d\n' "$name" "$(median "$dir/$t.times" 1)" \
        "$(median "$dir/$t.times" 2)" "$(median "$dir/$t.times" 3)"
done
ratio() { # NAME A B: median of the rounds' ratios of wall time
    paste "$dir/$2.times" "$dir/$3.times" | awk '{ print $1 / $4 }' | sort -n |
        awk -v n="$1" '{ a[NR] = $1 } END { printf "%-52s %.2f (%.2f to %.2f)\n", n, a[int((NR + 1) / 2)], a[1], a[NR] }'
}
ratio "ratio valve-tidy | valve-book : sqlite3 .import" pipe import
[ -f "$dir/mlr.times" ] && ratio "ratio valve-tidy : mlr" tidy mlr
ratio "ratio valve-drift again : first" again drift
exit 0
