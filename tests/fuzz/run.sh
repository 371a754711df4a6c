#!/bin/sh
# make fuzz: each harness for SECONDS_EACH, one after the other, from its corpus and what was
# found in earlier runs; load once for each table. What it finds stays in $B/found.
# HARNESS names one alone.
set -eu
B=${B:-build-fuzzer-no-link-address-undefined}
here=tests/fuzz
seconds=${SECONDS_EACH:-60}
mkdir -p "$B/found"
export UBSAN_OPTIONS=print_stacktrace=1

# run NAME HARNESS: one corpus
run() {
    [ -z "${HARNESS:-}" ] || [ "$HARNESS" = "$1" ] || return 0
    mkdir -p "$B/corpus/$1"
    dict=$here/words.dict
    case $2 in date | unit | angle) max=40 ;; *) max=4096 ;; esac
    status=0
    "$B/fuzz/$2" -max_total_time="$seconds" -max_len="$max" -dict="$dict" -timeout=10 \
        -rss_limit_mb=2048 -print_final_stats=1 -artifact_prefix="$B/found/$(echo "$1" | tr / -)-" \
        "$B/corpus/$1" "$here/corpus/$1" >"$B/$(echo "$1" | tr / -).log" 2>&1 || status=$?
    awk -v name="$1" -v status="$status" '
        /cov: / { for (i = 1; i < NF; i++) if ($i == "cov:") cov = $(i + 1) }
        /number_of_executed_units/ { runs = $2 }
        /^SUMMARY|not so:|ERROR:/ { why = why " " $0 }
        END { printf "%-16s %10d inputs, %5d edges: %s\n", name, runs, cov,
            status ? "FOUND" why : "nothing found" }' "$B/$(echo "$1" | tr / -).log"
}

for h in angle date unit recipe export; do
    run "$h" "$h"
done
for t in "$here"/corpus/load/*; do
    run "load/$(basename "$t")" load
done
exit 0
