#!/bin/sh
# What cannot be read: every tool, then valve-tidy, which must name file, line and column
# and lose nothing else.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1

### files that are wrong in one way each
cat >r <<'END'
column,means,unit,at,state,format,value
Engine,engine,,,,,
Date,date,,,,,
Hours,meter,h,,,,
Cyl,cylinder,,,,,
IN found,lash,mm,I,found,,
EX found,lash,mm,E,found,,
,delimiter,,,,,semicolon
,decimal,,,,,comma
END
top='Engine;Date;Hours;Cyl;IN found;EX found'
long=$(head -c 1000000 /dev/zero | tr '\0' 7)
mkdir bad
cd bad || exit 1
: >empty
echo "$top" >heading
printf '%s\r\nHC-1;2026-03-01;1;1;0,1;0,2\r\n' "$top" >crlf
printf '%s\nHC-1;2026-03-01;1;1;0,1\0;0,2\n' "$top" >nul
printf '%s\nHC-1;2026-03-01;1;1;%s;0,2\n' "$top" "$long" >megabyte
printf '%s\n"HC-1;2026-03-01;1;1;0,1;0,2\n' "$top" >quote
gzip -c crlf | head -c 40 >cut.gz
mkdir directory
cd ..

### every tool
# said NAME: all of standard error is messages of the tool
said() {
    grep -v "^$1: " .err >said
    [ ! -s said ]
}

for path in "$bin"/valve-*; do
    tool=$(basename "$path")
    run "$path" -h
    help=$out
    usage=$(printf '%s\n' "$help" | sed '/^$/,$d') # the rest says what the command is for
    is "$tool -h: status and standard error" "$status$err" 0
    ok "$tool -h: begins as it should" grep -q "^usage: $tool " .out
    run "$path" --help
    is "$tool --help: the same" "$status$err$out" "0$help"
    run "$path" --version
    ok "$tool --version: one line" expr "$out" : "$tool (valvebook) [0-9.]*$"
    is "$tool --version: status and standard error" "$status$err" 0
    for option in --no-such-option -@; do
        run "$path" $option
        is "$tool $option: status, standard output" "$status$out" 2
        is "$tool $option: message, then the usage" "$err" \
            "$tool: cannot use option '$option'$nl$usage"
    done
    for option in $(printf '%s\n' "$usage" | grep -o -e '--[a-z-]* [a-z]' | cut -d' ' -f1 | sort -u); do
        run "$path" "$option"
        is "$tool $option: its value is missed" "$status $err" \
            "2 $tool: a value is needed behind '$option'$nl$usage"
    done
    run "$path" --version=2
    is "$tool: a value that is none" "$err" "$tool: cannot use option '--version=2'$nl$usage"
    for option in -h --version; do
        run sh -c '"$@" >/dev/full' sh "$path" $option
        is "$tool $option: full device" "$status $err" "2 $tool: stdout: No space left on device"
        run sh -c '"$@" >&-' sh "$path" $option
        is "$tool $option: closed standard output" "$status $err" \
            "2 $tool: stdout: Bad file descriptor"
    done
    for file in bad/* none; do
        case $tool in
            valve-tidy) run "$path" --recipe r "$file" ;;
            valve-book) run "$path" "book-$(basename "$file")" "$file" ;;
            valve-set) run "$path" --engine HC-1 "$file" ;;
            *) run "$path" "$file" ;;
        esac
        ok "$tool $file: messages" said "$tool"
        [ "$status" -eq 0 ] || ok "$tool $file: status $status has a message" test -s .err
        case $file in
            none | */directory | */cut.gz)
                is "$tool $file: status" $status 2
                ok "$tool $file: is named" grep -q "^$tool: .*$(basename "$file")" .err ;;
        esac
    done
done

### valve-tidy: one line of a good export is spoilt
{
    echo "$top"
    i=2
    while [ $i -le 25 ]; do
        echo "D-07;2026-03-$((i + 2));$((i * 10)),5;$((i % 4 + 1));0,$((i + 10));0,$((i + 20))"
        i=$((i + 1))
    done
} | sed 's/03-\([0-9]\);/03-0\1;/' >good.csv
{
    i=2
    while [ $i -le 25 ]; do
        for v in "I,0.$((i + 10))" "E,0.$((i + 20))"; do
            echo "D-07,2026-03-$((i + 2)),$((i * 10)).5,h,lash,$((i % 4 + 1))$v,,mm,,,,,,depot.csv,$i"
        done
        i=$((i + 1))
    done
} | sed 's/03-\([0-9]\),/03-0\1,/; s/\(0\.[0-9]\)0,/\1,/' >good.rows
cp good.csv depot.csv
run "$tidy" --recipe r --rejects rejects depot.csv
sed '1d;$d' .out >got.rows
is 'good export' "$status$err" 0
ok 'good export: readings' cmp got.rows good.rows
is 'good export: nothing rejected' "$(cat rejects)" 'source,line,column,reason,row'

