# valve-drift and valve-due on a book so small that every figure can be worked out by hand.
. tests/tap.sh

cd "$work" || exit 1
cat >families.csv <<'END'
family,side,key,value,unit
two,,cylinders,1,
two,I,valves,1,
two,E,valves,1,
two,I,lash_min,0.20,mm
two,I,lash_max,0.60,mm
two,E,lash_min,0.20,mm
two,E,lash_max,0.60,mm
two,E,seat_limit,0.10,mm
two,,relash_interval,500,h
END
cat >engines.csv <<'END'
engine,family
D-1,two
D-2,two
D-3,two
END
# D-1: 100 h in 10 days. 1E closes 0.02 mm in 100 h, without any scatter: 0.40, 0.38, 0.36, so
# at 200 h another 0.16 mm to 0.20 last 800 h = 80 days. 1I opens 0.01 mm in 100 h: 0.50, 0.51,
# 0.52; the 0.08 mm to 0.60 last 800 h too. The seat of 1E has closed 0.04 of 0.10 mm: 300 h.
# D-2: 1I is below its limit as it was read last; 1E was never read.
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
D-1,2026-01-01,0,h,lash,1I,,0.50,mm
D-1,2026-01-01,0,h,lash,1E,,0.40,mm
D-1,2026-01-11,100,h,lash,1I,0.51,,mm
D-1,2026-01-11,100,h,lash,1E,0.38,,mm
D-1,2026-01-21,200,h,lash,1I,0.52,,mm
D-1,2026-01-21,200,h,lash,1E,0.36,,mm
D-2,2026-01-05,50,h,lash,1I,0.15,,mm
END
exact readings.csv
run "$bin/valve-book" --as-of 2026-02-01 --no-end shop.db families.csv engines.csv readings.csv
is "the book takes it" "$status$err" 0

run "$bin/valve-drift" --as-of 2026-02-01 --format csv shop.db
is "drift by hand" "$out" \
    "engine,family,at,build,since,n,settings,now,verdict,moved,rate,rate_se,est,est_se,per,df,step_p,vs_last,vs_last_se,no_temp,no_meter,way,hint
D-1,two,1I,,,3,1,0.52,in,0.02,0.1,0,0.1,0,1000 h,1,,,,0,0,opening,
D-1,two,1E,,,3,1,0.36,in,-0.04,-0.2,0,-0.2,0,1000 h,1,,,,0,0,closing,
D-2,two,1I,,,1,1,0.15,out,,,,,,1000 h,,,,,0,0,,"
is "drift ends well" "$status$err" 0

# What is unread is so in a build only where that build renewed its train: S2 was a seat of 1I.
# unread NAME REASON EVENTS: of D-2
unread() {
    cp shop.db unread.db
    printf 'engine,date,event,part,at,build\n%s\n' "$3" >unread.csv
    "$bin/valve-book" --as-of 2026-02-01 unread.db unread.csv
    run "$bin/valve-due" --as-of 2026-02-01 --engine D-2 --format csv unread.db
    is "$1" "$(printf '%s\n' "$out" | grep ,unread, | cut -d, -f11)" "$2"
}
unread 'a seat of another valve' '1E never read' D-2,2026-01-04,replace,seat,1I,S2
unread 'a build' '1I 1E never read in build B1' D-2,2026-01-06,build,,,B1
unread 'a build, and a seat since' '1I 1E never read in the present life' \
    "D-2,2026-01-06,build,,,B1${nl}D-2,2026-01-07,replace,seat,1I,S2"
unread 'a seat without a name' '1I 1E never read in the present life' D-2,2026-01-06,replace,seat,1I,

# Hydraulic adjusters leave no lash to read: an engine whose cams alone are timed lacks nothing.
printf '%s\n' family,side,key,value,unit hyd,,cylinders,1, hyd,I,valves,1, hyd,,adjuster,hydraulic, \
    hyd,,checking_lift,1,mm >hydraulic.fam
printf '%s\n' engine,family H-1,hyd >hydraulic.eng
printf '%s\n' engine,date,quantity,at,found,left,unit H-1,2026-01-05,opens,1I,,-10,deg \
    H-1,2026-01-05,closes,1I,,230,deg >hydraulic.csv
