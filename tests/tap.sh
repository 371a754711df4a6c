# Sourced by tests/*.t: TAP for shell tests. The plan is printed last, so that a script
# that dies on its way is red.
B=${B:-build}
bin=$PWD/$B/bin
top=$PWD
n_tests=0
work=$(mktemp -d "${TMPDIR:-/tmp}/valvebook-test.XXXXXX") || exit 1
trap 'rm -rf "$work"' EXIT
nl='
'

# ok NAME COMMAND...: the command succeeds
ok() {
    ok_name=$1
    shift
    n_tests=$((n_tests + 1))
    if "$@" >"$work/.ok" 2>&1; then
        echo "ok $n_tests - $ok_name"
    else
        echo "not ok $n_tests - $ok_name"
        sed 's/^/# /' "$work/.ok"
    fi
}

# is NAME GOT WANT: two texts are the same
is() {
    n_tests=$((n_tests + 1))
    if [ "$2" = "$3" ]; then
        echo "ok $n_tests - $1"
    else
        echo "not ok $n_tests - $1"
        printf '%s\n' "$2" | sed 's/^/#  got: /'
        printf '%s\n' "$3" | sed 's/^/# want: /'
    fi
}

# run COMMAND...: sets status, out and err; death by a signal is never a failure that was
# expected, so it ends the script
run() {
    "$@" >"$work/.out" 2>"$work/.err"
    status=$?
    out=$(cat "$work/.out")
    err=$(cat "$work/.err")
    if [ "$status" -gt 125 ]; then
        echo "Bail out! $* died with status $status"
        sed 's/^/# /' "$work/.err"
        exit 1
    fi
}

# skip NAME WHY: say so, do not hide it
skip() {
    n_tests=$((n_tests + 1))
    echo "ok $n_tests - $1 # SKIP $2"
}

# exact FILE: says of each reading in a table a u that is nothing, so that figures worked out
# by hand without an uncertainty are what comes out
exact() { sed -i '1s/$/,u/; 2,$s/$/,1e-17/' "$1"; }

# sound BOOK: prints "ok" if SQLite finds nothing wrong and every reading belongs to a visit
# and a place, whose numbers make up its own
sound() {
    sqlite3 "$1" "PRAGMA integrity_check; PRAGMA foreign_key_check;
        SELECT 'no visit or place', reading FROM reading
        WHERE reading >> 16 NOT IN (SELECT visit FROM visits)
        OR (reading & 65535) NOT IN (SELECT place FROM places)"
}

done_testing() {
    echo "1..$n_tests"
}
