# valve-trend: a book so small that every figure can be worked out by hand, the demo's shop
# against what the other commands say of it, and a book with names that would be markup.
. tests/tap.sh
validate=$PWD/build/npm/node_modules/.bin/html-validate
trend=$bin/valve-trend

cd "$work" || exit 1
mkdir pages
echo '{"root": true, "extends": ["html-validate:recommended"]}' >pages/.htmlvalidate.json

# valid NAME FILE: keep it for html-validate, which is asked once, at the end
valid() {
    cp "$2" "$work/pages/$(echo "$1" | tr -c 'a-z0-9\n' -).html"
}

# alone NAME FILE: nothing that runs, nothing that is fetched
alone() {
    is "$1: no script, no address, no event handler" "$(grep -ciE \
        -e '<(script|link|iframe|object|embed|img|form)' -e 'https?:' -e '@import' -e 'url\([^#]' \
        -e '<[^>]* on[a-z]*=' "$2")" 0
}

### by hand
cat >families.csv <<'END'
family,side,key,value,unit
two,,cylinders,2,
two,I,lash_min,0.20,mm
two,I,lash_max,0.60,mm
two,E,lash_min,0.20,mm
two,E,lash_max,0.60,mm
two,E,seat_limit,0.10,mm
open,,cylinders,1,
cams,I,opens,12 BTDC,
cams,I,closes,45 ABDC,
cams,,checking_lift,1,mm
cams,,timing_tolerance,2,deg
long,I,lash_min,0.20,mm
long,I,lash_max,0.60,mm
END
printf 'engine,family\nD-1,two\nD-2,two\nD-3,two\nD-4,open\nD-5,two\nD-6,long\nD-7,open\nD-8,two\nC-1,cams\n' >engines.csv
cat >events.csv <<'END'
engine,date,meter,meter_unit,event,part,at,build
D-2,2026-01-20,,,replace,valve,2E,
D-2,2026-01-22,,,replace,valve,1E,
D-2,2026-01-25,,,build,,,B2
D-5,2026-01-20,,,end,,,
D-7,2026-01-20,900,h,meter,,,
D-7,2026-01-12,,,replace,seat,1I,
D-8,2026-01-15,150,h,meter,,,
END
# D-1: 100 h in 10 days. 1E closes 0.02 mm in 100 h without scatter, so the 0.16 mm to its
# limit last 800 h, 80 days; 1I opens 0.01 mm in 100 h, as long. The seat of 1E has closed
# 0.04 of 0.10 mm: 300 h, 30 days, which makes it the worst. Tenths of 0.20 to 0.60 mm:
# 0.50 0.51 0.52 lie in the 7th, 7th, 8th, 0.40 0.38 0.36 in the 5th, 4th, 4th.
# D-2: 1I below its window, set to 0.40, found above the window, then a new life that stands.
# D-4: no limits: 0 is its least, 9 its greatest.  D-5 is out of the fleet.  D-6 was read
# thirty times, 0.40 and 0.30 in turn, and set before the last 24, which are shown.  D-7: its
# meter was swapped at 900 h, and shows 30 h now.  D-8 is as D-1, but its meter was swapped.
# C-1 has a cam that was timed, and no lash: 12 BTDC to 45 ABDC, as it should be.
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
D-1,2026-01-01,0,h,lash,1I,,0.50,mm
D-1,2026-01-01,0,h,lash,1E,,0.40,mm
D-1,2026-01-11,100,h,lash,1I,0.51,,mm
D-1,2026-01-11,100,h,lash,1E,0.38,,mm
D-1,2026-01-21,200,h,lash,1I,0.52,,mm
D-1,2026-01-21,200,h,lash,1E,0.36,,mm
D-2,2026-01-05,50,h,lash,1I,0.15,0.40,mm
D-2,2026-01-15,60,h,lash,1I,0.61,0.61,mm
D-2,2026-01-25,70,h,lash,1I,,0.30,mm
D-2,2026-01-26,71,h,lash,1I,0.30,,mm
D-4,2026-01-05,50,h,lash,1I,0.10,,mm
D-4,2026-01-06,51,h,lash,1I,0.20,,mm
D-4,2026-01-07,52,h,lash,1I,0.15,,mm
D-4,2026-03-07,52,h,lash,1I,0.90,,mm
D-5,2026-01-05,50,h,lash,1I,0.10,,mm
D-7,2026-01-10,800,h,lash,1I,0.30,,mm
D-7,2026-01-30,30,h,lash,1I,0.30,,mm
C-1,2026-01-05,50,h,opens,1I,-12,,deg
C-1,2026-01-05,50,h,closes,1I,225,,deg
D-8,2026-01-01,0,h,lash,1E,,0.40,mm
D-8,2026-01-11,100,h,lash,1E,0.38,,mm
D-8,2026-01-21,50,h,lash,1E,0.36,,mm
END
sed -i '1s/$/,u/; 2,$s/$/,/; /^D-[18],/s/$/1e-17/; /^D-2,/s/$/0.05/' readings.csv
for i in 01 02 03 04 05 06 07 08 09 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30; do
    case $i in 07) value=,0.40 ;; *[13579]) value=0.40, ;; *) value=0.30, ;; esac
    echo "D-6,2025-11-$i,1$i,h,lash,1I,$value,mm,"
