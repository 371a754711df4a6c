#!/bin/sh
# Exports that say things in unusual ways, twice, wrongly or not at all: what the draft makes of
# them, and that it says what it did not understand.
. tests/tap.sh
. tests/draft.sh
cd "$work" || exit 1

### above the heading: twice, wrongly, in other words
cat >above.csv <<'END'
Date: soon,
Date: 45658,
Date: 03/04/2025,
Date: 05/06/2025,
Remark on the engine: rough,
Hours: none,
Hours: 77 kg,
Hours: 88.5 h,
Hours: 99 h,
Oil temp: 21 h,
Oil temp: 21 Cel,
Gauge=F1,
Engine: HC-20,
Truck: T-2,
Hours of the engine as they were read last: 12 h,
Fitter: a name much longer than anybody has and longer than fits the cell that would hold it,
1I mm,1E mm
0.10,0.20
END
sheet 'above: the first that can be read counts' above.csv 'status 0
HC-20,2025-04-03,88.5,h,lash,1I,0.1,,mm,,21,F1,,,above.csv,18
HC-20,2025-04-03,88.5,h,lash,1E,0.2,,mm,,21,F1,,,above.csv,18'
why 'above: a date that may be two is doubted' ,date 'read as D/M/Y; UNCERTAIN'
printf 'Truck: T-2,\nDate: 2025-04-03,\n1I mm,1E mm\n0.10,0.20\n' >truck.csv
sheet 'above: a vehicle where no engine is named' truck.csv 'status 0
T-2,2025-04-03,,,lash,1I,0.1,,mm,,,,,,truck.csv,4
T-2,2025-04-03,,,lash,1E,0.2,,mm,,,,,,truck.csv,4'

### a heading that stands twice: the one with numbers below it
cat >legend.csv <<'END'
Engine,Date,Valve,Lash mm
which one,when,,
,,,
,,,
,,,
,,,
Engine,Date,Valve,Lash mm
HC-13,2025-07-01,1I,0.2
Engine,Date,Valve
HC-13,2025-07-02,1I,0.3
END
run "$tidy" --draft legend.csv
printf '%s\n' "$out" >recipe
why 'a legend above: skipped' ,skip ',6,'
run "$tidy" --recipe recipe legend.csv
is 'a legend above: readings; a row with half a heading is refused' \
    "$status|$(printf '%s\n' "$out" | sed '1d;$d')" '1|HC-13,2025-07-01,,,lash,1I,0.2,,mm,,,,,,legend.csv,8
HC-13,2025-07-02,,,lash,1I,0.3,,mm,,,,,,legend.csv,10'

### the row of units
cat >wide.csv <<'END'
Engine,Date,Valve,found,left
,,,mm,mm,mm
HC-7,2025-07-01,1I,0.10,0.20
END
sheet 'a row of units wider than the heading' wide.csv 'status 0
HC-7,2025-07-01,,,lash,1I,0.1,0.2,mm,,,,,,wide.csv,3'
cat >hints.csv <<'END'
Engine,Date,Valve,Lash [mm]
name,,which,mm
HC-7,2025-07-01,1I,0.10
END
run "$tidy" --draft hints.csv
ok 'a row of hints is no row of units' test "$(printf '%s' "$out" | grep -c units_row)" -eq 0

### units nobody states: by the size of the numbers, and said
# size NAME QUANTITY CELL UNIT MM
size() {
    printf 'Engine,Date,Valve,%s\nHC-1,2025-03-02,1I,%s\n' "$2" "$3" >size.csv
    sheet "$1" size.csv "status 0
HC-1,2025-03-02,,,$(echo "$2" | tr A-Z a-z),1I,$5,,mm,,,,,,size.csv,2"
    why "$1: said" "$2" "$4.*CHECK THE UNIT"
}
size 'lash of 0.006' Lash 0.006 '\[in_i\]' 0.1524
size 'lash of 0.15' Lash 0.15 mm 0.15
size 'lash of 6' Lash 6 '\[mil_i\]' 0.1524
size 'lash of 150' Lash 150 um 0.15
size 'a shim of 0.1' Shim 0.1 '\[in_i\]' 2.54
size 'a shim of 2.85' Shim 2.85 mm 2.85
size 'a shim of 2850' Shim 2850 um 2.85
cat >nounit.csv <<'END'
Engine,Date,Cyl,IN lash mm,IN recess,Compression,Leakdown,Uncertainty
HC-1,2025-03-02,1,0.15,0.9,14,12,0.003
END
sheet 'no unit where none can be told' nounit.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,nounit.csv,2
HC-1,2025-03-02,,,leakdown,1,12,,%,,,,,,nounit.csv,2'
why 'no unit: a length that is neither lash nor shim' 'IN recess' 'ignore.*nothing states its unit'
why 'no unit: a pressure' Compression 'ignore.*nothing states its unit'
why 'no unit: an uncertainty' Uncertainty 'ignore.*an uncertainty, but nothing states its unit'

