#!/bin/sh
# valve-book: rows at the edges of what a load keeps in memory and of what it puts up with.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
basic base.db
many() { printf "%0${1}d" 0 | tr 0 "$2"; }

### blank cells too many do no harm; others do
cp base.db s.db
printf '%s\n' engine,date,quantity,at,found,unit HC-1,2025-01-01,lash,1I,0.25,mm,, HC-1,2025-01-01,lash,2I,0.25,mm,,x \
    >r.csv
hand 'cells too many' 1 'valve-book: r.csv:3: 8 cells where the heading has 6' s.db r.csv
shows 'blank ones do no harm' s.db HC-1,2025-01-01,,1I,0.25,
printf 'engine,family\nHC-1\n' >r.csv
hand 'one cell' 1 'valve-book: r.csv:2: 1 cell where the heading has 2' s.db r.csv

### a quote that is never closed takes no row but its own
cp base.db s.db
printf '%s\n' engine,date,quantity,at,found,unit,note HC-1,2025-01-01,lash,1I,0.25,mm, \
    'HC-1,2025-01-01,lash,2I,0.25,mm,"tight' HC-1,2025-01-01,lash,3I,0.25,mm, HC-1,2025-01-01,lash,4I,0.25,mm >r.csv
run "$vb" --as-of 2026-11-01 --no-end --rejects rejects.csv s.db r.csv
is 'an open quote' "$status|$out|$err" '1||valve-book: r.csv:3: unclosed quote
valve-book: r.csv:5: 6 cells where the heading has 7'
is 'an open quote: the rejects' "$(sed 1d rejects.csv)" \
    'r.csv,3,,unclosed quote,"HC-1,2025-01-01,lash,2I,0.25,mm,""tight"
r.csv,5,,6 cells where the heading has 7,"HC-1,2025-01-01,lash,4I,0.25,mm"'
shows 'an open quote: the others' s.db 'HC-1,2025-01-01,,1I,0.25,
HC-1,2025-01-01,,3I,0.25,'

### a visit and an origin whose words are too long to be kept for the next row
cp base.db s.db
pad=$(many 300 ' ') note=$(many 300 n)
printf '%s\n' engine,date,quantity,at,found,unit,note "$pad"HC-1,2025-01-01,lash,1I,0.25,mm,"$note" \
    "$pad"HC-1,2025-01-01,lash,2I,0.26,mm,"$note" "$pad"HC-1,2025-01-01,lash,1I,0.27,mm,"$note" >r.csv
hand 'words too long to be kept' 1 \
    "valve-book: r.csv:4: column 'found': lash 1I of HC-1: 0.27 here, 0.25 in the book" s.db r.csv
is 'are one visit and one origin' \
    "$("$vb" --dump readings s.db | sed '1d;$d')|$(sqlite3 s.db 'SELECT count(*) FROM visits, origins')" \
    "HC-1,2025-01-01,,,lash,1I,0.25,,mm,,,,,$note,,
HC-1,2025-01-01,,,lash,2I,0.26,,mm,,,,,$note,,|1"

### origins that are the same letters with the comma elsewhere
cp base.db s.db
printf '%s\n' engine,date,quantity,at,found,unit,gauge,by HC-1,2025-01-01,lash,1I,0.25,mm,ab,c \
    HC-1,2025-01-01,lash,2I,0.25,mm,a,bc HC-1,2025-01-01,lash,3I,0.25,mm,ab,c >r.csv
hand 'origins of the same letters' 0 '' s.db r.csv
is 'origins of the same letters: who and with what' \
    "$("$vb" --dump readings s.db | sed '1d;$d' | cut -d, -f 6,12-13 | tr '\n' ' ')" '1I,ab,c 2I,a,bc 3I,ab,c '

### where the same reading came from: the smaller of two words, also of one that goes on
for order in 'long.csv short.csv' 'short.csv long.csv'; do
    cp base.db s.db
    for i in long,tighter short,tight; do
        printf '%s\n' engine,date,quantity,at,found,unit,note,source \
            "HC-1,2025-01-01,lash,1I,0.25,mm,${i#*,},${i#*,}" >"${i%,*}.csv"
    done
    # shellcheck disable=SC2086
    hand "$order" 0 '' s.db $order
    is "$order: the smaller stays" "$("$vb" --dump readings s.db | sed -n 2p | cut -d, -f 14,15)" tight,tight
done

### more visits of one reading than are written at once (8,192)
cp base.db s.db
awk 'BEGIN { print "engine,date,meter,meter_unit,quantity,at,found,unit"
    for (i = 0; i < 9000; i++)
        printf "HC-1,2025-01-%02dT%02d:%02d,%.2f,h,lash,1I,0.25,mm\n", 1 + i / 1440, i / 60 % 24, i % 60, 100 + i / 100 }' \
    >r.csv
