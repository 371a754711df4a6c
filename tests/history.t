#!/bin/sh
# valve-book: rows of the history that no book of ours has written, or that two books have
# written differently under one number. What no row of its table could be is refused; others
# are kept as they are, and only what they name is changed.
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
# none NAME ROW WHY: no row that its table could have. It is refused; a book of an older
# version that has it takes in others beside it, and nothing is changed.
none() {
    none_name=$1
    cp base.db s.db
    history h.csv "$2"
    book "$none_name" 1 "valve-book: h.csv:2: column $3" s.db h.csv
    past "$none_name: is not kept" s.db ''
    sqlite3 s.db ".import --csv --skip 1 h.csv history"
    history h.csv 'gauges,F9,1,"feeler,0.01,mm,,",'
    book "$none_name: beside it" 0 '' s.db h.csv
    unchanged "$none_name: changes nothing" s.db rest
    "$vb" --check --as-of 2026-11-01 s.db >checked
    is "$none_name: is told" "$(sed -n 2p checked | cut -d, -f1)" history
}
k='readings,"HC-1,2025-01-01,lash,1I'
none 'corrected: no key of a reading' readings,abc,1,0.25,0.3 \
    "'key': names no row of readings"
none 'corrected: a long key that is none' readings,abc:def,1,0.25,0.3 \
    "'key': names no row of readings"
none 'corrected: no key of a meter' 'readings,"HC-1,meter",1,100,110' \
    "'key': names no row of readings"
none 'corrected: no column of a reading' "$k,colour\",1,0.25,0.3" \
    "'key': names no row of readings"
none 'corrected: no number' "$k,found\",1,0.25,much" \
    "'new': no cells of a row of readings: 'much'"
idle 'corrected: another value' "$k,found\",1,0.24,0.3"
none 'corrected: no key of an event' 'events,"HC-1,build",1,",,B1,,,",",,B2,,,"' \
    "'key': names no row of events"
none 'corrected: no key of a gauge' 'gauges,"F1,F2",1,"feeler,0.01,mm,,","feeler,0.02,mm,,"' \
    "'key': names no row of gauges"
idle 'corrected: no such gauge' 'gauges,F2,1,"feeler,0.01,mm,,","feeler,0.02,mm,,"'
idle 'corrected: another row of it' 'gauges,F1,1,"feeler,0.05,mm,,","feeler,0.02,mm,,"'
none 'corrected: into no row' 'gauges,F1,1,"feeler,0.01,mm,,","feeler,0.02"' \
    "'new': no cells of a row of gauges: 'feeler,0.02'"
none 'withdrawn: no key of a reading' readings,abc,1,0.25, \
    "'key': names no row of readings"
none 'withdrawn: no column of a reading' "$k,colour\",1,0.25," \
    "'key': names no row of readings"
idle 'withdrawn: another value' "$k,found\",1,0.24,"
none 'withdrawn: no key of a gauge' 'gauges,"F1,F2",1,"feeler,0.01,mm,,",' \
    "'key': names no row of gauges"
none 'withdrawn: no row of a gauge' 'gauges,F1,1,"feeler,0.01",' \
    "'old': no cells of a row of gauges: 'feeler,0.01'"
idle 'withdrawn: another row of it' 'gauges,F1,1,"feeler,0.05,mm,,",'
idle 'taken in again: what stands' "gauges,F1,1,,\"feeler,0.01,mm,,\""
none 'taken in again: no row of a gauge' 'gauges,F2,1,,"feeler,0.01"' \
    "'new': no cells of a row of gauges: 'feeler,0.01'"
idle 'taken in again: what was never withdrawn' 'gauges,F2,1,,"feeler,0.01,mm,,"'
# as the book would write it, and within what its column may be
for it in "$k,found\",1,0.25,0.30" "$k,found\",1,0.25,-0.3" "$k,found\",1,0.25,99" "$k,u\",1,0.25,0" \
    'readings,"HC-1,2025-01-01,,,meter",1,100,-1' 'readings,"HC-1,2025-01-01,lash,1I,from",1,"0.005,21",' \
    'gauges,F1,1,"feeler,0.010,mm,,",' 'gauges,F2,1,"feeler,0.01,mm,,2025-02-30",'; do
    none "$it" "$it" "$(case $it in
    *from*) echo "'old': no cells of a row of readings: '0.005,21'" ;;
    *0.010*) echo "'old': no cells of a row of gauges: 'feeler,0.010,mm,,'" ;;
    *02-30*) echo "'old': no cells of a row of gauges: 'feeler,0.01,mm,,2025-02-30'" ;;
    *) echo "'new': no cells of a row of readings: '${it##*,}'" ;;
    esac)"
