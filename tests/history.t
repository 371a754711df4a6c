#!/bin/sh
# valve-book: rows of the history that no book of ours has written, or that two books have
# written differently under one number. They are kept as they are, and only what they name
# is changed.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
basic base.db
rows r.csv <<'END'
HC-1,2025-01-01,100,h,lash,1I,0.25,,mm
HC-1,2025-02-01,200,h,lash,1I,0.26,,mm
END
printf 'gauge,kind,resolution,unit\nF1,feeler,0.01,mm\n' >gauges.csv
"$vb" --as-of 2026-11-01 --no-end base.db r.csv gauges.csv
tables='families engines events gauges plan lobes shims trials readings'
dump_all base.db rest

# past NAME BOOK WANT: the history without its heading
past() {
    "$vb" --dump history "$2" >"$work/.past" 2>&1
    is "$1" "$(sed 1d "$work/.past")" "$3"
}
# history FILE ROW...
history() {
    history_file=$1
    shift
    printf '%s\n' table,key,seq,old,new "$@" >"$history_file"
}
# idle NAME ROW: a row that changes nothing but the history, where it stands; dumped and loaded
# into another book it does the same
idle() {
    idle_name=$1
    cp base.db s.db
    history h.csv "$2"
    book "$idle_name" 0 '' s.db h.csv
    past "$idle_name: is kept" s.db "$2"
    unchanged "$idle_name: changes nothing" s.db rest
    "$vb" --dump history s.db >dumped.csv
    cp base.db t.db
    "$vb" --as-of 2026-11-01 t.db dumped.csv
    past "$idle_name: is kept by the next" t.db "$2"
}
k='readings,"HC-1,2025-01-01,lash,1I'
idle 'corrected: no key of a reading' readings,abc,1,0.25,0.3
idle 'corrected: a long key that is none' readings,abc:def,1,0.25,0.3
idle 'corrected: no key of a meter' 'readings,"HC-1,meter",1,100,110'
idle 'corrected: no column of a reading' "$k,colour\",1,0.25,0.3"
idle 'corrected: no number' "$k,found\",1,0.25,much"
idle 'corrected: another value' "$k,found\",1,0.24,0.3"
idle 'corrected: no key of an event' 'events,"HC-1,build",1,",,B1,,,",",,B2,,,"'
idle 'corrected: no key of a gauge' 'gauges,"F1,F2",1,"feeler,0.01,mm,,","feeler,0.02,mm,,"'
idle 'corrected: no such gauge' 'gauges,F2,1,"feeler,0.01,mm,,","feeler,0.02,mm,,"'
idle 'corrected: another row of it' 'gauges,F1,1,"feeler,0.05,mm,,","feeler,0.02,mm,,"'
idle 'corrected: into no row' 'gauges,F1,1,"feeler,0.01,mm,,","feeler,0.02"'
idle 'withdrawn: no key of a reading' readings,abc,1,0.25,
idle 'withdrawn: no column of a reading' "$k,colour\",1,0.25,"
idle 'withdrawn: another value' "$k,found\",1,0.24,"
idle 'withdrawn: no key of a gauge' 'gauges,"F1,F2",1,"feeler,0.01,mm,,",'
idle 'withdrawn: no row of a gauge' 'gauges,F1,1,"feeler,0.01",'
idle 'withdrawn: another row of it' 'gauges,F1,1,"feeler,0.05,mm,,",'
idle 'taken in again: what stands' "gauges,F1,1,,\"feeler,0.01,mm,,\""
idle 'taken in again: no row of a gauge' 'gauges,F2,1,,"feeler,0.01"'
idle 'taken in again: what was never withdrawn' 'gauges,F2,1,,"feeler,0.01,mm,,"'
# a row of events has six cells beside its key, once it had four: those are made six, if they fit
some=$(printf '%04088d' 0 | tr 0 n)
idle 'an event as long as a cell' "events,\"HC-1,2025-03-01,build,,\",1,\",,B1,$some\","
cp base.db s.db
history h.csv "events,\"HC-1,2025-03-01,build,,\",1,\",,B1,${some#nnn}\","
book 'an event of four cells' 0 '' s.db h.csv
past 'an event of four cells has six' s.db "events,\"HC-1,2025-03-01,build,,\",1,\",,B1,${some#nnn},,\","

