#!/bin/sh
# Exports nobody wrote a recipe for: draft one, run it unedited, compare the readings.
. tests/tap.sh
. tests/draft.sh
cd "$work" || exit 1

# fails NAME FILE MESSAGE: no recipe, status 2, one message
fails() {
    run "$tidy" --draft "$2"
    is "$1" "$status $out $err" "2  valve-tidy: $3"
}

### one row a valve
printf '\357\273\277' >long.csv
cat >>long.csv <<'END'
Engine,Date,Hours,Valve,Found (mm),Left (mm),Fitter,Remarks
HC-1,2025-03-02,412.5,1I,0.12,0.15,ab,"tight, again"
HC-1,2025-03-02,412.5,1E,0.22,,ab,
HC-1,2025-03-02,412.5,2 inlet,0.15,-,cd,
END
sheet 'long, byte order mark' long.csv 'status 0
HC-1,2025-03-02,412.5,h,lash,1I,0.12,0.15,mm,,,,ab,"tight, again",long.csv,2
HC-1,2025-03-02,412.5,h,lash,1E,0.22,,mm,,,,ab,,long.csv,3
HC-1,2025-03-02,412.5,h,lash,2I,0.15,,mm,,,,cd,,long.csv,4'

### preamble, semicolon, decimal comma, cp1252, totals
{
    printf 'Pr\374fblatt 7;;;;;;\nMotor:;D-07;;;;;\nBetriebsstunden;1.234,5;;;;;\n\n'
    printf 'Pr\374fdatum;Zyl.;EV vorher [mm];EV nachher [mm];AV vorher [mm];AV nachher [mm];'
    printf '\326ltemp. \260C\n'
    printf '12.03.2025;1;0,15;0,20;0,25;0,30;18\n'
    printf '12.03.2025;2;0,14;0,20;0,27;0,30;18,5\n'
    printf 'Summe;;0,29;0,40;0,52;0,60;\n'
    printf 'Mittelwert:;;0,145;0,20;0,26;0,30;\n'
} >blatt.csv
sheet 'German sheet' blatt.csv 'status 0
D-07,2025-03-12,1234.5,h,lash,1I,0.15,0.2,mm,,18,,,,blatt.csv,6
D-07,2025-03-12,1234.5,h,lash,1E,0.25,0.3,mm,,18,,,,blatt.csv,6
D-07,2025-03-12,1234.5,h,lash,2I,0.14,0.2,mm,,18.5,,,,blatt.csv,7
D-07,2025-03-12,1234.5,h,lash,2E,0.27,0.3,mm,,18.5,,,,blatt.csv,7'
why 'German sheet: encoding' ,encoding 'WINDOWS-1252,not UTF-8'
why 'German sheet: says where the engine is from' ,engine 'D-07,line 2 above the heading'

### UTF-16 without a mark, tab, found and left as rows, grouped kilometres
printf '%s\t%s\t%s\t%s\t%s\t%s\t%s\r\n' \
    'Truck no' Day km Zustand Cyl 'IN [thou]' 'EX [thou]' \
    D-07 13/03/2025 120,500 ist 1 6 10 \
    D-07 13/03/2025 120,500 soll 1 8 12 | iconv -f UTF-8 -t UTF-16LE >rows.txt
sheet 'UTF-16LE, tab, states as rows' rows.txt 'status 0
D-07,2025-03-13,120500,km,lash,1I,0.1524,,mm,,,,,,rows.txt,2
D-07,2025-03-13,120500,km,lash,1E,0.254,,mm,,,,,,rows.txt,2
D-07,2025-03-13,120500,km,lash,1I,,0.2032,mm,,,,,,rows.txt,3
D-07,2025-03-13,120500,km,lash,1E,,0.3048,mm,,,,,,rows.txt,3'
why 'states as rows: Soll is doubted' state UNCERTAIN
why 'states as rows: the group mark is doubted' ,group UNCERTAIN

