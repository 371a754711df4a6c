#!/bin/sh
# valve-tidy: exports of every kind in, exactly these readings out.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1

heading='engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line'

# recipe <<END: the recipe `r` of these rows
recipe() {
    echo 'column,means,unit,at,state,format,value' >r
    cat >>r
}

# crc <FILE: CRC-32 as gzip keeps it in the last eight bytes it writes
crc() {
    gzip -c | tail -c 8 | od -An -tx1 | (read -r a b c d _ && echo "$d$c$b$a")
}

# gives NAME STATUS ROWS ERR ARGUMENT...: status, standard output and standard error are
# exactly these; below status 2 the end row counts the rows and sums the bytes above it
gives() {
    gives_name=$1 gives_status=$2 gives_rows=$3 gives_err=$4
    shift 4
    {
        echo "$heading"
        [ -z "$gives_rows" ] || printf '%s\n' "$gives_rows"
    } >want
    if [ "$gives_status" -lt 2 ]; then
        gives_sum=$(crc <want)
        echo ",,,,end,,$(grep -c '[0-9]$' want),,,,,,,$gives_sum,," >>want
    fi
    run "$tidy" --recipe r "$@"
    is "$gives_name" "$status$nl$out$nl$err" "$gives_status$nl$(cat want)$nl$gives_err"
}

### one row a valve; marks between cells
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
Hours,meter,h,,,,
Valve,valve,,,,,
Found,lash,mm,,found,,
Left,lash,mm,,left,,
By,by,,,,,
Note,note,,,,,
END
cat >long.csv <<'END'
Engine,Date,Hours,Valve,Found,Left,By,Note
HC-1,2026-03-02,412.5,1I,0.12,0.15,ab,
HC-1,2026-03-02,412.5,1 exhaust,.22,,ab,"tight, ""again"""
HC-1,2026-03-02,0412.50,Cyl 2 Inlet,-,0.150,,
END
long='HC-1,2026-03-02,412.5,h,lash,1I,0.12,0.15,mm,,,,ab,,long.csv,2
HC-1,2026-03-02,412.5,h,lash,1E,0.22,,mm,,,,ab,"tight, ""again""",long.csv,3
HC-1,2026-03-02,412.5,h,lash,2I,,0.15,mm,,,,,,long.csv,4'
gives 'comma' 0 "$long" '' long.csv
ok 'the bytes are those of the text' cmp .out want
cp long.csv comma.csv
for mark in 'semicolon ;' 'tab \t' 'pipe |'; do
    sed 's/tight, /tight; /' comma.csv | tr ',' "${mark#* }" | sed 's/tight./tight,/' >long.csv
    gives "${mark% *}" 0 "$long" '' --set "delimiter=${mark% *}" long.csv
done
printf '\357\273\277' | cat - comma.csv | sed 's/$/\r/' >long.csv
gives 'byte order mark, CR LF' 0 "$long" '' long.csv
tr '\n' '\r' <comma.csv >long.csv
gives 'CR' 0 "$long" '' long.csv
printf '%s' "$(cat comma.csv)" >long.csv
gives 'no final newline' 0 "$long" '' long.csv
run "$tidy" --recipe r - <long.csv
is 'standard input' "$status $err$out" "0 $(sed '/end/d; s/long\.csv/stdin/' want)
,,,,end,,3,,,,,,,$(sed '/end/d; s/long\.csv/stdin/' want | crc),,"
run "$tidy" --recipe r <long.csv
ok 'standard input without being asked for' grep -q 'again""",stdin,3' .out

