#!/bin/sh
# valve-book: a row that says what was withdrawn once comes again. It is passed over, unless
# its meter says that it is another reading: then it is refused by name, and not lost.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
basic base.db

# gone BOOK FILE: the rows of the file are withdrawn
gone() {
    run "$vb" --withdraw --no-end "$1" "$2"
    is "$2 is withdrawn from $1" "$status|$out|$err" '0||'
}
# from BOOK: what is kept of the meters of readings that were withdrawn
from() { "$vb" --dump history "$1" | sed -n 's/^.*,from",[0-9]*,"[^,]*,[^,]*,\([^,]*\),.*$/\1/p' | paste -s -d '|' -; }

### another figure
cat >r.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
HC-1,2025-01-01,100,h,lash,1I,0.25,0.30,mm
HC-1,2025-01-01,100,h,lash,1E,0.35,,mm
END
sed 3d r.csv >w.csv
cp base.db s.db
hand 'two readings' 0 '' s.db r.csv
gone s.db w.csv
dump_all s.db before
cp s.db meter.db
sed 's/,100,h/,110,h/' w.csv >meter.csv
hand 'another meter is told, and not lost' 1 \
    "valve-book: meter.csv:2: column 'meter': 110 h here, 100 h when this reading was withdrawn (--correct takes it in)" \
    meter.db meter.csv
unchanged 'and changes nothing' meter.db before
# a 1E of that day stands with 100 h, so it goes first
sed 2d r.csv >1e.csv
gone meter.db 1e.csv
hand 'until it is said to be right' 0 '' --correct meter.db meter.csv
shows 'with that meter' meter.db HC-1,2025-01-01,110,1I,0.25,0.3
sed 's/,100,h/,100.0,h/' w.csv >digits.csv
hand 'a meter in other digits is the same' 0 "$(passed 1 digits.csv)" s.db digits.csv
unchanged 'and is passed over' s.db before

### another unit: two sheets in km, where it should have said h
rows km.csv <<'END'
HC-1,2025-01-01,100,km,lash,1I,0.25,0.30,mm
HC-1,2025-02-01,200,km,lash,1I,0.28,,mm
END
sed 's/,km,/,h,/' km.csv >h.csv
cp base.db s.db
hand 'the wrong unit' 0 '' s.db km.csv
gone s.db km.csv
is 'the unit is kept' "$(from s.db)" '100 km|200 km'
dump_all s.db before
hand 'the right unit is told, and not lost' 1 \
    "valve-book: h.csv:2: column 'meter': 100 h here, 100 km when this reading was withdrawn (--correct takes it in)
valve-book: h.csv:3: column 'meter': 200 h here, 200 km when this reading was withdrawn (--correct takes it in)" \
    s.db h.csv
unchanged 'and changes nothing' s.db before
hand 'the wrong one is passed over' 0 "$(passed 2 km.csv)" s.db km.csv
unchanged 'and that changes nothing' s.db before
cp s.db gone.db
hand 'the right one is taken in' 0 '' --correct s.db h.csv
is 'with its unit' "$("$vb" --dump readings s.db | sed '1d;$d' | cut -d, -f 2-4,6-8)" \
    "2025-01-01,100,h,1I,0.25,0.3${nl}2025-02-01,200,h,1I,0.28,"
# with another left the found is what was withdrawn: the row goes to the rejects whole
sed 's/,0.30,/,0.31,/; 3d' h.csv >left.csv
cp gone.db s.db
hand 'half of the row was withdrawn' 1 \
    "valve-book: left.csv:2: column 'meter': 100 h here, 100 km when this reading was withdrawn (--correct takes it in)" \
    s.db left.csv
unchanged 'the other half does not come in alone' s.db before

### the same meter in other words
# 100 miles are 160.9344 km (international mile)
sed 's/,100,km/,100,mi/; 3d' km.csv >miles.csv
cp base.db s.db
hand 'miles' 0 '' s.db miles.csv
gone s.db miles.csv
is 'are kept as km' "$(from s.db)" '160.9344 km'
dump_all s.db before
hand 'miles come again' 0 "$(passed 1 miles.csv)" s.db miles.csv
unchanged 'and are passed over' s.db before

