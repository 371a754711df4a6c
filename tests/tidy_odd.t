#!/bin/sh
# Exports and recipes that nearly fit: what is taken, what is refused and in which words.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1
day=2026-03-01

# odd NAME STATUS READINGS ERR [ARGUMENT...]: the recipe is r, the export x.csv; of the readings
# quantity, place, found and left
odd() {
    odd_name=$1 odd_status=$2 odd_want=$3 odd_err=$4
    shift 4
    run "$tidy" --recipe r "$@" x.csv
    is "$odd_name" "$status$nl$(sed '1d; /,,,,end,/d' .out | cut -d, -f 5-8)$nl$err" \
        "$odd_status$nl$odd_want$nl$odd_err"
}
# recipe ROW...
recipe() {
    echo 'column,means,unit,at,state,format,value' >r
    printf '%s\n' "$@" ",engine,,,,,HC-1" ",date,,,,,$day" >>r
}

### pairs of blades
recipe 'Go,lash,mm,1I,,go,'
printf 'Go\n0.10\n' >x.csv
odd 'the blade that goes alone' 1 '' "valve-tidy: x.csv:2: column 'Go': one half of a go/no-go pair"
recipe 'No,lash,mm,1I,,no-go,'
printf 'No\n0.10\n' >x.csv
odd 'the blade that does not go alone' 1 '' "valve-tidy: x.csv:2: column 'No': one half of a go/no-go pair"
recipe 'Go,lash,mm,1I,,go,' 'No,lash,mm,1I,,no-go,'
printf 'Go,No\n0.060000000000000001,0.060000000000000004\n0.10,0.12\n' >x.csv
odd 'a middle with more digits than there are' 1 'lash,1I,0.11,' \
    "valve-tidy: x.csv:2: column 'Go': number out of range"
recipe 'Go,lash,mm,1I,,go,' 'Again,lash,mm,1I,,go,'
printf 'Go,Again\n' >x.csv
odd 'two blades that go' 2 '' "valve-tidy: x.csv:1: one column too many for the same reading: 'Again'"
recipe 'No,lash,mm,1I,,no-go,' 'Lash,lash,mm,1I,,,'
printf 'No,Lash\n' >x.csv
odd 'a blade that does not go and a value' 2 '' \
    "valve-tidy: x.csv:1: a go/no-go pair and a value for the same reading: 'Lash'"

recipe 'Valve,valve,,,,,' 'Lash,lash,mm,,,go/no-go,'
printf '%s\n' Valve,Lash 1I,0.10-0.12 1E,0.10–0.12 2I,0.10- 2E,-0.10 3I,- >x.csv
odd 'a range' 1 'lash,1I,0.11,
lash,1E,0.11,' "valve-tidy: x.csv:4: column 'Lash': bad number ''
valve-tidy: x.csv:5: column 'Lash': no two blades, as in 0.25/0.30: '-0.10'"
recipe 'Valve,valve,,,,,' 'Lash,lash,mm,,,,' ',meter,,,,,1/2'
printf '%s\n' Valve,Lash 1I,0.1 >x.csv
odd 'two numbers for a meter' 1 '' "valve-tidy: x.csv:2: bad number '1/2'"
sed -i /meter/d r
printf '%s\n' Valve,Lash 1I,0.10-0.12 1E,0.10/0.12 2I,'0.10 -> 0.12' 2E,0.10/ 3I,/0.10 3E,1-x 4I,'9/10 thou' >x.csv
two="two numbers, of which the recipe's format has to say go/no-go or found/left:"
odd 'two numbers of which nobody says what they are' 1 '' "valve-tidy: x.csv:2: column 'Lash': $two '0.10-0.12'
valve-tidy: x.csv:3: column 'Lash': $two '0.10/0.12'
valve-tidy: x.csv:4: column 'Lash': $two '0.10 -> 0.12'
valve-tidy: x.csv:5: column 'Lash': bad number '0.10/'
valve-tidy: x.csv:6: column 'Lash': bad number '/0.10'
valve-tidy: x.csv:7: column 'Lash': bad number '1-x'
valve-tidy: x.csv:8: column 'Lash': $two '9/10 thou'"

