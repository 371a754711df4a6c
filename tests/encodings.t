#!/bin/sh
# The same export in many encodings, cut and broken; and recipes on the edge of what they may say.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1
top='column,means,unit,at,state,format,value'
printf 'Motor;Datum;Ventil;Spiel [mm];Prüfer\nHC-1;2026-03-01;1I;0,15;Jürgen\n' >utf8.csv
want='HC-1,2026-03-01,,,lash,1I,0.15,,mm,,,,Jürgen,,in.csv,2'

# recipe ENCODING: for such a file
recipe() {
    printf '%s\n,encoding,,,,,%s\n,delimiter,,,,,;\n,decimal,,,,,","\n' "$top" "$1"
    printf 'Motor,engine,,,,,\nDatum,date,,,,,\nVentil,valve,,,,,\nSpiel [mm],lash,mm,,,,\nPrüfer,by,,,,,\n'
}

for code in UTF-8 utf8 UTF-16LE UTF-16BE UTF-16 UCS-2LE UTF-32LE UTF-32BE UCS-4LE ISO-8859-1 \
    WINDOWS-1252; do
    recipe "$code" >r
    iconv -f UTF-8 -t "$code" utf8.csv >in.csv
    run "$tidy" --recipe r in.csv
    is "in $code" "$status$err$(printf '%s\n' "$out" | sed '1d;$d')" "0$want"
done
# a mark is stronger than the recipe, which may be of another export
for code in UTF-16LE UTF-16BE UTF-8; do
    { printf '\357\273\277' | iconv -f UTF-8 -t "$code" && iconv -f UTF-8 -t "$code" utf8.csv; } >in.csv
    for told in UTF-8 ISO-8859-1 UTF-16BE; do
        recipe $told >r
        run "$tidy" --recipe r in.csv
        is "$code with a mark, $told in the recipe" \
            "$status$err$(printf '%s\n' "$out" | sed '1d;$d')" "0$want"
    done
done
# cut at any byte: refused, or less; never another reading
for code in UTF-16LE UTF-32LE UTF-8; do
    recipe $code >r
    iconv -f UTF-8 -t $code utf8.csv >whole
    size=$(wc -c <whole) bad=0
    while [ "$size" -ge 0 ]; do
        head -c "$size" whole >in.csv
        run "$tidy" --recipe r in.csv
        case $status:$(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f1-9) in
        [012]: | 0:HC-1,2026-03-01,,,lash,1I,0.15,,mm | 0:HC-1,2026-03-01,,,lash,1I,0.1,,mm) ;;
        *) bad=$((bad + 1)) && echo "# $code $size: $status $out" ;;
        esac
        size=$((size - 1))
    done
    is "$code cut anywhere" $bad 0
done
# a broken unit in a name: the row is read, with a mark in its place
recipe UTF-16LE >r
{ printf 'Motor;Datum;Ventil;Spiel [mm];Prüfer\nHC-1;2026-03-01;1I;0,15;J' | iconv -f UTF-8 -t UTF-16LE
    printf '\000\334'
    printf 'rgen\n' | iconv -f UTF-8 -t UTF-16LE; } >in.csv
run "$tidy" --recipe r in.csv
is 'half a pair of surrogates' "$status$err$(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f13)" \
    "0J$(printf '\357\277\275')rgen"
# more than fits one buffer, all of it bytes that mean nothing
recipe UTF-16LE >r
head -c 200000 /dev/zero | tr '\000' '\334' >in.csv
run "$tidy" --recipe r in.csv
is 'bytes that mean nothing' "$status" 2

### recipes
printf 'E,D,V,L\nHC-1,2026-03-01,1I,0.15\n' >good.csv
base='E,engine,,,,,
D,date,,,,,
V,valve,,,,,
L,lash,mm,,,,'
# says NAME ROWS STATUS MESSAGE
says() {
    printf '%s\n%s\n' "$top" "$2" >r
    run "$tidy" --recipe r good.csv
    is "$1" "$status$err" "$3$4"
}
says 'as it is' "$base" 0 ''
says 'blanks and line ends in a heading' "$(printf '%s' "$base" | sed 's/^L,/"  l\t",/')" 0 ''
says 'lines to skip beyond all' ",skip,,,,,2000000$nl$base" 2 \
    "valve-tidy: r:2: lines to skip is a whole number, not '2000000'"
says 'lines to skip below none' ",skip,,,,,-1$nl$base" 2 "valve-tidy: r:2: bad number '-1'"
says 'no number of lines' ",skip,,,,,few$nl$base" 2 "valve-tidy: r:2: bad number 'few'"
says 'more lines than there are' ",skip,,,,,100$nl$base" 2 \
    "valve-tidy: good.csv: empty"
says 'a column beyond all' "$base$nl#10001,note,,,,," 2 "valve-tidy: r:6: bad column number '#10001'"
says 'half a column' "$base$nl#1.5,note,,,,," 2 "valve-tidy: r:6: bad column number '#1.5'"
says 'a heading that begins with #' "$base$nl#x,note,,,,," 2 \
    "valve-tidy: good.csv:1: no heading as the recipe has it; the nearest row lacks column '#x'"
says 'a column by its number and by name' "$base$nl#4,lash,mm,,left,," 0 ''
is 'the number counts' "$(printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f7,8)" ,0.15
says 'the same number twice' "$base$nl#4,lash,mm,,left,,$nl#4,note,,,,," 2 \
    "valve-tidy: good.csv:1: the recipe names twice column 'L'"
long=$(awk 'BEGIN { for (i = 1; i <= 97; i++) printf("%s%dI %dE", (i > 1 ? " " : ""), i, i) }')
says 'an order beyond all' ",order,,,,,\"$long $long\"$nl#1,lash,mm,,,," 2 \
    "valve-tidy: r:2: too long an order '$(printf '%s' "$long" | head -c 76)...'"
says 'an order of more than one column' ",order,,,,,1I 1E$nl$base" 2 \
    'valve-tidy: good.csv: an order names one column of readings'
printf 'E,D,V,L\n,,,mm\nHC-1,2026-03-01,1I,0.15\n' >good.csv
says 'a row of units' ",units_row,,,,,yes$nl$(printf '%s' "$base" | sed 's/mm//')" 0 ''
printf 'E,D,V,L\n' >good.csv
says 'a row of units that is not there' ",units_row,,,,,yes$nl$base" 0 ''
printf 'E,D,V,L\n,,,[mm],"x\n' >good.csv
says 'a row of units that cannot be read' ",units_row,,,,,yes$nl$base" 2 \
    'valve-tidy: good.csv:2: unclosed quote'
printf '0.15\nHC-1,2026-03-01,1I,0.15,x\n' >good.csv
says 'short and long rows without a heading' ",heading,,,,,no$nl#1,engine,,,,,$nl#2,date,,,,,
#3,valve,,,,,$nl#4,lash,mm,,,," 1 "valve-tidy: good.csv:1: 1 cell where the heading has 4
valve-tidy: good.csv:2: 5 cells where the heading has 4"
says 'columns beyond 64 without a heading' ",heading,,,,,no$nl#65,engine,,,,," 2 \
    "valve-tidy: good.csv: without a heading columns are #1 to #64, not '#65'"
says 'a column by its heading where there is none' ",heading,,,,,no${nl}E,engine,,,,," 2 \
    "valve-tidy: good.csv: without a heading columns are #1 to #64, not 'e'"
done_testing