### meters and temperatures
# counts NAME HEADING CELLS METER UNIT
counts() {
    printf 'Engine,Date,%s,Valve,Lash mm\nHC-1,2025-03-02,%s,1I,0.2\n' "$2" "$3" >meter.csv
    sheet "$1" meter.csv "status 0
HC-1,2025-03-02,$4,$5,lash,1I,0.2,,mm,,,,,,meter.csv,2"
}
counts 'a counter of 1200' Counter 1200 1200 h
why 'a counter of 1200: said' Counter 'CHECK THE UNIT: nothing states it, h '
counts 'a counter of 120000' Counter 120000 120000 km
why 'a counter of 120000: said' Counter 'CHECK THE UNIT: nothing states it, km '
counts 'a column of units of the meter' 'Counter,Meter unit' 250,km 250 km
counts 'a unit in each cell' Counter '250 km' 250 km
counts 'km in brackets' 'Stand (km)' 250 250 km
# warm NAME HEADING CELL CEL
warm() {
    printf 'Engine,Date,Valve,Lash mm,%s\nHC-1,2025-03-02,1I,0.2,%s\n' "$2" "$3" >temp.csv
    sheet "$1" temp.csv "status 0
HC-1,2025-03-02,,,lash,1I,0.2,,mm,,$4,,,,temp.csv,2"
}
warm 'a temperature of 18' Temp 18 18
why 'a temperature of 18: said' Temp 'Cel.*CHECK THE UNIT'
warm 'a temperature of 70' Temp 70 ''
why 'a temperature of 70: said' Temp 'ignore.*nothing states its scale'
warm 'a temperature in F' 'Temp F' 68 20
warm 'a temperature in C' 'Temp C' 68 68

### headings
# head NAME HEADING CELL QUANTITY AT NUMBER UNIT: one column beside engine, date and cylinder
head() {
    printf 'Engine,Date,%s\nHC-1,2025-03-02,%s\n' "$2" "$3" >head.csv
    sheet "$1" head.csv "status 0
HC-1,2025-03-02,,,$4,$5,$6,,$7,,,,,,head.csv,2"
}
head 'a valve before its cylinder' 'IN 2 cyl 3 lash mm' 0.15 lash 3I2 0.15 mm
head 'an inch mark' 'Cyl 2 Inlet lash ""' 0.006 lash 2I 0.1524 mm
head 'exhaust and inch' 'Cyl 2 Ex lash in' 0.006 lash 2E 0.1524 mm
head 'two words for lash' 'Cyl 2 IN lash gap mm' 0.15 lash 2I 0.15 mm
head 'two units' 'Cyl 2 IN lash mm bar' 0.15 lash 2I 0.15 mm
head 'a bracket that does not close' 'Cyl 2 IN lash mm (cold' 0.15 lash 2I 0.15 mm
head 'a bracket that is no unit' 'Cyl 2 IN lash mm (cold)' 0.15 lash 2I 0.15 mm
head 'joined words' 'Cyl 2 InletClearance mm' 0.15 lash 2I 0.15 mm
head 'capitals beyond ASCII' 'ZYL 2 AUSLA''ß mm' 0.15 lash 2E 0.15 mm
head 'percent' 'Cyl 2 leakdown %' 12 leakdown 2 12 %
head 'a pressure' 'Cyl 2 compression (bar)' 14 compression 2 1400 kPa
head 'lift at overlap' 'Cyl 2 IN lift at TDC mm' 1.5 lift_tdc 2I 1.5 mm
head 'lift of a lobe' 'Cyl 2 IN lobe lift mm' 8.5 lobe_lift 2I 8.5 mm
head 'a stop before' 'Cyl 1 stop before TDC deg' 12.5 stop_before 1 12.5 deg
head 'a stop after' 'Cyl 1 stop after TDC deg' 12.5 stop_after 1 12.5 deg
head 'a bare angle' 'Cyl 2 IVO deg' -12 opens 2I -12 deg
why 'a bare angle: said' 'Cyl 2 IVO' 'CHECK: a bare angle is read as degrees after overlap TDC'
# no NAME HEADING CELL WHY: it is left out beside a lash, and said
no() {
    printf 'Engine,Date,1E lash mm,%s\nHC-1,2025-03-02,0.25,%s\n' "$2" "$3" >no.csv
    sheet "$1" no.csv 'status 0
HC-1,2025-03-02,,,lash,1E,0.25,,mm,,,,,,no.csv,2'
    why "$1: said" "$2" "ignore.*$4"
}
no 'an angle before a dead centre' 'Cyl 2 IVO before TDC deg' 12 'CHECK: an angle'
no 'an angle after bottom' 'Cyl 2 IVC after BDC deg' 45 'CHECK: an angle'
no 'an angle of inlet closing that is too small' 'Cyl 2 IVC deg' 45 'CHECK: an angle'
no 'an angle of exhaust opening that is too small' 'Cyl 2 EVO deg' 50 'CHECK: an angle'
no 'a cylinder beyond 99' 'IN 100 lash mm' 0.15 'nothing says at which valve'
no 'too many numbers' 'gap 1 2 3 mm' 0.15 'nothing says at which valve'
no 'a word beyond all' "$(printf 'x%.0s' 1 2 3 4 5 6 7 8 9 10)$(printf 'abcdefgh%.0s' 1 2 3 4 5)" 0.15 \
    'CHECK: NOT UNDERSTOOD, AND IT HOLDS NUMBERS'
