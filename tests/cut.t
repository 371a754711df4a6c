#!/bin/sh
# The power fails in the middle of a load: of what was written since the last sync any sector
# may be there or not, of files made and removed since their directory was synced likewise. The
# book is as it was before or whole, and once valve-book has ended with 0 it is whole.
. tests/tap.sh
. tests/book.sh
preload=$PWD/$B/tests/cut.so
if [ ! -e "$preload" ] || [ "${B#*-address}" != "$B" ]; then
    skip 'the power fails' 'nothing can be preloaded under the sanitizer'
    done_testing
    exit
fi
cd "$work" || exit 1
export VB_CUT_FILE=s.db VB_CUT_COUNT="$work/count"
awk 'BEGIN {
    head = "engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,source,line"
    print head >"old.csv"
    print head >"new.csv"
    print "engine,family" >"engines.csv"
    for (e = 1; e <= 40; e++) {
        printf "GX-%03d,four\n", e >"engines.csv"
        for (v = 0; v < 40; v++)
            for (i = 0; i < 8; i++)
                printf "GX-%03d,20%02d-%02d-%02d,%d,h,lash,%d%s,0.%03d,,mm,,%d,,ab,,%d.csv,%d\n",
                    e, 10 + int(v / 12), 1 + v % 12, 1 + e % 28, v * 50 + e, 1 + int(i / 2), i % 2 ? "E" : "I",
                    100 + (e * 7 + v * 13 + i * 31) % 200, v % 30, e % 9, ++n >(v < 4 ? "old.csv" : "new.csv")
    }
}'
printf '%s\n' family,side,key,value,unit four,,cylinders,4, four,I,valves,1, four,E,valves,1, >families.csv
"$vb" --as-of 2026-11-01 --no-end old.db families.csv engines.csv old.csv || exit 1

# cuts NAME COMMAND...: in a copy of base.db, or where there is none
cuts() {
    cuts_name=$1
    shift
    rm -f s.db s.db-journal
    [ ! -e base.db ] || cp base.db s.db
    if [ -e base.db ]; then dump_all s.db before; else dump_all void.db before; fi
    LD_PRELOAD=$preload VB_CUT='1000000000 1' "$@" >out 2>&1 || exit 1
    all=$(cat count)
    dump_all s.db whole
    bad=0 early=0 late=0 i=0 tries=${VB_ALL:+500}
    tries=${tries:-40}
    while [ "$i" -lt "$tries" ]; do
        i=$((i + 1))
        # evenly over all changes, more of them near the end, and some behind it
        at=$(awk -v i=$i -v tries="$tries" -v all="$all" 'BEGIN {
            x = i / tries; print i % 5 == 0 ? 0 : i % 3 ? 1 + int(x * all) : all - int(12 * x) }')
        rm -f s.db s.db-journal
        [ ! -e base.db ] || cp base.db s.db
        LD_PRELOAD=$preload VB_CUT="$at $i" "$@" >out 2>&1
        status=$?
        if [ "$status" -eq 0 ]; then late=$((late + 1)); else early=$((early + 1)); fi
        # a new book may not be there yet
        if [ ! -e base.db ] && [ "$status" -ne 0 ] && { [ ! -s s.db ] || ! "$vb" --dump engines s.db; } >out 2>&1; then
            "$@" >out 2>&1 || bad=$((bad + 1))
            continue
        fi
        dump_all s.db got >err 2>&1
        if [ "$status" -eq 0 ]; then
            cmp -s got whole || { bad=$((bad + 1)) && echo "# $at of $all, seed $i: ended well, and lost"; }
        elif ! cmp -s got before && ! cmp -s got whole; then
            bad=$((bad + 1))
            echo "# $at of $all, seed $i: neither before nor whole: $(head -c 200 err)"
        fi
        [ "$(sound s.db)" = ok ] || { bad=$((bad + 1)) && echo "# $at of $all, seed $i: not sound"; }
        "$@" >out 2>&1
        dump_all s.db got
        cmp -s got whole || { bad=$((bad + 1)) && echo "# $at of $all, seed $i: not whole after the next load"; }
    done
    echo "# $cuts_name: $all changes of files, $early cuts among them, $late after the end"
    is "$cuts_name: before or whole, and whole once it has ended" "$bad" 0
    ok "$cuts_name: both kinds were tried" [ "$early" -gt 5 ] && [ "$late" -gt 2 ]
}
cp old.db base.db
cuts 'readings' "$vb" --as-of 2026-11-01 --no-end s.db new.csv
awk -F, 'BEGIN { OFS = FS } NR > 1 && NR % 3 == 0 { $7 += 0.001 } 1' old.csv >wrong.csv
cuts 'corrections' "$vb" --as-of 2026-11-01 --no-end --correct s.db wrong.csv
cuts 'a list that keeps what it computes' "$bin/valve-drift" --as-of 2026-11-01 --format csv s.db
rm -f base.db
sed 1q families.csv >none.csv
"$vb" void.db none.csv # its tables, and nothing in them
cuts 'a new book' "$vb" --as-of 2026-11-01 --no-end s.db families.csv engines.csv old.csv
done_testing
