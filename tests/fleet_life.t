#!/bin/sh
# valve-life on published data as real input, through the tables of a book, and on books small
# enough to be worked out by hand.
. tests/tap.sh
life=$bin/valve-life
cd "$work" || exit 1

# cells NAMES: of the rows in .out, the columns of these names, blank between them
cells() {
    awk -F, -v names="$1" '
    NR == 1 { n = split(names, want, " "); for (i = 1; i <= NF; i++) at[$i] = i; next }
    { for (i = 1; i <= n; i++) printf "%s%s", $at[want[i]], i < n ? " " : "\n" }' .out
}
book() { rm -f "$1" && "$bin/valve-book" --as-of 2026-11-01 --no-end "$@"; }
day='function day(n,    e, y, d, m) { # the date of days since 1970-01-01
    n += 719468; e = n % 146097
    y = int((e - int(e / 1460) + int(e / 36524) - int(e / 146096)) / 365)
    d = e - 365 * y - int(y / 4) + int(y / 100); m = int((5 * d + 2) / 153)
    return sprintf("%04d-%02d-%02d", y + 400 * int(n / 146097) + (m > 9),
        m > 9 ? m - 9 : m + 3, d - int((153 * m + 2) / 5) + 1) }'

### valve seats of 41 diesel engines
# fixtures/reference/valveseat_data.csv: "id","time","status": days since the engine came into
# service, 1 a seat replaced, 0 the end of its history. Each engine came into service on a date
# of its own; which seat it was is not known, so that they are numbered.
awk -F, "$day"'
    BEGIN { print "engine,family,in_service" >"engines.csv"
            print "engine,date,event,part,at" >"events.csv" }
    NR == 1 { next }
    !($1 in from) { from[$1] = 10957 + 11 * n++
                    print "L-" $1 ",loco," day(from[$1]) >"engines.csv" }
    { print "L-" $1 "," day(from[$1] + $2) "," \
        ($3 ? "replace,seat," ++seat[$1] "E" : "end,,") >"events.csv" }' \
    "$top/fixtures/reference/valveseat_data.csv"
printf 'family,side,key,value,unit\nloco,,adjuster,screw,\n' >families.csv
run book seats.db families.csv engines.csv events.csv
is 'valve seats: the book takes them' "$status$err$(sqlite3 seats.db 'SELECT count(*) FROM events')" 089

run "$life" --as-of 2026-11-01 --time days --what mcf --format csv seats.db
is 'valve seats: status, messages' "$status$err" 0
is 'valve seats: heading' "$(sed 1q .out)" \
    family,side,part,unit,age,at_risk,replaced,mcf,se,se_poisson,lo,hi
# time, n_at_risk, n_event, mcf, se_lawless_nadeau, se_poisson at all 46 ages, to 9 digits
cut -d, -f1,2,3,5,7,6 "$top/fixtures/reference/valveseat_mcf.csv" | sed 1d >want
cells 'age at_risk replaced mcf se_poisson se' | tr ' ' , >got
is 'valve seats: 46 ages' "$(wc -l <got | tr -d ' ')" 46
is 'valve seats: MCF and both errors to 9 digits at all ages' "$(paste -d, got want | awk -F, '
    { for (i = 1; i <= 6; i++) { d = $i / $(i + 6) - 1; if (d < 0) d = -d; if (d > worst) worst = d
        n += d < 1e-9 } }
    END { print n, worst < 1e-9 ? "within 1e-9" : worst }')" '276 within 1e-9'
is 'valve seats: MCF(653), robust error' "$(tail -n 1 got | awk -F, '{ printf "%.6f %.6f", $4, $6 }')" \
    '1.542688 0.311656'

