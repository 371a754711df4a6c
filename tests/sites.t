#!/bin/sh
# Memory runs out, or the database or the system fails, at one place of the program or from
# there on: the command ends with 2 and says so, or comes out as if nothing had been; the book
# is as before or as after. Places are told apart by their callers (tests/preload/sites.c).
# All places of valve-tidy, some of the others; with VB_ALL or VB_COVERAGE set, all of all.
. tests/tap.sh
. tests/book.sh
preload=$PWD/$B/tests/sites.so
if [ ! -e "$preload" ] || [ "${B#*-address}" != "$B" ]; then
    skip 'sites' 'nothing can be preloaded under the sanitizer'
    done_testing
    exit
fi
demo=$PWD/fixtures/demo
reference=$PWD/fixtures/reference
"$B/fixtures/demo-data" "$work" || exit 1
cd "$work" || exit 1
as_of=2026-11-01
some=12
[ -z "${VB_ALL:-}${VB_COVERAGE:-}" ] || some=100000
most=1000

# site KIND N MODE COMMAND...: status, got.out, got.err
site() {
    site_what="$1 $2 $3"
    shift 3
    VB_SITE="$site_what" VB_SITE_COUNT="$work/count" LD_PRELOAD="$preload" \
        "$@" <in >got.out 2>got.err
    status=$?
}

# fresh: the book as the command finds it
fresh() {
    rm -f s.db s.db-journal
    [ ! -e base.db ] || cp base.db s.db
}

# content: of the book, as one text; a book without tables has none
dump='SELECT * FROM readings ORDER BY 1,2,5,6; SELECT * FROM events; SELECT * FROM history;
    SELECT * FROM families; SELECT * FROM engines; SELECT * FROM gauges; SELECT * FROM plan;
    SELECT * FROM alerts'
content() {
    [ ! -e s.db ] || sqlite3 s.db "$dump" 2>got.no
}

# good WANT: did the run that just ended do what it may?
good() {
    if [ "$status" = "$1" ]; then
        cmp -s got.out want.out || return 1
    elif [ "$status" != 2 ] || ! grep -q '^valve-[a-z]*: ' got.err; then
        return 1
    fi
    [ "$loads" = no ] || {
        content >got.dump
        cmp -s got.dump before.dump || cmp -s got.dump after.dump
    }
}

# walk COMMAND...: all places of a kind
walk() {
    fresh
    content >before.dump
    site "$kind" 0 here "$@"
    want=$status
    cp got.out want.out
    content >after.dump
    n_kind=$(cat count)
    all=$((all + n_kind)) step=$((n_kind / most + 1))
    for mode in here ever; do
        n=1
        while [ "$n" -le "$n_kind" ]; do
            fresh
            site "$kind" "$n" "$mode" "$@"
            runs=$((runs + 1))
            [ "$status" = "$want" ] || stopped=$((stopped + 1))
            if ! good "$want"; then
                bad=$((bad + 1))
                [ "$bad" -gt 5 ] ||
                    echo "# $kind $n $mode: status $status: $(head -c 200 got.err)"
            fi
            n=$((n + step))
        done
    done
}

# sites NAME COMMAND...: reads "in"; with loads=no the book is only read
loads=no
kinds='alloc query column system'
: >in
sites() {
    sites_name=$1
    shift
    all=0 bad=0 runs=0 stopped=0
    for kind in $kinds; do
        walk "$@"
    done
    echo "# $sites_name: $all places"
    ok "$sites_name: most cannot be done without" test "$((2 * stopped))" -gt "$runs"
    is "$sites_name: none does harm" "$want $bad" "$expect 0"
    expect=0
}
expect=0

### valve-tidy
tidy=$bin/valve-tidy
for i in depot-a.csv team-hc1.csv team-hc2.txt wheel-hc2.csv; do
    [ "$i" = wheel-hc2.csv ] || expect=1
    sites "tidy $i" "$tidy" --recipe "$demo/recipes/${i%.*}.csv" "$i"
    "$tidy" --recipe "$demo/recipes/${i%.*}.csv" "$i" >"tidy-$i" 2>tidy.err
done
gzip -nc depot-b.csv >depot-b.csv.gz
expect=1
sites 'tidy, packed, with rejects' "$tidy" --recipe "$demo/recipes/depot-b.csv" \
    --rejects rejects.csv depot-b.csv.gz
"$tidy" --recipe "$demo/recipes/depot-b.csv" depot-b.csv >tidy-depot-b.csv 2>tidy.err
sites 'tidy, with settings' "$tidy" --recipe "$demo/recipes/gauge-hc1.csv" \
    --set date=2026-10-19 --set meter=278.2 --set 'temp=18 Cel' gauge-hc1.txt
"$tidy" --recipe "$demo/recipes/gauge-hc1.csv" --set date=2026-10-19 --set meter=278.2 \
    --set 'temp=18 Cel' gauge-hc1.txt >tidy-gauge.csv
for i in depot-a.csv depot-b.csv team-hc1.csv team-hc2.txt wheel-hc2.csv; do
    sites "draft $i" "$tidy" --draft "$i"
done

### valve-book
most=$some
loads=yes
sites 'a new book' "$vb" --as-of $as_of s.db families.csv engines.csv events.csv lobes.csv \
    gauges.csv plan.csv