run "$bin/valve-book" --as-of 2026-02-01 --no-end hyd.db hydraulic.fam hydraulic.eng hydraulic.csv
is "hydraulic adjusters" "$status$err" 0
run "$bin/valve-due" --as-of 2026-02-01 --format csv hyd.db
is "no lash to read" "$status $err$(printf '%s\n' "$out" | tail -n +2)" "0 "

run "$bin/valve-due" --as-of 2026-02-01 --format csv shop.db
is "due by hand" "$(printf '%s\n' "$out" | cut -d, -f1-9)" \
    "engine,kind,at,due_date,due_meter,meter_left,meter_unit,expected_date,expected_meter
D-2,lash,1I,,50,0,h,,50
D-2,interval,,2026-02-01,,,h,,
D-2,unread,,2026-02-01,,,h,,
D-3,unread,,2026-02-01,,,,,
D-1,seat,1E,2026-02-20,500,300,h,2026-02-20,500
D-1,interval,,2026-02-20,500,300,h,2026-02-20,500
D-1,lash,1I,2026-04-11,1000,800,h,2026-04-11,1000
D-1,lash,1E,2026-04-11,1000,800,h,2026-04-11,1000"
is "reasons in words" "$(printf '%s\n' "$out" | cut -d, -f11- | tr -d '"')" \
    "reason
0.150 mm, tight limit 0.200 mm; no rate yet (1 reading)
no setting on record
1E never read
never read at all
closed 0.040 ± 0 of 0.100 mm; closing 0.20 ± 0 mm/1000 h (3 readings)
last set 2026-01-01, 200 h ago; the plan says every 500 h
0.520 mm, loose limit 0.600 mm; opening 0.10 ± 0 mm/1000 h (3 readings)
0.360 mm, tight limit 0.200 mm; closing 0.20 ± 0 mm/1000 h (3 readings)"

due() { "$bin/valve-due" --as-of 2026-02-01 --format csv "$@" shop.db; }
run due --within 30d
is "within 30 days" "$(printf '%s\n' "$out" | grep -c ,lash,)" 1
run due --within 3wk
is "within 3 weeks: 19 days are" "$(printf '%s\n' "$out" | grep -c '^D-1')" 2
run due --within 18d
is "within 18 days: they are not" "$(printf '%s\n' "$out" | grep -c '^D-1')" 0
run due --within 800h
is "within 800 h" "$(printf '%s\n' "$out" | grep -c '^D-1')" 4
run due --within 799h
is "within 799 h" "$(printf '%s\n' "$out" | grep -c '^D-1')" 2
run due --within soon
is "a span that is none" "$status" 2
run due --exit-code --engine D-1
is "something is due: status 1" "$status" 1
run due --exit-code --engine D-1 --within 1d
is "nothing is due: status 0" "$status" 0
is "nothing but the heading" "$(printf '%s\n' "$out" | wc -l | tr -d ' ')" 1
run due --engine D-9
is "unknown engine" "$status $err" "2 valve-due: shop.db: unknown engine 'D-9'"
run due --family nine
is "unknown family" "$status $err" "2 valve-due: shop.db: no engine of family 'nine'"

# Before the plan: the next event adds 290 h, which the seat outlasts by 10 h; one of 300 h not.
printf 'engine,date,meter_gain,label\nD-1,2026-03-01,290,spring service\n' >plan.csv
run "$bin/valve-book" --as-of 2026-02-01 shop.db plan.csv
run due --before-plan --engine D-1
is "dates count too: due 2026-02-20, planned for 2026-03-01" "$(printf '%s\n' "$out" | grep -c '^D-1')" 2
printf 'engine,date,meter_gain,label\nD-1,2026-02-10,290,hill climb\n' >plan.csv
run "$bin/valve-book" --as-of 2026-02-01 shop.db plan.csv
run due --before-plan --engine D-1
is "290 h on 10 February are outlasted" "$(printf '%s\n' "$out" | grep -c '^D-1')" 0
printf 'engine,date,meter_gain,label\nD-1,2026-02-09,10,test day\n' >plan.csv
run "$bin/valve-book" --as-of 2026-02-01 shop.db plan.csv
run due --before-plan --engine D-1
is "the next event is the one of 9 February" "$(printf '%s\n' "$out" | grep -c '^D-1')" 0

# --as-of looks back: on 15 January there were two readings and no scatter to judge by
run "$bin/valve-drift" --as-of 2026-01-15 --engine D-1 --format csv shop.db
is "readings after --as-of are not looked at" "$(printf '%s\n' "$out" | cut -d, -f1,3,6,8,11,12,22)" \
    "engine,at,n,now,rate,rate_se,way
