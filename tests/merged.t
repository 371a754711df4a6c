#!/bin/sh
# Cells that were merged in a spreadsheet: what goes down, how far, and what is refused.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1

# reads NAME STATUS READINGS ERR [ARGUMENT...]: the recipe is r, the export x.csv; of the readings
# engine to meter, place, found, left and the line
reads() {
    reads_name=$1 reads_want=$2$nl$3$nl$4
    shift 4
    run "$tidy" --recipe r --rejects rejects.csv "$@" x.csv
    is "$reads_name" \
        "$status$nl$(sed '1d; /,,,,end,/d' .out | cut -d, -f 1-3,6-8,16)$nl$err" "$reads_want"
}
# recipe ROW...: beside the columns that all exports here have
recipe() {
    printf '%s\n' column,means,unit,at,state,format,value Engine,engine Date,date,,,,D.M.Y \
        Hours,meter,h Valve,valve 'Found,lash,mm,,found' 'Left,lash,mm,,left' "$@" >r
}
# export ROW...
export_rows() {
    printf '%s\n' Engine,Date,Hours,Valve,Found,Left "$@" >x.csv
}
x=x.csv

recipe ',merged,,,,,engine date meter'
export_rows HC-1,1.3.2026,412.5,1I,0.12,0.15 ,,,1E,0.22, ,,,2I,-,0.16 \
    HC-2,,99,1I,0.11, ,,,1E,0.21, ,2.3.2026,100,1I,0.10,
reads 'a block an engine' 0 'HC-1,2026-03-01,412.5,1I,0.12,0.15,2
HC-1,2026-03-01,412.5,1E,0.22,,3
HC-1,2026-03-01,412.5,2I,,0.16,4
HC-2,2026-03-01,99,1I,0.11,,5
HC-2,2026-03-01,99,1E,0.21,,6
HC-2,2026-03-02,100,1I,0.1,,7' ''
recipe
reads 'not unless the recipe says so' 1 'HC-1,2026-03-01,412.5,1I,0.12,0.15,2' \
    "valve-tidy: $x:3: column 'Engine': no engine
valve-tidy: $x:4: column 'Engine': no engine
valve-tidy: $x:5: column 'Date': no date ''
valve-tidy: $x:6: column 'Engine': no engine
valve-tidy: $x:7: column 'Engine': no engine"
recipe ',merged,,,,,engine' ',merged,,,,,"date, meter"'
reads 'said in two rows' 0 'HC-1,2026-03-01,412.5,1I,0.12,0.15,2
HC-1,2026-03-01,412.5,1E,0.22,,3
HC-1,2026-03-01,412.5,2I,,0.16,4
HC-2,2026-03-01,99,1I,0.11,,5
HC-2,2026-03-01,99,1E,0.21,,6
HC-2,2026-03-02,100,1I,0.1,,7' ''
sed 's/2.3.2026,100/02.03.2026,/' x.csv >y.csv && mv y.csv x.csv
reads 'a meter is not taken to another date' 1 'HC-1,2026-03-01,412.5,1I,0.12,0.15,2
HC-1,2026-03-01,412.5,1E,0.22,,3
HC-1,2026-03-01,412.5,2I,,0.16,4
HC-2,2026-03-01,99,1I,0.11,,5
HC-2,2026-03-01,99,1E,0.21,,6' \
    "valve-tidy: $x:7: column 'Hours': blank, and what line 5 says is of another engine or date"
is 'and its row is kept as it stood' "$(sed 1d rejects.csv)" \
    'x.csv,7,Hours,"blank, and what line 5 says is of another engine or date",",02.03.2026,,1I,0.10,"'
sed 's/02.03.2026,,/02.03.2026,-,/' x.csv >y.csv && mv y.csv x.csv
reads 'a meter that nobody wrote down says so' 0 'HC-1,2026-03-01,412.5,1I,0.12,0.15,2
HC-1,2026-03-01,412.5,1E,0.22,,3
HC-1,2026-03-01,412.5,2I,,0.16,4
HC-2,2026-03-01,99,1I,0.11,,5
HC-2,2026-03-01,99,1E,0.21,,6
HC-2,2026-03-02,,1I,0.1,,7' ''