### encodings, compression
{ printf '\377\376' && iconv -f UTF-8 -t UTF-16LE comma.csv; } >long.csv
gives 'UTF-16LE, mark' 0 "$long" '' long.csv
iconv -f UTF-8 -t UTF-16BE comma.csv >long.csv
gives 'UTF-16BE, by name' 0 "$long" '' --set encoding=UTF-16BE long.csv
mkdir gz
gzip -c comma.csv >gz/long.csv
gives 'gzip, and the path is no part of the source' 0 "$long" '' gz/long.csv
{ head -n 2 comma.csv | gzip -c && tail -n +3 comma.csv | gzip -c; } >long.csv
gives 'gzip in two members' 0 "$long" '' long.csv
recipe <<'END'
Motor,engine,,,,,
Prüfdatum,date,,,,D.M.Y,
Zähler [km],meter,,,,,
Ventil,valve,,,,,
Spiel (mm),lash,,,,,
Öltemp. °C,temp,,,,,
,encoding,,,,,WINDOWS-1252
,delimiter,,,,,semicolon
,decimal,,,,,comma
,group,,,,,point
END
{
    printf 'Motor;Pr\374fdatum;Z\344hler [km];Ventil;Spiel (mm);\326ltemp. \260C\n'
    printf 'D-07;2.3.2026;120.500,5;4E;0,30;18,5\n'
    printf 'D-07;02.03.2026;1.120.500;4I;,2;-3\n'
} >blatt.csv
gives 'windows-1252, decimal comma, groups' 0 \
    'D-07,2026-03-02,120500.5,km,lash,4E,0.3,,mm,,18.5,,,,blatt.csv,2
D-07,2026-03-02,1120500,km,lash,4I,0.2,,mm,,-3,,,,blatt.csv,3' '' blatt.csv

### preamble, units row, repeated heading, totals, blank rows
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,Y-M-D,
Meter,meter,,,,,
Valve,valve,,,,,
Lash,lash,,,,,
Temp,temp,,,,,
,units_row,,,,,yes
,totals,,,,,Mean
,totals,,,,,Sum of all
END
cat >sheet.csv <<'END'
Workshop 3,,,,,
"printed by, hm
,,,,,

Engine,,Date
 engine ,DATE,Meter,"Valve
",Lash,Temp
,,mi,,thou,F
D-07,2026-03-02,1000,1I,6,68
,,,,,
 , ,,,,
Engine,Date,Meter,Valve,Lash,Temp
D-07,2026-03-02,1000,1E,11.5,70
Mean,,,,8.75,
,Sum of all,,,17.5,
END
sheet='D-07,2026-03-02,1609.344,km,lash,1I,0.1524,,mm,,20,,,,sheet.csv,9
D-07,2026-03-02,1609.344,km,lash,1E,0.2921,,mm,,21.1111,,,,sheet.csv,13'
gives 'preamble, units row, headings again, totals' 0 "$sheet" '' sheet.csv
gives 'the same with skip' 0 "$sheet" '' --set skip=5 sheet.csv
gives 'skip one line too many' 2 '' \
    "valve-tidy: sheet.csv:8: no heading as the recipe has it; the nearest row lacks column 'engine'" \
    --set skip=7 sheet.csv

### one row a cylinder
recipe <<'END'
Car,engine,,,,,
Day,date,,,,M/D/Y,
Cyl,cylinder,,,,,
IN found [mm],lash,,I,found,,
IN left [mm],lash,,I,left,,
EX1 found [mm],lash,,E1,found,,
EX1 left [mm],lash,,E1,left,,
EX2 found [mm],lash,,E2,found,,
END
cat >cyl.csv <<'END'
Car,Day,Cyl,IN found [mm],IN left [mm],EX1 found [mm],EX1 left [mm],EX2 found [mm]
HC-2,3/4/2026,1,0.10,0.15,0.20,0.25,0.21
HC-2,3/4/2026,cyl 2,n/a,,0.22,,?
END
gives 'one row a cylinder' 0 'HC-2,2026-03-04,,,lash,1I,0.1,0.15,mm,,,,,,cyl.csv,2
HC-2,2026-03-04,,,lash,1E1,0.2,0.25,mm,,,,,,cyl.csv,2
HC-2,2026-03-04,,,lash,1E2,0.21,,mm,,,,,,cyl.csv,2
HC-2,2026-03-04,,,lash,2E1,0.22,,mm,,,,,,cyl.csv,3' '' cyl.csv

### one row a visit
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
1I,lash,mm,1I,,,
1E,lash,mm,1E,,,
2I set,lash,mm,2I,left,,
Remark,ignore,,,,,
END
printf 'Engine,Date,1I,1E,2I set,Remark,\nHC-3,2026-03-04T08:30,0.1,0.2,0.15,x,\n' >visit.csv
gives 'one row a visit' 0 'HC-3,2026-03-04T08:30,,,lash,1I,0.1,,mm,,,,,,visit.csv,2
HC-3,2026-03-04T08:30,,,lash,1E,0.2,,mm,,,,,,visit.csv,2
HC-3,2026-03-04T08:30,,,lash,2I,,0.15,mm,,,,,,visit.csv,2' '' visit.csv