### UTF-16 the other way round, pipes, apostrophes
printf '%s|%s|%s|%s|%s\n' Motor-Nr Datum Stunden Ventil 'Spiel mm' \
    HC-3 2025-01-09 "2'417.5" 1E 0.31 HC-3 2025-01-09 "2'417.5" 1I 0.19 |
    iconv -f UTF-8 -t UTF-16BE >pipe.txt
sheet 'UTF-16BE, pipe, apostrophe' pipe.txt 'status 0
HC-3,2025-01-09,2417.5,h,lash,1E,0.31,,mm,,,,,,pipe.txt,2
HC-3,2025-01-09,2417.5,h,lash,1I,0.19,,mm,,,,,,pipe.txt,3'

### bare numbers
printf '0,15\n0,22\n0,14\n0,20\n' >bare.txt
sheet 'bare numbers' bare.txt 'status 0
HC-4,2025-06-01,,,lash,1I,0.15,,mm,,,,,,bare.txt,1
HC-4,2025-06-01,,,lash,1E,0.22,,mm,,,,,,bare.txt,2
HC-4,2025-06-01,,,lash,2I,0.14,,mm,,,,,,bare.txt,3
HC-4,2025-06-01,,,lash,2E,0.2,,mm,,,,,,bare.txt,4' --set engine=HC-4 --set date=2025-06-01
why 'bare numbers: the order is to be checked' ,order 'CHECK.*--set engine=... --set date=...'
why 'bare numbers: the unit is to be checked' '#1' 'CHECK THE UNIT'
run "$tidy" --recipe recipe bare.txt
is 'bare numbers: refused without an engine' "$status $err" \
    "2 valve-tidy: bare.txt: neither a column nor a constant says 'engine'"

### one row a visit
cat >visit.csv <<'END'
Car,Date,Odo km,1I found [mm],1I left [mm],1E found [mm],1E left [mm],Ex 2 found [mm],C2 IN left (mm)
HC-5,2025-02-01,900,0.10,0.15,0.21,,0.24,0.16
HC-5,2025-03-01,1100,0.11,,0.22,0.25,,
END
sheet 'a column a valve' visit.csv 'status 0
HC-5,2025-02-01,900,km,lash,1I,0.1,0.15,mm,,,,,,visit.csv,2
HC-5,2025-02-01,900,km,lash,1E,0.21,,mm,,,,,,visit.csv,2
HC-5,2025-02-01,900,km,lash,2E,0.24,,mm,,,,,,visit.csv,2
HC-5,2025-02-01,900,km,lash,2I,,0.16,mm,,,,,,visit.csv,2
HC-5,2025-03-01,1100,km,lash,1I,0.11,,mm,,,,,,visit.csv,3
HC-5,2025-03-01,1100,km,lash,1E,0.22,0.25,mm,,,,,,visit.csv,3'

### several valves a side
cat >four.csv <<'END'
engine;date;cyl;IN1;IN2;EX1;EX2
HC-6;05.01.25;1;0,10 mm;0,11 mm;0,20 mm;0,21 mm
HC-6;05.01.25;2;0,12 mm;;0,22 mm;n/a
END
sheet 'four valves a cylinder, units in cells' four.csv 'status 0
HC-6,2025-01-05,,,lash,1I1,0.1,,mm,,,,,,four.csv,2
HC-6,2025-01-05,,,lash,1I2,0.11,,mm,,,,,,four.csv,2
HC-6,2025-01-05,,,lash,1E1,0.2,,mm,,,,,,four.csv,2
HC-6,2025-01-05,,,lash,1E2,0.21,,mm,,,,,,four.csv,2
HC-6,2025-01-05,,,lash,2I1,0.12,,mm,,,,,,four.csv,3
HC-6,2025-01-05,,,lash,2E1,0.22,,mm,,,,,,four.csv,3'

### units under the headings, date above them
cat >units.csv <<'END'
Date;12.03.2025;;;;
Engine no;Engine hours;Valve;before;after;Head temp
;[h];;[thou];[thou];[°F]
HC-7;88.5;1I;6;8;50
HC-7;88.5;1E;9.5;12;50
END
sheet 'units row' units.csv 'status 0
HC-7,2025-03-12,88.5,h,lash,1I,0.1524,0.2032,mm,,10,,,,units.csv,4
HC-7,2025-03-12,88.5,h,lash,1E,0.2413,0.3048,mm,,10,,,,units.csv,5'
why 'units row: said' ,units_row yes

