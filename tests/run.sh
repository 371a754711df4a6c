#!/bin/sh
# Runs every suite: tests/*_test.c (built) and tests/*.t. With VB_ALL=1 also tests/all/*.t,
# which take longer. Ends with one line of counts.
set -u
B=${B:-build}
export B
export ASAN_OPTIONS=${ASAN_OPTIONS:-detect_leaks=1}
passed=0 failed=0 skipped=0
log=$(mktemp) || exit 1
trap 'rm -f "$log"' EXIT

for t in "$B"/tests/*_test; do
    "$t" >"$log" 2>&1
    status=$?
    sed -n '/%/p; /:[EF]:/p' "$log"
    counts=$(sed -n 's/^.*Checks: \([0-9]*\), Failures: \([0-9]*\), Errors: \([0-9]*\)$/\1 \2 \3/p' "$log")
    if [ -z "$counts" ]; then
        echo "$t printed no counts (status $status)"
        cat "$log"
        failed=$((failed + 1))
        continue
    fi
    set -- $counts
    passed=$((passed + $1 - $2 - $3))
    failed=$((failed + $2 + $3))
    [ "$status" -ne 0 ] && [ "$(($2 + $3))" -eq 0 ] && failed=$((failed + 1))
done

scripts=$(ls tests/*.t)
[ "${VB_ALL:-}" ] && scripts="$scripts $(ls tests/all/*.t 2>/dev/null)"
for t in $scripts; do
    sh "$t" >"$log" 2>&1
    status=$?
    good=$(grep -c '^ok ' "$log")
    bad=$(grep -c '^not ok ' "$log")
    left=$(grep -c '^ok .* # SKIP' "$log")
    plan=$(sed -n 's/^1\.\.\([0-9]*\)$/\1/p' "$log")
    echo "$t: $good of ${plan:-?} ok${left:+, $left skipped}"
    grep -A12 '^not ok' "$log"
    grep '# SKIP' "$log"
    if [ "$status" -ne 0 ] || [ "${plan:-x}" != "$((good + bad))" ]; then
        echo "$t did not run to its end (status $status)"
        tail -5 "$log"
        failed=$((failed + 1))
    fi
    passed=$((passed + good - left))
    failed=$((failed + bad))
    skipped=$((skipped + left))
done
echo "$passed passed, $failed failed, $skipped skipped"
[ "$failed" -eq 0 ]
