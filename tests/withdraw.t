#!/bin/sh
# valve-book --withdraw: rows that are taken back, what stays of them, and that neither old sheets
# nor other books bring them back, in whatever order they come.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
basic base.db
as='--as-of 2026-11-01'

# takes NAME STATUS MESSAGES ARGS...: what a withdrawal says, to the letter
takes() {
    takes_name=$1 takes_want="$2||$3"
    shift 3
    run "$vb" --withdraw "$@"
    is "$takes_name" "$status|$out|$err" "$takes_want"
}
# past NAME BOOK WANT: the history without its heading
past() {
    "$vb" --dump history "$2" >"$work/.past" 2>&1
    is "$1" "$(sed 1d "$work/.past")" "$3"
}

### readings
cat >r.csv <<'EOF'
engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line
HC-1,2025-01-01,100,h,lash,1I,0.25,0.30,mm,0.005,21.5,dti-1,ab,tight,a.csv,3
HC-1,2025-01-01,100,h,lash,1E,0.35,,mm,,,,,,a.csv,4
HC-1,2025-02-01,200,h,lash,1I,0.28,,mm,,,,,,a.csv,5
EOF
cp base.db s.db
hand 'three readings' 0 '' s.db r.csv
cp s.db three.db
"$bin/valve-drift" $as --format csv s.db >drift.csv
sed 3,4d r.csv >w.csv
takes 'a reading' 0 '' --no-end s.db w.csv
shows 'it is gone' s.db 'HC-1,2025-01-01,100,1E,0.35,
HC-1,2025-02-01,200,1I,0.28,'
k='readings,"HC-1,2025-01-01,lash,1I'
gone="$k,found\",1,0.25,
$k,from\",1,\"0.005,21.5,100 h,dti-1,ab,tight,\"\"a.csv,3\"\"\",
$k,left\",1,0.3,"
past 'nothing of it is lost' s.db "$gone"
is 'and what was computed is stale' "$(sqlite3 s.db "SELECT group_concat(engine) FROM fresh")" D-07
"$bin/valve-drift" $as --format csv s.db | sed -n 2p | cut -d, -f 1,3,6,8 >now.csv
is 'and is computed without it' "$(cat now.csv)" HC-1,1I,1,0.28
dump_all s.db before
takes 'once more' 0 '' --no-end s.db w.csv
unchanged 'once more changes nothing' s.db before
hand 'the old sheet' 0 "$(passed 1 r.csv)" s.db r.csv
unchanged 'the old sheet changes nothing' s.db before
sed 's/,0.25,0.30,mm,/,0.010,0.012,in,/; 3,4d' r.csv >inch.csv
hand 'another reading of that valve and day' 0 '' s.db inch.csv
shows 'is another reading' s.db 'HC-1,2025-01-01,100,1E,0.35,
HC-1,2025-01-01,100,1I,0.254,0.3048
HC-1,2025-02-01,200,1I,0.28,'
takes 'in other words: inches' 0 '' --no-end s.db inch.csv
is 'where both came from is kept apart' "$("$vb" --dump history s.db | grep -c ',from",[12],')" 2
sed '3!d; s/,100,h/,101,h/' r.csv | cat r.csv - | sed '1n; 2,4d' >e.csv
takes 'a reading of a visit with another meter' 1 \
    "valve-book: e.csv:2: column 'meter': 101 here, 100 in the book for this visit (HC-1 in a.csv:4)" --no-end s.db e.csv
hand 'taken in again' 0 '' --correct s.db r.csv
shows 'it is back' s.db "$("$vb" --dump readings three.db | sed '1d;$d' | cut -d, -f1-3,6-8)"
"$vb" --dump readings s.db >back.csv
"$vb" --dump readings three.db >three.csv
ok 'all of it' cmp back.csv three.csv
"$bin/valve-drift" $as --format csv s.db >drift2.csv
ok 'and what is computed is what it was' cmp drift.csv drift2.csv
printf '%s\n' engine,date,label HC-1,2026-12-01,Cup >cup.csv
hand 'something else' 0 '' s.db cup.csv
is 'nothing is stale for that' "$(sqlite3 s.db "SELECT group_concat(engine) FROM fresh")" D-07,HC-1

