#!/bin/sh
# valve-book: books that load, correct and withdraw rows at random, of so few engines, dates and
# values that they are always in each other's way, and load one another's dumps. Whatever they
# do: no reading is lost, --check finds nothing but what was told, a dump makes the same book
# anew, the same dump once more changes nothing, lists do not depend on what is kept, and books
# that exchange everything come to rest, with the same rows where no conflict is told.
# SEEDS="7 8" sh tests/exchange.t runs others; VB_ALL=1 many more.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
if [ "${VB_ALL:-}" ]; then seeds=${SEEDS:-$(seq 1 120)}; else seeds=${SEEDS:-3 4 5 8 16}; fi
as='--as-of 2026-11-01'

# What the books do, a line a step: "load BOOK MODE STEP" of the sheets STEP-*.csv, "merge FROM
# TO", "list BOOK".
cat >steps.awk <<'END'
function meter(date,    base, n) {
    base = 100 * substr(date, 7, 1)
    n = below(10)
    if (n < 2)
        return ","
    if (n < 6)
        return base ",h"
    return n < 9 ? base + pick("-50 10 50 100 -90 150") ",h" : base ",km"
}
function event(    date, kind, figure) {
    date = pick("2025-01-01 2025-02-01 2025-03-01 2025-03-01T10:00")
    kind = pick("build replace,seat replace,cam replace,chain fit,cam meter meter end")
    figure = meter(date)
    if (kind == "meter")
        return pick("E1 E2") "," date "," pick("200 300 99999") ",h,meter,," pick("- 0 10 200") \
            ",," pick("- - n") ",,"
    return pick("E1 E2") "," date "," figure "," kind (kind ~ /,/ ? "" : ",") \
        (kind ~ /seat/ ? "," pick("- 1I I") : ",") (kind == "build" ? "," pick("- B1 B2") : ",") \
        "," pick("- - n o") (kind ~ /fit/ ? "," pick("L M") "," pick("- normal reversed") : ",,")
}
function reading(    date, lash, of) {
    date = pick("2025-01-01 2025-02-01 2025-03-01 2025-03-01T10:00")
    lash = below(4)
    of = lash ? "- 0.2 0.25 0.3" : "- 5.5 6.5"
    return pick("E1 E1 E2") "," date "," meter(date) "," \
        (lash ? "lash," pick("1I 1E") : "leakdown,1") "," (lash ? pick("0.2 0.25 0.3") : 5.5) "," \
        pick(of) "," (lash ? "mm" : "%") "," pick("- - 0.01 0.02") "," pick("- - 20 25") "," \
        pick("- g1 g2") "," pick("- a b") "," pick("- n") "," pick("- s1 s2") "," pick("- 1 2")
}
function fact(    key) {
    key = pick("lash_min lash_max lash_target relash_days lash_growth lash_stack banks")
    if (key == "relash_days" || key == "banks")
        return pick("f1 f2") ",," key "," (key == "banks" ? pick("A:1") "," : pick("90 180") ",d")
    if (key ~ /growth|stack/)
        return pick("f1 f2") "," pick("- I E") "," key "," \
            (key ~ /growth/ ? pick("0.001 0.002") ",mm/Cel" : pick("+120x21.5 +100x20") ",")
    return pick("f1 f2") "," pick("I E") "," key "," (key ~ /min/ ? pick("0.1 0.2 0.35") : \
        key ~ /max/ ? pick("0.3 0.4 0.15") : pick("0.2 0.25 0.32")) ",mm"
}
function fresh_row(t) {
    if (t == "families") return fact()
    if (t == "engines") return "E" pick("1 1 1 2") "," pick("f1 f1 f2 f3") "," pick("- - 2024-01-01 2025-01-01") \
        "," pick("- n s") "," pick("- x y")
    if (t == "events") return event()
    if (t == "gauges") return "g" pick("1 1 1 2") "," pick("- dial feeler") "," pick("- 0.01 0.02") ",mm," \
        pick("- 0.005 0.006") "," pick("- 2026-12-31")
    if (t == "plan") return pick("E1 E2") "," pick("2026-12-01 2026-12-05") "," pick("- 0 100 200") "," pick("- cup")
    if (t == "lobes") return "L," below(3) "," pick("0 0.5 1") ",mm"
    if (t == "shims") return pick("2.5 2.7") ",mm," pick("1 2 3")
    if (t == "trials") return pick("g1 g2") ",p," pick("ab cd") "," pick("1 2") "," pick("0.25 0.3 0.25/0.3") ",mm"
    return reading()
}
# A row of before, as it was or with other cells or blanks, or a new one.
function row(t, old,    a, b, n, i, s) {
    if (!count[t] || below(100) >= old) {
        past[t, count[t]++] = s = fresh_row(t)
        return s
    }
    s = past[t, below(count[t])]
    if (below(5) < 3)
        return s
    n = split(s, a, ",")
    split(fresh_row(t), b, ",")
    for (i = 1; i <= n; i++)
        if (index(keys[t], "," i ",") == 0 && below(5) < 2)
            a[i] = below(5) < 3 ? b[i] : ""
    s = a[1]
    for (i = 2; i <= n; i++)
        s = s "," a[i]
    return s
}
function load(step,    mode, old, i, k, t, file) {
    i = below(20)
    mode = i < 9 ? "plain" : i < 14 ? "correct" : "withdraw"
    old = i < 9 ? 50 : i < 14 ? 75 : 92
    print "load", below(books), mode, step
    for (k = pick("1 1 2 3"); k > 0; k--) {
        t = pick(kinds)
        file = step "-" t ".csv"
        if (!((step, t) in made))
            print heading[t] >>file
        made[step, t] = 1
        for (i = pick("1 1 2 3"); i > 0; i--)
            print row(t, old) >>file
        close(file)
    }
}
BEGIN {
    heading["families"] = "family,side,key,value,unit"; keys["families"] = ",1,2,3,"
    heading["engines"] = "engine,family,in_service,site,note"; keys["engines"] = ",1,"
    heading["events"] = "engine,date,meter,meter_unit,event,part,at,build,note,item,faces"
    keys["events"] = ",1,2,5,6,7,"
    heading["gauges"] = "gauge,kind,resolution,unit,u,valid_until"; keys["gauges"] = ",1,"
    heading["plan"] = "engine,date,meter_gain,label"; keys["plan"] = ",1,2,4,"
    heading["lobes"] = "lobe,cam_deg,lift,unit"; keys["lobes"] = ",1,2,"
    heading["shims"] = "thickness,unit,count"; keys["shims"] = ",1,2,"
    heading["trials"] = "gauge,part,by,trial,value,unit"; keys["trials"] = ",1,2,3,4,"
    heading["readings"] = "engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line"
    keys["readings"] = ",1,2,5,6,"
    n = split("gauges|readings|engines|events readings|plan shims|families engines|events|" \
        "families engines events gauges plan lobes shims trials readings readings readings", all, "|")
    seed = start
    kinds = all[1 + start % n]
    books = 2 + below(2)
    print "books", books
    for (s = 1; s <= 20; s++) {
        i = below(20)
        if (i < 13)
            load(s)
        else if (i < 18) {
            a = below(books)
            print "merge", a, (a + 1 + below(books - 1)) % books
        } else
            print "list", below(books)
    }
}
END