D-1,1I,2,0.51,0.1,,
D-1,1E,2,0.38,-0.2,,"

# an engine that is out of the fleet
printf 'engine,date,event\nD-2,2026-01-20,end\n' >events.csv
run "$bin/valve-book" --as-of 2026-02-01 shop.db events.csv
run due --engine D-2
is "nothing of a retired engine is due" "$(printf '%s\n' "$out" | wc -l | tr -d ' ')" 1

# other forms
run "$bin/valve-due" --as-of 2026-02-01 --format json --engine D-3 shop.db
is "JSON Lines" "$out" '{"engine":"D-3","kind":"unread","at":"","due_date":"2026-02-01","due_meter":null,"meter_left":null,"meter_unit":"","expected_date":"","expected_meter":null,"last_visit":"","reason":"never read at all"}'
run "$bin/valve-due" --as-of 2026-02-01 --format table --engine D-3 shop.db
is "a table" "$(printf '%s\n' "$out" | head -n 2)" \
    "engine  kind    valve  due by      at meter  to run  unit  expected  at meter  last visit  why
D-3     unread         2026-02-01                                                          never read at all"
is "the cautions close it" "$(printf '%s\n' "$out" | grep -c 'qualified mechanic')" 1
run "$bin/valve-due" --as-of 2026-02-01 --format table --engine D-2 shop.db
is "of an engine that has left a table says so" "$(printf '%s\n' "$out" | head -n 1)" \
    "no engine here is in service any more"
run "$bin/valve-due" --as-of 2026-02-01 --format table --engine D-1 --within 0d shop.db
is "an empty table says so" "$(printf '%s\n' "$out" | head -n 1)" "nothing is due"
# an empty list is no all-clear where nothing is stated that could be reached
# bare ROW...: a family with these facts, engines T-1 to T-3 in h and K-1, K-2 in km, all read
bare() {
    rm -f bare.db
    { echo family,side,key,value,unit && printf 'bare,%s\n' "$@"; } >bare.csv
    printf 'engine,family\nT-1,bare\nT-2,bare\nT-3,bare\nK-1,bare\nK-2,bare\n' >bare-engines.csv
    {
        echo engine,date,meter,meter_unit,quantity,at,found,left,unit
        for e in T-1,h T-2,h T-3,h K-1,km K-2,km; do
            for d in 01:0 11:100 21:200; do
                echo "${e%,*},2026-01-${d%:*},${d#*:},${e#*,},lash,1E,0.3${d%:*},,mm"
                echo "${e%,*},2026-01-${d%:*},${d#*:},${e#*,},lash,1I,0.3${d%:*},,mm"
            done
        done
    } >bare-readings.csv
    run "$bin/valve-book" --as-of 2026-02-01 --no-end bare.db bare.csv bare-engines.csv bare-readings.csv
    [ -z "$status$err" ] || [ "$status$err" = 0 ] || is 'bare: the book takes it' "$status$err" 0
}
say="valve-due: bare.db: family 'bare'"
none='no lash_min, lash_max or seat_limit is stated for'
bdue() { "$bin/valve-due" --as-of 2026-02-01 --format csv "$@" bare.db; }
bare ,cylinders,1, I,valves,1, E,valves,1,
run bdue
is "no limits at all: said once, and the list is empty" "$status $(printf '%s\n' "$out" | wc -l | tr -d ' ') $err" \
    "0 1 $say: $none sides I and E: by lash and seats nothing of them is ever due"
run bdue --engine T-2 --exit-code
is "of one engine too, and no reason for a status" "$status $err" \
    "0 $say: $none sides I and E: by lash and seats nothing of them is ever due"
bare ,cylinders,1, I,lash_min,0.1,mm E,valves,1,
run bdue
is "no limits for one side" "$err" "$say: $none side E: by lash and seats nothing of it is ever due"
bare ,cylinders,1, E,seat_limit,0.9,mm
run bdue
is "no limits for the other" "$err" "$say: $none side I: by lash and seats nothing of it is ever due"
bare I,lash_max,0.9,mm E,lash_min,0.1,mm
run bdue
is "a limit each is enough" "$status $err" '0 '
bare I,lash_max,0.9,mm E,lash_min,0.1,mm ,relash_interval,500,h
run bdue
is "an interval in the unit of other meters" "$err" \
    "$say: relash_interval is in h, the meter of K-1 and of 1 more runs in km: no interval by meter is due there"