# spoilt NAME LINE BYTES KEEP ERR REJECT: with this line instead (a printf format) all
# other readings come, of the line itself those of the side KEEP, or -, and the whole line
# goes to the rejects
spoilt() {
    head -n $(($2 - 1)) good.csv >depot.csv
    # shellcheck disable=SC2059
    printf "$3\n" >>depot.csv
    tail -n +$(($2 + 1)) good.csv >>depot.csv
    grep -v ",$2\$" good.rows >want.rows
    [ "$4" = - ] || grep ",lash,[0-9]$4,.*,$2\$" good.rows >>want.rows
    sort -t, -k16,16n -o want.rows want.rows
    run "$tidy" --recipe r --rejects rejects depot.csv
    sed '1d;$d' .out | sort -t, -k16,16n >got.rows
    is "$1: status, messages" "$status$nl$err" "1$nl$5"
    ok "$1: nothing else is lost" cmp got.rows want.rows
    is "$1: the end row is there" "$(tail -n 1 .out | cut -d, -f5,7)" "end,$(wc -l <want.rows)"
    is "$1: rejected whole" "$(sed 1d rejects | tr '\0' @)" "$6"
}

d='D-07;2026-03-19;170,5'
spoilt 'bad number' 17 "$d;2;0,27;0,1O" I \
    "valve-tidy: depot.csv:17: column 'EX found': bad number '0,1O'" \
    "depot.csv,17,EX found,\"bad number '0,1O'\",\"$d;2;0,27;0,1O\""
spoilt 'unknown unit' 17 "$d;2;4 furlongs;0,37" E \
    "valve-tidy: depot.csv:17: column 'IN found': unknown unit 'furlongs'" \
    "depot.csv,17,IN found,unknown unit 'furlongs',\"$d;2;4 furlongs;0,37\""
spoilt 'a unit of another kind' 17 "$d;2;0,27 bar;0,37" E \
    "valve-tidy: depot.csv:17: column 'IN found': unit 'bar' does not fit here" \
    "depot.csv,17,IN found,unit 'bar' does not fit here,\"$d;2;0,27 bar;0,37\""
spoilt 'unknown cylinder' 17 "$d;2X;0,27;0,37" - \
    "valve-tidy: depot.csv:17: column 'Cyl': bad cylinder '2X'" \
    "depot.csv,17,Cyl,bad cylinder '2X',\"$d;2X;0,27;0,37\""
spoilt 'no cylinder' 17 "$d;;0,27;0,37" - \
    "valve-tidy: depot.csv:17: no valve named
valve-tidy: depot.csv:17: no valve named" \
    "depot.csv,17,,no valve named; no valve named,\"$d;;0,27;0,37\""
spoilt 'cylinder nought' 17 "$d;0;0,27;0,37" - \
    "valve-tidy: depot.csv:17: column 'Cyl': bad cylinder '0'" \
    "depot.csv,17,Cyl,bad cylinder '0',\"$d;0;0,27;0,37\""
spoilt 'short row' 17 "$d;2;0,27" - \
    'valve-tidy: depot.csv:17: 5 cells where the heading has 6' \
    "depot.csv,17,,5 cells where the heading has 6,\"$d;2;0,27\""
spoilt 'long row' 17 "$d;2;0,27;0,37;x" - \
    'valve-tidy: depot.csv:17: 7 cells where the heading has 6' \
    "depot.csv,17,,7 cells where the heading has 6,\"$d;2;0,27;0,37;x\""
spoilt 'unclosed quote' 17 "\"$d;2;0,27;0,37" - \
    'valve-tidy: depot.csv:17: unclosed quote' \
    "depot.csv,17,,unclosed quote,\"\"\"$d;2;0,27;0,37\""
spoilt 'unclosed quote in the last line' 25 'D-07;2026-03-27;250,5;2;0,35;"0,45' - \
    'valve-tidy: depot.csv:25: unclosed quote' \
    'depot.csv,25,,unclosed quote,"D-07;2026-03-27;250,5;2;0,35;""0,45"'
