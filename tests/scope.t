#!/bin/sh
# Lists of one site: the rows that the whole list has of its engines, and no others. Families
# that have engines at several sites are pooled over all of them.
. tests/tap.sh
cd "$work" || exit 1
cat >families.csv <<'END'
family,side,key,value,unit
pair,,cylinders,1,
pair,I,valves,1,
pair,E,valves,1,
pair,I,lash_min,0.10,mm
pair,E,lash_min,0.20,mm
pair,E,lash_max,0.60,mm
pair,E,seat_limit,0.10,mm
pair,I,opens,10 BTDC,
pair,I,closes,40 ABDC,
pair,E,opens,40 BBDC,
pair,E,closes,10 ATDC,
pair,,timing_tolerance,2,deg
pair,,checking_lift,1,mm
mono,,cylinders,1,
mono,E,valves,1,
mono,E,lash_min,0.20,mm
bare,,cylinders,1,
bare,E,valves,1,
END
cat >engines.csv <<'END'
engine,family,site
P-1,pair,Upper Yard
P-2,pair,Lower Yard
P-3,pair,Upper Yard
P-4,pair,
M-1,mono,Lower Yard
B-1,bare,Lower Yard
END
# each valve closes by some hundredths in 100 h, with scatter that differs from valve to valve
awk 'BEGIN {
    print "engine,date,meter,meter_unit,quantity,at,found,left,unit"
    n = split("P-1 P-2 P-3 P-4 M-1 B-1", e, " ")
    for (i = 1; i <= n; i++)
        for (k = 0; k < 5; k++) {
            at = e[i] ",2026-0" k + 1 "-0" i "," 100 * k ",h,"
            left = k == 0
            for (s = 1; s <= (i <= 4 ? 2 : 1); s++)
                printf "%slash,1%s,%s,%s,mm\n", at, s == 1 ? "E" : "I",
                    left ? "" : 0.40 - 0.005 * i * k - 0.003 * ((i + k + s) % 3),
                    left ? 0.40 : ""
            if (i <= 4) {
                printf "%sopens,1I,%g,,deg\n", at, i + k / 4 - 10
                printf "%scloses,1I,%g,,deg\n", at, 220 + i + k / 4
            }
        }
}' >readings.csv
run "$bin/valve-book" --as-of 2026-06-01 --no-end s.db families.csv engines.csv readings.csv
is "the book takes it" "$status$err" 0

# of ENGINES: the heading and the rows of these engines, out of the whole list
of() { awk -F, -v these=" $1 " 'NR == 1 || index(these, " " $1 " ")'; }

