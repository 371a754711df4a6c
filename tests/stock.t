#!/bin/sh
# Shims on the shelf: each row that cannot be taken, to the letter, and what is done with the rest.
. tests/tap.sh
cd "$work" || exit 1
printf 'family,side,key,value,unit\none,,cylinders,1,\none,I,valves,1,\none,,adjuster,shim,
one,I,lash_min,0.10,mm\none,I,lash_max,0.20,mm\none,I,lash_target,0.15,mm\n' >families.csv
printf 'engine,family\nM-1,one\n' >engines.csv
printf 'engine,date,quantity,at,found,left,unit\nM-1,2026-02-01,lash,1I,0.05,0.05,mm
M-1,2026-02-01,shim,1I,2.50,2.50,mm\n' >readings.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end shop.db families.csv engines.csv readings.csv || exit 1

# stock NAME ROWS MESSAGES SHIM: what is said of the rows, and which shim is taken instead of 2.5;
# 0.05 mm found, 0.15 mm wanted: one of 2.4
stock() {
    printf 'thickness,unit,count\n%s\n' "$2" >shims.csv
    run "$bin/valve-set" --as-of 2026-02-01 --engine M-1 --shims shims.csv --format csv shop.db
    is "$1" "$err|$(sed 1d .out | cut -d, -f22)" "$3|$4"
}
# refused NAME ROW MESSAGE: beside a row that can be taken
refused() {
    stock "$1" "$2${nl}2.4,mm,1" "valve-set: shims.csv:2: $3" 2.4
}
stock 'one' 2.4,mm,1 '' 2.4
stock 'in inch: 0.0945 in is 2.4003 mm' 0.0945,in,1 '' 2.4003
stock 'none of it left' 2.4,mm,0 '' ''
stock 'the same row twice' "2.4,mm,1${nl}2.4,mm,1" '' 2.4
stock 'the nearest of many' "$(seq -f '%.2f,mm,1' 2.20 0.01 2.60)" '' 2.4
stock 'in any order' "2.6,mm,1${nl}2.4,mm,1${nl}2.2,mm,1" '' 2.4
# sided NAME ROWS MESSAGES SHIM: with the column side, the valve being an inlet
sided() {
    printf 'side,thickness,unit,count\n%s\n' "$2" >shims.csv
    run "$bin/valve-set" --as-of 2026-02-01 --engine M-1 --shims shims.csv --format csv shop.db
    is "$1" "$err|$(sed 1d .out | cut -d, -f22)" "$3|$4"
}
sided 'for inlets' I,2.4,mm,1 '' 2.4
sided 'for exhausts' E,2.4,mm,1 '' ''
sided 'in words' intake,2.4,mm,1 '' 2.4
sided 'for no side' ,2.4,mm,1 '' 2.4
sided 'each side has its own' "E,2.4,mm,1${nl}I,2.41,mm,1${nl}E,2.41,mm,2${nl},2.41,mm,3" '' 2.41
sided 'counts of one side that differ' "E,2.4,mm,1${nl}I,2.4,mm,1${nl}E,2.4,mm,2" \
    "valve-set: shims.csv:4: column 'count': 2 here, 1 before" 2.4
sided 'no side that is known' "both,2.4,mm,1${nl}I,2.39,mm,1" \
    "valve-set: shims.csv:2: column 'side': neither inlet nor exhaust: 'both'" 2.39
refused 'no number' thin,mm,1 "column 'thickness': bad number 'thin'"
refused 'no thickness' ,mm,1 "column 'thickness': blank"
refused 'no unit' 2.4,,1 "column 'unit': blank"
refused 'no unit that is known' 2.4,shelf,1 "column 'unit': not a unit of length: 'shelf'"
refused 'no length' 2.4,bar,1 "column 'unit': not a unit of length: 'bar'"
refused 'nothing' 0,mm,1 "column 'thickness': no credible shim: '0'"
refused 'below nothing' -2.4,mm,1 "column 'thickness': no credible shim: '-2.4'"
refused 'a brick' 10.1,mm,1 "column 'thickness': no credible shim: '10.1'"
refused 'beyond all numbers' 99999999999999999,in,1 \
    "column 'thickness': no credible shim: '99999999999999999'"
refused 'no count' 2.4,mm, "column 'count': blank"
refused 'a count in words' 2.4,mm,few \
    "column 'count': a count is a whole number up to 10000, not 'few'"
refused 'half a shim' 2.4,mm,1.5 "column 'count': a count is a whole number up to 10000, not '1.5'"
refused 'fewer than none' 2.4,mm,-1 "column 'count': a count is a whole number up to 10000, not '-1'"
refused 'more than there can be' 2.4,mm,10001 \
    "column 'count': a count is a whole number up to 10000, not '10001'"
refused 'a short row' 2.6,mm '2 cells where the heading has 3'
refused 'an open quote' '"2.6,mm,1' 'unclosed quote'
refused 'a stray quote in a row' '2.6,"mm" x,1' 'text behind a closing quote'
refused 'a quote that closes lines below' "2.6,\"mm${nl}2.4,mm,1${nl}2.3\",mm,1" \
    "unclosed quote${nl}valve-set: shims.csv:4: column 'thickness': bad number '2.3\"'"
stock 'counts that differ' "2.4,mm,1${nl}2.4,mm,2" \
    "valve-set: shims.csv:3: column 'count': 2 here, 1 before" 2.4

printf 'thickness,unit,count,side,side\n2.4,mm,1,I,I\n' >shims.csv
run "$bin/valve-set" --as-of 2026-02-01 --engine M-1 --shims shims.csv --format csv shop.db
is 'a side twice' "$status|$out|$err" "2||valve-set: shims.csv:1: repeated column 'side' in table shims"
printf 'thickness,unit,count,side\n2.4,mm,1,I\n' >shims.csv
run "$bin/valve-book" --as-of 2026-02-01 --no-end shop.db shims.csv
is 'a book mixes no shims of two kinds' "$status|$err" "2|valve-book: shims.csv:1: unknown column 'side' in table shims"
# unread NAME MESSAGE: of shims.csv as it is
unread() {
    run "$bin/valve-set" --as-of 2026-02-01 --engine M-1 --shims shims.csv --format csv shop.db
    is "$1" "$status|$out|$err" "2||valve-set: $2"
}
printf 'thickness,un\0it,count\n2.4,mm,1\n' >shims.csv
unread 'a NUL byte in the heading' 'shims.csv:1: NUL byte'
seq 0 9999 | awk 'BEGIN { print "thickness,unit,count" } { print 1 + $1 / 10000 ",mm," $1 % 7 }' >all.csv
gzip -c all.csv | head -c 9000 >shims.csv
unread 'a packed file that was cut' 'shims.csv: gzip data end too early'
done_testing
