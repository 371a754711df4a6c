#!/bin/sh
# Words, numbers and dates on the edge of what a draft understands.
. tests/tap.sh
. tests/draft.sh
cd "$work" || exit 1

# draft NAME FILE: drafts it into recipe
draft() {
    run "$tidy" --draft "$2"
    is "$1" "$status $err" '0 '
    printf '%s\n' "$out" >recipe
}

### dates
cat >runs.csv <<'END'
Engine,Date,Valve,Lash mm
HC-1,03/04/2024,1I,0.2
HC-1,02/05/2024,1I,0.1
HC-1,01/06/2024,1I,0.1
END
draft 'dates that run forward one way' runs.csv
why 'dates that run forward one way: said' Date 'D/M/Y.*but only the former runs forward'
cat >blank.csv <<'END'
Engine,Date,Valve,Lash mm
HC-1,,1I,0.2
HC-1,03/04/2024,1I,0.1
END
draft 'a blank date' blank.csv
why 'a blank date: another one is told' Date "UNCERTAIN: '03/04/2024' fits"
cat >forms.csv <<'END'
Engine,Date,Valve,Lash mm
HC-1,13.04.2024,1I,0.2
HC-1,14.04.2024,1I,0.2
HC-1,2024-04-15,1I,0.1
END
draft 'dates of two forms' forms.csv
why 'dates of two forms: said' Date 'D.M.Y.*CHECK: 2 of 3 dates fit, the others will be refused'
printf 'Engine,Date,Valve,Lash mm\nHC-1,soon,1I,0.2\n' >soon.csv
draft 'no dates' soon.csv
why 'no dates: said' Date 'CHECK: no order of a date fits these cells'
printf 'Engine,Date,Valve,Lash mm\nHC-1,,1I,0.2\n' >none.csv
draft 'no date at all' none.csv
why 'no date at all: said' Date 'CHECK: the cells are blank'

### states
cat >states.csv <<'END'
Engine,Date,Valve,State,Lash mm
HC-1,2025-03-02,1I,vorher,0.15
HC-1,2025-03-02,1I,nach Einstellen,0.20
HC-1,2025-03-02,1E,vorher,0.25
HC-1,2025-03-02,1E,nachher,0.30
HC-1,2025-03-02,2E,a state told in far too many words,0.30
END
draft 'states in words' states.csv
ok 'a word for found is told once' test "$(grep -c ',vorher$\|,vorher,' recipe)" -le 1
run "$tidy" --recipe recipe states.csv
is 'states in words: what cannot be told is refused' \
    "$status $(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f6-8)" '1 1I,0.15,
1E,0.25,
1E,,0.3'

### a unit column beside others
cat >units.csv <<'END'
Engine,Date,Valve,Lash,Lash unit,Meter,Meter unit,Gauge lash
HC-1,2025-03-02,1I,6,thou,10,h,F1
END
sheet 'units in columns' units.csv 'status 0
HC-1,2025-03-02,10,h,lash,1I,0.1524,,mm,,,F1,,,units.csv,2'
cat >unit.csv <<'END'
Unit,Date,Valve,Lash mm
HC-1,2025-03-02,1I,0.15
mm,2025-03-02,1E,0.25
END
draft 'a unit that is an engine, mostly' unit.csv

### a unit that is made a part of: none is guessed, and valve-tidy refuses the numbers
for i in 'Lash 0.1 mm' 'Lash (tenths of mm)' 'Lash 1/10 (mm)' 'Lash thou/mm' 'Lash (mm) x 100'; do
    printf 'Engine,Date,Valve,%s\nHC-1,2025-03-02,1I,2\n' "$i" >part.csv
    draft "a part of a unit: $i" part.csv
    why "a part of a unit, told: $i" "$i" 'CHECK THE UNIT: the heading names a part'
    is "a part of a unit, in no recipe: $i" "$(sed -n 's/^Lash[^,]*,\(lash,[^,]*\).*/\1/p' recipe)" lash,
    run "$tidy" --recipe recipe part.csv
    is "a part of a unit, refused: $i" "$status $err" "1 valve-tidy: part.csv:2: column '$i': no unit stated"
done
printf 'Engine,Date,Valve,IVO cam deg\nHC-1,2025-03-02,1I,6\n' >cam.csv
draft 'degrees of the cam' cam.csv
is 'degrees of the cam: the unit' "$(sed -n 's/^IVO cam deg,\([^,]*,[^,]*\).*/\1/p' recipe)" opens,deg_cam

