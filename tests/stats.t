#!/bin/sh
# What is computed of an engine is kept in the book: lists from it are the same bytes as lists
# computed afresh, and every change of the book makes just those engines stale that it concerns.
. tests/tap.sh
. tests/book.sh
kill_after=$PWD/$B/tests/kill_after
bench_data=$PWD/$B/tests/bench_data
bench=$PWD/tests/bench
sh fixtures/demo/run.sh >"$work/demo.log" 2>&1
cp "$B/demo/shop.db" "$work/demo.db" || exit 1
cd "$work" || exit 1
as_of=2026-11-01

ask() { sqlite3 "$1" "$2"; }
forget() { ask "$1" 'DELETE FROM fresh'; }
fresh() { ask "$1" "SELECT group_concat(engine, ' ') FROM (SELECT engine FROM fresh ORDER BY engine)"; }

# lists BOOK FILE [DATE [afresh]]: all that drift and due say of a book, and how they end; afresh:
# nothing is kept before any of them
lists() {
    for lists_c in "valve-drift --all --format csv" "valve-drift --format json" \
        "valve-due --format csv"; do
        [ "${4:-}" ] && forget "$1"
        # shellcheck disable=SC2086
        "$bin"/$lists_c --as-of "${3:-$as_of}" "$1"
        echo "status $?"
    done >"$2" 2>&1
}