done >>readings.csv
run "$bin/valve-book" --as-of 2026-04-01 --no-end shop.db families.csv engines.csv events.csv readings.csv
is "the book takes it" "$status$err" 0
mkdir fresh
cp shop.db fresh
run "$trend" --as-of 2026-02-01 shop.db
is "a table by hand: status, standard error" "$status$err" 0
is "valves, by urgency" "$(printf '%s\n' "$out" | awk '/^D-/ { print $1, $2 }')" "D-1 1E
D-8 1E
D-1 1I
D-2 1I
D-4 1I
D-6 1I
D-7 1I"
is "dates and meters are those of valve-due" \
    "$(printf '%s\n' "$out" | awk '/^D-[18]/ { print $2, $3, $4, $5, $6, $8, $9 }')" \
    "1E 2026-02-20 500 h 0.360 in -0.20
1E 2026-02-20 350 h 0.360 in -0.20
1I 2026-04-11 1000 h 0.520 in 0.10"
# the course is the only word of digits and marks behind the number of readings
is "courses" "$(printf '%s\n' "$out" | awk '/^D-/ {
    for (i = 1; i < NF; i++) if ($i ~ /^(h|1000)$/ && $(i + 1) == "h") j = i
    for (i = 6; i < NF; i++) if ($i ~ /^[0-9]+$/ && $(i + 1) ~ /^[0-9<>\/#]+$/) { print $1, $2, $i, $(i + 1), $(i + 2), $(i + 3); break }
}')" "D-1 1E 3 544 0.200 0.600
D-8 1E 3 544 0.200 0.600
D-1 1I 3 778 0.200 0.600
D-2 1I 2 </5>#22 0.200 0.600
D-4 1I 3 095 0.100 0.200
D-6 1I 30 525252525252525252525252 0.200 0.600"
ok "the cautions are there" grep -q 'not a promise' .out
run "$trend" --as-of 2026-03-10 shop.db
is "a later day sees later readings" "$(printf '%s\n' "$out" | grep '^D-4' | grep -o '[^ ]*  *0.100  *0.900')" \
    "0109                          0.100    0.900"

run "$trend" --as-of 2026-02-01 --format html shop.db
cp .out page.html
is "a page by hand: status, standard error" "$status$err" 0
is "the worst valve, in words" "$(sed -n '/Worst valve/,/Why/p' page.html | sed 's/<[^>]*>//g')" \
    "Worst valve: engine D-1, valve 1E
Cylinder 1, exhaust valve, seat reaches its limit: due by 2026-02-20, at 500 h, 300 h left (in 19 days). Expected at 500 h, 2026-02-20.
Why: closed 0.040 ± 0 of 0.100 mm; closing 0.20 ± 0 mm/1000 h (3 readings)."
valid "a page by hand" page.html
alone "a page by hand" page.html
is "every drawing has its own title and description" \
    "$(grep -c '<svg viewBox="0 0 340' page.html) $(grep -c '<title id=' page.html) $(grep -c '<desc id="d[0-9]*">.' page.html)" \
    "$(grep -c '<figure' page.html) $(grep -c '<figure' page.html) $(grep -c '<figure' page.html)"
# D-1 1E: 1 left, 2 found, in the chart of its lash and in that of its seat
is "the worst engine comes first" \
    "$(sed -n '/How to read/,$s/^<h2>\(.*\)<\/h2>$/\1/p' page.html | sed -n 2p)" D-1
is "the book is named, counts and cautions are there" "$(sed -n '/<footer>/,$p' page.html | sed 's/<[^>]*>//g' |
    tr '\n' ' ' | sed 's/Before working.*//')" \
    " Book shop.db, as of 2026-02-01. Engines: 9 (out of the fleet: 1). Valves in use: 7. Lash readings: 50 (without a stated u: 36; without a temperature, where it matters: 0). Not used, for want of a meter: 0.  "