run bdue --engine K-2
is "the same of one engine" "$err" \
    "$say: relash_interval is in h, the meter of K-2 runs in km: no interval by meter is due there"
run bdue --engine T-1
is "and nothing of another" "$err" ''
printf 'engine,date,event\nK-1,2026-01-25,end\nK-2,2026-01-25,end\n' >gone.csv
run "$bin/valve-book" --as-of 2026-02-01 bare.db gone.csv
run bdue
is "engines out of the fleet do not count" "$err" ''
bare I,lash_max,0.9,mm E,lash_min,0.1,mm
sqlite3 bare.db "INSERT INTO families VALUES('bare', 'E', 'lash_max', '0.05', 'mm')"
run bdue
is "limits of an older book that contradict each other" "$err" \
    "$say: lash_min of side E is above lash_max: 0.1 and 0.05 mm"
printf 'engine,date,event\n' >gone.csv
for e in T-1 T-2 T-3 K-1 K-2; do echo $e,2026-01-25,end >>gone.csv; done
run "$bin/valve-book" --as-of 2026-02-01 bare.db gone.csv
run bdue
is "nor of a family that is out of the fleet" "$status$err" 0
# K-1 comes back under its old name: on the day of its end it may be read, later it may not
late() {
    printf 'engine,date,quantity,at,found,unit\n%s,2026-01-%s,lash,1E,0.3,mm\n' "$1" "$2" >late.csv
    "$bin/valve-book" --as-of 2026-02-01 --no-end bare.db late.csv
}
late K-1 25
run bdue
is "an engine that was read on the day it left" "$status$err" 0
late K-1 26
run bdue
is "one that was read after it" "$status $err" \
    "0 $say: K-1 left the fleet by an event end and was read after it: nothing of it is ever due; a new engine wants a name of its own, a rebuilt one the event build"
late T-1 27
run bdue
is "of several the first is named" "${err%% left*}" "$say: K-1 and 1 more"
run bdue
is "the same from what is kept" "${err%% left*}" "$say: K-1 and 1 more"
run bdue --engine T-2
is "and nothing of another" "$err" ''
bare ,cylinders,1,
grep -v ,1I, bare-readings.csv >side.csv
printf 'family,side,key,value,unit\nbare,E,lash_min,0.1,mm\n' >bare.csv
rm -f bare.db
run "$bin/valve-book" --as-of 2026-02-01 --no-end bare.db bare.csv bare-engines.csv side.csv
run bdue
is "a side that nobody reads needs no limit" "$status$err" 0
printf 'engine,family\nS-1,bare\n' >new.csv
bare ,cylinders,1,
rm -f bare.db
run "$bin/valve-book" bare.db bare.csv new.csv
run bdue
is "nothing read, nothing to say of limits" "$err" ''

### a family whose name is long
long=$(printf '%600s' '' | tr ' ' L)
sed "s/^two,/$long,/" families.csv >long-families.csv
printf 'engine,family\nD-1,%s\nD-2,two\nD-3,two\n' "$long" >long-engines.csv
run "$bin/valve-book" --as-of 2026-02-01 --no-end long.db families.csv long-families.csv \
    long-engines.csv readings.csv
is "a book with it" "$status$err" 0
for of in "--family $long" "--engine D-1" "--engine D-1 --family $long"; do
    # shellcheck disable=SC2086 # an option and its value
    run "$bin/valve-due" --as-of 2026-02-01 $of --format csv long.db
    is "is found by its whole name, $(echo "$of" | tr -d L)" \
        "$status|$err|$(printf '%s\n' "$out" | cut -d, -f1-4 | tail -n +2)" \
        "0||D-1,seat,1E,2026-02-20
D-1,interval,,2026-02-20
D-1,lash,1I,2026-04-11
D-1,lash,1E,2026-04-11"
done
for tool in due drift timing trend; do
    run "$bin/valve-$tool" --as-of 2026-02-01 --family two --engine D-1 long.db
    is "an engine of another family, valve-$tool" "$status|$out|$err" \
        "2||valve-$tool: long.db: engine 'D-1' is of family '$(echo "$long" | cut -c1-60)', not 'two'"
done