### what a row became on its way
# follows NAME WANT ROW...: gauge F1 behind these rows
follows() {
    follows_name=$1 follows_want=$2
    shift 2
    cp base.db s.db
    history h.csv "$@"
    book "$follows_name" 0 '' s.db h.csv
    is "$follows_name: what stands" "$("$vb" --dump gauges s.db | sed 1d)" "$follows_want"
}
was='"feeler,0.01,mm,,"' is='"feeler,0.02,mm,,"'
follows 'corrected, then withdrawn' '' "gauges,F1,1,$was,$is" "gauges,F1,2,$is,"
follows 'withdrawn, then taken in again with a correction' F1,feeler,0.02,mm,, \
    "gauges,F1,1,$was," "gauges,F1,2,,$is"
follows 'withdrawn, taken in again, withdrawn' '' "gauges,F1,1,$was," "gauges,F1,2,,$was" "gauges,F1,3,$was,"
follows 'withdrawn twice' '' "gauges,F1,1,$was," "gauges,F1,2,$was,"
follows 'corrected into what is no row, then withdrawn' '' "gauges,F1,1,$was,word" "gauges,F1,2,$was,"
follows 'withdrawn, then taken in again as no row' '' "gauges,F1,1,$was," "gauges,F1,2,,word"

### one number, two books
# both NAME STATUS MESSAGE WANT ROW ROW: the second comes behind the first
both() {
    both_name=$1 both_status=$2 both_err=$3 both_want=$4
    cp base.db s.db
    history one.csv "$5"
    history two.csv "$6"
    "$vb" --as-of 2026-11-01 s.db one.csv
    book "$both_name" "$both_status" "$both_err" s.db two.csv
    past "$both_name: what is kept" s.db "$both_want"
}
z='HC-1,2024-01-01,lash,1I'
# of where a reading came from the smaller of what is not blank is kept, as of two origins
both 'two who withdrew one reading' 0 '' "readings,\"$z,from\",1,\"0.005,21,100,dti-1,ab,loose,\"\"a.csv,3\"\"\"," \
    "readings,\"$z,from\",1,\"0.006,21,100,dti-2,,loose,\"\"a.csv,3\"\"\"," \
    "readings,\"$z,from\",1,\"0.005,,99,dti-1,ab,tight,\"\"b.csv,2\"\"\","
# the meter has its unit, which older versions did not keep; of two figures the lesser is kept
u() { echo "readings,\"$z,from\",1,\",,$1,,,,\","; }
both 'one with a unit, one without' 0 '' "$(u '100 km')" "$(u 100)" "$(u '100 km')"
both 'the other way round' 0 '' "$(u '100 km')" "$(u '100 km')" "$(u 100)"
both 'two units' 0 '' "$(u '100 h')" "$(u '100 km')" "$(u '100 h')"
both 'two units the other way round' 0 '' "$(u '100 h')" "$(u '100 h')" "$(u '100 km')"
both 'the lesser without a unit' 0 '' "$(u 100)" "$(u '200 h')" "$(u 100)"
both 'the lesser with one' 0 '' "$(u '100 h')" "$(u 200)" "$(u '100 h')"
both 'one digit more' 0 '' "$(u '10 h')" "$(u '100 h')" "$(u '10 h')"
both 'one digit less' 0 '' "$(u '10 km')" "$(u '10 km')" "$(u '100 h')"
both 'no figure at all' 0 '' "$(u '100 h')" "$(u '')" "$(u '100 h')"
both 'none of both' 0 '' "$(u '')" "$(u '')" "$(u '')"
both 'of whom one knew more' 0 '' 'gauges,F9,1,"feeler,0.01,mm,0.02,",' \
    'gauges,F9,1,"feeler,0.01,mm,,",' 'gauges,F9,1,"feeler,,mm,0.02,",'
both 'the same for what was taken in again' 0 '' 'gauges,F9,1,,"feeler,0.01,mm,0.02,"' \
    'gauges,F9,1,,"feeler,0.01,mm,,"' 'gauges,F9,1,,"feeler,,mm,0.02,"'
both 'who withdrew two rows' 1 \
    "valve-book: two.csv:2: column 'old': 'feeler,0.02,mm,,' here, 'feeler,0.01,mm,,' in the book" \
    'gauges,F9,1,"feeler,0.01,mm,,",' 'gauges,F9,1,"feeler,0.01,mm,,",' 'gauges,F9,1,"feeler,0.02,mm,,",'
both 'of which one is none' 1 \
    "valve-book: two.csv:2: column 'old': 'feeler,0.01' here, 'feeler,0.01,mm,,' in the book" \
    'gauges,F9,1,"feeler,0.01,mm,,",' 'gauges,F9,1,"feeler,0.01,mm,,",' 'gauges,F9,1,"feeler,0.01",'