no 'words without end' 'ofofofofofofofof' 0.15 'CHECK: NOT UNDERSTOOD, AND IT HOLDS NUMBERS'
no 'a target' 'Cyl 2 IN target lash mm' 0.15 'no reading of its own'
no 'a word over words' 'Before' rain 'the cells hold no numbers'
no 'a place that is none' Position shed 'CHECK: not understood'
no 'quantities that are none' Item Kolben 'no names of quantities'

### cells say what headings do not
cat >cells.csv <<'END'
Engine,Date,Cyl,Lash mm
HC-1,2025-03-02,1I,0.15
HC-1,2025-03-02,1E,0.25
END
sheet 'valves under "Cyl"' cells.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,cells.csv,2
HC-1,2025-03-02,,,lash,1E,0.25,,mm,,,,,,cells.csv,3'
cat >pots.csv <<'END'
Engine,Date,Pot,In mm,Ex mm
HC-1,2025-03-02,1,0.15,0.25
HC-1,2025-03-02,2,0.16,0.26
END
sheet 'cylinders under an unknown word' pots.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,pots.csv,2
HC-1,2025-03-02,,,lash,1E,0.25,,mm,,,,,,pots.csv,2
HC-1,2025-03-02,,,lash,2I,0.16,,mm,,,,,,pots.csv,3
HC-1,2025-03-02,,,lash,2E,0.26,,mm,,,,,,pots.csv,3'
why 'cylinders under an unknown word: doubted' Pot 'cylinder.*UNCERTAIN'
cat >rows.csv <<'END'
Engine,Date,Side,1,2
HC-1,2025-03-02,IN,0.15 mm,0.16 mm
HC-1,2025-03-02,EX,0.25 mm,0.26 mm
END
sheet 'numbers for headings' rows.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,rows.csv,2
HC-1,2025-03-02,,,lash,2I,0.16,,mm,,,,,,rows.csv,2
HC-1,2025-03-02,,,lash,1E,0.25,,mm,,,,,,rows.csv,3
HC-1,2025-03-02,,,lash,2E,0.26,,mm,,,,,,rows.csv,3'
why 'numbers for headings: doubted' 1 'UNCERTAIN: a number taken for a cylinder'
cat >inout.csv <<'END'
Engine,Date,Cyl,Inlet,Lash mm
HC-1,2025-03-02,1,in,0.15
HC-1,2025-03-02,1,ex,0.25
END
sheet 'sides under "Inlet"' inout.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,inout.csv,2
HC-1,2025-03-02,,,lash,1E,0.25,,mm,,,,,,inout.csv,3'
cat >mixed.csv <<'END'
Engine,Date,Valve,State,Lash mm
HC-1,2025-03-02,1I,found,0.15
HC-1,2025-03-02,1I,adjusted,0.20
HC-1,2025-03-02,1E,dropped,0.25
HC-1,2025-03-02,radiator,found,0.25
END
run "$tidy" --draft mixed.csv
printf '%s\n' "$out" >recipe
why 'cells that are no valve are counted' Valve "CHECK: 1 of 4 cells, as 'radiator'"
why 'cells that are no state are counted' State "CHECK: 1 of 4 cells, as 'dropped'"
run "$tidy" --recipe recipe mixed.csv
is 'cells that are neither: refused' "$status|$(printf '%s\n' "$out" | sed '1d;$d')" \
    '1|HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,mixed.csv,2
