# shellcheck shell=sh disable=SC2154 # tests/tap.sh sets what is not set here
# Sourced after tests/tap.sh by the tests of drafted recipes.
tidy=$bin/valve-tidy

# sheet NAME FILE WANT [--set ...]: WANT is the status and the readings without heading and end
sheet() {
    sheet_name=$1 sheet_file=$2 sheet_want=$3
    shift 3
    run "$tidy" --draft "$sheet_file"
    is "$sheet_name: draft" "$status $err" '0 '
    printf '%s\n' "$out" >recipe
    run "$tidy" --recipe recipe "$@" "$sheet_file"
    sheet_got="status $status$nl$(printf '%s\n' "$out" | sed '1d;$d')"
    is "$sheet_name: readings" "$sheet_got$err" "$sheet_want"
}

# why NAME COLUMN PATTERN: the recipe's row of a column or setting says so
why() {
    grep "^$2" recipe >row
    ok "$1" grep -q "$3" row
}