# tests/r/powerlaw.R, seats: 1.399579267, 553.6430212, var 0.02052312101, robust 0.01660720399,
# Laplace 2.378692775, p 0.01737414967, chi2 66.14835373, p 0.01730480109
run "$life" --as-of 2026-11-01 --time days --what trend --format csv seats.db
is 'valve seats: trend' "$(cells 'engines replaced shape scale laplace laplace_p chi2 df chi2_p' |
    awk '{ printf "%d %d %.8f %.6f %.7f %.8f %.6f %d %.8f", $1, $2, $3, $4, $5, $6, $7, $8, $9 }')" \
    '41 48 1.39957927 553.643021 2.3786928 0.01737415 66.148354 96 0.01730480'
is 'valve seats: bounds of the shape' "$(cells 'shape shape_lo shape_hi shape_lo_robust shape_hi_robust' |
    awk '{ z = 1.959963984540054; printf "%.8f %.8f %.8f %.8f", (log($3 / $1) / z) ^ 2,
        (log($1 / $2) / z) ^ 2, (log($5 / $1) / z) ^ 2, (log($1 / $4) / z) ^ 2 }')" \
    '0.02052312 0.02052312 0.01660720 0.01660720'
is 'valve seats: more often as engines age' "$(cells 'way why')" 'more often '

run "$life" --as-of 2026-11-01 --time days --format csv seats.db
is 'valve seats: the figure of the summary' "$(sed -n 2p .out | cut -d, -f3,4,8 | awk -F, '{ printf "%s %.6f %d", $1, $2, $3 }')" \
    'seats replaced an engine 1.542688 48'
is 'valve seats: over which ages, in words' "$(sed -n 2p .out | cut -d, -f9)" \
    'from the age of 0 to 653 d; 9 of 41 engines watched at the last'
is 'valve seats: the trend in words' "$(sed -n 3p .out | cut -d, -f9)" \
    'replaced more often as an engine ages'
run "$life" --as-of 2026-11-01 --time days --what weibull --format csv seats.db
is 'valve seats: how many there are nobody says' "$(cells 'side life why' | sort | uniq -c | tr -s ' ')" \
    ' 1 E seat the family does not say how many valves there are
 1 E setting no setting was followed
 1 I seat the family does not say how many valves there are
 1 I setting no setting was followed'
# to 2001-06-01, 517 days after the first came: what is later is not looked at
run "$life" --as-of 2001-06-01 --time days --what mcf --format csv seats.db
is 'valve seats: as of an earlier day' "$(cells age | tail -n 1 | awk '{ print ($1 < 517) }') $(
    cells replaced | awk '{ n += $1 } END { print n }')" \
    "1 $(awk -F, '$2 <= "2001-06-01" && $3 == "replace"' events.csv | wc -l | tr -d ' ')"
run "$life" --as-of 2026-11-01 --what mcf --format csv seats.db
is 'valve seats: by the meter nothing has an age' "$status$err$(wc -l <.out | tr -d ' ')" 01

### NIST/SEMATECH e-Handbook 8.4.1.3: ten failed, ten running at 500 h
# each is the chain of an engine that came with 0 h; one that failed was not replaced
{
    echo engine,date,meter,meter_unit,event,part,at
    for h in 54 187 216 240 244 335 361 373 375 386; do
        echo "N-$h,2025-01-01,0,h,build,,"
        echo "N-$h,2025-03-01,$h,h,replace,chain,"
        echo "N-$h,2025-03-01,$h,h,end,,"
    done
    for i in 1 2 3 4 5 6 7 8 9 10; do
        echo "R-$i,2025-01-01,0,h,build,,"
        echo "R-$i,2025-03-01,500,h,end,,"
    done
} >events.csv
{ echo engine,family; sed 1d events.csv | cut -d, -f1 | sort -u | sed 's/$/,test/'; } >engines.csv
printf 'family,side,key,value,unit\ntest,,cylinders,1,\n' >families.csv
run book nist.db families.csv engines.csv events.csv
is 'NIST: the book takes it' "$status$err" 0
run "$life" --as-of 2026-11-01 --part chain --what weibull --format csv nist.db
# printed: 1.7208, 606.5280, which the likelihood itself has at 606.527558
is 'NIST 8.4.1.3: shape, scale, log likelihood as printed' "$(cells 'life unit exact right shape scale loglik' |
    awk 'NR == 1 { printf "%s %s %d %d %.4f %.3f %.6f", $1, $2, $3, $4, $5, $6, $7 }')" \
    'chain h 10 10 1.7208 606.528 -75.134618'
