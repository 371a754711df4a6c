#!/bin/sh
# How rows stand in a sheet: merged cells, rows that end early and remarks, as the draft sees
# them, and sheets in which it must not see them.
. tests/tap.sh
. tests/draft.sh
cd "$work" || exit 1

# lacks NAME WORD...: the recipe states none of these settings
lacks() {
    lacks_name=$1
    shift
    is "$lacks_name" "$(for i in "$@"; do grep "^,$i," recipe; done)" ''
}

cat >merged.csv <<'END'
Engine,Date,Hours,Cyl,Side,Lash (mm),By
HC-1,2025-03-02,412.5,1,I,0.12,ab
,,,,E,0.22,
,,,2,I,0.13,
,,,,E,0.23,
HC-2,2025-03-03,9,1,I,0.14,cd
,,,,E,0.24,
END
sheet 'merged' merged.csv 'status 0
HC-1,2025-03-02,412.5,h,lash,1I,0.12,,mm,,,,ab,,merged.csv,2
HC-1,2025-03-02,412.5,h,lash,1E,0.22,,mm,,,,ab,,merged.csv,3
HC-1,2025-03-02,412.5,h,lash,2I,0.13,,mm,,,,ab,,merged.csv,4
HC-1,2025-03-02,412.5,h,lash,2E,0.23,,mm,,,,ab,,merged.csv,5
HC-2,2025-03-03,9,h,lash,1I,0.14,,mm,,,,cd,,merged.csv,6
HC-2,2025-03-03,9,h,lash,1E,0.24,,mm,,,,cd,,merged.csv,7'
is 'merged: which, and what is to be looked at' "$(grep ^,merged recipe)" \
    ',merged,,,,,engine date meter cylinder by,CHECK: blank in up to 4 rows with readings: what stands above is taken for them'
lacks 'merged: nothing else' short_rows remark

sed '5s/,$/,ef/' merged.csv >by.csv
run "$tidy" --draft by.csv
printf '%s\n' "$out" >recipe
is 'who read within a block is not merged' "$(grep ^,merged recipe | cut -d, -f 7)" 'engine date meter cylinder'
cat >gaps.csv <<'END'
Engine,Date,Hours,Valve,Lash (mm),Note
HC-1,2025-03-02,412.5,1I,0.12,tight
HC-1,2025-03-02,,1E,0.22,
,2025-03-02,,2I,0.13,
HC-1,2025-03-02,412.5,2E,0.23,
HC-1,2025-03-03,,1I,0.14,
END
sheet 'a cell that is missing' gaps.csv "status 1
HC-1,2025-03-02,412.5,h,lash,1I,0.12,,mm,,,,,tight,gaps.csv,2
HC-1,2025-03-02,,,lash,1E,0.22,,mm,,,,,,gaps.csv,3
HC-1,2025-03-02,412.5,h,lash,2E,0.23,,mm,,,,,,gaps.csv,5
HC-1,2025-03-03,,,lash,1I,0.14,,mm,,,,,,gaps.csv,6valve-tidy: gaps.csv:4: column 'Engine': no engine"
lacks 'is not merged' merged
printf '%s\n' 'Engine,Date,Valve,Lash mm' ,2025-03-02,1I,0.12 HC-1,2025-03-02,1E,0.22 ,2025-03-02,2I,0.13 >top.csv
run "$tidy" --draft top.csv
printf '%s\n' "$out" >recipe
lacks 'nor is a column whose first cell is blank' merged
cat >blocks.csv <<'END'
Engine,Date,Valve,Lash (mm)
HC-1,2025-03-02,1I,0.12
,,1E,0.22
,,Mean,0.17
,,,
HC-2,2025-03-02,1I,0.13
Total,,,0.5
,,1E,
END
run "$tidy" --draft blocks.csv
printf '%s\n' "$out" >recipe
why 'rows without a reading and totals are not counted' ,merged 'engine date,CHECK: blank in up to 1 row with'

### cylinder, side and valve, each in a column
cat >three.csv <<'END'
Engine,Date,Cyl,Side,Valve,Lash (mm)
HC-1,2025-03-02,1,I,1,0.12
HC-1,2025-03-02,1,I,2,0.13
HC-1,2025-03-02,2,E,,0.14
END
sheet 'three columns' three.csv 'status 0
HC-1,2025-03-02,,,lash,1I1,0.12,,mm,,,,,,three.csv,2
HC-1,2025-03-02,,,lash,1I2,0.13,,mm,,,,,,three.csv,3
HC-1,2025-03-02,,,lash,2E,0.14,,mm,,,,,,three.csv,4'
# not an index: a valve a cell, two digits, no digit, no side beside it
while IFS='|' read -r name from to; do
    sed "s/$from/$to/" three.csv >other.csv
    run "$tidy" --draft other.csv
    is "$name" "$(printf '%s\n' "$out" | grep -c ',index,')" 0