"$vb" --as-of $as_of base.db families.csv engines.csv events.csv gauges.csv lobes.csv plan.csv
sites 'readings' "$vb" --as-of $as_of s.db tidy-depot-a.csv
sites 'cams' "$vb" --as-of $as_of s.db tidy-wheel-hc2.csv
cp tidy-depot-a.csv in
sites 'readings, piped' "$vb" --as-of $as_of s.db
: >in
"$vb" --as-of $as_of base.db tidy-depot-a.csv tidy-team-hc1.csv tidy-team-hc2.txt \
    tidy-wheel-hc2.csv tidy-depot-b.csv
sed -n '1,3p' tidy-depot-a.csv | awk -F, 'BEGIN { OFS = FS } NR > 1 { $7 += 0.01 } 1' >wrong.csv
sites 'corrections' "$vb" --as-of $as_of --no-end --correct s.db wrong.csv
expect=1
sites 'refusals' "$vb" --as-of $as_of --no-end --rejects rejects.csv s.db wrong.csv
sed -n '1p; 5,7p' tidy-depot-a.csv >taken.csv
sed -n '1,2p' events.csv >taken-events.csv
sed -n '1,2p' families.csv >taken-families.csv
sed -n '1,2p' plan.csv >taken-plan.csv
sites 'a withdrawal' "$vb" --withdraw --no-end s.db taken.csv taken-events.csv taken-plan.csv
cp base.db away.db
"$vb" --withdraw --no-end away.db taken.csv taken-events.csv
"$vb" --dump history away.db >away.history
sites "another book's withdrawal" "$vb" --as-of $as_of s.db away.history
mv base.db there.db && mv away.db base.db
sites 'what was withdrawn comes again' "$vb" --as-of $as_of --no-end s.db taken.csv taken-events.csv
sites 'and is taken in again' "$vb" --as-of $as_of --no-end --correct s.db taken.csv \
    taken-events.csv
mv there.db base.db
loads=no
for t in readings events history families lobes; do
    sites "dump $t" "$vb" --dump $t s.db
done

### what reads a book
for f in csv json table; do
    sites "drift $f" "$bin/valve-drift" --as-of $as_of --format $f s.db
done
sites 'drift of one engine' "$bin/valve-drift" --as-of $as_of --engine HC-1 --all s.db
for f in csv json table ical openmetrics; do
    sites "due $f" "$bin/valve-due" --as-of $as_of --format $f s.db
done
sites 'due before the plan' "$bin/valve-due" --as-of $as_of --before-plan --engine HC-1 s.db
for f in csv table; do
    sites "timing $f" "$bin/valve-timing" --as-of $as_of --all --format $f s.db
done
sites 'timing of each valve' "$bin/valve-timing" --as-of $as_of --each-valve --format json s.db
for f in csv html table; do
    sites "set $f" "$bin/valve-set" --as-of $as_of --engine HC-1 --all --shims shims.csv \
        --format $f s.db
done
sites 'set by plan' "$bin/valve-set" --as-of $as_of --engine HC-2 --plan --order opposite \
    --format json s.db
sites 'trend html' "$bin/valve-trend" --as-of $as_of --format html s.db
sites 'trend of one engine' "$bin/valve-trend" --as-of $as_of --engine HC-2 --format html s.db
sites 'trend table' "$bin/valve-trend" --as-of $as_of --engine HC-1 --format table s.db
for w in mcf weibull trend interval; do
    sites "life $w" "$bin/valve-life" --as-of $as_of --what $w --format csv s.db
done
sites 'life, a table' "$bin/valve-life" --as-of $as_of --format table --time days s.db

### from what was kept
cp base.db bare.db
"$bin/valve-drift" --as-of $as_of base.db >kept.out
kinds='alloc query system'
sites 'drift of what was kept' "$bin/valve-drift" --as-of $as_of s.db
sites 'due of what was kept' "$bin/valve-due" --as-of $as_of s.db
kinds='alloc query column system'
mv bare.db base.db

### valve-alert
loads=yes
sites 'alert' "$bin/valve-alert" --as-of $as_of --from a@b.example --to c@d.example s.db
sites 'alert as text' "$bin/valve-alert" --as-of $as_of --text --dry-run s.db
sites 'alert to a command' "$bin/valve-alert" --as-of $as_of --from a@b.example --to c@d.example \
    --pipe-to 'cat >/dev/null' s.db
"$bin/valve-alert" --as-of $as_of --from a@b.example --to c@d.example base.db >said.out
sites 'alert with a list' "$bin/valve-alert" --list --format csv s.db
loads=no

### valve-gauge
{
    echo gauge,part,by,trial,value,unit
    sed '1d; s/"//g; s/^/dti-1,/; s/$/,mm/' "$reference/aiag_grr.csv"
} >aiag.csv
for f in csv table; do
    sites "gauge $f" "$bin/valve-gauge" --tolerance 0.3mm --format $f aiag.csv
done
sites 'gauge, agreement' "$bin/valve-gauge" --agree aiag.csv
sites 'gauge, for the book' "$bin/valve-gauge" --emit gauges aiag.csv
done_testing
