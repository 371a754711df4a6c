# What a person reads of a slow wear: the uncertainty with two digits, the figure to the same
# place, everywhere. One valve in km, worked out by hand.
. tests/tap.sh

cd "$work" || exit 1
cat >families.csv <<'END'
family,side,key,value,unit
haul,,cylinders,1,
haul,E,valves,1,
haul,E,lash_min,0.20,mm
haul,E,lash_max,0.60,mm
haul,E,lash_target,0.40,mm
haul,E,seat_limit,0.50,mm
END
printf 'engine,family\nK-1,haul\n' >engines.csv
# 0.40 0.37 0.36 0.33 mm every 10,000 km. About the middle x = -1.5 -0.5 0.5 1.5 and y = 0.035
# 0.005 -0.005 -0.035: Sxy = -0.11, Sxx = 5, so -0.022 mm in 10,000 km, 0.0022 in 1000 km. What
# is left over is 0.002 -0.006 0.006 -0.002, in squares 80e-6, with 2 degrees of freedom 40e-6:
# u of a reading sqrt(40e-6) = 0.006325 mm, of the rate sqrt(40e-6 / 5) = 0.002828 in 10,000
# km, 0.000283 in 1000 km. Closed 0.07 mm, first less last, u sqrt(2 * 40e-6) = 0.008944.
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
K-1,2025-01-01,0,km,lash,1E,0.40,,mm
K-1,2025-04-01,10000,km,lash,1E,0.37,,mm
K-1,2025-07-01,20000,km,lash,1E,0.36,,mm
K-1,2025-10-01,30000,km,lash,1E,0.33,,mm
END
run "$bin/valve-book" --as-of 2026-01-01 --no-end k.db families.csv engines.csv readings.csv
is "the book takes it" "$status$err" 0
rate='closing 0.00220 ± 0.00028 mm/1000 km (4 readings)'

run "$bin/valve-due" --as-of 2026-01-01 --format table k.db
is "valve-due: lash" "$(printf '%s\n' "$out" | sed -n 's/.*lash.*\(0\.330 mm\)/\1/p')" \
    "0.330 mm, tight limit 0.200 mm; $rate"
is "valve-due: seat" "$(printf '%s\n' "$out" | sed -n 's/.*seat .*\(closed\)/\1/p')" \
    "closed 0.0700 ± 0.0089 of 0.500 mm; $rate"
run "$bin/valve-drift" --as-of 2026-01-01 --format table k.db
is "valve-drift: columns in line" "$(printf '%s\n' "$out" | sed -n '1s/.*mm\(  own.*\)  vs.*/\1/p; 2s/.*-0\.070\(.* km\).*/\1/p')" \
    "  own rate     ± se  with family     ± se  mm per 
  -0.00220  0.00028     -0.00220  0.00028  1000 km"
run "$bin/valve-drift" --as-of 2026-01-01 --format csv k.db
is "valve-drift: programs get what they got" \
    "$(printf '%s\n' "$out" | tail -n 1 | cut -d, -f11-14)" "-0.0022,0.000283,-0.0022,0.000283"
run "$bin/valve-trend" --as-of 2026-01-01 --format table k.db
is "valve-trend: a line a valve" \
    "$(printf '%s\n' "$out" | awk '/^K-1/ { for (i = 1; i <= NF; i++) if ($i == "1000") print $(i - 5), $(i - 4), $(i - 2), $(i - 1) }')" \
    "0.3300 0.0063 -0.00220 0.00028"
run "$bin/valve-trend" --as-of 2026-01-01 --engine K-1 --format html k.db
printf '%s\n' "$out" | sed 's/<[^>]*>/ /g' >page
is "valve-trend: lash in words" \
    "$(grep -o 'valve\. 0\.33.* readings)' page | sed 's/  */ /g; s/01 \./01./' | sort -u)" \
    "valve. 0.3300 ± 0.0063 mm at 30000 km, 2025-10-01. Window 0.200 to 0.600 mm: inside. C${rate#c}"
is "valve-trend: table of an engine" \
    "$(grep '^ *1E' page | tr -s ' ' | grep -o '0.3300 .*')" "0.3300 ± 0.0063 in -0.00220 ± 0.00028 4 "
run "$bin/valve-alert" --as-of 2026-01-01 --dry-run --text --within 9999d k.db
is "valve-alert: mails" "$(printf '%s\n' "$out" | grep -c "tight limit 0.200 mm; $rate\$")" 1
run "$bin/valve-set" --as-of 2026-01-01 --engine K-1 --all --format table k.db
is "valve-set: found" "$(printf '%s\n' "$out" | grep -o '2025-10-01  *0.33.* 0\.400  0\.2')" \
    "2025-10-01    0.3300  0.0063      0.400  0.2"
