#!/bin/sh
# valve-book: the same reading twice, its two halves, contradictions and corrections.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
basic base.db
cat base.db >s.db

# sheet FILE VALUES: HC-1 on 2025-01-01 at 100 h, lash of 1I: found,left
sheet() {
    printf 'HC-1,2025-01-01,100,h,lash,1I,%s,mm\n' "$2" | rows "$1"
}

# past NAME BOOK WANT: the history of readings without its heading
past() {
    "$vb" --dump history "$2" >"$work/.past" 2>&1
    is "$1" "$(sed 1d "$work/.past")" "$3"
}
sheet first.csv 0.25,
sheet other.csv 0.30,
clash="column 'found': lash 1I of HC-1: 0.3 here, 0.25 in the book"

### the same again, and something else
hand 'first' 0 '' s.db first.csv
dump_all s.db before
hand 'the same again' 0 '' s.db first.csv
unchanged 'the same again changes nothing' s.db before
sed 's/100,h/100.0,hours/; s/0.25/0.250/; s/1I/Cyl 1 inlet/' first.csv >words.csv
hand 'the same in other words' 0 '' s.db words.csv
unchanged 'the same in other words changes nothing' s.db before
hand 'something else' 1 "valve-book: other.csv:2: $clash" s.db other.csv
unchanged 'something else changes nothing' s.db before
rows mixed.csv <<'END'
HC-1,2025-01-01,100,h,lash,1E,0.35,,mm
HC-1,2025-01-01,100,h,lash,1I,0.30,,mm
HC-1,2025-02-01,150,h,lash,1I,0.24,,mm
END
hand 'among other rows' 1 "valve-book: mixed.csv:3: $clash" s.db mixed.csv
shows 'the other rows are kept' s.db 'HC-1,2025-01-01,100,1E,0.35,
HC-1,2025-01-01,100,1I,0.25,
HC-1,2025-02-01,150,1I,0.24,'
cp base.db s.db
{ cat first.csv && sed 1d other.csv; } >both.csv
hand 'two rows of one file' 1 "valve-book: both.csv:3: $clash" s.db both.csv
shows 'the first of them is kept' s.db HC-1,2025-01-01,100,1I,0.25,
{ cat first.csv && printf 'HC-1,2025-02-01,150,h,lash,1I,0.2,,mm\n' && sed 1d other.csv; } >both.csv
cp base.db s.db
hand 'two rows of one file, apart' 1 "valve-book: both.csv:4: $clash" s.db both.csv
printf '%s\n' HC-1,2025-01-01,101,h,lash,1E,0.35,,mm | rows meter.csv
hand 'another meter' 1 \
    "valve-book: meter.csv:2: column 'meter': 101 here, 100 in the book for this visit" s.db meter.csv
rows u.csv </dev/null
printf '%s\n' 'engine,date,quantity,at,found,unit,u,temp_c' HC-1,2025-01-01,lash,1I,0.25,mm,0.01,20 >u.csv
hand 'uncertainty and temperature come later' 0 '' s.db u.csv
sed 's/0.01,20/0.02,20/' u.csv >v.csv
hand 'another uncertainty' 1 \
    "valve-book: v.csv:2: column 'u': lash 1I of HC-1: 0.02 here, 0.01 in the book" s.db v.csv
sed 's/0.01,20/,21/' u.csv >v.csv
hand 'another temperature' 1 \
    "valve-book: v.csv:2: column 'temp_c': lash 1I of HC-1: 21 here, 20 in the book" s.db v.csv
printf 'engine,family,site\nHC-1,four,shop\n' >site.csv
hand 'a blank is filled' 0 '' s.db site.csv
sed 's/shop/depot/' site.csv >moved.csv
hand 'an engine elsewhere' 1 "valve-book: moved.csv:2: column 'site': engines HC-1: 'depot' here, 'shop' in the book" \
    s.db moved.csv

