#!/bin/sh
# What lists and messages say to people, of books as workshops have them.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
PATH=$bin:$PATH
export PATH
as_of='--as-of 2026-06-30'
heading=engine,date,meter,meter_unit,quantity,at,found,left,unit

# Kilometres: 0.30, 0.28 and 0.27 mm at 0, 10 and 20 thousand of them. By hand: the slope is
# (-10 * 0.30 + 10 * 0.27) / 200 = -0.0015 mm/1000 km; 0.0017, -0.0033 and 0.0017 mm are left,
# s2 = 1.67e-5 mm2 with one degree of freedom, and the error sqrt(s2 / 200) = 0.00029.
cat >families.csv <<'EOF'
family,side,key,value,unit
lorry,,cylinders,1,
lorry,I,valves,1,
lorry,I,lash_min,0.28,mm
EOF
printf 'engine,family\nL-1,lorry\n' >engines.csv
cat >km.csv <<EOF
$heading
L-1,2026-01-10,0,km,lash,1I,,0.30,mm
L-1,2026-02-10,10000,km,lash,1I,0.28,,mm
L-1,2026-03-10,20000,km,lash,1I,0.27,,mm
EOF
run valve-book $as_of --no-end km.db families.csv engines.csv km.csv
is 'a lorry is in' "$status$err" 0
run valve-drift $as_of --format table km.db
is 'a rate by kilometres, in a table' "$(printf '%s\n' "$out" | sed -n 's/.* \(-0\.[0-9]*\) *\([0-9.]*\) *-0[.0-9]* *[0-9.]* *1000 km.*/\1 \2/p')" \
    '-0.00150 0.00029'
run valve-trend $as_of --format table km.db
ok 'and in a line a valve' sh -c "printf '%s\n' \"\$1\" | grep -q -e ' -0\.00150  0\.00029  1000 km '" sh "$out"
run valve-trend $as_of --format html km.db
ok 'and on a page' sh -c "printf '%s\n' \"\$1\" | grep -q -e '<td class=\"num\">-0\.00150 . 0\.00029</td>'" sh "$out"
run valve-due $as_of --format csv km.db
is 'and in a reason' "$(printf '%s\n' "$out" | sed -n 's/.*; \(closing .*\) (.*/\1/p' | head -n 1)" \
    'closing 0.00150 ± 0.00029 mm/1000 km'

### a head is replaced, an engine leaves: what there is to say of none
cat >four.csv <<EOF
$heading
L-1,2026-05-10,30000,km,lash,1I,0.27,0.30,mm
EOF
printf 'engine,date,meter,meter_unit,event,part\nL-1,2026-06-01,32000,km,replace,head\n' >head.csv
cp km.db head.db
run valve-book $as_of --no-end head.db four.csv head.csv
is 'a new head' "$status$err" 0
run valve-drift $as_of --format table head.db
is 'of its life nothing is known' "$(printf '%s\n' "$out" | head -n 1)" \
    'no valve has been read in its present life'
run valve-trend $as_of --format table head.db
is 'in a line a valve' "$(printf '%s\n' "$out" | head -n 1)" \
    'no valve in use has been read in its present life'
run valve-due $as_of --format csv head.db
is 'it was read before, not since' "$(printf '%s\n' "$out" | grep unread | cut -d, -f11)" \
    '1I never read in the present life'
printf 'engine,date,event\nL-1,2026-06-10,end\n' >gone.csv
valve-book $as_of head.db gone.csv
run valve-due $as_of --engine L-1 --format table head.db
is 'an engine that has left' "$(printf '%s\n' "$out" | head -n 1)" \
    'no engine here is in service any more'
done_testing
