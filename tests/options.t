#!/bin/sh
# Options that contradict each other are refused, and nothing is done then.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
PATH=$bin:$PATH
export PATH

# refused WHY COMMAND...: with a wrong command line
refused() {
    why=$1
    shift
    run "$@"
    is "$*" "$status|$out|$(printf '%s\n' "$err" | head -n 1)" "2||${1##*/}: $why"
}

### valve-tidy
printf 'Engine,Date,Valve,Lash mm\nHC-1,2026-01-01,1E,0.2\nHC-1,2026-01-01,1I,x\n' >x.csv
printf '%s\n' column,means,unit,at,state,format,value Engine,engine Date,date Valve,valve 'Lash mm,lash' >r.csv
alone='--draft goes with one export alone'
refused "$alone" valve-tidy --draft x.csv --rejects rejects.csv
refused "$alone" valve-tidy --draft x.csv --set engine=HC-2
refused "the readings go to standard output: no file '-'" valve-tidy --recipe r.csv --rejects - x.csv
valve-tidy --recipe r.csv --rejects one.csv x.csv >one.csv 2>err
is 'readings and rejects into one file' "$?|$(cat err)|$(cat one.csv)" \
    '2|valve-tidy: one.csv: the readings go to this file: the rejects need one of their own|'
valve-tidy --recipe r.csv --rejects /dev/stdout x.csv 2>err | cat >one.csv
is 'and into one pipe' "$(cat err)|$(cat one.csv)" \
    'valve-tidy: /dev/stdout: the readings go to this file: the rejects need one of their own|'
run sh -c 'valve-tidy --recipe r.csv --rejects /dev/null x.csv >/dev/null'
is 'into nothing both may go' "$status|$err" "1|valve-tidy: x.csv:3: column 'Lash mm': bad number 'x'"

### valve-book
printf 'family,side,key,value,unit\nhill16,E,lash_min,0.20,mm\n' >families.csv
printf 'engine,family\nHC-1,hill16\n' >engines.csv
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
HC-1,2026-01-01,0,h,lash,1E,,0.40,mm
HC-1,2026-01-11,100,h,lash,1E,0.38,,mm
HC-1,2026-01-21,200,h,lash,1E,0.19,,mm
END
run valve-book --as-of 2026-02-01 --no-end shop.db families.csv engines.csv readings.csv
is 'a book' "$status|$err" '0|'
for i in '--rejects rejects.csv' --correct --no-end --withdraw '--as-of 2026-01-01'; do
    # shellcheck disable=SC2086 # an option and its value
    refused '--dump goes with no other option' valve-book --dump readings $i shop.db
done
ok 'no rejects were made' test ! -e rejects.csv

run valve-book --rejects none/x new.db families.csv
is 'rejects that cannot be written' "$status|$err" '2|valve-book: none/x: No such file or directory'
ok 'leave no empty book behind' test ! -e new.db
run valve-book --rejects new.db new.db families.csv
is 'rejects into the book' "$status|$err" \
    '2|valve-book: new.db: this file is read, and would be lost if it were written'
ok 'which leave none either' test ! -e new.db
cp shop.db kept.db
run valve-book --rejects none/x shop.db families.csv
is 'a book that is there' "$status|$err" '2|valve-book: none/x: No such file or directory'
ok 'stays' cmp shop.db kept.db
: >empty.db
run valve-book --rejects none/x empty.db families.csv
ok 'and so does an empty file' test -e empty.db

### valve-alert
run valve-alert --as-of 2026-02-01 --text shop.db
is 'a valve is too tight' "$status|$(printf '%s\n' "$out" | head -n 1)" '0|shop as of 2026-02-01: 1 new'
cp shop.db kept.db
say='--ack and --list say nothing: they go with none of --dry-run, --pipe-to and --text'
for i in '--ack HC-1' --list; do
    for k in --dry-run --text '--pipe-to cat'; do
        # shellcheck disable=SC2086
        refused "$say" valve-alert $i $k shop.db
    done
done
refused '--format goes with --list' valve-alert --format json shop.db
refused 'either --crlf or --text' valve-alert --crlf --text shop.db
ok 'nothing was acknowledged' cmp shop.db kept.db
done_testing
