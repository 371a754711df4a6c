#!/bin/sh
# Events of cams: which is fitted where and how it faces, tables and history of before, and
# whose lash lives end.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
cat >families.csv <<'END'
family,side,key,value,unit
vee,,banks,A:1-3 B:2-4,
vee,I,valves,1,
vee,E,valves,1,
plain,,cylinders,4,
plain,I,valves,1,
END
printf 'engine,family\nV-1,vee\nP-1,plain\n' >engines.csv
heading=engine,date,event,part,at,item,faces,build
cat >events.csv <<END
$heading
V-1,2025-01-01,fit,cam,a inlet,C-11,normal,
V-1,2025-01-01,fit,cam,B,C-12,reversed,
V-1,2025-01-01,fit,cam,,,normal,
V-1,2025-06-01,replace,chain,a,,,
V-1,2025-06-02,replace,cam,B exh,,,B2
V-1,2025-06-03,replace,cam,2,,,
P-1,2025-01-01,fit,cam,ex,E-9,,
END
book 'cams are fitted' 0 '' s.db families.csv engines.csv events.csv
gives events s.db 'engine,date,meter,meter_unit,event,part,at,build,note,item,faces
P-1,2025-01-01,,,fit,cam,E,,,E-9,
V-1,2025-01-01,,,fit,cam,,,,,normal
V-1,2025-01-01,,,fit,cam,AI,,,C-11,normal
V-1,2025-01-01,,,fit,cam,B,,,C-12,reversed
V-1,2025-06-01,,,replace,chain,A,,,,
V-1,2025-06-02,,,replace,cam,BE,B2,,,
V-1,2025-06-03,,,replace,cam,2,,,,'
printf '%s\n' "$out" >dumped.csv
dump_all s.db before
book 'the dump again' 0 '' s.db dumped.csv
unchanged 'nothing new' s.db before
printf 'engine,date,meter,meter_unit,event,part,at,build,note\nV-1,2025-06-01,,,replace,chain,A,,\n' >old.csv
book 'a table of before, without these columns' 0 '' s.db old.csv
unchanged 'it says nothing of items' s.db before

# wrong NAME MESSAGE ROW
wrong() {
    printf '%s\n%s\n' $heading "$3" >wrong.csv
    book "$1" 1 "valve-book: wrong.csv:2: column $2" s.db wrong.csv
}
wrong 'no bank C' "'at': this family has no bank 'C'" V-1,2025-01-02,fit,cam,CI,C-1,,
wrong 'no banks at all' "'at': this family has no bank 'A'" P-1,2025-01-02,fit,cam,A,C-1,,
wrong 'a valve is no place of a cam' "'at': no place of a cam: '1I'" V-1,2025-01-02,fit,cam,1I,C-1,,
wrong 'a chain is not fitted' "'part': a cam is fitted, not 'chain'" V-1,2025-01-02,fit,chain,,C-1,,
wrong 'which cam' "'item': which cam was fitted, and which way does it face?" V-1,2025-01-02,fit,cam,A,,,
wrong 'no such way' "'faces': a cam faces normal or reversed, not 'front'" V-1,2025-01-02,fit,cam,A,C-1,front,
wrong 'an item of a chain' "'item': said of event fit only" V-1,2025-01-02,replace,chain,,K-1,,
wrong 'a rebuild that faces' "'faces': said of event fit only" V-1,2025-01-02,build,,,,normal,B9
wrong 'a seat of a bank' "'at': neither a valve, a side nor a cylinder: 'AI'" V-1,2025-01-02,replace,seat,AI,,,
wrong 'a name too long' "'item': a name of more than 63 bytes" \
    "V-1,2025-01-02,fit,cam,A,$(head -c 64 /dev/zero | tr '\0' x),,"
wrong 'another cam there' "'item': events V-1,2025-01-01,fit,cam,AI: 'C-13' here, 'C-11' in the book" V-1,2025-01-01,fit,cam,AI,C-13,,
unchanged 'nothing of that is kept' s.db before

### corrections, and those of a book of before
printf '%s\nV-1,2025-01-01,fit,cam,AI,C-13,,\n' $heading >right.csv
book 'corrected' 0 '' --correct s.db right.csv
gives history s.db 'table,key,seq,old,new
events,"V-1,2025-01-01,fit,cam,AI",1,",,,,C-11,normal",",,,,C-13,normal"'
book 'the old row is known as old' 0 '' s.db events.csv
# a dump of before has four cells beside the key: as if blank ones stood behind them
printf '%s\nV-1,2025-07-01,build,,,,,B7\n' $heading >seven.csv
cat >history.csv <<'END'
table,key,seq,old,new
events,"V-1,2025-07-01,build,,",1,",,B7,",",,B8,"
END
seventh() { sqlite3 "$1" "SELECT build FROM events WHERE date = '2025-07-01'"; }
for i in 1 2; do
    book "a correction of before, $i" 0 '' s.db seven.csv history.csv
    is "it is carried out, $i" "$(seventh s.db)" B8
done
is 'it is kept as six cells' "$(sqlite3 s.db "SELECT old, new FROM history WHERE key LIKE '%07-01%'")" \
    ',,B7,,,|,,B8,,,'
dump_all s.db before
for t in events history; do "$vb" --dump $t s.db >again-$t.csv; done
book 'both once more' 0 '' s.db again-events.csv again-history.csv
unchanged 'nothing new either' s.db before

# a book of version 2 with a correction in it
cp s.db v2.db
older v2.db "DELETE FROM events WHERE event = 'fit'; DELETE FROM history WHERE key LIKE '%fit%';
    DROP TABLE alerts; DROP TABLE alerts_told;
    ALTER TABLE events DROP COLUMN faces; ALTER TABLE events DROP COLUMN item;
    UPDATE history SET old = ',,B7,', new = ',,B8,'; PRAGMA user_version = 2"
book 'a book of version 2 takes a table' 0 '' v2.db seven.csv
is 'its history fits' "$(sqlite3 v2.db 'SELECT old, new FROM history')" ',,B7,,,|,,B8,,,'
is 'the old row is known as old there' "$(seventh v2.db)" B8
is 'the book is sound' "$(sound v2.db)" ok

### lash lives: a fitted cam ends none, a replaced one those of its bank and side
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
V-1,2024-12-01,0,h,lash,1E,0.30,,mm
V-1,2024-12-01,0,h,lash,2E,0.30,,mm
V-1,2024-12-01,0,h,lash,2I,0.30,,mm
V-1,2025-08-01,50,h,lash,1E,0.30,,mm
V-1,2025-08-01,50,h,lash,2E,0.30,,mm
V-1,2025-08-01,50,h,lash,2I,0.30,,mm
END
grep -v 'V-1,2025-06-03' events.csv >cams.csv
hand 'readings' 0 '' life.db families.csv engines.csv cams.csv readings.csv
run "$bin/valve-drift" --all --as-of 2026-11-01 --format csv life.db
is 'only 2E begins anew' "$(printf '%s\n' "$out" | cut -d, -f1,3,5,6)" 'engine,at,since,n
V-1,1E,,2
V-1,2I,,2
V-1,2E,,1
V-1,2E,2025-06-02,1'
run "$bin/valve-due" --as-of 2026-11-01 --format csv life.db
is 'an engine with a fitted cam has not left' "$(printf '%s\n' "$out" | grep -c '^P-1,unread')" 1
done_testing
