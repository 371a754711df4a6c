#!/bin/sh
# valve-book: what goes in comes back, and what does not fit is refused by name.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1

### every table by its heading, back in canonical order
cat >families.csv <<'END'
family,side,key,value,unit
four,I,valves,1,
four,exhaust,valves,1,
four,,cylinders,4,
four,,firing_order,1-3-4-2,
four,E,lash_min,0.008,in
twin,,cylinders,4,
twin,I,valves,2,
twin,E,valves,2,
END
cat >engines.csv <<'END'
engine,family,in_service,site,note
HC-1,four,2024-05-01,shop,"the ""blue"" one, spare head"
D-07,twin,,,
END
cat >events.csv <<'END'
engine,date,meter,meter_unit,event,part,at,build,note
HC-1,2025-03-01,0278.20,hours,replace,seat,ex 3,2,burnt
HC-1,2025-01-15,250,h,build,,,2,
D-07,2025-06-01 08:30,100.5,h,meter,,0.0,,new dash
END
cat >gauges.csv <<'END'
gauge,kind,resolution,unit,u,valid_until
feeler-a,blade,,,,
dti-1,dial,0.010,mm,0.004,2027-01-31
END
cat >plan.csv <<'END'
engine,date,meter_gain,label
HC-1,2026-12-05,7.50,Winter Cup
HC-1,2026-11-20,,test day
END
cat >lobes.csv <<'END'
lobe,cam_deg,lift,unit
L-3,100,2.5,mm
L-3,-20,1.25,mm
L-3,9,0,mm
END
cat >shims.csv <<'END'
thickness,unit,count
2.70,mm,3
2.65,mm,12
END
cat >trials.csv <<'END'
gauge,part,by,trial,value,unit
dti-1,p2,ab,10,0.26,mm
dti-1,p2,ab,2,0.25,mm
dti-1,p1,cd,1,0.20,mm
blades,p1,cd,1,0.20 / 0.250,mm
blades,p1,cd,2,"0,20",mm
blades,p1,cd,3,1,mm
END
cat >readings.rows <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line
HC-1,2025-05-02,300,h,lash,1I,0.25,0.3,mm,0.005,21.5,dti-1,ab,"tight, ""again""",march.csv,4
HC-1,2025-05-02,300,h,lash,exh 1,0.0100,,in,,,,cd,,march.csv,5
D-07,2025-05-02,12.5,h,opens,2I1,-12,,deg,,,,,,d.csv,2
HC-1,2025-05-02,300,h,compression,3,11.5,,bar,,,,,,march.csv,6
END
seal readings.rows >readings.csv
book 'all tables at once, in any order' 0 '' all.db readings.csv trials.csv shims.csv lobes.csv \
    plan.csv gauges.csv events.csv engines.csv families.csv