spoilt 'text behind a quote' 17 "\"D-07\"x;2026-03-19;170,5;2;0,27;0,37" - \
    'valve-tidy: depot.csv:17: text behind a closing quote' \
    'depot.csv,17,,text behind a closing quote,"""D-07""x;2026-03-19;170,5;2;0,27;0,37"'
spoilt 'NUL byte' 17 "$d;2;0,2\\0007;0,37" - \
    "valve-tidy: depot.csv:17: column 'IN found': NUL byte" \
    "depot.csv,17,IN found,NUL byte,\"$d;2;0,2@7;0,37\""
spoilt 'not UTF-8' 17 "D-07\\260;2026-03-19;170,5;2;0,27;0,37" - \
    "valve-tidy: depot.csv:17: column 'Engine': not UTF-8; state the encoding of the file" \
    "$(printf 'depot.csv,17,Engine,not UTF-8; state the encoding of the file,"D-07\260;2026-03-19;170,5;2;0,27;0,37"')"
spoilt 'not UTF-8 under no heading' 17 "$d;2;0,27;0,37;x;x;\\260" - \
    "valve-tidy: depot.csv:17: not UTF-8; state the encoding of the file" \
    "$(printf 'depot.csv,17,,not UTF-8; state the encoding of the file,"D-07;2026-03-19;170,5;2;0,27;0,37;x;x;\260"')"
spoilt 'a cell of 1 MB' 17 "$d;2;$long;0,37" - \
    "valve-tidy: depot.csv:17: column 'IN found': cell longer than 65536 bytes" \
    "depot.csv,17,IN found,cell longer than 65536 bytes,\"$d;2;$long;0,37\""
spoilt 'no such day' 17 'D-07;2026-02-29;170,5;2;0,27;0,37' - \
    "valve-tidy: depot.csv:17: column 'Date': bad date '2026-02-29'" \
    "depot.csv,17,Date,bad date '2026-02-29',\"D-07;2026-02-29;170,5;2;0,27;0,37\""
spoilt 'no date' 17 'D-07;;170,5;2;0,27;0,37' - \
    "valve-tidy: depot.csv:17: column 'Date': no date ''" \
    "depot.csv,17,Date,no date '',\"D-07;;170,5;2;0,27;0,37\""
spoilt 'no engine' 17 ' ;2026-03-19;170,5;2;0,27;0,37' - \
    "valve-tidy: depot.csv:17: column 'Engine': no engine" \
    'depot.csv,17,Engine,no engine," ;2026-03-19;170,5;2;0,27;0,37"'
spoilt 'a meter that runs backwards' 17 'D-07;2026-03-19;-1;2;0,27;0,37' - \
    "valve-tidy: depot.csv:17: column 'Hours': a meter cannot be negative" \
    'depot.csv,17,Hours,a meter cannot be negative,"D-07;2026-03-19;-1;2;0,27;0,37"'
spoilt 'a negative gap' 17 "$d;2;-0,27;0,37" E \
    "valve-tidy: depot.csv:17: column 'IN found': lash cannot be negative" \
    "depot.csv,17,IN found,lash cannot be negative,\"$d;2;-0,27;0,37\""
spoilt 'a comma forgotten' 17 "$d;2;0,27;37" I \
    "valve-tidy: depot.csv:17: column 'EX found': 37 mm is no credible lash" \
    "depot.csv,17,EX found,37 mm is no credible lash,\"$d;2;0,27;37\""
spoilt 'too many digits' 17 "$d;2;0,123456789012345678;0,37" E \
    "valve-tidy: depot.csv:17: column 'IN found': bad number '0,123456789012345678'" \
    "depot.csv,17,IN found,\"bad number '0,123456789012345678'\",\"$d;2;0,123456789012345678;0,37\""
spoilt 'two cells wrong' 17 "$d;2;x;y" - \
    "valve-tidy: depot.csv:17: column 'IN found': bad number 'x'
valve-tidy: depot.csv:17: column 'EX found': bad number 'y'" \
    "depot.csv,17,IN found,bad number 'x'; bad number 'y',\"$d;2;x;y\""
spoilt 'control characters cannot forge a message' 17 "$d;2;\\033[2J;0,37" E \
    "valve-tidy: depot.csv:17: column 'IN found': bad number '?[2J'" \
    "$(printf "depot.csv,17,IN found,bad number '?[2J',\"%s;2;\\033[2J;0,37\"" "$d")"

