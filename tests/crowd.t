#!/bin/sh
# Eight depots load into one book at the same moment while lists, dumps and alerts run over it:
# everybody waits for those before, nobody fails for being second, all rows are there once.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
loaders=8
visits=${VB_ALL:+40}
visits=${visits:-12}
awk -v loaders=$loaders -v visits="$visits" 'BEGIN {
    head = "engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line"
    print "engine,family" >"engines.csv"
    for (d = 1; d <= loaders; d++) {
        file = "depot-" d ".csv"
        print head >file
        # twelve engines of its own, and the two that every depot reads the same way
        for (e = 1; e <= 14; e++) {
            name = e > 12 ? "SH-" e : "D" d "-" e
            if (e <= 12 || d == 1)
                print name ",four" >"engines.csv"
            for (v = 1; v <= visits; v++)
                for (i = 1; i <= 4; i++)
                    printf("%s,%d-%02d-%02d,%d,h,lash,%dI,0.%d,,mm,,20,,%s,,%s,%d\n", name,
                        2020 + int(v / 12), 1 + v % 12, 5, 100 * v, i, 300 - v - i,
                        e > 12 ? "sh" : "ab", e > 12 ? "shared.csv" : file, v * 10 + i) >file
        }
        close(file)
    }
}'
printf '%s\n' family,side,key,value,unit four,,cylinders,4, four,I,valves,1, four,E,valves,1, \
    four,I,lash_min,0.2,mm >families.csv
"$vb" base.db families.csv engines.csv || exit 1

# the same one after the other
cp base.db one.db
i=0
while [ "$i" -lt $loaders ]; do
    i=$((i + 1))
    "$vb" --as-of 2026-11-01 --no-end one.db depot-$i.csv || exit 1
done
rows=$((12 * loaders * visits * 4 + 2 * visits * 4))
is 'one after the other: all rows once' "$(sqlite3 one.db 'SELECT count(*) FROM reading')" $rows

bad=0 round=0 lists=0
rounds=${VB_ALL:+10}
while [ "$round" -lt "${rounds:-2}" ]; do
    round=$((round + 1))
    cp base.db s.db
    rm -f go *.status
    for i in 1 2 3 4 5 6 7 8; do
        (
            while [ ! -e go ]; do :; done
            "$vb" --as-of 2026-11-01 --no-end s.db depot-$i.csv >load-$i.out 2>load-$i.err
            echo "$? $(wc -c <load-$i.err | tr -d ' ')" >load-$i.status
        ) &
    done
    for c in "valve-due --as-of 2026-11-01 --format csv" "valve-drift --as-of 2026-11-01 --format csv" \
        "valve-alert --as-of 2026-11-01 --from a@b.example" "valve-book --dump readings"; do
        (
            while [ ! -e go ]; do :; done
            while [ "$(find . -name 'load-*.status' | wc -l)" -lt $loaders ]; do
                # shellcheck disable=SC2086
                "$bin"/$c s.db >"${c%% *}.out" 2>"${c%% *}.err"
                echo "$? $(wc -c <"${c%% *}.err" | tr -d ' ')" >>"${c%% *}.status"
            done
        ) &
    done
    : >go
    wait
    [ "$(cat ./*.status | sort -u)" = '0 0' ] || {
        bad=$((bad + 1))
        cat ./*.err | sort -u | head -5 | sed 's/^/# /'
    }
    lists=$((lists + $(cat valve-*.status | wc -l)))
    for t in families engines events history; do
        "$vb" --dump $t s.db
        "$vb" --dump $t one.db >&3
    done >got 3>want
    "$vb" --dump readings s.db >>got
    "$vb" --dump readings one.db >>want
    cmp got want || bad=$((bad + 1))
    [ "$(sound s.db)" = ok ] || bad=$((bad + 1))
done
echo "# $round times $loaders loads at once, $lists lists beside them"
is 'at once: nobody fails, the book is the same' "$bad" 0
ok 'lists ran meanwhile' [ "$lists" -gt 8 ]
"$bin/valve-drift" --as-of 2026-11-01 --format csv one.db >want
"$bin/valve-drift" --as-of 2026-11-01 --format csv s.db >got
ok 'and what was kept meanwhile is not stale' cmp got want

### one who waits too long is told: a minute, so only where there is time
if [ -z "${VB_ALL:-}" ]; then
    skip 'a book that stays locked' 'only with VB_ALL=1'
    done_testing
    exit
fi
cp base.db s.db
mkfifo hold release
sqlite3 s.db >/dev/null 2>&1 <release &
exec 4>release
printf '%s\n' 'BEGIN EXCLUSIVE;' '.system echo held >hold' >&4
read -r _ <hold
begun=$(date +%s)
run "$vb" --as-of 2026-11-01 --no-end s.db depot-1.csv
took=$(($(date +%s) - begun))
exec 4>&-
wait
is 'a book that stays locked' "$status|$err" '2|valve-book: s.db: database is locked'
ok 'is waited for as long as is said' [ "$took" -ge 58 ] && [ "$took" -le 90 ]
run "$vb" --as-of 2026-11-01 --no-end s.db depot-1.csv
is 'and free again it takes the load' "$status$err" 0
done_testing