### found and left as rows
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
Valve,valve,,,,,
Reading,state,,,,,
Lash,lash,mm,,,,
Reading,state,,,left,,As set
Reading,state,,,found,,OLD
END
cat >rows.csv <<'END'
Engine,Date,Valve,Reading,Lash
HC-4,2026-03-04,1I,before,0.1
HC-4,2026-03-04,1I,As set,0.15
HC-4,2026-03-04,1E,OLD,0.2
HC-4,2026-03-04,1E,old,0.2
HC-4,2026-03-04,2E,After,0.2
END
gives 'found and left as rows' 1 'HC-4,2026-03-04,,,lash,1I,0.1,,mm,,,,,,rows.csv,2
HC-4,2026-03-04,,,lash,1I,,0.15,mm,,,,,,rows.csv,3
HC-4,2026-03-04,,,lash,1E,0.2,,mm,,,,,,rows.csv,4
HC-4,2026-03-04,,,lash,2E,,0.2,mm,,,,,,rows.csv,6' \
    "valve-tidy: rows.csv:5: column 'Reading': neither found nor left: 'old'" rows.csv

### bare numbers
recipe <<'END'
#1,lash,mm,,,,
,heading,,,,,no
,order,,,,,"1I 1E, 2I"
,engine,,,,,HC-5
,date,,,,,2026-03-05
,gauge,,,,,dti-1
END
printf '0.10\n0.20 mm\n\n+.3\n' >bare.txt
bare='HC-5,2026-03-05,,,lash,1I,0.1,,mm,,,dti-1,,,bare.txt,1
HC-5,2026-03-05,,,lash,1E,0.2,,mm,,,dti-1,,,bare.txt,2
HC-5,2026-03-05,,,lash,2I,0.3,,mm,,,dti-1,,,bare.txt,4'
gives 'bare numbers' 0 "$bare" '' bare.txt
printf '0.10\n0.20\n0.30\n0.15\n0.25\n0.35\n' >both.txt
gives 'bare numbers, twice round' 0 \
    'HC-5,2026-03-05,,,lash,1I,0.1,0.15,mm,,,dti-1,,,both.txt,4
HC-5,2026-03-05,,,lash,1E,0.2,0.25,mm,,,dti-1,,,both.txt,5
HC-5,2026-03-05,,,lash,2I,0.3,0.35,mm,,,dti-1,,,both.txt,6' '' \
    --set 'passes=found left' both.txt
gives 'bare numbers, left' 0 'HC-5,2026-03-05,,,lash,1I,,0.1,mm,,,dti-1,,,bare.txt,1
HC-5,2026-03-05,,,lash,1E,,0.2,mm,,,dti-1,,,bare.txt,2
HC-5,2026-03-05,,,lash,2I,,0.3,mm,,,dti-1,,,bare.txt,4' '' --set passes=left bare.txt
printf '0.10\n0.20\n0.30\n0.40\n' >more.txt
gives 'one number too many: none is taken' 2 '' \
    'valve-tidy: more.txt: 4 numbers where the order names 3: none can be told apart' more.txt
head -n 2 more.txt >less.txt
gives 'one too few; the file behind it stands' 2 "$bare" \
    'valve-tidy: less.txt: 2 numbers where the order names 3: none can be told apart' \
    less.txt bare.txt
printf '0.10\n0.2x\n0.30\n' >slip.txt
gives 'a wrong one keeps its place' 1 'HC-5,2026-03-05,,,lash,1I,0.1,,mm,,,dti-1,,,slip.txt,1
HC-5,2026-03-05,,,lash,2I,0.3,,mm,,,dti-1,,,slip.txt,3' \
    "valve-tidy: slip.txt:2: bad number '0.2x'" slip.txt
printf '0,10\n0,20\n0,30\n' >comma.txt
gives 'a decimal comma that is the delimiter too is no reading' 1 '' \
    'valve-tidy: comma.txt:1: 2 cells, a number was expected
