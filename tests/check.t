#!/bin/sh
# valve-book --check: a whole book is whole, and each kind of damage, made on purpose, is told by
# its table and its row. Nothing is ever written.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
as_of=2026-11-01
heading='table,key,column,reason'

# check BOOK: sets status, out and err, and told: what was found, without heading and end
check() {
    run "$vb" --check --as-of $as_of "$1"
    told=$(printf '%s\n' "$out" | sed '1d;$d')
}

# finds NAME SQL WANT: after this was done to a copy of the book that is all that is told
finds() {
    cp good.db s.db
    sqlite3 s.db "$2" || echo "# $1: the damage could not be done"
    cp s.db s.before
    check s.db
    is "$1" "$status|$told|$err" "1|$3|"
    cmp -s s.db s.before || is "$1: the book is as before" changed same
}

# loose TABLE: SQL after which the table of a book takes cells of any kind; strict TABLE: no more
loose() {
    echo "PRAGMA writable_schema=1;
        UPDATE sqlite_schema SET sql = replace(sql, 'STRICT', '') WHERE name = '$1'"
}
strict() {
    echo "PRAGMA writable_schema=1; UPDATE sqlite_schema SET sql = CASE WHEN sql LIKE '%WITHOUT ROWID'
        THEN replace(sql, 'WITHOUT', 'STRICT, WITHOUT') ELSE sql || ' STRICT' END WHERE name = '$1'"
}

### a book with something in every table
cat >families.csv <<'END'
family,side,key,value,unit
four,,cylinders,4,
four,I,valves,1,
four,E,valves,1,
four,E,lash_min,0.2,mm
four,E,lash_max,0.4,mm
four,E,lobe,A,
END
printf '%s\n' engine,family,in_service HC-1,four,2025-01-01 HC-2,four, >engines.csv
cat >events.csv <<'END'
engine,date,meter,meter_unit,event,part,at,build
HC-1,2025-05-01,200,h,build,,,B2
HC-1,2025-09-01,310,h,meter,,5,
HC-2,2025-05-02,40,h,replace,valve,1E,
END
printf '%s\n' gauge,kind,resolution,unit,u,valid_until feeler,blades,0.01,mm,0.01,2027-01-01 >gauges.csv
printf '%s\n' engine,date,meter_gain,label HC-1,2026-12-01,20,winter >plan.csv
printf '%s\n' lobe,cam_deg,lift,unit A,0,8,mm A,90,0,mm >lobes.csv
printf '%s\n' thickness,unit,count 2.5,mm,3 >shims.csv
printf '%s\n' gauge,part,by,trial,value,unit feeler,p1,cd,1,0.25,mm feeler,p1,cd,2,0.25/0.3,mm >trials.csv
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line
HC-1,2025-02-01,100,h,lash,1E,0.3,,mm,0.01,20,feeler,cd,,a.csv,2
HC-1,2025-02-01,100,h,lash,2E,0.31,,mm,,,feeler,cd,,a.csv,3
HC-1,2025-06-01,250,h,lash,1E,0.29,,mm,,,,ef,,b.csv,2
HC-1,2025-10-01,30,h,lash,1E,0.27,0.3,mm,,,,ef,,b.csv,3
HC-2,2025-03-01,20,h,lash,1E,0.3,,mm,,,,,,,
HC-2,2025-06-01,,,lash,1E,0.32,,mm,,,,,,,
HC-2,2025-06-01,,,opens,1E,20,,deg,,,,,,,
END
sed 's/2E,0.31/2E,0.33/; 2d; 4,$d' readings.csv >again.csv
sed -n '1p; 8p' readings.csv >gone.csv
hand 'the book' 0 '' good.db families.csv engines.csv events.csv gauges.csv plan.csv lobes.csv shims.csv \
    trials.csv readings.csv
cp good.db bare.db
hand 'a reading is corrected' 0 '' --correct good.db again.csv
run "$vb" --withdraw --no-end good.db gone.csv
is 'one is withdrawn' "$status$err" 0
run "$bin/valve-alert" --as-of $as_of --text good.db
is 'alerts are said, and what lists keep is kept' "$status|$(sqlite3 good.db '
    SELECT (SELECT count(*) FROM alerts) > 0, (SELECT count(*) FROM fresh)')" '0|1|2'
