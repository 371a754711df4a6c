#!/bin/sh
# Memory runs out, or the database or the system fails, at one place of the program or from
# there on: the command ends with 2 and says so, or comes out as if nothing had been; the book
# is as before or as after. Places are told apart by their callers (tests/preload/sites.c).
# In check: places through which, taken together, every call that can hand a failure up hands
# one up once; and from two to twenty places of each kind on all fails. All with VB_ALL.
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
some=2
[ -z "${VB_ALL:-}" ] || some=100000
most=$((some * 4))

# site KIND N MODE COMMAND...: status, got.out, got.err
site() {
    site_what="$1 $2 $3"
    shift 3
    VB_SITE="$site_what" VB_SITE_COUNT="$work/count" LD_PRELOAD="$preload" \
        "$@" <in >got.out 2>got.err
    status=$?
}

# as_found: is the book what the command found, to the byte?
as_found() {
    [ -e base.db ] && [ ! -e s.db-journal ] && cmp -s base.db s.db
}

# fresh: the book as the command finds it
fresh() {
    as_found && return
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

# good WANT: did the run that just ended do what it may? What it keeps of an engine is as new
# as the engine.
kept="SELECT count(*) FROM fresh WHERE newest <> max(
    (SELECT coalesce(max(date), '') FROM visits v WHERE v.engine = fresh.engine),
    (SELECT coalesce(max(date), '') FROM events e WHERE e.engine = fresh.engine))"
good() {
    [ ! -e s.db ] || [ "$(sqlite3 s.db "$kept" 2>got.no || echo 0)" = 0 ] || return 1
    if [ "$status" = 2 ]; then
        grep -q '^valve-[a-z]*: ' got.err || return 1
    elif [ "$status" != "$1" ]; then
        return 1
    fi
    [ "$status" != "$1" ] || cmp -s got.out want.out || return 1
    [ "$loads" = no ] || as_found || {
        content >got.dump
        cmp -s got.dump before.dump || cmp -s got.dump after.dump
    }
}

# walk COMMAND...: all places of a kind
walk() {
    fresh
    content >before.dump
    export VB_SITE_PICK="$work/picks" VB_SITE_SEEN="$work/seen.$kind"
    site "$kind" 0 here "$@"
    unset VB_SITE_PICK VB_SITE_SEEN
    want=$status
    cp got.out want.out
    content >after.dump
    n_kind=$(cat count)
    all=$((all + n_kind)) step=$((n_kind / most + 1))
    picks=$(cat picks)
    [ -z "${VB_ALL:-}" ] || picks=$(seq "$n_kind")
    for n in $picks; do
        try "$n" here "$@"
    done
    for n in $(seq 1 "$step" "$n_kind"); do
        try "$n" ever "$@"
    done
}