# what a reading comes with fits into the history, quotes and all, or the reading is refused
# texts NAME: of its own file, with the texts of a row on standard input
texts() {
    { echo engine,date,quantity,at,found,unit,u,temp_c,gauge,by,note,source,line
      printf 'HC-1,2025-01-01,lash,1I,0.12345678901234567,mm,0.0012345678901234567,-12.345678901234567,'
      cat; } >"$1"
}
many() { printf "%0${1}d" 0 | tr 0 "$2"; }
# a source of quotes takes four bytes a quote: 2000 + 1600 + 4 * 80 of 4096
printf '%s,ab,%s,"%s",123456789\n' "$(many 2000 g)" "$(many 1600 n)" "$(many 160 \")" | texts fits.csv
many 4000 n | sed 's/^/g,ab,/; s/$/,a.csv,1/' | texts note.csv
echo >>note.csv
{ printf '%s' 'g,ab,n,"' && many 2000 \" && echo '",1'; } | texts quotes.csv
cp base.db s.db
hand 'texts that fit' 0 '' s.db fits.csv
"$vb" --dump readings s.db >long.csv
takes 'texts that fit' 0 '' --no-end s.db fits.csv
"$vb" --dump history s.db >long.history
cp base.db t.db
hand 'texts that fit: into another book' 0 '' t.db fits.csv long.history
same 'texts that fit: are gone there' s.db t.db
hand 'texts that fit: taken in again' 0 '' --correct s.db fits.csv
is 'texts that fit: as they were' "$("$vb" --dump readings s.db)" "$(cat long.csv)"
too_much() {
    cp base.db s.db
    hand "too much in $1" 1 \
        "valve-book: $1:2: gauge, by, note and source are longer than 4096 bytes (HC-1 in $2:1)" s.db "$1"
}
too_much note.csv a.csv
too_much quotes.csv "$(many 60 \")..."

# a line without a source
cp base.db s.db
printf '%s\n' engine,date,quantity,at,found,unit,line HC-1,2025-01-01,lash,1I,0.25,mm,3 >line.csv
hand 'a line without a source' 0 '' s.db line.csv
takes 'a line without a source' 0 '' --no-end s.db line.csv
past 'a line without a source is kept' s.db "$k,found\",1,0.25,
$k,from\",1,\",,,,,,\"\",3\"\"\","
# the sheet again, with a meter that cannot be read: what was withdrawn is passed over unread
dump_all s.db before
sed '1s/unit,line/unit,line,meter,meter_unit/; 2s/$/,1OO,h/' line.csv >meter.csv
hand 'the old sheet with a meter that is none' 0 "$(passed 1 meter.csv)" s.db meter.csv
unchanged 'the old sheet with a meter that is none changes nothing' s.db before
sed '2s/0.25/0.26/' meter.csv >other.csv
hand 'another value with it' 1 "valve-book: other.csv:2: column 'meter': bad number '1OO'" s.db other.csv
# a figure of the meter, of a visit that has none
cp base.db s.db
hand 'a visit without a figure' 0 '' s.db line.csv
sed '2s/1OO/100/' meter.csv >figure.csv
takes 'withdrawn with one' 1 "valve-book: figure.csv:2: column 'meter': 100 here, none in the book for this visit" \
    --no-end s.db figure.csv

# halves
cp three.db s.db
printf '%s\n' engine,date,quantity,at,left,unit,u HC-1,2025-01-01,lash,1I,0.30,mm,0.006 >left.csv
takes 'one half, with another uncertainty' 1 \
    "valve-book: left.csv:2: column 'u': lash 1I of HC-1: 0.006 here, 0.005 in the book" --no-end s.db left.csv
printf '%s\n' engine,date,quantity,at,found,unit HC-1,2025-01-01,lash,1I,0.25,mm >found.csv
takes 'the first half' 0 '' --no-end s.db found.csv
hand 'the first half: the old sheet' 0 "$(passed 1 r.csv)" s.db r.csv
shows 'the first half: the second stands' s.db 'HC-1,2025-01-01,100,1E,0.35,
HC-1,2025-01-01,100,1I,,0.3
HC-1,2025-02-01,200,1I,0.28,'
cp three.db s.db
printf '%s\n' engine,date,quantity,at,left,unit HC-1,2025-01-01,lash,1I,300,um >left.csv
takes 'one half' 0 '' --no-end s.db left.csv
shows 'the other half stands' s.db 'HC-1,2025-01-01,100,1E,0.35,
HC-1,2025-01-01,100,1I,0.25,
HC-1,2025-02-01,200,1I,0.28,'
past 'one half: the history' s.db "$k,left\",1,0.3,"
hand 'one half: the old sheet' 0 "$(passed 1 r.csv)" s.db r.csv
shows 'one half: stays away' s.db 'HC-1,2025-01-01,100,1E,0.35,
HC-1,2025-01-01,100,1I,0.25,
HC-1,2025-02-01,200,1I,0.28,'
hand 'one half: taken in again' 0 '' --correct s.db r.csv
takes 'one half: and not again' 0 '' --no-end s.db left.csv
hand 'one half: the old sheet and another reading' 0 "$(passed 1 r.csv)" s.db r.csv
shows 'one half: stays away for good' s.db 'HC-1,2025-01-01,100,1E,0.35,
HC-1,2025-01-01,100,1I,0.25,
HC-1,2025-02-01,200,1I,0.28,'
cp base.db s.db
hand 'one half: from the beginning' 0 '' s.db r.csv
takes 'one half: as before' 0 '' --no-end s.db left.csv
takes 'the other half, with both stated' 0 '' --no-end s.db w.csv
past 'halves: the history' s.db "$gone"
takes 'the last of a visit' 0 '' --no-end three.db r.csv
is 'a visit without a reading is none' "$(sqlite3 three.db 'SELECT count(*) FROM visits')" 0
is 'its meter is in the history' "$("$vb" --dump history three.db | grep -c '02-01.*",,200 h,,,,')" 1

# what is not so is not taken
cp base.db s.db
hand 'once again' 0 '' s.db r.csv
dump_all s.db before
# not NAME MESSAGE ROW: nothing is withdrawn
not() {
    { sed 1q r.csv && echo "$3"; } >not.csv
    takes "$1" 1 "valve-book: not.csv:2: $2" --no-end s.db not.csv
    unchanged "$1: the book is as before" s.db before
}
not 'another value' "column 'found': lash 1I of HC-1: 0.26 here, 0.25 in the book" \
    HC-1,2025-01-01,100,h,lash,1I,0.26,0.30,mm,,,,,,,
not 'another value of the other half' "column 'left': lash 1I of HC-1: 0.31 here, 0.3 in the book" \
    HC-1,2025-01-01,100,h,lash,1I,0.25,0.31,mm,,,,,,,
not 'a half that is not there' "column 'left': lash 1E of HC-1: 0.3 here, nothing in the book" \
    HC-1,2025-01-01,100,h,lash,1E,0.35,0.30,mm,,,,,,,
not 'another uncertainty' "column 'u': lash 1I of HC-1: 0.006 here, 0.005 in the book" \
    HC-1,2025-01-01,100,h,lash,1I,0.25,0.30,mm,0.006,,,,,,
not 'another temperature' "column 'temp_c': lash 1I of HC-1: 20 here, 21.5 in the book" \
    HC-1,2025-01-01,100,h,lash,1I,0.25,0.30,mm,,20,,,,,
not 'another meter' "column 'meter': 101 here, 100 in the book for this visit" \
    HC-1,2025-01-01,101,h,lash,1I,0.25,0.30,mm,,,,,,,
not 'another day' "column 'found': lash 1I of HC-1: 0.25 here, nothing in the book" \
    HC-1,2025-01-02,100,h,lash,1I,0.25,0.30,mm,,,,,,,
not 'another valve' "column 'found': lash 2I of HC-1: 0.25 here, nothing in the book" \
    HC-1,2025-01-01,100,h,lash,2I,0.25,0.30,mm,,,,,,,
not 'an engine nobody knows' "column 'engine': unknown engine 'XX-9'" XX-9,2025-01-01,100,h,lash,1I,0.25,,mm,,,,,,,
takes 'readings need their end row' 2 \
    'valve-book: w.csv:2: no end row: the stream was cut short (--no-end for a table made by hand); nothing was loaded' \
    s.db w.csv
seal w.csv >sealed.csv
cp s.db t.db
takes 'a stream' 0 '' t.db sealed.csv
run "$vb" --withdraw --no-end --rejects rejects.csv s.db not.csv
is 'rejects' "$(sed 1d rejects.csv | cut -d, -f1-5)" "not.csv,2,engine,unknown engine 'XX-9',\"XX-9"

# A day that was wrong: its meter kept the right rows out, and its sheet is loaded again.
cp base.db s.db
rows day.csv <<'EOF'
HC-1,2025-06-01,100,h,lash,1I,0.25,,mm
HC-1,2025-06-01,100,h,lash,1E,0.35,,mm
EOF
hand 'a wrong day' 0 '' s.db day.csv
sed 's/2025-06/2025-01/' day.csv | sed '1!s/,100,/,50,/' >right.csv
echo HC-1,2025-09-01,60,h,lash,1I,0.24,,mm | rows later.csv
hand 'keeps a later one out' 1 \
    "valve-book: later.csv:2: column 'meter': 60 h on 2025-09-01 after 100 h on 2025-06-01: the meter runs backwards, and no meter event lies between" \
    s.db later.csv
takes 'a wrong day is withdrawn' 0 '' --no-end s.db day.csv
hand 'the right one and the later one' 0 '' s.db right.csv later.csv
dump_all s.db before
hand 'the sheet with the wrong day, whose meter goes no more' 0 "$(passed 2 day.csv)" s.db day.csv
unchanged 'the sheet with the wrong day changes nothing' s.db before
hand 'nor with --correct' 1 \
    "valve-book: day.csv:2: column 'meter': 60 h on 2025-09-01 after 100 h on 2025-06-01: the meter runs backwards, and no meter event lies between
valve-book: day.csv:3: column 'meter': 60 h on 2025-09-01 after 100 h on 2025-06-01: the meter runs backwards, and no meter event lies between" \
    --correct s.db day.csv
unchanged 'which leaves no trace' s.db before
sed 's/0.25/0.26/' day.csv >other.csv
hand 'another reading of the wrong day is refused' 1 \
    "valve-book: other.csv:2: column 'meter': 60 h on 2025-09-01 after 100 h on 2025-06-01: the meter runs backwards, and no meter event lies between
$(passed 1 other.csv)" s.db other.csv

cp base.db t.db
hand 'another book with the wrong day' 0 '' t.db day.csv
"$vb" --dump history s.db >day.history
"$vb" --dump readings s.db >day.readings
book 'gives it up before readings come' 0 '' t.db day.history day.readings
same 'and is the same book' t.db s.db

### small tables
cp base.db s.db
printf '%s\n' engine,date,event,part,at HC-1,2025-01-15,replace,seat,1E >seat.csv
hand 'an event' 0 '' s.db seat.csv
"$bin/valve-drift" $as s.db >/dev/null
takes 'an event alone' 0 '' s.db seat.csv
is 'what was computed is stale' "$(sqlite3 s.db "SELECT group_concat(engine) FROM fresh")" D-07
printf '%s\n' family,side,key,value,unit four,E,lash_min,0.20,mm >fact.csv
hand 'a fact' 0 '' s.db fact.csv
"$bin/valve-drift" $as s.db >/dev/null
takes 'a fact alone' 0 '' s.db fact.csv
is 'its engines are stale' "$(sqlite3 s.db "SELECT group_concat(engine) FROM fresh")" D-07
cp base.db s.db
cat >events.csv <<'EOF'
engine,date,meter,meter_unit,event,part,at,build,note
HC-1,2025-01-15,150,h,replace,seat,1E,,burnt
HC-1,2025-03-01,,,build,,,B2,
EOF
printf '%s\n' engine,date,meter_gain,label HC-1,2026-12-05,7.5,Cup HC-1,2026-12-20,,test >plan.csv
printf '%s\n' gauge,kind,resolution,unit dti-1,dial,0.01,mm >gauges.csv
printf '%s\n' lobe,cam_deg,lift,unit L-3,100,2.5,mm >lobes.csv
printf '%s\n' thickness,unit,count 2.7,mm,3 >shims.csv
printf '%s\n' gauge,part,by,trial,value,unit f,p,ab,1,0.25/0.3,mm >trials.csv
printf '%s\n' family,side,key,value,unit four,E,lash_min,0.20,mm >fact.csv
small='events.csv plan.csv gauges.csv lobes.csv shims.csv trials.csv fact.csv'
hand 'small tables' 0 '' s.db $small
dump_all s.db before
cp s.db full.db
"$bin/valve-drift" $as s.db >/dev/null
sed 's/exhaust/E/; s/0.20,mm/0.2,mm/' fact.csv >fact-b.csv
takes 'a row of each, in one run' 0 '' s.db events.csv plan.csv gauges.csv lobes.csv shims.csv trials.csv \
    fact-b.csv
for t in events plan gauges lobes shims trials; do
    is "no $t left" "$("$vb" --dump $t s.db | wc -l | tr -d ' ')" 1
done
past 'all are in the history' s.db 'events,"HC-1,2025-01-15,replace,seat,1E",1,"150,h,,burnt,,",
events,"HC-1,2025-03-01,build,,",1,",,B2,,,",
families,"four,E,lash_min",1,"0.2,mm",
gauges,dti-1,1,"dial,0.01,mm,,",
lobes,"L-3,100",1,"2.5,mm",
plan,"HC-1,2026-12-05,Cup",1,7.5,
plan,"HC-1,2026-12-20,test",1,"""""",
shims,"2.7,mm",1,3,
trials,"f,p,ab,1",1,"0.25/0.3,mm",'
dump_all s.db none
takes 'once more' 0 '' s.db $small
unchanged 'once more changes nothing' s.db none
old=
for i in $small; do old=$old$nl$(passed $(($(wc -l <"$i") - 1)) "$i"); done
hand 'the old tables' 0 "${old#"$nl"}" s.db $small
unchanged 'the old tables change nothing' s.db none
hand 'taken in again' 0 '' --correct s.db $small
for t in families events plan gauges lobes shims trials; do
    "$vb" --dump $t s.db >one
    "$vb" --dump $t full.db >two
    ok "taken in again: $t" cmp one two
done
past 'taken in again: a plan without a gain' s.db "$(sed -n '/^table,key/,/^engine/{/^table/d;/^engine/d;p}' none |
    awk '{ print } /^plan,"HC-1,2026-12-20/ { print "plan,\"HC-1,2026-12-20,test\",2,,\"\"\"\"\"\"" }
    /^plan,"HC-1,2026-12-05/ { print "plan,\"HC-1,2026-12-05,Cup\",2,,7.5" }
    /^events,"HC-1,2025-01/ { print "events,\"HC-1,2025-01-15,replace,seat,1E\",2,,\"150,h,,burnt,,\"" }
    /^events,"HC-1,2025-03/ { print "events,\"HC-1,2025-03-01,build,,\",2,,\",,B2,,,\"" }
    /^families/ { print "families,\"four,E,lash_min\",2,,\"0.2,mm\"" }
    /^gauges/ { print "gauges,dti-1,2,,\"dial,0.01,mm,,\"" }
    /^lobes/ { print "lobes,\"L-3,100\",2,,\"2.5,mm\"" }
    /^shims/ { print "shims,\"2.7,mm\",2,,3" }
    /^trials/ { print "trials,\"f,p,ab,1\",2,,\"0.25/0.3,mm\"" }')"