valve-tidy: comma.txt:2: 2 cells, a number was expected
valve-tidy: comma.txt:3: 2 cells, a number was expected' --set decimal=comma comma.txt
printf '0.10,\n0.20, \n0.30\n' >trailing.txt
gives 'blank cells behind a number do no harm' 0 'HC-5,2026-03-05,,,lash,1I,0.1,,mm,,,dti-1,,,trailing.txt,1
HC-5,2026-03-05,,,lash,1E,0.2,,mm,,,dti-1,,,trailing.txt,2
HC-5,2026-03-05,,,lash,2I,0.3,,mm,,,dti-1,,,trailing.txt,3' '' trailing.txt
printf '0.10\n0.2\0000\n0.30\n' >nul.txt
gives 'a line that is no text keeps its place' 1 'HC-5,2026-03-05,,,lash,1I,0.1,,mm,,,dti-1,,,nul.txt,1
HC-5,2026-03-05,,,lash,2I,0.3,,mm,,,dti-1,,,nul.txt,3' 'valve-tidy: nul.txt:2: NUL byte' nul.txt
seq 1 20000 | awk '{ print $1 * 7919 % 10007 / 10007 }' | gzip -c | head -c 40000 >cut.txt
gives 'a packed file that was cut' 2 '' 'valve-tidy: cut.txt: gzip data end too early' cut.txt
gives 'a constant that cannot be read' 2 '' "valve-tidy: bare.txt: bad number 'hot'
valve-tidy: bare.txt: no number of it can be used" --set temp=hot --rejects x bare.txt
is 'a constant is in no row' "$(cat x)" 'source,line,column,reason,row'

### a unit in the cell is stronger than one in the heading
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
Meter,meter,h,,,,
Valve,valve,,,,,
Lash [mm],lash,,,,,
END
cat >own.csv <<'END'
Engine,Date,Meter,Valve,Lash [mm]
HC-6,2026-03-06,10,1I,4 thou
HC-6,2026-03-06,10 h,1E,.004"
HC-6,2026-03-06,100 mi,2I,0.10 mm
HC-6,2026-03-06,3 km,2E,100 [um]
HC-6,2026-03-06,,3I,100um
HC-6,2026-03-06,-,3E,0.004 [in_i]
HC-6,2026-03-06,7 furlongs,4E,0.3
END
gives 'a unit in the cell' 1 'HC-6,2026-03-06,10,h,lash,1I,0.1016,,mm,,,,,,own.csv,2
HC-6,2026-03-06,10,h,lash,1E,0.1016,,mm,,,,,,own.csv,3
HC-6,2026-03-06,160.9344,km,lash,2I,0.1,,mm,,,,,,own.csv,4
HC-6,2026-03-06,,,lash,3I,0.1,,mm,,,,,,own.csv,6
HC-6,2026-03-06,,,lash,3E,0.1016,,mm,,,,,,own.csv,7' \
    "valve-tidy: own.csv:5: column 'Lash [mm]': unknown unit '[um]'
valve-tidy: own.csv:8: column 'Meter': unknown unit 'furlongs'" own.csv

### go and no-go. TM 5-3820-233-12/1 p. 4: the 0.011 in blade passes, the 0.013 in blade
### does not: 0.012 in = 0.3048 mm, u = 0.0508 / sqrt(12) = 0.014664697 (GUM 4.3.7)
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
Valve,valve,,,,,
go,lash,in,,found,go,
no-go,lash,in,,found,no-go,
left,lash,in,,left,,
END
cat >blade.csv <<'END'
Engine,Date,Valve,go,no-go,left
D-08,2026-03-07,1E,0.011,0.013,0.012
D-08,2026-03-07,2E,0.013,0.011,
D-08,2026-03-07,3E,0.011,0.011,
D-08,2026-03-07,4E,0.011,,0.012
D-08,2026-03-07,5E,,0.013,
D-08,2026-03-07,6E,,,0.010
END
gives 'go and no-go' 1 'D-08,2026-03-07,,,lash,1E,0.3048,0.3048,mm,0.0146647,,,,,blade.csv,2
D-08,2026-03-07,,,lash,4E,,0.3048,mm,,,,,,blade.csv,5
D-08,2026-03-07,,,lash,6E,,0.254,mm,,,,,,blade.csv,7' \
    "valve-tidy: blade.csv:3: column 'no-go': the no-go blade is not thicker than the one that goes
