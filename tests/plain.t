#!/bin/sh
# Signs that spreadsheets put in the place of plain ones: read as what they stand for, in cells,
# headings and recipes, and kept as they were in the rejects.
. tests/tap.sh
. tests/draft.sh
cd "$work" || exit 1
day=2026-03-01
nb=$(printf '\302\240') nnb=$(printf '\342\200\257') thin=$(printf '\342\200\211')
minus=$(printf '\342\210\222') en=$(printf '\342\200\223') em=$(printf '\342\200\224')
quote=$(printf '\342\200\231')

# cell NAME CELL WANT: status, found and message of one cell of lash in mm
printf '%s\n' column,means,unit,at,state,format,value Engine,engine Date,date Valve,valve Lash,lash,mm >r
cell() {
    printf 'Engine,Date,Valve,Lash\nHC-1,%s,1I,%s\n' $day "$2" >x.csv
    run "$tidy" --recipe r --rejects bad.csv x.csv
    is "$1" "$status$(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f 7)$err" "$3"
}
bad="valve-tidy: x.csv:2: column 'Lash':"
cell 'a blank that does not break' "0.15${nb}mm" 00.15
cell 'and around the number' "${nb}0.15$thin" 00.15
cell 'a formula that is a text' '"=""0.15"""' 00.15
cell 'the same without quotes of its own' '="0.15"' 00.15
cell 'a formula that is blank' '"="""""' 0
cell 'another formula' '=A1+0.15' "1$bad bad number '=A1+0.15'"
cell 'half a formula' '="0.15' "1$bad bad number '=\"0.15'"
cell 'two texts' '"=""0.1""&""5"""' "1$bad bad number '=\"0.1\"&\"5\"'"
cell 'an en dash: not measured' $en 0
cell 'an em dash: not measured' $em 0
cell 'a minus' "${minus}0.15" "1$bad lash cannot be negative"
cell 'two numbers and a dash' "0.15${en}0.20" "1$bad two numbers, of which the recipe's format has to say go/no-go or found/left: '0.15-0.20'"
cell 'digits of full width' "$(printf '\357\274\220\357\274\216\357\274\221\357\274\225')" 00.15
cell 'another mark' '0.15¹' "1$bad bad number '0.15¹'"
printf 'Engine,Date,Valve,Lash\nHC-1,%s,1I,%s\n' $day "$en$(printf %080d 0)" >x.csv
run "$tidy" --recipe r x.csv
is 'too long to be a number' "$status ${err%%"'$en"*}" "1 $bad bad number "

### the row stays in the rejects as it was
printf 'Engine,Date,Valve,Lash\nHC-1,%s,1I,"=""x%s"""\n' $day "$nb" >x.csv
run "$tidy" --recipe r --rejects bad.csv x.csv
is 'rejects' "$(sed 1d bad.csv)" "x.csv,2,Lash,bad number 'x',\"HC-1,$day,1I,\"\"=\"\"\"\"x$nb\"\"\"\"\"\"\""

### headings, names, dates, groups
printf '="Engine","=""Date""",Valve,Km,Lash%smm,Note\n"=""007""",2026%s03%s01,1I%s,120%s500,0.15,don%st\n' \
    "$nb" "$(printf '\342\200\221')" "$en" "$nb" "$nnb" "$quote" >sheet.csv
sheet 'a sheet of them' sheet.csv "status 0
007,2026-03-01,120500,km,lash,1I,0.15,,mm,,,,,don${quote}t,sheet.csv,2"
why 'blanks in thousands' ,group 'space'
printf '%s\n' column,means,unit,at,state,format,value Engine,engine Date,date Valve,valve Km,meter,km \
    "Lash${nb}mm,lash" Note,note ",group,,,,,$nb" >r2
run "$tidy" --recipe r2 sheet.csv
is 'a recipe that has them' "$status$(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f 1-7)" \
    '0007,2026-03-01,120500,km,lash,1I,0.15'
printf 'Engine,Date,Valve,Km,Lash mm\nHC-1,%s,1I,120%s500,0.15\nHC-1,%s,1E,%s,0.15\n' $day "$quote" $day "$en" >sheet.csv
sheet 'apostrophes in thousands, a dash for a meter' sheet.csv "status 0
HC-1,$day,120500,km,lash,1I,0.15,,mm,,,,,,sheet.csv,2
HC-1,$day,,,lash,1E,0.15,,mm,,,,,,sheet.csv,3"
printf 'Valve,Opens,Temp\n1I,%s12,%s5\n' "$minus" "$minus" >x.csv
printf '%s\n' column,means,unit,at,state,format,value Valve,valve Opens,opens,deg Temp,temp,Cel ,engine,,,,,HC-1 \
    ",date,,,,,$day" >r3
run "$tidy" --recipe r3 x.csv
is 'a minus before an angle and a temperature' "$(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f 5-11)" \
    'opens,1I,-12,,deg,,-5'

### names that a spreadsheet has made numbers of
# name VALVE WANT
name() {
    printf 'Engine,Date,Valve,Lash\nHC-1,%s,%s,0.15\n' $day "$1" >x.csv
    run "$tidy" --recipe r x.csv
    is "a valve by the name of $1" "$status $err" "$2"
}
made="valve-tidy: x.csv:2: column 'Valve': no valve but a number, as spreadsheets make of 3E1 unless the column is imported as text:"
name 3.00E+01 "1 $made '3.00E+01'"
name 100 "1 $made '100'"
name 1-Jan "1 valve-tidy: x.csv:2: column 'Valve': unknown valve '1-Jan'"
name 3E1 '0 '

done_testing