ok "a page ends with the cautions" sh -c 'sed -n "/<footer>/,\$p" page.html | grep -q "not a promise that an *engine"'
is "no engine that is out of the fleet" "$(grep -c 'D-5' page.html)" 0

# figure FILE TITLE: one drawing
figure() {
    sed -n "/<title id=\"t[0-9]*\">$2</,/<\\/svg>/p" "$1"
}
figure page.html 'Lash, engine D-1, valve 1E' >fig
is "found and left readings, a fitted line, limits, a forecast" \
    "$(for c in 'circle class="found"' 'polygon class="left"' 'line class="fit"' 'line class="limit"' \
        'path class="forecast"' 'path class="bound"' 'path class="u"'; do grep -c "$c" fig; done | tr '\n' ' ')" \
    "2 1 1 2 1 1 2 "
"$trend" --as-of 2026-02-01 --format html --engine D-6 shop.db >d6.html
figure d6.html 'Lash, engine D-6, valve 1I' >fig
is "no u is stated, and none drawn" "$(grep -c 'path class="u' fig)" 0
is "how many readings state no u" "$(grep -c 'None of the 30 readings shown states its u' d6.html)" 2 # in its description too
figure page.html 'Closing of the seat, engine D-1, valve 1E' >fig
is "a seat: readings, its limit, due and expected" \
    "$(for c in 'circle class="found"' 'polygon class="left"' 'line class="limit"' 'line class="due"' \
        'polygon class="early"'; do grep -c "$c" fig; done | tr '\n' ' ')" "2 1 1 0 0 "
run "$trend" --as-of 2026-02-01 --format html --engine D-2 shop.db
cp .out d2.html
valid "one engine" d2.html
figure d2.html 'Lash, engine D-2, valve 1I' >fig
is "two lives, the build between them and no part of another valve" \
    "$(grep -c 'circle class="found"' fig) $(grep -c 'polygon class="left"' fig) $(grep -c 'line class="fit"' fig) $(grep -c 'line class="event"' fig) $(grep -o '>B2<' fig)" \
    "3 2 3 1 >B2<"
is "one engine only" "$(grep -c 'D-1' d2.html)" 0
run "$trend" --as-of 2026-02-01 --format html --engine D-7 shop.db
figure .out 'Lash, engine D-7, valve 1I' >fig
is "a new seat; a swapped meter: the swap, and what the meter shows" \
    "$(grep -o '>new seat<' fig) $(grep -o '>new meter<' fig) $(grep -c '>-100<' fig) $(printf '%s\n' "$out" | grep -o '[0-9]* h on 2026-01-30')" \
    ">new seat< >new meter< 1 30 h on 2026-01-30"
run "$trend" --as-of 2026-01-18 --format html --engine D-8 shop.db
figure .out 'Lash, engine D-8, valve 1E' >fig
is "not read since the swap: the meter of that day, in a chart by the one that shows now" \
    "$(printf '%s\n' "$out" | grep -o '[-0-9]* h on 2026-01-11') $(grep -o 'mm at [-0-9]* h, 2026-01-11' fig) $(grep -c '>-100<' fig)" \
    "100 h on 2026-01-11 mm at 100 h, 2026-01-11 1"
run "$trend" --as-of 2026-01-16 --format html --engine D-2 shop.db
is "beyond a limit" "$(printf '%s\n' "$out" | grep -c 'Worst valve.*D-2, valve 1I') $(printf '%s\n' "$out" | grep -c '<p>.*Beyond its limit already')" "1 1"
is "beyond a limit, beside the chart" "$(grep -c 'Beyond the loose limit already' .out)" 2 # and in its desc