### found and left in one cell
recipe 'Valve,valve,,,,,' 'Lash,lash,mm,,,found/left,'
printf '%s\n' Valve,Lash 1I,0.25/0.30 '1E, 0.45 -> 0.50 ' '2I,0.28→0.30' 2E,0.50 '3I,-/0.30' 3E,0.5/- \
    4I,10/12thou 4E,-/- 5I, 5E,0.5/0.4/0.3 6I,0.5/x '6E,.2 mm/20 um' >x.csv
odd 'found and left in one cell' 1 'lash,1I,0.25,0.3
lash,1E,0.45,0.5
lash,2I,0.28,0.3
lash,2E,0.5,
lash,3I,,0.3
lash,3E,0.5,
lash,4I,0.254,0.3048
lash,5E,0.5,
lash,6I,0.5,
lash,6E,0.2,0.02' "valve-tidy: x.csv:11: column 'Lash': bad number '0.4/0.3'
valve-tidy: x.csv:12: column 'Lash': bad number 'x'"
recipe 'Inch,lash,in,1I,,found/left,' 'Metric,lash,mm,1I,,found/left,'
printf '%s\n' Inch,Metric .010/.012,0.25/0.30 .010,0.25/0.40 >x.csv
odd 'and in two units' 0 'lash,1I,0.25,0.3
lash,1I,0.25,0.4' ''
recipe 'Both,lash,mm,1I,,found/left,' 'Left,lash,mm,1I,left,,' 'Again,lash,mm,1I,left,,'
printf '%s\n' Both,Left,Again >x.csv
odd 'what was left three times' 2 '' \
    "valve-tidy: x.csv:1: one column too many for the same reading: 'Again'"
recipe '#1,lash,mm,,,found/left,' ',heading,,,,,no' ',order,,,,,1I'
echo 0.1/0.2 >x.csv
odd 'in bare numbers' 2 '' 'valve-tidy: x.csv: an order names one column of readings'

### which valve, which place
recipe 'Valve,valve,,,,,' 'Lash,lash,mm,I1,,,'
printf 'Valve,Lash\n1I1,0.10\n1I2,0.20\n1,0.30\n' >x.csv
odd 'another valve of the side' 1 'lash,1I1,0.1,
lash,1I1,0.3,' 'valve-tidy: x.csv:3: the row names another valve than the recipe'
recipe 'C1,compression,bar,1,,,' 'C2,compression,bar,2,,,'
printf 'C1,C2\n12,12.5\n' >x.csv
odd 'a cylinder a column' 0 'compression,1,1200,
compression,2,1250,' ''
recipe 'Lash,lash,mm,1I,,,' 'Lift,checking_lift,mm,I,,,' 'Note,note,,1I,,,'
printf 'Lash,Lift,Note\n0.10,1,cold\n' >x.csv
odd 'a lift of a side; a note has no valve' 0 'lash,1I,0.1,
checking_lift,I,1,' ''

recipe 'Cyl,cylinder' 'Side,side' 'No,index' 'Lash,lash,mm'
printf '%s\n' Cyl,Side,No,Lash 3,E,2,0.10 3,E2,2,0.20 3,E,,0.30 3,E1,2,0.4 3,E,12,0.5 3,E,E2,0.6 3,,1,0.7 \
    ,E,1,0.8 3,E,0,0.9 3,E,A,1.0 >x.csv