run "$vb" --check --as-of $as_of good.db
is 'a whole book' "$status|$out|$err" "0|$heading
end,,,\"nothing wrong: engines 2, visits 5, readings 6, events 3, history 3, kept 2\"|"
check bare.db
is 'one without a history and anything kept' "$status|$told$err" '0|'
run "$vb" --as-of $as_of new.db families.csv
check new.db
is 'one without an engine' "$status|$out" "0|$heading
end,,,\"nothing wrong: engines 0, visits 0, readings 0, events 0, history 0, kept 0\""

### what it goes with
run "$vb" --check
is 'a book is needed' "$status|$out" '2|'
run "$vb" --check good.db readings.csv
is 'and no table' "$status|$out" '2|'
for o in --correct --no-end --withdraw '--dump engines' '--rejects r.csv'; do
    # shellcheck disable=SC2086
    run "$vb" --check $o good.db
    is "not with $o" "$status|$out" '2|'
done
ok 'no rejects were made' test ! -e r.csv
run "$vb" --check nowhere.db
is 'no such book' "$status|$out|$err" '2||valve-book: nowhere.db: No such file or directory'
ok 'and none is made' test ! -e nowhere.db
echo engine >text.db
run "$vb" --check text.db
is 'no book' "$status|$out|$err" '2||valve-book: text.db: file is not a database'
cp good.db newer.db
sqlite3 newer.db 'PRAGMA user_version = 99'
run "$vb" --check newer.db
is 'a newer one' "$status|$out|$err" '2||valve-book: newer.db: this book was written by a newer version of valvebook'
head -c 40000 good.db >short.db
run "$vb" --check short.db
is 'one cut short' "$status|$out|$err" '2||valve-book: short.db: database disk image is malformed'
run sh -c "'$vb' --check good.db >/dev/full"
is 'nowhere to write' "$status" 2

### a book that may only be read, one that is being loaded, one with a log
run_as() {
    if [ "$(id -u)" -eq 0 ]; then setpriv --reuid=65534 --regid=65534 --clear-groups "$@"; else "$@"; fi
}
if [ "${B%-cov}" = "$B" ] && run_as "$vb" --version >/dev/null 2>&1; then
    mkdir shut
    cp good.db shut
    chmod 755 . && chmod 444 shut/good.db && chmod 555 shut
    run run_as "$vb" --check --as-of $as_of shut/good.db
    is 'a book that may only be read' "$status|$(echo "$out" | wc -l)|$err" '0|2|'
    chmod 755 shut
else
    skip 'a book that may only be read' 'no other user can run the programs'
fi
cp good.db s.db
sqlite3 s.db 'BEGIN IMMEDIATE' 'UPDATE reading SET found = 99' \
    ".shell '$vb' --check --as-of $as_of s.db >look 2>&1; echo \$? >>look" ROLLBACK
is 'beside a loader' "$(tail -n 1 look)|$(wc -l <look)" '0|3'
cp good.db s.db
sqlite3 s.db 'PRAGMA journal_mode = WAL' >mode
check s.db
is 'a book with a write-ahead log' "$status|$told$err" '0|'

### the file
pages=$(sqlite3 good.db 'PRAGMA page_size')
# zeroed PAGE: a copy of the book with zeros in this page
zeroed() {
    cp good.db s.db
    head -c "$pages" /dev/zero | dd of=s.db bs="$pages" seek=$(($1 - 1)) conv=notrunc 2>/dev/null
}
sqlite3 -separator ' ' good.db 'SELECT tbl_name, name, rootpage FROM sqlite_schema WHERE rootpage > 0' >roots
while read -r table name root; do
    zeroed "$root"
    check s.db
    is "zeros in $name" "$status|$(printf '%s\n' "$told" | cut -d'(' -f1)|$err" \
        "1|$table,,,page $root of the file is damaged |"
done <roots
zeroed "$(sqlite3 good.db "SELECT rootpage FROM sqlite_schema WHERE name = 'visits'")"
check s.db
is 'what needs that table is not looked at' "$(printf '%s\n' "$out" | tail -n 1)" \
    'end,,,"1 finding: engines 2, events 3, history 3; not looked at: readings, meters, corrections, kept"'
zeroed 1
check s.db
is 'zeros in the first page: no book' "$status|$out|$err" '2||valve-book: s.db: file is not a database'
root=$(sqlite3 good.db "SELECT rootpage FROM sqlite_schema WHERE name = 'reading'")
cp good.db s.db
head -c 4000 /dev/zero | tr '\0' Z | dd of=s.db bs=1 seek=$((root * pages - 4000)) conv=notrunc 2>/dev/null
check s.db
is 'noise in a page: once, however many cells it hit' "$status|$(printf '%s\n' "$told" | cut -d'(' -f1)" \
    "1|reading,,,page $root of the file is damaged "