# limit NAME LIMITS FOUND WANT: one reading of a valve of a family that states these limits, and
# what is said beside the chart
limit() {
    { echo family,side,key,value,unit && echo one,,cylinders,1, && echo "$2" | tr ' ' '\n'; } >one.csv
    printf 'engine,family\nL-1,one\n' >engine.csv
    { echo engine,date,meter,meter_unit,quantity,at,found,unit && echo "$3" | tr ' ' '\n'; } >lash.csv
    rm -f limit.db
    run "$bin/valve-book" --no-end --as-of 2026-02-01 limit.db one.csv engine.csv lash.csv
    run "$trend" --as-of 2026-02-01 --format html limit.db
    is "$1" "$status$err $(echo "$out" | grep '<figcaption>' | grep -o '\(Beyond the\|Due, early\)[^.,]*')" \
        "0 $4"
}
min='one,I,lash_min,0.20,mm' max='one,I,lash_max,0.30,mm'
was='L-1,2026-01-01,100,h,lash,1I,'
limit 'too loose, and no rate' "$min $max" "${was}0.40,mm" 'Beyond the loose limit already'
limit 'too loose, and no tight limit' "$max" "${was}0.40,mm" 'Beyond the loose limit already'
limit 'too tight' "$min $max" "${was}0.10,mm" 'Beyond the tight limit already'
limit 'too tight, and no loose limit' "$min" "${was}0.10,mm" 'Beyond the tight limit already'
closing="${was}0.46,mm $(for i in 2 3 4 5; do echo "L-1,2026-01-0$i,$((i * 20 + 80)),h,lash,1I,0.4$((6 - i)),mm"; done | tr '\n' ' ')"
limit 'too loose, and closing' "$min $max" "$closing" 'Beyond the loose limit already'
limit 'too loose, closing, and no tight limit' "$max" "$closing" 'Beyond the loose limit already'
opening=$(for i in 1 2 3 4 5; do echo "L-1,2026-01-0$i,$((i * 20 + 80)),h,lash,1I,0.1$i,mm"; done | tr '\n' ' ')
limit 'too tight, and opening' "$min $max" "$opening" 'Beyond the tight limit already'
limit 'too tight, opening, and no loose limit' "$min" "$opening" 'Beyond the tight limit already'
run "$trend" --as-of 2026-02-01 --format html --engine C-1 shop.db
is "an engine of which the cams were timed only" "$(printf '%s\n' "$out" | grep '^<li>Cam' | sed 's/<[^>]*>//g')" \
    "Cam I, as found 2026-01-05 (1 valve): opens 12.0 BTDC, closes 45.0 ABDC, centre 106.5 ± 1.1 ATDC, duration 237.00 ± 0.71 deg. 0.0 ± 1.1 deg later than nominal, limit 2.0: in."