### halves
sheet found.csv 0.25,
sheet left.csv ,0.20
sheet both.csv 0.25,0.20
for order in 'found left' 'left found' 'found both' 'left both' 'both found' 'both left'; do
    cp base.db s.db
    cp base.db t.db
    # shellcheck disable=SC2086
    set -- $order
    hand "halves: $order, one load" 0 '' s.db "$1.csv" "$2.csv"
    { cat "$1.csv" && sed 1d "$2.csv"; } >joined.csv
    hand "halves: $order, one file" 0 '' t.db joined.csv
    shows "halves: $order: one reading" s.db HC-1,2025-01-01,100,1I,0.25,0.2
    same "halves: $order: loads or one file" s.db t.db
done

### corrections
key='readings,"HC-1,2025-01-01,lash,1I,found"'
cp base.db s.db
hand 'correct: nothing to correct yet' 0 '' --correct s.db first.csv
past 'correct: no history of that' s.db ''
hand 'correct' 0 '' --correct s.db other.csv
shows 'correct: the new value' s.db HC-1,2025-01-01,100,1I,0.3,
past 'correct: the old value' s.db "$key,1,0.25,0.3"
dump_all s.db before
hand 'the old sheet again' 0 '' s.db first.csv
unchanged 'the old sheet again changes nothing' s.db before
hand 'the correction again' 0 '' --correct s.db other.csv
unchanged 'the correction again changes nothing' s.db before
sheet third.csv 0.28,
hand 'a third value' 1 \
    "valve-book: third.csv:2: column 'found': lash 1I of HC-1: 0.28 here, 0.3 in the book" s.db third.csv
hand 'corrected back' 0 '' --correct s.db first.csv
shows 'corrected back: the first value' s.db HC-1,2025-01-01,100,1I,0.25,
past 'corrected back: both steps' s.db "$key,1,0.25,0.3
$key,2,0.3,0.25"
hand 'the wrong correction again' 0 '' s.db other.csv
shows 'the wrong correction again changes nothing' s.db HC-1,2025-01-01,100,1I,0.25,
for t in $tables; do "$vb" --dump "$t" s.db >"there-and-back.$t"; done
for b in base first other; do
    cp base.db t.db
    [ "$b" = base ] || "$vb" --as-of 2026-11-01 --no-end t.db "$b.csv"
    book "there and back onto $b" 0 '' t.db there-and-back.readings there-and-back.history
    same "there and back onto $b: the same book" t.db s.db
done
sheet late.csv 0.25,0.20
cp base.db s.db
hand 'old sheet with more in it: first' 0 '' s.db first.csv
hand 'old sheet with more in it: correct' 0 '' --correct s.db other.csv
hand 'old sheet with more in it' 0 '' s.db late.csv
shows 'what it adds is taken, what was corrected stays' s.db HC-1,2025-01-01,100,1I,0.3,0.2

### corrections of a visit's meter
back='the meter runs backwards, and no meter event lies between'
cp base.db s.db
rows three.csv <<'END'
HC-1,2025-01-01,100,h,lash,1I,0.25,,mm
HC-1,2025-02-01,200,h,lash,1I,0.24,,mm
HC-1,2025-03-01,300,h,lash,1I,0.23,,mm
END
hand 'meter: three visits' 0 '' s.db three.csv
sed 's/,200,/,250,/' three.csv >three-b.csv
hand 'meter: another' 1 \
    "valve-book: three-b.csv:3: column 'meter': 250 here, 200 in the book for this visit" s.db three-b.csv
hand 'meter: corrected' 0 '' --correct s.db three-b.csv
past 'meter: the old figure' s.db 'readings,"HC-1,2025-02-01,,,meter",1,200,250'
hand 'meter: the old sheet again' 0 '' s.db three.csv
want='HC-1,2025-01-01,100,1I,0.25,
HC-1,2025-02-01,250,1I,0.24,
HC-1,2025-03-01,300,1I,0.23,'
shows 'meter: the new figure stays' s.db "$want"
sed 's/,200,/,301,/' three.csv >three-c.csv
hand 'meter: a correction that runs backwards' 1 \
    "valve-book: three-c.csv:3: column 'meter': 300 h on 2025-03-01 after 301 h on 2025-02-01: $back" \
    --correct s.db three-c.csv
