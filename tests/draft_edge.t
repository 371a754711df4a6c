#!/bin/sh
# Exports at the edges of what a draft looks at: too many rows, cells, words or digits, lines cut
# in the middle, headings and words that nearly say something.
. tests/tap.sh
. tests/draft.sh
cd "$work" || exit 1

# drafted FILE: the recipe, in recipe
drafted() {
    run "$tidy" --draft "$1"
    printf '%s\n' "$out" >recipe
}
# told NAME PATTERN COUNT: so many rows of the recipe begin like this
told() {
    is "$1" "$status $err$(grep -c "^$2" recipe)" "0 $3"
}

# nothing NAME FILE: it is no table of readings
nothing() {
    run "$tidy" --draft "$2"
    is "$1" "$status $out$err" "2 valve-tidy: $2: nothing in it looks like a table of readings"
}

### more than is looked at
# 2500 rows of which 2000 are looked at; one of 1100 cells is passed over
{
    echo Engine,Date,Valve,Lash mm
    seq 1 1100 | tr '\n' ,
    echo
    seq 1 2500 | awk '{ print "HC-1,2025-03-02," $1 % 4 + 1 "I,0." 10 + $1 % 9 }'
} >long.csv
drafted long.csv
told 'rows without end: the delimiter' ',delimiter,.*comma,4 columns in most lines' 1
told 'rows without end: the column' 'Lash mm,lash,mm,' 1
# a quarter of a mebibyte is looked at, which ends within a line and within a letter
{
    echo Engine,Date,Valve,Lash mm,Note
    seq 1 40 | awk '{ printf "HC-1,2025-03-02,1I,0.15,"
        for (i = 0; i < 4000 + $1; i++) printf "\303\266"; print "" }'
} >wide.csv
drafted wide.csv
told 'lines cut in the middle: still UTF-8' ',encoding,.*UTF-8,' 1
told 'lines cut in the middle: the column' 'Lash mm,lash,mm,' 1
awk 'BEGIN { for (i = 0; i < 60000; i++) printf "0.15,1I,"; print "" }' >one.csv
nothing 'a line without end is no table' one.csv
printf 'Engine,Date,Valve,Lash mm,Note\nHC-1,2025-03-02,1I,0.15,\303' >ends.csv
drafted ends.csv
told 'a letter that ends with the file is none' ',encoding,.*WINDOWS-1252,not UTF-8' 1
seq 1 300 | awk '{ print "0." 100 + $1 }' >many.txt
drafted many.txt
told 'more numbers than an engine has valves have no order' ',order,' 0

### totals
{
    echo Engine,Date,Valve,Lash mm
    echo HC-1,2025-03-02,1I,0.15
    seq 1 20 | sed 's/.*/Total &,,,0.15/'
} >totals.csv
drafted totals.csv
told 'of twenty words for a total sixteen are told' ',totals,' 16
{
    echo Engine,Date,Valve,Lash mm
    echo HC-1,2025-03-02,1I,0.15
    printf 'Total %0150d,,,0.15\n' 0
    echo ,,Mean:,0.15
    echo ,,,
    echo : nothing,,,0.15
    echo abcdefghijklmnopqrstuvwxyz,2025-03-02,1E,0.25
} >words.csv
drafted words.csv
told 'a word too long for a recipe is not told, one behind blank cells is' ',totals,' 1

### states
{
    echo Engine,Date,Valve,Lash mm,State
    printf 'HC-1,2025-03-%02d,1I,0.1%d,%s\n' 1 1 found 2 2 adjusted 3 3 adjusted 4 4 '' \
        5 5 'left as it was since it was fine' 6 6 'left corner'
    echo HC-1,2025-03-07,1I,0.17
    echo Total,,,1,set
} >states.csv
drafted states.csv
told 'each word for a state once' 'state,state,,,left,,adjusted,' 1
told 'no word for a state that is not one' 'state,state,' 1
why 'cells that are no state are counted' State "CHECK: 2 of 5 cells"