# Two quotes too many make one record of two rows. It does not fit the heading, so its
# first line is refused; in the second the quote is an inch mark: 0.38 in = 9.652 mm.
sed '17s/^/"/; 18s/$/"/' good.csv >depot.csv
run "$tidy" --recipe r --rejects rejects depot.csv
sed '1d;$d' .out >got.rows
grep -v -e ',17$' -e 'E,.*,18$' good.rows >want.rows
is 'a quote that swallows the next row: status, messages' "$status$nl$err" "1
valve-tidy: depot.csv:17: unclosed quote
valve-tidy: depot.csv:18: column 'EX found': 9.652 mm is no credible lash"
ok 'a quote that swallows the next row: nothing else is lost' cmp got.rows want.rows

### valves
cat >valves <<'END'
column,means,unit,at,state,format,value
Engine,engine,,,,,
Date,date,,,,,
Valve,valve,,,,,
Side,side,,,,,
Lash,lash,mm,,,,
IVO [mm],opens,,1I,,,
END
cat >valves.csv <<'END'
Engine,Date,Valve,Side,Lash,IVO [mm]
HC-1,2026-03-01,1Q,,0.1,
HC-1,2026-03-01,,,0.1,
HC-1,2026-03-01,3,,0.1,
HC-1,2026-03-01,3I,ex,0.1,
HC-1,2026-03-01,3,both,0.1,
HC-1,2026-03-01,3,Ex.,0.1,
HC-1,2026-03-01,1I,,,12 BTDC
HC-1,2026-03-01,2E,,,12
END
run "$tidy" --recipe valves valves.csv
is 'valves' "$status$nl$(sed '1d;$d' .out)$nl$err" "1
HC-1,2026-03-01,,,lash,3E,0.1,,mm,,,,,,valves.csv,7
valve-tidy: valves.csv:2: column 'Valve': unknown valve '1Q'
valve-tidy: valves.csv:3: column 'Valve': no valve named
valve-tidy: valves.csv:4: column 'Valve': no side named
valve-tidy: valves.csv:5: column 'Side': the row names another valve too: 'ex'
valve-tidy: valves.csv:6: column 'Side': bad side 'both'
valve-tidy: valves.csv:8: column 'IVO [mm]': unit 'mm' does not fit here
valve-tidy: valves.csv:9: the row names another valve than the recipe"

### valve-tidy: files that cannot be read end no stream, and the others stand
cp good.csv depot.csv
gzip -c good.csv >whole.gz
head -c 200 whole.gz >cut.gz
{ head -c 100 whole.gz; printf 'xxxxxxxx'; tail -c +109 whole.gz; } >torn.gz

# unread NAME FILE ERR: no end row, status 2; the export behind it is read
unread() {
    run "$tidy" --recipe r --rejects rejects "$2" depot.csv
    is "$1: status, messages" "$status$nl$err" "2$nl$3"
    grep ',depot.csv,' .out >got.rows
    ok "$1: the export behind it is read" cmp got.rows good.rows
    is "$1: no end row" "$(grep -c ',end,' .out)" 0
    is "$1: no rejects" "$(sed 1d rejects)" ''
}

unread 'missing file' none.csv 'valve-tidy: none.csv: No such file or directory'
unread 'directory' bad/directory 'valve-tidy: bad/directory: Is a directory'
unread 'truncated gzip' cut.gz 'valve-tidy: cut.gz: gzip data end too early'
unread 'damaged gzip' torn.gz 'valve-tidy: torn.gz: damaged gzip data'
unread 'empty file' bad/empty 'valve-tidy: bad/empty: empty'
printf 'Engine;Date;Hours;Cyl;IN;EX found\n' >head.csv
unread 'another heading' head.csv \
    "valve-tidy: head.csv:1: no heading as the recipe has it; the nearest row lacks column 'in found'"
printf '%s;Remark\n' "$top" >more.csv
unread 'a column nobody spoke of' more.csv \
    "valve-tidy: more.csv:1: the recipe gives no meaning (it may be ignore) to column 'Remark'"
printf '%s;IN found\n' "$top" >twice.csv
unread 'a heading twice' twice.csv \
    "valve-tidy: twice.csv:1: the recipe has to number columns (#1, #2 ...) that share heading 'IN found'"