finds 'a page that nothing uses' "PRAGMA writable_schema=1; CREATE TABLE x(a);
    DELETE FROM sqlite_schema WHERE name = 'x'" \
    ",,,page $(($(sqlite3 good.db 'PRAGMA page_count') + 1)) of the file is used by nothing: rows may be lost"
cp good.db s.db
sqlite3 s.db "PRAGMA writable_schema=1; UPDATE sqlite_schema SET rootpage = (SELECT rootpage FROM
    sqlite_schema WHERE name = 'plan') WHERE name = 'lobes'"
check s.db
is 'a page that two tables use' "$status|$(printf '%s\n' "$told" | grep -c 'is used twice')" '1|1'
is 'nothing else is looked at then' "$(printf '%s\n' "$out" | tail -n 1 | grep -c 'not looked at: families, engines')" 1
cp good.db s.db
row=$(sqlite3 s.db "SELECT group_concat(quote(type) || ',' || quote(name) || ',' || quote(tbl_name) || ',' ||
    rootpage || ',' || quote(sql)) FROM sqlite_schema WHERE name = 'fresh_sums'")
sqlite3 s.db "PRAGMA writable_schema=1; DELETE FROM sqlite_schema WHERE name = 'fresh_sums'"
sqlite3 s.db "UPDATE fresh SET newest = '2001-01-01' WHERE engine = 'HC-1'"
sqlite3 s.db "PRAGMA writable_schema=1; INSERT INTO sqlite_schema VALUES($row)"
check s.db
is 'a row that its index does not know' "$status|$told" \
    "1|fresh,,,row $(sqlite3 s.db "SELECT rowid FROM fresh NOT INDEXED WHERE engine = 'HC-1'") is missing from the index fresh_sums"
cp good.db s.db
sqlite3 s.db "PRAGMA writable_schema=1; DELETE FROM sqlite_schema WHERE name = 'fresh_sums'"
sqlite3 s.db "DELETE FROM fresh WHERE engine = 'HC-1'"
sqlite3 s.db "PRAGMA writable_schema=1; INSERT INTO sqlite_schema VALUES($row)"
check s.db
is 'an index with a row too many' "$status|$told" \
    '1|fresh,,,the index fresh_sums has not as many rows as the table'

### tables
finds 'a table is missing' 'DROP TABLE shims' 'shims,,,the table shims is missing'
finds 'an index is missing' 'DROP INDEX fresh_sums' 'fresh,,,the index fresh_sums is missing'
finds 'a trigger is missing' "DROP TRIGGER reading_update; UPDATE reading SET found = 24 WHERE found = 0.29;
    DELETE FROM fresh" "reading,,,the trigger reading_update is missing
readings,\"HC-1,2025-06-01,lash,1E\",found,no credible value '24'"
finds 'a column too few' 'ALTER TABLE plan DROP COLUMN meter_gain' 'plan,,,the table plan is not as valve-book makes it'
finds 'the view is another' 'DROP VIEW readings; CREATE VIEW readings AS SELECT 1 AS x' \
    'readings,,,the view readings is not as valve-book makes it'
finds 'a table that takes anything' "$(loose reading)" 'reading,,,the table reading is not as valve-book makes it'
cp good.db s.db
sqlite3 s.db 'CREATE TABLE mine(x); CREATE INDEX mine_too ON visits(date)'
check s.db
is 'what somebody has added does no harm' "$status|$told" '0|'

# typed NAME TABLE SQL WANT: the same with cells of a kind that the table does not take
typed() {
    cp good.db s.db
    sqlite3 s.db "$(loose "$2")"
    sqlite3 s.db "$3"
    sqlite3 s.db "$(strict "$2")"
    check s.db
    is "$1" "$status|$told|$err" "1|$4|"
}
typed 'a text for a number' events "UPDATE events SET meter = 'much' WHERE event = 'build'" \
    'events,"HC-1,2025-05-01,build,,",meter,a text where a number belongs'
typed 'bytes for a text' engines "UPDATE engines SET family = x'00ff' WHERE engine = 'HC-2'" \
    'engines,HC-2,family,bytes where a text belongs'
id=$(sqlite3 good.db 'SELECT max(reading) FROM reading')
typed 'a text for a reading' reading "UPDATE reading SET found = 'x', left = 'y' WHERE reading = $id" \
    "reading,$id,found,a text where a number belongs
reading,$id,left,a text where a number belongs"

