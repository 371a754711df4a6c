#!/bin/sh
# What can befall the file of a book: cut short, written over, filled with something else,
# shut, on a full or a read-only disk. Commands say so by its name and end with 2; nothing dies,
# and what is left of the book is left alone.
. tests/tap.sh
. tests/book.sh
sh fixtures/demo/run.sh >"$work/demo.log" 2>&1
cp "$B/demo/shop.db" "$work/whole.db" || exit 1
demo=$PWD/$B/demo
cd "$work" || exit 1
as_of=2026-11-01
"$bin/valve-drift" --as-of $as_of --format csv whole.db >whole.drift # which keeps what it computes
cp whole.db s.db
size=$(wc -c <whole.db)
page=$(sqlite3 whole.db 'PRAGMA page_size')
cp "$demo"/*.csv . 2>/dev/null
sed -n 1p "$demo/../demo/readings.csv" >/dev/null 2>&1
"$vb" --dump engines whole.db >engines.csv
"$vb" --dump readings whole.db | sed '$d' >readings.csv
{
    sed -n 1p readings.csv
    echo HC-1,2026-10-30,,,lash,1I1,0.21,,mm,,,,,,some.csv,2
} >some.csv

# all BOOK: every kind of command on it; the worst status, what was said, and how often a
# status was neither 0 nor 2, or 2 without a word
all() {
    worst=0 odd=0
    : >said
    for all_c in "$bin/valve-drift --as-of $as_of --format csv" "$bin/valve-due --as-of $as_of --format csv" \
        "$bin/valve-timing --as-of $as_of --format csv" "$bin/valve-trend --as-of $as_of" \
        "$bin/valve-life --family hill16 --as-of $as_of" "$vb --dump readings" \
        "$bin/valve-alert --as-of $as_of --dry-run --from a@b.example" "load"; do
        if [ "$all_c" = load ]; then
            "$vb" --as-of $as_of --no-end "$1" some.csv >out 2>err
        else
            # shellcheck disable=SC2086
            $all_c "$1" >out 2>err
        fi
        all_status=$?
        cat err >>said
        case $all_status in
        0) ;;
        1 | 2) grep -q '^valve-[a-z]*: ' err || odd=$((odd + 1)) ;;
        *)
            odd=$((odd + 1))
            echo "# $1: $all_c: status $all_status"
            ;;
        esac
        [ "$all_status" -le "$worst" ] || worst=$all_status
    done
}

### no book at all
: >empty.db
mkdir folder.db
echo 'engine,date' >text.db
head -c 100000 /dev/zero >zeros.db
ln -s nowhere.db link.db
cp whole.db s.db
all s.db
is 'a whole book: all goes well' "$odd$worst$(cat said)" 00

for f in folder text zeros; do
    all $f.db
    is "$f: said by name, by all" "$odd|$(grep -c "^valve-[a-z]*: $f\.db: " said)" '0|8'
done
for f in link missing empty; do # where valve-book may make one
    all $f.db
    is "$f: said by name, by all who read" "$odd|$(grep -c "^valve-[a-z]*: $f\.db: " said)" '0|7'
done
mkfifo pipe.db
run timeout 5 "$bin/valve-drift" --as-of $as_of pipe.db
is 'a pipe: nobody waits for a writer' "$status" 2

### cut short: at each page and in the middle of one
bad=0 told=0 spared=0 tried=0 cut=0
while [ "$cut" -lt "$size" ]; do
    for at in $cut $((cut + 1)) $((cut + page / 2)); do
        [ "$at" -lt "$size" ] || continue
        head -c "$at" whole.db >s.db
        cp s.db s.before
        all s.db
        tried=$((tried + 1)) bad=$((bad + odd))
        if [ "$worst" -ge 2 ]; then told=$((told + 1)); else
            "$bin/valve-drift" --as-of $as_of --format csv s.before 2>&1 | cmp -s - whole.drift &&
                spared=$((spared + 1)) # only what lists keep for themselves, or nothing, was there
        fi
    done
    cut=$((cut + page * (VB_ALL ? 1 : 4)))
done
echo "# $tried lengths, $told of them said, $spared do no harm"
is 'cut short: nothing dies, nothing fails without a word' "$bad" 0
is 'and it is said, or what is missing was kept by lists for themselves' $((told + spared)) "$tried"
ok 'nearly always it is said' [ "$told" -gt $((tried * 9 / 10)) ]

### written over: each page, with noise and with zeros
bad=0 told=0 silent=0 tried=0 unseen=0 n=1
pages=$((size / page))
while [ "$n" -le "$pages" ]; do
    for with in zeros noise; do
        cp whole.db s.db
        if [ $with = zeros ]; then
            head -c "$page" /dev/zero
        else
            awk -v n="$page" -v seed="$n" 'BEGIN { for (i = 0; i < n; i++) {
                seed = (seed * 69069 + 1) % 4294967296; printf "%c", 33 + int(seed / 65536) % 90 } }'
        fi | dd of=s.db bs="$page" seek=$((n - 1)) conv=notrunc 2>/dev/null
        "$vb" --check --as-of $as_of s.db >look 2>&1
        seen=$?
        all s.db
        tried=$((tried + 1)) bad=$((bad + odd))
        if [ "$worst" -ge 2 ]; then
            told=$((told + 1))
        elif [ "$(sqlite3 s.db 'PRAGMA integrity_check' 2>&1)" != ok ]; then
            silent=$((silent + 1)) # a page that none of these reads
        else
            seen=1 # what lists keep, or room that nothing uses
        fi
        [ "$seen" -ne 0 ] || unseen=$((unseen + 1))
    done
    n=$((n + ${VB_ALL:+1} + (0${VB_ALL:+1} ? 0 : 3)))
done
echo "# $tried pages written over: $told said, $silent not read by any of these"
is 'written over: nothing dies, nothing fails without a word' "$bad" 0
is 'and --check sees it all' "$unseen" 0
ok 'and most of it is said' [ "$told" -ge $((tried / 2)) ]

### a journal that is not its own
cp whole.db s.db
head -c 3000 /dev/urandom >s.db-journal
all s.db
is 'noise as a journal: it is not taken' "$odd$worst" 00
rm -f s.db-journal

### shut
run_as() {
    if [ "$(id -u)" -eq 0 ]; then
        setpriv --reuid=65534 --regid=65534 --clear-groups "$@"
    else
        "$@"
    fi
}
# a program that counts what it runs through says so where it cannot write the count
if [ "${B%-cov}" = "$B" ] && run_as "$vb" --version >/dev/null 2>&1; then
    mkdir shut
    cp whole.db some.csv shut
    chmod 755 . shut
    chmod 444 shut/whole.db
    run run_as "$bin/valve-drift" --as-of $as_of --format csv shut/whole.db
    is 'a book that nobody may write is read' "$status|$out" "0|$(cat whole.drift)"
    run run_as "$vb" --as-of $as_of --no-end shut/whole.db shut/some.csv
    is 'and nothing is loaded into it' "$status|$out" '2|'
    ok 'which is said' expr "$err" : 'valve-book: shut/whole.db: .'
    chmod 000 shut/whole.db
    run run_as "$bin/valve-due" --as-of $as_of shut/whole.db
    is 'one that nobody may read' "$status|$err" '2|valve-due: shut/whole.db: Permission denied'
else
    skip 'a book that is shut' 'no other user can run the programs'
fi

### numbers that no book has: of a place, which is to fit into 16 bits, and of a visit
for n in 0 -5 65536 70000 '(1<<32)+1' '1<<40'; do
    cp whole.db s.db
    sqlite3 s.db "DELETE FROM fresh; UPDATE places SET place = $n WHERE quantity = 'lash' AND at = '1I1'"
    cp s.db before.db
    run "$vb" --as-of $as_of --no-end s.db some.csv
    is "a place numbered $n: nothing is loaded" "$status|$err" \
        '2|valve-book: s.db: database disk image is malformed'
    ok "a place numbered $n: the book is as before" cmp s.db before.db
    run "$bin/valve-drift" --as-of $as_of s.db
    is "a place numbered $n: no list" "$status|$out$err" \
        '2|valve-drift: s.db: database disk image is malformed'
done
for n in '1<<47' '(1<<60)+1' '~(1<<63)'; do
    cp whole.db s.db
    sqlite3 s.db "UPDATE visits SET visit = $n WHERE visit = (SELECT max(visit) FROM visits)"
    cp s.db before.db
    run "$vb" --as-of $as_of --no-end s.db some.csv
    is "a visit numbered $n: nothing is loaded" "$status|$err" \
        '2|valve-book: s.db: database disk image is malformed'
    ok "a visit numbered $n: the book is as before" cmp s.db before.db
done

### no room for what a list must put aside: 700 engines are more than SQLite holds in memory
awk 'BEGIN {
    print "engine,family" >"many-engines.csv"
    print "engine,date,meter,meter_unit,quantity,at,found,left,unit" >"many.csv"
    for (e = 1; e <= 700; e++) {
        print "N-" e ",twelve" >"many-engines.csv"
        for (v = 1; v <= 12; v++)
            print "N-" e ",2026-01-0" 1 + v % 2 "," v % 2 ",h,lash," v "I,0.3,,mm" >"many.csv"
    }
}'
printf '%s\n' family,side,key,value,unit twelve,,cylinders,12, twelve,I,valves,1, \
    twelve,I,lash_min,0.2,mm >many-families.csv
"$vb" --as-of $as_of --no-end many.db many-families.csv many-engines.csv many.csv || exit 1
run sh -c "trap '' XFSZ; ulimit -f 8; exec '$bin/valve-due' --as-of $as_of --format csv many.db"
is 'no room for what is computed: said, and not of the book' "$status|$err" \
    '2|valve-due: a temporary file: disk I/O error'
run "$bin/valve-due" --as-of $as_of --format csv many.db
is 'with room the list comes' "$status$err" 0

### no file may grow beyond a limit, as a job may be given one (4 KiB): a write fails, nothing dies
limited() { run sh -c "ulimit -f 8; trap - XFSZ; exec \"\$@\"" limited "$@"; }
cp whole.db s.db
limited "$vb" --as-of $as_of --no-end s.db some.csv
is 'a limit: a load is refused' "$status|$out|$err" '2||valve-book: s.db: disk I/O error'
run "$vb" --check --as-of $as_of s.db
is 'a limit: the book is whole' "$status" 0
"$vb" --dump readings s.db | sed '$d' >after.csv
ok 'a limit: the book is as before' cmp after.csv readings.csv
limited "$vb" --as-of $as_of limited.db engines.csv
is 'a limit: no new book' "$status|$(ls limited.db* 2>/dev/null)" '2|'
limited sh -c "'$bin/valve-drift' --as-of $as_of --format csv s.db >list.csv"
is 'a limit: a list that cannot be written says so' "$status|$err" '2|valve-drift: stdout: File too large'
limited "$bin/valve-alert" --as-of $as_of --dry-run --from a@b.example \
    --pipe-to 'cat >/dev/null; kill -XFSZ $$' s.db
is 'a limit: the mailer knows nothing of that' "$status|${err%signal*}" \
    '2|valve-alert: the command was killed by '

### on a small disk, full and read-only
mkdir disk
if mount -t tmpfs -o size=3m tmpfs disk 2>/dev/null; then
    trap 'umount "$work/disk" 2>/dev/null; rm -rf "$work"' EXIT
    "$vb" --as-of $as_of disk/s.db "$demo/families.csv" engines.csv 2>/dev/null ||
        cp whole.db disk/s.db
    cp disk/s.db before.db
    head -c 4m /dev/zero >disk/fill 2>/dev/null
    for c in "$vb --as-of $as_of --no-end disk/s.db readings.csv" \
        "$vb --as-of $as_of disk/new.db engines.csv"; do
        # shellcheck disable=SC2086
        run $c
        is "full disk: ${c##* } is refused" "$status|$(echo "$err" | wc -l)" '2|1'
        ok "full disk: ${c##* } says why" expr "$err" : '.*\(full\|space\|disk I/O\)'
    done
    ok 'full disk: the book is as before' cmp disk/s.db before.db
    run "$bin/valve-drift" --as-of $as_of --format csv disk/s.db
    is 'full disk: lists come, if only unkept' "$status$err" 0
    run sh -c "'$bin/valve-drift' --as-of $as_of --format csv disk/s.db >disk/out.csv"
    is 'full disk: a list that cannot be written says so' "$status" 2
    rm disk/fill disk/out.csv disk/new.db 2>/dev/null
    run "$vb" --as-of $as_of --no-end disk/s.db some.csv
    is 'with room again the same load goes in' "$status" 0
    cp disk/s.db before.db
    mount -o remount,ro disk
    run "$bin/valve-due" --as-of $as_of --format csv disk/s.db
    is 'read-only disk: a list comes' "$status$err" 0
    run "$vb" --as-of $as_of --no-end disk/s.db readings.csv
    is 'read-only disk: a load is refused' "$status|$err" \
        '2|valve-book: disk/s.db: attempt to write a readonly database'
    mount -o remount,rw disk
    ok 'read-only disk: the book is as before' cmp disk/s.db before.db
    umount disk
else
    skip 'a full and a read-only disk' 'nothing can be mounted'
fi
done_testing