# agrees NAME BOOK [DATE]: from what is kept, once more, without it, and in a new book with the
# same tables: the same bytes. The book itself is left as it was found.
agrees() {
    cp "$2" agrees.db
    lists agrees.db agrees.1 "${3:-}"
    lists agrees.db agrees.2 "${3:-}"
    lists agrees.db agrees.3 "${3:-}" afresh
    rm -rf anew anew.db
    mkdir anew
    for agrees_t in $tables; do
        "$vb" --dump "$agrees_t" "$2" >"anew/$agrees_t.csv"
    done
    "$vb" --as-of 2026-11-01 anew.db anew/*.csv >anew.log 2>&1
    lists anew.db agrees.4 "${3:-}" afresh
    is "$1: there are lists" "$(grep -c '^status 0' agrees.1)" 3
    ok "$1: from kept rows" cmp agrees.1 agrees.2
    ok "$1: after all were deleted" cmp agrees.1 agrees.3
    ok "$1: in a new book" cmp agrees.1 agrees.4
}

### a generated book: 3 engines of family four, 2 of family twin, one never read
awk 'function draw() { seed = (seed * 69069 + 12345) % 4294967296; return seed / 4294967296 }
function row(e, v, at, found, left, gauge,    dry) {
    dry = e == "T-2" && v == 5
    printf "%s,2025-%02d-%02d,%s,%s,lash,%s,%s,%s,mm,%s,%s,%s,s.csv,%d\n", e, v, 3 + v, \
        dry ? "" : 40 * v + v % 3, dry ? "" : "h", at, found, left, \
        v % 4 == 1 ? "" : 0.004 + 0.001 * (v % 3), v % 5 ? 18 + v : "", gauge, ++n
}
BEGIN {
    seed = 7
    print "engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,source,line"
    for (k = 1; k <= 5; k++) {
        e = k <= 3 ? "F-" k : "T-" (k - 3)
        for (v = 1; v <= 10; v++)
            for (i = 0; i < (k <= 3 ? 4 : 8); i++) {
                at = k <= 3 ? (int(i / 2) + 1) substr("IE", 1 + i % 2, 1) \
                    : (int(i / 4) + 1) substr("IE", 1 + int(i / 2) % 2, 1) (1 + i % 2)
                if (e == "F-3" && i == 1 && v > 2)
                    continue
                if (e == "F-3" && i == 1) # read twice, never moved
                    row(e, v, at, v > 1 ? "0.25" : "", v > 1 ? "" : "0.25", "")
                else
                    row(e, v, at, sprintf("%.3f", 0.3 - 0.003 * v * (k <= 3 ? i % 2 : i % 3) + 0.01 * draw()), \
                        v % 4 ? "" : "0.30", v % 2 ? "blade" : "dial")
            }
    }
}' >readings.csv
cat >families.csv <<'END'
family,side,key,value,unit
four,,cylinders,2,
four,I,valves,1,
four,E,valves,1,
four,I,lash_min,0.20,mm
four,I,lash_max,0.40,mm
four,E,lash_min,0.20,mm
four,E,lash_max,0.40,mm
four,E,seat_limit,0.50,mm
four,,relash_interval,300,h
twin,,cylinders,2,
twin,I,valves,2,
twin,E,valves,2,
twin,I,lash_min,0.25,mm
twin,E,lash_min,0.25,mm
twin,E,lash_growth,0.0005,mm/Cel
twin,,relash_days,200,d
END
printf '%s\n' engine,family F-1,four F-2,four F-3,four F-4,four T-1,twin T-2,twin >engines.csv
cat >events.csv <<'END'
engine,date,meter,meter_unit,event,part,at,build
F-2,2025-06-20,,,build,,,B2
F-1,2025-05-20,,,replace,valve,1E,
T-1,2025-08-20,,,replace,seat,2,
END
printf '%s\n' engine,date,meter_gain,label T-1,2026-12-01,60,cup F-1,2026-11-20,,check >plan.csv
printf 'gauge,kind,resolution,unit,u,valid_until\nblade,feeler,,,,\n' >gauges.csv
hand 'the generated book' 0 '' s.db families.csv engines.csv events.csv gauges.csv plan.csv \
    readings.csv
is 'a loaded book has nothing kept' "$(fresh s.db)" ''
dump_all s.db before
agrees 'generated' s.db
agrees 'generated, in the past' s.db 2025-07-01
agrees 'demo' demo.db
lists s.db out
every='F-1 F-2 F-3 F-4 T-1 T-2'
is 'all engines are kept' "$(fresh s.db)" "$every"
# byte 1 counts the lives: four valves, two of F-1's and F-2's renewed in all of it or in one
is 'every life of every valve is kept' "$(ask s.db "SELECT group_concat(engine || ' ' ||
    hex(substr(kept, 1, 1)), ', ') FROM (SELECT * FROM fresh ORDER BY engine)")" \
    'F-1 05, F-2 08, F-3 04, F-4 00, T-1 0C, T-2 08'
unchanged 'no table has changed' s.db before
run "$vb" --dump fresh s.db
is 'what is kept is no table of the shop' "$status" 2
is 'the kept rows are sound' "$(sound s.db)" ok
cp s.db t.db
lists t.db out2 '' afresh
ok 'computed afresh' cmp out out2
is 'a seat that never moved closed 0 mm, not -0' "$(grep -o '^F-3,seat,1E,.*closed [-0.]* ' out |
    sed 's/.*closed//')" ' 0.000 '

### they are used, and only as long as they are good
# another ENGINE OF BOOK: what is kept of ENGINE is that of OF
another() { ask "$3" "UPDATE fresh SET (sums, kept) = (SELECT sums, kept FROM fresh WHERE engine = '$2') WHERE engine = '$1'"; }
# moved ENGINE LIST: what the first list of LIST says of the engine's lash and rates
moved() { sed '/^status/q' "$2" | grep "^$1," | cut -d, -f3,8,10-12; }
lists t.db out2
another F-3 F-2 t.db
lists t.db out2
is 'lists come from what is kept' "$(moved F-3 out2)" "$(moved F-2 out)"
ask t.db "UPDATE fresh SET version = 'another' WHERE engine = 'F-3'"
lists t.db out2
ok 'not from that of another version' cmp out out2
is 'which is kept anew' "$(ask t.db 'SELECT count(DISTINCT version) FROM fresh')" 1
for piece in sums kept; do
    ask t.db "UPDATE fresh SET $piece = CAST($piece || x'00' AS BLOB) WHERE engine = 'T-1'"
    lists t.db out2
    ok "$piece: nor where there is more than is said" cmp out out2
    whole=$(ask s.db "SELECT hex($piece) FROM fresh WHERE engine = 'T-1'")
    ask t.db "UPDATE fresh SET $piece = x'' WHERE engine = 'F-1'"
    cut=0
    while [ "$cut" -lt "${#whole}" ]; do
        ask t.db "UPDATE fresh SET $piece = x'$(echo "$whole" | head -c "$cut")' WHERE engine = 'T-1'"
        "$bin/valve-drift" --all --format csv --as-of $as_of t.db || break
        cut=$((cut + 2 * (1 + cut / 40)))
    done >out2 2>&1
    is "$piece: nor where it ends too soon, wherever" "$(sort -u out2)" "$("$bin/valve-drift" --all \
        --format csv --as-of $as_of s.db | sort -u)"
    ok "$piece: which was tried often" [ "$(grep -c '^engine,' out2)" -gt 50 ]
    while [ "$cut" -gt 32 ]; do # a piece of 8 bytes lost, as a disk loses them
        cut=$((cut - 2 * (1 + cut / 40)))
        ask t.db "UPDATE fresh SET $piece = x'$(echo "$whole" | head -c "$cut")0000000000000000$(
            echo "$whole" | tail -c +$((cut + 17)))' WHERE engine = 'T-1'"
        "$bin/valve-drift" --all --format csv --as-of $as_of t.db || break
    done >out2 2>&1
    is "$piece: nor where some of it is zeros" "$(sort -u out2)" "$("$bin/valve-drift" --all --format csv \
        --as-of $as_of s.db | sort -u)"
done
lists t.db out2
ok 'and all is kept whole again' cmp out out2
same_bytes="SELECT hex(sums), hex(kept) FROM fresh ORDER BY engine"
is 'the same bytes as before' "$(ask t.db "$same_bytes")" "$(ask s.db "$same_bytes")"

# stales NAME ENGINES STATUS ARGS...: a load into s.db leaves just these stale; afterwards the
# lists agree with every other way to get them, and all is kept again
stales() {
    stales_name=$1 stales_want=$2 stales_status=$3
    shift 3
    run "$vb" --as-of 2026-11-01 --no-end "$@"
    is "$stales_name: status" "$status" "$stales_status"
    is "$stales_name: stale" "$(ask s.db "SELECT group_concat(engine, ' ') FROM (SELECT engine
        FROM engines WHERE engine NOT IN (SELECT engine FROM fresh) ORDER BY engine)")" \
        "$stales_want"
    agrees "$stales_name" s.db
    lists s.db out
    is "$stales_name: kept again" "$(fresh s.db)" "$every"
}
head=engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line
sheet() { printf '%s\n' "$head" "$1" >sheet.csv; }

stales 'all again' '' 0 s.db families.csv engines.csv events.csv gauges.csv plan.csv readings.csv
sheet F-2,2026-01-05,700,h,lash,1I,0.27,,mm,,,,,,n.csv,1
stales 'a new reading' F-2 0 s.db sheet.csv
cp s.db t.db
another T-2 T-1 t.db
sheet F-2,2026-01-06,701,h,lash,1I,0.27,,mm,,,,,,n.csv,1
"$vb" --as-of $as_of --no-end t.db sheet.csv
lists t.db out2
is 'only its engine is computed then' "$(moved T-2 out2)" "$(moved T-1 out2)"
ok 'and it is' grep -q '^F-2,four,1I,B2,.*,0\.27,' out2
sheet F-2,2026-01-05,700,h,lash,1I,,0.30,mm,,,,,,n.csv,1
stales 'its other half' F-2 0 s.db sheet.csv
stales 'the same again' '' 0 s.db sheet.csv
sheet T-1,2025-02-20,100,h,leakdown,1,8,,%,,,,,,s.csv,
stales 'a visit between others' T-1 0 s.db sheet.csv
sheet T-2,2025-05-08,201,h,leakdown,1,8,,%,,,,,,s.csv,
stales 'a meter filled in' T-2 0 s.db sheet.csv
sheet F-1,2025-04-07,161,h,lash,1I,0.26,,mm,,,,,,c.csv,9
stales 'a contradiction, refused' '' 1 s.db sheet.csv
stales 'a correction' F-1 0 --correct s.db sheet.csv
stales 'the corrected sheet again' '' 0 s.db readings.csv
sheet F-1,2025-04-07,162,h,lash,1I,0.26,,mm,,,,,,c.csv,9
stales 'a meter corrected' F-1 0 --correct s.db sheet.csv

# A correction made in another book comes as its history.
cp s.db other.db
sheet T-1,2025-03-06,120,h,lash,1I1,0.251,,mm,,,,,,c.csv,9
"$vb" --as-of $as_of --no-end --correct other.db sheet.csv
"$vb" --dump history other.db >history.csv
stales 'a correction of another book' T-1 0 s.db history.csv
stales 'the same history again' '' 0 s.db history.csv
# An old value that comes in behind its correction is corrected when it comes.
printf '%s\n' table,key,seq,old,new 'readings,"T-2,2026-02-02,lash,1I1,found",1,0.3,0.28' \
    >history.csv
stales 'a correction of what is not here' '' 0 s.db history.csv
sheet T-2,2026-02-02,900,h,lash,1I1,0.3,,mm,,,,,,s.csv,
stales 'the old value behind it' T-2 0 s.db sheet.csv
is 'is corrected' "$(ask s.db "SELECT found FROM readings WHERE engine = 'T-2'
    AND date = '2026-02-02'")" 0.28

# events, facts, engines, gauges, plan
printf '%s\n' engine,date,event,build T-1,2025-09-20,build,B2 >ev.csv
stales 'an event' T-1 0 s.db ev.csv
printf '%s\n' engine,date,meter,meter_unit,event,at F-1,2025-07-01,400,h,meter,900 >ev.csv
stales 'an event that is refused' '' 1 s.db ev.csv
printf '%s\n' engine,date,meter,meter_unit,event,at F-3,2025-12-01,410,h,meter,0 >ev.csv
stales 'a meter swapped' F-3 0 s.db ev.csv
printf '%s\n' engine,date,event,build F-2,2025-06-20,build,B3 >ev.csv
stales 'an event corrected' F-2 0 --correct s.db ev.csv
printf '%s\n' family,side,key,value,unit twin,I,lash_growth,0.0007,mm/Cel >fact.csv
stales 'a fact of a family' 'T-1 T-2' 0 s.db fact.csv
printf '%s\n' family,side,key,value,unit four,E,seat_limit,0.4,mm >fact.csv
stales 'a fact corrected' 'F-1 F-2 F-3 F-4' 0 --correct s.db fact.csv
printf '%s\n' engine,date,meter_gain,label F-3,2026-11-15,20,rain >more.csv
stales 'a plan, which every list reads' '' 0 s.db more.csv
printf '%s\n' engine,family,site F-4,four,shed >more.csv
stales 'an engine filled in' F-4 0 s.db more.csv
printf '%s\n' gauge,resolution,unit,u blade,0.01,mm,0.02 >g.csv
stales 'a gauge filled in' "$every" 0 s.db g.csv
printf '%s\n' gauge,resolution,unit,u blade,0.01,mm,0.03 >g.csv
stales 'a gauge corrected' "$every" 0 --correct s.db g.csv
printf '%s\n' thickness,unit,count 2.5,mm,4 >more.csv
stales 'shims' '' 0 s.db more.csv

### gauges count: the same lists as with their u in every reading that has none of its own
gauge() { # NAME GAUGE-ROW U
    rm -f g1.db g2.db
    printf 'gauge,kind,resolution,unit,u,valid_until\n%s\n' "$2" >g.csv
    "$vb" --as-of $as_of --no-end g1.db families.csv engines.csv events.csv plan.csv g.csv \
        readings.csv
    awk -F, -v u="$3" 'BEGIN { OFS = FS } NR > 1 && $12 == "blade" && $10 == "" { $10 = u } 1' \
        readings.csv >with-u.csv
    "$vb" --as-of $as_of --no-end g2.db families.csv engines.csv events.csv plan.csv with-u.csv
    lists g1.db one
    lists g2.db two
    lists g1.db again
    ok "$1" cmp one two
    ok "$1, kept" cmp one again
}
gauge 'a gauge that states nothing' blade,feeler,,,, ''
cp one nothing
gauge 'u in mm' blade,feeler,,mm,0.02, 0.02
run cmp nothing one
is 'a stated u matters' "$status" 1
gauge 'u in another unit' blade,feeler,,um,20, 0.02
# JCGM 100:2008, 4.3.7: 0.001 in = 0.0254 mm, / sqrt(12)
gauge 'a resolution' blade,feeler,0.001,in,, "$(awk 'BEGIN { printf "%.17g", 0.0254 / sqrt(12) }')"
gauge 'where both are stated, u' blade,feeler,0.01,mm,0.02, 0.02
gauge 'another gauge' dti-9,dial,0.01,mm,0.02, ''
# More origins than are held in memory at once: 1,500 notes in turn, two gauges.
awk -F, 'BEGIN { OFS = FS } NR == 1 { print $0, "note"; next }
    { $12 = NR % 2 ? "blade" : "dial"; for (i = 0; i < 1; i++) print $0, "note " NR * 7 }' \
    readings.csv >notes.csv
rm -f g1.db g2.db
printf '%s\n' gauge,unit,u blade,mm,0.02 dial,mm,0.005 >g.csv
awk -F, 'BEGIN { OFS = FS } NR > 1 && $10 == "" { $10 = $12 == "blade" ? 0.02 : 0.005 } 1' \
    notes.csv >notes-u.csv
"$vb" --as-of $as_of --no-end g1.db families.csv engines.csv g.csv notes.csv
"$vb" --as-of $as_of --no-end g2.db families.csv engines.csv notes-u.csv
ask g1.db 'PRAGMA foreign_keys = 0; UPDATE origins SET origin = 1024 * origin + 1;
    UPDATE reading SET origin = 1024 * origin + 1'
lists g1.db one
lists g2.db two
ok 'every reading by another origin' cmp one two

### the past: computed from the readings, not kept, and what is kept stays
fresh s.db >fresh.1
cp s.db t.db
for day in 2025-01-01 2025-04-07 2025-06-20 2025-12-31; do
    agrees "as of $day" t.db "$day"
    lists t.db out2 "$day"
    fresh t.db >fresh.2
    ok "as of $day: what is kept stays" cmp fresh.1 fresh.2
done
forget t.db
lists t.db out2 2025-12-31
is 'only engines without anything later are kept then' "$(fresh t.db)" 'F-1 F-3 F-4 T-1'
lists s.db out
lists t.db out2
ok 'and the present is whole' cmp out out2
# What lies on the day itself is seen, with a time of day or without.
kept_t2() { ask t.db "SELECT count(*) FROM fresh WHERE engine = 'T-2'"; }
sheet '"T-2",2026-03-03 14:30,950,h,lash,1I1,0.28,,mm,,,,,,s.csv,'
"$vb" --as-of $as_of --no-end t.db sheet.csv
lists t.db out2 2026-03-02
is 'the day before, a visit is not seen' "$(kept_t2)" 0
lists t.db out2 2026-03-03
is 'on its day it is' "$(kept_t2)" 1

### one engine: its whole family is kept, since scatter is pooled
forget t.db
run "$bin/valve-drift" --as-of $as_of --engine F-2 --format csv t.db
is 'one engine' "$(fresh t.db)" 'F-1 F-2 F-3 F-4'
one=$out
run "$bin/valve-drift" --as-of $as_of --engine F-2 --format csv t.db
is 'once more' "$out" "$one"

### books that cannot be written are read all the same
cp s.db ro.db
forget ro.db
cp ro.db ro.before
# plain COMMAND...: as one who may not write
plain() {
    if [ "$(id -u)" -eq 0 ]; then
        setpriv --reuid=65534 --regid=65534 --clear-groups "$@"
    else
        "$@"
    fi
}
both() { # FILE BOOK COMMAND...: both lists, as they end
    both_file=$1 both_book=$2
    shift 2
    for both_c in valve-drift valve-due; do
        "$@" "$bin/$both_c" --as-of $as_of --format csv "$both_book"
        echo "status $?"
    done >"$both_file" 2>&1
}
mkdir shut
cp ro.db shut/ro.db
chmod 755 . shut
both want s.db env
# a program that counts what it runs through says so where it cannot write the count
if [ "${B%-cov}" = "$B" ] && plain "$bin/valve-drift" --version >/dev/null 2>&1; then
    look() { # NAME
        both look shut/ro.db plain
        ok "$1" cmp look want
        ok "$1: not touched" cmp shut/ro.db ro.before
        is "$1: nothing beside it" "$(ls shut)" ro.db
    }
    chmod 444 shut/ro.db
    chmod 777 shut
    look 'a file that is read-only'
    chmod 666 shut/ro.db
    chmod 555 shut
    look 'a directory that is read-only'
    chmod 444 shut/ro.db
    look 'both'
    chmod 755 shut
else
    skip 'read-only file and directory' 'no other user can run the programs here'
fi

### another process is about to write: no waiting, no error, nothing kept
begun=$(date +%s)
drift="$bin/valve-drift --all --format csv --as-of $as_of"
$drift s.db >want 2>&1
sqlite3 ro.db 'BEGIN IMMEDIATE' ".shell $drift ro.db >look 2>&1" ROLLBACK
ok 'while another one holds the lock' cmp look want
is 'nothing is kept then' "$(fresh ro.db)" ''
sqlite3 ro.db BEGIN 'SELECT 1 FROM engines' ".shell $drift ro.db >look 2>&1" ROLLBACK >/dev/null
ok 'while another one reads' cmp look want
is 'nothing is kept either' "$(fresh ro.db)" ''
ok 'and neither is waited for' test $(($(date +%s) - begun)) -lt 8
for i in 1 2 3 4; do
    $drift ro.db >"par.$i" 2>&1 &
done
wait
for i in 1 2 3 4; do cmp "par.$i" want; done >par 2>&1
is 'four at once say the same' "$(cat par)" ''
lists ro.db out2
is 'and all is kept in the end' "$(fresh ro.db)" "$every"
is 'a book read by many is sound' "$(sound ro.db)" ok

### a book of version 1
cp s.db v1.db
older v1.db 'DROP TABLE fresh; DROP TABLE alerts; DROP TABLE alerts_told;
    ALTER TABLE events DROP COLUMN faces; ALTER TABLE events DROP COLUMN item;
    UPDATE history SET old = substr(old, 1, length(old) - 2),
    new = substr(new, 1, length(new) - 2) WHERE "table" = '\''events'\'';
    DROP TABLE trials; CREATE TABLE trials(gauge TEXT NOT NULL, part TEXT NOT NULL, by TEXT NOT NULL,'\
' trial REAL NOT NULL, value REAL NOT NULL, unit TEXT NOT NULL, PRIMARY KEY(gauge, part, by, trial))'\
' STRICT, WITHOUT ROWID; PRAGMA user_version = 1; VACUUM'
# the sum of the schema of a book made by the last program that wrote version 1
is 'the first step is what it was' "$(ask v1.db 'SELECT type, name, sql FROM sqlite_schema
    WHERE sql NOT NULL ORDER BY name' | cksum)" '2178124346 2747'
run "$bin/valve-drift" --as-of $as_of v1.db
is 'a list says that it is old' "$status|$err" \
    '2|valve-drift: v1.db: this book is of an older version; valve-book brings it up to date'
hand 'valve-book brings it up to date' 0 '' v1.db engines.csv
is 'it has the version of today' "$(ask v1.db 'PRAGMA user_version')" 9
lists s.db out
lists v1.db out2
ok 'its lists are the same' cmp out out2
is 'and kept' "$(fresh v1.db)" "$every"
same 'and so are its tables' s.db v1.db

### a book of version 5, which kept a column a number
cp s.db v5.db
older v5.db "ALTER TABLE alerts DROP COLUMN found; DROP TABLE fresh; CREATE TABLE fresh(engine TEXT PRIMARY KEY NOT NULL REFERENCES engines,
    version TEXT NOT NULL, newest TEXT NOT NULL) STRICT, WITHOUT ROWID; CREATE TABLE units(engine TEXT);
    CREATE TABLE lives(engine TEXT); INSERT INTO fresh SELECT engine, '0.1.0', '2026-01-01' FROM engines;
    PRAGMA user_version = 5"
hand 'a book of version 5 is brought up to date' 0 '' v5.db engines.csv
is 'what it kept is gone' "$(fresh v5.db)" ''
lists v5.db out2
ok 'its lists are the same too' cmp out out2
is 'and kept there too' "$(fresh v5.db)" "$every"

### a book of version 6, which kept all of an engine in one piece
cp s.db v6.db
older v6.db "ALTER TABLE alerts DROP COLUMN found; DROP TABLE fresh; CREATE TABLE fresh(engine TEXT PRIMARY KEY NOT NULL REFERENCES engines,
    version TEXT NOT NULL, newest TEXT NOT NULL, kept BLOB NOT NULL) STRICT;
    INSERT INTO fresh SELECT engine, '0.1.0', '2026-01-01', x'00' FROM engines; PRAGMA user_version = 6"
hand 'a book of version 6 is brought up to date' 0 '' v6.db engines.csv
is 'what that kept is gone' "$(fresh v6.db)" ''
lists v6.db out2
ok 'and its lists are the same' cmp out out2
"$vb" holes.db families.csv
is 'a new book has no holes' "$(ask holes.db 'PRAGMA freelist_count')" 0

### merging does not see what is kept
for i in s demo; do
    rm -rf "from-$i" && mkdir "from-$i"
    for t in $tables; do "$vb" --dump "$t" "$i.db" >"from-$i/$t.csv"; done
done
cp s.db sd.db && cp demo.db ds.db
"$vb" --as-of 2026-11-01 sd.db from-demo/*.csv
"$vb" --as-of 2026-11-01 ds.db from-s/*.csv
same 'two books merged either way' sd.db ds.db
lists sd.db out
lists ds.db out2
ok 'and their lists' cmp out out2

### killed while it keeps: the book is as it was or whole
"$bench_data" 72000 3 >export.csv
"$bench_data" 72000 3 engines >many.csv
"$bin/valve-tidy" --recipe "$bench/recipe.csv" export.csv >many-readings.csv
"$vb" base.db "$bench/families.csv" many.csv many-readings.csv
cp base.db k.db
keep="$bin/valve-drift --format csv --as-of $as_of k.db"
$keep >want
dump_all k.db before
is 'many engines are kept' "$(ask k.db 'SELECT count(*) FROM fresh')" 150
# One of many: the others are neither computed nor written again.
ask k.db "UPDATE fresh SET newest = '2000-01-01'; DELETE FROM fresh WHERE engine IN ('GX-00003', 'GX-00099')"
$keep >look
is 'two of many are computed' "$(ask k.db "SELECT group_concat(engine) FROM (SELECT engine FROM fresh
    WHERE newest <> '2000-01-01' ORDER BY engine)")" GX-00003,GX-00099
is 'and kept' "$(ask k.db 'SELECT count(*) FROM fresh')" 150
for piece in sums kept; do
    ask k.db "UPDATE fresh SET $piece = x'00' WHERE engine IN ('GX-00003', 'GX-00099', 'GX-00150')"
    $keep >look
    ok "$piece of a few of many is damaged" cmp want look
done
# One by one they are what they are among all: a family's rates are counted over all of it.
for engine in $(sed 1d want | cut -d, -f1 | sort -u | sed -n '1p;31,34p;64,65p;$p'); do
    $keep --engine "$engine"
done | grep -v '^engine,' >look
is 'an engine alone reads as in the whole' "$(cat look)" \
    "$(sed 1d want | grep -E "^($(cut -d, -f1 look | sort -u | paste -sd'|')),")"
ok 'of all eight' [ "$(cut -d, -f1 look | sort -u | wc -l)" = 8 ]

# Whoever does not read on keeps nobody from writing.
mkfifo go
$keep | {
    head -c 1 >begun
    cat go >/dev/null
    cat >rest
} &
for _ in $(seq 400); do
    [ -s begun ] && break
    sleep 0.05
done
ok 'a list that waits for its reader holds no lock' sqlite3 -cmd '.timeout 0' k.db \
    'BEGIN EXCLUSIVE; ROLLBACK'
echo >go
wait
ok 'which gets all of it' [ "$(cat begun rest | cksum)" = "$(cksum <want)" ]
cp base.db k.db
# shellcheck disable=SC2086
took=$("$kill_after" 0 $keep 2>&1 | tail -n 1)
killed=0 hot=0 wrong=0 i=0 kills=${VB_ALL:+25}
kills=${kills:-8}
while [ "$i" -lt "$kills" ]; do
    i=$((i + 1))
    cp base.db k.db
    # shellcheck disable=SC2086
    case $("$kill_after" $((took * i / (kills + 1))) $keep | tail -n 1) in
    *killed) killed=$((killed + 1)) ;;
    esac
    [ -s k.db-journal ] && hot=$((hot + 1))
    $keep >look 2>&1
    cmp -s look want || wrong=$((wrong + 1))
    [ "$(sound k.db)" = ok ] || wrong=$((wrong + 1))
    [ "$(ask k.db 'SELECT count(*) FROM fresh')" = 150 ] || wrong=$((wrong + 1))
done
echo "# $killed of $kills killed, $hot of them while writing, within $took us"
ok 'most were killed on the way' [ "$killed" -ge $((kills / 2)) ]
is 'the next list is right and keeps all' "$wrong" 0
unchanged 'and the tables are what they were' k.db before
done_testing