### what parts the rows
recipe ',merged,,,,,engine date meter' ',totals,,,,,Mean'
parted="valve-tidy: $x:4: column 'Engine': no engine"
export_rows HC-1,1.3.2026,412.5,1I,0.12, ,,,,, ,,,1E,0.22,
reads 'a blank row' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2' "$parted"
export_rows HC-1,1.3.2026,412.5,1I,0.12, '' ,,,1E,0.22,
reads 'an empty line' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2' "$parted"
export_rows HC-1,1.3.2026,412.5,1I,0.12, Engine,Date,Hours,Valve,Found,Left ,,,1E,0.22,
reads 'the heading once more' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2' "$parted"
export_rows '"HC-1",1.3.2026,412.5,1I,0.12,' ',,,"1' 'E",0.22,' ,,,2I,0.13,
run "$tidy" --recipe r x.csv
is 'a cell of two lines is none' "$(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f 1-3,6,7,16)|$err" \
    "HC-1,2026-03-01,412.5,1I,0.12,2
HC-1,2026-03-01,412.5,2I,0.13,5|valve-tidy: $x:3: column 'Valve': unknown valve '1?E'"
export_rows HC-1,1.3.2026,412.5,1I,0.12, ,,,Mean,0.12, ,,,1E,0.22, Mean,,,,0.17, ,,,2E,0.23,
reads 'a mean below the block, and one that stands in a column of it' 1 \
    'HC-1,2026-03-01,412.5,1I,0.12,,2
HC-1,2026-03-01,412.5,1E,0.22,,4' \
    "valve-tidy: $x:6: column 'Engine': blank, and line 5 above it was not taken"
export_rows ,1.3.2026,412.5,1I,0.12, HC-1,,,1E,0.22, ,,,2I,0.12,
reads 'nothing above the first row' 1 '' "valve-tidy: $x:2: column 'Engine': no engine
valve-tidy: $x:3: column 'Date': blank, and line 2 above it was not taken
valve-tidy: $x:4: column 'Engine': blank, and line 3 above it was not taken"
export_rows HC-1,1.3.2026,412.5,1I,0.12,
printf '%s\n' Engine,Date,Hours,Valve,Found,Left ,,,1E,0.22, >two.csv
run "$tidy" --recipe r x.csv two.csv
is 'another file' "$status $err" "1 valve-tidy: two.csv:2: column 'Engine': no engine"

### what was refused does not go down
export_rows HC-1,31.4.2026,412.5,1I,0.12, ,,,1E,0.22, HC-1,1.5.2026,413,1I,0.12, ,,,1E,0.22,
reads 'a date that is none' 1 'HC-1,2026-05-01,413,1I,0.12,,4
HC-1,2026-05-01,413,1E,0.22,,5' "valve-tidy: $x:2: column 'Date': bad date (D.M.Y) '31.4.2026'
valve-tidy: $x:3: column 'Engine': blank, and line 2 above it was not taken"
export_rows HC-1,1.3.2026,412.5,1I,0.12, ,,,1Q,0.22, ,,,2I,0.13, HC-2,,,1Q,0.1, ,,,1E,0.2,
reads 'only of what that row says itself' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2
HC-1,2026-03-01,412.5,2I,0.13,,4' "valve-tidy: $x:3: column 'Valve': unknown valve '1Q'
valve-tidy: $x:5: column 'Hours': blank, and what line 2 says is of another engine or date
valve-tidy: $x:6: column 'Engine': blank, and line 5 above it was not taken"
export_rows HC-1,1.3.2026,412.5,1I,0.12, ,,1E,0.22, ,,,2I,0.13,
reads 'a row with a cell too few' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2' \
    "valve-tidy: $x:3: 5 cells where the heading has 6
valve-tidy: $x:4: column 'Engine': blank, and line 3 above it was not taken"
export_rows HC-1,1.3.2026,412.5,1I,0.12, ',,"2,1E,0.22,' ,,,2I,0.13,
reads 'a row that cannot be read' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2' \
    "valve-tidy: $x:3: unclosed quote