run "$trend" --as-of 2026-01-05 --engine D-4 shop.db
is "one reading without limits has no course" "$(printf '%s\n' "$out" | awk '/^D-4/ { print $NF }')" 1
run "$trend" --as-of 2026-02-01 --family open --format html shop.db
is "one family only" "$(printf '%s\n' "$out" | grep -c 'D-[12]') $(printf '%s\n' "$out" | grep -c 'No valve moves')" "0 1"
for days in 18:0 20:4; do # two seats are due in 19 days: their lash and they themselves
    run "$trend" --as-of 2026-02-01 --within ${days%:*}d --format html shop.db
    is "what needs attention within ${days%:*} days" "$(printf '%s\n' "$out" | grep -c '<figure>')" ${days#*:}
    is "a legend where there are charts" "$(printf '%s\n' "$out" | grep -c 'How to read')" $((${days#*:} / 4))
done

# What was computed is kept by the first run above, and not yet in the copy.
run "$trend" --as-of 2026-02-01 --format html shop.db
ok "the same page again" cmp .out page.html
run sh -c 'cd fresh && "$1" --as-of 2026-02-01 --format html shop.db' sh "$trend"
ok "the same page of a book where nothing is kept" cmp .out page.html

### wrong words
run "$trend" --engine none shop.db
is "unknown engine" "$status $err" "2 valve-trend: shop.db: unknown engine 'none'"
run "$trend" --format csv shop.db
is "unknown format" "$status $(printf '%s\n' "$err" | head -n 1)" "2 valve-trend: html or table, not 'csv'"
run "$trend" --within soon shop.db
is "unknown span" "$status $(printf '%s\n' "$err" | head -n 1)" \
    "2 valve-trend: a span is like 30d, 6wk, 50h or 5000km, not 'soon'"
run "$trend" --as-of 2026-02-30 shop.db
is "unknown day" "$status$out" 2
run sh -c '"$@" >/dev/full' sh "$trend" --format html shop.db
is "full device" "$status $err" "2 valve-trend: stdout: No space left on device"

### nothing there
printf 'family,side,key,value,unit\ntwo,,cylinders,2,\n' >f.csv
run "$bin/valve-book" --no-end empty.db f.csv
run "$trend" --format html empty.db
cp .out empty.html
is "an empty book: status" "$status$err" 0
valid "an empty book" empty.html
is "an empty book says so" "$(grep -c 'There is no engine in this book' empty.html)" 1
run "$trend" empty.db
is "an empty book, as a table" "$status $(printf '%s\n' "$out" | head -n 1)" "0 no valve in use has been read in its present life"

### names that would be markup, formulas or as long as can be
long=$(head -c 120 /dev/zero | tr '\0' x)
hot='<script>alert(1)</script>'
esc=$(printf '\033[31m')
cat >f.csv <<END
family,side,key,value,unit
"</style>""<b>&'",I,lash_min,0.2,mm
"</style>""<b>&'",I,lash_max,0.4,mm
"</style>""<b>&'",I,valves,1,
"</style>""<b>&'",,cylinders,4,
END
cat >e.csv <<END
engine,family
$hot,"</style>""<b>&'"
=cmd|' /C calc'!A0,"</style>""<b>&'"
$long,"</style>""<b>&'"
${esc}red,"</style>""<b>&'"
END
cat >ev.csv <<END
engine,date,event,part,at,build
$hot,2026-01-15,build,,,</svg><script>x
END
cat >p.csv <<END
engine,date,meter_gain,label
$hot,2026-02-15,1,"""><img src=x>"
END
{
    echo engine,date,meter,meter_unit,quantity,at,found,left,unit
    for e in "$hot" "=cmd|' /C calc'!A0" "$long" "${esc}red"; do
        for i in 1 2 3 4 5; do
            for v in 1I 2I 3I; do
                echo "$e,2026-01-1$i,${i}0,h,lash,$v,0.3$((9 - i)),,mm"
            done
        done
    done
} >r.csv
run "$bin/valve-book" --as-of 2026-02-01 --no-end hot.db f.csv e.csv ev.csv p.csv r.csv
is "names nobody should use are taken" "$status$err" 0
for format in "--within 9999d" "--engine $hot"; do
    # shellcheck disable=SC2086
    run "$trend" --as-of 2026-02-01 --format html $format hot.db
    cp .out hot.html
    is "hot names, $format: status" "$status$err" 0
    valid "hot names, $format" hot.html
    alone "hot names, $format" hot.html
    is "hot names, $format: are shown as they are" "$(grep -c '&lt;script&gt;alert(1)&lt;/script&gt;' hot.html | sed 's/^[1-9].*/some/')" some
    is "hot names, $format: no control character" "$(LC_ALL=C tr -d '\n\40-\176\200-\377' <hot.html | wc -c | tr -d ' ')" 0
done
run "$trend" --as-of 2026-02-01 --format html --engine "$long" hot.db
is "a long name is cut in headings" "$(printf '%s\n' "$out" | sed -n 's/^<h2>\(x*\)…<\/h2>$/\1/p' | wc -c | tr -d ' ')" 80 # 79 and a line end
run "$trend" --as-of 2026-02-01 hot.db
is "no control character on a terminal" "$(LC_ALL=C tr -d '\n\40-\176\200-\377' <.out | wc -c | tr -d ' ')" 0

### the demo, against what valve-due and valve-book say of it
cd "$top" || exit 1
run sh fixtures/demo/run.sh
cd "$B/demo" || exit 1
page=trend.html
is "the demo has a page" "$status" 0
valid "the demo's page" "$page"
alone "the demo's page" "$page"
ok "it is small" [ "$(wc -c <"$page")" -lt 1000000 ]
"$bin/valve-due" --as-of 2026-11-01 --format csv shop.db >"$work/all.csv"
"$bin/valve-due" --as-of 2026-11-01 --within 90d --format csv shop.db >"$work/soon.csv"
worst=$(awk -F, '$2 == "seat" || $2 == "lash" { print "engine " $1 ", valve " $3; exit }' "$work/all.csv")
is "the worst valve is the first of valve-due that wears" \
    "$(sed -n 's/.*Worst valve: \(.*\)<\/h2>/\1/p' "$page")" "$worst"
is "its date" "$(sed -n '/Worst valve/,/Why/s/.*due by <time>\([0-9-]*\)<.*/\1/p' "$page")" \
    "$(awk -F, '$2 == "seat" || $2 == "lash" { print $4; exit }' "$work/all.csv")"
is "a chart for each valve that valve-due lists within 90 days" \
    "$(sed -n 's/.*>Lash, engine \(.*\), valve \(.*\)<.*/\1,\2/p' "$page" | sort)" \
    "$(awk -F, 'NR > 1 && $3 != "" && $2 != "timing" { print $1 "," $3 }' "$work/soon.csv" | sort -u)"
is "engines in the order of valve-due" \
    "$(sed -n 's/.*<li><span class="who">\(.*\) <span class="soft">.*/\1/p' "$page" | sed 's/<.*//')" \
    "$(awk -F, 'NR > 1 && !seen[$1]++ { print $1 }' "$work/all.csv")"
is "sections in the order of their worst valves" \
    "$(sed -n '/How to read/,$s/^<h2>\(.*\)<\/h2>$/\1/p' "$page" | sed 1d)" \
    "$(awk -F, 'FNR == 1 { next } NR == FNR { if ($3 != "") soon[$1] = 1; next }
        $3 != "" && ($1 in soon) && !seen[$1]++ { print $1 }' "$work/soon.csv" "$work/all.csv")"
words() { # the words of the block at the top
    sed -n '/class="worst"/,/<\/section>/p' "$page" | sed 's/<[^>]*>//g'
}
# valve,cylinder in words: hill16 has two exhaust valves
is "the worst valve in words" "$(words | grep -o '^Cylinder [0-9]*, [a-z]* valve [0-9]')" \
    "$(echo "$worst" | sed 's/.*valve \(.*\)I\(.\)$/Cylinder \1, inlet valve \2/; s/.*valve \(.*\)E\(.\)$/Cylinder \1, exhaust valve \2/')"
at=$(echo "$worst" | sed 's/engine \(.*\), valve \(.*\)/\1,\2/')
is "and what else it needs soon" "$(words | grep -c '^Also')" \
    "$(awk -F, -v at="$at" '$1 "," $3 == at' "$work/soon.csv" | sed 1d | wc -l | tr -d ' ')"
is "meters, what is left and what is over" "$(sed -n '/<ol/,/<\/ol>/p' "$page" | grep -o 'at [0-9]* h, [0-9]* h [a-z]*')" \
    "$(awk -F, 'NR == 1 { next }
        $2 == "timing" { $3 = "" } # of a cam, not of a valve
        { say = $5 == "" ? "" : sprintf("at %.0f h, %.0f h %s", $5, $6 < 0 ? -$6 : $6, $6 < -0.5 ? "over" : "left") }
        !($1 in first) { order[++n] = $1; first[$1] = say; has[$1] = $3 }
        $3 != "" && !($1 in valve) { valve[$1] = say }
        END { for (i = 1; i <= n; i++) { e = order[i]
            if (first[e] != "") print first[e]
            if (has[e] == "" && valve[e] != "") print valve[e] } }' "$work/all.csv")"
is "an engine's worst valve is named where the engine comes first" "$(grep -o 'its worst valve' "$page" | wc -l | tr -d ' ')" \
    "$(awk -F, '$2 == "timing" { $3 = "" }
        NR > 1 { if (!($1 in first)) first[$1] = $3 == ""; if ($3 != "") valve[$1] = 1 }
        END { for (e in first) n += first[e] && valve[e]; print n + 0 }' "$work/all.csv")"
is "what is due at an engine with charts" "$(sed -n '/class="dues"/,/<\/ul>/p' "$page" | grep -c '<li>')" \
    "$(awk -F, 'NR > 1 { n[$1]++; if ($3 != "") shown[$1] = 1 }
        END { for (e in n) if (e in shown) all += n[e]; print all }' "$work/soon.csv")"
ok "dates in reasons are marked" grep -q 'last set <time>' "$page"
run "$trend" --as-of 2026-11-01 --within 9999d --format html shop.db
is "and of all engines, valves and cams" \
    "$(sed -n '/How to read/,$s/^<h2>\(.*\)<\/h2>$/\1/p' "$work/.out" | sed 1d)" \
    "$(awk -F, 'FNR > 1 && $3 != "" && !seen[$1]++ { print $1 }' "$work/all.csv")"
# places(u, usual): decimals until two digits stand, counted in what is printed
places='function places(u, usual,    d, s) {
    for (d = usual; d < 9; d++) {
        s = sprintf("%.*f", d, u); gsub(/^[0.]*/, "", s); gsub(/[.]/, "", s)
        if (length(s) >= 2) break
    }
    return d
}'
# The table of an engine against valve-drift and valve-due: valve, due, for, rate, readings.
"$bin/valve-drift" --as-of 2026-11-01 --format csv --engine HC-1 shop.db >"$work/drift.csv"
is "all valves of an engine, the worst first" \
    "$(sed -n '/<caption>All valves of HC-1</,/<\/table>/s/<tr><th scope="row">\(.*\)<\/td><\/tr>/\1/p' "$page" |
        sed 's/<\/t[hd]><td[^>]*>/,/g; s/ ± 0\.00[0-9][0-9],\([a-z ]*\),/,\1,/')" \
    "$(awk -F, 'FNR == 1 { next }
        NR == FNR { is = $9 == "close" ? "" : $9
            row[$3] = sprintf("%.4f,%s,%.2f ± %.2f,%d", $8, is, $13, $14, $6); next }
        $1 == "HC-1" && ($3 in row) && !seen[$3]++ { printf "%s,%s,%.0f,%s,%s\n", $3, $4, $5, $2, row[$3] }' \
        "$work/drift.csv" "$work/all.csv")"
# last_y FIGURE CLASS: where a path ends
last_y() {
    sed -n "s/.*<path class=\"$2\" d=\".*L[0-9.-]* \([0-9.-]*\)\".*/\1/p" "$1"
}
first_y() {
    sed -n "s/.*<path class=\"$2\" d=\"M[0-9.-]* \([0-9.-]*\)L.*/\1/p" "$1"
}
below() { # in a picture
    awk -v a="$1" -v b="$2" 'BEGIN { exit !(a > b + 0.5) }'
}
figure "$page" 'Lash, engine HC-1, valve 3E1' >"$work/fig"
ok "a closing valve goes down" below "$(last_y "$work/fig" forecast)" "$(first_y "$work/fig" forecast)"
ok "its early bound lies below" below "$(last_y "$work/fig" bound)" "$(last_y "$work/fig" forecast)"
is "what is planned" "$(grep -c 'class="event planned"' "$work/fig") $(grep -o '>autumn hill<' "$work/fig")" "1 >autumn hill<"
figure "$page" 'Closing of the seat, engine HC-1, valve 3E1' >"$work/fig"
ok "a seat's closing goes up" below "$(first_y "$work/fig" forecast)" "$(last_y "$work/fig" forecast)"
ok "its early bound lies above" below "$(last_y "$work/fig" forecast)" "$(last_y "$work/fig" bound)"
se=$(grep '^HC-1,seat,3E1' "$work/all.csv" | sed 's/.*± \([0-9.]*\) of.*/\1/')
ok "the last bar is the standard error of valve-due, to a tenth of a unit" awk -v se="$se" '
    /class="tick" text-anchor="end"/ && />[0-9.]+</ {
        split($0, q, "\""); sub(/.*">/, ""); sub(/<.*/, ""); y[++n] = q[8]; at[n] = $0 }
    /<path class="u/ { split($0, p, /[MVH"]/); split(p[5], xy, " "); half = (xy[2] - p[6]) / 2 }
    END { scale = (at[n] - at[1]) / (y[1] - y[n]); print half * scale, se
        exit !(se > 0 && half * scale - se < 0.1 * scale + 0.0005 && se - half * scale < 0.1 * scale + 0.0005) }' "$work/fig"
figure "$page" 'Lash, engine D-02, valve 5I' >"$work/fig"
ok "an opening valve goes up" below "$(first_y "$work/fig" forecast)" "$(last_y "$work/fig" forecast)"
ok "its early bound lies above" below "$(last_y "$work/fig" forecast)" "$(last_y "$work/fig" bound)"
# Cams against valve-timing: the figure of HC-2, and what is said of it.
"$bin/valve-timing" --as-of 2026-11-01 --format csv --engine HC-2 shop.db >"$work/cams.csv"
"$bin/valve-timing" --all --as-of 2026-11-01 --format csv --engine HC-2 shop.db >"$work/builds.csv"
is "one engine's cams need attention" "$(grep -c '<title.*Timing of the cams' "$page") $(grep -c 'Timing of the cams, engine HC-2' "$page")" "1 1"
is "shifts as valve-timing has them" "$(sed -n 's/^<li>\(Cam .*\)<\/li>$/\1/p' "$page" | sed 's/<[^>]*>//g' |
    grep -o '[0-9.]* ± [0-9.]* deg [a-z]* than [a-z ]*')" \
    "$(awk -F, "$places"' NR > 1 && $19 != "" && $27 != "" { d = places($28, 1)
        printf "%.*f ± %.*f deg %s than %s\n", d, $27 < 0 ? -$27 : $27, d, $28, $27 < 0 ? "earlier" : "later",
            $19 == "nominal" ? "nominal" : $19 == "timed" ? "as timed " : $19 " " }' "$work/cams.csv")"
is "centres and durations as valve-timing has them" "$(sed -n 's/^<li>\(Cam .*\)<\/li>$/\1/p' "$page" |
    sed 's/^Cam \([A-Z]*\),.*centre \([0-9.]*\) ± \([0-9.]*\) \([AB]\)TDC, duration \([0-9.]*\) ± \([0-9.]*\).*/\1 \2 \3 \4 \5 \6/')" \
    "$(awk -F, "$places"' NR > 1 && !seen[$3]++ { c = places($10, 1); d = places($12, 1)
        printf "%s %.*f %.*f %s %.*f %.*f\n", $3, c, $9 < 0 ? -$9 : $9, c, $10, $9 < 0 ? "B" : "A", d, $11, d, $12 }' "$work/cams.csv")"
is "how they were read, limits, verdicts and hints" "$(sed -n 's/^<li>\(Cam .*\)<\/li>$/\1/p' "$page" | sed 's/<[^>]*>//g
        s/^Cam \([A-Z]*\), build \([^,]*\), as \([a-z]*\) \([0-9-]*\) (\([0-9]*\) valves).*limit \([0-9.]*\): \([a-z]*\)\..* Look: \(.*\)\.$/\1,\2,\3,\4,\5,\6,\7,\8/')" \
    "$(awk 'BEGIN { FS = "," } NR > 1 { hint = $0
        for (i = 0; i < 38; i++) sub(/^[^,]*,/, "", hint)
        gsub(/"/, "", hint)
        if (hint != "") look[$3] = hint
        if ($19 == "nominal") row[$3] = sprintf("%s,%s,%s,%s,%s,%.1f,%s", $3, $4, $7, $6, $8, $33, $34) }
        END { print row["I"] "," look["I"]; print row["E"] "," look["E"] }' "$work/cams.csv")"
figure "$page" 'Timing of the cams, engine HC-2' >"$work/fig"
# bars CLASS: where they begin and end, in degrees, to the half degree that a drawing can show
bars() {
    sed -n "s/<rect class=\"$1\" x=\"\([0-9.]*\)\" y=\"[0-9.]*\" width=\"\([0-9.]*\)\".*/\1 \2/p" "$work/fig"
}
near_degrees() { # GOT WANT, lines of two numbers
    printf '%s\n%s\n' "$1" "$2" | awk '{ a[NR] = $1; b[NR] = $2 } END { if (NR % 2 || NR < 4) exit 1
        for (i = 1; i <= NR / 2; i++) { j = i + NR / 2
            x = (a[i] - 14) / 312 * 720 - 360; w = b[i] / 312 * 720; print x, x + w, a[j], b[j]
            if (x - a[j] > 0.5 || a[j] - x > 0.5 || x + w - b[j] > 0.5 || b[j] - x - w > 0.5) exit 1 } }'
}
ok "this build's cams are where valve-timing has them" near_degrees "$(bars now)" \
    "$(awk -F, 'NR > 1 && !seen[$3]++ { print $9 - $11 / 2, $9 + $11 / 2 }' "$work/cams.csv")"
ok "the last build's are where it was timed then" near_degrees "$(bars last)" \
    "$(awk -F, 'NR > 1 { if ($4 != "B2") { c[$3] = $9; d[$3] = $11 } else if (!seen[$3]++) order[++n] = $3 }
        END { for (i = 1; i <= n; i++) print c[order[i]] - d[order[i]] / 2, c[order[i]] + d[order[i]] / 2 }' "$work/builds.csv")"
# found of D-02 5I, whose only life it is: readings with a found value
figure "$page" 'Lash, engine D-02, valve 5I' >"$work/fig"
is "every reading of the book is in the chart" \
    "$(grep -c 'circle class="found"' "$work/fig") $(grep -c 'polygon class="left"' "$work/fig")" \
    "$("$bin/valve-book" --dump readings shop.db | awk -F, '$1 == "D-02" && $5 == "lash" && $6 == "5I" {
        found += $7 != ""; left += $8 != "" && $8 != $7 } END { print found, left }')"

# what was replaced: the figures are those that valve-life prints last for the family
"$bin/valve-life" --as-of 2026-11-01 --what mcf --format csv shop.db >"$work/mcf.csv"
is "the page says how many seats were replaced" \
    "$(grep -o '<figcaption>[0-9]* replaced in [^<]*' "$page" | sed 's/<figcaption>//')" \
    "$(awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i; next }
        $at["family"] == "depot6" { n += $at["replaced"]; age = $at["age"]; m = $at["mcf"]; lo = $at["lo"]; hi = $at["hi"] }
        END { printf "%d replaced in 6 engines; by the age of %.0f h an engine has had %.2f on average, between %.2f and %.2f (95 %%).", n, age, m, lo, hi }' "$work/mcf.csv")"
is "and only of families where any was" "$(grep -c 'seats replaced an engine</h3>' "$page")" 1
run "$bin/valve-trend" --as-of 2026-11-01 --engine D-01 --format html shop.db
is "not on the page of one engine" "$(printf '%s' "$out" | grep -c 'Parts replaced')" 0

cd "$work/pages" || exit 1
if [ ! -x "$validate" ]; then
    skip 'html-validate finds nothing' 'the npm package html-validate is not installed (make deps)'
elif ! command -v node >/dev/null 2>&1; then
    skip 'html-validate finds nothing' 'node is not there'
else
    is 'pages to be checked' "$(ls | wc -l | tr -d ' ')" 6
    ok 'html-validate finds nothing' "$validate" ./*.html
fi
done_testing
