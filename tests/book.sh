# shellcheck shell=sh disable=SC2154 # tests/tap.sh sets what is not set here
# Sourced after tests/tap.sh by the tests of valve-book.
vb=$bin/valve-book
tables='families engines events gauges plan lobes shims trials history readings'

# The CRC-32 of standard input as gzip works it out, eight hex digits.
crc32() {
    gzip -nc | tail -c 8 | od -An -tx1 -N4 | awk '{ print $4 $3 $2 $1 }'
}

# seal FILE: the table of readings in FILE with its end row behind it
seal() {
    cat "$1"
    printf ',,,,end,,%d,,,,,,,%s,,\n' "$(($(wc -l <"$1") - 1))" "$(crc32 <"$1")"
}

# book NAME STATUS MESSAGES ARGS...: what a load says, to the letter; it prints nothing
book() {
    book_name=$1 book_want="$2||$3"
    shift 3
    run "$vb" --as-of 2026-11-01 "$@"
    is "$book_name" "$status|$out|$err" "$book_want"
}

# gives TABLE BOOK WANT: the whole dump
gives() {
    run "$vb" --dump "$1" "$2"
    is "dump $1" "$status|$out|$err" "0|$3|"
}

# dump_all BOOK FILE: all tables behind each other
dump_all() {
    for dump_table in $tables; do
        "$vb" --dump "$dump_table" "$1" || return
    done >"$2"
}

# same NAME BOOK BOOK: all tables of both are the same bytes
same() {
    dump_all "$2" "$work/.one" && dump_all "$3" "$work/.two"
    ok "$1" cmp "$work/.one" "$work/.two"
}

# unchanged NAME BOOK FILE: the book dumps what was dumped before
unchanged() {
    dump_all "$2" "$work/.one"
    ok "$1" cmp "$work/.one" "$3"
}

# older BOOK SQL: make of it, by SQL, a book of an older version; those had no triggers
older() {
    sqlite3 "$1" "$(sqlite3 "$1" "SELECT 'DROP TRIGGER ' || name || ';' FROM sqlite_schema
        WHERE type = 'trigger'") $2"
}

# refuses BOOK TABLE CONDITION: SQLite takes in no such row of the table: 'integer overflow'
refuses() {
    sqlite3 "$1" "CREATE INDEX refuses ON $2(abs(iif($3, -9223372036854775807 - 1, 0)))"
}

# basic BOOK: a book with two families of four cylinders: HC-1 has one valve a side, D-07 two
basic() {
    rm -f "$1"
    cat >basic-families.csv <<'END'
family,side,key,value,unit
four,,cylinders,4,
four,I,valves,1,
four,E,valves,1,
twin,,cylinders,4,
twin,I,valves,2,
twin,E,valves,2,
END
    printf 'engine,family\nHC-1,four\nD-07,twin\n' >basic-engines.csv
    "$vb" --as-of 2026-11-01 "$1" basic-families.csv basic-engines.csv
}

# rows FILE: readings without an end row; standard input has engine, date, meter, meter_unit,
# quantity, at, found, left, unit
rows() {
    { echo engine,date,meter,meter_unit,quantity,at,found,left,unit && cat; } >"$1"
}

# hand NAME STATUS MESSAGES ARGS...: as book, for tables made by hand
hand() {
    hand_name=$1 hand_status=$2 hand_err=$3
    shift 3
    book "$hand_name" "$hand_status" "$hand_err" --no-end "$@"
}

# passed N FILE: what is said of rows that were withdrawn
passed() {
    if [ "$1" = 1 ]; then
        echo "valve-book: $2: 1 row that was withdrawn is passed over (--correct takes it in again)"
    else
        echo "valve-book: $2: $1 rows that were withdrawn are passed over (--correct takes them in again)"
    fi
}

# shows NAME BOOK WANT: engine, date, meter, at, found and left of all readings
shows() {
    "$vb" --dump readings "$2" >"$work/.shown" 2>&1
    is "$1" "$(sed '1d;$d' "$work/.shown" | cut -d, -f1-3,6-8)" "$3"
}