done
for it in '2025-1-01,lash,1I' '2025-01-01,Lash,1I' '2025-01-01,colour,1I' '2025-01-01,lash,1X' \
    '2025-01-01,lash,I1' '2025-01-01,compression,one'; do
    none "$it" "readings,\"HC-1,$it,found\",1,0.25,0.3" "'key': names no row of readings"
done
none 'a meter of a valve' 'readings,"HC-1,2025-01-01,lash,1I,meter",1,100,110' "'key': names no row of readings"
none 'a meter withdrawn alone' 'readings,"HC-1,2025-01-01,,,meter",1,100,' "'new': no cells of a row of readings: ''"
for it in 0 -1 1.5 1000000000000000; do
    none "number $it" "$k,found\",$it,0.24,0.3" "'seq': no number of a row of the history: '$it'"
done
none 'no engine' 'readings,",2025-01-01,lash,1I,found",1,100,110' "'key': names no row of readings"
none 'a plan of no day' 'plan,"HC-1,2025-01-1,",1,100,110' "'key': names no row of plan"
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
### a row that could not come in is not made of one that stands
# odd NAME TABLE MESSAGE ROW...: refused, and what stands is what stood
odd() {
    odd_name=$1 odd_table=$2 odd_err=$3
    shift 3
    cp base.db s.db
    history h.csv "$@"
    book "$odd_name" 1 "valve-book: $odd_err" s.db h.csv
    "$vb" --dump "$odd_table" base.db >before
    "$vb" --dump "$odd_table" s.db >after
    ok "$odd_name: what stood stands" cmp before after
}
odd 'an engine of no family' engines "h.csv:2: column 'new': family: unknown family 'five'" \
    'engines,HC-1,1,"four,,,","five,,,"'
odd 'a gauge in furlongs' gauges "h.csv:2: column 'new': unit: neither a unit of length nor of angle: 'furlong'" \
    "gauges,F1,1,$was,\"feeler,0.01,furlong,,\""
odd 'a fact in other words' families "h.csv:2: column 'new': value: the book would write '5'" \
    'families,"four,,cylinders",1,"4,","5.0,"'
furlong="gauges 'F1', corrected elsewhere: unit: neither a unit of length nor of angle: 'furlong'"
odd 'withdrawn, taken in again with a correction' gauges "s.db: $furlong" \
    "gauges,F1,1,$was," 'gauges,F1,2,,"feeler,0.01,furlong,,"'
odd 'withdrawn and taken in again where it was not' gauges \
    "s.db: $(echo "$furlong" | sed 's/F1/F2/; s/corrected/taken in again/')" \
    "gauges,F2,1,$was," 'gauges,F2,2,,"feeler,0.01,furlong,,"'
# what the withdrawn row knew beside does not go with what stands
cp base.db s.db
printf 'gauge,kind,resolution,unit,u,valid_until\nF3,feeler,,,,\n' >g.csv
"$vb" --as-of 2026-11-01 s.db g.csv
sqlite3 s.db "INSERT INTO history VALUES('gauges', 'F3', 1, 'feeler,,furlong,,', ''), ('gauges', 'F3', 2, '', 'feeler,,,,')"
history h.csv 'gauges,F9,1,"feeler,0.01,mm,,",'
book 'a withdrawn row in furlongs' 1 "valve-book: s.db: $(echo "$furlong" | sed s/F1/F3/)" s.db h.csv
is 'a withdrawn row in furlongs: what stands' "$("$vb" --dump gauges s.db | grep F3)" F3,feeler,,,,

### what does not fit is told with every merge, and done once it fits
cp base.db s.db
history h.csv 'engines,D-07,1,"twin,,here,","five,,there,"'
for night in 1 2; do
    book "a correction into no family, night $night" 1 \
        "valve-book: s.db: engines 'D-07', corrected elsewhere: family: unknown family 'five'" s.db h.csv
done
is 'D-07 is what it was' "$("$vb" --dump engines s.db | grep D-07)" D-07,twin,,,
printf 'family,side,key,value,unit\nfive,,cylinders,5,\n' >f.csv
book 'the family comes' 0 '' s.db f.csv
book 'and the correction fits' 0 '' s.db h.csv
is 'D-07 is what was made of it' "$("$vb" --dump engines s.db | grep D-07)" D-07,five,,there,
cp base.db s.db
printf 'engine,date,meter_gain,label\nD-07,2026-12-01,100,Run\n' >p.csv
"$vb" --as-of 2026-11-01 s.db p.csv
history h.csv 'engines,D-07,1,"twin,,,",'
for night in 1 2; do
    book "what is needed here was withdrawn, night $night" 1 \
        "valve-book: s.db: engines 'D-07' was withdrawn elsewhere, but this engine has readings, events or plans" s.db h.csv