shows 'meter: such a correction is not taken' s.db "$want"
past 'meter: nor remembered' s.db 'readings,"HC-1,2025-02-01,,,meter",1,200,250'
hand 'meter: corrected back' 0 '' --correct s.db three.csv
past 'meter: both steps' s.db 'readings,"HC-1,2025-02-01,,,meter",1,200,250
readings,"HC-1,2025-02-01,,,meter",2,250,200'

# Another shop corrected 200 to 350, and here the visit behind it stands at 300.
printf '%s\n' table,key,seq,old,new 'readings,"HC-1,2025-02-01,,,meter",1,200,350' >far.csv
cp base.db s.db
hand 'meter: three visits again' 0 '' s.db three.csv
dump_all s.db before
book "meter: another book's correction that cannot be" 1 \
    "valve-book: far.csv:2: column 'new': with this correction: 300 h on 2025-03-01 after 350 h on 2025-02-01: $back" \
    s.db far.csv
unchanged 'meter: it leaves the book as it was' s.db before

cp base.db s.db
hand 'meter: that correction first, then the visits' 1 \
    "valve-book: three.csv:4: column 'meter': 300 h on 2025-03-01 after 350 h on 2025-02-01: $back" \
    s.db far.csv three.csv
shows 'meter: it is carried out as the visit comes in' s.db 'HC-1,2025-01-01,100,1I,0.25,
HC-1,2025-02-01,350,1I,0.24,'

# A figure that was let in first is wrong: 6000 on the first day, and right ones are refused.
cp base.db s.db
sed -n '1p; 2s/,100,/,6000,/p' three.csv >slip.csv
hand 'slip: let in' 0 '' s.db slip.csv
sed 2d three.csv >rest.csv
hand 'slip: the right ones are blamed, with both figures' 1 \
    "valve-book: rest.csv:2: column 'meter': 200 h on 2025-02-01 after 6000 h on 2025-01-01: $back
valve-book: rest.csv:3: column 'meter': 300 h on 2025-03-01 after 6000 h on 2025-01-01: $back" s.db rest.csv
hand 'slip: corrected, and all are in' 0 '' --correct s.db three.csv
# the same slip twice: neither correction can stand without the other
cp base.db t.db
sed 's/,100,/,60000,/; s/,200,/,60100,/' three.csv | sed 4d >slips.csv
hand 'slips: two let in' 0 '' t.db slips.csv
sed 3d three.csv >one.csv
cp t.db u.db
dump_all u.db before
hand 'slips: one alone cannot be corrected' 1 \
    "valve-book: one.csv:3: column 'meter': 300 h on 2025-03-01 after 60100 h on 2025-02-01: $back
valve-book: one.csv:2: column 'meter': 60100 h on 2025-02-01 after 100 h on 2025-01-01: more than 24 h a day" \
    --correct u.db one.csv
unchanged 'slips: and leaves the book as it was' u.db before
sed 4d three.csv >two.csv
run "$vb" --as-of 2026-11-01 --no-end --correct --rejects rejects.csv u.db one.csv
is 'slips: rejects are kept whole' "$(sed 1d rejects.csv | cut -d, -f1-3)$(grep -c 'HC-1,2025-01-01,100,h,lash,1I,0.25,,mm' rejects.csv)" \
    'one.csv,3,meter