### a column twice
cat >both.csv <<'END'
Machine,Engine,Date,Day,Valve,Pos,Lash mm
F-1,HC-1,2025-03-02,2025-03-03,1I,1I,0.15
END
sheet 'the stronger word' both.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,,mm,,,,,,both.csv,2'
why 'the stronger word: the others are told' Machine "column 'Engine' is taken"
why 'the first of two equals' Day "column 'Date' is taken"
why 'a place beside a valve' Pos "column 'Valve' is taken"

### numbers
cat >minus.csv <<'END'
Engine;Date;Cyl;Stop before TDC deg;1I lash mm
HC-1;2025-03-02;1;-12,5;0,15
HC-1;2025-03-02;1;+12,5;0,15
END
draft 'signs' minus.csv
why 'signs: decimals' ,decimal comma
cat >odd.csv <<'END'
Engine;Date;Valve;km;Lash mm;Note
HC-1;2025-03-02;1I;1.234.567,5;0,15;12'34
HC-1;2025-03-02;1E;12.34.5;0,25;1 23
HC-1;2025-03-02;2I;1234,567;0,25;1 2345
HC-1;2025-03-02;2E;1,234,56;0,25;12ADC
END
draft 'marks that are no groups' odd.csv
why 'marks that are no groups: decimals' ,decimal comma

### headings
cat >empty.csv <<'END'
Engine,Date,Valve,Lash mm,#,,## 3
HC-1,2025-03-02,1I,0.15,1,,
HC-1,2025-03-02,1E,0.25,2,,
END
draft 'headings without a word' empty.csv
run "$tidy" --recipe recipe empty.csv
is 'headings without a word: readings' "$status $(printf '%s\n' "$out" | grep -c ,lash,)" '0 2'
cat >many.csv <<'END'
Engine,Date,1I found mm,1I found (in),1I found um
HC-1,2025-03-02,0.15,0.0059,150
END
draft 'three columns for one reading' many.csv
why 'three columns for one reading: one too many' '1I found um' 'A SECOND COLUMN\|ignore'
cat >soll.csv <<'END'
Motor;Datum;Ventil;Ist mm;Soll mm
HC-1;02.03.2025;1I;0,15;0,20
END
draft 'Soll' soll.csv
why 'Soll: doubted' 'Soll mm' "UNCERTAIN: 'Soll' is taken for as left"
cat >target.csv <<'END'
Motor;Datum;Ventil;Spiel vorher mm;Spiel soll mm;Spiel nachher mm
HC-1;02.03.2025;1I;0,15;0,20;0,19
END
sheet 'Soll beside what was left' target.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.15,0.19,mm,,,,,,target.csv,2'
why 'Soll beside it: a target' 'Spiel soll mm' "ignore.*CHECK: 'Soll' beside"
cat >nogo.csv <<'END'
Engine,Date,Valve,Go in,Nogo in
HC-1,2025-03-02,1I,0.006,0.008
END
sheet 'nogo' nogo.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.1778,,mm,0.0146647,,,,,nogo.csv,2'
printf 'Engine,Date,Sprocket step deg,1I mm\nHC-1,2025-03-02,18,0.15\n' >sprocket.csv
draft 'a quantity of a cam' sprocket.csv
why 'a quantity of a cam: without a side' Sprocket 'nothing says at which valve'
printf 'Engine,Date,Cyl,Checking lift mm,IVO\nHC-1,2025-03-02,1,1.27,12 BTDC\n' >check.csv
sheet 'a checking lift' check.csv 'status 0
HC-1,2025-03-02,,,checking_lift,1,1.27,,mm,,,,,,check.csv,2
HC-1,2025-03-02,,,opens,1I,-12,,deg,,,,,,check.csv,2'
printf 'Inlet\n0.15\n0.16\n0.17\n' >inlet.csv
draft 'a side alone' inlet.csv
why 'a side alone: which valve is not told' Inlet 'nothing says at which valve'
printf 'Compression\n14\n13\n14\n' >comp.csv
run "$tidy" --draft comp.csv
is 'a pressure alone' "$status" 2
printf 'Cyl,Lash\n1,0.15\n2,0.16\n3,0.17\n' >cyls.csv
draft 'cylinders without sides' cyls.csv
why 'cylinders without sides: said' Lash 'nothing says at which valve'