### whoever reads slowly what is said keeps nobody from a load: 600 families whose valves have no
### limits are more than a pipe holds
awk 'BEGIN {
    print "family,side,key,value,unit" >"slow-families.csv"
    print "engine,family" >"slow-engines.csv"
    print "engine,date,meter,meter_unit,quantity,at,found,left,unit" >"slow.csv"
    for (i = 1; i <= 600; i++) {
        print "W-" i ",,cylinders,1,\nW-" i ",I,valves,1," >"slow-families.csv"
        print "L-" i ",W-" i >"slow-engines.csv"
        print "L-" i ",2026-01-10,100,h,lash,1I,0.3,,mm" >"slow.csv"
    }
    print "engine,date,meter,meter_unit,quantity,at,found,left,unit" >"slow-next.csv"
    print "L-1,2026-01-20,200,h,lash,1I,0.3,,mm" >"slow-next.csv"
}'
run "$bin/valve-book" --as-of 2026-02-01 --no-end slow.db slow-families.csv slow-engines.csv slow.csv
is "a book of much that can never be due" "$status$err" 0
mkfifo slow
exec 9<>slow
"$bin/valve-due" --as-of 2026-02-01 --format csv slow.db >slow.out 2>slow &
due=$!
is "the first of it is being said" "$(head -c 1 <&9)" v
run "$bin/valve-book" --as-of 2026-02-01 --no-end slow.db slow-next.csv
is "and the book takes a load" "$status$err" 0
cat <&9 >slow.err &
reader=$!
wait "$due"
is "the list comes in the end" "$?$(head -c 6 slow.out)" 0engine
kill "$reader"
exec 9>&-

run "$bin/valve-due" --format xml shop.db
is "an unknown format" "$status" 2
run "$bin/valve-due" --as-of tomorrow shop.db
is "a bad date" "$status" 2
run "$bin/valve-due" nothing.db
is "no book" "$status $err" "2 valve-due: nothing.db: No such file or directory"

# Set on 1 March at a visit without a meter, 100 h after it was set before: the plan's days are
# counted from there, its hours from the meter that was read last before, 110 h.
cat >set_f.csv <<'END'
family,side,key,value,unit
one,,relash_interval,500,h
one,,relash_days,90,d
END
printf 'engine,family\nS-1,one\nS-2,one\n' >set_e.csv
cat >set_r.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
S-1,2026-01-01,10,h,lash,1I,,0.50,mm
S-1,2026-02-01,110,h,lash,1I,0.48,,mm
S-1,2026-03-01,,,lash,1I,0.47,0.50,mm
S-1,2026-03-11,200,h,lash,1I,0.49,,mm
S-2,2026-03-01,,,lash,1I,0.47,0.50,mm
END
"$bin/valve-book" --as-of 2026-03-31 --no-end set.db set_f.csv set_e.csv set_r.csv
is "a setting without a meter counts" \
    "$("$bin/valve-due" --as-of 2026-03-31 --format csv set.db | grep interval | cut -d, -f1,4-6,11)" \
    "S-1,2026-05-30,610,410,\"last set 2026-03-01
S-2,2026-05-30,,,last set 2026-03-01; the plan says every 90 days"
is "and in words" \
    "$("$bin/valve-due" --as-of 2026-03-31 --format csv set.db | grep S-1 | cut -d, -f12)" \
    ' at most 90 h ago; the plan says every 500 h; the plan says every 90 days"'

# The meter is swapped at 215 h, and the new one begins at 10: what was due at 610 is so at 405.
printf 'engine,date,meter,meter_unit,event,at\nS-1,2026-03-20,215,h,meter,10\n' >swap.csv
"$bin/valve-due" --as-of 2026-03-31 set.db >list # so that what was kept is stale
"$bin/valve-book" --as-of 2026-03-31 set.db swap.csv
# at DAY: of what is due of S-1: its meter, what is left to run, and the meter expected
at() { "$bin/valve-due" --as-of "$1" --format csv set.db | grep S-1,interval | cut -d, -f5,6,9; }
is "by the meter that shows now, though nobody has read it" "$(at 2026-03-31)" 405,410,405
is "and by the old one the day before" "$(at 2026-03-19)" 610,410,610
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit S-1,2026-03-30,17,h,lash,1I,0.48,,mm >read.csv
"$bin/valve-book" --as-of 2026-03-31 --no-end set.db read.csv
is "the new one is read" "$(at 2026-03-31)" 405,388,405