takes 'the plan without a gain once more' 0 '' s.db plan.csv
is 'is gone again' "$("$vb" --dump plan s.db | wc -l | tr -d ' ')" 1

# one NAME MESSAGE HEADING ROW: not withdrawn
dump_all full.db before
one() {
    printf '%s\n%s\n' "$3" "$4" >one.csv
    cp full.db s.db
    takes "$1" 1 "valve-book: one.csv:2: $2" s.db one.csv
    unchanged "$1: the book is as before" s.db before
}
one 'another note' "column 'note': 'cracked' here, 'burnt' in the book" engine,date,event,part,at,note \
    HC-1,2025-01-15,replace,seat,1E,cracked
one 'a cell that is blank in the book' "column 'build': 'B2' here, '' in the book" engine,date,event,part,at,build \
    HC-1,2025-01-15,replace,seat,1E,B2
one 'another day' 'not in the book' engine,date,event,part,at HC-1,2025-01-16,replace,seat,1E
one 'an engine with a history' "column 'engine': this engine has readings, events or plans" engine,family HC-1,four
sqlite3 full.db "DELETE FROM families WHERE family = 'twin' AND key = 'valves'"
dump_all full.db before
one 'the last fact of a family' "column 'family': this is the last fact of a family that has engines" \
    family,side,key,value twin,,cylinders,4