### two digits of a year, which may stand in front
# year NAME ORDER WHY DATE...
year() {
    year_name=$1 year_order=$2 year_why=$3
    shift 3
    { echo 'Engine,Date,Valve,Lash mm'; for day in "$@"; do echo "HC-1,$day,1I,0.15"; done; } >year.csv
    run "$tidy" --draft year.csv
    is "$year_name: order" "$(printf '%s\n' "$out" | grep '^Date' | cut -d, -f 6)" "$year_order"
    is "$year_name: why" "$(printf '%s\n' "$out" | grep '^Date' | cut -d, -f 8- | tr -d '\"')" \
        "heading word 'date'; all $# dates fit$year_why"
}
closer='but by the latter the dates lie closer together: check'
year 'in front, by how close they lie' y-M-D "; UNCERTAIN: '25-03-02' fits D-M-y and y-M-D, $closer" \
    25-03-02 25-04-05 25-06-11
year 'in front, with slashes' y/M/D "; UNCERTAIN: '25/03/22' fits D/M/y and y/M/D, $closer" 25/03/22 25/04/25
year 'in front, with points' y.M.D "; UNCERTAIN: '25.03.02' fits D.M.y and y.M.D, $closer" 25.03.02 26.04.05
year 'in front, nothing else fits' y-M-D '' 25-3-2 25-4-5
year 'at the end, by how close they lie' D-M-y '' 22-03-25 25-06-25
year 'one day: nothing tells' D-M-y "; UNCERTAIN: '25-03-14' fits D-M-y and y-M-D: check" 25-03-14 25-03-14
year 'all three' D-M-y "; UNCERTAIN: '05-03-02' fits D-M-y and M-D-y: check; UNCERTAIN: '05-03-02' fits D-M-y and y-M-D: check" \
    05-03-02
year 'one day with points: the day is in front' D.M.y '' 14.03.25
year 'a month in front' M/D/y '' 03/14/25

### A, E, left and right: what they mean hangs on what stands beside them
# heads NAME HEADINGS WANT: of the columns of readings and their twins name, meaning, place, state
heads() {
    printf 'Engine,Date,%s\nHC-1,2025-03-02,0.10,0.15,0.11,0.16\n' "$2" >heads.csv
    run "$tidy" --draft heads.csv
    is "$1" "$(printf '%s\n' "$out" | sed -n '/^Date/,$p' | sed 1d | cut -d, -f 1,2,4,5)" "$3"
    printf '%s\n' "$out" >recipe
}
heads 'A beside E' '1E mm,1A mm,2E mm,2A mm' '1E mm,lash,1I,found
1A mm,lash,1E,found
2E mm,lash,2I,found
2A mm,lash,2E,found'
why 'A beside E: doubted, as it may be admission' '1E mm' 'UNCERTAIN: E and A .*where A is admission'
heads 'AV beside EV' 'EV 1 mm,AV 1 mm,EV 2 mm,AV 2 mm' 'EV 1 mm,lash,1I,found
AV 1 mm,lash,1E,found
EV 2 mm,lash,2I,found
AV 2 mm,lash,2E,found'
ok 'AV beside EV: not doubted' sh -c '! grep -q UNCERTAIN recipe'
heads 'banks A and B' 'A1 IN mm,A1 EX mm,B1 IN mm,B1 EX mm' 'A1 IN mm,lash,I,found
A1 EX mm,lash,E,found
B1 IN mm,ignore,,
B1 EX mm,ignore,,'
why 'banks A and B: said' 'A1 IN' "CHECK: 'a' is taken for a bank.*rows will be refused"
heads 'left and right banks' 'Left IN 1 mm,Left EX 1 mm,Right IN 1 mm,Right EX 1 mm' 'Left IN 1 mm,lash,I,found
Left EX 1 mm,lash,E,found
Right IN 1 mm,ignore,,
Right EX 1 mm,ignore,,'
why 'left and right banks: said' 'Left EX' "CHECK: 'left' is taken for a bank.*rows will be refused"
why 'left and right banks: the other too' 'Right IN' 'CHECK: A SECOND COLUMN'
heads 'two engines of a boat' 'Port IN mm,Stbd IN mm' 'Port IN mm,lash,I,found
Stbd IN mm,ignore,,'
why 'two engines of a boat: said' 'Port IN' "CHECK: 'port' is taken for a bank.*where it is another engine, ignore it here"
heads 'front and rear' 'IN 1 front mm,EX 1 front mm,IN 1 REAR mm,EX 1 REAR mm' 'IN 1 front mm,lash,I,found
EX 1 front mm,lash,E,found
IN 1 REAR mm,ignore,,
EX 1 REAR mm,ignore,,'
heads 'left alone is what was left' '1I mm,1E mm,1I left mm,1E left mm' '1I mm,lash,1I,found
1E mm,lash,1E,found
1I left mm,lash,1I,left
1E left mm,lash,1E,left'
printf 'Engine,Date,Valve,Lash mm\nHC-1,2025-03-02,A1I,0.10\nHC-1,2025-03-02,B1I,0.11\n' >bank.csv
run "$tidy" --draft bank.csv
printf '%s\n' "$out" >recipe
why 'letters of banks in cells' Valve "CHECK: 2 of 2 cells, as 'A1I', name no valve"

