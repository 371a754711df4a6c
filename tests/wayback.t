#!/bin/sh
# The sheet of valve-set, filled in with a spreadsheet: what comes back as it should, and what is
# refused in words that say what to do.
. tests/tap.sh
cd "$work" || exit 1
"$bin/valve-set" --recipe >r

cat >sheet.csv <<'END_OF_SHEET'
engine,date,meter,meter_unit,stop,crank_deg,firing,rocking,at,read,found,u,target,lash_min,lash_max,verdict,do,close_by,turns,turn_deg,shim_out,shim_in,shim_from,shim_wanted,after,reads,temp_c,left,why
HC-1,2025-03-01,1234.5,h,1,0,1,,1I,2025-03-01,0.12,0.01,0.2,0.15,0.25,out,swap,-0.08,,,2.475,2.4,buy,2.395,0.195,0.195,18.5,0.20,
HC-1,2025-03-01,1234.5,h,1,0,1,,1E1,2025-03-01,0.22,0.01,0.3,0.25,0.35,out,swap,-0.08,,,2.475,2.4,buy,2.395,0.295,0.295,18.5,0.29,
HC-1,2025-03-01,1234.5,h,1,0,1,,1E2,2025-03-01,0.3,0.01,0.3,0.25,0.35,in,leave,0,,,,,,,0.3,0.3,18.5,,
END_OF_SHEET
want='HC-1,2025-03-01,1234.5,h,shim,1I,,2.4,mm
HC-1,2025-03-01,1234.5,h,lash,1I,,0.2,mm
HC-1,2025-03-01,1234.5,h,shim,1E1,,2.4,mm
HC-1,2025-03-01,1234.5,h,lash,1E1,,0.29,mm'

# back NAME STATUS READINGS ERR [ARGUMENT...]: x.csv comes back
back() {
    back_name=$1 back_status=$2 back_want=$3 back_err=$4
    shift 4
    run "$bin/valve-tidy" --recipe r "$@" x.csv
    is "$back_name" "$status$nl$(sed '1d; /,,,,end,/d' .out | cut -d, -f 1-9)$nl$err" \
        "$back_status$nl$back_want$nl$back_err"
}
cp sheet.csv x.csv
back 'as it was printed' 0 "$want" ''
awk -F, -v OFS=, '{ for (i = NF; i > 1; i--) printf "%s,", $i; print $1 }' sheet.csv >x.csv
back 'columns the other way round' 0 "HC-1,2025-03-01,1234.5,h,lash,1I,,0.2,mm
HC-1,2025-03-01,1234.5,h,shim,1I,,2.4,mm
HC-1,2025-03-01,1234.5,h,lash,1E1,,0.29,mm
HC-1,2025-03-01,1234.5,h,shim,1E1,,2.4,mm" ''
{ sed 's/$/,,/' sheet.csv; sed -n 's/[^,]*//g; 1p' sheet.csv; } >x.csv
back 'blank columns and rows' 0 "$want" ''
sed '1s/$/,comment/; 2,$s/$/,tight/' sheet.csv >x.csv
back 'a column of remarks' 2 '' "valve-tidy: x.csv:1: the recipe gives no meaning (it may be ignore) to column 'comment'"
sed 's/,/;/g; s/\./,/g' sheet.csv >x.csv
back 'semicolons' 2 '' 'valve-tidy: x.csv:1: no heading as the recipe has it; the cells seem to be parted by a semicolon, as --set delimiter=semicolon would say'
back 'decimal commas' 1 '' "valve-tidy: x.csv:2: column 'meter': bad number '1234,5': the decimal mark of the recipe is a point
valve-tidy: x.csv:3: column 'meter': bad number '1234,5': the decimal mark of the recipe is a point
valve-tidy: x.csv:4: column 'meter': bad number '1234,5': the decimal mark of the recipe is a point" \
    --set delimiter=semicolon
back 'semicolons and decimal commas, both said' 0 "$want" '' --set delimiter=semicolon --set decimal=comma
back 'two decimal marks, neither here' 2 '' "valve-tidy: x.csv:1: no heading as the recipe has it; the cells seem to be parted by a semicolon, as --set delimiter=semicolon would say" \
    --set delimiter=tab --set decimal=comma
sed -n '1,2p' sheet.csv | sed 's/,/;/g' >x.csv
back 'points where a comma was stated' 1 '' "valve-tidy: x.csv:2: column 'meter': bad number '1234.5': the decimal mark of the recipe is a comma" \
    --set delimiter=semicolon --set decimal=comma
sed -n '1,2s/0\.20,$/0.2O,/; 1,2p' sheet.csv >x.csv
back 'a letter in a number' 1 'HC-1,2025-03-01,1234.5,h,shim,1I,,2.4,mm' "valve-tidy: x.csv:2: column 'left': bad number '0.2O'"
sed -n '1,2s/,2025-03-01,1234/,01.03.2025,1234/; 1,2p' sheet.csv >x.csv
back 'a date in the way of the country' 1 '' "valve-tidy: x.csv:2: column 'date': how its parts stand the format of the recipe has to say, as in D.M.Y: '01.03.2025'"
sed -n '1,2s/,2025-03-01,1234/,2025-02-30,1234/; 1,2p' sheet.csv >x.csv
back 'no such day' 1 '' "valve-tidy: x.csv:2: column 'date': bad date '2025-02-30'"
made="no valve but a number, as spreadsheets make of 3E1 unless the column is imported as text:"
for number in 10 100 1.00E+01 1.00E+02; do
    sed -n "1p; 3s/,1E1,/,$number,/p" sheet.csv | sed 's/,2\.4,buy,/,,,/' >x.csv
    back "1E1 as $number" 1 '' "valve-tidy: x.csv:2: column 'at': $made '$number'"
done
sed -n "1p; 3s/,1E1,/,12,/p" sheet.csv | sed 's/,2\.4,buy,/,,,/' >x.csv
back 'a cylinder without a side' 1 '' "valve-tidy: x.csv:2: column 'at': no side named"

done_testing
