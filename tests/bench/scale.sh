#!/bin/sh
# make bench-scale: the same commands at growing numbers of readings, the memory they take and
# the power of the rows that their time grows by; then what a second core and a second book
# bring. ROWS (a list) and SEED may be set; docs/scale.md has the figures of one such run.
set -eu
B=${B:-build}
dir=$B/scale
sizes=${ROWS:-200000 2000000 20000000} seed=${SEED:-1}
as_of=2025-01-31
. tests/bench/common.sh
begin
names="tidy book drift_first drift_again due_again alert_again"

for rows in $sizes; do
    rm -f "$dir"/*.db* "$dir"/*.times
    "$tests/bench_data" "$rows" "$seed" >"$dir/export.csv"
    "$tests/bench_data" "$rows" "$seed" engines >"$dir/engines.csv"
    "$bin/valve-book" "$dir/ours.db" tests/bench/families.csv "$dir/engines.csv"
    take tidy "$bin/valve-tidy --recipe recipe.csv export.csv > /dev/null"
    take book "$bin/valve-tidy --recipe recipe.csv export.csv | $bin/valve-book ours.db"
    take drift_first "$bin/valve-drift --as-of $as_of --format csv ours.db > drift.csv"
    take drift_again "$bin/valve-drift --as-of $as_of --format csv ours.db > drift.csv"
    take due_again "$bin/valve-due --as-of $as_of --within 60d --format csv ours.db > due.csv"
    take alert_again "$bin/valve-alert --as-of $as_of --within 60d --from bench@shop.example ours.db > alert.txt"
    echo "$rows rows, $(wc -c <"$dir/export.csv") bytes; book $(wc -c <"$dir/ours.db") bytes"
    heading
    row tidy "valve-tidy"
    row book "valve-tidy | valve-book"
    row drift_first "valve-drift, nothing kept"
    row drift_again "valve-drift, all kept"
    row due_again "valve-due, all kept"
    row alert_again "valve-alert, all kept"
    echo
    for name in $names; do
        echo "$name $rows $(cat "$dir/$name.times")" >>"$dir/all"
    done
done

# Least squares of log time on log rows.
echo "time grows by this power of the rows (goal 1.05), and most memory (goal 32768 KiB)"
for name in $names; do
    awk -v name="$name" '$1 == name { n++; x = log($2); y = log($3); sx += x; sy += y; sxx += x * x; sxy += x * y
        syy += y * y; if ($5 > most) most = $5 }
        END { b = (n * sxy - sx * sy) / (n * sxx - sx * sx); a = (sy - b * sx) / n
            sse = syy - a * sy - b * sxy
            se = n > 2 ? sqrt((sse > 0 ? sse : 0) / (n - 2) / (sxx - sx * sx / n)) : 0
            printf "%-12s %.3f +- %.3f: %-7s %8d KiB: %s\n", name, b, se, b <= 1.05 ? "met" : "missed",
                most, most <= 32768 ? "met" : "missed" }' "$dir/all"
done
rm -f "$dir"/*.csv "$dir"/ours.db "$dir/all"
cp tests/bench/recipe.csv "$dir/"

# Four depots of half a million readings each: exports tidied one after the other or side by
# side, into one book; and a book a depot, put together afterwards.
echo
rm -f "$dir"/*.times
"$tests/bench_data" 2000000 "$seed" engines >"$dir/engines.csv"
"$tests/bench_data" 2000000 "$seed" | awk -v dir="$dir" 'NR == 1 { for (i = 1; i <= 4; i++) print >(dir "/depot-" i ".csv"); next }
    { print >(dir "/depot-" 1 + substr($1, 4) % 4 ".csv") }' FS=,
"$bin/valve-book" "$dir/empty.db" tests/bench/families.csv "$dir/engines.csv"
depots="depot-1.csv depot-2.csv depot-3.csv depot-4.csv"
cp "$dir/empty.db" "$dir/one.db"
take one "$bin/valve-tidy --recipe recipe.csv $depots | $bin/valve-book one.db"
take alone "$bin/valve-tidy --recipe recipe.csv $depots > /dev/null"
if command -v parallel >/dev/null 2>&1; then
    take side "parallel -j2 $bin/valve-tidy --recipe recipe.csv {} '>' {.}.tidy ::: $depots"
    cp "$dir/empty.db" "$dir/two.db"
    take loaded "$bin/valve-book two.db depot-1.tidy depot-2.tidy depot-3.tidy depot-4.tidy"
else
    echo "bench: no parallel here: its rows are left out"
fi
for i in 1 2 3 4; do
    cp "$dir/empty.db" "$dir/depot-$i.db"
    (cd "$dir" && "$bin/valve-tidy" --recipe recipe.csv depot-$i.csv | "$bin/valve-book" depot-$i.db)
    take dumps "$bin/valve-book --dump readings depot-$i.db > dump-$i.csv"
done
cp "$dir/empty.db" "$dir/all.db"
take merge "$bin/valve-book all.db dump-1.csv dump-2.csv dump-3.csv dump-4.csv"
cp "$dir/all.db" "$dir/again.db"
take known "$bin/valve-book again.db dump-1.csv"
heading
row alone "tidy of four exports"
row side "the same, two at a time"
row one "tidy | book of all four"
row loaded "book of four tidy tables"
row dumps "dump of one depot's book"
row merge "book of four dumps"
row known "a depot's dump once more"
"$bin/valve-book" --dump readings "$dir/one.db" | sort >"$dir/a"
"$bin/valve-book" --dump readings "$dir/all.db" | sort >"$dir/b"
cmp "$dir/a" "$dir/b" && echo "the book of the dumps is the book of the exports"
rm -rf "$dir"
exit 0