# An engine of two cylinders was set as a whole on 1 January at 100 h. Its head of cylinder 2 was
# renewed at 300 h, which leaves 1I and 1E of those four set; the exchange engine at 400 h has
# never been set, until somebody sets it. 150 h in 31 days: the 850 h from 250 to 1100 take 175.7.
printf 'family,side,key,value,unit\nx,,cylinders,2,\nx,I,valves,1,\nx,E,valves,1,\nx,,relash_interval,1000,h\n' >x_f.csv
printf 'engine,family\nX-1,x\n' >x_e.csv
# all DATE METER CELLS: of all four valves
all() { for v in 1I 1E 2I 2E; do echo "X-1,$1,$2,h,lash,$v,$3,mm"; done; }
h=engine,date,meter,meter_unit,quantity,at,found,left,unit
{ echo $h; all 2026-01-01 100 ,0.30; all 2026-02-01 250 0.31,; } >x_r.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end x.db x_f.csv x_e.csv x_r.csv
# interval_after EVENT: of X-1 on 31 March
interval_after() {
    printf 'engine,date,meter,meter_unit,event,part,at,build\n%s\n' "$1" |
        "$bin/valve-book" --as-of 2026-03-31 x.db
    "$bin/valve-due" --as-of 2026-03-31 --format csv x.db 2>/dev/null |
        grep interval | cut -d, -f4,5,11-
}
is "half of the engine is as it was set" "$(interval_after X-1,2026-02-10,300,h,replace,head,2,)" \
    '2026-07-26,1100,"last set 2026-01-01, 150 h ago; the plan says every 1000 h"'
is "an exchange engine has not been set" "$(interval_after X-1,2026-02-20,400,h,build,,,X2)" \
    '2026-03-31,,renewed since it was set 2026-01-01'
{ echo $h; all 2026-02-20 400 0.28,0.30; } >x_r.csv
"$bin/valve-book" --as-of 2026-03-31 --no-end x.db x_r.csv
is "until somebody sets it" "$(interval_after '' 2>/dev/null | cut -d, -f2-3)" \
    '1400,"last set 2026-02-20'

# A fleet of hours and of kilometres: due 400 h and 4000 km on; each span is of its own meter.
printf 'family,side,key,value,unit\nmh,,relash_interval,400,h\nmk,,relash_interval,4000,km\n' >mix_f.csv
printf 'engine,family\nH-1,mh\nK-1,mk\n' >mix_e.csv
printf '%s\n' $h H-1,2026-01-01,100,h,lash,1I,,0.30,mm K-1,2026-01-01,100,km,lash,1I,,0.30,mm >mix_r.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end mix.db mix_f.csv mix_e.csv mix_r.csv
# mix SPAN...: engines that are due within
mix() { "$bin/valve-due" --as-of 2026-02-01 "$@" --format csv mix.db 2>/dev/null | sed 1d | cut -d, -f1 | xargs; }
is "within hours" "$(mix --within 400h)" H-1
is "within kilometres" "$(mix --within 4000km)" K-1
is "within either, whichever comes first" \
    "$(mix --within 400h --within 4000km)/$(mix --within 4000km --within 400h)" 'H-1 K-1/H-1 K-1'
is "and too short for one" "$(mix --within 399h --within 4000km)" K-1

# An engine was last read without its meter, another was never read with it: both were read.
printf 'family,side,key,value,unit\nv,,relash_days,90,d\n' >v_f.csv
printf 'engine,family\nV-1,v\nV-2,v\nV-3,v\n' >v_e.csv
printf '%s\n' $h V-1,2026-01-01,100,h,lash,1I,,0.30,mm V-1,2026-01-20,,,lash,1I,0.30,,mm \
    V-2,2026-01-10,,,lash,1I,,0.30,mm >v_r.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end v.db v_f.csv v_e.csv v_r.csv
# seen: the last visits; of V-1, of V-2, and the newest of all in seconds: 20474 days
seen() {
    "$bin/valve-due" --as-of 2026-02-01 --format csv v.db 2>/dev/null | sed 1d | cut -d, -f1,10 | xargs
    "$bin/valve-due" --as-of 2026-02-01 --format openmetrics v.db 2>/dev/null | sed -n 's/^valvebook_last_visit.* //p'
}
is "a visit without a meter is one" "$(seen)" "V-1,2026-01-20 V-2,2026-01-10${nl}1768867200"
is "and from what was kept" "$(seen)" "V-1,2026-01-20 V-2,2026-01-10${nl}1768867200"
done_testing