valve-tidy: $x:4: column 'Engine': blank, and line 3 above it was not taken"
export_rows HC-1,1.3.2026,412.5,1I,0.12, ',,"2,1E,0.22,' '"HC-2",2.3.2026,5,1I,0.13,' ,,,1E,0.2,
reads 'a quote that takes in the next row' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2
HC-2,2026-03-02,5,1I,0.13,,4
HC-2,2026-03-02,5,1E,0.2,,5' "valve-tidy: $x:3: text behind a closing quote"
export_rows HC-1,1.3.2026,412.5,1I,0.1x, ,,,1E,0.22,
reads 'a reading that is refused alone costs nothing else' 1 'HC-1,2026-03-01,412.5,1E,0.22,,3' \
    "valve-tidy: $x:2: column 'Found': bad number '0.1x'"

### a remark is no engine
export_rows HC-1,1.3.2026,412.5,1I,0.12, 'seat recut,,,,,' ,,,1E,0.22,
reads 'a remark between the rows' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2' \
    "valve-tidy: $x:3: no reading, and no valve of its own: it may be a remark
valve-tidy: $x:4: column 'Engine': blank, and line 3 above it was not taken"
export_rows HC-1,1.3.2026,412.5,1I,, ,,,1E,0.22,
reads 'a valve without a reading is none' 0 'HC-1,2026-03-01,412.5,1E,0.22,,3' ''

### a meter is that of the visit, also where another one was refused between
export_rows HC-1,1.3.2026,412.5,1I,0.12, HC-2,,,1I,0.1, HC-1,1.3.2026,,1E,0.22,
reads 'another engine between' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2
HC-1,2026-03-01,412.5,1E,0.22,,4' \
    "valve-tidy: $x:3: column 'Hours': blank, and what line 2 says is of another engine or date"
export_rows HC-1,1.3.2026,412.5,1I,0.12, HC-2,,9,1I,0.1, HC-1,1.3.2026,,1E,0.22,
reads 'another meter between' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2
HC-2,2026-03-01,9,1I,0.1,,3' \
    "valve-tidy: $x:4: column 'Hours': blank, and what line 3 says is of another engine or date"

### other columns
cat >r <<'END'
column,means,unit,at,state,format,value
Date,date,,,,,
Engine,engine,,,,,
Cyl,cylinder,,,,,
Side,side,,,,,
When,state,,,,,
Lash,lash,,,,,
Unit,unit,,,,,
By,by,,,,,
Gauge,gauge,,,,,
Note,note,,,,,
Temp,temp,Cel,,,,
U,u,um,,,,
,merged,,,,,date engine cylinder side unit by gauge note temp u
END
printf '%s\n' Date,Engine,Cyl,Side,When,Lash,Unit,By,Gauge,Note,Temp,U \
    2026-03-01,HC-1,1,I,found,6,thou,ab,F1,cold,20,5 ,,,,left,8,,,,,, ,,,E,found,10,,,,,, ,,2,I,found,5,,cd,,warm,30,10 \
    ,,,,left,,,,,,, >x.csv
run "$tidy" --recipe r x.csv
# thou in mm: 6, 8, 10 and 5 times 0.0254
is 'a cell over the rows of a valve, of a cylinder, of all' "$status|$(sed '1d;$d' .out)|$err" \
    '0|HC-1,2026-03-01,,,lash,1I,0.1524,,mm,0.005,20,F1,ab,cold,x.csv,2
HC-1,2026-03-01,,,lash,1I,,0.2032,mm,0.005,20,F1,ab,cold,x.csv,3
HC-1,2026-03-01,,,lash,1E,0.254,,mm,0.005,20,F1,ab,cold,x.csv,4
HC-1,2026-03-01,,,lash,2I,0.127,,mm,0.01,30,F1,cd,warm,x.csv,5|'
printf '%s\n' ,HC-2,,I,found,6,thou,,,,, >>x.csv
run "$tidy" --recipe r x.csv
is 'a cylinder is not one of the next engine' "$status $err" \
    "1 valve-tidy: $x:7: column 'Cyl': blank, and what line 5 says is of another engine or date"
printf '%s\n' ',HC-2,1,I,found,6,thou,,,,-,' ',HC-2,1,E,found,6,thou,,,by lamp,-,' >>x.csv
run "$tidy" --recipe r x.csv
is 'nor is a note' "$(printf '%s\n' "$err" | sed 1d)|$(sed '1,5d;$d' .out)" \
    "valve-tidy: $x:8: column 'Note': blank, and what line 5 says is of another engine or date|HC-2,2026-03-01,,,lash,1E,0.1524,,mm,0.01,,F1,cd,by lamp,x.csv,9"