cp good.db s.db
sqlite3 s.db "PRAGMA writable_schema=1; UPDATE sqlite_schema SET
    sql = replace(sql, 'meter_unit TEXT NOT NULL', 'meter_unit TEXT') WHERE name = 'visits'"
sqlite3 s.db "UPDATE visits SET meter_unit = NULL WHERE meter IS NULL"
sqlite3 s.db "PRAGMA writable_schema=1; UPDATE sqlite_schema SET
    sql = replace(sql, 'meter_unit TEXT', 'meter_unit TEXT NOT NULL') WHERE name = 'visits'"
check s.db
is 'nothing where there must be something' "$status|$told|$err" \
    "1|visits,$(sqlite3 s.db "SELECT visit FROM visits WHERE typeof(meter_unit) = 'null'"),meter_unit,nothing where something belongs|"

### rows of the small tables
finds 'an engine of no family' "UPDATE engines SET family = 'fuor' WHERE engine = 'HC-2'; DELETE FROM fresh" \
    "engines,HC-2,family,unknown family 'fuor'"
finds 'a date of service that is none' "UPDATE engines SET in_service = '2025-13-01' WHERE engine = 'HC-1'" \
    "engines,HC-1,in_service,bad date '2025-13-01'"
finds 'a date that is written otherwise' "UPDATE engines SET in_service = '2025-1-1' WHERE engine = 'HC-1'" \
    "engines,HC-1,in_service,bad date '2025-1-1'"
finds 'a fact that nobody knows' "DELETE FROM fresh; UPDATE families SET key = 'lope' WHERE key = 'lobe'" \
    "families,\"four,E,lope\",key,unknown fact 'lope'"
finds 'a blank value' "DELETE FROM fresh; UPDATE families SET value = '' WHERE key = 'lobe'" \
    "families,\"four,E,lobe\",value,blank ''"
finds 'facts that contradict each other' "DELETE FROM fresh; UPDATE families SET value = '0.1' WHERE key = 'lash_max'" \
    'families,four,value,lash_min of side E is above lash_max: 0.2 and 0.1 mm'
finds 'growth stated twice' "DELETE FROM fresh; INSERT INTO families VALUES
    ('four', 'E', 'lash_growth', '0.0004', 'mm/Cel'), ('four', 'E', 'lash_stack', '+120x21.5 -98x11.7', '')" \
    "families,\"four,E,lash_growth\",key,\"lash_stack is stated too, which says the same\""
finds 'an event of no engine' "UPDATE events SET engine = 'HC-9' WHERE event = 'replace'; DELETE FROM fresh" \
    "events,\"HC-9,2025-05-02,replace,valve,1E\",engine,unknown engine 'HC-9'"
finds 'an event that is none' "UPDATE events SET event = 'biuld' WHERE event = 'build'; DELETE FROM fresh" \
    "events,\"HC-1,2025-05-01,biuld,,\",event,\"unknown event 'biuld'; known are build, replace, fit, meter, end\""
finds 'an event at no valve' "UPDATE events SET at = '7E' WHERE event = 'replace'; DELETE FROM fresh" \
    "events,\"HC-2,2025-05-02,replace,valve,7E\",at,this family has no valve '7E'"
finds 'an event to come' "UPDATE events SET date = '2125-05-01' WHERE event = 'build'; DELETE FROM fresh" \
    "events,\"HC-1,2125-05-01,build,,\",date,2125-05-01 is later than 2026-11-01"
finds 'a gauge in furlongs' "UPDATE gauges SET unit = 'furlong'; DELETE FROM fresh" \
    "gauges,feeler,unit,neither a unit of length nor of angle: 'furlong'"
finds 'a plan of no engine' "UPDATE plan SET engine = 'HC-9'" "plan,\"HC-9,2026-12-01,winter\",engine,unknown engine 'HC-9'"
finds 'a lobe in degrees' "UPDATE lobes SET unit = 'deg' WHERE cam_deg = 90" "lobes,\"A,90\",unit,not a unit of length: 'deg'"
finds 'a shim in degrees' "UPDATE shims SET unit = 'deg'" "shims,\"2.5,deg\",unit,not a unit of length: 'deg'"
finds 'a trial with half a pair of blades' "UPDATE trials SET value = '0.25/' WHERE trial = 2" \
    "trials,\"feeler,p1,cd,2\",value,bad number '0.25/'"
finds 'a history of no table' "UPDATE history SET \"table\" = 'raedings' WHERE key LIKE '%2E,found'" \
    "history,\"raedings,\"\"HC-1,2025-02-01,lash,2E,found\"\",1\",table,unknown table 'raedings'"
