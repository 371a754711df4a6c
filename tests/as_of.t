#!/bin/sh
# Every list with --as-of in the past: what the book learnt of later days plays no part. Books are
# drawn at random, and each list of a day must be, to the byte, that of a book which has the rows
# up to that day alone; and so must it be where the rows came in no order, in several loads with
# lists in between, and where some came in wrong and were corrected.
# SEEDS="7 8" sh tests/as_of.t runs others; VB_ALL=1 many more.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
if [ "${VB_ALL:-}" ]; then seeds=${SEEDS:-$(seq 1 60)}; else seeds=${SEEDS:-1 2 3}; fi

# Writes families.csv, engines.csv, plan.csv, gauges.csv and lobes.csv, which say nothing of days
# gone by, and all.events and all.readings without headings.
cat >tables.awk <<'END'
function noise() { return (below(100) + below(100) + below(100) - 148.5) / 5000 }
function iso(day,    y, m, length_of) { # days from 2024-01-01 on
    for (y = 2024; day >= 365 + (y % 4 == 0); y++)
        day -= 365 + (y % 4 == 0)
    for (m = 1; ; m++) {
        length_of = m == 2 ? 28 + (y % 4 == 0) : m == 4 || m == 6 || m == 9 || m == 11 ? 30 : 31
        if (day < length_of)
            return sprintf("%d-%02d-%02d", y, m, day + 1)
        day -= length_of
    }
}
function valves(    cyl, n) {
    n = 0
    for (cyl = 1; cyl <= cyls; cyl++) {
        if (cyls == 2) {
            at[++n] = cyl "I1"
            at[++n] = cyl "I2"
        } else
            at[++n] = cyl "I"
        at[++n] = cyl "E"
    }
    return n
}
# The meter as it shows, blank now and then.
function shown() { return below(8) ? sprintf("%.1f,h", running - offset) : "," }
function event(what,    figure) {
    figure = below(3) ? "," : sprintf("%.1f,h", running - offset)
    print engine "," date pick("- - - T06:00 T20:00") "," figure "," what >"all.events"
}
function happens(    k) {
    k = below(14)
    if (k == 0) event("build,,," pick("B1 B2 B3") ",,,")
    if (k == 1) event("build," pick("head engine -") ",," pick("- B4 B5") ",,,")
    if (k < 4) event("replace," pick("seat valve") "," pick("1I" (cyls == 2 ? "1" : "") " 2E 1 2 E -") ",,,,")
    if (k == 4) event("replace,cam," pick("- I E") ",,,,")
    if (k == 5) event("replace," pick("chain sprocket") "," (cyls == 2 ? pick("- A B") : "") ",,,,")
    if (k == 6) event("fit,cam," pick("I E") ",,," pick("L M") "," pick("- normal reversed"))
    if (k == 7) event("replace," pick("spring guide follower") "," pick("- 2 1E") ",,,,")
    if (k == 8 && !ended && visit > 4) {
        event("end,,,,,,")
        ended = 1
    }
    if (k == 9 && running - offset > 50) {
        first = pick("0 0 7.5")
        printf "%s,%s,%.1f,h,meter,,%s,,,,\n", engine, date, running - offset, first >"all.events"
        offset = running - first
    }
}
function reading(quantity, place, found, left, unit, u) {
    print engine "," date time "," meter "," quantity "," place "," found "," left "," unit "," u "," \
        (below(3) ? "" : pick("15 20 31")) "," pick("- - g1 g2") "," pick("- ab cd") ",," source "," ++line \
        >"all.readings"
}
function cams(side, shift) {
    reading("opens", "1" side (cyls == 2 && side == "I" ? 1 : ""), sprintf("%.1f", (side == "I" ? -12 : -230) + shift), "",
        "deg", pick("- 0.5"))
    reading("closes", "1" side (cyls == 2 && side == "I" ? 1 : ""), sprintf("%.1f", (side == "I" ? 225 : 8) + shift), "",
        "deg", "")
}
function read_all(    i, n, v) {
    meter = shown()
    n = valves()
    v = below(3)
    for (i = 1; i <= n; i++) {
        if (below(6) == 0)
            continue
        lash[i] -= rate[i] * (running - read_at[i])
        read_at[i] = running
        if (lash[i] < 0.05 || lash[i] > 0.9)
            lash[i] = 0.3
        found = below(7) ? sprintf("%.2f", lash[i] + noise()) : ""
        left = ""
        if (v == 0 || found == "" || below(9) == 0) {
            lash[i] = 0.3
            left = below(5) ? "0.30" : found ? found : "0.25"
        }
        reading("lash", at[i], found, left, "mm", pick("- - - 0.01 0.02"))
        if (below(9) == 0)
            reading("shim", at[i], pick("2.50 2.60"), pick("- 2.55"), "mm", "")
    }
    if (below(2)) {
        drift += noise() * 60
        cams("I", drift)
        cams("E", drift + noise() * 20)
        if (below(3) == 0)
            reading("checking_lift", "", "1", "", "mm", "")
        if (below(3) == 0)
            reading("lift_tdc", "1E", "1.2" below(9), "", "mm", "")
        if (below(4) == 0) {
            reading("stop_before", "1", "-20.5", "", "deg", "")
            reading("stop_after", "1", "21.0", "", "deg", "")
        }
        if (below(4) == 0)
            reading("sprocket_step", cyls == 2 ? pick("AI BI") : "I", pick("0.5 1.5"), "", "deg", "")
    }
    if (below(4) == 0)
        reading("leakdown", "1", pick("5 6 7.5"), "", "%", "")
}
BEGIN {
    seed = start
    source = "sheet.csv"
    print "family,side,key,value,unit\nf4,,cylinders,4,\nf4,I,valves,1,\nf4,E,valves,1,\nf2,,cylinders,2,\nf2,I,valves,2,\n" \
        "f2,E,valves,1,\nf2,,banks,A:1 B:2,\nf4,,firing_order,1-3-4-2," >"families.csv"
    for (i = 1; i <= 2; i++) {
        f = i == 1 ? "f4" : "f2"
        print f ",I,opens,12 BTDC,\n" f ",I,closes,45 ABDC,\n" f ",E,opens,50 BBDC,\n" f ",E,closes,8 ATDC,\n" \
            f ",,timing_tolerance,2,deg\n" f ",,cam_teeth,40,\n" f ",,crank_teeth,20,\n" f ",,adjuster," pick("screw shim") "," \
            >"families.csv"
        for (k = 1; k <= 2; k++)
            print f "," (k == 1 ? "I" : "E") ",lash_min,0.15,mm\n" f "," (k == 1 ? "I" : "E") ",lash_max,0.40,mm\n" \
                f "," (k == 1 ? "I" : "E") ",lash_target,0.30,mm\n" f "," (k == 1 ? "I" : "E") ",seat_limit,0.5,mm" >"families.csv"
        print f ",," pick("relash_interval,600,h relash_days,200,d") "\n" f ",,lash_growth,0.0005,mm/Cel" >"families.csv"
    }
    print "engine,family,in_service" >"engines.csv"
    print "engine,date,meter_gain,label" >"plan.csv"
    print "gauge,kind,resolution,unit,u,valid_until\ng1,dial,0.01,mm,,2025-01-01\ng2,dial,,mm,0.012," >"gauges.csv"
    print "lobe,cam_deg,lift,unit" >"lobes.csv"
    for (i = -60; i <= 60; i += 10)
        printf "L,%d,%.4f,mm\nM,%d,%.4f,mm\n", i, 8 * (1 - (i / 60) ^ 2), i + (i > 0), 8 * (1 - (i / 60) ^ 2) >"lobes.csv"
    printf "" >"all.events"
    printf "" >"all.readings"
    for (e = 1; e <= 7; e++) {
        engine = "E" e
        cyls = e < 5 ? 4 : 2
        day = below(60)
        print engine ",f" cyls "," (below(2) ? iso(day) : "") >"engines.csv"
        running = pick("0 0 900.5")
        offset = ended = drift = 0
        visits = 4 + below(16)
        n = valves()
        for (i = 1; i <= n; i++) {
            lash[i] = 0.3
            rate[i] = (below(20) - 4) / 50000
            read_at[i] = running
        }
        for (visit = 0; visit < visits; visit++) {
            date = iso(day)
            if (below(2))
                happens()
            time = pick("- - - - T07:30 T18:00")
            read_all()
            if (time == "T07:30" && below(2)) {
                time = "T21:15"
                running += below(2) * 3
                read_all()
            }
            gap = 1 + below(45)
            day += gap
            running += gap * below(18)
        }
        for (i = below(3); i > 0; i--)
            print engine "," iso(day + 30 * i - 45) "," pick("- 100 250") "," pick("cup race") >"plan.csv"
    }
}
END
events=engine,date,meter,meter_unit,event,part,at,build,note,item,faces
readings=engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line