# try N MODE COMMAND...: one place
try() {
    try_what="$kind $1 $2"
    fresh
    site "$kind" "$@"
    runs=$((runs + 1))
    [ "$status" = "$want" ] || stopped=$((stopped + 1))
    if ! good "$want"; then
        bad=$((bad + 1))
        [ "$bad" -gt 5 ] || echo "# $try_what: status $status: $(head -c 200 got.err)"
    fi
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
    echo "# $sites_name: $all places, $runs runs"
    [ "$want" = 2 ] ||
        ok "$sites_name: many cannot be done without" test "$((4 * stopped))" -gt "$runs"
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
mv base.db there.db
printf 'nothing,of,ours\n' >no.csv
expect=2
sites 'a new book that is given up' "$vb" --as-of $as_of s.db no.csv
expect=2
sites 'a new book that is begun and given up' "$vb" --as-of $as_of s.db families.csv tidy-depot-a.csv no.csv
mv there.db base.db
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
for t in timing life; do
    expect=2
    sites "$t of no family" "$bin/valve-$t" --as-of $as_of --family none s.db
done

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
sites 'whether the book is whole' "$vb" --check --as-of $as_of s.db
sites 'alert with a list' "$bin/valve-alert" --list --format csv s.db
sites 'alert that is known' "$bin/valve-alert" --ack HC-1 --until 2026-12-01 s.db
loads=no

### corrections that hang together
# meters of HC-1: a visit without one, a new meter on 1 June that began at 5 h
rm -f base.db
basic base.db
cat >meters.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit,u,gauge,by,note,source,line
HC-1,2025-01-01,100,h,lash,1I,0.10,0.20,mm,,,ab,,a,1
HC-1,2025-02-01,200,h,lash,1I,0.11,,mm,0.01,F1,ab,,a,2
HC-1,2025-03-01,,,lash,1I,0.12,,mm,,,,"tight, again",a,3
HC-1,2025-04-01,400,h,lash,1I,0.13,,mm,,,,,a,4
HC-1,2025-07-01,50,h,lash,1I,0.14,,mm,,,,,a,5
D-07,2025-01-01,,,lash,1I1,0.10,,mm,,,,,a,6
END
cat >new-meter.csv <<'END'
engine,date,meter,meter_unit,event,part,at,build,note
HC-1,2025-06-01,500,h,meter,,5,,
HC-1,2025-05-01,490,h,build,,,B1,
HC-1,2025-01-01,,,replace,valve,1I,,
END
printf 'engine,date,meter_gain,label\nHC-1,2025-09-01,100,round 1\n' >plan1.csv
printf 'gauge,kind,resolution,unit,u,valid_until\nF1,feeler,0.01,mm,,2027-01-01\n' >gauges1.csv
printf 'lobe,cam_deg,lift,unit\nA,0,8.5,mm\nA,10,8.2,mm\nA,-10,8.2,mm\n' >lobes1.csv
"$vb" --as-of $as_of --no-end base.db new-meter.csv meters.csv plan1.csv gauges1.csv lobes1.csv || exit 1
loads=yes
# between: fits, does not fit, says what was not said; behind a visit without a meter
cat >between.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,unit
HC-1,2025-02-15,250,h,lash,1I,0.115,mm
HC-1,2025-03-15,90,h,lash,1I,0.125,mm
HC-1,2025-03-01,300,h,lash,1I,0.12,mm
D-07,2025-02-01,10,h,lash,1I1,0.11,mm
HC-1,2025-08-01,20,h,lash,1I,0.15,mm
HC-1,2025-01-01,101,h,lash,1I,0.10,mm
END
expect=1
sites 'meters between others' "$vb" --as-of $as_of --no-end --rejects rejects.csv s.db between.csv
# each alone would run backwards, together they do not
cat >together.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit,u,note
HC-1,2025-01-01,450,h,lash,1I,0.101,0.21,mm,,
HC-1,2025-02-01,460,h,lash,1I,0.111,,mm,0.02,other
HC-1,2025-04-01,480,h,lash,1I,0.131,,mm,,
END
sites 'meters that wait for each other' "$vb" --as-of $as_of --no-end --correct s.db together.csv
sed '1p;2!d' together.csv >alone.csv
expect=1
sites 'a meter that waits in vain' "$vb" --as-of $as_of --no-end --correct s.db alone.csv
cp base.db away.db
"$vb" --as-of $as_of --no-end --correct away.db together.csv 2>together.err
cat >events1.csv <<'END'
engine,date,meter,meter_unit,event,part,at,build,note
HC-1,2025-06-01,495,h,meter,,6,,"said again, later"
HC-1,2025-05-01,485,h,build,,,B2,
HC-1,2025-01-01,,,replace,valve,1I,,new
END
printf 'family,side,key,value,unit\nfour,,cylinders,4,\nfour,I,lash_min,0.1,mm\nfour,I,valves,1,\n' \
    >families1.csv
printf 'engine,family,site,note\nHC-1,four,yard,first\nD-09,twin,,\n' >engines1.csv
printf 'engine,date,meter_gain,label\nHC-1,2025-09-01,120,round one\n' >plan2.csv
printf 'gauge,kind,resolution,unit,u,valid_until\nF1,feeler,0.02,mm,0.01,2028-01-01\n' >gauges2.csv
printf 'lobe,cam_deg,lift,unit\nA,0,8.6,mm\n' >lobes2.csv
run "$vb" --as-of $as_of --no-end --correct away.db events1.csv families1.csv engines1.csv plan2.csv \
    gauges2.csv lobes2.csv
cp base.db s.db
"$vb" --as-of $as_of --no-end --correct s.db events1.csv families1.csv engines1.csv plan2.csv \
    gauges2.csv lobes2.csv 2>small.err
expect=$?
sites 'rows that are corrected' "$vb" --as-of $as_of --no-end --correct s.db events1.csv families1.csv \
    engines1.csv plan2.csv gauges2.csv lobes2.csv
expect=1
sites 'rows that contradict' "$vb" --as-of $as_of --no-end s.db events1.csv families1.csv engines1.csv \
    plan2.csv gauges2.csv lobes2.csv
# cams of banks, and facts that were stated differently
printf 'family,side,key,value,unit\nvee,,banks,A:1-3 B:2-4,\nvee,I,lash_growth,0.001,mm/Cel\n' >families3.csv
printf 'engine,family\nV-1,vee\n' >engines3.csv
printf '%s\n' engine,date,event,part,at,item,faces 'V-1,2025-01-01,fit,cam,a inlet,C-11,normal' \
    V-1,2025-06-01,replace,chain,a,, V-1,2025-06-03,replace,cam,2,, >events3.csv
sites 'cams of banks' "$vb" --as-of $as_of --no-end s.db families3.csv engines3.csv events3.csv
# what another book corrected and withdrew
"$vb" --withdraw --no-end away.db gauges2.csv plan2.csv lobes2.csv 2>withdraw.err
sed -n '1p;3p' together.csv >one.csv
"$vb" --withdraw --no-end away.db one.csv 2>withdraw.err
"$vb" --dump history away.db >away.history
for t in families engines events gauges plan lobes readings; do
    "$vb" --dump $t away.db >away.$t
done
cp base.db s.db
"$vb" --as-of $as_of s.db away.history 2>merge.err
expect=$?
sites "another book's corrections" "$vb" --as-of $as_of s.db away.history
cp base.db s.db
"$vb" --as-of $as_of s.db away.families away.engines away.events away.history away.readings 2>merge.err
expect=$?
sites "all of another book" "$vb" --as-of $as_of s.db away.families away.engines away.events \
    away.history away.readings
# rows that were corrected are withdrawn by what they once said, and come again
cp away.db base.db
for i in 'events1.csv engines1.csv' 'new-meter.csv gauges1.csv plan1.csv' 'meters.csv lobes1.csv'; do
    cp base.db s.db
    # shellcheck disable=SC2086
    "$vb" --withdraw --no-end s.db $i 2>withdraw.err
    expect=$?
    # shellcheck disable=SC2086
    sites "withdrawn: $i" "$vb" --withdraw --no-end s.db $i
    cp base.db s.db
    # shellcheck disable=SC2086
    "$vb" --as-of $as_of --no-end --correct s.db $i 2>again.err
    expect=$?
    # shellcheck disable=SC2086
    sites "again: $i" "$vb" --as-of $as_of --no-end --correct s.db $i
done
"$vb" --dump history base.db >own.history
cp base.db s.db
sites 'its own history' "$vb" --as-of $as_of s.db own.history
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