finds 'a history of no row' "UPDATE history SET key = 'HC-1,2025-02-01' WHERE key LIKE '%2E,found'" \
    'history,"readings,""HC-1,2025-02-01"",1",key,names no row of readings'

### places, visits and readings
visit="(SELECT visit FROM visits WHERE engine = 'HC-1' AND date = '2025-02-01')"
reading="reading = $visit << 16 | (SELECT place FROM places WHERE quantity = 'lash' AND at = '1E')"
finds 'a place of no quantity' "INSERT INTO places(quantity, at) VALUES('colour', '1E')" \
    "places,\"colour,1E\",quantity,unknown quantity 'colour'"
finds 'a place of no valve' "INSERT INTO places(quantity, at) VALUES('lash', 'left')" \
    "places,\"lash,left\",at,lash is not read at 'left'"
finds 'a valve written otherwise' "INSERT INTO places(quantity, at) VALUES('lash', '1e')" \
    "places,\"lash,1e\",at,lash is not read at '1e'"
finds 'a place with a number that does not fit' "INSERT INTO places VALUES(65536, 'lash', '4E')" \
    'places,"lash,4E",place,no place has the number 65536'
is 'readings are not looked at then' "$(printf '%s\n' "$out" | tail -n 1)" \
    'end,,,"1 finding: engines 2, events 3, history 3; not looked at: readings, corrections, kept"'
finds 'a visit of no engine' "UPDATE visits SET engine = 'HC-9' WHERE engine = 'HC-2' AND date = '2025-06-01'; DELETE FROM fresh" \
    "readings,\"HC-9,2025-06-01,,\",engine,unknown engine 'HC-9'"
finds 'a visit on no day' "UPDATE visits SET date = '2025-02-30' WHERE visit = $visit; DELETE FROM fresh; DELETE FROM history" \
    "readings,\"HC-1,2025-02-30,,\",date,bad date '2025-02-30'"
finds 'a visit to come' "UPDATE visits SET date = '2026-11-02' WHERE engine = 'HC-2' AND date = '2025-06-01'; DELETE FROM fresh" \
    "readings,\"HC-2,2026-11-02,,\",date,2026-11-02 is later than 2026-11-01"
finds 'a meter in furlongs' "UPDATE visits SET meter_unit = 'furlong' WHERE visit = $visit; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,,\",meter_unit,\"a meter runs in h or km, not 'furlong'\""
finds 'a meter without a unit' "UPDATE visits SET meter_unit = '' WHERE visit = $visit; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,,\",meter_unit,a meter without a unit"
finds 'a unit without a meter' "UPDATE visits SET meter = NULL WHERE visit = $visit; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,,\",meter_unit,a unit without a meter"
finds 'a meter below 0' "UPDATE visits SET meter = -1 WHERE visit = $visit; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,,\",meter,no meter shows -1"
finds 'a visit without a reading' "INSERT INTO visits VALUES(99, 'HC-2', '2025-07-01', NULL, ''); DELETE FROM fresh" \
    "readings,\"HC-2,2025-07-01,,\",visit,a visit without a reading"
finds 'readings of no visit' "DELETE FROM visits WHERE visit = $visit; DELETE FROM fresh" \
    "$(sqlite3 good.db "SELECT 'readings,,visit,row ' || reading || ' of reading belongs to no visit' FROM reading
        WHERE reading >> 16 = $visit")"