done <<'END'
a whole valve|I,1,|I,1I1,
two digits|I,2,|I,12,
a nought|I,2,|I,0,
a letter|I,2,|I,A,
no column of sides|Side|Whatever
no column of cylinders|Cyl|Whatever
END

### rows that end behind their last filled cell
cat >short.csv <<'END'
Engine;Date;Valve;Found mm;Left mm;Note
HC-1;02.03.2025;1I;0,12;0,15;tight
HC-1;02.03.2025;1E;0,22
HC-1;02.03.2025;2I;-;0,14
HC-1;02.03.2025;2E;;0,24
END
sheet 'short' short.csv 'status 0
HC-1,2025-03-02,,,lash,1I,0.12,0.15,mm,,,,,tight,short.csv,2
HC-1,2025-03-02,,,lash,1E,0.22,,mm,,,,,,short.csv,3
HC-1,2025-03-02,,,lash,2I,,0.14,mm,,,,,,short.csv,4
HC-1,2025-03-02,,,lash,2E,,0.24,mm,,,,,,short.csv,5'
why 'short: what is to be looked at' ,short_rows 'yes,"CHECK: 3 rows shorter than the heading'
# a sheet in which such a row has lost a cell
while IFS='|' read -r name from to; do
    sed "s/^$from\$/$to/" short.csv >lost.csv
    run "$tidy" --draft lost.csv
    printf '%s\n' "$out" >recipe
    lacks "$name" short_rows
done <<'END'
others have blank cells at the end|HC-1;02.03.2025;2E;;0,24|HC-1;02.03.2025;2E;;0,24;
one has a valve for its date|HC-1;02.03.2025;1E;0,22|HC-1;1E;0,22
one has a reading for its valve|HC-1;02.03.2025;2I;-;0,14|HC-1;02.03.2025;12,5;0,14
one has words for a reading|HC-1;02.03.2025;1E;0,22|HC-1;02.03.2025;1E;tight
one has a date for its reading|HC-1;02.03.2025;1E;0,22|HC-1;;1E;02.03.2025
END

### remarks
cat >remarks.csv <<'END'
# Engine: HC-1
Date,Valve,Lash (mm)
2025-03-02,1I,0.12
# seat recut, see the book
2025-03-02,1E,0.22
2025-03-02,2I,0.13
2025-03-02,2E,0.23
#2025-03-03,2E,0.23
2025-03-03,1I,0.24
END
sheet 'remarks' remarks.csv "status 0
HC-1,2025-03-02,,,lash,1I,0.12,,mm,,,,,,remarks.csv,3
HC-1,2025-03-02,,,lash,1E,0.22,,mm,,,,,,remarks.csv,5
HC-1,2025-03-02,,,lash,2I,0.13,,mm,,,,,,remarks.csv,6
HC-1,2025-03-02,,,lash,2E,0.23,,mm,,,,,,remarks.csv,7
HC-1,2025-03-03,,,lash,1I,0.24,,mm,,,,,,remarks.csv,9valve-tidy: remarks.csv: 3 remarks passed over" --set engine=HC-1
why 'remarks: what is to be looked at' ,remark 'CHECK: 2 lines with it in front will be passed over, some of them like'
lacks 'remarks: nothing else' merged short_rows
# none: names, numbers of valves, a heading, too many
while IFS='|' read -r name from to; do
    sed "s/$from/$to/" remarks.csv >none.csv
    run "$tidy" --draft none.csv
    printf '%s\n' "$out" >recipe
    lacks "$name" remark
done <<'END'
no line begins so|^#|
a heading begins so|^Date,|# Date,
most lines begin so|^2025|#2025
END
printf '%s\n' Valve,Date,Lash '#1 I,2025-03-02,0.12' '1 E,2025-03-02,0.22' '2 I,2025-03-02,0.13' '#2,,' >valves.csv
run "$tidy" --draft valves.csv
printf '%s\n' "$out" >recipe
lacks 'the sign is part of a name' remark
printf '%s\n' '0.12' '// again' '0.22' 0.13 0.23 >bare.txt
run "$tidy" --draft bare.txt
printf '%s\n' "$out" >recipe
is 'between bare numbers' "$(grep -E '^,(remark|order)' recipe | cut -d, -f 2,7)" 'remark,//
order,1I 1E 2I 2E'
done_testing