hand 'nine thousand visits' 0 '' s.db r.csv
"$vb" --dump readings s.db | sed '1d;$d' | cut -d, -f 1-3,6 >got
awk -F, 'NR > 1 { print $1 "," $2 "," $3 + 0 "," $6 }' r.csv >want
ok 'are all there' cmp got want
is 'the book is sound' "$(sound s.db)" ok

### two engines whose corrections of the meter wait at once
cp base.db two.db
rows r.csv <<'END'
HC-1,2025-01-01,100,h,lash,1I,0.25,,mm
HC-1,2025-02-01,200,h,lash,1I,0.26,,mm
D-07,2025-01-01,100,h,lash,1I1,0.25,,mm
D-07,2025-02-01,200,h,lash,1I1,0.26,,mm
END
hand 'two engines' 0 '' two.db r.csv
rows wait.csv <<'END'
HC-1,2025-01-01,300,h,lash,1I,0.25,,mm
D-07,2025-01-01,310,h,lash,1I1,0.25,,mm
END
cp two.db s.db
late='200 h on 2025-02-01 after' back='the meter runs backwards, and no meter event lies between'
hand 'both wait in vain' 1 "valve-book: wait.csv:2: column 'meter': $late 300 h on 2025-01-01: $back
valve-book: wait.csv:3: column 'meter': $late 310 h on 2025-01-01: $back" --correct s.db wait.csv
same 'and leave the book as it was' s.db two.db
echo HC-1,2025-02-01,400,h,lash,1I,0.26,,mm | rows more.csv
cat more.csv >>wait.csv && sed -i 4d wait.csv
hand 'one of them does not' 1 "valve-book: wait.csv:3: column 'meter': $late 310 h on 2025-01-01: $back" \
    --correct s.db wait.csv
shows 'one of them is corrected' s.db 'D-07,2025-01-01,100,1I1,0.25,
D-07,2025-02-01,200,1I1,0.26,
HC-1,2025-01-01,300,1I,0.25,
HC-1,2025-02-01,400,1I,0.26,'

### the end row says a number of rows, or the stream was not what it was
cp base.db s.db
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line \
    HC-1,2025-01-01,,,lash,1I,0.25,,mm,,,,,,, >part
for n in one -1 1.5 2; do
    { cat part && printf ',,,,end,,%s,,,,,,,%s,,\n' "$n" "$(crc32 <part)"; } >end.csv
    book "$n rows" 2 \
        'valve-book: end.csv:3: the end row counts other rows than there are; nothing was loaded' s.db end.csv
done
seal part >end.csv
book 'as many as there are' 0 '' s.db end.csv

### more readings of one visit than are told apart in memory (1,024)
printf '%s\n' family,side,key,value,unit big,,cylinders,16, big,I,valves,5, big,E,valves,5, >big.csv
printf 'engine,family\nX-1,big\n' >big-engine.csv
awk 'BEGIN { print "engine,date,quantity,at,found,unit"
    split("lash lift_tdc shim stem_height recess lobe_lift", q, " ")
    for (i = 1; i <= 6; i++) for (c = 1; c <= 16; c++) for (s = 0; s < 2; s++) for (v = 1; v <= 5; v++)
        for (twice = 0; twice < (i == 6 && c == 16 ? 2 : 1); twice++)
            printf "X-1,2025-01-01,%s,%d%s%d,0.25,mm\n", q[i], c, s ? "E" : "I", v }' >many.csv
sed 's/stem_height,\([^,]*\),0.25/stem_height,\1,25/' many.csv >r.csv
for q in opens closes; do grep ,lash, many.csv | sed "s/,lash,/,$q,/; s/0.25,mm/20,deg/"; done >>r.csv
cp base.db s.db
hand 'more readings of one visit' 0 '' s.db big.csv big-engine.csv r.csv
is 'are all there once' "$("$vb" --dump readings s.db | sed '1d;$d' | cut -d, -f 5,6 | sort -u | wc -l | tr -d ' ')" 1280
hand 'and are the same once more' 0 '' s.db r.csv
is 'are there once more' "$("$vb" --dump readings s.db | sed '1d;$d' | wc -l | tr -d ' ')" 1280

### places: sixteen bits of the number of a reading
cp base.db s.db
sqlite3 s.db "WITH n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 65535)
    INSERT INTO places(place, quantity, at) SELECT i, 'recess', i FROM n"
echo HC-1,2025-01-01,100,h,lash,1I,0.25,,mm | rows r.csv
dump_all s.db before
hand 'more places than a book can hold' 2 'valve-book: more places than a book can hold' s.db r.csv
unchanged 'nothing was loaded' s.db before

### a book that was made for a load that failed goes again; what has come in its place stays
printf 'nothing,of,ours\n1,2,3\n' >no.csv
run "$vb" new.db no.csv
is 'a load that failed' "$status" 2
ok 'leaves no book' [ ! -e new.db ]
done_testing
