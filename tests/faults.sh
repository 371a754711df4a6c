# shellcheck shell=sh disable=SC2154 # tests/tap.sh sets what is not set here
# Sourced after tests/tap.sh and tests/book.sh by tests in which the N-th call of a kind fails.
# They set
#   preload  what is preloaded: a library made with tests/preload/nth.h
#   kinds    the kinds that it knows
#   share    about so many N of each kind are tried, once and from there on
#   spread   if set, no two kinds begin with the same N
demo=$PWD/fixtures/demo
as_of=2026-11-01
spread='' offset=0 looks=no # yes: what is run is --check

# fault KIND N MODE COMMAND...: status and messages to got.out, got.err
fault() {
    fault_what="$1 $2 $3"
    shift 3
    timeout 20 env VB_FAULT="$fault_what" VB_FAULT_COUNT="$work/count" LD_PRELOAD="$preload" \
        "$@" >got.out 2>got.err
}

# contents FILE: what SQLite says of the book, and all that it holds; of no book, of an empty one
# and of one without tables that it is sound
contents() {
    if [ -e s.db ]; then
        sqlite3 s.db "$dump" 2>got.no
    else
        echo ok
    fi >"$1"
}
dump='PRAGMA integrity_check; PRAGMA foreign_key_check;
    SELECT * FROM readings ORDER BY 1,2,5,6; SELECT * FROM events; SELECT * FROM history;
    SELECT * FROM families; SELECT * FROM engines; SELECT * FROM gauges; SELECT * FROM plan;
    SELECT * FROM lobes; SELECT * FROM shims; SELECT * FROM trials;
    SELECT * FROM alerts; SELECT * FROM alerts_told WHERE runs > 0'

# whole: the book is sound and one of the two that it may be; if all went well it is the later one
whole() {
    contents got.dump
    cmp -s got.dump after.dump || { [ "$status" != "$want" ] && cmp -s got.dump before.dump; }
}

# also: what else must be true behind a fault
also() { :; }

# remembered: what is remembered as said in an alert has been said, to the last byte
remembered() {
    alerts=$(sqlite3 s.db 'SELECT count(*) FROM alerts' 2>/dev/null)
    [ "${alerts:-0}" -eq 0 ] || cmp -s got.out want.out
}

# judged: was the run that just ended good?
judged() {
    if [ "$status" = "$want" ]; then
        cmp -s got.out want.out
    else
        # a message of the command's own; nothing else may have ended it
        [ "$status" = 2 ] && grep -q '^valve-[a-z]*: ' got.err
    fi
}

# found: --check may also say, as a finding, what could not be read
found() {
    case $fault_what in read*) ;; *) return 1 ;; esac
    [ "$status" = 1 ] && grep -q 'cannot be read' got.out && grep -q '^end,,,"[0-9]* finding' got.out
}

# anew: the book as it was, and what lay beside it; or none
anew() {
    rm -f s.db s.db-*
    for anew_file in base.db base.db-*; do
        [ ! -e "$anew_file" ] || cp "$anew_file" "s.db${anew_file#base.db}"
    done
}

# one_fault KIND N MODE COMMAND...: counts it, and says what is wrong
one_fault() {
    anew
    fault "$@"
    status=$?
    runs=$((runs + 1))
    [ "$status" != 2 ] || told=$((told + 1))
    why=''
    judged || { [ "$looks" = yes ] && found; } || why='it ends badly'
    whole || why="${why:+$why, }the book is neither before nor whole"
    also || why="${why:+$why, }something else is wrong"
    [ "$why" ] || return
    bad=$((bad + 1))
    [ "$bad" -gt 5 ] || echo "# $1 $2 $3: status $status: $why: $(head -c 200 got.err)"
}

# faults NAME COMMAND...: in an empty book or in base.db
faults() {
    faults_name=$1
    shift
    anew
    contents before.dump
    anew # looking may have rolled something back
    fault "${kinds%% *}" 0 once "$@"
    want=$?
    cp got.out want.out
    contents after.dump
    runs=0 told=0 bad=0
    for kind in $kinds; do
        anew
        fault "$kind" 0 once "$@"
        all=$(cat count)
        step=$((all / share + 1))
        for mode in once ever; do
            offset=$((offset + ${spread:-0}))
            n=$((1 + offset % step))
            while [ "$n" -le "$all" ]; do
                one_fault "$kind" "$n" "$mode" "$@"
                n=$((n + step))
            done
        done
    done
    echo "# $faults_name: $runs faults, $told of them said"
    ok "$faults_name: undisturbed it ends well" [ "$want" -le 1 ]
    ok "$faults_name: enough could fail" test "$runs" -gt 20
    is "$faults_name: none does harm" "$bad" 0
}