finds 'a visit with a number that does not fit' "UPDATE visits SET visit = 1 << 47 WHERE visit = $visit; DELETE FROM fresh;
    UPDATE reading SET reading = (1 << 47 | 1) << 16 | 1 WHERE 0" \
    "$(sqlite3 good.db "SELECT 'readings,,visit,row ' || reading || ' of reading belongs to no visit' FROM reading
        WHERE reading >> 16 = $visit")
readings,\"HC-1,2025-02-01,,\",visit,no visit has the number 140737488355328"
finds 'a reading at no place' "UPDATE reading SET reading = ($visit << 16) + 4000 WHERE $reading; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,,\",at,\"its place, row 4000 of places, is missing\""
finds 'a reading at a valve that the family has not' "UPDATE families SET value = '1' WHERE key = 'cylinders';
    DELETE FROM fresh" "readings,\"HC-1,2025-02-01,lash,2E\",at,this family has no valve '2E'"
finds 'a reading from nowhere' "UPDATE reading SET origin = 77 WHERE $reading" \
    "readings,\"HC-1,2025-02-01,lash,1E\",source,\"its origin, row 77 of origins, is missing\""
finds 'neither found nor left' "UPDATE reading SET found = NULL WHERE $reading; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,lash,1E\",found,neither found nor left"
finds 'a lash of a foot' "UPDATE reading SET found = 304.8 WHERE $reading; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,lash,1E\",found,no credible value '304.8'"
finds 'a lash below 0' "UPDATE reading SET left = -0.3 WHERE $reading; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,lash,1E\",left,no credible value '-0.3'"
finds 'an uncertainty of 0' "UPDATE reading SET u = 0 WHERE $reading; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,lash,1E\",u,\"an uncertainty is above zero, not '0'\""
finds 'a temperature without end' "UPDATE reading SET temp_c = 9e999 WHERE $reading; DELETE FROM fresh" \
    "readings,\"HC-1,2025-02-01,lash,1E\",temp_c,no credible value 'inf'"
finds 'a line below 0' "UPDATE reading SET line = -2 WHERE $reading" \
    "readings,\"HC-1,2025-02-01,lash,1E\",line,bad number '-2'"
finds 'a meter that runs backwards' "UPDATE visits SET meter = 90 WHERE date = '2025-06-01' AND engine = 'HC-1'; DELETE FROM fresh" \
    "readings,\"HC-1,,,\",meter,90 h on 2025-06-01 after 200 h on 2025-05-01 (an event): the meter runs backwards"
finds 'without the event that says it was swapped' "DELETE FROM events WHERE event = 'meter'; DELETE FROM fresh" \
    "readings,\"HC-1,,,\",meter,\"30 h on 2025-10-01 after 250 h on 2025-06-01: the meter runs backwards, and no meter event lies between\""

finds 'two slips of one meter' "UPDATE visits SET meter = 90 WHERE date = '2025-06-01' AND engine = 'HC-1';
    UPDATE visits SET meter = 3 WHERE date = '2025-10-01'; DELETE FROM fresh" \
    "readings,\"HC-1,,,\",meter,90 h on 2025-06-01 after 200 h on 2025-05-01 (an event): the meter runs backwards; 1 more of this engine"

### corrections and withdrawals
finds 'a reading as it was before it was corrected' "UPDATE reading SET found = 0.31 WHERE found = 0.33; DELETE FROM fresh" \
    'readings,"HC-1,2025-02-01,lash,2E,found",found,"0.31 stands, which was corrected to 0.33"'
finds 'a reading that was withdrawn' "INSERT INTO reading SELECT visit << 16 | place, 20, NULL, NULL, NULL, 1, NULL
    FROM visits, places WHERE date = '2025-06-01' AND engine = 'HC-2' AND quantity = 'opens'" \
    'readings,"HC-2,2025-06-01,opens,1E,found",found,"20 stands, which was withdrawn"'
finds 'a gauge that was withdrawn' "INSERT INTO history VALUES('gauges', 'feeler', 1, 'blades,0.01,mm,0.01,2027-01-01', '')" \
    'gauges,feeler,,"stands, but was withdrawn"'
finds 'a gauge as it was before it was corrected' "INSERT INTO history VALUES('gauges', 'feeler', 1,
    'blades,0.01,mm,0.01,2027-01-01', 'blades,0.02,mm,0.02,2027-01-01')" \
    "gauges,feeler,,\"stands as 'blades,0.01,mm,0.01,2027-01-01', which was corrected to 'blades,0.02,mm,0.02,2027-01-01'\""
finds 'corrected there and back' "INSERT INTO history VALUES('gauges', 'feeler', 1, 'blades,0.01,mm,0.01,2027-01-01', 'a,1,mm,1,'),
    ('gauges', 'feeler', 2, 'a,1,mm,1,', 'blades,0.01,mm,0.01,2027-01-01');
    UPDATE plan SET engine = 'HC-9'" "plan,\"HC-9,2026-12-01,winter\",engine,unknown engine 'HC-9'"

### alerts
key=$(sqlite3 good.db "SELECT engine || ',' || kind || ',' || at || ',' || life FROM alerts LIMIT 1")
sqlite3 good.db 'SELECT DISTINCT acked FROM alerts' >acked
is 'nobody has acknowledged an alert' "$(cat acked)" ''
for c in level:dueue acked:dueue first_said:2025-02-30 last_said:never gone_since:2025-1-1 acked_until:soon; do
    case $c in *:dueue) why="unknown level 'dueue'" ;; *) why="bad date '${c#*:}'" ;; esac
    finds "an alert, its ${c%:*}" "UPDATE alerts SET ${c%:*} = '${c#*:}' WHERE
        engine || ',' || kind || ',' || at || ',' || life = '$key'" "alerts,\"$key\",${c%:*},$why"
