#!/bin/sh
# Inputs of the fuzz harnesses, found and made up, under the compiler of the day: whatever was
# wrong with one stays right. `make fuzz` looks for others.
. tests/tap.sh
for harness in angle date unit recipe export load; do
    # load has a folder a table
    find "tests/fuzz/corpus/$harness" -type f >"$work/files"
    run xargs "$B/tests/replay_$harness" <"$work/files"
    is "$harness: all inputs" "$status|$out" "0|$(wc -l <"$work/files") inputs"
    ok "$harness: there are some" [ "$(wc -l <"$work/files")" -gt 5 ]
done
done_testing
