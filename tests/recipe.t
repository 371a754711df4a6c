#!/bin/sh
# Recipes: what they may say, and the message when they say something else.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1

top='column,means,unit,at,state,format,value'
printf 'Engine,Date,Valve,Lash\nHC-1,2026-03-01,1I,0.1\n' >good.csv
base='Engine,engine,,,,,
Date,date,,,,,
Valve,valve,,,,,'

# wrong NAME ROWS MESSAGE: a recipe of these rows is refused before anything is written
wrong() {
    printf '%s\n%s\n' "$top" "$2" >r
    run "$tidy" --recipe r good.csv
    is "$1" "$status $err$out" "2 valve-tidy: r:$3"
}

wrong 'meaning' 'Lash,lach,,,,,' "2: no such meaning or quantity: 'lach'"
wrong 'unit' 'Lash,lash,furlong,,,,' "2: unknown unit 'furlong'"
wrong 'unit of another kind' 'Lash,lash,bar,,,,' "2: a unit of another kind: 'bar'"
wrong 'valve' 'Lash,lash,mm,1Q,,,' "2: unknown valve '1Q'"
wrong 'valve nought' 'Lash,lash,mm,0,,,' "2: unknown valve '0'"
wrong 'place' 'Comp,compression,bar,E,,,' "2: unknown place 'E'"
wrong 'state' 'Lash,lash,mm,,lost,,' "2: a state is found or left, not 'lost'"
wrong 'word for a state' 'When,state,,,gone,,OLD' \
    "2: a word for a state needs found or left, not 'gone'"
wrong 'a value where none can be' 'Lash,lash,mm,,,,0.1' \
    "2: unit and state are those of the column, not of the word '0.1'"
wrong 'a number as a word' 'Lash,lash,,,,,"0,1"' "2: a word of the shop is no number, as is '0,1'"
long=$(printf 'x%080d' 1)
wrong 'a long word' "Lash,lash,,,,,$long" "2: too long a word: '$(printf 'x%075d' 0)...'"
for row in 'Engine,engine,,,,HC-2,ok' 'Cyl,cylinder,,E,,,ok' 'Side,side,,2E,,,ok' \
    'Valve,valve,,,,,ok' 'Cyl,cylinder,,1,,x,ok' 'Lash,lash,,1I,,0.20,ok' 'Side,index,,1,,,ok'; do
    wrong "a word that stands for nothing: $row" "$row" "2: what it stands for belongs into 'at' of a \
valve, cylinder or side, and into 'format' of a reading, temp or meter: the word 'ok'"
done
wrong 'format of a reading' 'Lash,lash,mm,,,Y-M-D,' \
    "2: the format of a reading is go, no-go, go/no-go or found/left, not 'Y-M-D'"
wrong 'both states and one of them' 'Lash,lash,mm,,found,found/left,' \
    "2: with found/left the cells say both, not only 'found'"
wrong 'format of something else' 'Engine,engine,,,,D.M.Y,' \
    "2: only dates and readings have a format, not 'D.M.Y'"
for order in DD.MM.YYYY d.m.y D.M M/D D.M.Y.y; do
    wrong "format of a date, $order" "Date,date,,,,$order," \
        "2: a date is like D.M.Y or M/D/y, a letter for each part, not '$order'"
done
printf '%s\n%s\n' "$top" 'Engine,engine
Date,date,,,,D.M.Y
Valve,valve
Lash,lash,mm' >r
run "$tidy" --recipe r good.csv
is 'a date that is not as the format says' "$err" \
    "valve-tidy: good.csv:2: column 'Date': bad date (D.M.Y) '2026-03-01'"
wrong 'column number' '#0,lash,mm,,,,' "2: bad column number '#0'"
wrong 'setting' ',delimeter,,,,,tab' "2: no such setting or field: 'delimeter'"
wrong 'delimiter of two marks' ',delimiter,,,,,;;' "2: not one mark: ';;'"
wrong 'a quote is no delimiter' ',delimiter,,,,,""""' "2: not one mark: '\"'"
wrong 'yes or no' ',heading,,,,,maybe' "2: neither yes nor no: 'maybe'"
for mark in '' REM '#1' '# #' '#########' '°'; do
    wrong "mark of remarks '$mark'" ",remark,,,,,$mark" \
        "2: remarks begin with one to eight signs as # or //, not '$mark'"
