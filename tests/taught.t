#!/bin/sh
# Words of the shop in cells, and cylinders that count from 1 in each bank.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1

# recipe ROW...
recipe() {
    echo 'column,means,unit,at,state,format,value' >r
    printf '%s\n' "$@" ",engine,,,,,G-8" ",date,,,,,2026-03-01" >>r
}
# taught NAME STATUS READINGS ERR: place, found, left, u and temperature of the readings
taught() {
    run "$tidy" --recipe r x.csv
    is "$1" "$status$nl$(sed '1d; /,,,,end,/d' .out | cut -d, -f 6-8,10-11)$nl$err" \
        "$2$nl$3$nl$4"
}

### readings: "ok" is no number, or lies between two blades, u = 0.1 / sqrt(12)
recipe 'Cyl,cylinder' 'In,lash,mm,I' 'In,lash,,,,,ok' 'In,lash,,,,,✓' 'Ex,lash,mm,E' \
    'Ex,lash,,,,0.55/0.65,All OK' 'Temp,temp,Cel' 'Temp,temp,,,,80 Cel,warm' \
    'Temp,temp,,,,,not taken'
printf '%s\n' Cyl,In,Ex,Temp 1,ok,0.60,20 '2,0.40,all  ok,warm' '3,✓, All ok ,not taken' \
    4,0.4,fine,20 >x.csv
taught 'words for readings and temperatures' 1 '1E,0.6,,,20
2I,0.4,,,80
2E,0.6,,0.0288675,80
3E,0.6,,0.0288675,
4I,0.4,,,20' "valve-tidy: x.csv:5: column 'Ex': bad number 'fine'"

recipe 'Lash,lash,mm' 'Lash,lash,,,,0.20,as set' ',order,,,,,1I 1E 2I'
printf '%s\n' Lash 0.18 'as set' 0.22 >x.csv
taught 'in a column of bare numbers' 0 '1I,0.18,,,
1E,0.2,,,
2I,0.22,,,' ''

### parts of valves
recipe 'Cyl,cylinder' 'Which,valve' 'Which,valve,,E1,,,exh front' 'Which,valve,,E2,,,exh rear' \
    'Cyl,cylinder,,5,,,B1' 'Lash,lash,mm'
printf '%s\n' Cyl,Which,Lash 'B1,exh front,0.5' 'b1,Exh Rear,0.6' '2,exh front,0.4' 2,I1,0.3 >x.csv
taught 'words for cylinders and valves' 0 '5E1,0.5,,,
5E2,0.6,,,
2E1,0.4,,,
2I1,0.3,,,' ''
recipe '#1,cylinder' '#2,side' '#2,side,,E,,,A' '#2,side,,I,,,E' '#3,lash,mm' ',heading,,,,,no'
printf '%s\n' 3,A,0.5 3,E,0.3 >x.csv
taught 'Auslass and Einlass, in columns by number' 0 '3E,0.5,,,
3I,0.3,,,' ''

recipe 'Cyl,cylinder' 'Lash,lash,mm,I' 'Cyl,cylinder,,3,,,1' 'Cyl,cylinder,,2,,,2' 'Cyl,cylinder,,1,,,3'
printf '%s\n' Cyl,Lash 1,0.1 2,0.2 3,0.3 >x.csv
taught 'cylinders counted from the other end' 0 '3I,0.1,,,
2I,0.2,,,
1I,0.3,,,' ''

# 0.25 and 0.35 are 0.1 apart: 0.1 / sqrt(12) is 0.0288675; an arrow says what was found and left
recipe 'Valve,valve' 'Lash,lash,mm,,,found/left' 'Lash,lash,,,,0.25/0.35,ok' 'Lash,lash,,,,0.2 -> 0.3,usual'
printf '%s\n' Valve,Lash 1I,ok 2I,0.20/0.30 3I,usual >x.csv
taught 'good between two blades, where cells say found and left' 0 '1I,0.3,,0.0288675,
2I,0.2,0.3,,
3I,0.2,0.3,,' ''

### banks: merged cells hand down what was written, and not what it stands for
recipe 'Bank,bank' 'Cyl,cylinder' 'Side,side' 'Lash,lash,mm' ',merged,,,,,bank cylinder' \
    'Cyl,cylinder,,1,,,A 1' 'Cyl,cylinder,,5,,,B 1' 'Cyl,cylinder,,9,,,B 5'
printf '%s\n' Bank,Cyl,Side,Lash A,1,I,0.1 ,,E,0.2 B,1,I,0.3 ,,E,0.4 -,7,E,0.5 C,1,E,0.6 >x.csv
taught 'banks' 1 '1I,0.1,,,
1E,0.2,,,
5I,0.3,,,
5E,0.4,,,
7E,0.5,,,' "valve-tidy: x.csv:7: column 'Cyl': the recipe has no word for 'C 1'"
sed -i '/merged/d' r
printf '%s\n' Bank,Cyl,Side,Lash ,1,I,0.1 B,,I,0.2 "B,$(printf %080d 1),I,0.3" >x.csv
taught 'no bank, no cylinder, a long one' 1 '' "valve-tidy: x.csv:2: column 'Bank': no bank, for '1'
valve-tidy: x.csv:3: no valve named
valve-tidy: x.csv:4: column 'Cyl': the recipe has no word for '$(printf %076d 0)...'"
recipe 'Valve,valve' 'Lash,lash,mm' ',bank,,,,,B' 'Valve,valve,,5E,,,B 1E'
printf '%s\n' Valve,Lash 1E,0.5 >x.csv
taught 'a bank that all are of' 0 '5E,0.5,,,' ''

### recipes that cannot be
recipe 'Lash,lash,mm,1E' ',bank,,,,,B'
printf '%s\n' Lash 0.5 >x.csv
taught 'a bank without a cylinder' 2 '' "valve-tidy: x.csv: a bank needs a column that says 'cylinder'"
recipe 'Lash,lash,mm,1E' 'Lahs,lash,,,,,ok'
taught 'a word of no column' 2 '' "valve-tidy: x.csv:1: the recipe names no column of the word 'ok'"
done_testing