### a diesel's other gaps are no lash of a valve, whichever column comes first
printf '%s\n' 'Engine,Date,Cyl,Exhaust brake lash mm,Lash injector mm,IN bridge mm,IN lash mm,EX lash mm' \
    D-07,2025-03-02,1,1.05,0.50,0.03,0.30,0.45 >brake.csv
sheet 'engine brake, injector and bridge' brake.csv 'status 0
D-07,2025-03-02,,,brake_lash,1,1.05,,mm,,,,,,brake.csv,2
D-07,2025-03-02,,,injector_lash,1,0.5,,mm,,,,,,brake.csv,2
D-07,2025-03-02,,,bridge_gap,1I,0.03,,mm,,,,,,brake.csv,2
D-07,2025-03-02,,,lash,1I,0.3,,mm,,,,,,brake.csv,2
D-07,2025-03-02,,,lash,1E,0.45,,mm,,,,,,brake.csv,2'
for head in 'Unit injector [mm]' 'Unit Pump mm' 'Inj (mm)'; do
    printf '%s\n' "Engine,Date,Cyl,IN mm,$head" D-07,2025-03-02,1,0.30,0.5 >inj.csv
    sheet "$head" inj.csv 'status 0
D-07,2025-03-02,,,lash,1I,0.3,,mm,,,,,,inj.csv,2
D-07,2025-03-02,,,injector_lash,1,0.5,,mm,,,,,,inj.csv,2'
done
"$tidy" --draft brake.csv >recipe
printf '%s\n' 'family,side,key,value,unit' d6,,cylinders,6, d6,I,valves,1, d6,E,valves,1, >d6.csv
printf 'engine,family\nD-07,d6\n' >d.csv
"$tidy" --recipe recipe brake.csv | "$bin/valve-book" --as-of 2025-03-31 brake.db d6.csv d.csv -
is "and the book gives them back" "$("$bin/valve-book" --dump readings brake.db | cut -d, -f5-7 | sort)" \
    "brake_lash,1,1.05
bridge_gap,1I,0.03
end,,5
injector_lash,1,0.5
lash,1E,0.45
lash,1I,0.3
quantity,at,found"
is "where no lash of a valve is theirs" "$("$bin/valve-drift" --as-of 2025-03-31 --format csv brake.db |
    cut -d, -f3,6)" "at,n${nl}1I,0${nl}1E,0"

### two numbers in a cell
# two NAME HEADING CELL... : the lash of a valve a cell
two() {
    two_name=$1 two_head=$2
    shift 2
    { echo "Engine,Date,Valve,$two_head"; n=0
      for cell; do n=$((n + 1)); echo "HC-1,2025-03-02,${n}I,$cell"; done; } >two.csv
    run "$tidy" --draft two.csv
    is "$two_name: drafted" "$status $err" '0 '
    printf '%s\n' "$out" >recipe
}
two 'blades' 'Go/no-go mm' 0.25/0.30 0.30/0.35
ok 'blades that the heading names' grep -q '^Go/no-go mm,lash,mm,,found,go/no-go,,.*; two blades' recipe
two 'perhaps blades' 'Lash mm' 0.25/0.30 0.30/0.35
why 'perhaps blades: said' 'Lash mm,lash,mm,,found,go/no-go' \
    'CHECK: two numbers in each cell are taken for two blades; what was found and left needs'
two 'no blades' 'Lash mm' 0.25/0.30 0.35/0.30 0.30/- 0.30
why 'no blades: said' 'Lash mm,lash,mm,,found,,' 'CHECK: 3 of 4 cells hold two numbers and will be refused'
two 'an arrow' 'Lash mm' '0.25 -> 0.30' '0.35→0.30' 0.30
why 'an arrow: found and left' 'Lash mm,lash,mm,,,found/left,' 'found and left in one cell'
two 'before and after' 'Lash mm before/after' 0.25/0.30 0.28/0.30 0.30
why 'found and left by the heading' 'Lash mm before/after,lash,.*,,,found/left,' 'found and left in one cell'
sheet 'before and after' two.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.25,0.3,mm,,,,,,two.csv,2
HC-1,2025-03-02,,,lash,2I,0.28,0.3,mm,,,,,,two.csv,3
HC-1,2025-03-02,,,lash,3I,0.3,,mm,,,,,,two.csv,4'

