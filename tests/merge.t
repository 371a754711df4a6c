#!/bin/sh
# valve-book: three depots keep a book each, of readings that overlap, with corrections of
# their own. Whoever puts the books together, in any order, gets the same book.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
tables='families engines history readings'

# For each depot sheets as read (0), corrections (1) and second corrections (2); and what
# stands at the end, worked out from what was true, not from any book. A cell that was read
# wrong is put right by one of the depots that have the wrong value; either the others have
# it too, or they read it right and every wrong value is put right: no two books disagree.
cat >depots.awk <<'END'
function put(d, step, values) {
    print engine, date, values, d below(3) ".csv", 1 + below(900) > (d step ".csv")
}
function meter_of(d) { return d in shows ? shows[d] "," "h" : "," }
function row(d, step, at, found, left) {
    put(d, step, (step ? "," : meter_of(d)) ",lash," at "," found "," left ",mm," temp \
        "," (below(2) ? "dti-" below(3) : "") "," (below(2) ? "f" below(4) : "") \
        "," (below(9) ? "" : "note " below(5)))
}
# A cell as each depot of `has` reads it: in[d]; corrections in fix1, fix2; returns the end.
function cell(has, n,    d, i, old, mid, new, kind, fixer, all) {
    split("", first); split("", fix1); split("", fix2)
    new = (100 + below(300)) / 1000
    kind = below(12)
    old = kind < 2 ? new + 0.05 : new
    mid = kind == 2 ? new + 0.02 : new
    fixer = substr(has, 1 + below(n), 1)
    all = below(2)
    for (i = 1; i <= n; i++) {
        d = substr(has, i, 1)
        first[d] = d == fixer || all || below(3) == 0 ? old : new
        if (kind < 2 && (d == fixer || (first[d] == old && !all) || (all && below(3) == 0)))
            fix1[d] = new
        if (kind == 2 && d == fixer) {
            fix1[d] = mid
            fix2[d] = new
        }
    }
    return new
}
function who(    d, s) {
    do {
        s = (below(3) ? "A" : "") (below(3) ? "B" : "") (below(3) ? "C" : "")
    } while (s == "")
    return s
}
function valve(at,    has, d, i, n, f, l, found, left, h) {
    temp = 15 + below(10)
    has = who()
    n = split(has, h, "")
    f = cell(has, n)
    split("", found); split("", found1); split("", found2)
    for (d in first) found[d] = first[d]
    for (d in fix1) found1[d] = fix1[d]
    for (d in fix2) found2[d] = fix2[d]
    has = who()
    n = split(has, h, "")
    l = cell(has, n)
    for (i = 1; i <= 3; i++) {
        d = substr("ABC", i, 1)
        if ((d in found) || (d in first)) {
            if (below(4))
                row(d, 0, at, found[d], first[d])
            else { # its two halves apart
                if (d in found) row(d, 0, at, found[d], "")
                if (d in first) row(d, 0, at, "", first[d])
            }
        }
        if (d in found1) row(d, 1, at, found1[d], "")
        if (d in fix1) row(d, 1, at, "", fix1[d])
        if (d in found2) row(d, 2, at, found2[d], "")
        if (d in fix2) row(d, 2, at, "", fix2[d])
    }
    print engine, date, meter, at, f, l > "expect.csv"
}
function visit(    i, d, wrong, fixer, all) {
    split("", shows)
    wrong = below(8) == 0
    all = below(2)
    fixer = substr("ABC", 1 + below(3), 1)
    for (i = 1; i <= 3; i++) {
        d = substr("ABC", i, 1)
        if (d == fixer || below(4))
            shows[d] = wrong && (d == fixer || all) ? meter + 3 : meter
    }
    for (i = 1; i <= 3; i++)
        put(d = substr("ABC", i, 1), 0, meter_of(d) ",leakdown,1,8,,%,,,,")
    for (i = 1; i <= 8; i++)
        valve(int((i + 1) / 2) substr("EI", 1 + i % 2, 1))
    if (wrong) {
        shows[fixer] = meter
        put(fixer, 1, meter_of(fixer) ",leakdown,1,8,,%,,,,")
    }
}
BEGIN {
    OFS = ","
    seed = 42
    for (d = 1; d <= 3; d++)
        for (step = 0; step <= 2; step++)
            print "engine,date,meter,meter_unit,quantity,at,found,left,unit,temp_c,gauge,by,note," \
                "source,line" > (substr("ABC", d, 1) step ".csv")
    for (e = 1; e <= 8; e++)
        for (v = 1; v <= 12; v++) {
            engine = sprintf("GX-%02d", e)
            date = sprintf("2025-%02d-%02d", v, 1 + below(28))
            meter = 100 * v + below(90)
            visit()
        }
}
END
awk -f "$top/tests/draw.awk" -f depots.awk || exit 1
cat >families.csv <<'END'
family,side,key,value,unit
four,,cylinders,4,
four,I,valves,1,
four,E,valves,1,
END
{ echo engine,family,site && awk 'BEGIN { for (i = 1; i <= 8; i++) printf "GX-%02d,four,\n", i }'; } >engines.csv
sed '1n; s/,$/,wharf/' engines.csv >engines-new.csv # what B knows better
sed '1n; s/,$/,warf/' engines.csv >engines-old.csv