valve-tidy: blade.csv:4: column 'no-go': the no-go blade is not thicker than the one that goes
valve-tidy: blade.csv:5: column 'no-go': one half of a go/no-go pair is missing
valve-tidy: blade.csv:6: column 'go': one half of a go/no-go pair is missing" blade.csv

### given twice, in inch and mm. Lines 2 to 4 are TM 5-3895-385-23-2, table 1. Lines 5 to
### 8 are the slips of TM 10-4320-307-24 p. 2-223 and TM 9-2815-256-24 p. 3-148.
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
Valve,valve,,,,,
in,recess,in,,found,,
mm,recess,mm,,found,,
END
cat >twice.csv <<'END'
Engine,Date,Valve,in,mm
D-09,2026-03-08,1I,0.006,0.152
D-09,2026-03-08,1E,0.015,0.381
D-09,2026-03-08,2E,0.030,0.762
D-09,2026-03-08,3I,0.011,0.028
D-09,2026-03-08,3E,0.023,0.058
D-09,2026-03-08,4I,0.044,1.11
D-09,2026-03-08,4E,0.068,1.72
D-09,2026-03-08,5I,0.010,
D-09,2026-03-08,5E,,0.25
D-09,2026-03-08,6I,0.00600,0.15
END
good='D-09,2026-03-08,,,recess,1I,0.152,,mm,,,,,,twice.csv,2
D-09,2026-03-08,,,recess,1E,0.381,,mm,,,,,,twice.csv,3
D-09,2026-03-08,,,recess,2E,0.762,,mm,,,,,,twice.csv,4'
rest='D-09,2026-03-08,,,recess,5I,0.254,,mm,,,,,,twice.csv,9
D-09,2026-03-08,,,recess,5E,0.25,,mm,,,,,,twice.csv,10'
gives 'inch and mm' 1 "$good$nl$rest" \
    "valve-tidy: twice.csv:5: column 'mm': column 'in' says 0.2794 mm, this one 0.028 mm
valve-tidy: twice.csv:6: column 'mm': column 'in' says 0.5842 mm, this one 0.058 mm
valve-tidy: twice.csv:7: column 'mm': column 'in' says 1.1176 mm, this one 1.11 mm
valve-tidy: twice.csv:8: column 'mm': column 'in' says 1.7272 mm, this one 1.72 mm
valve-tidy: twice.csv:11: column 'mm': column 'in' says 0.1524 mm, this one 0.15 mm" twice.csv
gives 'agree: cut off instead of rounded is let pass' 1 "$good
D-09,2026-03-08,,,recess,4I,1.11,,mm,,,,,,twice.csv,7
D-09,2026-03-08,,,recess,4E,1.72,,mm,,,,,,twice.csv,8
$rest
D-09,2026-03-08,,,recess,6I,0.1524,,mm,,,,,,twice.csv,11" \
    "valve-tidy: twice.csv:5: column 'mm': column 'in' says 0.2794 mm, this one 0.028 mm
valve-tidy: twice.csv:6: column 'mm': column 'in' says 0.5842 mm, this one 0.058 mm" \
    --set agree=0.003 twice.csv

### angles: WAEC examination report Auto220Mq2
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
IO,opens,,1I,,,
IC,closes,,1I,,,
EO,opens,,1E,,,
EC,closes,,1E,,,
Cam [cam deg],opens,,2I,,,
,decimal,,,,,comma
,delimiter,,,,,semicolon
END
cat >angle.csv <<'END'
Engine;Date;IO;IC;EO;EC;Cam [cam deg]
HC-7;2026-03-09;6 BTDC;35° ABDC;38 deg. BBDC;5 ATDC;-6,25
HC-7;2026-03-10;6 BTDC;35 ADC;400;;7 ATDC
END
gives 'angles' 1 'HC-7,2026-03-09,,,opens,1I,-6,,deg,,,,,,angle.csv,2
HC-7,2026-03-09,,,closes,1I,215,,deg,,,,,,angle.csv,2
HC-7,2026-03-09,,,opens,1E,-218,,deg,,,,,,angle.csv,2
HC-7,2026-03-09,,,closes,1E,5,,deg,,,,,,angle.csv,2
HC-7,2026-03-09,,,opens,2I,-12.5,,deg,,,,,,angle.csv,2
HC-7,2026-03-10,,,opens,1I,-6,,deg,,,,,,angle.csv,3
HC-7,2026-03-10,,,opens,2I,14,,deg,,,,,,angle.csv,3' \
    "valve-tidy: angle.csv:3: column 'IC': bad angle '35 ADC'