### above the heading
cat >above.csv <<'END'
Engine: HC-9,
Hours: 12 mm,
Hours: 77 h,
Counter: 1234 km,
Truck: T-2,
Unit: mm,
Engine,Date,Hours,Valve,Lash
HC-1,2025-03-02,80 h,1I,0.15
HC-1,2025-03-02,80 h,1E,0.25
END
sheet 'what a column says is not taken from above' above.csv 'status 0
HC-1,2025-03-02,80,h,lash,1I,0.15,,mm,,,,,,above.csv,8
HC-1,2025-03-02,80,h,lash,1E,0.25,,mm,,,,,,above.csv,9'
told 'the unit above is that of the readings' ',unit,.*mm,' 1
told 'an engine, a meter: in columns' ',\(engine\|meter\|meter_unit\),' 0
printf 'Engine: HC-9,\nTruck: T-2,\nDate: 2025-03-02,\nCounter: 1234 km,\n1I mm,1E mm\n0.15,0.25\n' >truck.csv
sheet 'an engine is more than a vehicle' truck.csv 'status 0
HC-9,2025-03-02,1234,km,lash,1I,0.15,,mm,,,,,,truck.csv,6
HC-9,2025-03-02,1234,km,lash,1E,0.25,,mm,,,,,,truck.csv,6'
cat >shared.csv <<'END'
Report
Report,of,March,as,it,was
Rest,found,found,Engine,Date,Valve
,[in_i],mm,,,
,0.0059,0.15,HC-1,2025-03-02,1I
END
sheet 'a line above that is no heading' shared.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.14986,,mm,,,,,,shared.csv,5'
cat >again.csv <<'END'
Engine,Date,Valve,Lash mm
HC-1,2025-03-02,1I,0.15
Engine,Date,Valve,Lash mm,Note
HC-1,2025-03-02,1E,0.25
END
drafted again.csv
told 'a heading that goes on is a row' 'Lash mm,lash,mm,' 1

