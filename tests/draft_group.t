#!/bin/sh
# Headings of two rows, the upper one merged over several columns: what the draft makes of them.
. tests/tap.sh
. tests/draft.sh
cd "$work" || exit 1

cat >sides.csv <<'END'
Motor;HC-1;;;;;;;
;;;Einlass;;;;Auslass;;;
Datum;Std;Zyl;1 vor;1 nach;2 vor;2 nach;vor;nach;Temp °C;Wer
19.04.2026;25,6;1;0,22;;0,21;0,25;0,28;0,34;17;mk
;;2;0,20;;0,19;;0,33;;;
END
sed -i '1s/$/;;/' sides.csv
sheet 'sides above valves of a cylinder' sides.csv 'status 0
HC-1,2026-04-19,25.6,h,lash,1I1,0.22,,mm,,17,,mk,,sides.csv,4
HC-1,2026-04-19,25.6,h,lash,1I2,0.21,0.25,mm,,17,,mk,,sides.csv,4
HC-1,2026-04-19,25.6,h,lash,1E,0.28,0.34,mm,,17,,mk,,sides.csv,4
HC-1,2026-04-19,25.6,h,lash,2I1,0.2,,mm,,17,,mk,,sides.csv,5
HC-1,2026-04-19,25.6,h,lash,2I2,0.19,,mm,,17,,mk,,sides.csv,5
HC-1,2026-04-19,25.6,h,lash,2E,0.33,,mm,,17,,mk,,sides.csv,5'
why 'what stands just below' '1 vor' "below 'Einlass'"
why 'what may stand below' '2 vor' "CHECK: taken to stand below 'Einlass' too"
why 'a temperature stands below nothing' Temp "temp,Cel,.*heading word 'temp'"

cat >blades.csv <<'END'
,,,INLET,,EXHAUST,
Date,Cyl,Vlv,Go,NoGo,Go,NoGo
2026-03-07,1,1,7,8,11,12
2026-03-07,1,2,7,8,10,11
END
sheet 'blades, and a digit for the valve' blades.csv 'status 0
HC-1,2026-03-07,,,lash,1I1,0.1905,,mm,0.00733235,,,,,blades.csv,3
HC-1,2026-03-07,,,lash,1E1,0.2921,,mm,0.00733235,,,,,blades.csv,3
HC-1,2026-03-07,,,lash,1I2,0.1905,,mm,0.00733235,,,,,blades.csv,4
HC-1,2026-03-07,,,lash,1E2,0.2667,,mm,0.00733235,,,,,blades.csv,4' --set engine=HC-1

cat >states.csv <<'END'
,,As found,,As left,
Date,Cyl,IN [mm],EX [mm],IN [mm],EX [mm]
2026-03-07,1,0.18,0.28,0.20,0.30
END
sheet 'states above sides' states.csv 'status 0
HC-1,2026-03-07,,,lash,1I,0.18,0.2,mm,,,,,,states.csv,3
HC-1,2026-03-07,,,lash,1E,0.28,0.3,mm,,,,,,states.csv,3' --set engine=HC-1

cat >cyls.csv <<'END'
,,Cyl 1,,Cyl 2,
Engine,Date,IN,EX,IN,EX
HC-1,2026-03-07,0.18,0.28,0.20,0.30
END
sheet 'cylinders above sides' cyls.csv 'status 0
HC-1,2026-03-07,,,lash,1I,0.18,,mm,,,,,,cyls.csv,3
HC-1,2026-03-07,,,lash,1E,0.28,,mm,,,,,,cyls.csv,3
HC-1,2026-03-07,,,lash,2I,0.2,,mm,,,,,,cyls.csv,3
HC-1,2026-03-07,,,lash,2E,0.3,,mm,,,,,,cyls.csv,3'

# A limit, a remark and a side that the heading has itself are not what a column stands below.
cat >none.csv <<'END'
,,Inlet,,Inlet 0.20 limit,cold,
Engine,Date,IN 1,EX 1,IN 2,EX 2,Remarks
HC-1,2026-03-07,0.18,0.28,0.20,0.30,x
END
sheet 'no groups' none.csv 'status 0
HC-1,2026-03-07,,,lash,1I,0.18,,mm,,,,,x,none.csv,3
HC-1,2026-03-07,,,lash,1E,0.28,,mm,,,,,x,none.csv,3
HC-1,2026-03-07,,,lash,2I,0.2,,mm,,,,,x,none.csv,3
HC-1,2026-03-07,,,lash,2E,0.3,,mm,,,,,x,none.csv,3'
is 'nothing is said of one' "$(grep -c below recipe)" 0
done_testing