### everything that can be said above the headings
cat >above.csv <<'END'
Lash sheet,
Engine: HC-16,
Date: 11/30/2025,
Unit: thou,
Mechanic: ij,
Hours: 77.5 h,
Oil temp °C: 21,
1I,1E
6,10
7,11
END
sheet 'constants' above.csv 'status 0
HC-16,2025-11-30,77.5,h,lash,1I,0.1524,,mm,,21,,ij,,above.csv,9
HC-16,2025-11-30,77.5,h,lash,1E,0.254,,mm,,21,,ij,,above.csv,9
HC-16,2025-11-30,77.5,h,lash,1I,0.1778,,mm,,21,,ij,,above.csv,10
HC-16,2025-11-30,77.5,h,lash,1E,0.2794,,mm,,21,,ij,,above.csv,10'
printf 'Unit: thou,,,\nEngine,Date,1I mm,1E mm\nHC-16,2025-11-30,0.1,0.2\n' >above2.csv
sheet 'a unit above that contradicts a heading' above2.csv 'status 0
HC-16,2025-11-30,,,lash,1I,0.1,,mm,,,,,,above2.csv,3
HC-16,2025-11-30,,,lash,1E,0.2,,mm,,,,,,above2.csv,3'

### inch and mm side by side
cat >twice.csv <<'END'
Engine,Date,Valve,found in,found mm,left in,left mm
HC-8,2025-04-01,1I,0.006,0.16,0.008,0.20
HC-8,2025-04-01,1E,0.010,0.25,,
END
sheet 'inch and mm' twice.csv 'status 0
HC-8,2025-04-01,,,lash,1I,0.16,0.2,mm,,,,,,twice.csv,2
HC-8,2025-04-01,,,lash,1E,0.25,,mm,,,,,,twice.csv,3'

### blades
cat >blades.csv <<'END'
Unit,Date,Cyl,Side,Go [mm],No-go [mm],Gauge
D-02,2025-04-02,1,In,0.15,0.20,F1
D-02,2025-04-02,1,Ex,0.25,0.30,F1
END
sheet 'go and no-go' blades.csv 'status 0
D-02,2025-04-02,,,lash,1I,0.175,,mm,0.0144338,,F1,,,blades.csv,2
D-02,2025-04-02,,,lash,1E,0.275,,mm,0.0144338,,F1,,,blades.csv,3'

cat >half.csv <<'END'
Engine,Truck,Date,Valve,Go mm,Lash mm,Gap mm
HC-8,D-08,2025-04-02,1I,0.15,0.17,0.19
END
sheet 'half a pair, a value twice, two engines' half.csv 'status 0
HC-8,2025-04-02,,,lash,1I,0.17,,mm,,,,,,half.csv,2'
why 'half a pair: said' 'Go mm' 'ignore.*one half'
why 'a value twice: said' 'Gap mm' 'ignore.*SECOND COLUMN'
why 'two engines: said' Truck "ignore.*column 'Engine' is taken"

