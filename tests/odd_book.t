#!/bin/sh
# A book in which somebody else has put rows that valve-book would have refused: every list is
# as it is without them, and the dump has them, so that they can be found.
. tests/tap.sh
. tests/book.sh
demo=$PWD/fixtures/demo
"$B/fixtures/demo-data" "$work" || exit 1
cd "$work" || exit 1
as_of=2026-11-01
for i in depot-a.csv depot-b.csv team-hc1.csv team-hc2.txt wheel-hc2.csv; do
    "$bin/valve-tidy" --recipe "$demo/recipes/${i%.*}.csv" "$i" >"tidy-$i" 2>tidy.err
done
"$vb" --as-of $as_of good.db families.csv engines.csv events.csv gauges.csv plan.csv lobes.csv tidy-* \
    2>load.err
cp good.db odd.db

# at DATE QUANTITY PLACE VALUE: a reading of HC-2's visit of this date
at() {
    sqlite3 odd.db "INSERT INTO places(quantity, at) VALUES('$2', '$3');
        INSERT INTO reading(reading, found, origin) SELECT visit << 16 | last_insert_rowid(), $4,
        (SELECT min(origin) FROM origins) FROM visits WHERE engine = 'HC-2' AND date LIKE '$1%' LIMIT 1"
}
visit=$(sqlite3 odd.db "SELECT substr(date, 1, 10) FROM readings WHERE engine = 'HC-2' AND quantity = 'opens' LIMIT 1")
at "$visit" lash left 0.3
at "$visit" opens left 20
at "$visit" shim left 2.5
at "$visit" colour 1E1 3
sqlite3 odd.db "
INSERT INTO events VALUES('HC-2', '2026-01-05', NULL, '', 'replace', 'bonnet', '', '', '', '', '');
INSERT INTO events VALUES('HC-2', '2026-01-05', NULL, '', 'replace', 'belt', 'somewhere', '', '', '', '');
INSERT INTO lobes VALUES('A', 400, 3, 'furlong');
INSERT INTO lobes VALUES('$(printf '%0200d' 0)', 0, 3, 'mm');
INSERT INTO gauges VALUES('odd-1', '', NULL, 'furlong', 0.1, '');
INSERT INTO gauges VALUES('odd-2', '', NULL, 'h', 0.1, '');
INSERT INTO gauges VALUES('odd-3', '', -0.1, 'mm', 1e300, '');
INSERT INTO gauges VALUES('odd-4', '', 1e300, 'in', -0.1, '');
" || exit 1
is 'the odd rows are there' "$(sqlite3 odd.db 'SELECT count(*) FROM reading, places')" \
    "$(sqlite3 good.db 'SELECT (count(*) + 4) * (SELECT count(*) + 4 FROM places) FROM reading')"

# alike NAME COMMAND ARGS...: the same from both books
alike() {
    alike_name=$1
    shift
    for b in good odd; do
        cp $b.db s.db
        run "$@" s.db
        printf '%s\n%s\n%s\n' "$status" "$err" "$out" >$b.out
    done
    ok "$alike_name" cmp good.out odd.out
    ok "$alike_name: says something" grep -q ^0 good.out
}
alike drift "$bin/valve-drift" --as-of $as_of --all --format csv
alike due "$bin/valve-due" --as-of $as_of --format csv
alike timing "$bin/valve-timing" --as-of $as_of --all --format csv
alike 'timing of each valve' "$bin/valve-timing" --as-of $as_of --each-valve --format csv
alike set "$bin/valve-set" --as-of $as_of --engine HC-2 --all --format csv
alike trend "$bin/valve-trend" --as-of $as_of --format html
for w in mcf weibull trend interval; do
    alike "life $w" "$bin/valve-life" --as-of $as_of --what $w --format csv
done
alike alert "$bin/valve-alert" --as-of $as_of --text --dry-run
"$vb" --dump readings odd.db | sed 1d | grep -e ,left, -e ,colour, | cut -d, -f 5-9 | sort >got
printf '%s\n' colour,1E1,3,, lash,left,0.3,,mm opens,left,20,,deg shim,left,2.5,,mm | sort >want
is "the dump has them" "$(cat got)" "$(cat want)"
done_testing
