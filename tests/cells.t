#!/bin/sh
# Cells of an export that valve-tidy cannot take as they stand: what is said of each, to the
# letter, and that the row goes to the rejects whole.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1
top='column,means,unit,at,state,format,value'
base='E,engine,,,,,
D,date,,,,,'

# cell NAME COLUMNS CELLS WANT: columns of a recipe as "heading,means,unit,at,state,format,value"
# separated by blanks, their cells, and what is said ("" for nothing) or the reading that comes
# of it (beginning with =): quantity, at, found, left, unit, u, temperature
cell() {
    printf '%s\n%s\n' "$top" "$base" >r
    heading=E,D
    for i in $2; do
        echo "$i" >>r
        case $i in ,*) ;; *) heading=$heading,${i%%,*} ;; esac
    done
    printf '%s\nHC-1,2026-03-01,%s\n' "$heading" "$3" >in.csv
    run "$tidy" --recipe r --rejects rejects.csv in.csv
    got=$(sed '1d;$d' .out | cut -d, -f5-11)
    [ -z "$got" ] || got="=$got"
    case $4 in
    =* | '') is "$1" "$status$err$got" "0$4" ;;
    *) is "$1" "$status $err$got $(sed 1d rejects.csv | grep -c -F "\"HC-1,2026-03-01,$3\"")" \
        "1 valve-tidy: in.csv:2: $4 1" ;;
    esac
}

lash='V,valve,,,,, L,lash,mm,,,,'
cell 'a number' "$lash" 1I,0.15 '=lash,1I,0.15,,mm,,'
cell 'letters at a number' "$lash" 1I,0.15x "column 'L': bad number '0.15x'"
cell 'a nought among letters' "$lash" '1I,0.1 m0' "column 'L': bad number '0.1 m0'"
cell 'two numbers' "$lash" '1I,0.1 9x' "column 'L': bad number '0.1 9x'"
cell 'a mark behind it' "$lash" '1I,0.1 .x' "column 'L': bad number '0.1 .x'"
cell 'a word behind it' "$lash" '1I,0.1 furlongs' "column 'L': unknown unit 'furlongs'"
cell 'a unit that does not fit' "$lash" '1I,0.1 bar' "column 'L': unit 'bar' does not fit here"
cell 'hundredths' 'V,valve,,,,, L,lash,1/100mm,,,,' 1I,29 '=lash,1I,0.29,,mm,,'
cell 'hundredths in the cell' "$lash" '1I,29 1/100 mm' '=lash,1I,0.29,,mm,,'
cell 'below zero' "$lash" 1I,-0.1 "column 'L': lash cannot be negative"
cell 'not credible' "$lash" 1I,99 "column 'L': 99 mm is no credible lash"
cell 'no unit' 'V,valve,,,,, U,unit,,,,, L,lash,,,,,' 1I,,0.15 "column 'L': no unit stated"
cell 'an unknown unit of the row' 'V,valve,,,,, U,unit,,,,, L,lash,,,,,' 1I,ell,0.15 \
    "column 'U': unknown unit 'ell'"
csi=$(printf '0.1\302\2332J') # U+009B begins what a terminal takes for a command
cell 'a control of two bytes' "$lash" "1I,$csi" "column 'L': bad number '0.1??2J'"
cell 'letters of the same first byte' "$lash" "1I,0.1 $(printf '\302\265\302\267x')" \
    "column 'L': unknown unit '$(printf '\302\265\302\267x')'"
printf '%s\n%s\nV,valve,,,,,\nL\302\233,lash,mm,,,,\n' "$top" "$base" >r
printf 'E,D,V,L\302\233\nHC-1,2026-03-01,1I,x\n' >in.csv
run "$tidy" --recipe r in.csv
is 'a control in a heading' "$err" "valve-tidy: in.csv:2: column 'L??': bad number 'x'"