valve-tidy: angle.csv:3: column 'EO': angle outside -360..360: '400'" angle.csv

### checking lift: from the recipe, from a column, of a side; u of angles is one of angles
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
Cyl,cylinder,,,,,
IN opens,opens,,I,,,
IN closes,closes,,I,,,
IN lash,lash,mm,I,,,
Check lift,checking_lift,mm,,,,
stop -,stop_before,deg,,,,
stop +,stop_after,deg,,,,
u,u,deg,,,,
,checking_lift,,,,,50 thou
END
cat >lift.csv <<'END'
Engine,Date,Cyl,IN opens,IN closes,IN lash,Check lift,stop -,stop +,u
HC-7,2026-03-09,1,6 BTDC,35 ABDC,0.20,,-31,30.5,0.25
HC-7,2026-03-09,2,6 BTDC,35 ABDC,0.20,1,,,0.5 cam deg
HC-7,2026-03-09,3,,,0.20,,,,0.005 mm
HC-7,2026-03-09,4,-,35 ABDC,,,,,
END
gives 'checking lift' 0 'HC-7,2026-03-09,,,opens,1I,-6,,deg,0.25,,,,,lift.csv,2
HC-7,2026-03-09,,,closes,1I,215,,deg,0.25,,,,,lift.csv,2
HC-7,2026-03-09,,,lash,1I,0.2,,mm,,,,,,lift.csv,2
HC-7,2026-03-09,,,stop_before,1,-31,,deg,0.25,,,,,lift.csv,2
HC-7,2026-03-09,,,stop_after,1,30.5,,deg,0.25,,,,,lift.csv,2
HC-7,2026-03-09,,,checking_lift,1,1.27,,mm,,,,,,lift.csv,2
HC-7,2026-03-09,,,opens,2I,-6,,deg,1,,,,,lift.csv,3
HC-7,2026-03-09,,,closes,2I,215,,deg,1,,,,,lift.csv,3
HC-7,2026-03-09,,,lash,2I,0.2,,mm,,,,,,lift.csv,3
HC-7,2026-03-09,,,checking_lift,2,1,,mm,,,,,,lift.csv,3
HC-7,2026-03-09,,,lash,3I,0.2,,mm,0.005,,,,,lift.csv,4
HC-7,2026-03-09,,,closes,4I,215,,deg,,,,,,lift.csv,5
HC-7,2026-03-09,,,checking_lift,4,1.27,,mm,,,,,,lift.csv,5' '' lift.csv
gives 'a checking lift without a unit' 1 '' \
    "valve-tidy: lift.csv:2: no unit stated
valve-tidy: lift.csv:3: no unit stated
valve-tidy: lift.csv:4: no unit stated
valve-tidy: lift.csv:5: no unit stated" --set checking_lift=1 lift.csv
gives 'a checking lift of 2 inches' 1 '' \
    "valve-tidy: lift.csv:2: 50.8 mm is no credible checking_lift
valve-tidy: lift.csv:3: 50.8 mm is no credible checking_lift
valve-tidy: lift.csv:4: 50.8 mm is no credible checking_lift
valve-tidy: lift.csv:5: 50.8 mm is no credible checking_lift" '--set=checking_lift=2 in' lift.csv
recipe <<'END'
What,quantity,,,,,
Where,valve,,,,,
Value,reading,,,,,
Unit,unit,,,,,
,engine,,,,,HC-7
,date,,,,,2026-03-09
,checking_lift,,,,,1 mm
END
cat >rows.csv <<'END'
What,Where,Value,Unit
opens,1E,38 BBDC,
closes,1E,5 ATDC,
lift_tdc,2I,2.1,mm
checking_lift,,1.5,mm
checking_lift,ex,1.27,mm
checking_lift,AI,1.27,mm
END
gives 'checking lift in rows' 1 'HC-7,2026-03-09,,,opens,1E,-218,,deg,,,,,,rows.csv,2
HC-7,2026-03-09,,,checking_lift,1E,1,,mm,,,,,,rows.csv,2
HC-7,2026-03-09,,,closes,1E,5,,deg,,,,,,rows.csv,3
HC-7,2026-03-09,,,checking_lift,1E,1,,mm,,,,,,rows.csv,3
HC-7,2026-03-09,,,lift_tdc,2I,2.1,,mm,,,,,,rows.csv,4
HC-7,2026-03-09,,,checking_lift,2I,1,,mm,,,,,,rows.csv,4
HC-7,2026-03-09,,,checking_lift,,1.5,,mm,,,,,,rows.csv,5
HC-7,2026-03-09,,,checking_lift,E,1.27,,mm,,,,,,rows.csv,6' \
    "valve-tidy: rows.csv:7: column 'Where': unknown valve 'AI'" rows.csv