one 'a bad number' "column 'resolution': bad number 'x'" gauge,resolution,unit dti-1,x,mm
printf '%s\n' engine,date,event,part,at HC-1,2025-01-15,replace,seat,'ex 1' >words.csv
cp full.db s.db
takes 'in other words, and only the key' 0 '' s.db words.csv
is 'in other words: it is gone' "$("$vb" --dump events s.db | sed 1d)" HC-1,2025-03-01,,,build,,,B2,,,
printf 'engine,family\nHC-1,four\nD-07,twin\n' >both.csv
"$bin/valve-drift" $as s.db >/dev/null
takes 'an engine with all that refers to it, in one run' 0 '' s.db events.csv both.csv plan.csv
is 'no engine is left' "$("$vb" --dump engines s.db | wc -l | tr -d ' ')" 1
is 'and nothing is kept of it' "$(sqlite3 s.db 'SELECT count(*) FROM fresh')" 0
is 'the book is sound' "$(sound s.db)" ok
hand 'the old engines' 0 "$(passed 2 both.csv)" s.db both.csv
is 'stay away' "$("$vb" --dump engines s.db | wc -l | tr -d ' ')" 1

# a swap of the meter that readings behind it need
cp base.db s.db
rows meters.csv <<'EOF'
HC-1,2025-01-01,100,h,lash,1I,0.25,,mm
HC-1,2025-06-01,50,h,lash,1I,0.24,,mm
EOF
printf '%s\n' engine,date,meter,meter_unit,event,at HC-1,2025-03-01,150,h,meter,0 >swap.csv
hand 'a swap' 0 '' s.db meters.csv swap.csv
takes 'a swap that is needed' 1 \
    "valve-book: swap.csv:2: column 'meter': without this event: 50 h on 2025-06-01 after 100 h on 2025-01-01: the meter runs backwards, and no meter event lies between" \
    s.db swap.csv