odd 'cylinder, side and index, each in a column' 1 'lash,3E2,0.1,
lash,3E2,0.2,
lash,3E,0.3,' "valve-tidy: x.csv:5: column 'No': the row names another valve too: '2'
valve-tidy: x.csv:6: column 'No': bad index '12'
valve-tidy: x.csv:7: column 'No': bad index 'E2'
valve-tidy: x.csv:8: no side named
valve-tidy: x.csv:9: no valve named
valve-tidy: x.csv:10: column 'No': bad index '0'
valve-tidy: x.csv:11: column 'No': bad index 'A'"
recipe 'Valve,valve' 'No,index' 'Lash,lash,mm'
printf '%s\n' Valve,No,Lash 'cyl 3 exh,2,0.10' '3E1,2,0.20' >x.csv
odd 'an index beside a valve' 1 'lash,3E2,0.1,' "valve-tidy: x.csv:3: column 'No': the row names another valve too: '2'"
recipe 'Cyl,cylinder' 'No,index' 'In,opens,,I' 'Ex,opens,,E' 'Lift,checking_lift,mm' ',checking_lift,,,,,1 mm'
printf '%s\n' Cyl,No,In,Ex,Lift 3,2,-10,-230, 3,1,,,1.2 >x.csv
odd 'the sides are columns; a lift has no index without a side' 1 'opens,3I2,-10,
opens,3E2,-230,
checking_lift,3,1,' 'valve-tidy: x.csv:3: no side named'

### meters that run in h and in km
printf '%s\n' column,means,unit,at,state,format,value Engine,engine Meter,meter Valve,valve Lash,lash,mm \
    ",date,,,,,$day" >r
printf '%s\n' Engine,Meter,Valve,Lash 'HC-1,12044 h,1I,0.1' 'D-07,350km,1I,0.1' 'D-08,1 000 mi,1I,0.1' 'D-09,7,1I,0.1' \
    'D-10,7 mm,1I,0.1' ',7 h,1I,0.1' >x.csv
run "$tidy" --recipe r --set group=space --set engine=HC-9 x.csv
# the mile is 1609.344 m
is 'the unit in the cell' "$status|$(sed '1d;$d' .out | cut -d, -f 1,3,4 | tr '\n' ' ')|$err" \
    "1|HC-1,12044,h D-07,350,km D-08,1609.344,km HC-9,7,h |valve-tidy: x.csv:5: column 'Meter': no unit stated
valve-tidy: x.csv:6: column 'Meter': unit 'mm' does not fit here"
sed -i '/^Meter/s/.*/Meter,meter,h/' r
echo Of,meter_unit >>r
printf '%s\n' Engine,Meter,Of,Valve,Lash HC-1,12044,h,1I,0.1 D-07,350,km,1I,0.1 D-08,7,,1I,0.1 'D-09,5 km,h,1I,0.1' \
    'D-10,5,bar,1I,0.1' >x.csv
run "$tidy" --recipe r x.csv
is 'the unit beside the cell, stronger than the recipe, weaker than the cell' \
    "$status|$(sed '1d;$d' .out | cut -d, -f 1,3,4 | tr '\n' ' ')|$err" \
    "1|HC-1,12044,h D-07,350,km D-08,7,h D-09,5,km |valve-tidy: x.csv:6: column 'Meter': a meter runs in h or km, not in 'bar'"

recipe 'Valve,valve' 'Opens,opens' 'Lift,checking_lift,mm' ',checking_lift,,,,,1 mm'
printf '%s\n' Valve,Opens,Lift 1I,-10,1.2x 2I,-10, 3I,-10,1.2 >x.csv
odd 'a lift that was refused is not that of the recipe' 1 'opens,1I,-10,
opens,2I,-10,
checking_lift,2I,1,
opens,3I,-10,
checking_lift,3I,1.2,' "valve-tidy: x.csv:2: column 'Lift': bad number '1.2x'"

### states
recipe 'Found,lash,mm,1I,found,,' 'Lash,lash,mm,1I,,,' 'State,state,,,,,'
printf 'Found,Lash,State\n0.10,0.15,left\n0.11,0.12,found\n' >x.csv
odd 'found said twice' 1 'lash,1I,0.1,0.15' \
    "valve-tidy: x.csv:3: column 'Lash': a second value for the same reading"