printf '"%s\n' "$top" >torn.csv
unread 'a heading that cannot be read' torn.csv 'valve-tidy: torn.csv:1: unclosed quote'

forged=$(printf 'a\033[31m\nvalve-tidy: b.csv')
printf '%s;x\033[2J\n' "$top" >"$forged"
unread 'control characters in names of files and columns' "$forged" \
    "valve-tidy: a?[31m?valve-tidy: b.csv:1: the recipe gives no meaning (it may be ignore) to column 'x?[2J'"

run "$tidy" --recipe r bad/heading
is 'header only' "$status$err $(sed 1d .out)" '0 ,,,,end,,0,,,,,,,2791fc37,,'
run "$tidy" --recipe r --set encoding=KLINGON depot.csv
is 'unknown encoding' "$status $err" "2 valve-tidy: depot.csv: unknown encoding 'KLINGON'"

### valve-tidy: where the output goes
run sh -c '"$@" >/dev/full' sh "$tidy" --recipe r depot.csv
is 'full device' "$status $err" '2 valve-tidy: stdout: No space left on device'
run "$tidy" --recipe r --rejects /dev/full depot.csv
is 'full device for rejects' "$status $err" '2 valve-tidy: /dev/full: No space left on device'
run "$tidy" --recipe r --rejects none/x depot.csv
is 'rejects that cannot be made' "$status $err$out" '2 valve-tidy: none/x: No such file or directory'
run sh -c '"$@" >&-' sh "$tidy" --recipe r --rejects rejects depot.csv
is 'closed standard output' "$status $err" '2 valve-tidy: stdout: Bad file descriptor'
printf ' x' >>depot.csv
run sh -c '"$@" 2>&-' sh "$tidy" --recipe r --rejects rejects depot.csv
is 'closed standard error: messages do not run into the rejects' "$status$nl$(cat rejects)" "1
source,line,column,reason,row
depot.csv,26,,1 cell where the heading has 6,\" x\""
run "$tidy" --recipe r - <&-
is 'closed standard input' "$status $err" '2 valve-tidy: stdin: Bad file descriptor'
run "$tidy" --recipe r - </dev/null
is 'empty standard input' "$status $err" '2 valve-tidy: stdin: empty'
run "$tidy" --recipe r - <bad
is 'directory as standard input' "$status $err" '2 valve-tidy: stdin: Is a directory'

# what is read must not be made anew, whatever it is called
cp depot.csv before
cp r r.before
ln -s depot.csv link.csv
ln depot.csv hard.csv
for name in depot.csv ./depot.csv link.csv hard.csv; do
    run "$tidy" --recipe r --rejects "$name" good.csv depot.csv
    is "rejects into the export, as $name" "$status $err$out" \
        "2 valve-tidy: $name: this file is read, and would be lost if it were written"
    ok "the export is still there, as $name" cmp before depot.csv
done
run "$tidy" --recipe r --rejects link.csv <depot.csv
is 'rejects into standard input' "$status $err$out" \
    '2 valve-tidy: link.csv: this file is read, and would be lost if it were written'
ok 'standard input is still there' cmp before depot.csv
run "$tidy" --recipe r --rejects r depot.csv
is 'rejects into the recipe' "$status $err$out" '2 valve-tidy: r: this file is read, and would be lost if it were written'
ok 'the recipe is still there' cmp r.before r
run "$tidy" --recipe r --rejects /dev/null depot.csv
is 'a device may be both' "$status" 1

# unpacked from an archive of another system, a name is in Latin-1: its readings go on, under a
# name that can stand in a table
latin=$(printf 'gr\374n.csv')
printf 'engine,family\nD-07,four\n' >engines.csv
printf '%s\n' family,side,key,value,unit four,,cylinders,4, four,I,valves,1, four,E,valves,1, >families.csv
{ cat good.csv && echo x; } >"$latin"
run "$tidy" --recipe r --rejects rejects "$latin"
ok 'a name in Latin-1: readings are UTF-8' iconv -f UTF-8 -t UTF-8 .out
ok 'a name in Latin-1: rejects are UTF-8' iconv -f UTF-8 -t UTF-8 rejects
is 'a name in Latin-1: of what file they are' "$(sed 1d .out | cut -d, -f15 | sort -u)" "
gr?n.csv"
cp .out latin.csv
run "$bin/valve-book" --as-of 2026-11-01 latin.db families.csv engines.csv latin.csv
is 'a name in Latin-1: the book takes them' "$status|$err" '0|'
done_testing