run "$bin/valve-set" --as-of 2026-01-01 --engine K-1 --all --format html k.db
ok "valve-set: found, on paper" grep -q '>0.3300 ± 0.0063<' .out
run "$bin/valve-set" --as-of 2026-01-01 --engine K-1 --all --format csv k.db
is "valve-set: programs get what they got" "$(printf '%s\n' "$out" | tail -n 1 | cut -d, -f11,12)" \
    "0.33,0.006325"

# The same in a hundred-thousandth of the time, in hours. The line is at 0.365 - 0.022 d mm, d
# in steps of 0.1 h from the middle, 0.15 h: 0.20 mm at d = 7.5, 0.90 h. The early bound is there
# where 0.165 - 0.022 d = 2.92 * sqrt(40e-6 * (1 / 4 + d^2 / 5)), 2.92 the 95 % quantile of t with
# 2 degrees of freedom: d = 5.42, 0.69 h; 0.39 h are left. They lie 0.21 apart: tenths will do.
sed 's/,\([0-3]\)0000,km/,0.\1,h/; s/,0,km/,0,h/' readings.csv >short.csv
run "$bin/valve-book" --as-of 2026-01-01 --no-end h.db families.csv engines.csv short.csv
run "$bin/valve-due" --as-of 2026-01-01 --format table h.db
is "an engine that lives for minutes: valve-due" \
    "$(printf '%s\n' "$out" | awk '$2 == "lash" { print $5, $6, $9 }')" "0.7 0.4 0.9"
run "$bin/valve-due" --as-of 2026-01-01 --format ical h.db
is "calendar" "$(printf '%s\n' "$out" | tr -d '\r' | sed -e ':a' -e 'N;$!ba' -e 's/\n //g' |
    grep 'tight limit' | grep -o 'at [0-9.]* h')" "at 0.7 h
at 0.9 h"
run "$bin/valve-trend" --as-of 2026-01-01 --format table h.db
is "valve-trend: a line a valve" "$(printf '%s\n' "$out" | awk '$1 == "K-1" { print $4 }')" 0.7
run "$bin/valve-trend" --as-of 2026-01-01 --engine K-1 --format html h.db
printf '%s\n' "$out" | sed 's/<[^>]*>/ /g; s/  */ /g' >page
is "valve-trend: the page" "$(grep -c 'due by [0-9-]* , at 0.7 h, 0.4 h left .*Expected at 0.9 h' page |
    sed 's/[1-9]/some/'; grep -o 'mm at 0.30 h,' page | sort -u
    grep -o 'tight limit: 0.7 h, .*Expected: 0.9 h' page | sed 's/20[0-9-]* *\./DATE./' | sort -u
    grep -o '; 0.30 h on' page)" "some
mm at 0.30 h,
tight limit: 0.7 h, DATE. Expected: 0.9 h
; 0.30 h on"
run "$bin/valve-alert" --as-of 2026-01-01 --dry-run --text --within 9999d h.db
is "valve-alert" "$(printf '%s\n' "$out" | grep ' lash ' | grep -o 'at 0.*')" "at 0.7 h, 0.4 h left"

# In step, nothing is left over: what is not there is 0, and the rate keeps two digits.
sed 's/0.37/0.38/; s/0.33/0.34/' readings.csv >straight.csv
exact straight.csv
run "$bin/valve-book" --as-of 2026-01-01 --no-end s.db families.csv engines.csv straight.csv
run "$bin/valve-due" --as-of 2026-01-01 --format csv s.db
is "no scatter at all" "$(printf '%s\n' "$out" | sed -n 's/.*,lash,.*mm; \(.*\)"/\1/p')" \
    "closing 0.0020 ± 0 mm/1000 km (4 readings)"
# Two readings show no scatter.
sed 3,4d readings.csv >two.csv
run "$bin/valve-book" --as-of 2026-01-01 --no-end t.db families.csv engines.csv two.csv
run "$bin/valve-trend" --as-of 2026-01-01 --engine K-1 --format html t.db
is "scatter unknown" "$(printf '%s\n' "$out" | grep -o 'Closing [^)]*)' | sort -u)" \
    "Closing 0.0023 mm/1000 km, scatter unknown (2 readings)"
done_testing