### headings
recipe 'Lash,lash,mm,1I,,,' '#1,lash,mm,1E,,,'
printf 'Lash\n0.10\n' >x.csv
odd 'a number is stronger than a name' 0 'lash,1E,0.1,' ''
recipe '#1,lash,mm,1E,,,' 'Lash,lash,mm,1I,,,'
odd 'whichever comes first' 0 'lash,1E,0.1,' ''
recipe 'Lash,lash,mm,1I,,,'
printf 'Lash,\n0.10,\n0.20, \n0.30,x\n' >x.csv
odd 'a cell under no heading' 1 'lash,1I,0.1,
lash,1I,0.2,' 'valve-tidy: x.csv:4: cell 2 stands under no heading'
printf 'Lash\n0.10, \n0.20,\t,\n0.30,x\n' >x.csv
odd 'blank cells behind the heading' 1 'lash,1I,0.1,
lash,1I,0.2,' 'valve-tidy: x.csv:4: 2 cells where the heading has 1'
recipe '"Lash  of I",lash,mm,1I,,,'
printf '"Lash\r\n of\tI"\n0.10\n' >x.csv
odd 'a heading of two lines' 0 'lash,1I,0.1,' ''
long=$(printf '%0300d' 0 | tr 0 x)
recipe "$long,lash,mm,1I,,,"
printf '%s\n0.10\n' "$long" >x.csv
odd 'a heading longer than is looked at' 0 'lash,1I,0.1,' ''
# units: only in brackets that close, or behind a blank; in behind a blank is the inlet
for i in 'Lash [in_i]=2.54' 'Lash (thou)=0.00254' 'Lash (cold) thou=0.00254' 'Lash (cold [mm]=0.1'; do
    recipe "${i%=*},lash,,1I,,,"
    printf '%s\n0.10\n' "${i%=*}" >x.csv
    odd "unit of '${i%=*}'" 0 "lash,1I,${i#*=}," ''
done
for i in 'Lash in' 'Lash it' 'Lash (mm'; do
    recipe "$i,lash,,1I,,,"
    printf '%s\n0.10\n' "$i" >x.csv
    odd "no unit in '$i'" 1 '' "valve-tidy: x.csv:2: column '$i': no unit stated"
done
recipe ',units_row,,,,,yes' 'A,lash,,1I,,,' 'B,lash,mm,1E,,,'
printf 'A,B,\nthou,thou,thou\n10,0.2,\n' >x.csv
odd 'a row of units: the recipe is stronger' 0 'lash,1I,0.254,
lash,1E,0.2,' ''

### rows that end behind their last filled cell
recipe 'Valve,valve' 'Found,lash,mm,,found' 'Left,lash,mm,,left' 'By,by' ',short_rows,,,,,yes'
printf '%s\n' Valve,Found,Left,By 1I,0.10,0.15,ab 1E,0.20,0.25 2I,0.11 2E ',0.12' '3I,0.13,,,' '3E,0.2,,,,x' >x.csv
odd 'short rows' 1 'lash,1I,0.1,0.15
lash,1E,0.2,0.25
lash,2I,0.11,
lash,3I,0.13,' "valve-tidy: x.csv:6: column 'Valve': no valve named
valve-tidy: x.csv:8: 6 cells where the heading has 4"
recipe 'Valve,valve' 'Found,lash,mm,,found' 'Left,lash,mm,,left' 'By,by' ',short_rows,,,,,no'
odd 'are refused unless they are allowed' 1 'lash,1I,0.1,0.15
lash,3I,0.13,' 'valve-tidy: x.csv:3: 3 cells where the heading has 4
valve-tidy: x.csv:4: 2 cells where the heading has 4
valve-tidy: x.csv:5: 1 cell where the heading has 4
valve-tidy: x.csv:6: 2 cells where the heading has 4
valve-tidy: x.csv:8: 6 cells where the heading has 4'
printf '%s\n' column,means,unit,at,state,format,value Valve,valve Lash,lash,mm Date,date Engine,engine \
    ,engine,,,,,HC-1 ',short_rows,,,,,yes' >r