### blades
blades='V,valve,,,,, G,lash,mm,,found,go, N,lash,mm,,found,no-go,'
cell 'blades' "$blades" 1I,0.15,0.20 '=lash,1I,0.175,,mm,0.0144338,'
cell 'blades, and a hand that is worse' "U,u,mm,,,, $blades" 0.02,1I,0.15,0.20 '=lash,1I,0.175,,mm,0.02,'
cell 'blades, and a hand that cannot be so good' "U,u,mm,,,, $blades" 0.01,1I,0.15,0.20 \
    '=lash,1I,0.175,,mm,0.0144338,'
cell 'a blade that is no number' "$blades" 1I,x,0.20 "column 'G': bad number 'x'"
cell 'the other one' "$blades" 1I,0.15,x "column 'N': bad number 'x'"
cell 'one blade' "$blades" 1I,0.15,- "column 'N': one half of a go/no-go pair is missing"
cell 'the other blade' "$blades" 1I,,0.20 "column 'G': one half of a go/no-go pair is missing"
cell 'neither' "$blades" 1I,, ''
cell 'blades the wrong way round' "$blades" 1I,0.20,0.15 \
    "column 'N': the no-go blade is not thicker than the one that goes"

blades='V,valve,,,,, B,lash,thou,,found,go/no-go,'
cell 'blades in one cell' "$blades" 1I,9/10 '=lash,1I,0.2413,,mm,0.00733235,'
cell 'with their unit' "$blades" '1I,0.15 / 0.20 mm' '=lash,1I,0.175,,mm,0.0144338,'
cell 'and one for each' "$blades" '1I,6 thou/0.20 mm' '=lash,1I,0.1762,,mm,0.0137409,'
torn='the two numbers do not say the same unit'
cell 'a unit behind the first alone' "$blades" '1I,0.25 mm/12' "column 'B': $torn: '0.25 mm/12'"
cell 'that of the column' "$blades" '1I,9 thou/10' '=lash,1I,0.2413,,mm,0.00733235,'
states='V,valve,,,,, L,lash,thou,,,found/left,'
cell 'found and left' "$states" '1I,0.45 -> 0.50 mm' '=lash,1I,0.45,0.5,mm,,'
cell 'found in a unit, and left in none' "$states" '1I,0.45 mm -> 18' \
    "column 'L': $torn or dead centre: '0.45 mm -> 18'=lash,1I,0.45,,mm,,"
cell 'found in a unit, and nothing left' "$states" '1I,0.45 mm' '=lash,1I,0.45,,mm,,'
cell 'found in a unit, and a dash' "$states" '1I,0.45 mm/-' '=lash,1I,0.45,,mm,,'
states='V,valve,,,,, O,opens,,,,found/left,'
cell 'two dead centres' "$states" '1I,12 BTDC/10 ATDC' '=opens,1I,-12,10,deg,,'
cell 'a dead centre behind the first alone' "$states" '1I,12 BTDC/10' \
    "column 'O': $torn or dead centre: '12 BTDC/10'=opens,1I,-12,,deg,,"
cell 'behind the second alone' "$states" '1I,12 deg/10 BTDC' \
    "column 'O': $torn or dead centre: '12 deg/10 BTDC'=opens,1I,,-10,deg,,"
cell 'one number of two' "$blades" 1I,9 "column 'B': no two blades, as in 0.25/0.30: '9'"
cell 'none of two' "$blades" 1I,- ''
cell 'the second is no number' "$blades" 1I,9/x "column 'B': bad number 'x'"
cell 'the second is missing' "$blades" 1I,9/ "column 'B': bad number ''"
cell 'the first is missing' "$blades" 1I,/9 "column 'B': bad number ''"
cell 'the wrong way round in one cell' "$blades" 1I,10/9 \
    "column 'B': the no-go blade is not thicker than the one that goes"
cell 'a blade below zero' "$blades" 1I,-1/3 "column 'B': a blade cannot be negative"
cell 'a blade of 1 m' "$blades" '1I,1/2 m' "column 'B': 1500 mm is no credible lash"