done
run "$vb" --withdraw --no-end s.db p.csv
book 'and goes when it is not' 0 '' s.db h.csv
is 'it is gone' "$("$vb" --dump engines s.db | grep -c D-07)" 0

### facts that each went with the others where they were corrected
cp base.db s.db
printf 'family,side,key,value,unit\nfour,I,lash_min,0.2,mm\nfour,I,lash_max,0.4,mm\n' >f.csv
"$vb" --as-of 2026-11-01 s.db f.csv
history h.csv 'families,"four,I,lash_max",1,"0.4,mm","0.1,mm"' 'families,"four,I,lash_min",1,"0.2,mm","0.05,mm"'
book 'both are lower' 0 '' s.db h.csv
history h.csv 'families,"four,I,lash_max",2,"0.1,mm","0.01,mm"'
book 'one is too low for the other' 1 "valve-book: s.db: facts of family 'four' from several books: lash_min of side I is above lash_max: 0.05 and 0.01 mm" s.db h.csv

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
    "valve-book: two.csv:2: column 'old': gauges F9: 'feeler,0.02,mm,,' here, 'feeler,0.01,mm,,' in the book" \
    'gauges,F9,1,"feeler,0.01,mm,,",' 'gauges,F9,1,"feeler,0.01,mm,,",' 'gauges,F9,1,"feeler,0.02,mm,,",'
# a book of an older version may have one that is none
cp base.db s.db
sqlite3 s.db "INSERT INTO history VALUES('gauges', 'F9', 1, 'feeler,0.01', '')"
history two.csv 'gauges,F9,1,"feeler,0.01,mm,,",'
book 'of which one is none' 1 \
    "valve-book: two.csv:2: column 'old': gauges F9: 'feeler,0.01,mm,,' here, 'feeler,0.01' in the book" s.db two.csv
past 'of which one is none: what is kept' s.db 'gauges,F9,1,"feeler,0.01",'
both 'who corrected two rows into one' 1 \
    "valve-book: two.csv:2: column 'old': gauges F9: 'feeler,0.05,mm,,' here, 'feeler,0.01,mm,,' in the book" \
    'gauges,F9,1,"feeler,0.01,mm,,","feeler,0.02,mm,,"' \
    'gauges,F9,1,"feeler,0.01,mm,,","feeler,0.02,mm,,"' 'gauges,F9,1,"feeler,0.05,mm,,","feeler,0.02,mm,,"'
# what a reading came with is never corrected by itself; a book of an older version may say so
both 'who corrected where a reading came from' 1 \
    "valve-book: two.csv:2: column 'new': readings $z,from: ',,100 h,,,c,' here, ',,100 h,,,b,' in the book" \
    "readings,\"$z,from\",1,\",,100 h,,,a,\",\",,100 h,,,b,\"" \
    "readings,\"$z,from\",1,\",,100 h,,,a,\",\",,100 h,,,b,\"" \
    "readings,\"$z,from\",1,\",,100 h,,,a,\",\",,100 h,,,c,\""
# what the other corrected leads here to what is no row
cp base.db s.db
printf 'gauge,kind,resolution,unit,u,valid_until\nF4,feeler,,,,\n' >g.csv
"$vb" --as-of 2026-11-01 s.db g.csv
sqlite3 s.db "INSERT INTO history VALUES('gauges', 'F4', 1, 'dial,,,,', 'feeler,,,,'), ('gauges', 'F4', 2, 'blade,,,,', 'feeler,')"
history two.csv 'gauges,F4,1,"dial,,,,","blade,,,,"'
book 'of which one leads nowhere' 1 \
    "valve-book: two.csv:2: column 'new': gauges F4: 'blade,,,,' here, 'feeler,,,,' in the book" s.db two.csv
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
# a row that knows less than it should, from before that was looked at
cp base.db s.db
sqlite3 s.db "INSERT INTO history VALUES('readings', 'HC-1,2025-01-01,lash,1I,from', 1, '0.005,21', '')"
history h.csv "$k,found\",1,0.25," "$k,found\",2,,0.25"
book 'fewer cells' 0 '' s.db h.csv
is 'fewer cells: what it knows' "$("$vb" --dump readings s.db | sed -n 2p)" \
    HC-1,2025-01-01,100,h,lash,1I,0.25,,mm,,,,,,,

is 'the book is sound' "$(sound s.db)" ok
done_testing