one.csv,2,meter1'
cp t.db u.db
sed '2p; 2s/,100,/,100.0,/' two.csv >spelt.csv
hand 'slips: both together, one of them in two spellings' 0 '' --correct u.db spelt.csv
past 'slips: is remembered once' u.db 'readings,"HC-1,2025-01-01,,,meter",1,60000,100
readings,"HC-1,2025-02-01,,,meter",1,60100,200'
hand 'slips: both together can' 0 '' --correct t.db two.csv
hand 'slips: and the third follows' 0 '' t.db three.csv
past 'slips: both are remembered' t.db 'readings,"HC-1,2025-01-01,,,meter",1,60000,100
readings,"HC-1,2025-02-01,,,meter",1,60100,200'
is 'slips: and stale' "$(sqlite3 t.db 'SELECT count(*) FROM fresh')" 0
# merged: into a book with both slips, into an empty one, and old sheets into a book that knows
for t in $tables; do "$vb" --dump "$t" t.db >"slips.$t"; done
cp base.db u.db
hand 'slips: a book that has both' 0 '' u.db slips.csv
book 'slips: takes the corrections' 0 '' u.db slips.history slips.readings
same 'slips: and is the same' u.db t.db
cp base.db u.db
book 'slips: the corrections alone' 0 '' u.db slips.history
hand 'slips: then the old sheets' 0 '' u.db slips.csv three.csv
same 'slips: the same again' u.db t.db
cp base.db u.db
sed 2,3d three.csv >last.csv
hand 'slips: the corrections, the newest visit, then the old sheet' 0 '' u.db slips.history last.csv
hand 'slips: the old sheet in between' 0 '' u.db slips.csv
same 'slips: the same then' u.db t.db
cp base.db u.db
rows blank.csv <<'END'
HC-1,2025-01-01,,,lash,1I,0.25,,mm
HC-1,2025-02-01,,,lash,1I,0.24,,mm
END
hand 'slips: visits without a figure' 0 '' u.db blank.csv slips.history
hand 'slips: filled with an old one' 0 '' u.db slips.csv three.csv
same 'slips: and that is the same' u.db t.db
cp base.db u.db
hand 'slips: the same slips here' 0 '' u.db slips.csv
sed p slips.history | sed 1d >twice.history
book 'slips: corrections that come twice' 0 '' u.db twice.history slips.history slips.readings
same 'slips: count once' u.db t.db

# a rebuild and a visit of one day, both with one slip, and the visit behind them
cp base.db s.db
printf '%s\n' engine,date,meter,meter_unit,event HC-1,2025-01-01,60000,h,build >build.csv
hand 'slip of an event: let in' 0 '' s.db build.csv
sed 's/60000/100/' build.csv >build-b.csv
hand 'slip of an event: the visits are refused' 1 \
    "valve-book: two.csv:2: column 'meter': 100 h on 2025-01-01 and 60000 h on 2025-01-01 (an event): more than 24 h a day
valve-book: two.csv:3: column 'meter': 200 h on 2025-02-01 after 60000 h on 2025-01-01 (an event): the meter runs backwards" \
    s.db two.csv
hand 'slip of an event: corrected, and they are in' 0 '' --correct s.db build-b.csv two.csv
past 'slip of an event: remembered' s.db 'events,"HC-1,2025-01-01,build,,",1,"60000,h,,,,","100,h,,,,"'
cp base.db t.db
sed -n 1,2p slips.csv >slip.csv
hand 'slip of both: let in' 0 '' t.db build.csv slip.csv
cp t.db u.db
hand 'slip of both: the event alone' 1 \
    "valve-book: build-b.csv:2: column 'meter': 60000 h on 2025-01-01 and 100 h on 2025-01-01 (an event): more than 24 h a day" \
    --correct u.db build-b.csv
hand 'slip of both: together' 0 '' --correct t.db build-b.csv two.csv
cp base.db u.db
sed 's/01-01/01-02/' build.csv >day-after.csv
hand 'slip of both, a day apart' 0 '' u.db day-after.csv slip.csv
sed 's/01-01/01-02/' build-b.csv >day-after.csv
hand 'slip of both, a day apart: corrected, and the next visit is in' 0 '' --correct u.db day-after.csv two.csv
hand 'slip of both: another figure' 1 \
    "valve-book: build.csv:2: column 'meter': 100 h on 2025-01-01 and 60000 h on 2025-01-01 (an event): more than 24 h a day" \
    --correct t.db build.csv