HC-1,2025-03-02,,,lash,1I,,0.2,mm,,,,,,mixed.csv,3'

### twice the same reading
cat >three.csv <<'END'
Engine,Date,Valve,found,found,found
,,,[in_i],mm,um
HC-1,2025-03-02,1I,0.0059,0.15,150
END
run "$tidy" --draft three.csv
printf '%s\n' "$out" >recipe
is 'three columns for a reading: the last is left out' \
    "$(grep -c 'A SECOND COLUMN FOR THE SAME READING' recipe)" 1

### numbers
cat >group.csv <<'END'
Engine;Date;Valve;Hours;Lash um
HC-1;2025-03-02;1I;1 234,5;+150
HC-1;2025-03-02;1E;1 234,5;250
END
sheet 'blanks between thousands, a sign' group.csv 'status 0
HC-1,2025-03-02,1234.5,h,lash,1I,0.15,,mm,,,,,,group.csv,2
HC-1,2025-03-02,1234.5,h,lash,1E,0.25,,mm,,,,,,group.csv,3'
cat >million.csv <<'END'
Engine;Date;Valve;km;Lash mm
HC-1;2025-03-02;1I;1,234,567;0.15
END
sheet 'two commas are no decimals' million.csv 'status 0
HC-1,2025-03-02,1234567,km,lash,1I,0.15,,mm,,,,,,million.csv,2'
why 'two commas: said' ,group 'between groups of three digits'
printf 'Engine;Date;Valve;Shim mm\nHC-1;2025-03-02;1I;2,850\n' >either.csv
run "$tidy" --draft either.csv
printf '%s\n' "$out" >recipe
why 'every mark before three digits: doubted' ,decimal 'UNCERTAIN: every mark stands before three'

### bare numbers, of an odd count and with words between
printf '0.15\n0.22\n0.14\n' >bare.txt
run "$tidy" --draft bare.txt
printf '%s\n' "$out" >recipe
why 'an odd count is said' ,order 'ODD: one cylinder lacks a valve'

### rows of totals, of which each word is told once
cat >totals.csv <<'END'
Engine,Date,Valve,Lash mm
HC-1,2025-03-02,1I,0.15
Total,,,0.15
Total,,,0.15
Mean,,,0.15
END
sheet 'totals' totals.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,totals.csv,2'
is 'totals: each word once' "$(grep -c ,totals recipe)" 2

### text beyond ASCII of two, three and four bytes
printf 'Engine,Date,Valve,Lash mm,Note\nHC-1,2025-03-02,1I,0.15,\303\266\346\251\237\360\237\224\247\n' >utf8.csv
sheet 'UTF-8 of all lengths' utf8.csv "status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,$(printf '\303\266\346\251\237\360\237\224\247'),utf8.csv,2"
why 'UTF-8 of all lengths: encoding' ,encoding 'UTF-8,"valid UTF-8'
printf 'Engine,Date,Valve,Lash mm,Note\nHC-1,2025-03-02,1I,0.15,\303x\n' >broken.csv
run "$tidy" --draft broken.csv
printf '%s\n' "$out" >recipe
why 'half a sequence is no UTF-8' ,encoding 'WINDOWS-1252,not UTF-8'

### hundredths
cat >cmm.csv <<'END'
Engine,Date,Cyl,Found IN 1/100 mm,EX [1/100 mm],EX 2 0.001 in
HC-1,2025-03-02,1,4,29,11
END
sheet 'hundredths and thou by their fraction' cmm.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.04,,mm,,,,,,cmm.csv,2
HC-1,2025-03-02,,,lash,1E,0.29,,mm,,,,,,cmm.csv,2
HC-1,2025-03-02,,,lash,1E2,0.2794,,mm,,,,,,cmm.csv,2'

### blades in one cell
cat >fans.csv <<'END'
Engine,Date,Valve,Found,Left
HC-1,2025-03-02,1I,7/8,8/9
HC-1,2025-03-02,1E,11/12,-
END
run "$tidy" --draft fans.csv
printf '%s\n' "$out" >recipe
run "$tidy" --recipe recipe fans.csv
is 'two blades in each cell' "$status$err$(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f6-10)" \
    "01I,0.1905,0.2159,mm,0.00733235
1E,0.2921,,mm,0.00733235"
is 'blades: the draft' "$(grep ^Found recipe | cut -d, -f2-6)" 'lash,[mil_i],,found,go/no-go'
sed 's|11/12|12/11|' fans.csv >mixed.csv
run "$tidy" --draft mixed.csv
is 'blades the wrong way round are no pairs' "$(printf '%s\n' "$out" | grep ^Left, | cut -d, -f6)" go/no-go
done_testing
