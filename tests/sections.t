#!/bin/sh
# Exports that hold more than one table, or that say another engine or day than the recipe:
# nothing of a second table is read as if it belonged to the first.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1

# part NAME STATUS READINGS ERR [ARGUMENT...]: the recipe is r, the export x.csv; of the
# readings engine, date, place, found and left
part() {
    part_name=$1 part_status=$2 part_want=$3 part_err=$4
    shift 4
    run "$tidy" --recipe r "$@" x.csv
    is "$part_name" "$status$nl$(sed '1d; /,,,,end,/d' .out | cut -d, -f 1,2,6-8)$nl$err" \
        "$part_status$nl$part_want$nl$part_err"
}
# recipe ROW...
recipe() {
    printf '%s\n' column,means,unit,at,state,format,value "$@" >r
}
cut_heading='which looks like another heading: cut the export there and read each part by a recipe of its own'
cut_engine='cut the export there and read each part by itself, with --set engine=...'

### another heading
recipe Engine,engine Date,date '1I mm,lash,mm,1I' '1E mm,lash,mm,1E'
printf '%s\n' 'Engine,Date,1I mm,1E mm' A,2025-03-02,0.15,0.25 'Engine,Date,1E mm,1I mm' B,2025-03-02,0.26,0.16 \
    '' 'Engine,Date,1I mm,1E mm' C,2025-03-02,0.17,0.27 >x.csv
part 'columns in another order' 1 'A,2025-03-02,1I,0.15,
A,2025-03-02,1E,0.25,
C,2025-03-02,1I,0.17,
C,2025-03-02,1E,0.27,' "valve-tidy: x.csv:3: column 'Date': bad date 'Date'
valve-tidy: x.csv:4: below line 3, $cut_heading"
printf '%s\n' 'Engine,Date,1I mm,1E mm' A,2025-03-02,0.15,0.25 'Engine,Date,1I thou,1E thou' B,2025-03-02,1,2 >x.csv
part 'another unit' 1 'A,2025-03-02,1I,0.15,
A,2025-03-02,1E,0.25,' "valve-tidy: x.csv:3: column 'Date': bad date 'Date'
valve-tidy: x.csv:4: below line 3, $cut_heading"
printf '%s\n' 'Engine,Date,1I mm,1E mm' A,2025-03-02,0.15,0.25 Engine,Date B,2025-03-02,0.16,0.26 >x.csv
part 'a heading that merely lacks some changes nothing' 1 'A,2025-03-02,1I,0.15,
A,2025-03-02,1E,0.25,
B,2025-03-02,1I,0.16,
B,2025-03-02,1E,0.26,' 'valve-tidy: x.csv:3: 2 cells where the heading has 4'
printf '%s\n' 'Engine,Date,1I mm,1E mm' Date,soon,0.15,0.25 B,2025-03-02,0.16,0.26 >x.csv
part 'a refused row with one word of the heading is none' 1 'B,2025-03-02,1I,0.16,
B,2025-03-02,1E,0.26,' "valve-tidy: x.csv:2: column 'Date': bad date 'soon'"
recipe 'Valve,valve' 'Found mm,lash,mm' ,engine,,,,,A ,date,,,,,2025-03-02
printf '%s\n' 'Valve,Found mm' 1I,0.15 'Valve,Found thou' 1E,1 >x.csv
part 'two columns, one of them the same' 1 'A,2025-03-02,1I,0.15,' \
    "valve-tidy: x.csv:3: column 'Valve': unknown valve 'Valve'
valve-tidy: x.csv:4: below line 3, $cut_heading"

### an engine or a day between the rows
printf '%s\n' 'Engine: A' 'Date: 02.03.2025' 'Valve,Found mm' 1I,0.15 '' 'Engine: A' 'Date: 02.03.2025' 'Valve,Found mm' \
    1E,0.25 >x.csv
part 'the same engine once more, on every page' 1 'A,2025-03-02,1I,0.15,
A,2025-03-02,1E,0.25,' 'valve-tidy: x.csv:6: 1 cell where the heading has 2
valve-tidy: x.csv:7: 1 cell where the heading has 2'
printf '%s\n' 'Engine: A' 'Valve,Found mm' 1I,0.15 '' 'Engine: B' 'Valve,Found mm' 1E,0.25 >x.csv
part 'another engine' 1 'A,2025-03-02,1I,0.15,' "valve-tidy: x.csv:5: 1 cell where the heading has 2
valve-tidy: x.csv:7: below line 5, which says engine 'B': $cut_engine"
for i in 'Engine serial no.: B' 'Serial No. of engine: B' 'Asset: B' 'Vessel = B' 'Maschine Nr.: B' 'Machine ID: B'; do
    printf '%s\n' 'Valve,Found mm' 1I,0.15 '' "$i" 1E,0.25 >x.csv
    part "another engine: $i" 1 'A,2025-03-02,1I,0.15,' \
        "valve-tidy: x.csv:4: 1 cell where the heading has 2