### angles
cat >angle.csv <<'END'
Motor,Datum,IVO,inlet closes,EO,Ex closes,Monteur
HC-9,2025-05-01,12 BTDC,45 ABDC,50 BBDC,8 ATDC,ef
END
sheet 'angles' angle.csv 'status 0
HC-9,2025-05-01,,,opens,1I,-12,,deg,,,,ef,,angle.csv,2
HC-9,2025-05-01,,,closes,1I,225,,deg,,,,ef,,angle.csv,2
HC-9,2025-05-01,,,opens,1E,-230,,deg,,,,ef,,angle.csv,2
HC-9,2025-05-01,,,closes,1E,8,,deg,,,,ef,,angle.csv,2'
why 'angles: the cylinder is doubted' IVO 'opens,,1I,found.*UNCERTAIN: no cylinder'
cat >lift.csv <<'END'
Motor,Datum,Cyl,IVO,IVC,Checking lift (thou)
HC-9,2025-05-01,2,12 BTDC,45 ABDC,50
END
sheet 'checking lift' lift.csv 'status 0
HC-9,2025-05-01,,,opens,2I,-12,,deg,,,,,,lift.csv,2
HC-9,2025-05-01,,,closes,2I,225,,deg,,,,,,lift.csv,2
HC-9,2025-05-01,,,checking_lift,2,1.27,,mm,,,,,,lift.csv,2'
cat >btdc.csv <<'END'
Engine,Date,Cyl,IVO [deg] BTDC,IN lash mm
HC-9,2025-05-01,2,12,0.2
END
sheet 'angles below a dead centre' btdc.csv 'status 0
HC-9,2025-05-01,,,opens,2I,-12,,deg,,,,,,btdc.csv,2
HC-9,2025-05-01,,,lash,2I,0.2,,mm,,,,,,btdc.csv,2'
why 'angles: who says so' IVO 'opens.*heading says the dead centre'
cat >btdc.csv <<'END'
Engine,Date,Cyl,Stop before,Stop after,IVO (- BTDC),EVO BBDC,IVC,IN lash mm
HC-9,2025-05-01,2,31,30,-12,-50,45,0.2
END
sheet 'angles that would be read with the wrong sign are left out' btdc.csv 'status 0
HC-9,2025-05-01,,,stop_before,2,31,,deg,,,,,,btdc.csv,2
HC-9,2025-05-01,,,stop_after,2,30,,deg,,,,,,btdc.csv,2
HC-9,2025-05-01,,,lash,2I,0.2,,mm,,,,,,btdc.csv,2'
why 'angles: left out loudly' IVO 'ignore.*CHECK'
why 'angles: a minus before a dead centre' EVO 'ignore.*CHECK'
why 'angles: small for the inlet closing' IVC 'ignore.*CHECK'
why 'angles: a stop before TDC without a minus' 'Stop before' 'stop_before.*CHECK: no number is below 0'

### month first, fahrenheit, miles
cat >us.csv <<'END'
Vehicle,Day,Miles,Cylinder,Intake (thou),Exhaust (thou),Oil temp F,Spec in
HC-10,3/4/2025,"1,000",1,5,9,68,0.008
HC-10,3/28/2025,"1,250",1,6,10,68,0.008
END
sheet 'month first' us.csv 'status 0
HC-10,2025-03-04,1609.344,km,lash,1I,0.127,,mm,,20,,,,us.csv,2
HC-10,2025-03-04,1609.344,km,lash,1E,0.2286,,mm,,20,,,,us.csv,2
HC-10,2025-03-28,2011.68,km,lash,1I,0.1524,,mm,,20,,,,us.csv,3
HC-10,2025-03-28,2011.68,km,lash,1E,0.254,,mm,,20,,,,us.csv,3'
why 'month first: a limit is no reading' Spec ignore

### 03/04/2025
cat >doubt.csv <<'END'
Engine,Date,Valve,Lash mm
HC-11,03/04/2025,1I,0.2
END
sheet 'either day or month first' doubt.csv 'status 0
HC-11,2025-04-03,,,lash,1I,0.2,,mm,,,,,,doubt.csv,2'
why 'either day or month first: said' Date "D/M/Y,.*UNCERTAIN: '03/04/2025' fits D/M/Y and M/D/Y"
cat >order.csv <<'END'
Engine,Date,Valve,Lash mm
HC-11,03/12/2024,1I,0.2
HC-11,04/02/2024,1I,0.1
HC-11,05/01/2024,1I,0.1
END
sheet 'the order of visits tells' order.csv 'status 0
HC-11,2024-03-12,,,lash,1I,0.2,,mm,,,,,,order.csv,2
HC-11,2024-04-02,,,lash,1I,0.1,,mm,,,,,,order.csv,3
HC-11,2024-05-01,,,lash,1I,0.1,,mm,,,,,,order.csv,4'