# fail TEXT: what does not hold; the first of a sequence is told
fail() { [ -s broken ] || printf '%s\n' "seed $seed, $step: $*" >broken; }
# known BOOK: every figure found or left that stands or stood there once
known() {
    [ -e "$1" ] || return
    for known_half in found left; do
        echo "SELECT engine || ',' || date || ',' || quantity || ',' || at || ',$known_half,' || $known_half
            FROM readings WHERE $known_half IS NOT NULL;
            SELECT key || ',' || old FROM history WHERE \"table\" = 'readings' AND key LIKE '%,$known_half' AND old <> '';
            SELECT key || ',' || new FROM history WHERE \"table\" = 'readings' AND key LIKE '%,$known_half' AND new <> '';"
    done | sqlite3 "$1" | sort -u
}
# rows_of BOOK: all that it holds
rows_of() {
    sqlite3 "$1" 'SELECT * FROM families; SELECT * FROM engines; SELECT * FROM events; SELECT * FROM gauges;
        SELECT * FROM plan; SELECT * FROM lobes; SELECT * FROM shims; SELECT * FROM trials; SELECT * FROM history;
        SELECT * FROM readings ORDER BY engine, date, quantity, at'
}
# books_run BOOK ARGS...: valve-book into a book; what it says is in $err, and nothing is lost
books_run() {
    books_book=$1
    shift
    known "$books_book" >known.before
    run "$vb" "$@"
    case $status in [01]) ;; *) fail "status $status: $err" ;; esac
    case $err in *elsewhere* | *'several books'* | *'this correction'* | *'this event'*) : >"$books_book.odd" ;; esac
    known "$books_book" >known.now
    [ -z "$(comm -23 known.before known.now)" ] || fail "lost: $(comm -23 known.before known.now)"
    run_err=$err
    run "$vb" --check $as "$books_book"
    [ "$status" = 0 ] || [ -e "$books_book.odd" ] || fail "--check $books_book: $out"
    err=$run_err
}
# What a sheet of readings says and is not among the rejects must be known now. (Standard error
# says what is wrong with a visit once, and then how many more rows it has.)
heard() {
    sed -n 's/^[^,]*readings.csv,\([0-9]*\),.*/\1/p' rejects >refused
    awk -F, 'FILENAME == "refused" { no[$1]; next }
        FNR > 1 && !(FNR in no) {
            if ($7 != "") print $1 "," $2 "," $5 "," $6 ",found," $7
            if ($8 != "") print $1 "," $2 "," $5 "," $6 ",left," $8
        }' refused "$1" | sort -u | comm -23 - known.now >unheard
    [ ! -s unheard ] || fail "neither known nor refused: $(cat unheard)"
}
load() {
    [ -e "$1.db" ] || [ "$2" != withdraw ] || return
    case $2 in
    plain) books_run "$1.db" $as --no-end --rejects rejects "$1.db" "$3"-*.csv ;;
    correct) books_run "$1.db" $as --correct --no-end --rejects rejects "$1.db" "$3"-*.csv ;;
    withdraw) books_run "$1.db" --withdraw --no-end "$1.db" "$3"-*.csv ;;
    esac
    [ "$2" = withdraw ] || [ ! -e "$3-readings.csv" ] || heard "$3-readings.csv"
}
dumped() {
    mkdir -p "of-$1"
    for t in $tables; do "$vb" --dump "$t" "$1.db" >"of-$1/$t"; done
}
merge() {
    [ -e "$1.db" ] || return
    dumped "$1"
    books_run "$2.db" $as "$2.db" "of-$1"/*
    merge_err=$err
}
merge_twice() {
    merge "$1" "$2"
    [ -e "$1.db" ] || return
    rows_of "$2.db" >once
    known "$1.db" | comm -23 - known.now >unheard
    [ ! -s unheard ] || [ "$err" ] || fail "of $1, in silence not in $2: $(cat unheard)"
    run "$vb" $as "$2.db" "of-$1"/*
    rows_of "$2.db" >twice
    cmp -s once twice || fail "the dump of $1 once more changes $2: $(diff once twice)"
}
# Of one book at the end: its own dump, a new book of it, lists
alone() {
    rows_of "$1.db" >once
    merge "$1" "$1"
    rows_of "$1.db" >twice
    cmp -s once twice || fail "its own dump changes $1: $(diff once twice)"
    rm -f new.db new.db.odd
    [ ! -e "$1.db.odd" ] || : >new.db.odd
    books_run new.db $as new.db "of-$1"/*
    rows_of new.db >twice
    cmp -s once twice || [ -e "$1.db.odd" ] || fail "the dump of $1 makes another book: $(diff once twice)"
    for tool in valve-drift valve-due; do
        cp "$1.db" book.db
        "$bin/$tool" $as book.db >kept.list 2>&1
        sqlite3 book.db 'DELETE FROM fresh'
        "$bin/$tool" $as book.db >afresh.list 2>&1
        cmp -s kept.list afresh.list || fail "$tool $1.db says otherwise afresh"
    done
}
# What books at rest must agree on. Of a row of several cells that each of two books has corrected
# more than once each may take the other's for an old one: of these tables only the keys. So of the
# history, in which each keeps how it came to what both say.
resting() {
    sqlite3 "$1" 'SELECT * FROM families; SELECT engine FROM engines; SELECT engine, date, event, part, at FROM events;
        SELECT gauge FROM gauges; SELECT * FROM plan; SELECT * FROM lobes; SELECT * FROM shims; SELECT * FROM trials;
        SELECT DISTINCT "table", key FROM history; SELECT * FROM readings ORDER BY engine, date, quantity, at'
}
# All give all to all, until nothing changes any more
exchange() {
    for round in 1 2 3 4 5 6 7 8; do
        told='' moved=''
        for a in $all; do
            for b in $all; do
                [ "$a" != "$b" ] && [ -e "$a.db" ] || continue
                [ -e "$b.db" ] && rows_of "$b.db" >once || : >once
                merge "$a" "$b"
                told=$told$merge_err
                rows_of "$b.db" >twice
                cmp -s once twice || moved=yes
            done
        done
        [ "$moved" ] || break
    done
    [ -z "$moved" ] || fail "the books do not come to rest: $(diff once twice)"
    [ -z "$told" ] || return
    for a in $all; do
        [ ! -e "$a.db" ] || resting "$a.db" >"$a.all"
    done
    for a in $all; do
        [ ! -e "$a.all" ] || cmp -s 0.all "$a.all" || fail "at rest without a word, and 0 and $a differ: $(diff 0.all "$a.all")"
    done
}
printf '%s\n' family,side,key,value,unit f1,,cylinders,1, f2,,cylinders,1, f1,I,valves,1, f1,E,valves,1, \
    f2,I,valves,1, f2,E,valves,1, >families.base
printf '%s\n' engine,family E1,f1 E2,f1 >engines.base
for seed in $seeds; do
    rm -rf [0-9]* of-* broken
    awk -v start="$seed" -f "$top/tests/draw.awk" -f steps.awk >steps || exit 1
    step=start all=
    while read -r what a b c; do
        step="$what $a $b $c"
        case $what in
        books) for n in $(seq 0 $((a - 1))); do
            all="$all $n"
            "$vb" $as "$n.db" families.base engines.base
        done ;;
        load) load "$a" "$b" "$c" ;;
        merge) merge_twice "$a" "$b" ;;
        list) "$bin/valve-drift" $as "$a.db" >list || fail list ;;
        esac
    done <steps
    step=alone
    for n in $all; do alone "$n"; done
    step=exchange
    exchange
    is "seed $seed: $(grep -c '' steps) steps of$all" "$(cat broken 2>/dev/null)" ''
done
done_testing