### given twice
twice='V,valve,,,,, L,lash,mm,,,, I,lash,in,,,,'
cell 'twice' "$twice" 1I,0.15,0.006 '=lash,1I,0.15,,mm,,'
cell 'twice, the second one alone' "$twice" 1I,,0.006 '=lash,1I,0.1524,,mm,,'
cell 'twice, the first one alone' "$twice" 1I,0.15, '=lash,1I,0.15,,mm,,'
cell 'twice, the first one wrong' "$twice" 1I,O.15,0.006 "column 'L': bad number 'O.15'"
cell 'twice, the second one wrong' "$twice" 1I,0.15,x "column 'I': bad number 'x'"
cell 'twice, and different' "$twice" 1I,0.15,0.009 \
    "column 'I': column 'L' says 0.15 mm, this one 0.2286 mm"
press='C,cylinder,,,,, B,compression,bar,,,, K,compression,kPa,,,,'
cell 'twice, and different, in its own unit' "$press" 1,12.0,1100 \
    "column 'K': column 'B' says 1200 kPa, this one 1100 kPa"
cell 'millimetres that may differ are none of a pressure' "$press ,agree,,,,,20" 1,12.00,1210 \
    "column 'K': column 'B' says 1200 kPa, this one 1210 kPa"

### angles
cell 'an angle' 'V,valve,,,,, O,opens,,,,,' '1I,12 BTDC' '=opens,1I,-12,,deg,,'
# events NAME HEADING UNIT CELL WANT QUANTITY: of 2E, or its cylinder, under a heading with blanks
events() {
    printf '%s\n%s\nV,valve,,,,,\n"%s",%s,%s,%s,,,\n' "$top" "$base" "$2" "$6" "$3" "$7" >r
    printf 'E,D,V,%s\nHC-1,2026-03-01,2E,%s\n' "$2" "$4" >in.csv
    run "$tidy" --recipe r in.csv
    is "$1" "$status$err$(sed '1d;$d' .out | cut -d, -f7)" "$5"
}
unclear="from which dead centre? (BTDC, ATDC, BBDC, ABDC as the recipe's unit say it)"
# refused NAME HEADING UNIT CELL
refused() {
    events "$1" "$2" "$3" "$4" "1valve-tidy: in.csv:2: column '$2': $unclear '$4'" opens
}
for i in 'L [1/100 mm]' 'L 1/100 mm' 'L 0.01 mm'; do
    printf '%s\n%s\nV,valve,,,,,\n"%s",lash,,,,,\n' "$top" "$base" "$i" >r
    printf 'E,D,V,%s\nHC-1,2026-03-01,2E,4\n' "$i" >in.csv
    run "$tidy" --recipe r in.csv
    is "a heading in hundredths: $i" "$status$err$(sed '1d;$d' .out | cut -d, -f7)" 00.04
done
# heading HEADING WANT: a lash of 4 below it
heading() {
    printf '%s\n%s\nV,valve,,,,,\n"%s",lash,,,,,\n' "$top" "$base" "$1" >r
    printf 'E,D,V,"%s"\nHC-1,2026-03-01,2E,4\n' "$1" >in.csv
    run "$tidy" --recipe r in.csv
    is "the unit of $1" "$status$(sed '1d;$d' .out | cut -d, -f7)" "$2"
}
for i in 'Found 0.1 mm' 'Found 0,1 mm' 'Found .1 mm' 'Found 1/10 mm' 'Found x10 mm' 'Found x 10 mm' \
    'Found x0.01 mm' 'Found *0.01 mm' "Found $(printf '\303\227')10 mm" 'Found 10^-2 mm' \
    'Found 0.02 (mm)' 'Lash (mm) x 100' 'Lash [mm] *100' 'Lash mm x100' 'Found tenths mm' \
    'Found tenths of a mm' 'Zehntel mm' 'Found thou/mm' 'Found mm/thou' 'Found 1/1000 (mm)' 'thousandths of inch'; do
    heading "$i" 1