is 'slip of both: is not taken' "$("$vb" --dump events t.db | sed 1d)" HC-1,2025-01-01,100,h,build,,,,,,
printf '%s\n' engine,date,event HC-1,2025-01-20,end >end.csv
printf '%s\n' engine,date,meter,meter_unit,event HC-1,2025-01-20,5,h,end >end-b.csv
hand 'an event without a figure' 0 '' t.db end.csv
hand 'an event is filled, but not with that' 1 \
    "valve-book: end-b.csv:2: column 'meter': with this event: 5 h on 2025-01-20 (an event) after 100 h on 2025-01-01: the meter runs backwards" \
    t.db end-b.csv
hand 'nor by correction' 1 \
    "valve-book: end-b.csv:2: column 'meter': with this event: 5 h on 2025-01-20 (an event) after 100 h on 2025-01-01: the meter runs backwards" \
    --correct t.db end-b.csv

### corrections of small tables
cp base.db s.db
hand 'small: an engine with a site' 0 '' s.db site.csv
hand 'small: corrected' 0 '' --correct s.db moved.csv
past 'small: the old row' s.db 'engines,HC-1,1,"four,,shop,","four,,depot,"'
hand 'small: the old row again' 0 '' s.db site.csv
is 'small: the new row stays' "$("$vb" --dump engines s.db | sed -n 3p)" HC-1,four,,depot,
hand 'small: corrected back' 0 '' --correct s.db site.csv
is 'small: the first row is back' "$("$vb" --dump engines s.db | sed -n 3p)" HC-1,four,,shop,
past 'small: both steps' s.db 'engines,HC-1,1,"four,,shop,","four,,depot,"
engines,HC-1,2,"four,,depot,","four,,shop,"'
long=$(printf '%01980d' 0 | tr 0 '"')
printf 'engine,family,note\nD-07,twin,"%s%s"\n' "$long" "$long" >note.csv
{ cat note.csv && printf 'HC-1,four,%04096d\n' 0; } >too-long.csv
hand 'small: too long a note' 1 'valve-book: too-long.csv:3: too long a row' s.db too-long.csv
hand 'small: a long note' 0 '' s.db note.csv
sed 's/"$/x"/' note.csv >note-b.csv
hand 'small: a long note corrected' 0 '' --correct s.db note-b.csv
"$vb" --dump history s.db >history.csv
"$vb" --dump engines s.db >engines.csv
printf 'engine,family,note\nD-08,twin,%04000d\n' 0 >plain.csv
hand 'small: a long note without quotes' 0 '' s.db plain.csv
sed 's/0$/1/' plain.csv >plain-b.csv
hand 'small: corrected too' 0 '' --correct s.db plain-b.csv
"$vb" --dump history s.db >history.csv
"$vb" --dump engines s.db >engines.csv
cp base.db t.db
hand 'small: history and row into another book' 0 '' t.db history.csv engines.csv
same 'small: the other book is the same' t.db s.db

# a book that still has the old row takes the history and the new row with no word of a conflict
cp base.db s.db
hand 'small: a row in two books' 0 '' s.db site.csv
cp s.db t.db
cp s.db u.db
hand 'small: corrected in one of them' 0 '' --correct s.db moved.csv
"$vb" --dump history s.db >history.csv
"$vb" --dump engines s.db >engines.csv
hand 'small: no conflict in the other' 0 '' t.db engines.csv history.csv
same 'small: which is the same then' t.db s.db
# and where it was withdrawn and another said under its key, the other comes in
printf 'family,key,value,unit\nfour,relash_days,200,d\n' >days.csv
sed 's/200/210/' days.csv >days-b.csv
cp base.db s.db
hand 'small: a fact in two books' 0 '' s.db days.csv
cp s.db t.db
run "$vb" --withdraw --no-end s.db days.csv
is 'small: withdrawn in one of them' "$status|$out|$err" '0||'
hand 'small: for another' 0 '' s.db days-b.csv
"$vb" --dump history s.db >history.csv
"$vb" --dump families s.db >families-b.csv
hand 'small: which the other takes' 0 '' t.db families-b.csv history.csv
same 'small: and is the same then' t.db s.db
cp base.db s.db
hand 'small: an engine with a site, once more' 0 '' s.db site.csv
hand 'small: corrected, once more' 0 '' --correct s.db moved.csv
"$vb" --dump history s.db >history.csv
sed 's/shop/yard/' site.csv >yard.csv
hand 'small: corrected otherwise in a third' 0 '' --correct u.db yard.csv
hand 'small: is a conflict still' 1 \
    "valve-book: engines.csv:3: column 'site': engines HC-1: 'depot' here, 'yard' in the book