printf '%s\n' Valve,Lash,Date,Engine "1I,0.10,$day,HC-2" "1E,0.20,$day" 2I,0.11 >x.csv
odd 'what is needed is needed all the same' 1 'lash,1I,0.1,
lash,1E,0.2,' "valve-tidy: x.csv:4: column 'Date': no date ''"
printf '%s\n' '# seen by the foreman' '1I,0.10,"2026-03-01' '"' "2E,0.20,$day" >>x.csv
odd 'a remark is no row, nor is half a quote one' 1 'lash,1I,0.1,
lash,1E,0.2,
lash,2E,0.2,' "valve-tidy: x.csv:4: column 'Date': no date ''
valve-tidy: x.csv:5: column 'Date': no date ''
valve-tidy: x.csv:6: unclosed quote
valve-tidy: x.csv:7: unclosed quote"

### remarks
recipe 'Valve,valve' 'Lash,lash,,,found' 'Note,note' ',remark,,,,,#' ',units_row,,,,,yes'
printf '%s\n' '# from the sheet of 2026, "old' '#,"' 'Valve,Lash,Note' '#' ',mm,' '1I,0.10,' '  # said, "he' \
    '1E,0.20,#3 is next' '"# one cell, quoted",,' '#2I,0.30,' ' "#",x' '2E,0.20,"two' 'lines"' '#,"not' \
    '3I,0.30,"cl"ean"' '3E,0.40,' >x.csv
odd 'remarks' 1 'lash,1I,0.1,
lash,1E,0.2,
lash,2E,0.2,

lash,3E,0.4,' "valve-tidy: x.csv:15: text behind a closing quote
valve-tidy: x.csv: 8 remarks passed over"
printf '%s\n' 'Valve,Lash,Note' ',mm,' '#,"said' '1I,0.10,' '2I,0.20,"' '1E,0.30,' >x.csv
odd 'a quote in a remark that a row below would close' 1 'lash,1I,0.1,
lash,1E,0.3,' 'valve-tidy: x.csv:5: unclosed quote
valve-tidy: x.csv: 1 remark passed over'
printf '%s\n' 'Valve,Lash,Note' ',mm,' '1I,0.10,' '# one' >x.csv
odd 'are no reason to say that something was refused' 0 'lash,1I,0.1,' 'valve-tidy: x.csv: 1 remark passed over'
run "$tidy" --recipe r x.csv x.csv
is 'are counted once an export' "$status $err" '0 valve-tidy: x.csv: 1 remark passed over
valve-tidy: x.csv: 1 remark passed over'
printf '%s\n' 'Valve,Lash,Note' ',mm,' '1I,0.10,' '#2I,0.10,' '# 1E,0.10,' '!# 2E,0.10,' >x.csv
odd 'all of the mark' 1 'lash,1I,0.1,
lash,2I,0.1,
lash,1E,0.1,' "valve-tidy: x.csv:6: column 'Valve': unknown valve '!# 2E'" --set 'remark=#!'
recipe 'Valve,valve' 'Lash,lash,mm,,found' ',remark,,,,,//' ',delimiter,,,,,tab'
printf '%s\t%s\n' Valve Lash '//' 1 '' // 1I 0.1 >x.csv
odd 'a blank cell before the mark is a cell' 1 'lash,1I,0.1,' \
    "valve-tidy: x.csv:3: column 'Valve': no valve named
valve-tidy: x.csv: 1 remark passed over"
recipe '#1,lash,mm' ',heading,,,,,no' ',order,,,,,1I 1E' ',remark,,,,,%'
printf '%s\n' '% gauge F1' 0.1 % 0.2 >x.csv
odd 'remarks between bare numbers' 0 'lash,1I,0.1,
lash,1E,0.2,' 'valve-tidy: x.csv: 2 remarks passed over'
recipe 'Valve,valve' 'Lash,lash,mm' ',remark,,,,,;' ',delimiter,,,,,;'
printf '%s\n' 'Valve;Lash' >x.csv
odd 'a mark that parts cells' 2 '' "valve-tidy: x.csv: remarks and cells have the same mark: ';'"