done
# a number alone is that of a cylinder, a dash and a bar part other things; 4 thou are 0.1016 mm
for i in 'IN 1 mm' 'Exh 10 mm' 'EX 2.1 mm' 'found/mm' 'Max lash mm' 'IN/EX mm' 'x (mm)' 'Lash, 0 mm'; do
    heading "$i" 04
done
heading 'Found Hundertstel mm' 00.04
heading 'Found 1/1000 mm' 00.004
heading 'Found x 1/100 mm' 00.04
heading 'Found thousandths' 00.1016
events 'degrees of the cam in words' 'O cam deg' '' 6 012 opens
events 'and behind' 'O deg cam' '' 6 012 opens
events 'and of the crank' 'O crank degrees' '' 6 06 opens
events 'a dead centre in brackets' 'O (BTDC)' '' 12 0-12 opens
events 'and at the end' 'O deg BBDC' '' 50 0-230 opens
events 'in words' 'opens before BDC' '' 50 0-230 opens
events 'alone' ATDC '' 8 08 opens
events 'before the unit' 'O B.T.D.C. (deg)' '' 12 0-12 opens
events 'degrees of the cam' 'O [cam deg BTDC]' '' 6 0-12 opens
events 'a cell in degrees of the crank' O deg_cam '12 deg BTDC' 0-12 opens
events 'and without a dead centre' 'O [cam deg]' '' '12 deg' 012 opens
events 'a cell in degrees of the cam' 'O deg' '' '6 cam deg' 012 opens
events 'the crank by the recipe' 'O [cam deg BTDC]' 'deg BTDC' 12 0-12 opens
events 'no crank by the recipe alone' 'O [cam deg BTDC]' deg 12 \
    "2valve-tidy: in.csv:1: the recipe says deg (deg_cam? deg BTDC?), not so 'O [cam deg BTDC]'" opens
events 'the crank and a dead centre by the recipe' 'O [cam deg]' 'deg BTDC' 12 0-12 opens
events 'a cell that says another' 'O BTDC' '' '3 ATDC' 03 opens
events 'of the recipe' O BBDC 50 0-230 opens
events 'which is stronger' 'O BTDC' 'deg ATDC' -12 0-12 opens
events 'below 0 by the recipe' O BTDC -3 03 opens
events 'below 0 after one' 'O ATDC' '' -3 0-3 opens
events 'no dead centre' 'O from TDC' '' -3 0-3 opens
events 'a stop has its minus' 'S before TDC' '' -31 0-31 stop_before 2
# the row's own unit is stronger than a heading's
printf '%s\n%s\nV,valve,,,,,\nU,unit,,,,,\nO [cam deg BTDC],opens,,,,,\n' "$top" "$base" >r
printf 'E,D,V,U,O [cam deg BTDC]\nHC-1,2026-03-01,1I,deg,12\n' >in.csv
run "$tidy" --recipe r in.csv
is 'the crank by the row' "$status$err$(sed '1d;$d' .out | cut -d, -f7)" 0-12
printf 'E,D,V,U,O [cam deg BTDC]\nHC-1,2026-03-01,1I,mm,12\n' >in.csv
run "$tidy" --recipe r in.csv
is 'the cam, where the row says a unit of lengths' "$status$err$(sed '1d;$d' .out | cut -d, -f7)" 0-24
refused 'a minus before a dead centre' 'O BTDC' '' -12
refused 'a minus that may be a sign' 'O (- BTDC)' '' -12
refused 'or a dash' 'O - BTDC' '' 12
refused 'two of them' 'O BTDC/ATDC' '' 12
refused 'in the middle' 'O BBDC at lift' '' 12
refused 'bottom dead centre and no way from it' 'O from BDC' '' 12
cell 'no angle' 'V,valve,,,,, O,opens,,,,,' 1I,early "column 'O': bad angle 'early'"
cell 'an angle in mm' 'V,valve,,,,, O,opens,,,,, U,unit,,,,,' 1I,12,mm \
    "column 'O': unit 'mm' does not fit here"
