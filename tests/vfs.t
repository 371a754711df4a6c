#!/bin/sh
# The N-th call of each kind that SQLite makes of its file layer fails, once or from there on,
# with the code that fits it: the command ends with 2 and says so, or comes out as if nothing had
# been; the book is as it was before or as it is after. Two N of each kind, with VB_ALL=1 every
# one. Under the address sanitizer nothing may be left in memory either.
. tests/tap.sh
. tests/book.sh
. tests/faults.sh
preload=$PWD/$B/tests/vfs.so
# a sanitizer that is a library of its own must come before it
sanitizer=$(ldd "$vb" 2>&1 | awk '/libasan/ { print $3 }')
if [ ! -e "$preload" ] || { [ "${B#*-address}" != "$B" ] && [ ! -e "$sanitizer" ]; }; then
    skip 'faults of the file layer' 'nothing can be preloaded'
    done_testing
    exit
fi
preload="${sanitizer:+$sanitizer }$preload"
# what it finds has a status of its own
export ASAN_OPTIONS="${ASAN_OPTIONS:+$ASAN_OPTIONS:}exitcode=99"
# of the file, of locks; map and those behind it are asked for by a write-ahead log alone
kinds='open delete gone access path read write full truncate sync size close lock busy unlock
    reserved control map shmlock shmbusy unmap'
share=1 spread=1
[ -z "${VB_ALL:-}" ] || share=1000000
"$B/fixtures/demo-data" "$work" || exit 1
cd "$work" || exit 1

# loads NAME COMMAND...: faults in a command that changes the book
loads() {
    faults "$@"
    ok "$1: the book is another one behind it" differ before.dump after.dump
}
differ() { ! cmp -s "$1" "$2"; }

for i in a b; do
    "$bin/valve-tidy" --recipe "$demo/recipes/depot-$i.csv" "depot-$i.csv" >"$i.csv" 2>"$i.err"
done
loads 'a new book' "$vb" --as-of $as_of s.db families.csv engines.csv events.csv
"$vb" --as-of $as_of base.db families.csv engines.csv events.csv gauges.csv plan.csv a.csv
loads 'readings' "$vb" --as-of $as_of s.db b.csv
sed -n '1,3p' a.csv | awk -F, 'BEGIN { OFS = FS } NR > 1 { $7 += 0.01 } 1' >wrong.csv
loads 'corrections' "$vb" --as-of $as_of --no-end --correct s.db wrong.csv
sed -n '1p; 5,7p' a.csv >taken.csv
sed -n '1,2p' events.csv >taken-events.csv
loads 'a withdrawal' "$vb" --withdraw --no-end s.db taken.csv taken-events.csv
faults 'what is due' "$bin/valve-due" --as-of $as_of s.db
faults 'a report' "$bin/valve-drift" --as-of $as_of --format csv s.db
also() { remembered; }
loads 'an alert' "$bin/valve-alert" --as-of $as_of --from a@b.example s.db
also() { :; }
# and one that must find what has been said, or it says it again
cp base.db sound.db
"$bin/valve-alert" --as-of $as_of --from a@b.example base.db >said 2>&1
loads 'the next alert' "$bin/valve-alert" --as-of 2026-11-20 --remind 7d --from a@b.example s.db
looks=yes share=$((share * 3))
faults 'a look whether the book is whole' "$vb" --check --as-of $as_of s.db
looks=no share=$((share / 3))
cp sound.db base.db

# What does not fit into memory is written before its time, and is taken back if need be.
export VB_FAULT_CACHE=2
loads 'readings, little memory' "$vb" --as-of $as_of s.db b.csv
faults 'what is due, little memory' "$bin/valve-due" --as-of $as_of s.db
also() { remembered; }
loads 'an alert, little memory' "$bin/valve-alert" --as-of $as_of --from a@b.example s.db
also() { :; }
unset VB_FAULT_CACHE

# What a loader leaves that was killed before its last write: whoever comes next takes it back.
anew
fault die 0 once "$vb" --as-of $as_of s.db b.csv
anew
fault die "$(cat count)" once "$vb" --as-of $as_of s.db b.csv
cp s.db base.db
cp s.db-journal base.db-journal
ok 'there is something to take back' [ -s base.db-journal ]
ok 'and the book has grown meanwhile' [ "$(wc -c <base.db)" -gt "$(wc -c <sound.db)" ]
loads 'readings into what was left half done' "$vb" --as-of $as_of s.db b.csv
faults 'what is due of what was left half done' "$bin/valve-due" --as-of $as_of s.db
looks=yes
faults 'whether what was left half done is whole' "$vb" --check --as-of $as_of s.db
looks=no
cp sound.db base.db
rm base.db-journal

# A book that somebody has given a write-ahead log.
sqlite3 base.db 'PRAGMA journal_mode = WAL' >mode
loads 'readings, with a log' "$vb" --as-of $as_of s.db b.csv
faults 'what is due, with a log' "$bin/valve-due" --as-of $as_of s.db

# Where a read gives less than was asked for SQLite takes it that the file ends there, so nobody
# can promise that all is well; but a command ends, and of itself.
sqlite3 base.db 'PRAGMA journal_mode = DELETE' >mode
judged() { [ "$status" -le 2 ]; }
whole() { :; }
kinds=short share=1000000
faults 'readings, read by half' "$vb" --as-of $as_of s.db b.csv
faults 'what is due, read by half' "$bin/valve-due" --as-of $as_of s.db
done_testing