for tool in drift due timing; do
    "$bin/valve-$tool" --as-of 2026-06-01 --format csv s.db >whole.csv 2>/dev/null
    for case in 'Upper Yard:P-1 P-3' 'Lower Yard:B-1 M-1 P-2' ':P-4'; do
        run "$bin/valve-$tool" --as-of 2026-06-01 --format csv --site "${case%%:*}" s.db
        is "valve-$tool, site '${case%%:*}'" "$status|$out" "0|$(of "${case#*:}" <whole.csv)"
    done
    is "valve-$tool: there is something of each site" "$(grep -o '^P-[124]' whole.csv | sort -u | tr '\n' ' ')" 'P-1 P-2 P-4 '
    run "$bin/valve-$tool" --as-of 2026-06-01 --site 'upper yard' s.db
    is "valve-$tool: a site is written as the engines have it" "$status|$out|$err" \
        "2||valve-$tool: s.db: no engine is at site 'upper yard'"
    run "$bin/valve-$tool" --as-of 2026-06-01 --site 'Upper Yard' --family mono s.db
    is "valve-$tool: a family that is not there" "$status|$out|$err" \
        "2||valve-$tool: s.db: no engine of family 'mono' is at site 'Upper Yard'"
    run "$bin/valve-$tool" --as-of 2026-06-01 --site 'Upper Yard' --engine P-2 s.db
    is "valve-$tool: an engine that is elsewhere" "$status|$out|$err" \
        "2||valve-$tool: s.db: engine 'P-2' is at site 'Lower Yard', not 'Upper Yard'"
    run "$bin/valve-$tool" --as-of 2026-06-01 --site 'Upper Yard' --engine P-4 s.db
    is "valve-$tool: an engine that has no site" "$status|$out|$err" \
        "2||valve-$tool: s.db: engine 'P-4' has no site, and is not at 'Upper Yard'"
    run "$bin/valve-$tool" --as-of 2026-06-01 --site '' --engine P-2 s.db
    is "valve-$tool: an engine that has one" "$status|$out|$err" \
        "2||valve-$tool: s.db: engine 'P-2' is at site 'Lower Yard', not ''"
    run "$bin/valve-$tool" --as-of 2026-06-01 --format csv --site 'Lower Yard' --family pair \
        --engine P-2 s.db
    is "valve-$tool: all three" "$status|$out" "0|$(of P-2 <whole.csv)"
done

### what can never be due is said of the families that are there
run "$bin/valve-due" --as-of 2026-06-01 --site 'Lower Yard' s.db
is "limits are missing" "$(printf '%s\n' "$err" | grep -c "family 'bare'")" 1
run "$bin/valve-due" --as-of 2026-06-01 --site 'Upper Yard' s.db
is "not here" "$err" ''

### the page
run "$bin/valve-trend" --as-of 2026-06-01 --format html --within 3650d --site 'Upper Yard' s.db
is "the page of one site" "$status$err $(printf '%s\n' "$out" | grep -o '[PMB]-[1-4]' | sort -u | tr '\n' ' ')" "0 P-1 P-3 "
run "$bin/valve-trend" --as-of 2026-06-01 --site '' s.db
is "the table of those without one" "$(printf '%s\n' "$out" | grep -o '^[PMB]-[1-4]' | sort -u)" P-4
run "$bin/valve-trend" --as-of 2026-06-01 --site none s.db
is "no such site" "$status|$out|$err" "2||valve-trend: s.db: no engine is at site 'none'"

# Seats were replaced at both sites: the page of one has those of its engines.
printf '%s\n' engine,date,event,part,at,meter,meter_unit P-2,2026-03-02,replace,seat,1E,200,h \
    P-3,2026-04-03,replace,seat,1E,300,h P-3,2026-04-03,replace,seat,1I,300,h >events.csv
run "$bin/valve-book" --as-of 2026-06-01 --no-end s.db events.csv
is "the book takes seats" "$status$err" 0
for case in 'Upper Yard:2' 'Lower Yard:1'; do
    run "$bin/valve-trend" --as-of 2026-06-01 --format html --site "${case%:*}" s.db
    is "seats replaced at ${case%:*}" \
        "$(printf '%s\n' "$out" | grep -o '<figcaption>[0-9]* replaced' | grep -o '[0-9]*')" \
        "${case#*:}"
done

### mails: each site has its own, and remembers its own
alert=$bin/valve-alert
stands() { "$alert" --list --format csv "$@" s.db | tail -n +2 | cut -d, -f1 | sort -u | tr '\n' ' '; }
run "$alert" --text --within 3650d --as-of 2026-06-01 --site 'Upper Yard' s.db
is "of which site it is" "$status$err $(printf '%s\n' "$out" | head -n 1 | cut -d: -f1)" \
    "0 s, Upper Yard as of 2026-06-01"
is "its engines only" "$(printf '%s\n' "$out" | grep -o '[PMB]-[1-4]' | sort -u | tr '\n' ' ')" 'P-1 P-3 '
is "are remembered" "$(stands)" 'P-1 P-3 '
run "$alert" --within 3650d --as-of 2026-06-01 --site 'Lower Yard' s.db
is "the other site: in the subject" "$(printf '%s\n' "$out" | grep -c '^Subject: s, Lower Yard: [0-9]* new')" 1
is "in the page too" "$(printf '%s\n' "$out" | grep -c '<h1>s, Lower Yard as of 2026-06-01</h1>')" 1
is "both are remembered" "$(stands)" 'M-1 P-1 P-2 P-3 '
is "by site" "$(stands --site 'Upper Yard')" 'P-1 P-3 '
run "$alert" --list --site none s.db
is "no such site" "$status|$out|$err" "2||valve-alert: s.db: no engine is at site 'none'"
run "$alert" --text --within 3650d --as-of 2026-06-01 --site none s.db
is "nor mail of it" "$status|$out|$err" "2||valve-alert: s.db: no engine is at site 'none'"
run "$alert" --text --within 3650d --as-of 2026-06-02 --site 'Upper Yard' s.db
is "nothing new on the next day" "$status|$out|$err" '0||'
run "$alert" --text --within 3650d --as-of 2026-06-02 --site '' s.db
is "nobody's" "$(printf '%s\n' "$out" | head -n 1 | cut -d: -f1)" \
    's, engines without a site as of 2026-06-02'
run "$alert" --text --within 3650d --as-of 2026-06-02 s.db
is "all sites: all has been said" "$status|$out|$err" '0||'
run "$alert" --ack P-1 --site 'Upper Yard' s.db
is "an engine is acknowledged by its name" "$status|$(printf '%s\n' "$err" | head -n 1)" \
    '2|valve-alert: either --ack or --site'

# An engine that left the book is cleared by whichever site comes next.
sqlite3 s.db "DELETE FROM engines WHERE engine = 'P-3'" 2>/dev/null || true
run "$alert" --text --within 3650d --as-of 2026-06-03 --site 'Lower Yard' s.db
is "who has left is cleared" "$(printf '%s\n' "$out" | sed -n '/^CLEARED/,/^$/p' | grep -o '[PMB]-[1-4]' | sort -u)" P-3

echo "1..$n_tests"