# tests/r/weibull.R, nist: B1 41.8664136949, B10 164.02243866, se of its logarithm 0.342186951033
is 'NIST 8.4.1.3: B1, B10 and its bounds' "$(cells 'b1 b10 b10_lo b10_hi' |
    awk 'NR == 1 { printf "%.5f %.5f %.6f", $1, $2, log($4 / $3) / 2 / 1.959963984540054 }')" \
    '41.86641 164.02244 0.342187'

### a book with lash: intervals
# Six engines of two cylinders; lash drifts by what the name of the valve says, with a pattern
# of scatter that awk works out; set every 300 h.
awk 'function noise(k) { return 0.01 * sin(12.9898 * k * k + 78.233 * k) }
BEGIN {
    print "engine,date,meter,meter_unit,quantity,at,found,left,unit"
    for (e = 1; e <= 6; e++)
        for (v = 0; v < 8; v++)
            for (c = 1; c <= 2; c++)
                for (s = 0; s < 2; s++) {
                    k++
                    rate = (s ? -1.2e-4 : -6e-5) * (1 + 0.15 * sin(7 * e + 3 * c + s))
                    target = s ? 0.40 : 0.25
                    key = e " " c " " s
                    now = v ? lash[key] + 150 * rate : 0
                    found = v ? sprintf("%.4f", now + noise(k)) : ""
                    left = ""
                    if (v % 2 == 0) {
                        now = target + 1.5 * noise(k + 1000)
                        left = sprintf("%.4f", now + noise(k + 2000))
                    }
                    lash[key] = now
                    printf "E-%d,2025-%02d-01,%d,h,lash,%d%s,%s,%s,mm\n", e, v + 1, 150 * v, c,
                        s ? "E" : "I", found, left
                }
}' >readings.csv
printf 'engine,family\nE-1,two\nE-2,two\nE-3,two\nE-4,two\nE-5,two\nE-6,two\n' >engines.csv
cat >facts.csv <<'END'
family,side,key,value,unit
two,,cylinders,2,
two,I,valves,1,
two,E,valves,1,
two,I,lash_min,0.15,mm
two,E,lash_min,0.25,mm
two,I,lash_max,0.50,mm
two,E,lash_max,0.60,mm
END
run book two.db facts.csv engines.csv readings.csv
is 'lash: the book takes it' "$status$err" 0
run "$life" --as-of 2026-11-01 --what interval --format csv two.db
is 'an interval, and what it rests on' "$status$err|$(cells 'family unit risk valves rates settings engines')" \
    '0|two h 0.01 4 24 96 6'
is 'no interval is stated' "$(cells 'present present_risk per_1000')" '  '
interval=$(cells interval)
ok 'doubt makes it shorter' awk "BEGIN { exit !($interval > 300 && $interval < $(cells interval_sure)) }"
is 'beyond what was seen' "$(cells why)" 'beyond the longest gap seen (300 h): lengthen in steps'

# The risk of that very interval is the one that was asked for.
{ cat facts.csv; echo "two,,relash_interval,$interval,h"; } >families.csv
run book present.db families.csv engines.csv readings.csv
run "$life" --as-of 2026-11-01 --what interval --format csv present.db
is 'the risk of the recommended interval is the stated one' \
    "$(cells 'present_risk per_1000 per_year' | awk '{ printf "%.6f %.4f %.4f", $1, $2, $3 }' | sed 's/-0/0/g')" \
    '0.010000 0.0000 0.0000'