### words among numbers, banks beside cylinders
two 'words among numbers' 'Lash mm' 0.25 ok '>0.60' 2025-03-02
why 'words among numbers: said' Lash \
    "CHECK: 2 of 4 cells, as 'ok', are no numbers and will be refused, unless the recipe teaches"
printf '%s\n' 'Engine,Date,Cyl,Intake hot mm,EX mm,Temp C' HC-1,2025-03-02,1,0.3,0.5,60 HC-1,2025-03-02,2,0.3,0.5,hot >hot.csv
run "$tidy" --draft hot.csv
printf '%s\n' "$out" >recipe
why 'words for a temperature: said' 'Temp C,temp' "CHECK: 1 of 2 cells, as 'hot', are no numbers and their rows"
ok 'hot lash beside a temperature: not doubted' sh -c '! grep -q "CHECK: read hot" recipe'
for word in hot warm HEISS Heiß; do
    printf '%s\n' "Engine,Date,Cyl,Intake $word mm,EX mm" HC-1,2025-03-02,1,0.3,0.5 >hot.csv
    run "$tidy" --draft hot.csv
    printf '%s\n' "$out" >recipe
    why "lash that was read $word: doubted" "Intake $word mm,lash,mm,I,found" 'CHECK: read hot, and nothing says how hot'
done
is 'the cold one is not' "$(grep -c 'read hot' recipe)" 1
# banks CELLS...: bank and cylinder
banks() { { echo Engine,Date,Bank,Cyl,IN mm; printf 'HC-1,2025-03-02,%s,0.2\n' "$@"; } >bank.csv
    run "$tidy" --draft bank.csv
    printf '%s\n' "$out" >recipe; }
banks A,1 ,2 B,1 ,2
why 'cylinders that count from 1 in each bank' Bank,bank, 'NEEDED: cylinders count from 1'
why 'a merged bank' ,merged,,,,,bank, CHECK
banks A,1 A,2 B,3 B,4
why 'cylinders that count through' Bank,ignore, 'no cylinder is named in two banks'

### a meter whose decimals may be thousands
printf 'Engine,Date,Odometer km,Valve,Lash mm\nT-1,2025-03-02,120.500,1I,0.15\nT-1,2025-06-02,98,1I,0.15\n' >km.csv
run "$tidy" --draft km.csv
printf '%s\n' "$out" >recipe
why 'three decimals throughout: doubted' Odometer "CHECK: every mark stands before three digits; '120.500'"
printf 'Engine;Date;Hours;Valve;Lash mm\nT-1;2025-03-02;1,234;1I;0,15\n' >km.csv
run "$tidy" --draft km.csv
printf '%s\n' "$out" >recipe
why 'with a decimal comma' Hours "CHECK: every mark stands before three digits; '1,234'"
for km in 1234.500 120.5 0.500 120500; do
    printf 'Engine,Date,Odometer km,Valve,Lash mm\nT-1,2025-03-02,%s,1I,0.15\n' $km >km.csv
    run "$tidy" --draft km.csv
    printf '%s\n' "$out" >recipe
    ok "no doubt of $km" sh -c '! grep -q "three digits" recipe'
done
printf 'Engine,Date,Odometer km,Valve,Lash mm\nT-1,2025-03-02,1.500,1I,0.15\nT-1,2025-03-03,1.75,1I,0.15\n' >km.csv
run "$tidy" --draft km.csv
printf '%s\n' "$out" >recipe
ok 'no doubt where other decimals stand beside' sh -c '! grep -q "three digits" recipe'

