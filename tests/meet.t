#!/bin/sh
# valve-book: two books that know the same rows and have worked on them on their own. What one
# has corrected or withdrawn is so in the other, whatever the other has filled in or has that is
# in its way, and the same dump once more changes nothing.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
basic base.db

# brings NAME STATUS MESSAGES FROM TO: all that one book has goes into the other
brings() {
    brings_name=$1 brings_status=$2 brings_err=$3 brings_to=$5
    rm -rf dumped && mkdir dumped
    for t in $tables; do "$vb" --dump "$t" "$4" >"dumped/$t"; done
    book "$brings_name" "$brings_status" "$brings_err" "$brings_to" dumped/*
}
# again NAME MESSAGES BOOK: what was brought last comes once more and changes nothing
again() {
    dump_all "$3" before
    run "$vb" --as-of 2026-11-01 "$3" dumped/*
    is "$1: once more" "$out|$err" "|$2"
    unchanged "$1: once more, the same book" "$3" before
}
# whole NAME BOOK: --check finds nothing
whole() {
    "$vb" --check --as-of 2026-11-01 "$2" >checked
    is "$1: the book is whole" "$(sed '1d;$d' checked)" ''
}
# two HEADING ROW...: a.db and b.db, which both have these rows
two() {
    cp base.db a.db
    printf '%s\n' "$@" >both.csv
    "$vb" --as-of 2026-11-01 --no-end a.db both.csv
    cp a.db b.db
}
# into BOOK OPTIONS HEADING ROW...: a sheet goes in without a word
into() {
    into_book=$1 into_options=$2
    shift 2
    printf '%s\n' "$@" >sheet.csv
    # shellcheck disable=SC2086
    hand "$into_book $into_options $*" 0 '' $into_options "$into_book" sheet.csv
}

### a row that was filled here and corrected there
heading=gauge,kind,resolution,unit,valid_until
two $heading g1,dial,0.01,mm,
into a.db '' $heading g1,,,,2026-12-31
into b.db --correct $heading g1,,0.02,mm,
brings 'corrected there, filled here' 0 '' b.db a.db
gives gauges a.db "gauge,kind,resolution,unit,u,valid_until${nl}g1,dial,0.02,mm,,2026-12-31"
again 'corrected there, filled here' '' a.db
whole 'corrected there, filled here' a.db
brings 'and back' 0 '' a.db b.db
same 'then both are the same' a.db b.db

# filled here, corrected and filled otherwise there: the one that was here first stands
two $heading g1,dial,0.01,mm,
into a.db '' $heading g1,,,,2026-12-31
into b.db --correct $heading g1,,0.02,mm,2027-01-31
brings 'filled with two dates' 1 "valve-book: dumped/gauges:2: column 'resolution': gauges g1: '0.02' here, '0.01' in the book" \
    b.db a.db
gives gauges a.db "gauge,kind,resolution,unit,u,valid_until${nl}g1,dial,0.01,mm,,2026-12-31"
whole 'filled with two dates' a.db

# another and itself again, more being known each time
heading=engine,family,in_service
two $heading K-1,four,
into a.db --correct $heading K-1,twin, K-1,four,2024-01-01 K-1,four,2025-01-01
whole 'another and itself again' a.db
gives engines a.db "engine,family,in_service,site,note${nl}D-07,twin,,,${nl}HC-1,four,,,${nl}K-1,four,2025-01-01,,"
brings 'another and itself again' 0 '' a.db b.db
same 'another and itself again: both are the same' a.db b.db
whole 'another and itself again: there' b.db

### a correction of a correction, of which the first alone does not go with the rest
two engine,date,meter,meter_unit,event,part HC-1,2025-03-01,300,h,replace,cam
rows r.csv <<'EOF'
HC-1,2025-03-01,310,h,lash,1I,0.25,,mm
EOF
hand 'a visit at 310 h' 0 '' a.db r.csv
hand 'a visit at 310 h, there' 0 '' b.db r.csv
run "$vb" --withdraw b.db both.csv
rows r1.csv <<'EOF'
HC-1,2025-03-01,450,h,lash,1I,0.25,,mm
HC-1,2025-03-01,310,h,lash,1I,0.25,,mm
EOF
hand 'at 450 h, no, at 310' 0 '' --correct b.db r1.csv
brings 'corrected twice there' 0 '' b.db a.db
shows 'corrected twice there' a.db HC-1,2025-03-01,310,1I,0.25,
whole 'corrected twice there' a.db

### an event that was withdrawn with its figure and is taken in again without, after a visit
### that the figure does not go with
two engine,date,meter,meter_unit,event,part,note HC-1,2025-03-01,300,h,replace,cam,lobe
rows r.csv <<'EOF'
HC-1,2025-03-01,200,h,lash,1I,0.25,,mm
EOF
run "$vb" --withdraw a.db both.csv
hand 'a visit in its place' 0 '' a.db r.csv
into a.db --correct engine,date,event,part HC-1,2025-03-01,replace,cam
gives events a.db "engine,date,meter,meter_unit,event,part,at,build,note,item,faces${nl}HC-1,2025-03-01,,,replace,cam,,,lobe,,"
whole 'without its figure' a.db

### what is in the way of a row goes, or changes, by a history that comes with it
two engine,date,meter,meter_unit,event,at HC-1,2025-03-01,99999,h,meter,200
run "$vb" --withdraw b.db both.csv
into b.db '' engine,date,meter,meter_unit,event,part HC-1,2025-01-01,100,km,replace,cam
brings 'in the way of an event' 0 '' b.db a.db
same 'in the way of an event: both are the same' a.db b.db
again 'in the way of an event' '' a.db
two family,side,key,value,unit four,E,lash_max,0.3,mm
into b.db --correct family,side,key,value,unit four,E,lash_max,0.5,mm four,E,lash_min,0.4,mm
brings 'in the way of a fact' 0 '' b.db a.db
same 'in the way of a fact: both are the same' a.db b.db
whole 'in the way of a fact' a.db

### what the history says of other rows does not keep one from being filled
two gauge,kind,resolution,unit,valid_until g1,feeler,0.02,mm,2026-12-31
run "$vb" --withdraw a.db both.csv
cp base.db b.db
into b.db '' gauge,kind,resolution,unit,valid_until g1,,0.01,mm,
brings 'another row of that key' 0 '' b.db a.db
into b.db '' gauge,kind,resolution,unit,valid_until g1,,0.01,mm,2026-12-31
brings 'what fills it' 0 '' b.db a.db
gives gauges a.db "gauge,kind,resolution,unit,u,valid_until${nl}g1,,0.01,mm,,2026-12-31"

### a row that is corrected into one that another book has corrected: the last word counts
cp base.db a.db
cp base.db b.db
rows r2.csv <<'EOF'
HC-1,2025-03-01,310,h,lash,1I,0.2,,mm
EOF
sed s/,0.2,/,0.3,/ r2.csv >r3.csv
sed s/,0.2,/,0.1,/ r2.csv >r1.csv
printf '%s\n' thickness,unit,count 2.7,mm,2 >s2.csv
sed s/mm,2/mm,3/ s2.csv >s3.csv
sed s/mm,2/mm,1/ s2.csv >s1.csv
hand '2 there' 0 '' b.db r2.csv s2.csv
hand '2 corrected to 3 there' 0 '' --correct b.db r3.csv s3.csv
hand '1 here' 0 '' a.db r1.csv s1.csv
brings '2 corrected to 3 there, 1 here' 1 "valve-book: dumped/shims:2: column 'count': shims 2.7,mm: '3' here, '1' in the book
valve-book: dumped/readings:2: column 'found': lash 1I of HC-1: 0.3 here, 0.1 in the book" b.db a.db
hand '1 corrected to 2 here' 0 '' --correct a.db r2.csv s2.csv
gives shims a.db "thickness,unit,count${nl}2.7,mm,2"
shows '1 corrected to 2 here' a.db HC-1,2025-03-01,310,1I,0.2,
whole '1 corrected to 2 here' a.db
rm -f new.db
brings 'into a new book' 0 '' a.db new.db
same 'into a new book: the same' a.db new.db

### one has withdrawn what the other has corrected: the correction stays, and nothing is lost
two engine,date,meter,meter_unit,event HC-1,2025-03-01,300,h,build
run "$vb" --withdraw a.db both.csv
into b.db --correct engine,date,meter,meter_unit,event HC-1,2025-03-01,100,h,build HC-1,2025-03-01,300,h,build
brings 'withdrawn here, corrected there' 0 '' b.db a.db
same 'withdrawn here, corrected there: both are the same' a.db b.db
again 'withdrawn here, corrected there' '' a.db

### the history itself is never corrected
heading=gauge,kind,resolution,unit
two $heading g1,dial,0.01,mm
into a.db --correct $heading g1,dial,0.02,mm
into b.db --correct $heading g1,dial,0.03,mm g1,dial,0.04,mm
"$vb" --dump history b.db >h.csv
"$vb" --dump history a.db >before
book 'another past' 1 "valve-book: h.csv:2: column 'new': gauges g1: 'dial,0.03,mm,,' here, 'dial,0.02,mm,,' in the book" \
    --correct a.db h.csv
"$vb" --dump history a.db >after
is 'another past: ours stays' "$(sed 3d after)" "$(cat before)"
whole 'another past' a.db

### each has corrected a row in its own way: told every night until people agree, and not after
# agree NAME TABLE HEADING A B: A stands in a.db and B in b.db, which were told; A is right
agree() {
    agree_name=$1 agree_table=$2
    into b.db --correct "$3" "$4"
    # a loads first, so that what agrees comes behind what contradicts
    brings "$agree_name: agreed upon, there" 0 '' b.db a.db
    brings "$agree_name: agreed upon, here" 0 '' a.db b.db
    again "$agree_name: agreed upon" '' b.db
    into a.db --correct "$3" "$5"
    brings "$agree_name: what is corrected later" 0 '' a.db b.db
    brings "$agree_name: and back" 0 '' b.db a.db
    "$vb" --dump "$agree_table" a.db >of-a
    "$vb" --dump "$agree_table" b.db >of-b
    is "$agree_name: they say the same" "$(cat of-b)" "$(cat of-a)"
    ok "$agree_name: the last correction" grep -q "$6" of-b
    whole "$agree_name" a.db
    whole "$agree_name, there" b.db
}
heading=gauge,kind,resolution,unit
two $heading g1,dial,0.01,mm
into a.db --correct $heading g1,dial,0.02,mm
into b.db --correct $heading g1,dial,0.03,mm
clash="valve-book: dumped/gauges:2: column 'resolution': gauges g1: '0.03' here, '0.02' in the book
valve-book: dumped/history:2: column 'new': gauges g1: 'dial,0.03,mm,,' here, 'dial,0.02,mm,,' in the book"
brings 'two resolutions' 1 "$clash" b.db a.db
again 'two resolutions' "$clash" a.db
agree 'two resolutions' gauges $heading g1,dial,0.02,mm g1,dial,0.05,mm '^g1,dial,0.05'
# neither was in the other's book
heading=engine,date,meter_gain,label
two $heading HC-1,2026-12-01,,
into a.db '' $heading HC-1,2026-12-24,50,relief
into b.db '' $heading HC-1,2026-12-24,80,relief
into b.db --correct $heading HC-1,2026-12-24,70,relief
into a.db --correct $heading HC-1,2026-12-24,60,relief
brings 'two gains' 1 "valve-book: dumped/plan:3: column 'meter_gain': plan HC-1,2026-12-24,relief: '70' here, '60' in the book
valve-book: dumped/history:2: column 'old': plan HC-1,2026-12-24,relief: '80' here, '50' in the book" b.db a.db
agree 'two gains' plan $heading HC-1,2026-12-24,60,relief HC-1,2026-12-24,90,relief '^HC-1,2026-12-24,90'
heading=engine,date,meter,meter_unit,quantity,at,found,unit
two $heading HC-1,2025-01-01,100,h,lash,1I,0.25,mm
into a.db --correct $heading HC-1,2025-01-01,100,h,lash,1I,0.26,mm
into b.db --correct $heading HC-1,2025-01-01,100,h,lash,1I,0.27,mm
brings 'two readings' 1 "valve-book: dumped/history:2: column 'new': readings HC-1,2025-01-01,lash,1I,found: '0.27' here, '0.26' in the book
valve-book: dumped/readings:2: column 'found': lash 1I of HC-1: 0.27 here, 0.26 in the book" b.db a.db
agree 'two readings' readings $heading HC-1,2025-01-01,100,h,lash,1I,0.26,mm \
    HC-1,2025-01-01,100,h,lash,1I,0.28,mm 'HC-1,2025-01-01,100,h,lash,1I,0.28'

### a laptop put back from an old copy of its book: the other gives it what it had
heading=engine,date,meter,meter_unit,quantity,at,found,unit
two $heading HC-1,2025-01-01,100,h,lash,1I,0.25,mm HC-1,2025-01-01,100,h,lash,1E,0.35,mm
cp a.db old.db
into a.db --correct $heading HC-1,2025-01-01,100,h,lash,1I,0.26,mm
printf '%s\n' $heading HC-1,2025-01-01,100,h,lash,1E,0.35,mm >gone.csv
run "$vb" --withdraw --no-end a.db gone.csv
is 'a reading goes' "$status|$err" '0|'
into a.db '' $heading HC-1,2025-02-01,200,h,lash,1I,0.24,mm
into a.db --correct gauge,kind,resolution,unit g1,dial,0.02,mm
brings 'before the accident' 0 '' a.db b.db
cp a.db lost.db
cp old.db a.db
brings 'the old copy brings' 0 '' a.db b.db
brings 'and is given' 0 '' b.db a.db
same 'an old copy: what it was' a.db lost.db
same 'an old copy: the other too' b.db lost.db

### a depot where it is tomorrow already
into a.db '' $heading HC-1,2026-10-02,900,h,lash,1I,0.24,mm
"$vb" --dump readings a.db >dumped/readings
run "$vb" --as-of 2026-10-01 b.db dumped/readings
is 'a visit of tomorrow waits' "$status|$err" \
    "1|valve-book: dumped/readings:4: column 'date': 2026-10-02 is later than 2026-10-01"
run "$vb" --as-of 2026-10-02 b.db dumped/readings
is 'and comes in the next night' "$status|$err" '0|'
same 'a visit of tomorrow' a.db b.db

### one has withdrawn a row, taken it in again or withdrawn another in its place: told, not mixed
heading=gauge,kind,resolution,unit
two $heading g1,feeler,,mm
run "$vb" --withdraw a.db both.csv
cp a.db b.db
into a.db '' $heading g1,dial,0.02,mm
run "$vb" --withdraw a.db sheet.csv
into b.db --correct $heading g1,feeler,,mm
brings 'withdrawn there, taken in again here' 1 \
    "valve-book: dumped/history:3: column 'old': gauges g1: 'dial,0.02,mm,,' here, '' in the book" a.db b.db
gives gauges b.db "gauge,kind,resolution,unit,u,valid_until${nl}g1,feeler,,mm,,"
whole 'withdrawn there, taken in again here' b.db

### taken in again with one value here and another there: the first stands, and its history too
two $heading g1,feeler,,mm
run "$vb" --withdraw a.db both.csv
cp a.db b.db
into a.db --correct $heading g1,feeler,0.01,mm
into b.db --correct $heading g1,feeler,0.02,mm
brings 'taken in again with two values' 1 \
    "valve-book: dumped/gauges:2: column 'resolution': gauges g1: '0.02' here, '0.01' in the book
valve-book: dumped/history:2: column 'old': gauges g1: 'feeler,0.02,mm,,' here, 'feeler,0.01,mm,,' in the book
valve-book: dumped/history:3: column 'new': gauges g1: 'feeler,0.02,mm,,' here, 'feeler,0.01,mm,,' in the book" b.db a.db
whole 'taken in again with two values' a.db

### withdrawn and taken in again here, corrected there: what followed here keeps its ground
heading=engine,family,in_service,site
two $heading K-1,four,,
run "$vb" --withdraw a.db both.csv
into a.db --correct $heading K-1,twin,,
into a.db --correct $heading K-1,four,,south
into b.db --correct $heading K-1,twin,2025-01-01,north K-1,four,2025-01-01,north
run "$vb" --withdraw b.db sheet.csv
sed -i 2d sheet.csv
run "$vb" --withdraw b.db sheet.csv
brings 'taken in again here, corrected there' 1 \
    "valve-book: dumped/history:2: column 'old': engines K-1: 'four,,,' here, 'four,,south,' in the book
valve-book: dumped/history:3: column 'old': engines K-1: 'twin,2025-01-01,north,' here, 'twin,,,' in the book
valve-book: dumped/history:4: column 'old': engines K-1: 'four,2025-01-01,north,' here, '' in the book" b.db a.db
whole 'taken in again here, corrected there' a.db

### what a row of before had is known of the one that it becomes
two $heading K-1,twin,,
into a.db --correct $heading K-1,four,,north
into a.db '' $heading K-1,four,2025-01-01,
run "$vb" --withdraw a.db sheet.csv
into a.db --correct $heading K-1,four,2024-01-01, K-1,twin,,
whole 'becomes what it was' a.db

### corrected there into what was withdrawn here: it stands, and the history says so
heading=gauge,kind,resolution,unit,u
two $heading g1,,0.01,mm,0.006
cp base.db b.db
printf '%s\n' $heading g1,dial,0.02,mm,0.005 >sheet.csv
hand 'another gauge of that name' 0 '' b.db sheet.csv
run "$vb" --withdraw b.db sheet.csv
into b.db '' $heading g1,,,mm,0.006
into a.db --correct $heading g1,,0.02,mm, g1,,,mm,0.005
brings 'into what was withdrawn here' 1 \
    "valve-book: dumped/history:2: column 'old': gauges g1: ',0.01,mm,0.006,' here, 'dial,0.02,mm,0.005,' in the book" a.db b.db
gives gauges b.db "gauge,kind,resolution,unit,u,valid_until${nl}g1,dial,0.02,mm,0.005,"
whole 'into what was withdrawn here' b.db

### taken in again there, corrected here: a row of one cell beside its key is not withdrawn here
heading=thickness,unit,count
two $heading 2.5,mm,3
run "$vb" --withdraw a.db both.csv
into a.db --correct $heading 2.5,mm,3
into b.db --correct $heading 2.5,mm,1
brings 'taken in again there, one cell' 0 '' a.db b.db
gives shims b.db "thickness,unit,count${nl}2.5,mm,1"
whole 'taken in again there, one cell' b.db
again 'taken in again there, one cell' '' b.db

### taken in again there, while another row of the key came in here and was withdrawn: none is left
heading=gauge,resolution,unit
two $heading g1,0.01,mm
run "$vb" --withdraw a.db both.csv
cp a.db b.db
into a.db --correct $heading g1,0.01,mm
into b.db '' $heading g1,0.02,mm
brings 'another row of the key' 0 '' a.db b.db
gives gauges b.db "gauge,kind,resolution,unit,u,valid_until${nl}g1,,0.02,mm,,"
run "$vb" --withdraw b.db sheet.csv
rm -f new.db
brings 'another row of the key, withdrawn' 0 '' b.db new.db
gives gauges new.db gauge,kind,resolution,unit,u,valid_until
same 'another row of the key: the same book' b.db new.db

### a row that looks like an old one here comes in with the history that takes away what stood
heading=gauge,kind,resolution,unit,u
two $heading g1,,0.02,mm,0.005
cp base.db c.db
into c.db '' $heading g1,feeler,0.01,mm,0.006
into c.db --correct $heading g1,feeler,0.02,mm,0.006
brings 'what looks like an old row' 0 '' c.db b.db
run "$vb" --withdraw a.db both.csv
cp both.csv sheet.csv
hand 'taken in again' 0 '' --correct a.db sheet.csv
run "$vb" --withdraw a.db both.csv
into a.db '' $heading g1,feeler,0.02,mm,0.006
of_two="valve-book: dumped/history:2: column 'old': gauges g1: ',0.02,mm,0.005,' here, 'feeler,0.01,mm,0.006,' in the book"
brings 'and its withdrawal' 1 "$of_two" a.db b.db
gives gauges b.db "gauge,kind,resolution,unit,u,valid_until${nl}g1,feeler,0.02,mm,0.006,"
whole 'and its withdrawal' b.db
again 'and its withdrawal' "$of_two" b.db

### the growth of lash, taken in again there, beside what makes it here: both say the same
heading=family,side,key,value,unit
cp base.db a.db
cp base.db b.db
into a.db '' $heading four,I,lash_stack,+120x21.5,
into b.db '' $heading four,I,lash_growth,0.001,mm/Cel
run "$vb" --withdraw b.db sheet.csv
hand 'growth, taken in again' 0 '' --correct b.db sheet.csv
brings 'growth beside what makes it' 1 \
    "valve-book: a.db: facts of family 'four' from several books: lash_stack is stated too, which says the same" b.db a.db

### corrected and withdrawn here, another row of the key taken in again there: that is not mixed
heading=gauge,kind,unit,u
cp base.db a.db
into a.db '' $heading g1,feeler,mm,
run "$vb" --withdraw a.db sheet.csv
into a.db '' $heading g1,dial,mm,
into a.db --correct $heading g1,feeler,mm,
cp base.db b.db
into b.db '' $heading g1,feeler,,
into b.db --correct $heading g1,dial,mm,0.005
run "$vb" --withdraw b.db sheet.csv
brings 'another row, taken in again' 1 \
    "valve-book: dumped/history:2: column 'old': gauges g1: 'feeler,,mm,,' here, 'feeler,,,,' in the book
valve-book: dumped/history:3: column 'old': gauges g1: 'dial,,mm,,' here, 'dial,,mm,0.005,' in the book" a.db b.db
gives gauges b.db "gauge,kind,resolution,unit,u,valid_until${nl}g1,feeler,,mm,,"
whole 'another row, taken in again' b.db
rm -f new.db
brings 'another row, taken in again: a new book' 0 '' b.db new.db
same 'another row, taken in again: the same book' b.db new.db

### taken in again here, corrected into the same there: what was taken in again stays so
heading=gauge,kind,resolution,unit
two $heading g1,dial,,
run "$vb" --withdraw a.db both.csv
into a.db '' $heading g1,feeler,0.02,mm
run "$vb" --withdraw a.db sheet.csv
cp a.db b.db
into a.db --correct $heading g1,dial,,
into a.db '' $heading g1,,0.02,mm
into a.db --correct $heading g1,feeler,,
into b.db '' $heading g1,dti,,
into b.db --correct $heading g1,feeler,0.02,mm
brings 'taken in again here, corrected there into the same' 1 \
    "valve-book: dumped/history:4: column 'old': gauges g1: '' here, 'dti,,,,' in the book
valve-book: dumped/history:5: column 'old': gauges g1: 'dial,0.02,mm,,' here, '' in the book" a.db b.db
gives gauges b.db "gauge,kind,resolution,unit,u,valid_until${nl}g1,feeler,0.02,mm,,"
whole 'taken in again here, corrected there into the same' b.db

### corrected here into what the other has corrected: either would be past in the other's book
heading=engine,date,meter,meter_unit,quantity,at,found,unit,temp_c
for what in gauge reading; do
    cp base.db a.db && cp base.db b.db
    case $what in
        gauge)
            one='gauge,resolution,unit g1,0.01,mm' other='gauge,resolution,unit g1,0.02,mm'
            told="column 'old': gauges g1: ',0.01,mm,,' here, ',0.02,mm,,' in the book"
            back="column 'old': gauges g1: ',0.02,mm,,' here, ',0.01,mm,,' in the book" ;;
        reading)
            one="$heading HC-1,2025-03-01,300,h,lash,1I,0.25,mm,20"
            other="$heading HC-1,2025-03-01,300,h,lash,1I,0.25,mm,25"
            told="column 'old': readings HC-1,2025-03-01,lash,1I,temp_c: '20' here, '25' in the book"
            back="column 'old': readings HC-1,2025-03-01,lash,1I,temp_c: '25' here, '20' in the book" ;;
    esac
    # shellcheck disable=SC2086
    {
        into a.db '' $one && into a.db --correct $other
        into b.db '' $other && into b.db --correct $one
    }
    brings "$what: each into the other's" 1 "valve-book: dumped/history:2: $told" a.db b.db
    brings "$what: each into the other's, and back" 1 "valve-book: dumped/history:2: $back" b.db a.db
    # shellcheck disable=SC2086
    into b.db --correct $other
    brings "$what: agreed upon" 0 '' b.db a.db
    brings "$what: agreed upon, and back" 0 '' a.db b.db
done
done_testing