done
finds 'alerts without their count' 'DELETE FROM alerts_told' 'alerts_told,,one,0 rows where there is one'

### what lists keep for themselves
finds 'what is kept is damaged' "UPDATE fresh SET kept = zeroblob(length(kept)) WHERE engine = 'HC-1'" \
    'fresh,HC-1,kept,damaged; the next list computes it afresh'
run "$bin/valve-drift" --as-of $as_of s.db
check s.db
is 'and the next list does' "$status|$told" '0|'
finds 'what is kept for the family is damaged' "UPDATE fresh SET sums = x'00' WHERE engine = 'HC-2'" \
    'fresh,HC-2,sums,damaged; the next list computes it afresh'
run "$bin/valve-drift" --as-of $as_of s.db
check s.db
is 'and the next list computes that too' "$status|$told" '0|'
cp good.db s.db
# as if a disk had done it: without the triggers that forget what is kept
sqlite3 s.db '.dbconfig enable_trigger off' 'UPDATE reading SET found = 0.28 WHERE found = 0.29' >/dev/null
check s.db
is 'a reading changed behind its back' "$status|$told" \
    '1|fresh,HC-1,kept,not what the readings of this engine give'
"$bin/valve-drift" --as-of $as_of good.db >good.drift
"$bin/valve-drift" --as-of $as_of s.db >s.drift
ok 'lists say what they have kept' cmp s.drift good.drift
sqlite3 s.db 'DELETE FROM fresh'
run "$bin/valve-drift" --as-of $as_of s.db
ok 'and what is in the book when nothing is kept' sh -c '! cmp -s .out good.drift'
check s.db
is 'when nothing is kept any more, a list keeps it afresh' "$status|$told|$(sqlite3 s.db 'SELECT count(*) FROM fresh')" '0||2'
finds 'kept before the newest visit' "UPDATE fresh SET newest = '2025-06-01' WHERE engine = 'HC-1'" \
    "fresh,HC-1,newest,not the newest date of this engine: '2025-06-01'"
finds 'kept of no engine' "UPDATE fresh SET engine = 'HC-9' WHERE engine = 'HC-2'" \
    "fresh,HC-9,engine,unknown engine 'HC-9'"
cp good.db s.db
sqlite3 s.db "UPDATE fresh SET version = '0.0.1', kept = x'00' WHERE engine = 'HC-1'"
check s.db
is 'what another version kept is nobody'\''s to trust' "$status|$told" '0|'

### another program writes: nothing that is kept may be of rows that were there before
"$bin/valve-drift" --as-of $as_of good.db >/dev/null
writes() {
    cp good.db s.db
    sqlite3 s.db "$1" || echo "# $1: could not be done"
    is "$1: nothing is kept" "$(sqlite3 s.db "SELECT changes, kept FROM (SELECT count(*) AS kept FROM fresh),
        (SELECT count(*) AS changes FROM (${2:-SELECT 1}))")" "${3:-1}|0"
}
writes "UPDATE families SET value = '0.11' WHERE key = 'lash_max'"
writes "DELETE FROM families WHERE key = 'lash_max'"
writes "INSERT INTO families VALUES('four', 'I', 'note', 'x', '')"
writes "UPDATE engines SET family = 'twin' WHERE engine = 'HC-2'"
writes "DELETE FROM engines WHERE engine = 'HC-2'"
writes "INSERT INTO engines VALUES('HC-3', 'four', '', '', '')"
writes "UPDATE events SET date = '2025-02-11'"
writes 'DELETE FROM events'
writes "INSERT INTO events VALUES('HC-1', '2025-05-01', NULL, '', 'replace', 'valve', '1E', '', '', '', '')"
writes 'UPDATE gauges SET u = 0.02'
writes 'DELETE FROM gauges'
writes "INSERT INTO gauges VALUES('other', 'feeler', 0.01, 'mm', NULL, '')"
writes "UPDATE visits SET meter = 101 WHERE meter = 100"
writes "DELETE FROM visits WHERE meter = 100"
writes "INSERT INTO visits VALUES(99, 'HC-2', '2025-07-01', NULL, '')"
writes "UPDATE origins SET gauge = ''"
writes 'DELETE FROM origins'
writes "INSERT INTO origins VALUES(99, 'c.csv', '', '', '')"
writes "UPDATE places SET at = '1I' WHERE quantity = 'lash' AND at = '1E'"
writes 'DELETE FROM places'
writes "INSERT INTO places VALUES(99, 'lash', '4E')"
writes 'UPDATE reading SET found = 0.28 WHERE found = 0.29'
writes 'DELETE FROM reading WHERE found = 0.29'
writes 'INSERT INTO reading SELECT reading + 90, found, left, u, temp_c, origin, line FROM reading LIMIT 1'
is 'a list that is not about readings writes nothing' "$(cp good.db s.db && sqlite3 s.db "UPDATE plan SET label = 'x';
    UPDATE lobes SET lift = lift; UPDATE shims SET count = 1; UPDATE trials SET by = 'x'; UPDATE alerts SET life = '';
    SELECT count(*) FROM fresh")" 2
