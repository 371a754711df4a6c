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
hand 'a meter in other digits is the same' 0 '' s.db digits.csv
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
hand 'the wrong one is passed over' 0 '' s.db km.csv
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
hand 'miles come again' 0 '' s.db miles.csv
unchanged 'and are passed over' s.db before

# a figure that was corrected before the reading was withdrawn, and its sheets
cp base.db s.db
hand 'a figure' 0 '' s.db w.csv
hand 'is corrected' 0 '' --correct s.db meter.csv
gone s.db meter.csv
dump_all s.db before
hand 'the sheet with the old figure is passed over' 0 '' s.db w.csv
hand 'that with the new one too' 0 '' s.db meter.csv
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
hand 'a half is passed over, though the meter was another once' 0 '' s.db meter.csv
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
    "valve-book: other.csv:3: column 'meter': 210 h here, 200 when this reading was withdrawn (--correct takes it in)" \
    s.db other.csv
is 'the unit of the other is known from here on' "$(from s.db)" '100 h|200'
"$vb" --dump history gone.db >new.history
# two depots withdrew the same sheet, one with the older version
for order in 'old new' 'new old' 'old new old'; do
    cp base.db s.db
    for i in $order; do book "$order: $i" 0 '' s.db $i.history; done
    "$vb" --dump history s.db >merged
    ok "$order: the unit is known" cmp merged new.history
done
is 'the book is sound' "$(sound s.db)" ok
done_testing