### a constant stands where nothing is above
recipe ',merged,,,,,engine' ',engine,,,,,HC-9'
export_rows ,1.3.2026,1,1I,0.1, HC-1,1.3.2026,2,1I,0.2, ,1.3.2026,2,1E,0.3,
reads 'a constant' 0 'HC-9,2026-03-01,1,1I,0.1,,2
HC-1,2026-03-01,2,1I,0.2,,3
HC-1,2026-03-01,2,1E,0.3,,4' ''

### a cell longer than those before it, and many rows
recipe ',merged,,,,,engine date meter'
long=$(printf '%0300d' 0 | tr 0 H)
{
    echo Engine,Date,Hours,Valve,Found,Left
    for i in 1 2 3; do
        echo "$long$i,1.3.2026,$i,1I,0.1,"
        awk 'BEGIN { for (k = 0; k < 5000; k++) print ",,,1E,0.2," }'
    done
} >x.csv
run "$tidy" --recipe r x.csv
is 'fifteen thousand rows' "$status $(sed '1d;$d' .out | cut -d, -f 1,3 | sort | uniq -c | tr -s ' ' | tr '\n' ';')" \
    "0  5001 ${long}1,1; 5001 ${long}2,2; 5001 ${long}3,3;"

### and rows that end behind their last filled cell
recipe ',merged,,,,,engine date meter' ',short_rows,,,,,yes'
export_rows HC-1,1.3.2026,412.5,1I,0.12 ,,,1E,0.22 ,,,2I,,0.16 ,, ,,,2E,0.3
reads 'short rows' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2
HC-1,2026-03-01,412.5,1E,0.22,,3
HC-1,2026-03-01,412.5,2I,,0.16,4' "valve-tidy: $x:6: column 'Engine': no engine"

### a row that a mark has put out of use
recipe ',merged,,,,,engine date meter' ',remark,,,,,#'
{
    echo '# log of the yard'
    printf '%s\n' Engine,Date,Hours,Valve,Found,Left HC-1,1.3.2026,412.5,1I,0.12, ,,,1E,0.22,
} >x.csv
reads 'a remark above the heading' 0 'HC-1,2026-03-01,412.5,1I,0.12,,3
HC-1,2026-03-01,412.5,1E,0.22,,4' "valve-tidy: $x: 1 remark passed over"
export_rows HC-1,1.3.2026,412.5,1I,0.12, '# measured cold' ',,,1E,0.22,'
reads 'it, or a remark, stands where the engine is said' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2' \
    "valve-tidy: $x:4: column 'Engine': blank, and line 3 above it was not taken
valve-tidy: $x: 1 remark passed over"
export_rows HC-1,1.3.2026,412.5,1I,0.12, '' '# HC-2' HC-2,2.3.2026,5,1I,0.1, ,,,1E,0.2, \
    '#,a "b",,,,' ,,7,2I,0.3,
reads 'between blocks it does no harm' 1 'HC-1,2026-03-01,412.5,1I,0.12,,2
HC-2,2026-03-02,5,1I,0.1,,5
HC-2,2026-03-02,5,1E,0.2,,6' "valve-tidy: $x:8: column 'Engine': blank, and line 7 above it was not taken
valve-tidy: $x: 2 remarks passed over"

### what a recipe may say
# wrong NAME VALUE MESSAGE
wrong() {
    recipe ",merged,,,,,$2"
    run "$tidy" --recipe r x.csv
    is "$1" "$status $err" "2 valve-tidy: $3"
}
wrong 'readings are never taken from above' 'engine found' "r:8: merged cells are of engine to note, not of 'found'"
wrong 'nor by their quantity' lash "r:8: merged cells are of engine to note, not of 'lash'"
wrong 'nor as reading' reading "r:8: merged cells are of engine to note, not of 'reading'"
wrong 'what is ignored needs none' ignore "r:8: merged cells are of engine to note, not of 'ignore'"
wrong 'nothing' '" , "' "r:8: merged cells of what: ','"
wrong 'without a column' gauge "x.csv: merged cells in no column: 'gauge'"
done_testing