cell 'an angle beside a unit of lengths' 'V,valve,,,,, O,opens,deg,,,, U,unit,,,,,' 1I,-12,mm '=opens,1I,-12,,deg,,'
cell 'one before a dead centre' 'V,valve,,,,, O,opens,BTDC,,,, U,unit,,,,,' 1I,12,thou '=opens,1I,-12,,deg,,'
cell 'and in degrees of the cam' 'V,valve,,,,, O,opens,deg,,,, U,unit,,,,,' 1I,-6,deg_cam '=opens,1I,-12,,deg,,'
cell 'a load in the unit of the row' 'V,valve,,,,, S,spring_load,N,,,, U,unit,,,,,' 1I,30,kgf \
    '=spring_load,1I,294.1995,,N,,'
cell 'and in its own' 'V,valve,,,,, S,spring_load,N,,,, U,unit,,,,,' 1I,30,mm '=spring_load,1I,30,,N,,'
cell 'a length in degrees' 'V,valve,,,,, L,lash,mm,,,, U,unit,,,,,' 1I,0.15,deg \
    "column 'L': unit 'deg' does not fit here"
cell 'more than a turn' 'V,valve,,,,, O,opens,,,,,' '1I,400' \
    "column 'O': angle outside -360..360: '400'"
cell 'bottom dead centre of no valve' 'S,stop_before,,1,,,' '12 BBDC' \
    "column 'S': bottom dead centre needs a valve's side: '12 BBDC'"

### meters, temperatures, uncertainties
meter="M,meter,,,,, N,meter_unit,,,,, $lash"
cell 'a meter' "$meter" 250,km,1I,0.15 '=lash,1I,0.15,,mm,,'
cell 'a meter of no number' "$meter" many,h,1I,0.15 "column 'M': bad number 'many'"
cell 'a meter of no unit' "$meter" 250,ell,1I,0.15 "column 'N': unknown unit 'ell'"
cell 'a meter without a unit' "$meter" 250,,1I,0.15 "column 'M': no unit stated"
cell 'a meter in mm' "$meter" 250,mm,1I,0.15 "column 'M': a meter runs in h or km, not in 'mm'"
cell 'a meter in its own unit' "$meter" '250 mi',h,1I,0.15 '=lash,1I,0.15,,mm,,'
cell 'a meter below zero' "$meter" -1,h,1I,0.15 "column 'M': a meter cannot be negative"
cell 'a meter beyond all numbers' "$meter" '99999999999999999 mi',h,1I,0.15 \
    "column 'M': number out of range '99999999999999999 mi'"
cell 'no meter' "$meter" ,,1I,0.15 '=lash,1I,0.15,,mm,,'
temp="T,temp,Cel,,,, $lash"
cell 'cold' "$temp" -20,1I,0.15 '=lash,1I,0.15,,mm,,-20'
cell 'colder than the world' "$temp" -61,1I,0.15 "column 'T': no credible temperature: '-61'"
cell 'hotter than a head' "$temp" 401,1I,0.15 "column 'T': no credible temperature: '401'"
cell 'no temperature' "$temp" warm,1I,0.15 "column 'T': bad number 'warm'"
u="U,u,mm,,,, $lash"
cell 'an uncertainty' "$u" 0.01,1I,0.15 '=lash,1I,0.15,,mm,0.01,'
cell 'an uncertainty in its own unit' "$u" '10 um',1I,0.15 '=lash,1I,0.15,,mm,0.01,'
cell 'an uncertainty stronger than the unit of the row' 'U,u,mm,,,, V,valve,,,,, L,lash,,,,, X,unit,,,,,' \
    0.01,1I,10,thou '=lash,1I,0.254,,mm,0.01,'