# a figure that was corrected before the reading was withdrawn, and its sheets
cp base.db s.db
hand 'a figure' 0 '' s.db w.csv
hand 'is corrected' 0 '' --correct s.db meter.csv
gone s.db meter.csv
dump_all s.db before
hand 'the sheet with the old figure is passed over' 0 "$(passed 1 w.csv)" s.db w.csv
hand 'that with the new one too' 0 "$(passed 1 meter.csv)" s.db meter.csv
unchanged 'neither changes anything' s.db before
sed 's/,100,h/,120,h/' w.csv >third.csv
hand 'a third one is another' 1 \
    "valve-book: third.csv:2: column 'meter': 120 h here, 110 h when this reading was withdrawn (--correct takes it in)" \
    s.db third.csv
# and corrected elsewhere, behind the withdrawal
cp base.db a.db
hand 'two depots have it' 0 '' a.db w.csv
cp a.db b.db
gone a.db w.csv
hand 'the other corrects it' 0 '' --correct b.db meter.csv
for d in a b; do "$vb" --dump history $d.db >$d.history && "$vb" --dump readings $d.db >$d.readings; done
cp base.db s.db
book 'a merge of both' 0 '' s.db a.history a.readings b.history b.readings
book 'and once more' 0 '' s.db b.history b.readings a.history a.readings
shows 'it is gone' s.db ''

# it came back with another figure, and then a half of it was withdrawn
cp base.db s.db
hand 'halves' 0 '' s.db w.csv
gone s.db w.csv
hand 'both taken in with another meter' 0 '' --correct s.db meter.csv
rows found.csv <<'END'
HC-1,2025-01-01,110,h,lash,1I,0.25,,mm
END
gone s.db found.csv
hand 'a half is passed over, though the meter was another once' 0 "$(passed 1 meter.csv)" s.db meter.csv
shows 'the other half stands' s.db HC-1,2025-01-01,110,1I,,0.3

### what an older version has withdrawn has no unit
cp base.db old.db
hand 'readings' 0 '' old.db km.csv
gone old.db km.csv
"$vb" --dump history old.db | sed 's/,\([12]00\) km,/,\1,/' >old.history
cp base.db s.db
book 'an old history' 0 '' s.db old.history
"$vb" --dump history s.db >again.history
ok 'is kept as it is' cmp old.history again.history
is 'the book is whole' "$("$vb" --check s.db | sed -n '2s/:.*//p')" 'end,,,"nothing wrong'
sed 's/,200,/,210,/' h.csv >other.csv
hand 'another figure is told' 1 \
    "valve-book: other.csv:3: column 'meter': 210 h here, 200 when this reading was withdrawn (--correct takes it in)
$(passed 1 other.csv)" s.db other.csv
is 'the unit of the other is known from here on' "$(from s.db)" '100 h|200'
"$vb" --dump history gone.db >new.history
# two depots withdrew the same sheet, one with the older version
for order in 'old new' 'new old' 'old new old'; do
    cp base.db s.db
    for i in $order; do book "$order: $i" 0 '' s.db $i.history; done
    "$vb" --dump history s.db >merged
    ok "$order: the unit is known" cmp merged new.history
done

### what is said of rows that are passed over: a line a sheet, and no word where nothing is missing
cat >two.csv <<'END'
engine,date,quantity,at,found,left,unit
HC-1,2025-01-01,lash,1I,0.25,0.30,mm
HC-1,2025-01-01,lash,1E,0.35,,mm
HC-1,2025-01-01,lash,2E,0.36,,mm
END
sed 4d two.csv >first.csv
printf '%s\n' engine,date,event,part,at HC-1,2025-01-15,replace,seat,1E HC-1,2025-01-15,replace,seat,2E >events.csv
cp base.db s.db
hand 'readings and events' 0 '' s.db two.csv events.csv
"$vb" --dump readings s.db >sealed.csv
gone s.db first.csv
gone s.db events.csv
hand 'of each sheet its number' 0 "$(passed 2 two.csv)${nl}$(passed 2 events.csv)" s.db two.csv events.csv
hand 'in order of the operands' 0 "$(passed 2 events.csv)${nl}$(passed 2 two.csv)" s.db events.csv two.csv
sed 's/2025-01-01,lash,2E,0.36/2025-01-01,lash,9E,0.36/' two.csv >bad.csv
hand 'a row that is refused is none of them' 1 \
    "valve-book: bad.csv:4: column 'at': this family has no valve '9E'${nl}$(passed 2 bad.csv)" s.db bad.csv