gives families all.db 'family,side,key,value,unit
four,,cylinders,4,
four,,firing_order,1-3-4-2,
four,E,lash_min,0.008,in
four,E,valves,1,
four,I,valves,1,
twin,,cylinders,4,
twin,E,valves,2,
twin,I,valves,2,'
gives engines all.db 'engine,family,in_service,site,note
D-07,twin,,,
HC-1,four,2024-05-01,shop,"the ""blue"" one, spare head"'
gives events all.db 'engine,date,meter,meter_unit,event,part,at,build,note,item,faces
D-07,2025-06-01T08:30,100.5,h,meter,,0,,new dash,,
HC-1,2025-01-15,250,h,build,,,2,,,
HC-1,2025-03-01,278.2,h,replace,seat,3E,2,burnt,,'
gives gauges all.db 'gauge,kind,resolution,unit,u,valid_until
dti-1,dial,0.01,mm,0.004,2027-01-31
feeler-a,blade,,,,'
gives plan all.db 'engine,date,meter_gain,label
HC-1,2026-11-20,,test day
HC-1,2026-12-05,7.5,Winter Cup'
gives lobes all.db 'lobe,cam_deg,lift,unit
L-3,-20,1.25,mm
L-3,9,0,mm
L-3,100,2.5,mm'
gives shims all.db 'thickness,unit,count
2.65,mm,12
2.7,mm,3'
gives trials all.db 'gauge,part,by,trial,value,unit
blades,p1,cd,1,0.2/0.25,mm
blades,p1,cd,2,0.2,mm
blades,p1,cd,3,1,mm
dti-1,p1,cd,1,0.2,mm
dti-1,p2,ab,2,0.25,mm
dti-1,p2,ab,10,0.26,mm'
gives history all.db 'table,key,seq,old,new'
# 0.01 in = 0.254 mm, 11.5 bar = 1150 kPa
cat >want.rows <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line
D-07,2025-05-02,12.5,h,opens,2I1,-12,,deg,,,,,,d.csv,2
HC-1,2025-05-02,300,h,compression,3,1150,,kPa,,,,,,march.csv,6
HC-1,2025-05-02,300,h,lash,1E,0.254,,mm,,,,cd,,march.csv,5
HC-1,2025-05-02,300,h,lash,1I,0.25,0.3,mm,0.005,21.5,dti-1,ab,"tight, ""again""",march.csv,4
END
gives readings all.db "$(seal want.rows)"