### every other quantity, and what is read at a cylinder or a cam
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,serial,
What,quantity,,,,,
Where,valve,,,,,
Value,reading,,,,,
Unit,unit,,,,,
U,u,,,,,
,note,,,,,bench
END
cat >many.csv <<'END'
Engine,Date,What,Where,Value,Unit,U
D-10,46087,shim,2E1,2.85,mm,0.005
D-10,46087,stem_height,1I,1.5,in,0.002
D-10,46087,compression,3,12.5 bar,,
D-10,46087,leakdown,cyl 3,7 %,,
D-10,46087,spring_load,1E,10 lbf,,
D-10,46087,sprocket_step,A-I,-1.5 deg,,
D-10,46087,compression,3E,12 bar,,
D-10,46087,torque,3E,12,,
D-10,46087,shim,2E1,2.85,bar,
D-10,46087,lash,2E1,2.85,,
D-10,46087,lash,2E1,0.2,mm,0
END
gives 'many quantities' 1 'D-10,2026-03-06,,,shim,2E1,2.85,,mm,0.005,,,,bench,many.csv,2
D-10,2026-03-06,,,stem_height,1I,38.1,,mm,0.0508,,,,bench,many.csv,3
D-10,2026-03-06,,,compression,3,1250,,kPa,,,,,bench,many.csv,4
D-10,2026-03-06,,,leakdown,3,7,,%,,,,,bench,many.csv,5
D-10,2026-03-06,,,spring_load,1E,44.482216152605,,N,,,,,bench,many.csv,6
D-10,2026-03-06,,,sprocket_step,A-I,-1.5,,deg,,,,,bench,many.csv,7' \
    "valve-tidy: many.csv:8: bad place '3E'
valve-tidy: many.csv:9: column 'What': unknown quantity 'torque'; known are lash, opens, closes, lift_tdc, checking_lift, stop_before, stop_after, shim, stem_height, recess, leakdown, compression, spring_load, lobe_lift, injector_lash, brake_lash, bridge_gap, sprocket_step
valve-tidy: many.csv:10: column 'Value': unit 'bar' does not fit here
valve-tidy: many.csv:11: column 'Value': no unit stated
valve-tidy: many.csv:12: column 'U': an uncertainty is above zero, not '0'" many.csv

### constants; the command line is stronger than the recipe
recipe <<'END'
Valve,valve,,,,,
Lash,lash,mm,,,,
Engine,engine,,,,,
,engine,,,,,HC-8
,date,,,,,2026-03-11
,meter,,,,,200
,meter_unit,,,,,mi
,temp,,,,,20 Cel
,by,,,,,"kl, senior"
END
printf 'Valve,Lash,Engine\n1I,0.1,\n1E,0.2,HC-9\n' >const.csv
gives 'constants fill blanks' 0 \
    'HC-8,2026-03-11,321.8688,km,lash,1I,0.1,,mm,,20,,"kl, senior",,const.csv,2
HC-9,2026-03-11,321.8688,km,lash,1E,0.2,,mm,,20,,"kl, senior",,const.csv,3' '' const.csv
gives 'constants by --set' 0 \
    'D-01,2026-03-12,200,h,lash,1I,0.1,,mm,,68,g1,mn,,const.csv,2
HC-9,2026-03-12,200,h,lash,1E,0.2,,mm,,68,g1,mn,,const.csv,3' '' \
    --set engine=D-01 -s date=2026-03-12 --set meter_unit=h --set 'temp=68 °C' -s by=mn \
    --set gauge=g1 const.csv