cp good.db s.db
sqlite3 s.db 'UPDATE reading SET found = 0.28 WHERE found = 0.29'
cp s.db bare.db
sqlite3 bare.db 'DELETE FROM fresh'
"$bin/valve-drift" --as-of $as_of s.db >s.drift
"$bin/valve-drift" --as-of $as_of bare.db >bare.drift
"$bin/valve-drift" --as-of $as_of good.db >good.drift
ok 'lists say what another program wrote' cmp s.drift bare.drift
ok 'which is not what was there' sh -c '! cmp -s s.drift good.drift'

### no more than twenty of a kind
cp good.db s.db
sqlite3 s.db "DELETE FROM fresh; WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 25)
    INSERT INTO places(quantity, at) SELECT 'lash', 'x' || i FROM n"
check s.db
is 'twenty, and how many more' "$status|$(printf '%s\n' "$told" | grep -c '^places,"lash,x')|$(printf '%s\n' "$told" |
    tail -n 1)" '1|20|places,,at,and 5 more'
is 'all are counted' "$(printf '%s\n' "$out" | tail -n 1 | cut -d' ' -f1-2)" 'end,,,"25 findings:'

### single bits, all over the file: nothing dies, nothing is written, and what is said has an end
od -An -v -tu1 -w1 good.db | awk '$1 { print NR - 1, $1 }' >bytes # those that are not 0
step=$(($(wc -l <bytes) / (${VB_ALL:+2000} + (0${VB_ALL:+1} ? 0 : 60)) + 1))
awk -v step="$step" 'NR % step == 0 { print $0, 2 ^ (n++ % 8) }' bytes >bits
odd=0 seen=0
while read -r at was bit; do
    cp good.db s.db
    # shellcheck disable=SC2059
    printf "\\$(printf %o $((was ^ bit)))" | dd of=s.db bs=1 seek="$at" conv=notrunc 2>/dev/null
    cp s.db s.before
    run "$vb" --check --as-of $as_of s.db
    case $status in
    2) [ "${err#valve-book: s.db: }" != "$err" ] || odd=$((odd + 1)) ;;
    *) [ "$(printf '%s\n' "$out" | tail -n 1 | cut -c1-6)" = end,,, ] || odd=$((odd + 1)) ;;
    esac
    cmp -s s.db s.before || odd=$((odd + 1))
    seen=$((seen + (status > 0)))
done <bits
echo "# $(wc -l <bits) bits, $seen seen"
is 'single bits: each is said, or is nothing' "$odd" 0
ok 'some of them are seen' test "$seen" -gt 0

### a book of an older version: its file alone
cp good.db old.db
older old.db 'DROP TABLE alerts; DROP TABLE alerts_told; PRAGMA user_version = 3'
run "$vb" --check old.db
is 'an older version' "$status|$out|$err" "0|$heading
end,,,\"nothing wrong in the file; this book is of an older version, and its rows are not looked at\"|"
is 'it stays that' "$(sqlite3 old.db 'PRAGMA user_version')" 3
head -c "$pages" /dev/zero | dd of=old.db bs="$pages" seek=$((root - 1)) conv=notrunc 2>/dev/null
check old.db
is 'an older version that is damaged' "$status|$(printf '%s\n' "$told" | cut -d'(' -f1)" \
    "1|reading,,,page $root of the file is damaged "

### dates: today and a day more, where no day is stated
cp bare.db s.db
sqlite3 s.db "UPDATE visits SET date = date('now', '+3 days') WHERE engine = 'HC-2' AND date = '2025-06-01'"
run "$vb" --check s.db
is 'in three days' "$status" 1
sqlite3 s.db "UPDATE visits SET date = date('now') WHERE date > '2025-12-01'"
run env TZ=FAR+11 "$vb" --check s.db
is 'today, where it is yesterday still' "$status|$err" '0|'
done_testing