### numbers
# marks NAME CELL WORDS: the decimal and the grouping mark that a column of one number gives
marks() {
    printf 'Engine;Date;Valve;Lash um\nHC-1;2025-03-02;1I;%s\n' "$2" >marks.csv
    drafted marks.csv
    is "$1" "$(sed -n 's/^,decimal,[^"]*,\([a-z"]*\),.*/\1/p; s/^,group,[^"]*,\([a-z"]*\),.*/\1/p' recipe |
        tr '\n' ' ')" "$3"
}
marks 'an apostrophe between thousands' "1'234.5" 'point apostrophe '
marks 'an apostrophe before all' "'150" 'point '
marks 'a blank before four digits' '1 2345' 'point '
marks 'a blank before a letter' '1 2x4' 'point '
marks 'a blank before two digits' '1 23' 'point '
marks 'two points behind a comma' '1,234.567.8' 'point '
marks 'two commas behind a point' '1.234,567,8' 'point '
marks 'groups of two' '12.345.67' 'point '
marks 'four digits before a group' '1234.567.890' 'point '
marks 'no digit before a group' '.123.456' 'point '
marks 'a word that ends nearly like a dead centre' '12,5 xxdx' 'point '

### words
# one NAME HEADING CELL QUANTITY AT NUMBER UNIT
one() {
    printf 'Engine,Date,%s\nHC-1,2025-03-02,%s\n' "$2" "$3" >head.csv
    sheet "$1" head.csv "status 0
HC-1,2025-03-02,,,$4,$5,$6,,$7,,,,,,head.csv,2"
}
one 'the lift of a cam' 'Cyl 2 IN cam lift mm' 8.5 lobe_lift 2I 8.5 mm
one 'lash in a heading with hours' 'Cyl 2 IN lash mm (hours)' 0.15 lash 2I 0.15 mm
told 'lash in a heading with hours: no meter' '[^,]*,meter,' 0
one 'two cylinders in a heading: the second is an index' 'Cyl 2 cyl 3 IN lash mm' 0.15 lash 2I3 0.15 mm
one 'no engine has twelve valves a cylinder' 'Cyl 2 IN 12 lash mm' 0.15 lash 2I 0.15 mm
one 'an inlet that closes late enough' 'Cyl 2 IVC deg' 200 closes 2I 200 deg
one 'an inlet that opens behind a dead centre' 'Cyl 2 IVO after TDC deg' 12 opens 2I 12 deg

### readings twice
cat >thrice.csv <<'END'
Engine,Date,Valve,go mm,no-go mm,go mm
HC-1,2025-03-02,1I,0.10,0.12,0.11
END
sheet 'a pair and half of another' thrice.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.11,,mm,0.0057735,,,,,thrice.csv,2'
told 'a pair and half of another: said' '#6,ignore.*A SECOND COLUMN FOR THE SAME READING' 1
cat >value.csv <<'END'
Engine,Date,Valve,Lash mm,go mm,no-go mm
HC-1,2025-03-02,1I,0.15,0.10,0.12
END
drafted value.csv
told 'a value and a pair: the value stands' 'Lash mm,lash,mm,' 1
told 'a value and a pair: the pair does not' '\(go\|no-go\) mm,ignore.*A SECOND COLUMN FOR THE SAME READING' 2
cat >value.csv <<'END'
Engine,Date,Valve,go mm,no-go mm,Lash mm
HC-1,2025-03-02,1I,0.10,0.12,0.15
END
drafted value.csv
told 'a pair and a value: the value does not' 'Lash mm,ignore.*A SECOND COLUMN FOR THE SAME READING' 1
printf 'Engine,Date,Valve,found,found\nHC-1,2025-03-02,1I,0.10,0.12\n' >found.csv
drafted found.csv
told 'the same without units' '#5,ignore.*A SECOND COLUMN FOR THE SAME READING' 1
cat >pressure.csv <<'END'
Engine,Date,Cyl 1 compression bar,Cyl 1 compression kPa
HC-1,2025-03-02,12,1200
END
sheet 'a pressure in two units' pressure.csv 'status 0
HC-1,2025-03-02,,,compression,1,1200,,kPa,,,,,,pressure.csv,2'
told 'a pressure in two units: no length to agree by' ',agree,' 0
# the coarser of the two is mm to 0.01: they agree within half of that
cat >agree.csv <<'END'
Engine,Date,Valve,Lash in,Lash mm
HC-1,2025-03-02,1I,0.0059,0.15
HC-1,2025-03-02,1E,none,
HC-1,2025-03-02,2I
Total,,,1,1
END
drafted agree.csv
told 'in two units: as far as the coarser goes' ',agree,.*,0.0050,' 1

### units
cat >rows.csv <<'END'
Engine,Date,Valve,Lash,Meter
,,,mm,mm
HC-1,2025-03-02,1I,0.15,1200
END
sheet 'a row of units with one that cannot be' rows.csv 'status 0
HC-1,2025-03-02,1200,h,lash,1I,0.15,,mm,,,,,,rows.csv,3' 2>no
cat >some.csv <<'END'
Engine,Date,Valve,Lash
HC-1,2025-03-02,1I,0.15 mm
HC-1,2025-03-02,1E,0.25
END
sheet 'a unit in some cells' some.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,some.csv,2
HC-1,2025-03-02,,,lash,1E,0.25,,mm,,,,,,some.csv,3'
why 'a unit in some cells: said' Lash 'CHECK THE UNIT: nothing states it, mm'
cat >all.csv <<'END'
Unit: mm
Engine,Date,Cyl,IN lash mm,EX lash,Compression bar
HC-1,2025-03-02,1,0.15,0.25,12
END
drafted all.csv
told 'the unit above and in a heading, the same' ',unit,.*mm,' 1
told 'the unit above and in a heading: each' '\(IN\|EX\) lash[ m]*,lash,' 2
cat >u.csv <<'END'
Engine,Date,Valve,Lash,Unit,Uncertainty
HC-1,2025-03-02,1I,0.15,mm,0.01
END
sheet 'an uncertainty in the unit of the row' u.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,0.01,,,,,u.csv,2'
cat >u.csv <<'END'
Engine,Date,Valve,Lash,Unit,Uncertainty mm
HC-1,2025-03-02,1I,10,thou,0.01
END
sheet 'an uncertainty in a unit of its own' u.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.254,,mm,0.01,,,,,u.csv,2'
cat >u.csv <<'END'
Unit: thou
Engine,Date,Valve,Lash,Uncertainty mm
HC-1,2025-03-02,1I,10,0.01
END
sheet 'and beside a unit for all' u.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.254,,mm,0.01,,,,,u.csv,3'
cat >angles.csv <<'END'
Engine,Date,Valve,Lash,Unit,Opens,Closes (ABDC)
HC-1,2025-03-02,1I,0.15,mm,12 BTDC,45
HC-1,2025-03-02,2I,6,thou,-11,44
END
sheet 'angles beside a column of units' angles.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,angles.csv,2
HC-1,2025-03-02,,,opens,1I,-12,,deg,,,,,,angles.csv,2
HC-1,2025-03-02,,,closes,1I,225,,deg,,,,,,angles.csv,2
HC-1,2025-03-02,,,lash,2I,0.1524,,mm,,,,,,angles.csv,3
HC-1,2025-03-02,,,opens,2I,-11,,deg,,,,,,angles.csv,3
HC-1,2025-03-02,,,closes,2I,224,,deg,,,,,,angles.csv,3'
cat >angles.csv <<'END'
Unit: mm
Engine,Date,Valve,Lash,Opens,Closes
HC-1,2025-03-02,1I,0.15,12 BTDC,45 ABDC
END
sheet 'angles below a unit for all' angles.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,angles.csv,3
HC-1,2025-03-02,,,opens,1I,-12,,deg,,,,,,angles.csv,3
HC-1,2025-03-02,,,closes,1I,225,,deg,,,,,,angles.csv,3'
cat >inch.csv <<'END'
Engine,Date,Valve,found in,left in mm
HC-1,2025-03-02,1I,0.006,0.20
END
sheet '"in" beside valves: an inch, or a word' inch.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.1524,0.2,mm,,,,,,inch.csv,2'

### columns that nobody named
cat >only.csv <<'END'
Engine,Date,Valve,Foo mm
HC-1,2025-03-02,1I,1
END
sheet 'the only column that may be a reading, by its unit' only.csv 'status 0
HC-1,2025-03-02,,,lash,1I,1,,mm,,,,,,only.csv,2'
why 'the only column: doubted' Foo 'UNCERTAIN: the only column that may be a reading'
cat >two.csv <<'END'
Engine,Date,Valve,Foo mm,Bar
HC-1,2025-03-02,1I,0.15,0.25
END
drafted two.csv
told 'the first of two, which has a unit' 'Foo mm,lash,.*UNCERTAIN: the first column that may be a reading' 1
printf 'Engine,Date,Valve,Foo,Bar\nHC-1,2025-03-02,1I,0.15,0.25\n' >two.csv
nothing 'neither of two without one' two.csv
printf 'Engine,Date,Foo\nHC-1,2025-03-02,0.15\n' >two.csv
nothing 'none where nothing says a valve' two.csv
printf 'Inlet mm\n0.15\n0.16\n' >side.csv
drafted side.csv
told 'one column of a side has no order' ',order,' 0
printf 'Compression bar\n12\n13\n' >side.csv
drafted side.csv
told 'one column of what is no valve has no order' ',order,' 0
cat >what.csv <<'END'
Engine,Date,Valve,mm,Quantity
HC-1,2025-03-02,1I,0.15,lash
HC-1,2025-03-02,1E,0.25,
HC-1,2025-03-02,2I,0.16
Total,,,1,lash
END
drafted what.csv
told 'quantities in rows, some of them short' 'Quantity,quantity,' 1
cat >bank.csv <<'END'
Bank temp,Engine,Date,Valve,Found mm,F
20,HC-1,2026-05-01,1I,0.25,3
20,HC-1,2026-05-01,1E,0.35,4
END
drafted bank.csv
told 'the temperature of a bank is not in Fahrenheit' 'Bank temp,temp,Cel,,,,,.*CHECK THE UNIT' 1
told 'and an F is no bank' 'F,ignore,,,,,,"CHECK: NOT UNDERSTOOD' 1
done_testing
