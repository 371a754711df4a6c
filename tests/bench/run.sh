#!/bin/sh
# make bench: whole processes on one seeded export, ours and general tools on the same work in
# the same run, taking turns so that all meet the same machine. Prints tables; nothing here
# fails for being slow. ROWS, ROUNDS and SEED may be set; docs/performance.md has the figures
# of one such run.
set -eu
B=${B:-build}
here=tests/bench
dir=$B/bench
rows=${ROWS:-2000000} rounds=${ROUNDS:-5} seed=${SEED:-1}
as_of=2025-01-31
. $here/common.sh
begin
"$B/tests/bench_data" "$rows" "$seed" >"$dir/export.csv"
"$B/tests/bench_data" "$rows" "$seed" engines >"$dir/engines.csv"
"$B/tests/bench_data" "$rows" "$seed" more >"$dir/more.csv"
"$bin/valve-book" "$dir/empty.db" "$here/families.csv" "$dir/engines.csv"
fields=engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line
load="$bin/valve-tidy --recipe recipe.csv"
drift="$bin/valve-drift --as-of $as_of --format csv"
due="$bin/valve-due --as-of $as_of --within 60d --format csv"
alert="$bin/valve-alert --as-of $as_of --within 60d --from bench@shop.example"

# three BOOK SUFFIX: the lists of a night
three() {
    take "drift$2" "$drift $1 > drift$2.csv"
    take "due$2" "$due $1 > due$2.csv"
    take "alert$2" "$alert $1 > alert$2.txt"
}

i=0
while [ "$i" -lt "$rounds" ]; do
    i=$((i + 1))
    rm -f "$dir"/theirs.db* "$dir"/duck.db* "$dir"/floor.db*
    cp "$dir/empty.db" "$dir/ours.db"
    take pipe "$load export.csv | $bin/valve-book ours.db"
    take import "sqlite3 theirs.db '.mode csv' '.import export.csv raw'"
    duck duck_open open
    duck duck_load load duck.db export.csv
    take tidy "$load export.csv > ours.csv"
    if command -v mlr >/dev/null 2>&1; then
        take mlr "mlr --icsv --ocsv put -f same.mlr then cut -o -f $fields export.csv > theirs.csv"
    fi
    take csv_floor "$tests/csv_floor export.csv"
    take insert_floor "$tests/insert_floor floor.db $rows"
    cp "$dir/empty.db" "$dir/ours.db"
    take book "$bin/valve-book ours.db ours.csv"
    duck duck_slope slope duck.db slope.csv
    duck duck_wear wear duck.db wear.csv
    for list in drift due alert; do # each with nothing kept
        cp "$dir/ours.db" "$dir/one.db"
        eval "take ${list}_first \"\$$list one.db > $list.csv\""
    done
    three one.db _again
    take more "$load more.csv | $bin/valve-book one.db"
    three one.db _more
done

echo "$rows rows, $(wc -c <"$dir/export.csv") bytes, seed $seed, median of $rounds rounds;" \
    "sqlite3 $(sqlite3 --version | cut -d' ' -f1)"
heading
row pipe "valve-tidy | valve-book"
row import "sqlite3 .import"
row duck_load "DuckDB, typed, to disk"
row duck_open "DuckDB, only opened"
row tidy "valve-tidy"
row mlr "mlr, same conversions"
row csv_floor "libcsv, parsing alone"
row book "valve-book of a tidy table"
row insert_floor "SQLite, inserts alone"
row drift_first "valve-drift, nothing kept"
row due_first "valve-due, nothing kept"
row alert_first "valve-alert, nothing kept"
row duck_wear "DuckDB, slopes of wear"
row duck_slope "DuckDB, slopes of found"
row drift_again "valve-drift, all kept"
row due_again "valve-due, all kept"
row alert_again "valve-alert, all kept"
row more "tidy | book of $(($(wc -l <"$dir/more.csv") - 1)) more"
row drift_more "valve-drift after these"
row due_more "valve-due after these"
row alert_more "valve-alert after these"
echo
ratio "tidy | book : sqlite3 .import" 0.40 pipe : import
ratio "tidy | book : DuckDB, typed" 1.00 pipe : duck_load
ratio "valve-tidy : mlr" - tidy : mlr
ratio "valve-tidy : libcsv alone" - tidy : csv_floor
ratio "valve-book : SQLite inserts alone" - book : insert_floor
ratio "drift, nothing kept : DuckDB, wear" 1.00 drift_first : duck_wear
ratio "drift, nothing kept : DuckDB, found" - drift_first : duck_slope
ratio "three lists after 1,000 : nothing kept" 0.05 drift_more due_more alert_more : \
    drift_first due_first alert_first
exit 0