### dump, load, dump
copy_book() {
    mkdir -p dumped
    for t in $tables; do
        "$vb" --dump "$t" "$1" >"dumped/$t" || return
    done
    "$vb" --as-of 2026-11-01 "$2" dumped/*
}
copy_book all.db copy.db
is 'dumps load into a new book' $? 0
same 'a copy dumps the same bytes' copy.db all.db
book 'all of it a second time' 0 '' all.db families.csv engines.csv events.csv gauges.csv \
    plan.csv lobes.csv shims.csv trials.csv readings.csv
same 'a second time changes nothing' all.db copy.db
book 'a book onto itself' 0 '' all.db dumped/readings dumped/history dumped/events
same 'a book onto itself changes nothing' all.db copy.db
run "$vb" --as-of 2026-11-01 piped.db - <families.csv
is 'standard input' "$status $err" '0 '
ok 'standard input is loaded' sh -c '"$1" --dump families piped.db | cmp - dumped/families' sh "$vb"
gzip -c readings.csv >readings.csv.gz
cp all.db gz.db
book 'gzip' 0 '' gz.db readings.csv.gz
same 'gzip gives the same' gz.db all.db

### headings
# heading NAME MESSAGE LINE: a table that begins with this line is no table
heading() {
    printf '%s\n' "$3" >head.csv
    book "heading: $1" 2 "valve-book: head.csv:1: $2" h.db head.csv
}
heading 'unknown column' "unknown column 'colour' in table engines" 'engine,family,colour'
heading 'repeated column' "repeated column 'engine' in table engines" 'engine,family,site,engine'
heading 'missing column of readings' "column 'quantity' is missing in table readings" \
    engine,date,meter,meter_unit,at,found,left,unit
heading 'missing column of families' "column 'value' is missing in table families" \
    family,side,key,unit
heading 'missing column of events' "column 'event' is missing in table events" \
    engine,date,part,build,note
none='is a column of none (names are in small letters; valve-tidy reads exports)'
heading 'nothing known' "no table has a heading like this: 'Datum' $none" \
    'Datum,Motor,Spiel'
other='a tidy table has commas; valve-tidy reads exports'
heading 'semicolons' "cells separated by ';': $other" 'engine;family;site'
heading 'bars' "cells separated by '|': $other" 'engine|family|site'
heading 'tabs' "cells separated by tabs: $other" "$(printf 'engine\tfamily')"
heading 'one semicolon' "no table has a heading like this: 'Motor;Art' $none" \
    'Motor;Art,Ort'
heading 'one cell' "no table has a heading like this: 'Motor' $none" \
    'Motor'
: >empty.csv
book 'an empty file' 2 'valve-book: empty.csv: empty: a table begins with its heading' h.db empty.csv
book 'a missing file' 2 'valve-book: none.csv: No such file or directory' h.db none.csv
ok 'a first load that fails leaves no book' [ ! -e h.db ]
printf 'engine,family\n' >head.csv
book 'a heading alone' 0 '' h.db head.csv
is 'leaves no row, but a book' "$("$vb" --dump engines h.db)" engine,family,in_service,site,note
book 'a second load that fails' 2 'valve-book: none.csv: No such file or directory' h.db none.csv
ok 'leaves the book' [ -e h.db ]
printf ' family , key\t,value\nfour,cylinders,4\n' >pad.csv
book 'blanks around a heading, fewer columns' 0 '' h.db pad.csv
printf 'value,key,family\n4,cylinders,four\n' >turned.csv
book 'columns in another order' 0 '' h.db turned.csv
is 'the same fact' "$("$vb" --dump families h.db | sed 1d)" 'four,,cylinders,4,'
run "$vb" --dump nothing h.db
is 'no such table to dump' "$status|$out|$err" "2||valve-book: h.db: no table 'nothing'; there are families, engines, events, gauges, plan, lobes, shims, trials, history and readings"
run "$vb" --dump engines none.db
is 'no book to dump' "$status|$out|$err" '2||valve-book: none.db: No such file or directory'

### the end row
basic s.db
dump_all s.db before
# cut NAME LINE MESSAGE: bad.csv is refused and the book stays as it was
cut() {
    book "end row: $1" 2 "valve-book: bad.csv:$2: $3; nothing was loaded" s.db bad.csv
    unchanged "end row: $1: the book is as before" s.db before
}
other='the end row counts other rows than there are'
sum="the end row's checksum is another: the stream was changed"
sed '$d' readings.csv >bad.csv
cut missing 5 'no end row: the stream was cut short (--no-end for a table made by hand)'
sed '$s/,4,/,3,/' readings.csv >bad.csv
cut 'count too low' 6 "$other"
sed '$s/,4,/,5,/' readings.csv >bad.csv
cut 'count too high' 6 "$other"
sed '$s/,4,/,,/' readings.csv >bad.csv
cut 'no count' 6 "$other"
sed 4d readings.csv >bad.csv
cut 'a row lost' 5 "$other"
sed '2s/0.25/0.26/' readings.csv >bad.csv
cut 'a digit changed' 6 "$sum"
sed '3s/,cd,/,cd ,/' readings.csv >bad.csv
cut 'a blank added' 6 "$sum"
{ cat readings.csv && sed -n 3p readings.csv; } >bad.csv
cut 'rows behind it' 6 'rows behind the end row'
head -c 300 readings.csv >bad.csv
run "$vb" --as-of 2026-11-01 s.db bad.csv
is 'end row: cut within a row' "$status $out" '2 '
unchanged 'end row: cut within a row: the book is as before' s.db before
head -c 200 readings.csv.gz >bad.csv.gz
run "$vb" --as-of 2026-11-01 s.db bad.csv.gz
is 'gzip cut short' "$status $out" '2 '
unchanged 'gzip cut short: the book is as before' s.db before
printf 'engine,family\nXX-9,four\n' >more.csv
sed '$d' readings.csv >bad.csv
run "$vb" --as-of 2026-11-01 s.db more.csv bad.csv
unchanged 'other tables of the same run are taken back too' s.db before
book '--no-end: without one' 0 '' --no-end s.db bad.csv
is '--no-end: all rows are there' "$("$vb" --dump readings s.db | sed '1d;$d' | wc -l | tr -d ' ')" 4
sed 4d readings.csv >bad.csv
basic s.db
book '--no-end: an end row that fits no more' 0 '' --no-end s.db bad.csv
is '--no-end: rows' "$("$vb" --dump readings s.db | sed '1d;$d' | wc -l | tr -d ' ')" 3

### files that are no book
echo 'not a database, but long enough to have been one, had it wanted to be' >text.db
cp text.db text.copy
book 'no SQLite file' 2 'valve-book: text.db: file is not a database' text.db families.csv
ok 'no SQLite file: left alone' cmp text.db text.copy
run "$vb" --dump engines text.db
is 'no SQLite file: dump' "$status|$out|$err" '2||valve-book: text.db: file is not a database'
sqlite3 other.db 'CREATE TABLE engines(engine TEXT)'
cp other.db other.copy
book "somebody else's database" 2 'valve-book: other.db: this file is no valvebook' other.db families.csv
ok "somebody else's database: left alone" cmp other.db other.copy
basic newer.db
sqlite3 newer.db 'PRAGMA user_version=99'
cp newer.db newer.copy
new='valve-book: newer.db: this book was written by a newer version of valvebook'
book 'a newer book' 2 "$new" newer.db families.csv
run "$vb" --dump engines newer.db
is 'a newer book: dump' "$status|$out|$err" "2||$new"
ok 'a newer book: left alone' cmp newer.db newer.copy
for version in 0 -1; do
    sqlite3 newer.db "PRAGMA user_version=$version"
    cp newer.db newer.copy
    why='newer.db: this book says no version: was it changed by hand?'
    book "version $version" 2 "valve-book: $why" newer.db families.csv
    run "$bin/valve-due" newer.db
    is "version $version: a list" "$status|$out|$err" "2||valve-due: $why"
    ok "version $version: left alone" cmp newer.db newer.copy
done
mkdir dir.db
book 'a directory' 2 'valve-book: dir.db: Is a directory' dir.db families.csv
run "$vb" --dump engines dir.db
is 'a directory: dump' "$status|$out|$err" '2||valve-book: dir.db: Is a directory'
book 'no such directory' 2 'valve-book: none/s.db: No such file or directory' none/s.db families.csv
book 'no directory at all' 2 'valve-book: families.csv/s.db: Not a directory' families.csv/s.db families.csv
if [ "$(id -u)" = 0 ]; then # who may write everywhere but there
    closed=/proc closed_why='this file or its journal cannot be opened: No such file or directory'
else
    closed=closed closed_why='Permission denied'
    mkdir closed && chmod 555 closed
fi
book 'a read-only directory' 2 "valve-book: $closed/s.db: $closed_why" \
    "$closed/s.db" families.csv
# a journal that cannot be made: its name is taken, or too long
mkdir taken taken/s.db-journal
book 'no journal' 2 'valve-book: taken/s.db: this file or its journal cannot be opened: Is a directory' \
    taken/s.db families.csv
long=$(printf '%0250d' 0)
cd taken || exit 1
book 'no name for a journal' 2 "valve-book: $long: this file or its journal cannot be opened: File name too long" \
    "$long" ../families.csv
cd ..
is 'no journal: no file is left' "$(ls taken)" s.db-journal
: >void.db
run "$vb" --dump engines void.db
is 'an empty file is no book to read' "$status|$out|$err" '2||valve-book: void.db: this file is no valvebook'
book 'an empty file becomes a book' 0 '' void.db families.csv
run "$vb" --as-of 2026-11-01
is 'no operand' "$status|$out|$(printf '%s\n' "$err" | sed -n 1p)" '2||valve-book: a book is needed'
run "$vb" --as-of 2026-13-01 s.db families.csv
is 'a bad date of --as-of' "$status|$out|$(printf '%s\n' "$err" | sed -n 1p)" \
    "2||valve-book: bad date (YYYY-MM-DD) '2026-13-01'"

### a name is the name of a file, whatever SQLite might read into it
mkdir names && cd names || exit 1
for name in file:u.db 'file:u.db?mode=memory' 'file:u.db?mode=ro&immutable=1' :memory: \
    'a b?c=d%41#e.db' "$(printf 'b\374ch.db')" ./-v.db; do
    run "$vb" -- "$name" ../families.csv
    is "$name: a book" "$status|$out|$err|$(sqlite3 "$PWD/$name" 'SELECT count(*) > 0 FROM families')" '0|||1'
    run "$vb" --dump families -- "$name"
    is "$name: and back" "$status|$err|$out" "0||$("$vb" --dump families ../void.db)"
    rm -- "$name"
done
is 'and no other file' "$(ls)" ''
cd ..
run "$vb" '' families.csv # as in "$BOOK", which nobody has set
is 'no name: a load' "$status|$out|$err" '2||valve-book: the name of the book is empty'
run "$bin/valve-due" ''
is 'no name: a list' "$status|$out|$err" '2||valve-due: the name of the book is empty'

### two loads at once
basic two.db
{ head -n 1 readings.csv; for i in 1 2 3 4; do echo "HC-1,2025-0$i-01,$i,h,lash,1I,0.2,,mm,,,,,,x,$i"; done; } >x.csv
{ head -n 1 readings.csv; for i in 1 2 3 4; do echo "D-07,2025-0$i-01,$i,h,lash,1I1,0.2,,mm,,,,,,y,$i"; done; } >y.csv
"$vb" --as-of 2026-11-01 --no-end two.db x.csv 2>two.err &
other_pid=$!
"$vb" --as-of 2026-11-01 --no-end two.db y.csv 2>>two.err
first=$?
wait "$other_pid"
is 'two loads at once: both end well' "$first $?$(cat two.err)" '0 0'
is 'two loads at once: nothing is lost' "$("$vb" --dump readings two.db | sed '1d;$d' | wc -l | tr -d ' ')" 8

# The first of two fails, which made the book; the other has loaded something meanwhile, or
# has opened it and finds that it is no more.
mkfifo one two
for late in no yes; do
    rm -f new.db
    "$vb" new.db one 2>one.err &
    one_pid=$!
    exec 3>one # opened by both: the book is made
    "$vb" new.db two 3>&- 2>two.err &
    two_pid=$!
    exec 4>two
    [ $late = yes ] || cat families.csv >&4
    [ $late = yes ] || exec 4>&-
    [ $late = yes ] || { wait $two_pid; two=$?; }
    echo 'nothing like it' >&3
    exec 3>&-
    wait $one_pid
    one=$?
    if [ $late = yes ]; then
        ok 'a book that is empty still is taken away by who made it' [ ! -e new.db ]
        cat families.csv >&4
        exec 4>&-
        wait $two_pid
        is 'who has opened it is told' "$one $? $(cat two.err)" \
            '2 2 valve-book: new.db: was removed by another process; load once more'
        ok 'and has made none in its place' [ ! -e new.db ]
    else
        is 'a book with something in it stays' "$one $two $("$vb" --dump families new.db | wc -l | tr -d ' ')" \
            "2 0 $(wc -l <families.csv | tr -d ' ')"
    fi
done

### SQLite refuses a row in the middle, here because somebody put an index there
basic s.db
awk 'BEGIN {
    print "engine,date,quantity,at,found,unit,line"
    for (i = 1; i <= 19000; i++)
        printf "HC-1,%d-%02d-%02d,lash,%d%s,0.2,mm,%d\n", 2000 + int(i / 1920), 1 + i / 160 % 12,
            1 + i / 8 % 20, 1 + i % 4, i % 8 < 4 ? "I" : "E", i
}' >many.csv
dump_all s.db before
for row in 19000 1; do
    cp s.db full.db
    refuses full.db reading "line = $row"
    book "SQLite refuses row $row of 19000" 2 'valve-book: full.db: integer overflow' --no-end full.db \
        many.csv
    unchanged "SQLite refuses row $row of 19000: the book is as before" full.db before
done
cp s.db full.db
refuses full.db visits "date = '2000-06-02'"
book 'SQLite refuses a visit' 2 'valve-book: full.db: integer overflow' --no-end full.db many.csv
unchanged 'SQLite refuses a visit: the book is as before' full.db before
book 'and without an index' 0 '' --no-end s.db many.csv

### trials: one number or a pair of blades
printf '%s\n' gauge,part,by,trial,value,unit blades,p1,cd,1,0.20/0.250,mm 'blades,p1,cd,2,0.20/0.25,mm' \
    blades,p1,cd,4,0.25/0.20,mm blades,p1,cd,5,0.25/,mm >blades.csv
cp all.db blades.db
book 'blades: another value, and what is no pair' 1 "valve-book: blades.csv:3: column 'value': trials blades,p1,cd,2: '0.2/0.25' here, '0.2' in the book
valve-book: blades.csv:4: column 'value': the blade that goes comes first and is thinner, as in 0.25/0.30, not '0.25/0.20'
valve-book: blades.csv:5: column 'value': bad number '0.25/'" blades.db blades.csv
same 'blades: nothing of that is kept' blades.db all.db
sed '1n; 3!d' blades.csv >pair.csv
book 'blades: corrected' 0 '' --correct blades.db pair.csv
is 'blades: from a number to a pair' "$("$vb" --dump trials blades.db | grep ,cd,2)" \
    'blades,p1,cd,2,0.2/0.25,mm'
# a book of the third version, whose trials were numbers
cp all.db third.db
older third.db "DELETE FROM trials WHERE typeof(value) = 'text';
    CREATE TABLE t(gauge TEXT NOT NULL, part TEXT NOT NULL, by TEXT NOT NULL, trial REAL NOT NULL,
        value REAL NOT NULL, unit TEXT NOT NULL, PRIMARY KEY(gauge, part, by, trial)) STRICT, WITHOUT ROWID;
    INSERT INTO t SELECT * FROM trials; DROP TABLE trials; ALTER TABLE t RENAME TO trials;
    DROP TABLE alerts; DROP TABLE alerts_told; PRAGMA user_version = 3"
"$vb" --dump trials all.db | grep -v /0 >trials.before
run "$vb" --dump trials third.db
is 'a book of the third version is not read' "$status|$out|$err" \
    '2||valve-book: third.db: this book is of an older version; valve-book brings it up to date'
echo engine,family >heading.csv
cp third.db empty.db
book 'a book of the third version is brought up' 0 '' third.db heading.csv
book 'also if nothing comes in' 2 'valve-book: stdin: empty: a table begins with its heading' empty.db </dev/null
same 'which is the same' empty.db third.db
"$vb" --dump trials third.db >trials.after
ok 'and its trials are the same' cmp trials.before trials.after
book 'and may be pairs now' 0 '' third.db trials.csv
same 'like those of a new book' third.db all.db

### what the administrator of a database may do to one
for sql in VACUUM 'PRAGMA page_size = 512; VACUUM' 'PRAGMA page_size = 65536; VACUUM' \
    'PRAGMA auto_vacuum = FULL; VACUUM' 'PRAGMA journal_mode = WAL' 'PRAGMA journal_mode = PERSIST' ANALYZE; do
    cp all.db kept.db
    sqlite3 kept.db "$sql" >/dev/null
    same "$sql: the same tables" kept.db all.db
    book "$sql: a load" 0 '' kept.db engines.csv readings.csv
    same "$sql: the same tables still" kept.db all.db
    run "$vb" --check --as-of 2026-11-01 kept.db
    is "$sql: whole" "$status" 0
    rm kept.db*
done

### the file itself
is 'application_id' "$(sqlite3 all.db 'PRAGMA application_id')" 1986154315 # "vbOK"
is 'user_version' "$(sqlite3 all.db 'PRAGMA user_version')" 9
is 'every table is STRICT' "$(sqlite3 all.db "SELECT count(*), group_concat(CASE strict WHEN 0 THEN name END)
    FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite_%'")" '16|'
for db in all copy s two void; do
    is "$db.db is sound" "$(sound "$db.db")" ok
done
done_testing