valve-book: history.csv:2: column 'new': engines HC-1: 'four,,depot,' here, 'four,,yard,' in the book" \
    u.db engines.csv history.csv

### where a reading came from: two files that say the same
# origin NAME A B WANT: source, line, gauge, by, note from A and B, in either order, and one file
origin() {
    for o in "$2" "$3"; do
        printf 'source,line,gauge,by,note,engine,date,quantity,at,found,unit\n%s,%s\n' "$o" \
            HC-1,2025-01-01,lash,1I,0.25,mm
    done >twice.csv
    sed -n 1,2p twice.csv >a.csv
    sed -n 3,4p twice.csv >b.csv
    sed 3d twice.csv >ab.csv
    { sed -n 1p ab.csv && sed -n 3p ab.csv && sed -n 2p ab.csv; } >ba.csv
    for o in 'a.csv b.csv' 'b.csv a.csv' ab.csv ba.csv; do
        cp base.db s.db
        # shellcheck disable=SC2086
        "$vb" --as-of 2026-11-01 --no-end s.db $o
        is "origin: $1: $o" "$("$vb" --dump readings s.db | sed -n 2p | cut -d, -f12-16)" "$4"
    done
}
# WANT is gauge,by,note,source,line
origin 'the smaller source with its line' march.csv,9,,, april.csv,12,,, ,,,april.csv,12
origin 'the smaller line of one source' a.csv,9,,, a.csv,12,,, ,,,a.csv,9
origin 'a source before none' ,2,,, z.csv,7,,, ,,,z.csv,7
origin 'the smaller line of no source' ,7,,, ,3,,, ,,,,3
origin 'a line before none' a.csv,,,, a.csv,12,,, ,,,a.csv,12
origin 'gauge, fitter and note' a.csv,1,dti-2,zoe,hot b.csv,2,dti-1,,cold dti-1,zoe,cold,a.csv,1

printf '%s\n' engine,date,quantity,at,found,unit,source,line HC-1,2025-01-01,lash,1E,0.3,mm,b.csv,1 \
    HC-1,2025-01-01,lash,2E,0.3,mm,a.csv,2 HC-1,2025-01-01,lash,1I,0.25,mm,b.csv,3 \
    HC-1,2025-01-01,lash,1I,0.25,mm,a.csv,4 >known.csv
cp base.db s.db
hand 'origin: two sources that the file named before' 0 '' s.db known.csv
is 'origin: the smaller of them' "$("$vb" --dump readings s.db | grep ,1I, | cut -d, -f15-16)" a.csv,4

### a correction that arrives before the reading it corrects
printf '%s\n' table,key,seq,old,new "$key,1,0.25,0.3" >history.csv
cp base.db s.db
cp base.db t.db
hand 'history first, then the old sheet' 0 '' s.db history.csv first.csv
shows 'the correction is carried out' s.db HC-1,2025-01-01,100,1I,0.3,
hand 'history, old sheet, new sheet' 0 '' t.db history.csv first.csv other.csv
same 'the same book' s.db t.db
is 'the book is sound' "$(sound s.db)" ok
done_testing