both 'or the other' 1 \
    "valve-book: two.csv:2: column 'old': 'feeler,0.01,mm,,' here, 'feeler,0.01' in the book" \
    'gauges,F9,1,"feeler,0.01",' 'gauges,F9,1,"feeler,0.01",' 'gauges,F9,1,"feeler,0.01,mm,,",'
both 'a key that is too short for its column' 1 \
    "valve-book: two.csv:2: column 'old': '0.6' here, '0.5' in the book" \
    'readings,abc,1,0.5,' 'readings,abc,1,0.5,' 'readings,abc,1,0.6,'
both 'who corrected two rows into one' 1 \
    "valve-book: two.csv:2: column 'old': 'feeler,0.05,mm,,' here, 'feeler,0.01,mm,,' in the book" \
    'gauges,F9,1,"feeler,0.01,mm,,","feeler,0.02,mm,,"' \
    'gauges,F9,1,"feeler,0.01,mm,,","feeler,0.02,mm,,"' 'gauges,F9,1,"feeler,0.05,mm,,","feeler,0.02,mm,,"'
both 'one withdrew what the other corrected: the correction stays' 0 '' \
    'gauges,F9,1,"feeler,0.01,mm,,","feeler,0.02,mm,,"' \
    'gauges,F9,1,"feeler,0.01,mm,,","feeler,0.02,mm,,"' 'gauges,F9,1,"feeler,0.01,mm,,",'

### a reading that was withdrawn and stands again, of which the history knows odd things
# again NAME WANT FROM: u, temperature, gauge, by, note, source and line of it afterwards
again() {
    again_name=$1 again_want=$2
    cp base.db s.db
    history h.csv "$k,found\",1,0.25," "$k,found\",2,,0.25" "$k,from\",1,$3,"
    book "$again_name" 0 '' s.db h.csv
    is "$again_name: what it knows" \
        "$("$vb" --dump readings s.db | sed -n 2p)" "HC-1,2025-01-01,100,h,lash,1I,0.25,,mm,$again_want"
}
again 'all is known' 0.005,21,dti-1,ab,tight,a.csv,3 '"0.005,21,100,dti-1,ab,tight,""a.csv,3"""'
again 'a line that is no number' 0.005,21,dti-1,ab,tight,a.csv, '"0.005,21,100,dti-1,ab,tight,""a.csv,x"""'
again 'a source without a line' ,,,,,a.csv, '",,100,,,,""a.csv,"""'
again 'a line without a source' ,,,,,,3 '",,100,,,,"",3"""'
again 'a source that is none' ,,,,,, '"0.005,21,100,dti-1,ab,tight,""a.csv,3,4"""'
again 'an uncertainty that is no number' ,21,dti-1,,,, '"high,21,100,dti-1,,,"'
# a text of 5,000 bytes is from before there was a limit: it stays with the reading
long=$(printf '%05000d' 0 | tr 0 n)
cp base.db s.db
sqlite3 s.db "INSERT INTO origins(source, gauge, by, note) VALUES('', '', '', '$long');
    UPDATE reading SET origin = last_insert_rowid() WHERE found = 0.25"
history h.csv "$k,found\",1,0.25," "$k,found\",2,,0.25" "$k,from\",1,\"0.005,21,100,,,,\","
book 'a text of 5,000 bytes' 0 '' s.db h.csv
is 'a text of 5,000 bytes: stays' "$("$vb" --dump readings s.db | sed -n 2p)" \
    "HC-1,2025-01-01,100,h,lash,1I,0.25,,mm,,,,,$long,,"
# withdrawn and taken in again with another value
cp base.db s.db
history h.csv "$k,found\",1,0.25," "$k,found\",2,,0.3"
book 'taken in again with another value' 0 '' s.db h.csv
shows 'taken in again with another value: stands' s.db 'HC-1,2025-01-01,100,1I,0.3,
HC-1,2025-02-01,200,1I,0.26,'
# one that stands where another was withdrawn knows nothing of that one
cp base.db s.db
history h.csv "$k,found\",1,0.5," "$k,from\",1,\"0.005,21,100,dti-1,ab,tight,\","
book 'another that was withdrawn' 0 '' s.db h.csv
is 'another that was withdrawn: is not this one' "$("$vb" --dump readings s.db | sed -n 2p)" \
    HC-1,2025-01-01,100,h,lash,1I,0.25,,mm,,,,,,,
again 'fewer cells' ,,,,,, '"0.005,21"'

is 'the book is sound' "$(sound s.db)" ok
done_testing