# relash_days: 150 h a month, so 60 days are about 300 h
{ cat facts.csv; echo "two,,relash_days,60,d"; } >families.csv
run book days.db families.csv engines.csv readings.csv
run "$life" --as-of 2026-11-01 --what interval --format csv days.db
ok 'days become meter by the pace of the engines' awk "BEGIN { exit !($(cells present) > 290 && $(cells present) < 305) }"
is 'visits: in 1000 h, and a year of all six' "$(cells 'interval present per_1000 per_year' | awk '{
    x = 1000 / $1 - 1000 / $2; y = 6 * 365.25 * $2 / 60 * x / 1000
    printf "%.9f %.6f", $3 / x, $4 / y }')" '1.000000000 1.000000'
# whichever ends first
{ cat facts.csv; printf 'two,,relash_days,60,d\ntwo,,relash_interval,200,h\n'; } >families.csv
run book first.db families.csv engines.csv readings.csv
run "$life" --as-of 2026-11-01 --what interval --format csv first.db
is 'of two intervals the shorter' "$(cells present)" 200
{ cat facts.csv; echo "two,,relash_interval,9000,km"; } >families.csv
run book km.db families.csv engines.csv readings.csv
run "$life" --as-of 2026-11-01 --what interval --format csv km.db
is 'an interval in km says nothing of a meter in h' "$(cells 'present')" ''
# an engine that has left has no visits to save
printf 'engine,date,event\nE-6,2025-09-01,end\n' >end.csv
run book end.db facts.csv engines.csv readings.csv end.csv
run "$life" --as-of 2026-11-01 --what interval --format csv end.db
is 'an engine that has left is not counted' "$(cells 'engines rates')" '5 24'
# rates per h and per km do not go together
sed '/^E-6/s/,h,lash/,km,lash/' readings.csv >km.csv
run book mixed.db facts.csv engines.csv km.csv
run "$life" --as-of 2026-11-01 --what interval --format csv mixed.db
is 'meters in h and in km' "$status$err|$(cells 'unit interval why' | tr '\n' '|')" \
    '0|h  meters in h and in km|km  meters in km and in h|'
# A gauge's u is as good as the readings' own; other quantities at valves are no lash.
awk -F, -v OFS=, '{ print $0, NR == 1 ? "u" : "0.02" }' readings.csv >own.csv
awk -F, -v OFS=, '{ print $0, NR == 1 ? "gauge" : "dti" }' readings.csv >gauge.csv
printf 'gauge,unit,u\ndti,mm,0.02\n' >gauges.csv
awk -F, -v OFS=, 'NR > 1 { $5 = "shim"; $7 = ""; $8 = 1 + NR % 7 / 10 } { print }' readings.csv >shim.csv
run book own.db facts.csv engines.csv own.csv
run "$life" --as-of 2026-11-01 --what interval --format csv own.db
cp .out want
run book gauge.db facts.csv engines.csv gauges.csv gauge.csv shim.csv
is 'shims beside lash: the book takes them' "$status$err$(sqlite3 gauge.db 'SELECT count(*) > 300 FROM reading')" 01
run "$life" --as-of 2026-11-01 --what interval --format csv gauge.db
ok 'the u of a gauge is that of its readings, and shims are no lash' cmp .out want
run "$life" --as-of 2026-11-01 --side E --what interval --format csv two.db
is 'one side only' "$(cells 'side valves rates')" 'E 2 12'
run "$life" --as-of 2026-11-01 --risk 0.001 --what interval --format csv two.db
ok 'a smaller risk, a shorter interval' awk "BEGIN { exit !($(cells interval) < $interval) }"

# What is lacking is said.
lacks() {
    run "$life" --as-of 2026-11-01 --what interval --format csv "$2"
    is "$1" "$status$err|$(cells 'interval why')" "0| $3"
}
grep -v cylinders facts.csv >families.csv
run book no.db families.csv engines.csv readings.csv
lacks 'no cylinders' no.db 'side I: the family does not say how many valves there are'
grep -v 'E,lash_min' facts.csv >families.csv
run book no.db families.csv engines.csv readings.csv
lacks 'no tight limit' no.db 'side E: the family states no tight limit'
sed 's/,[0-9.]*,mm$/,,mm/' readings.csv | awk -F, 'NR == 1 || $7 != ""' >unset.csv
run book no.db facts.csv engines.csv unset.csv
lacks 'never set' no.db 'side I: fewer than five settings'
head -n 9 readings.csv >few.csv
run book no.db facts.csv engines.csv few.csv
lacks 'hardly read' no.db 'side I: fewer than three valves have a rate'
lacks 'no meter' seats.db 'no meter was read'