done
wrong 'short rows' ',short_rows,,,,,2' "2: neither yes nor no: '2'"
wrong 'skip' ',skip,,,,,1.5' "2: lines to skip is a whole number, not '1.5'"
wrong 'agree' ',agree,,,,,-1' "2: bad number '-1'"
wrong 'order' ',order,,,,,1I 2X' "2: unknown valve '2X'"
wrong 'a valve twice in the order' ',order,,,,,1I 1E1 1E 2I exh-1-1' "2: twice in the order: 'exh-1-1'"
wrong 'empty order' ',order,,,,,' "2: no valve in order ''"
wrong 'passes' ',passes,,,,,both' "2: passes are 'found', 'left' or 'found left', not 'both'"
wrong 'date' ',date,,,,,1.3.2026' "2: bad date (YYYY-MM-DD) '1.3.2026'"
wrong 'third row' "Engine,engine,,,,,$nl${nl}Lash,lach,,,,," "4: no such meaning or quantity: 'lach'"
wrong 'unclosed quote' '"Lash,lash,mm,,,,' '2: unclosed quote'

printf 'column,meaning,unit\n' >r
run "$tidy" --recipe r good.csv
is 'heading' "$status $err" \
    "2 valve-tidy: r:1: a recipe has the columns column,means,unit,at,state,format,value; not 'meaning'"
printf 'column,means\n' >r
run "$tidy" --recipe r good.csv
is 'short heading' "$status $err" \
    '2 valve-tidy: r:1: a recipe has the columns column,means,unit,at,state,format,value'
: >r
run "$tidy" --recipe r good.csv
is 'empty' "$status $err" '2 valve-tidy: r: empty recipe'
run "$tidy" --recipe none good.csv
is 'missing' "$status $err" '2 valve-tidy: none: No such file or directory'

### a recipe that does not fit the export
# misfit NAME ROWS MESSAGE [ARGUMENT...]
misfit() {
    printf '%s\n%s\n' "$top" "$2" >r
    misfit_name=$1 misfit_err=$3
    shift 3
    run "$tidy" --recipe r "$@" good.csv
    is "$misfit_name" "$status $err$(sed 1d .out)" "2 valve-tidy: good.csv:$misfit_err"
}

misfit 'no engine' "Engine,ignore,,,,,${nl}Date,date,,,,,${nl}Valve,valve,,,,,${nl}Lash,lash,mm,,,," \
    " neither a column nor a constant says 'engine'"
misfit 'no readings' "$base${nl}Lash,ignore,,,,," ' the recipe names no column with readings'
misfit 'a field twice' "$base${nl}Lash,engine,,,,," "1: a second column for the same field: 'Lash'"
misfit 'a column twice' "$base${nl}Lash,lash,mm,,,,${nl}lash,note,,,,," \
    "1: the recipe names twice column 'Lash'"
misfit 'a value and a blade' \
    "Engine,lash,mm,1I,found,go,${nl}Date,date,,,,,${nl}Valve,lash,mm,1I,found,,${nl}Lash,note,,,,,$nl,engine,,,,,HC-1" \
    "1: a go/no-go pair and a value for the same reading: 'Valve'"
printf 'a,b,c\n' >three.csv
printf '%s\na,lash,mm,1I,,,\nb,lash,in,1I,,,\nc,lash,mm,1I,,,\n,engine,,,,,HC-1\n,date,,,,,2026-03-01\n' "$top" >r
run "$tidy" --recipe r three.csv
is 'three values for one reading' "$status $err" \
    "2 valve-tidy: three.csv:1: one column too many for the same reading: 'c'"

misfit 'a column further than the heading goes' "$base${nl}Lash,lash,mm,,,,${nl}#5,note,,,,," \
    "1: no heading as the recipe has it; the nearest row lacks column '#5'"
misfit 'a column by name where there is no heading' "#1,lash,mm,1I,,,${nl}Date,date,,,,," \
    " without a heading columns are #1 to #64, not 'date'" --set heading=no
misfit 'a column too far where there is no heading' '#65,lash,mm,1I,,,' \
    " without a heading columns are #1 to #64, not '#65'" --set heading=no
misfit 'an order of two columns' "#1,lash,mm,1I,,,${nl}#2,lash,mm,1E,,,$nl,engine,,,,,HC-1" \
    ' an order names one column of readings' --set heading=no --set 'order=1I 1E' \
    --set date=2026-03-01

### the command line
run "$tidy" --recipe r --set nonsense good.csv
is '--set without a value' "$status ${err%%: column*}${err##*\'}" \
    '2 valve-tidy: --set: NAME=VALUE was expected'
run "$tidy" --recipe r --set "by=J$(printf '\374')rgen" good.csv
is '--set in Latin-1' "$status $out${err%%: column*}${err##*gen\': }" "2 valve-tidy: --setnot UTF-8: 'J?rgen'"
run "$tidy" --recipe r --set delimiter=ab good.csv
is '--set that makes no sense' "$status ${err##*: }" "2 'ab'"
run "$tidy"
is 'nothing to do' "$status $(printf '%s\n' "$err" | head -n 1)" \
    '2 valve-tidy: one of --recipe and --draft is needed'