### several exports, one stream
printf 'Lash,Engine,Valve\n0.3,,2 inlet\n' >const2.csv
gives 'several exports in one stream' 0 \
    'HC-8,2026-03-11,321.8688,km,lash,1I,0.1,,mm,,20,,"kl, senior",,const.csv,2
HC-9,2026-03-11,321.8688,km,lash,1E,0.2,,mm,,20,,"kl, senior",,const.csv,3
HC-8,2026-03-11,321.8688,km,lash,2I,0.3,,mm,,20,,"kl, senior",,const2.csv,2' '' \
    const.csv const2.csv
printf 'Valve,Lash,Engine\n' >none.csv
gives 'a heading and no rows' 0 '' '' none.csv
is 'the sum of a heading alone' "$(tail -n 1 .out)" ',,,,end,,0,,,,,,,2791fc37,,'

cp r constants

### what one row says does not stick to the next
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
Meter,meter,h,,,,
Temp,temp,Cel,,,,
Valve,valve,,,,,
Lash,lash,mm,,,,
Note,note,,,,,
END
cat >memo.csv <<'END'
Engine,Date,Meter,Temp,Valve,Lash,Note
D-11,2026-03-13,10,20,1I,0.1,5" bore
D-11,2026-03-13,,,1I,0.1,"""quoted"""
D-11,2026-03-13,10,20,1I,0.1,
D-11,2026-03-1x,10,20,1I,0.1,
D-11,2026-03-13,1x,20,1I,0.1,
D-11,2026-03-13,10,2x,1I,0.1,
D-11,2026-03-13,10,20,1I,0.1,
D-11,2026-03-13,10 km,68 F,1E,0.1,
D-11,2026-03-13,10,68,1E,0.1,
END
gives 'blank and wrong cells are not remembered' 1 \
    'D-11,2026-03-13,10,h,lash,1I,0.1,,mm,,20,,,"5"" bore",memo.csv,2
D-11,2026-03-13,,,lash,1I,0.1,,mm,,,,,"""quoted""",memo.csv,3
D-11,2026-03-13,10,h,lash,1I,0.1,,mm,,20,,,,memo.csv,4
D-11,2026-03-13,10,h,lash,1I,0.1,,mm,,20,,,,memo.csv,8
D-11,2026-03-13,10,km,lash,1E,0.1,,mm,,20,,,,memo.csv,9
D-11,2026-03-13,10,h,lash,1E,0.1,,mm,,68,,,,memo.csv,10' \
    "valve-tidy: memo.csv:5: column 'Date': bad date '2026-03-1x'
valve-tidy: memo.csv:6: column 'Meter': bad number '1x'
valve-tidy: memo.csv:7: column 'Temp': bad number '2x'" memo.csv
recipe <<'END'
Engine,engine,,,,,
Date,date,,,,,
Meter,meter,,,,,
In,meter_unit,,,,,
Valve,valve,,,,,
Lash,lash,mm,,,,
END
printf 'Engine,Date,Meter,In,Valve,Lash\nD-11,2026-03-13,10,h,1I,.1\nD-11,2026-03-13,10,mi,1E,.1\n' >unit.csv
gives 'a meter whose unit changes' 0 'D-11,2026-03-13,10,h,lash,1I,0.1,,mm,,,,,,unit.csv,2
D-11,2026-03-13,16.09344,km,lash,1E,0.1,,mm,,,,,,unit.csv,3' '' unit.csv

### thousands of rows: the sum runs over more than one buffer
awk 'BEGIN { print "Valve,Lash,Engine"
             for (i = 0; i < 6000; i++) printf "%dE,0.%03d,HC-%d\n", i % 8 + 1, i % 997, i }' >big.csv
run "$tidy" --recipe constants big.csv
is 'a long stream: status' "$status$err" 0
sed '$d' .out >body
is 'a long stream: its end' "$(tail -n 1 .out)" ",,,,end,,6000,,,,,,,$(crc <body),,"
awk 'BEGIN { for (i = 0; i < 6000; i++) { v = sprintf("0.%03d", i % 997); sub(/\.?0+$/, "", v)
             printf "HC-%d,2026-03-11,321.8688,km,lash,%dE,%s,,mm,,20,,\"kl, senior\",,big.csv,%d\n",
             i, i % 8 + 1, v, i + 2 } }' >want
sed 1d body >rows
ok 'a long stream: its rows' cmp rows want

done_testing