### dates as spreadsheets and tablets write them
# day NAME ORDER READ DATE...: the order that is drafted, and what valve-tidy reads then
day() {
    day_name=$1 day_order=$2 day_want=$3
    shift 3
    { echo 'Engine;Date;Valve;Lash mm'; for day in "$@"; do echo "HC-1;$day;1I;0.15"; done; } >day.csv
    run "$tidy" --draft day.csv
    printf '%s\n' "$out" >recipe
    run "$tidy" --recipe recipe day.csv
    is "$day_name" "$(grep '^Date' recipe | cut -d, -f 6- | sed 's/,,heading.*//; s/\"//g') $status $(
        printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f 2 | tr '\n' ' ')" "$day_order $day_want "
}
day 'an American afternoon' M/D/Y '0 2025-03-14T07:30 2025-03-14T15:15 2025-03-14T12:15' \
    '3/14/2025 7:30 AM' '3/14/2025 3:15 PM' '3/14/2025 12:15:59 PM'
day 'a comma before the time' D/M/Y '0 2025-03-14T07:30' '14/03/2025, 07:30:00'
day 'English months' D-M-y '0 2025-03-02 2025-10-14' 02-Mar-25 14-Oct-25
day 'German months' 'D. M Y' '0 2025-03-02 2025-06-01' '2. März 2025' '1. Juni 2025'
day 'French months' 'D M Y' '0 2025-08-02 2025-12-01' '2 août 2025' '1 déc. 2025'
day 'the month in front' 'M D, Y' '0 2025-07-04' 'July 4, 2025'
day 'a serial day with its time' serial '0 2025-03-02 2025-06-01T12:00' 45718 45809.5
day 'a point behind each part' 'Y. M. D.' '0 2025-03-02' '2025. 03. 02.'
printf 'Engine,Date,Valve,Lash mm\nHC-1,2025-03-02T23:30:00Z,1I,0.15\nHC-1,2025-03-02 23:30+02:00,1E,0.15\n' >day.csv
printf 'column,means,unit,at,state,format,value\nEngine,engine\nDate,date\nValve,valve\nLash mm,lash\n' >r
run "$tidy" --recipe r day.csv
is 'a zone: what to do' "$status $err" "1 valve-tidy: day.csv:2: column 'Date': dates have no zone: write the time of the place, without it, for '2025-03-02T23:30:00Z'
valve-tidy: day.csv:3: column 'Date': dates have no zone: write the time of the place, without it, for '2025-03-02 23:30+02:00'"

### the lift at which events were read
# lift NAME HEADINGS CELLS LIFT READINGS: the lift that is stated, and what valve-tidy reads then
lift() {
    printf 'Engine,Date,Cyl,%s\nHC-1,2025-03-02,1,%s\n' "$2" "$3" >lift.csv
    run "$tidy" --draft lift.csv
    printf '%s\n' "$out" >recipe
    run "$tidy" --recipe recipe lift.csv
    is "$1" "$(grep '^,checking_lift' recipe | cut -d, -f 7) $status $err$(
        printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f 5-7 | tr '\n' ' ')" "$4 0 $5 "
}
lift 'behind an at' 'IVO @ 1 mm,IVC @ 1 mm' '12 BTDC,40 ABDC' '1 mm' \
    'opens,1I,-12 closes,1I,220 checking_lift,1,1'
lift 'in thousandths of an inch' 'IVO (.050 in) BTDC,EVO .050 in BBDC' '2,38' '.050 in' \
    'opens,1I,-2 opens,1E,-218 checking_lift,1,1.27'
lift 'beside the unit' 'IVO @ 0.5 mm [cam deg BTDC]' 6 '0.5 mm' \
    'opens,1I,-12 checking_lift,1,0.5'
lift 'degrees of the cam' 'IVO cam deg BTDC,IVC [cam deg ABDC]' 6,20 '' 'opens,1I,-12 closes,1I,220'
lift 'the third inlet valve is no lift' 'Opens 3 IN BTDC' 12 '' 'opens,1I3,-12'
lift 'a lash is none' 'Lash 1I 0.1,IVO BTDC' '0.2 mm,12' '' 'lash,1I,0.2 opens,1I,-12'
lift 'a column of it' 'IVO @ 1 mm BTDC,Check lift mm' '12,1.2' '' 'opens,1I,-12 checking_lift,1,1.2'
lift 'not for all' 'IVO @ 1 mm BTDC,IVC ABDC' '12,40' '' 'opens,1I,-12 closes,1I,220'
why 'it is told' 'IVO @ 1 mm BTDC' 'CHECK THE LIFT: the heading names 1 mm, which nothing states'
lift 'another decimal mark' 'IVO @ 1.5 mm BTDC,Lash I' '"12,5","0,2 mm"' '' 'opens,1I,-12.5 lash,1I,0.2'
why 'that is told too' 'IVO @ 1.5 mm BTDC' 'CHECK THE LIFT: the heading names 1.5 mm'

done_testing