### a column nobody understands; no unit anywhere; no state
cat >odd.csv <<'END'
Genset,Datum,Std,Ventil,Spiel,Farbe,XQ7,u mm
D-12,20250611,310,1I,0.0060,rot,0.44,0.003
D-12,20250611,310,1E,0.0100,rot,0.46,
END
sheet 'odd columns' odd.csv 'status 0
D-12,2025-06-11,310,h,lash,1I,0.1524,,mm,0.003,,,,,odd.csv,2
D-12,2025-06-11,310,h,lash,1E,0.254,,mm,,,,,,odd.csv,3'
why 'odd columns: words' Farbe 'ignore.*CHECK: not understood'
why 'odd columns: numbers' XQ7 'ignore.*MIGHT BE READINGS'
why 'odd columns: a unit guessed from size' Spiel '\[in_i\].*CHECK THE UNIT'

### headings that are shared, blank, or stand far down
{
    i=0
    while [ $i -lt 70 ]; do
        echo "log $i,,,,,,"
        i=$((i + 1))
    done
    echo 'Engine,Date,Valve,Lash mm,Note,Note,'
    echo 'HC-13,2025-07-01,1I,0.2,first,second,'
    echo 'Engine,Date,Valve,Lash mm,Note,Note,'
    echo 'HC-13,2025-07-02,1I,0.3,,,'
} >deep.csv
sheet 'heading far down' deep.csv 'status 0
HC-13,2025-07-01,,,lash,1I,0.2,,mm,,,,,first,deep.csv,72
HC-13,2025-07-02,,,lash,1I,0.3,,mm,,,,,,deep.csv,74'
why 'heading far down: lines are skipped' ,skip ',70,'
cat >near.csv <<'END'
Engine,Date,Valve,Lash mm
HC-13,2025-07-01,1I,0.2
END
"$tidy" --draft near.csv >recipe
is 'no skip where none is needed' "$(grep -c ',skip' recipe)" 0

### several quantities, serial dates, a heading in two lines
cat >many.csv <<'END'
engine,date,at,quantity,found,left,unit,u (um),"by
whom"
HC-14,45658,1I,lash,0.006,0.008,in,5,gh
HC-14,45658,2E,shim,2.85,2.90,mm,5,gh
END
sheet 'several quantities' many.csv 'status 0
HC-14,2025-01-01,,,lash,1I,0.1524,0.2032,mm,0.005,,,gh,,many.csv,3
HC-14,2025-01-01,,,shim,2E,2.85,2.9,mm,0.005,,,gh,,many.csv,4'
why 'several quantities: the unit of u is its own' 'u (um)' 'u,.*heading says the unit'

### a row for each side; several valves a side with found and left
cat >side.csv <<'END'
Engine;Date;In/Ex;Cyl 1;Cyl 2
HC-18;2025-08-02;IN;0.15;0.16
HC-18;2025-08-02;EX;0.25;0.26
END
sheet 'a row for each side' side.csv 'status 0
HC-18,2025-08-02,,,lash,1I,0.15,,mm,,,,,,side.csv,2
HC-18,2025-08-02,,,lash,2I,0.16,,mm,,,,,,side.csv,2
HC-18,2025-08-02,,,lash,1E,0.25,,mm,,,,,,side.csv,3
HC-18,2025-08-02,,,lash,2E,0.26,,mm,,,,,,side.csv,3'
cat >words.csv <<'END'
Engine serial,Date of visit,Engine hours,Cyl 1 Inlet 2 as found (mm),Cyl 1 Inlet 2 as left (mm),Set by
HC-18,2025-03-02 08:30,412.5,0.12,0.15,kl
END
sheet 'long headings' words.csv 'status 0
HC-18,2025-03-02T08:30,412.5,h,lash,1I2,0.12,0.15,mm,,,,kl,,words.csv,2'