run "$vb" --as-of 2026-11-01 --no-end s.db - <two.csv
is 'from standard input' "$status|$err" "0|$(passed 2 stdin)"
book 'with an end row' 0 "$(passed 2 sealed.csv)" s.db sealed.csv
sed '$d' sealed.csv >cut.csv
book 'where nothing is loaded nothing is passed over' 2 \
    'valve-book: cut.csv:4: no end row: the stream was cut short (--no-end for a table made by hand); nothing was loaded' \
    s.db cut.csv
run "$vb" --withdraw --no-end s.db two.csv events.csv
is 'nor where they are withdrawn once more' "$status|$err" '0|'
hand 'nor where they are taken in again' 0 '' --correct s.db two.csv events.csv
hand 'nor where they are in the book' 0 '' s.db two.csv events.csv
# another value stands in their place: the sheet is an old one
gone s.db two.csv
sed 's/0.25,0.30/0.26,0.31/; s/0.35/0.37/; 4d' two.csv >right.csv
hand 'the right sheet' 0 '' s.db right.csv
hand 'of the wrong one what nothing stands for' 0 "$(passed 1 two.csv)" s.db two.csv
hand 'the wrong one without that' 0 '' s.db first.csv
# one half has another in its place, the other has not
sed 's/0.25,0.30/0.26,/' first.csv >half.csv
cp base.db s.db
hand 'whole readings' 0 '' s.db first.csv
gone s.db first.csv
hand 'a half of the right sheet' 0 '' --correct s.db half.csv
hand 'the other half is missing' 0 "$(passed 1 first.csv)" s.db first.csv
# a merge brings them every night
for t in $tables; do "$vb" --dump $t s.db >$t.dump || exit 1; done
hand 'a merge has no word for it' 0 '' s.db history.dump first.csv
book 'nor for small tables' 0 '' s.db events.csv history.dump
book 'nor has a book of its own dumps' 0 '' s.db ./*.dump
hand 'the same rows alone' 0 "$(passed 1 first.csv)" s.db first.csv

### taken in again with a figure that the meter cannot have shown, where nobody wrote one down
cat >r.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
HC-1,2025-01-01,300,h,lash,1I,0.25,,mm
HC-1,2025-02-01,,,lash,1I,0.26,,mm
HC-1,2025-02-01,,,lash,1E,0.35,,mm
END
sed 2d r.csv | sed 3d >w.csv
cp base.db s.db
hand 'three readings' 0 '' s.db r.csv
gone s.db w.csv
dump_all s.db before
sed 's/,,,lash/,100,h,lash/' w.csv >back.csv
hand 'it is refused' 1 \
    "valve-book: back.csv:2: column 'meter': 100 h on 2025-02-01 after 300 h on 2025-01-01: the meter runs backwards, and no meter event lies between" \
    --correct s.db back.csv
unchanged 'and nothing says that it was taken in again' s.db before
hand 'it stays out' 0 "$(passed 1 w.csv)" s.db w.csv
sed 's/,100,/,310,/' back.csv >right.csv
hand 'with a figure that goes it comes in' 0 '' --correct s.db right.csv
shows 'with its meter' s.db 'HC-1,2025-01-01,300,1I,0.25,
HC-1,2025-02-01,310,1E,0.35,
HC-1,2025-02-01,310,1I,0.26,'

is 'the book is sound' "$(sound s.db)" ok
done_testing