### lives of settings: between visits, right- and left-censored (tests/service_test.c)
cat >few.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
E-1,2025-01-01,0,h,lash,1E,,0.40,mm
E-1,2025-02-01,200,h,lash,1E,0.35,,mm
E-1,2025-03-01,400,h,lash,1E,0.24,0.40,mm
E-1,2025-04-01,600,h,lash,1E,0.20,0.40,mm
E-1,2025-05-01,900,h,lash,1E,0.30,,mm
END
run book small.db facts.csv engines.csv few.csv
run "$life" --as-of 2026-11-01 --what weibull --format csv small.db
is 'lives of settings' "$(cells 'side life unit exact interval left right left_out' | tail -n 1)" 'E setting h 0 1 1 1 0'
# one is 200 to 400, one 0 to 200, one 300 and more: tests/r/weibull.R, settings
is 'their Weibull life is that of survreg' "$(cells 'shape scale b10' | tail -n 1 |
    awk '{ printf "%.6f %.4f %.4f", $1, $2, $3 }')" '2.387597 310.4858 120.9786'
run "$life" --as-of 2026-11-01 --what weibull --time days --format csv small.db
is 'the same by days' "$(cells 'side life unit interval left right' | tail -n 1)" 'E setting d 1 1 1'
run "$life" --as-of 2026-11-01 --what trend --format csv small.db
is 'nothing replaced' "$(cells 'engines replaced shape why')" '1 0  nothing was replaced'

### ages that nobody watched, and a single engine
cat >events.csv <<'END'
engine,date,meter,meter_unit,event,part,at
E-1,2025-01-01,100,h,replace,seat,2E
E-1,2025-02-01,150,h,replace,seat,1E
E-1,2025-03-01,200,h,end,,
E-2,2025-01-01,400,h,replace,seat,2E
E-2,2025-02-01,450,h,replace,seat,1E
E-2,2025-03-01,500,h,end,,
END
run book gap.db facts.csv engines.csv events.csv
run "$life" --as-of 2026-11-01 --format csv gap.db
is 'ages that nobody watched' "$(sed -n 2p .out | cut -d, -f4,9-)" \
    '2,"from the age of 100 to 450 h; 1 of 2 engines watched at the last, none from 200 to 400 h"'
is 'what happened at the first record was not watched' "$(sed -n 3p .out | cut -d, -f3,4)" 'replacements left out,2'
grep -v E-2 events.csv >one.csv
run book one.db facts.csv engines.csv one.csv
run "$life" --as-of 2026-11-01 --what mcf --format csv one.db
is 'one engine shows no scatter between engines' "$(cells 'mcf se se_poisson lo hi')" '1  1  '

### forms
run "$life" --as-of 2026-11-01 --what interval --format json two.db
is 'JSON: one object' "$(wc -l <.out | tr -d ' ') $(grep -c '^{"family":"two","side":"","unit":"h","risk":0.01,"interval":[0-9.]*,.*"present":null,' .out)" '1 1'
run "$life" --as-of 2026-11-01 --format table two.db
is 'a table names what it shows, with counts' "$(sed -n 1p .out | tr -s ' ')" 'family side figure value from to unit n what it says'
is 'a table ends with the cautions' "$(tail -n 1 .out)" 'engine is safe to run.'
# the riskier of two families comes first in a table
{ cat facts.csv; sed 's/^two/zwo/' facts.csv | sed 1d; echo 'two,,relash_interval,200,h'; echo 'zwo,,relash_interval,900,h'; } >families.csv
{ cat engines.csv; sed 1d engines.csv | sed 's/^E/Z/; s/two/zwo/'; } >both.csv
{ cat readings.csv; sed 1d readings.csv | sed 's/^E/Z/'; } >twice.csv
run book order.db families.csv both.csv twice.csv
run "$life" --as-of 2026-11-01 --what interval --format table order.db
is 'table: the present interval of most risk first' "$(awk 'NR == 2 || NR == 3 { print $1 }' .out | tr '\n' ' ')" 'zwo two '
run "$life" --as-of 2026-11-01 --what interval --format csv order.db
is 'CSV: by name' "$(cells family | tr '\n' ' ')" 'two zwo '
run "$life" --as-of 2026-11-01 --family zwo --what interval --format csv order.db
is 'one family' "$(cells family)" zwo
run book empty.db facts.csv
run "$life" --as-of 2026-11-01 --format csv empty.db
is 'no engines: the heading' "$status$err$(wc -l <.out | tr -d ' ')" 01
run "$life" --as-of 2026-11-01 --format table empty.db
is 'no engines: in words' "$status$err$(sed -n 1p .out)" '0there is no engine in this book'

