#!/bin/sh
# valve-tidy: cells that are the same in row after row are worked out once. Which rows are
# around them, and what is wrong with those, changes nothing: a table is its rows, each
# tidied alone.
. tests/tap.sh
tidy=$bin/valve-tidy
cd "$work" || exit 1

cat >r <<'R'
column,means,unit,at,state,format,value
Engine,engine,,,,,
Date,date,,,,D.M.Y,
Meter,meter,,,,,
Runs in,meter_unit,,,,,
Valve,valve,,,,,
Found,lash,mm,,found,,
Temp,temp,degF,,,,
Gauge,gauge,,,,,
Fitter,by,,,,,
Note,note,,,,,
,meter,,,,,77
R
heading='Engine,Date,Meter,Runs in,Valve,Found,Temp,Gauge,Fitter,Note'
long=$(printf '%0150d' 0)

# Cells of which each may stand beside each: good ones, blank ones, wrong ones, ones too long
# to be kept in mind, ones that need quotes.
awk -v seed=42 -v long="$long" 'function pick(list, n, a) {
    n = split(list, a, "|")
    seed = (seed * 69069 + 1) % 4294967296
    return a[1 + int(seed / 65536) % n]
}
function stay(old, list) { return pick("1|2|3") == 1 ? pick(list) : old }
BEGIN {
    for (i = 0; i < 900; i++) {
        e = stay(e, "A-1|A-2|A-1|\"A, 3\"|A-2|A-" long "|")
        d = stay(d, "1.5.2026|2.5.2026|3.5.2026|1.5.2026|31.2.2026")
        m = stay(m, "120|77|77||120|-5|12x|120 km|" substr(long, 1, 50) "7")
        u = stay(u, "h|km|h|h||mm")
        t = stay(t, "70|68||70|5000|-")
        g = stay(g, "g1||g2|" long)
        b = stay(b, "ab|\"a,b\"|")
        n = stay(n, "|seen|\"a \"\"b\"\"\"|" long long long long)
        print e "," d "," m "," u "," pick("1I|1E|2I") "," pick("0.2|0.31|x|") "," t "," g "," b "," n
    }
}' >rows

{ echo "$heading" && cat rows; } >all.csv
run "$tidy" --recipe r all.csv
is 'wrong cells are refused, the rest is read' "$status" 1
sed '1d; $d; s/,[0-9]*$//' .out >got
sed 's/^valve-tidy: [^:]*:[0-9]*: //' .err >got.err

# each row in a file of its own
mkdir one
awk -v heading="$heading" '{ f = sprintf("one/%03d/all.csv", NR); system("mkdir " substr(f, 1, 7))
    print heading >f; print >f; close(f) }' rows
for f in one/*/all.csv; do
    "$tidy" --recipe r "$f" 2>err | sed '1d; $d; s/,[0-9]*$//'
    sed 's/^valve-tidy: [^:]*:[0-9]*: //' err >&3
done >want 3>want.err
ok 'the same readings as from each row alone' cmp got want
ok 'the same refusals' cmp got.err want.err
ok 'there are both' [ "$(wc -l <want)" -gt 100 ] && [ "$(grep -c 'bad\|no ' want.err)" -gt 100 ]

# what is kept in mind of one file is not said of the next
cp all.csv other.csv
run "$tidy" --recipe r all.csv other.csv
grep -c ,all.csv, .out >got.n
grep -c ,other.csv, .out >>got.n
is 'each row names its own file' "$(tr '\n' ' ' <got.n)" "$(wc -l <want) $(wc -l <want) "

# far more than is written at a time
awk -v h="$heading" -v long="$long" 'BEGIN {
    print h >"long.csv"
    for (i = 2; i < 3002; i++) {
        print "A-1,1.5.2026,120,h,1I,0.2,,," long "," long >"long.csv"
        print "A-1,2026-05-01,120,h,lash,1I,0.2,,mm,,,," long "," long ",long.csv," i >"want"
    }
}'
"$tidy" --recipe r long.csv | sed '1d; $d' >got
ok 'a long table of the same cells' cmp got want

# the same text in the column and as the constant behind blank cells: only one of them stands
# under a heading that says km
cat >r <<'R'
column,means,unit,at,state,format,value
Engine,engine,,,,,
Meter,meter,km,,,,
Valve,valve,,,,,
Found,lash,mm,,found,,
,meter,,,,,120
,date,,,,,2026-05-01
R
printf '%s\n' Engine,Meter,Valve,Found A-1,120,1I,0.2 A-1,,1E,0.3 A-1,120,2I,0.4 >km.csv
run "$tidy" --recipe r km.csv
is 'a unit of a heading is not that of the constant' \
    "$(sed '1d; $d' .out | cut -d, -f3-7)$nl$err" \
    '120,km,lash,1I,0.2
120,km,lash,2I,0.4
valve-tidy: km.csv:3: no unit stated'
done_testing
