#!/bin/sh
# valve-book: readings are numbered by their visit and their place. Where numbers follow each
# other SQLite counts them itself: it must count right, or nothing goes in.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
heading='engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line'
printf '%s\n' family,side,key,value,unit four,,cylinders,4, four,I,valves,1, four,E,valves,1, >families.csv
printf '%s\n' engine,family A-1,four A-2,four >engines.csv

# table ROW...: a table of readings of engine,date,valve,found
table() {
    echo "$heading"
    for t in "$@"; do
        echo "$t" | awk -F, -v OFS=, '{ print $1, $2, "", "", "lash", $3, $4, "", "mm", "", "", "", "", "", "s.csv", 2 }'
    done
}
all="SELECT engine, date, at, found FROM readings ORDER BY 1, 2, 3"

# places in order, backwards, with gaps, and again in a second load
table A-1,2026-01-01,1I,0.11 A-1,2026-01-01,1E,0.12 A-1,2026-01-01,2I,0.13 A-1,2026-01-01,2E,0.14 \
    A-1,2026-02-01,2E,0.24 A-1,2026-02-01,2I,0.23 A-1,2026-02-01,1E,0.22 A-1,2026-02-01,1I,0.21 \
    A-2,2026-01-01,2E,0.34 A-2,2026-01-01,1I,0.31 A-2,2026-01-01,1E,0.32 A-2,2026-01-01,3I,0.35 >first.csv
table A-1,2026-03-01,1E,0.42 A-1,2026-03-01,2I,0.43 A-1,2026-03-01,3I,0.45 A-2,2026-01-01,2I,0.33 \
    A-2,2026-01-15,2E,0.54 A-1,2026-03-01,2E,0.44 >second.csv
"$vb" --as-of 2026-11-01 --no-end b.db families.csv engines.csv first.csv
run "$vb" --as-of 2026-11-01 --no-end b.db second.csv
is 'both loads go in' "$status$out$err" 0
is 'every reading is where it was read' "$(sqlite3 b.db "$all")" "$(tail -qn +2 first.csv second.csv |
    awk -F, '{ print $1 "|" $2 "|" $6 "|" $7 }' | LC_ALL=C sort)"
is 'and the book is sound' "$(sound b.db)" ok

# in a book in which a reading of no visit stands behind all others
more=$(table A-1,2026-04-01,1I,0.61 A-1,2026-04-01,1E,0.62 A-1,2026-04-01,2I,0.63)
echo "$more" >third.csv
cp b.db odd.db
sqlite3 odd.db 'INSERT INTO reading SELECT (max(visit) + 9) << 16, 0.5, NULL, NULL, NULL, 1, 1 FROM visits'
run "$vb" --as-of 2026-11-01 --no-end odd.db third.csv
is 'a reading that belongs nowhere attracts no others' "$status$err$(sqlite3 odd.db "SELECT date, at, found
    FROM readings WHERE date = '2026-04-01' ORDER BY 2")" \
    '02026-04-01|1E|0.62
2026-04-01|1I|0.61
2026-04-01|2I|0.63'

# with triggers, which make SQLite work another way: they are not run
cp b.db odd.db
sqlite3 odd.db 'CREATE TABLE seen(reading); CREATE TRIGGER see BEFORE INSERT ON reading
    BEGIN INSERT INTO seen VALUES(new.reading); END'
run "$vb" --as-of 2026-11-01 --no-end odd.db third.csv
is 'a trigger is not run' "$status$err$(sqlite3 odd.db "SELECT (SELECT count(*) FROM seen), (SELECT count(*)
    FROM reading JOIN visits ON visit = reading >> 16 WHERE date = '2026-04-01')")" '00|3'
cp b.db odd.db
refuses odd.db reading 'found > 0.62'
run "$vb" --as-of 2026-11-01 --no-end odd.db third.csv
is 'what refuses a row says so, and nothing goes in' \
    "$status|$err|$(sqlite3 odd.db "SELECT count(*) FROM visits WHERE date = '2026-04-01'")" \
    '2|valve-book: odd.db: integer overflow|0'

# visits of one reading each, behind a row that the book has: a batch is full of both at once
awk 'BEGIN { print "engine,family"; for (e = 1; e <= 170; e++) print "B-" e ",four" }' >many-engines.csv
awk -v OFS=, 'BEGIN {
    print "engine", "date", "meter", "meter_unit", "quantity", "at", "found", "unit"
    for (e = 1; e <= 170; e++)
        for (v = 0; v < 100; v++)
            print "B-" e, sprintf("%d-%02d-01", 2010 + v / 12, v % 12 + 1), 10 * v, "h", "lash", "1I", 0.2, "mm"
}' >many.csv
head -n 2 many.csv >one.csv
"$vb" --as-of 2026-11-01 --no-end many.db families.csv many-engines.csv one.csv
cp many.db odd.db
run "$vb" --as-of 2026-11-01 --no-end many.db many.csv
is 'seventeen thousand visits of one reading' "$status|$err|$(sqlite3 many.db 'SELECT (SELECT count(*) FROM visits),
    (SELECT count(*) FROM reading)')|$(sound many.db)" '0||17000|17000|ok'
refuses odd.db visits 'visit > 5000'
run "$vb" --as-of 2026-11-01 --no-end odd.db many.csv
is 'the first batch fails while the second is filled' "$status|$err|$(sqlite3 odd.db 'SELECT count(*) FROM visits')" \
    '2|valve-book: odd.db: integer overflow|1'
done_testing