# depot NAME: its book, and the dumps of it in a directory
depot() {
    case $1 in
    B) e=engines-old.csv ;;
    *) e=engines.csv ;;
    esac
    run "$vb" --as-of 2026-11-01 --no-end "$1.db" families.csv "$e" "$1"0.csv
    is "depot $1: as read" "$status|$out|$err" '0||'
    for step in 1 2; do
        run "$vb" --as-of 2026-11-01 --no-end --correct "$1.db" "$1$step.csv"
        is "depot $1: corrections $step" "$status|$out|$err" '0||'
    done
    [ "$1" != B ] || "$vb" --as-of 2026-11-01 --correct "$1.db" engines-new.csv
    dumps "$1"
}

# dumps NAME: the tables of NAME.db as files in NAME/
dumps() {
    mkdir -p "$1"
    for t in $tables; do
        "$vb" --dump "$t" "$1.db" >"$1/$t" || exit 1
    done
}
depot A
depot B
depot C
ok 'history is there to be merged' [ "$(cat ?/history | wc -l)" -gt 150 ]
ok 'thousands of readings' [ "$(cat ?/readings | wc -l)" -gt 1500 ]

# joins NAME ORDER: new book NAME.db takes the dumps of the books in ORDER, one load each
joins() {
    joined=0
    for d in $2; do
        run "$vb" --as-of 2026-11-01 "$1.db" "$d"/*
        joined=$joined$status$err
    done
    is "$2: nothing is refused" "$(echo "$joined" | tr -d 0)" ''
}
joins ABC 'A B C'
dump_all ABC.db want
"$vb" --dump readings ABC.db | grep ,lash, | cut -d, -f1-3,6-8 | sort >got.csv
sort expect.csv >want.csv
ok 'what stands is what was true' cmp got.csv want.csv
for order in 'A C B' 'B A C' 'B C A' 'C A B' 'C B A' 'A B C A B C A B C'; do
    rm -f other.db
    joins other "$order"
    unchanged "$order: the same book" other.db want
done
joins AB 'A B'
dumps AB
joins BC 'B C'
dumps BC
joins halves 'BC A'
unchanged 'a merged book merges' halves.db want
joins lap 'AB BC'
unchanged 'two merged books that share a depot' lap.db want
joins A 'B C'
unchanged 'the others into the book of a depot' A.db want
for order in 'A B C' 'C B A' 'B A C'; do
    rm -f other.db
    files=
    for d in $order; do files="$files $d/readings $d/history $d/engines $d/families"; done
    # shellcheck disable=SC2086
    run "$vb" --as-of 2026-11-01 other.db $files
    is "$order in one load" "$status|$out|$err" '0||'
    unchanged "$order in one load: the same book" other.db want
done
is 'the book is sound' "$(sound other.db)" ok
is 'no visit without a reading' "$(sqlite3 other.db 'SELECT count(*) FROM visits WHERE visit NOT IN
    (SELECT visit FROM reading)')" 0
done_testing
