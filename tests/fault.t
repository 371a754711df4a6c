#!/bin/sh
# The N-th allocation, read, write, sync, open or removal fails, once or from there on: the
# command ends with 2 and says so, or comes out as if nothing had been; the book is as it
# was before or as it is after. For about 8 N of each kind; with VB_ALL=1 for about 1,000, with
# VB_ALL=every for every one.
. tests/tap.sh
. tests/book.sh
. tests/faults.sh
preload=$PWD/$B/tests/fault.so
if [ ! -e "$preload" ] || [ "${B#*-address}" != "$B" ]; then
    skip 'faults' 'nothing can be preloaded under the sanitizer'
    done_testing
    exit
fi
kinds='alloc read write sync open remove half'
case ${VB_ALL:-} in
every) share=1000000 ;;
?*) share=1000 ;;
*) share=8 ;;
esac
"$B/fixtures/demo-data" "$work" || exit 1
cd "$work" || exit 1

faults 'valve-tidy' "$bin/valve-tidy" --recipe "$demo/recipes/depot-a.csv" depot-a.csv
"$bin/valve-tidy" --recipe "$demo/recipes/depot-a.csv" depot-a.csv >a.csv 2>a.err
"$bin/valve-tidy" --recipe "$demo/recipes/depot-b.csv" depot-b.csv >b.csv 2>b.err
faults 'a new book' "$vb" --as-of $as_of s.db families.csv engines.csv events.csv
"$vb" --as-of $as_of base.db families.csv engines.csv events.csv gauges.csv plan.csv a.csv
awk -F, 'NR == 1 || /^D-04,2024/' b.csv >few.csv
faults 'readings' "$vb" --as-of $as_of --no-end s.db few.csv
sed -n '1,3p' a.csv | awk -F, 'BEGIN { OFS = FS } NR > 1 { $7 += 0.01 } 1' >wrong.csv
faults 'corrections' "$vb" --as-of $as_of --no-end --correct s.db wrong.csv
sed -n '1p; 5,7p' a.csv >taken.csv
sed -n '1,2p' events.csv >taken-events.csv
faults 'a withdrawal' "$vb" --withdraw --no-end s.db taken.csv taken-events.csv
cp base.db away.db
"$vb" --withdraw --no-end away.db taken.csv taken-events.csv
"$vb" --dump history away.db >away.history
faults "another book's withdrawal" "$vb" --as-of $as_of s.db away.history
mv base.db there.db && mv away.db base.db
faults 'what was withdrawn comes again' "$vb" --as-of $as_of --no-end s.db taken.csv taken-events.csv
faults 'and is taken in again' "$vb" --as-of $as_of --no-end --correct s.db taken.csv taken-events.csv
mv there.db base.db
faults 'refusals' "$vb" --as-of $as_of --no-end --rejects rejects.csv s.db wrong.csv
faults 'a list that keeps what it computes' "$bin/valve-due" --as-of $as_of s.db
faults 'a dump' "$vb" --dump readings s.db
"$bin/valve-tidy" --recipe "$demo/recipes/team-hc1.csv" team-hc1.csv >hc1.csv 2>hc1.err
"$bin/valve-tidy" --recipe "$demo/recipes/shim-map.csv" --set date=2026-10-16 --set meter=275.1 \
    shim-map-hc1.csv >map.csv 2>map.err
"$vb" --as-of $as_of base.db hc1.csv map.csv
faults 'a setting sheet' "$bin/valve-set" --as-of $as_of --engine HC-1 --all --shims shims.csv \
    --format csv s.db
"$vb" --as-of $as_of base.db lobes.csv
for i in team-hc2.txt wheel-hc2.csv; do
    "$bin/valve-tidy" --recipe "$demo/recipes/${i%.*}.csv" "$i" >cams.csv 2>cams.err
    "$vb" --as-of $as_of base.db cams.csv
done
faults 'where cams stand' "$bin/valve-timing" --as-of $as_of --all --format csv s.db
faults 'a page with charts' "$bin/valve-trend" --as-of $as_of --format html s.db
faults 'a table of trends' "$bin/valve-trend" --as-of $as_of --engine HC-1 s.db
also() { remembered; }
faults 'an alert' "$bin/valve-alert" --as-of $as_of --from a@b.example s.db
also() { :; }
"$bin/valve-alert" --as-of $as_of --from a@b.example base.db >said 2>&1 # and keeps what it computes
"$vb" --withdraw --no-end base.db taken.csv taken-events.csv
looks=yes
faults 'a look whether the book is whole' "$vb" --check --as-of $as_of s.db
done_testing