# mixed SEED: lines of standard input in no order
mixed() {
    awk -v seed="$1" '{ seed = (seed * 69069 + 1) % 4294967296; print int(seed / 65536) "\t" $0 }' | sort -n | cut -f 2-
}
# table FILE HEADING: rows of standard input
table() { { echo "$2" && cat; } >"$1"; }
fail() { [ -s broken ] || printf '%s\n' "seed $seed: $*" >broken; }
# into BOOK OPTIONS FILE...: all rows go in
into() {
    into_book=$1 into_options=$2
    shift 2
    # shellcheck disable=SC2086
    run "$vb" --as-of 2030-01-01 --no-end $into_options "$into_book" "$@"
    [ "$status$err" = 0 ] || fail "into $into_book: $err"
}
# lists DAY BOOK FILE: every list
lists() {
    mv "$2" book.db
    {
        "$bin/valve-drift" --all --as-of "$1" --format csv book.db
        "$bin/valve-due" --as-of "$1" --format csv book.db
        "$bin/valve-due" --as-of "$1" --before-plan --format csv book.db
        "$bin/valve-timing" --all --each-valve --as-of "$1" --format csv book.db
        for what in mcf weibull trend interval; do
            "$bin/valve-life" --as-of "$1" --format csv --what "$what" book.db
        done
        "$bin/valve-life" --as-of "$1" --format csv --part seat --side E --time days book.db
        "$bin/valve-trend" --as-of "$1" --format table book.db
        "$bin/valve-trend" --as-of "$1" --engine E1 --format html book.db
        for engine in E1 E6; do
            "$bin/valve-set" --as-of "$1" --all --engine "$engine" --format csv book.db
            "$bin/valve-set" --as-of "$1" --plan --engine "$engine" --format csv book.db
        done
        "$bin/valve-alert" --as-of "$1" --dry-run --text book.db
    } >"$3" 2>&1
    mv book.db "$2"
}
# in_pieces ROWS BOOK: readings in no order, in four loads, and lists in between
in_pieces() {
    mixed "$seed" <"$1" >pieces
    for piece in 0 1 2 3; do
        awk -v p="$piece" 'NR % 4 == p' pieces | table piece.csv "$readings"
        into "$2" '' piece.csv
        "$bin/valve-drift" --as-of "$(echo "$days" | head -n 1)" "$2" >list 2>&1
        "$bin/valve-due" --as-of 2030-01-01 "$2" >list 2>&1
    done
}
# draw: the tables of this seed, and some of their days: what is of the day itself counts
draw() {
    awk -v start="$seed" -f "$top/tests/draw.awk" -f tables.awk
    cut -d, -f2 all.events all.readings | cut -c 1-10 | sort -u >all.days
    days=$(sed "1,$(($(wc -l <all.days) / 3))d" all.days | mixed "$seed" | head -n 2)
    [ "${VB_ALL:-}" ] && days="$days$nl$(mixed "1$seed" <all.days | tail -n 2)${nl}2025-03-01${nl}2029-12-31"
    table events.csv "$events" <all.events
    table readings.csv "$readings" <all.readings
}
# wrong: some rows say something else
wrong() {
    awk -F, -v OFS=, 'NR % 3 && $5 == "build" && $8 != "" { $8 = "X9" } NR % 5 == 0 { $9 = "n" } { print }' events.csv >wrong-events.csv
    awk -F, -v OFS=, 'NR > 1 && NR % 7 == 0 && $7 != "" { $7 = $5 == "lash" ? "0.66" : $7 + 1 }
        NR > 1 && NR % 11 == 0 && $8 != "" { $8 = "0.22" } { print }' readings.csv >wrong-readings.csv
}
fixed='families.csv engines.csv plan.csv gauges.csv lobes.csv'
for seed in $seeds; do
    rm -f ./*.db ./*.csv broken
    draw
    wrong
    # shellcheck disable=SC2086
    for book in whole.db mixed.db wrong.db; do into "$book" '' $fixed; done
    into whole.db '' events.csv readings.csv
    mixed "$seed" <all.events | table mixed.csv "$events"
    into mixed.db '' mixed.csv
    in_pieces all.readings mixed.db
    into wrong.db '' wrong-events.csv wrong-readings.csv
    for day in $days; do "$bin/valve-due" --as-of "$day" wrong.db >list 2>&1; done
    into wrong.db --correct events.csv readings.csv
    for day in $days; do
        rm -f then.db
        for t in events readings; do
            awk -F, -v day="$day" 'NR == 1 || substr($2, 1, 10) <= day' $t.csv >then-$t.csv
        done
        # shellcheck disable=SC2086
        into then.db '' $fixed then-events.csv then-readings.csv
        lists "$day" then.db then.list
        for book in whole mixed wrong; do
            lists "$day" $book.db $book.list
            cmp -s then.list $book.list || fail "$day, $book: $(diff then.list $book.list | head -n 6)"
        done
    done
    is "seed $seed: $(wc -l <all.readings) readings, $(grep -c . all.events) events, lists of $(echo $days)" \
        "$(cat broken 2>/dev/null)" ''
done
done_testing