valve-tidy: x.csv:5: below line 4, which says engine 'B': $cut_engine"
done
for i in 'Date of visit: 3.4.2025' 'Visit date: 2025-04-03' 'Dated: 3.4.2025'; do
    printf '%s\n' 'Valve,Found mm' 1I,0.15 '' "$i" 1E,0.25 >x.csv
    part "another day: $i" 1 'A,2025-03-02,1I,0.15,' "valve-tidy: x.csv:4: 1 cell where the heading has 2
valve-tidy: x.csv:5: below line 4, which says date '${i#*: }': cut the export there and read each part by itself, with --set date=..."
done
printf '%s\n' 'Engine: A' 'Valve,Found mm' 1I,0.15 '' 'Engine: B' 'Valve,Found mm' 1E,0.25 >x.csv
part 'a line of another engine, whatever the command line says of the first' 1 'A7,2025-03-02,1I,0.15,' \
    "valve-tidy: x.csv:5: 1 cell where the heading has 2
valve-tidy: x.csv:7: below line 5, which says engine 'B': $cut_engine" --set engine=A7
printf '%s\n' 'Valve,Found mm' 1I,0.15 Motor-Nr.,B 1E,0.25 >x.csv
part 'another engine, in a cell beside its word' 1 'A,2025-03-02,1I,0.15,' \
    "valve-tidy: x.csv:3: column 'Valve': unknown valve 'Motor-Nr.'
valve-tidy: x.csv:4: below line 3, which says engine 'B': $cut_engine"
printf '%s\n' 'Valve,Found mm' 1I,0.15 'Date,3/9/2025' 1E,0.25 >x.csv
part 'another day' 1 'A,2025-03-02,1I,0.15,' "valve-tidy: x.csv:3: column 'Valve': unknown valve 'Date'
valve-tidy: x.csv:4: below line 3, which says date '3/9/2025': cut the export there and read each part by itself, with --set date=..."
printf '%s\n' '# Engine: A' 'Valve,Found mm' 1I,0.15 '# Engine: B' 1E,0.25 >x.csv
part 'another engine in a remark' 1 'A,2025-03-02,1I,0.15,' "valve-tidy: x.csv:5: below line 4, which says engine 'B': $cut_engine
valve-tidy: x.csv: 2 remarks passed over" --set 'remark=#'
printf '%s\n' 'Valve,Found mm' 1I,0.15 'Engine oil,15W40' 'Engine,' 'Date,soon' 'Engine,Date' 1E,0.25 >x.csv
part 'no engine and no day' 1 'A,2025-03-02,1I,0.15,
A,2025-03-02,1E,0.25,' "valve-tidy: x.csv:3: column 'Valve': unknown valve 'Engine oil'
valve-tidy: x.csv:4: column 'Valve': unknown valve 'Engine'
valve-tidy: x.csv:5: column 'Valve': unknown valve 'Date'
valve-tidy: x.csv:6: column 'Valve': unknown valve 'Engine'"
recipe 'Remark,note' '1I,lash,mm,1I' '1E,lash,mm,1E' ,engine,,,,,A ,date,,,,,2025-03-02
printf '%s\n' Remark,1I,1E ,0.15,0.25 'Engine: B,,' ,0.16,0.26 >x.csv
part 'another engine in a row without readings' 1 'A,2025-03-02,1I,0.15,
A,2025-03-02,1E,0.25,' "valve-tidy: x.csv:4: below line 3, which says engine 'B': $cut_engine"

### the recipe of another export
printf '%s\n' 'Engine: B,,' Remark,1I,1E ,0.15,0.25 >x.csv
part 'a recipe that states the engine of another export' 2 '' \
    "valve-tidy: x.csv:1: the engine is 'B' here and 'A' in the recipe: state the right one, as in --set engine='B'"
part 'the command line knows better' 0 'A,2025-03-02,1I,0.15,
A,2025-03-02,1E,0.25,' '' --set engine=A
printf '%s\n' 'Vehicle: T-1,,' 'Engine: A,,' Remark,1I,1E ,0.15,0.25 >x.csv
part 'one of two labels is that of the recipe' 0 'A,2025-03-02,1I,0.15,
A,2025-03-02,1E,0.25,' ''
printf '%s\n' 'Date: 09/03/2025,,' Remark,1I,1E ,0.15,0.25 >x.csv
part 'a recipe that states the day of another export' 2 '' \
    "valve-tidy: x.csv:1: the date is '09/03/2025' here and '2025-03-02' in the recipe: state the right one, as in --set date='YYYY-MM-DD'"
printf '%s\n' 'Date: 3/2/2025,,' Remark,1I,1E ,0.15,0.25 >x.csv
part 'a day that may be that of the recipe' 0 'A,2025-03-02,1I,0.15,
A,2025-03-02,1E,0.25,' ''

done_testing