cell 'an uncertainty that is none' "$u" small,1I,0.15 "column 'U': bad number 'small'"
cell 'an uncertainty of nothing' "$u" 0,1I,0.15 "column 'U': an uncertainty is above zero, not '0'"
cell 'an uncertainty in an unknown unit' "$u" '1 ell',1I,0.15 "column 'U': unknown unit 'ell'"
cell 'an uncertainty of an angle' 'U,u,deg,,,, V,valve,,,,, O,opens,,,,,' '0.5,1I,12 BTDC' \
    '=opens,1I,-12,,deg,0.5,'

### places
cell 'a valve the recipe contradicts' 'V,valve,,,,, L,lash,mm,1I2,,,' 1I1,0.15 \
    'the row names another valve than the recipe'
cell 'and nothing in it' 'V,valve,,,,, L,lash,mm,1I2,,,' 1I1, ''
cell 'a valve that completes it' 'V,valve,,,,, L,lash,mm,I2,,,' 1,0.15 '=lash,1I2,0.15,,mm,,'
cell 'half a valve' "$lash" 1,0.15 "column 'V': no side named"
cell 'the other half' "$lash" I,0.15 "column 'V': no valve named"
cell 'half a valve and nothing in it' "$lash" 1,- ''
cs='C,cylinder,,,,, S,side,,,,, L,lash,mm,,,,'
cell 'cylinder and side' "$cs" 1,in,0.15 '=lash,1I,0.15,,mm,,'
cell 'a cylinder with a side' "$cs" 1I,in,0.15 "column 'C': bad cylinder '1I'"
cell 'a cylinder that is a side' "$cs" I,in,0.15 "column 'C': bad cylinder 'I'"
cell 'a side that is a valve' "$cs" 1,1I,0.15 "column 'S': bad side '1I'"
cell 'a side that is a cylinder' "$cs" 1,1,0.15 "column 'S': bad side '1'"
cell 'a side that is none' "$cs" 1,top,0.15 "column 'S': bad side 'top'"
vc='V,valve,,,,, C,cylinder,,,,, L,lash,mm,,,,'
cell 'the inlet of a cylinder' "$vc" I,2,0.15 '=lash,2I,0.15,,mm,,'
cell 'cylinders that differ' "$vc" 1I,2,0.15 "column 'C': the row names another valve too: '2'"
cell 'a valve that is none' "$lash" radiator,0.15 "column 'V': unknown valve 'radiator'"
quantity='V,valve,,,,, Q,quantity,,,,, F,value,,,,, U,unit,,,,,'
cell 'compression of a valve' 'V,valve,,,,, K,compression,bar,,,,' 1I,14 "bad place '1I'"
cell 'compression of a cylinder' 'V,valve,,,,, K,compression,bar,,,,' 1,14 \
    '=compression,1,1400,,kPa,,'
cell 'compression of a valve, and none' 'V,valve,,,,, K,compression,bar,,,,' 1I, ''

### state
state='V,valve,,,,, S,state,,,,, L,lash,mm,,,,'
cell 'as left' "$state" 1I,left,0.15 '=lash,1I,,0.15,mm,,'
cell 'a state that is none' "$state" 1I,lost,0.15 "column 'S': neither found nor left: 'lost'"
cell 'a state that is not said' "$state" 1I,,0.15 "column 'S': neither found nor left: ''"

### a note about as long as what is written at a time stands behind every reading of its row
cat >r <<END
$top
$base
N,note,,,,,
1I,lash,mm,1I,,,
1E,lash,mm,1E,,,
2I,lash,mm,2I,,,
END
for n in 65000 65520 65530 65536; do
    note=$(head -c "$n" /dev/zero | tr '\0' n)
    printf 'E,D,N,1I,1E,2I\nHC-1,2026-03-01,%s,0.1,0.2,0.3\n' "$note" >in.csv
    run "$tidy" --recipe r in.csv
    is "a note of $n bytes" "$status $err $(awk -v n="$note" '
        substr($0, length - length(n) - 9) == "," n ",in.csv,2" { k++ }
        END { print k }' .out)" '0  3'
done
done_testing