### no heading at all; no heading that speaks of a reading
printf 'HC-17\t2025-08-01\t1I\t0.15\nHC-17\t2025-08-01\t1E\t0.25\n' >nohead.txt
sheet 'no heading' nohead.txt 'status 0
HC-17,2025-08-01,,,lash,1I,0.15,,mm,,,,,,nohead.txt,1
HC-17,2025-08-01,,,lash,1E,0.25,,mm,,,,,,nohead.txt,2'
why 'no heading: doubted' '#1' 'engine.*UNCERTAIN'
printf 'Engine,Date,Valve,Round 1 mm,Round 2 mm\nHC-17,2025-08-01,1I,0.15,0.16\n' >round.csv
sheet 'unknown words over lengths' round.csv 'status 0
HC-17,2025-08-01,,,lash,1I,0.15,,mm,,,,,,round.csv,2'
why 'unknown words over lengths: doubted' 'Round 1' 'lash.*UNCERTAIN'
why 'unknown words over lengths: what is lost is said' 'Round 2' 'ignore.*MIGHT BE READINGS'

### E and A in cells are not what valve-tidy takes them for
cat >einlass.csv <<'END'
Motor;Datum;Zyl;Seite;Spiel mm
HC-15;01.02.2025;1;E;0,15
HC-15;01.02.2025;1;A;0,25
END
"$tidy" --draft einlass.csv >recipe
run "$tidy" --recipe recipe einlass.csv
is 'Einlass is not read as exhaust' "$status $(printf '%s\n' "$out" | sed '1d;$d')" '1 '
why 'Einlass is not read as exhaust: said' Seite 'ignore.*CHECK: A beside E'

### standard input, gzip
"$tidy" --draft near.csv >recipe
run "$tidy" --draft - <near.csv
is 'standard input' "$status $err$out" "0 $(cat recipe)"

gzip -c near.csv >near.csv.gz
sheet 'gzip' near.csv.gz 'status 0
HC-13,2025-07-01,,,lash,1I,0.2,,mm,,,,,,near.csv.gz,2'

### longer than what is looked at, which then ends in the middle of a date
awk 'BEGIN {
    printf "%-506s\n", "Date,Engine,Valve,Lash mm,Note"
    for (i = 0; i < 600; i++)
        printf "%-511s\n", "2025-03-02,HC-19,1I,0.2,x"
}' >big.csv
run "$tidy" --draft big.csv
is 'big file: draft' "$status $err" '0 '
printf '%s\n' "$out" >recipe
why 'big file: the cut record does not count' Date 'all 511 dates fit'
run "$tidy" --recipe recipe big.csv
is 'big file: readings' "$status $(printf '%s\n' "$out" | grep -c ,lash,1I,0.2,)" '0 600'

### twice the same bytes
"$tidy" --draft blatt.csv >one
"$tidy" --draft blatt.csv >two
ok 'deterministic' cmp one two

### what is no table
: >empty.csv
fails 'empty file' empty.csv 'empty.csv: empty'
printf 'MZ\220\000\003\000\000\000\377\376\000\001\002\n\000\000\212\n\033\007"\n' >junk.bin
fails 'binary file' junk.bin 'junk.bin: nothing in it looks like a table of readings'
printf 'The engine ran well.\nNothing, as ever, was measured.\n' >prose.txt
fails 'prose' prose.txt 'prose.txt: nothing in it looks like a table of readings'
fails 'missing file' none.csv 'none.csv: No such file or directory'
fails 'directory' . '.: Is a directory'
printf 'Engine,Date,Note\nHC-1,2025-01-01,fine\n' >none.txt
fails 'no readings' none.txt 'none.txt: nothing in it looks like a table of readings'

### cut anywhere, it still ends in a recipe or in a message
bad=0
size=$(wc -c <blatt.csv)
while [ "$size" -gt 0 ]; do
    size=$((size - 7))
    for file in blatt.csv rows.txt; do
        head -c "$size" "$file" >cut.csv 2>/dev/null
        run "$tidy" --draft cut.csv
        [ "$status" -eq 0 ] || [ "$status" -eq 2 ] || bad=$((bad + 1))
    done
done
is 'cut files' $bad 0

done_testing