### the command line
wrong() {
    # shellcheck disable=SC2086
    run "$life" --as-of 2026-11-01 $2 two.db
    is "$1" "$status $(sed -n 1p .err)" "2 valve-life: $3"
}
wrong 'a part nobody knows' '--part turbo' "unknown part 'turbo'"
wrong 'all of an engine is no part' '--part engine' "unknown part 'engine'"
wrong 'no side' '--side both' "I or E, not 'both'"
wrong 'a risk of 0' '--risk 0' "a risk is above 0 and below 1, not '0'"
wrong 'a risk of 1' '--risk 1' "a risk is above 0 and below 1, not '1'"
wrong 'no number' '--risk much' "a risk is above 0 and below 1, not 'much'"
wrong 'no scale' '--time weeks' "meter or days, not 'weeks'"
wrong 'no such table' '--what cost' "mcf, weibull, trend or interval, not 'cost'"
wrong 'no form' '--format xml' "csv, json or table, not 'xml'"
run "$life" --as-of 2026-11-01 --family nine two.db
is 'no such family' "$status $err" "2 valve-life: two.db: no engine of family 'nine'"
run "$life" --as-of 2026-11-01
is 'no book' "$status $(sed -n 1p .err)" '2 valve-life: one book is needed'
run "$life" --as-of yesterday two.db
is 'no date' "$status $(sed -n 1p .err)" "2 valve-life: bad date (YYYY-MM-DD) 'yesterday'"
run sh -c '"$@" >/dev/full' sh "$life" --as-of 2026-11-01 two.db
is 'full device' "$status $err" '2 valve-life: stdout: No space left on device'
### an engine without a meter is counted with those that run in h, whatever they are called
cat >mixed-facts.csv <<'END'
family,side,key,value,unit
two,,cylinders,1,
two,E,valves,1,
END
# mixed NAME-IN-H NAME-IN-KM: engines at the last of the two groups, h first
mixed() {
    rm -f mixed.db
    printf '%s\n' engine,family,in_service M-1,two,2025-01-01 "$1,two,2025-01-01" "$2,two,2025-01-01" >mixed-engines.csv
    printf '%s\n' engine,date,meter,meter_unit,event,part,at M-1,2025-06-01,,,replace,seat,1E \
        "$1,2025-06-01,300,h,replace,seat,1E" "$2,2025-07-01,9000,km,replace,seat,1E" >mixed-events.csv
    run book mixed.db mixed-facts.csv mixed-engines.csv mixed-events.csv
    run "$life" --as-of 2026-01-01 --part seat --time days --format csv mixed.db
    is "in h: $1, in km: $2" "$status$err|$(printf '%s\n' "$out" | awk -F, '
        match($0, /of [0-9] engine/) && !n { n = substr($0, RSTART + 3, 1) }
        $3 == "longest re-lash interval" { print n, $7; n = 0 }' | sort -r | tr '\n' ' ')" '0|2 h 1 km '
}
mixed H-1 K-1
mixed K-1 H-1
done_testing