past 'a swap that is needed stays' s.db ''
sed 2d meters.csv >behind.csv
cp s.db t.db
takes 'together with what needs it' 0 '' --no-end t.db swap.csv behind.csv
shows 'what is left then' t.db HC-1,2025-01-01,100,1I,0.25,
"$vb" --dump history t.db >swap.history
book 'from another book' 0 '' s.db swap.history
shows 'the same there' s.db HC-1,2025-01-01,100,1I,0.25,
same 'and the same book' s.db t.db
cp base.db s.db
hand 'a swap once more' 0 '' s.db meters.csv swap.csv
grep -e ^table -e ^events swap.history >swap-only.history
book 'the swap alone from another book' 1 \
    "valve-book: s.db: column 'meter': without this event: 50 h on 2025-06-01 after 100 h on 2025-01-01: the meter runs backwards, and no meter event lies between" \
    s.db swap-only.history
is 'is not done here' "$("$vb" --dump events s.db | wc -l | tr -d ' ')" 2
cp base.db s.db
hand 'engine: readings here' 0 '' s.db meters.csv swap.csv
printf '%s\n' table,key,seq,old,new 'engines,HC-1,1,"four,,,",' >engine.history
book 'an engine that has readings here' 1 \
    "valve-book: s.db: engines 'HC-1' was withdrawn elsewhere, but this engine has readings, events or plans" \
    s.db engine.history

