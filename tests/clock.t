#!/bin/sh
# A clock that has lost its time: the book has seen later days, and nothing is done by it
# that would have to be undone. The book here has seen the year 2198, which no clock says.
. tests/tap.sh
clock=$PWD/$B/tests/clock.so
cd "$work" || exit 1
heading=engine,date,meter,meter_unit,quantity,at,found,left,unit
printf '%s\n' family,side,key,value,unit two,,cylinders,1, two,E,valves,1, \
    two,E,lash_min,0.20,mm two,E,lash_max,0.60,mm >families.csv
printf '%s\n' engine,family D-1,two D-2,two >engines.csv
printf '%s\n' $heading D-1,2026-01-01,0,h,lash,1E,,0.40,mm D-2,2026-01-01,0,h,lash,1E,,0.15,mm >first.csv
printf '%s\n' $heading D-1,2198-05-01,900,h,lash,1E,0.39,,mm >one.csv
printf '%s\n' $heading D-2,2198-06-01T07:30,900,h,lash,1E,0.14,,mm >two.csv
printf '%s\n' $heading D-1,2026-01-11,100,h,lash,1E,0.40,,mm >next.csv
printf '%s\n' family,side,key,value,unit two,,relash_days,400,d >fact.csv
load() { "$bin/valve-book" --as-of 2198-12-31 --no-end shop.db "$@"; }
load families.csv engines.csv first.csv
is 'as a night says it' "$("$bin/valve-alert" --text shop.db | sed -n '1s/.*: //p')" '1 new'

### one visit may have come in under a wrong date
load one.csv
run "$bin/valve-alert" --text --remind 0d shop.db
is 'one visit is later: the alert' "$status|$err" '0|'
run "$bin/valve-book" --no-end shop.db next.csv
is 'one visit is later: a load' "$status|$err" '0|'
run "$bin/valve-due" --format csv shop.db
is 'one visit is later: the list' "$status|$err" '0|'

### two did not
load two.csv
why="shop.db: the clock says $(date +%Y-%m-%d), but 2 visits are later, the last of 2198-06-01: is it wrong? (--as-of states another day)"
"$bin/valve-alert" --list --format csv shop.db >said
"$bin/valve-book" --dump readings shop.db >held
for option in --text --dry-run; do
    run "$bin/valve-alert" $option --remind 0d --pipe-to 'cat >msg' shop.db
    is "valve-alert $option says nothing" "$status|$out|$err|$(ls msg 2>/dev/null)" "2||valve-alert: $why|"
done
is 'and forgets nothing' "$("$bin/valve-alert" --list --format csv shop.db)" "$(cat said)"
sed 's/0.40/0.41/; s/01-11/01-12/' next.csv >more.csv
run "$bin/valve-book" --no-end --rejects rejects.csv shop.db more.csv
is 'valve-book takes nothing' "$status|$out|$err|$(ls rejects.csv 2>/dev/null)" "2||valve-book: $why|"
is 'and has what it had' "$("$bin/valve-book" --dump readings shop.db)" "$(cat held)"
run "$bin/valve-due" --format csv shop.db
is 'a list is made, with a word of it' "$status|$err|$(printf '%s\n' "$out" | cut -d, -f1-3,10 | sed -n 2p)" \
    "0|valve-due: $why|D-2,lash,1E,2026-01-01"

### whoever states the day is believed, and what needs none goes on
run "$bin/valve-book" --as-of 2026-02-01 --no-end shop.db more.csv
is 'a load' "$status|$err" '0|'
run "$bin/valve-book" --withdraw --no-end shop.db more.csv
is 'withdrawing' "$status|$err" '0|'
run "$bin/valve-due" --as-of 2026-02-01 --format csv shop.db
is 'a list' "$status|$err" '0|'
run "$bin/valve-alert" --as-of 2198-07-01 --text shop.db
is 'an alert' "$status|$err" '0|'
run "$bin/valve-alert" --ack D-2 shop.db
is 'acknowledging' "$status|$err" '0|'
"$bin/valve-book" --withdraw --no-end shop.db two.csv
run "$bin/valve-book" shop.db fact.csv
is 'and so is the clock, once the dates are mended' "$status|$err" '0|'
### a clock that says no date at all
# a sanitizer that is a library of its own must come before it
sanitizer=$(ldd "$bin/valve-due" 2>&1 | awk '/libasan/ { print $3 }')
if [ ! -e "$clock" ] || { [ "${B#*-address}" != "$B" ] && [ ! -e "$sanitizer" ]; }; then
    skip 'a clock that says no date' 'nothing can be preloaded'
    done_testing
    exit
fi
clock="${sanitizer:+$sanitizer }$clock"
cp shop.db before.db
for year in 2255=9000000000 1827=-4500000000; do
    for c in 'valve-due shop.db' 'valve-drift shop.db' 'valve-trend shop.db' 'valve-timing shop.db' \
        'valve-life --family two shop.db' 'valve-set --engine D-1 shop.db' 'valve-alert --text shop.db' \
        'valve-book shop.db fact.csv'; do
        # shellcheck disable=SC2086
        run env LD_PRELOAD="$clock" VB_CLOCK="${year#*=}" "$bin"/$c
        is "${year%=*}: $c" "$status|$out|$err" \
            "2||${c%% *}: the clock says no year from 1900 to 2199: --as-of is needed"
    done
done
ok 'the book is as before' cmp shop.db before.db
run env LD_PRELOAD="$clock" VB_CLOCK=9000000000 "$bin/valve-book" --dump engines shop.db
is 'no day is needed to give a table back' "$status|$err|$out" "0||$("$bin/valve-book" --dump engines shop.db)"
printf '%s\n' engine,date,event,part,at D-1,2026-01-02,build,, >wrong.csv
"$bin/valve-book" --as-of 2199-12-31 --no-end shop.db wrong.csv
run env LD_PRELOAD="$clock" VB_CLOCK=9000000000 "$bin/valve-book" --withdraw --no-end shop.db wrong.csv
is 'nor to withdraw' "$status|$err" '0|'
run env LD_PRELOAD="$clock" VB_CLOCK=1800000000 "$bin/valve-due" --format csv shop.db
is 'the clock that is preloaded works: a list' "$status|$err" '0|'
done_testing