run "$tidy" --draft good.csv --recipe r
is 'two things to do' "$status $(printf '%s\n' "$err" | head -n 1)" \
    '2 valve-tidy: one of --recipe and --draft is needed'

### what recipes may look like
printf '%s,why\r\n Engine ,engine, , , , , ,first\r\ndate,date,,,,Y-M-D,,\r\n\r\n#3,valve,,,,,,\r\n#4,lash,mm,,as left,,,\r\n' \
    "$top" >r
printf 'Engine,Date,X,X\nHC-1,2026-03-01,1I,0.1\n' >shared.csv
run "$tidy" --recipe r shared.csv
is 'blanks, CR LF, a column why, columns by number' "$status $err$(sed -n 2p .out)" \
    '0 HC-1,2026-03-01,,,lash,1I,,0.1,mm,,,,,,shared.csv,2'
printf '\357\273\277%s\n%s\nLash,lash,mm,,,,\n' "$top" "$base" >r
run "$tidy" --recipe r good.csv
is 'byte order mark' "$status $err$(sed -n 2p .out)" \
    '0 HC-1,2026-03-01,,,lash,1I,0.1,,mm,,,,,,good.csv,2'
cp .out want
run "$tidy" --recipe - good.csv <r
ok 'from standard input' cmp .out want

### dates, as the recipe orders them
# dated FORMAT CELL WANT
dated() {
    printf '%s\nEngine,engine,,,,,\nDate,date,,,,%s,\nValve,valve,,,,,\nLash,lash,mm,,,,\n' "$top" "$1" >r
    printf 'Engine,Date,Valve,Lash\nHC-1,%s,1I,0.1\n' "$2" >day.csv
    run "$tidy" --recipe r day.csv
    is "date $1 of '$2'" "$status$(sed '1d;$d' .out | cut -d, -f2)$err" "$3"
}
refused="valve-tidy: day.csv:2: column 'Date': bad date"
dated '' 2024-02-29 02024-02-29
dated Y-M-D ' 2026-3-1 ' 02026-03-01
dated D.M.Y 1.12.2026 02026-12-01
dated M/D/y 12/1/26 02026-12-01
dated D.M.Y '01.12.2026 8:05' 02026-12-01T08:05
dated Y-M-D 2026-12-01T23:59:60 02026-12-01T23:59
dated YMD 20261201 02026-12-01
dated serial 61 01900-03-01
dated serial 45658 02025-01-01
dated serial 60 "1$refused (serial) '60'"
dated serial 45658.5 02025-01-01T12:00
dated serial 45658.5h "1$refused (serial) '45658.5h'"
dated Y-M-D 2026-02-29 "1$refused (Y-M-D) '2026-02-29'"
dated Y-M-D 1900-02-29 "1$refused (Y-M-D) '1900-02-29'"
dated Y-M-D 2026-13-01 "1$refused (Y-M-D) '2026-13-01'"
dated Y-M-D 2026-04-31 "1$refused (Y-M-D) '2026-04-31'"
dated Y-M-D 26-04-30 "1$refused (Y-M-D) '26-04-30'"
dated Y-M-D 2026-04-30x "1$refused (Y-M-D) '2026-04-30x'"
dated Y-M-D 2026-04-30T24:00 "1$refused (Y-M-D) '2026-04-30T24:00'"
dated Y-M-D 2026-04-30T08:30Z "1valve-tidy: day.csv:2: column 'Date': dates have no zone: \
write the time of the place, without it, for '2026-04-30T08:30Z'"
dated D.M.Y 31.04.2026 "1$refused (D.M.Y) '31.04.2026'"

### the row says the unit: of lash, of angles (cam degrees count twice), and not of u
cd "$work" || exit 1
cat >r.unit <<'END'
column,means,unit,at,state,format,value
Engine,engine,,,,,
Date,date,,,,,
What,quantity,,,,,
Valve,valve,,,,,
Value,reading,,,,,
Unit,unit,,,,,
U,u,um,,,,
END
cat >units.csv <<'END'
Engine,Date,What,Valve,Value,Unit,U
HC-1,2026-03-01,lash,1I,6,thou,5
HC-1,2026-03-01,opens,1I,-6,cam deg,
HC-1,2026-03-01,opens,2I,-12,deg,
HC-1,2026-03-01,opens,3I,-12,mm,
HC-1,2026-03-01,spring_load,1I,100,lbf,
END
run "$bin/valve-tidy" --recipe r.unit units.csv
is "a unit a row" "$(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f5-10)" \
    "lash,1I,0.1524,,mm,0.005
opens,1I,-12,,deg,
opens,2I,-12,,deg,
spring_load,1I,444.82216152605,,N,"
is "a unit of another kind" "$status $err" \
    "1 valve-tidy: units.csv:5: column 'Value': unit 'mm' does not fit here"
done_testing