# an event that was withdrawn and does not go with what is there now
cp base.db s.db
printf '%s\n' engine,date,meter,meter_unit,event,part HC-1,2025-02-01,900,h,replace,cam >cam.csv
hand 'a wrong figure' 0 '' s.db cam.csv
takes 'a wrong figure is withdrawn' 0 '' s.db cam.csv
hand 'right ones' 0 '' s.db meters.csv swap.csv
dump_all s.db before
hand 'the wrong one is not taken in again' 1 \
    "valve-book: cam.csv:2: column 'meter': with this event: 900 h on 2025-02-01 (an event) after 100 h on 2025-01-01: more than 24 h a day" \
    --correct s.db cam.csv
unchanged 'and the history does not say so' s.db before

# an event that another book took in again, of an engine that nobody has stated here
printf '%s\n' table,key,seq,old,new 'events,"HC-1,2025-03-01,build,,",1,",,B2,,,",' \
    'events,"HC-1,2025-03-01,build,,",2,,",,B2,,,"' >build.history
book 'history alone, into a new book' 0 '' fresh.db build.history
is 'brings no event without its engine' "$("$vb" --dump events fresh.db | wc -l | tr -d ' ')" 1
cp base.db s.db
book 'history alone' 0 '' s.db build.history
is 'brings the event where the engine is known' "$("$vb" --dump events s.db | sed 1d)" HC-1,2025-03-01,,,build,,,B2,,,
# the same for a plan, which needs its engine, and an engine, which needs its family
printf '%s\n' table,key,seq,old,new 'plan,"HC-1,2026-12-01,Cup",1,100,' 'plan,"HC-1,2026-12-01,Cup",2,,100' \
    'engines,Z-1,1,"four,,,",' 'engines,Z-1,2,,"four,,yard,"' 'gauges,F7,1,"feeler,0.01,mm,,",' \
    'gauges,F7,2,,"feeler,0.01,mm,,"' >more.history
rm -f fresh.db
book 'plan and engine: into a new book' 0 '' fresh.db more.history
gives plan fresh.db engine,date,meter_gain,label
gives gauges fresh.db "gauge,kind,resolution,unit,u,valid_until${nl}F7,feeler,0.01,mm,,"
gives engines fresh.db engine,family,in_service,site,note
cp base.db s.db
book 'plan and engine: where they are known' 0 '' s.db more.history
gives plan s.db "engine,date,meter_gain,label${nl}HC-1,2026-12-01,100,Cup"
gives engines s.db "engine,family,in_service,site,note${nl}D-07,twin,,,${nl}HC-1,four,,,${nl}Z-1,four,,yard,"
# an event that does not go with what is here
printf '%s\n' table,key,seq,old,new 'events,"HC-1,2025-02-01,replace,cam,",1,"900,h,,,,",' \
    'events,"HC-1,2025-02-01,replace,cam,",2,,"900,h,,,,"' >cam.history