### without a heading
recipe ',heading,,,,,no' '#2,lash,mm,1E,,,' '#1,lash,mm,1I,,,'
printf '0.10,0.20\n' >x.csv
odd 'columns in any order' 0 'lash,1I,0.1,
lash,1E,0.2,' ''
recipe ',heading,,,,,no' ',order,,,,,"1I 1E"' '#1,lash,mm,,left,,'
printf '0.10\n0.20\n' >x.csv
odd 'an order has its state from its passes' 2 '' \
    'valve-tidy: x.csv: an order names one column of readings'
recipe ',heading,,,,,no' ',order,,,,,"1I 1E"' '#1,compression,bar,,,,'
odd 'an order of what is no valve' 2 '' 'valve-tidy: x.csv: an order names one column of readings'
recipe ',skip,,,,,5000' 'Lash,lash,mm,1I,,,'
seq 1 20000 | awk '{ print $1 * 7919 % 10007 / 10007 }' | gzip -c | head -c 4000 >x.csv
odd 'a packed file that was cut in what is passed over' 2 '' 'valve-tidy: x.csv: gzip data end too early'

### quantities that the row says
cat >r <<'END'
column,means,unit,at,state,format,value
Engine,engine,,,,,
Date,date,,,,,
At,valve,,,,,
What,quantity,,,,,
Unit,unit,,,,,
Value,reading,,,,,
END
echo Engine,Date,At,What,Unit,Value >x.csv
printf '%s\n' "HC-1,$day,1I,lash,mm,0.1" "HC-1,$day,1I,,mm,0.2" \
    "HC-1,$day,Z,compression,bar,12" "HC-1,$day,2,compression,bar,13" >>x.csv
odd 'a row without a quantity, a place that is none' 1 'lash,1I,0.1,
compression,2,1300,' "valve-tidy: x.csv:3: column 'What': no quantity
valve-tidy: x.csv:4: bad place 'Z'"
cat >r <<END
column,means,unit,at,state,format,value
#1,reading,mm,,,,
,heading,,,,,no
,order,,,,,1I
,engine,,,,,HC-1
,date,,,,,$day
END
printf '0.10\n' >x.csv
odd 'an order of nobody knows what' 2 '' 'valve-tidy: x.csv: an order names one column of readings'

### more reasons than have room: whole ones, and that there are more. Each has 19 bytes, and two
### part it from the last: 24 * 21 - 2 = 502, and behind the 25th there would be no room for "..."
{ echo column,means,unit,at,state,format,value; for i in $(seq 30); do echo "L$i,lash,mm,${i}E"; done; } >r
why=
for i in $(seq 24); do why="$why${why:+; }bad number 'äöü'"; done
for i in 24 25 30; do
    { seq -s , -f L%g 30; for k in $(seq 30); do [ "$k" -gt "$i" ] && printf '%s' - || printf 'äöü'; [ "$k" -eq 30 ] || printf ,; done; echo; } >x.csv
    run "$tidy" --recipe r --set engine=A --set date=2026-01-01 --rejects z.csv x.csv
    is "$i reasons" "$status $(printf '%s\n' "$err" | wc -l | tr -d ' ') $(sed -n '2s/,"äöü.*//p' z.csv)" \
        "1 $i x.csv,2,L1,$why$([ "$i" = 24 ] || echo '; ...')"
done

### recipes
# refused NAME ROWS ERR: of a recipe with this heading and these rows
refused() {
    printf '%s\n' "$2" >r
    run "$tidy" --recipe r x.csv
    is "$1" "$status$nl$err" "2${nl}valve-tidy: r:$3"
}
columns='column,means,unit,at,state,format,value'
refused 'a column that no recipe has' "$columns,why,who" \
    "1: a recipe has the columns $columns; not 'who'"
printf '%s,why\nLash,lash,mm,1I,,,,sure,and,more\n,engine,,,,,HC-1\n,date,,,,,%s\n' "$columns" "$day" >r
printf 'Lash\n0.10\n' >x.csv
odd 'words behind the last column of a recipe' 0 'lash,1I,0.1,' ''
done_testing