cp base.db s.db
hand 'readings here' 0 '' s.db meters.csv swap.csv
book 'an event taken in again elsewhere' 1 \
    "valve-book: s.db: event 'HC-1,2025-02-01,replace,cam,', taken in again elsewhere: 900 h on 2025-02-01 (an event) after 100 h on 2025-01-01: more than 24 h a day" \
    s.db cam.history
is 'does not stand here' "$("$vb" --dump events s.db | grep -c cam)" 0
cp base.db s.db
book 'history that says nothing' 1 "valve-book: nothing.history:2: column 'old': neither old nor new" s.db \
    "$(printf '%s\n' table,key,seq,old,new 'plan,"HC-1,2025-03-01,x",1,,' >nothing.history && echo nothing.history)"

### a row that was withdrawn and that another one was corrected into stands
engine() { printf 'engine,family\nK-1,%s\n' "$1"; }
gauge() { printf 'gauge,kind,unit,u\nk-1,dial,mm,%s\n' "$1"; }
printf 'family,side,key,value,unit\n' >fam.csv
for n in 4 6 8; do echo "base$n,,cylinders,$n,"; done >>fam.csv
# TABLE, its row, what is withdrawn (that, or what became of it), what is given next
for row in 'engine base6 base6 base4' 'engine base6 base4 base8' 'gauge 0.006 0.006 0.004' \
    'gauge 0.006 0.004 0.008'; do
    # shellcheck disable=SC2086
    set -- $row
    cp base.db s.db
    "$1" "$2" >one.csv && "$1" "$3" >gone.csv && "$1" "$4" >other.csv
    hand "$row: one" 0 '' s.db fam.csv one.csv
    hand "$row: as it is withdrawn" 0 '' --correct s.db gone.csv
    takes "$row: withdrawn" 0 '' s.db gone.csv
    hand "$row: another" 0 '' s.db other.csv
    hand "$row: corrected into the first" 0 '' --correct s.db one.csv
    dump_all s.db want
    rm -rf new.db dumped && mkdir dumped
    for t in $tables; do "$vb" --dump "$t" s.db >"dumped/$t"; done
    for other in new.db s.db; do
        run "$vb" --as-of 2026-11-01 $other dumped/*
        is "$row: dumped into $other" "$status|$out|$err" '0||'
        unchanged "$row: the same book" $other want
    done
    hand "$row: the first sheet" 0 '' s.db one.csv
    unchanged "$row: changes nothing" s.db want
done

### options
cp base.db s.db
takes 'the history itself' 2 'valve-book: swap.history:1: the history is never withdrawn' s.db swap.history
takes 'no book' 2 'valve-book: none.db: No such file or directory' none.db events.csv
ok 'no book is made' [ ! -e none.db ]
run "$vb" --withdraw --correct s.db events.csv
is 'withdraw or correct' "$status $(printf '%s\n' "$err" | head -n 1)" \
    '2 valve-book: --withdraw goes with neither --as-of nor --correct'

### three depots, in every order
# All rows that any depot ever had, and which of them were wrong. What a depot knows of them: 0 it
# has the sheet, 1 it withdraws wrong rows, 2 it takes some in again that were right after all.
cat >depots.awk <<'EOF'
function reading(values, d, step) {
    print "HC-1," date "," meter ",h," values "," (below(3) ? "" : "0.005") "," (below(2) ? "21" : "") "," \
        (below(2) ? "dti-" below(3) : "") "," (below(2) ? "f" below(3) : "") ",," d below(3) ".csv," \
        1 + below(90) > (d step "r.csv")
}
function event(d, step) {
    print "HC-1," date "," (below(2) ? meter "," "h" : ",") ",replace," part "," at ",," \
        (below(2) ? "note" : "") > (d step "e.csv")
}
function put(kind, d, step) {
    if (kind == "e")
        event(d, step)
    else if (left == "" || below(3))
        reading("lash," at "," found "," left ",mm", d, step)
    else { # its two halves apart
        reading("lash," at "," found ",,mm", d, step)
        reading("lash," at ",," left ",mm", d, step)
    }
}
BEGIN {
    seed = 7
    for (d = 1; d <= 3; d++)
        for (step = 0; step <= 2; step++) {
            D = substr("ABC", d, 1)
            print "engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line" \
                > (D step "r.csv")
            print "engine,date,meter,meter_unit,event,part,at,build,note" > (D step "e.csv")
        }
    for (v = 1; v <= 40; v++) {
        date = sprintf("20%02d-%02d-%02d", 10 + int(v / 12), 1 + v % 12, 1 + below(28))
        meter = 100 * v + below(60)
        for (i = 1; i <= 5; i++) {
            kind = i < 5 ? "r" : "e"
            at = int((i + 1) / 2) substr("EI", 1 + i % 2, 1)
            part = below(2) ? "seat" : "valve"
            found = (200 + below(100)) / 1000
            left = below(2) ? (200 + below(100)) / 1000 : ""
            wrong = below(4) == 0
            right_after_all = wrong && below(3) == 0
            knows = 1 + below(3)
            for (d = 1; d <= 3; d++) {
                D = substr("ABC", d, 1)
                has = d == knows || below(3)
                if (has)
                    put(kind, D, 0)
                if (has && wrong && (d == knows || below(3) == 0)) {
                    gone[D]++
                    if (kind == "r")
                        print "HC-1," date ",,,lash," at "," found "," left ",mm,,,,,,," > (D "1r.csv")
                    else
                        print "HC-1," date ",,,replace," part "," at ",," > (D "1e.csv")
                }
                if (has && d == knows && right_after_all)
                    put(kind, D, 2)
            }
            if (!wrong || right_after_all)
                print kind == "r" ? date ",lash," at "," found "," left : date ",replace," part "," at ",," > "expect.csv"
        }
    }
    print gone["A"] + gone["B"] + gone["C"] > "gone"
}
EOF
awk -f "$top/tests/draw.awk" -f depots.awk || exit 1
tables='families engines events history readings'
dumps() {
    mkdir -p "$1"
    for t in $tables; do "$vb" --dump "$t" "$1.db" >"$1/$t" || exit 1; done
}
for d in A B C; do
    cp base.db $d.db
    hand "depot $d: as read" 0 '' $d.db ${d}0r.csv ${d}0e.csv
    takes "depot $d: withdrawn" 0 '' --no-end $d.db ${d}1r.csv ${d}1e.csv
    cp $d.db early-$d.db
    dumps early-$d
    hand "depot $d: taken in again" 0 '' --correct $d.db ${d}2r.csv ${d}2e.csv
    dumps $d
done
ok 'many rows were withdrawn' [ "$(cat gone)" -gt 60 ]
# joins NAME ORDER: the dumps of the books in ORDER into NAME.db, one load each
joins() {
    joined=
    for d in $2; do
        run "$vb" --as-of 2026-11-01 "$1.db" "$d"/*
        joined=$joined$status$err
    done
    is "$2: nothing is refused" "$(echo "$joined" | tr -d 0)" ''
}
rm -f ABC.db
joins ABC 'A B C'
dump_all ABC.db want
{ "$vb" --dump readings ABC.db | sed '1d;$d' | cut -d, -f2,5-8
  "$vb" --dump events ABC.db | sed 1d | cut -d, -f2,5-7 | sed 's/$/,,/'; } | sort >got.csv
sort expect.csv >want.csv
ok 'what stands is what was right' cmp got.csv want.csv
# early-A is what A had dumped before it took some rows in again
for order in 'A C B' 'B A C' 'B C A' 'C A B' 'C B A' 'A B C A B C A B C' \
    'early-A early-B early-C A B C' 'early-B early-A A C B' 'early-C B early-A A early-B C' \
    'C early-C early-B A B early-A'; do
    rm -f other.db
    joins other "$order"
    unchanged "$order: the same book" other.db want
done
rm -f AB.db BC.db halves.db lap.db
joins AB 'A B' && dumps AB
joins BC 'B C' && dumps BC
joins halves 'BC A'
unchanged 'a merged book merges' halves.db want
joins lap 'AB BC'
unchanged 'two merged books that share a depot' lap.db want
cp B.db into.db
joins into 'C A'
unchanged 'the others into the book of a depot' into.db want
for order in 'A B C' 'C B A' 'B A C'; do
    rm -f other.db
    files=
    for d in $order; do files="$files $d/readings $d/history $d/events $d/engines $d/families"; done
    # shellcheck disable=SC2086
    run "$vb" --as-of 2026-11-01 other.db $files
    is "$order in one load" "$status|$out|$err" '0||'
    unchanged "$order in one load: the same book" other.db want
done
# what every depot had at first, all over again
run "$vb" $as --no-end other.db A0r.csv A0e.csv B0r.csv B0e.csv C0r.csv C0e.csv
is 'all old sheets' "$status|$out" '0|'
unchanged 'all old sheets: change nothing' other.db want
is 'the book is sound' "$(sound other.db)" ok
is 'no visit without a reading' "$(sqlite3 other.db 'SELECT count(*) FROM visits WHERE visit NOT IN
    (SELECT visit FROM reading)')" 0
done_testing
