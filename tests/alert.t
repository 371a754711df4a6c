#!/bin/sh
# valve-alert night after night: what it says, what it remembers, and that nothing is lost
# whatever becomes of the mailer, of itself, or of two of it at once.
. tests/tap.sh
alert=$bin/valve-alert
all=${VB_ALL:-} # with it, what takes long too
cd "$work" || exit 1
cat >families.csv <<'END'
family,side,key,value,unit
two,,cylinders,1,
two,E,valves,1,
two,E,lash_min,0.20,mm
two,E,lash_max,0.60,mm
two,,relash_days,400,d
END
printf 'engine,family\nD-1,two\nD-2,two\n' >engines.csv
# 1E of D-1 closes 0.02 mm in 100 h = 10 days, without scatter. The last reading, 0.36 mm on
# 21 January at 200 h, leaves 0.16 mm = 800 h = 80 days: due on 11 April, soon from 12 March.
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
D-1,2026-01-01,0,h,lash,1E,,0.40,mm
D-1,2026-01-11,100,h,lash,1E,0.38,,mm
D-1,2026-01-21,200,h,lash,1E,0.36,,mm
D-2,2026-01-05,50,h,lash,1E,,0.40,mm
END
exact readings.csv
printf 'engine,family\nD-3,two\n' >third.csv
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit,u \
    D-2,2026-02-05,350,h,lash,1E,0.19,,mm,0.2 >low.csv # by a hasty hand
load() { "$bin/valve-book" --as-of "$1" --no-end "$book" "$2"; }
# 1E of D-2 is below its limit, and D-3 was never read
trouble() { load 2026-02-05 third.csv && load 2026-02-05 low.csv; }
# fresh BOOK: the same beginning for every part
"$bin/valve-book" --as-of 2026-02-01 --no-end base.db families.csv engines.csv readings.csv || exit 1
fresh() {
    book=$1
    cp base.db "$book"
}

# night DATE WANT [OPTIONS]: the heading of what is said, and one line an alert, without
# the reasons; blanks squeezed. Silence is no byte at all.
night() {
    night_date=$1 night_want=$2
    shift 2
    run "$alert" --text --as-of "$night_date" "$@" "$book"
    is "night of $night_date" "$status|$err|$(printf '%s\n' "$out" |
        sed -n '/^over: a limit/q; /^        /d; /^$/d; s/^.* as of [-0-9]*: //; p' | tr -s ' ')" \
        "0||$night_want"
}

### what is said
fresh shop.db
night 2026-03-11 ''
night 2026-03-12 '1 new
NEW
 soon D-1 lash 1E due 2026-04-11 or at 1000 h, 800 h left'
night 2026-03-12 ''
night 2026-04-10 ''
night 2026-04-11 '1 worse
WORSE
 due D-1 lash 1E due 2026-04-11 or at 1000 h, 800 h left; was soon; said first 2026-03-12'
night 2026-04-12 ''
cat >next.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
D-1,2026-04-12,1010,h,lash,1E,0.198,,mm
D-2,2026-04-12,1010,h,lash,1E,0.41,,mm
END
load 2026-04-12 next.csv
night 2026-04-12 '1 worse
WORSE
 over D-1 lash 1E due 2026-04-12 or at 1010 h, 0 h left; was due; said first 2026-03-12'
run "$alert" --list --format csv "$book"
is 'what is remembered' "$status|$err|$out" '0||engine,kind,at,life,level,first_said,last_said,better_since,acked,acked_until
D-1,lash,1E,,over,2026-03-12,2026-04-12,,,'
night 2026-04-19 ''
night 2026-04-19 '1 still
STILL
 over D-1 lash 1E due 2026-04-12 or at 1010 h, 0 h left; said first 2026-03-12' --remind 1wk
night 2026-04-20 '' --remind 1wk
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit \
    D-1,2026-04-21,1100,h,lash,1E,0.18,0.40,mm >set.csv
load 2026-04-21 set.csv
night 2026-04-21 '1 cleared
CLEARED
 over D-1 lash 1E said first 2026-03-12'
night 2026-04-22 ''
run "$alert" --list --format table "$book"
is 'nothing stands' "$(printf '%s\n' "$out" | head -n 1)" 'no alert stands'

### the subject names the most urgent, be it new or worse: D-3 is a month behind D-1
fresh subject.db
cat >month.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
D-3,2026-01-31,0,h,lash,1E,,0.40,mm
D-3,2026-02-10,100,h,lash,1E,0.38,,mm
D-3,2026-02-20,200,h,lash,1E,0.36,,mm
END
exact month.csv
"$bin/valve-book" --as-of 2026-02-20 --no-end "$book" third.csv month.csv
night 2026-04-01 '1 new
NEW
 soon D-1 lash 1E due 2026-04-11 or at 1000 h, 800 h left'
run "$alert" --dry-run --as-of 2026-04-11 "$book"
is 'one is due, the other is new' "$(printf '%s\n' "$out" | grep ^Subject)" \
    'Subject: subject: 1 new, 1 worse - D-1 lash 1E due'
night 2026-04-11 '1 new, 1 worse
NEW
 soon D-3 lash 1E due 2026-05-11 or at 1000 h, 800 h left
WORSE
 due D-1 lash 1E due 2026-04-11 or at 1000 h, 800 h left; was soon; said first 2026-04-01'
load 2026-04-12 low.csv
run "$alert" --dry-run --as-of 2026-04-12 "$book"
is 'what only stands comes behind what is new' "$(printf '%s\n' "$out" | grep ^Subject)" \
    'Subject: subject: 1 new - D-2 lash 1E over'
"$alert" --as-of 2026-04-12 "$book" >said
run "$alert" --dry-run --as-of 2026-04-25 --remind 7d "$book"
is 'what only stands, if there is nothing else' "$(printf '%s\n' "$out" | grep ^Subject)" \
    'Subject: subject: 3 still - D-2 lash 1E over'

### the horizon, and what settles
fresh horizon.db
night 2026-02-01 '' --within 799h
night 2026-02-01 '1 new
NEW
 soon D-1 lash 1E due 2026-04-11 or at 1000 h, 800 h left' --within 800h
night 2026-02-01 '' --within 640h # 800 h are a quarter more: kept
run "$alert" --dry-run --as-of 2026-02-01 --within 639h "$book"
is 'what is cleared needs no reason' "$(printf '%s\n' "$out" | grep -e ^Subject -e closing)" 'Subject: horizon: 1 cleared'
night 2026-02-01 '1 cleared
CLEARED
 soon D-1 lash 1E said first 2026-02-01' --within 639h
night 2026-02-01 '1 new
NEW
 soon D-1 lash 1E due 2026-04-11 or at 1000 h, 800 h left' --within 69d
fresh settles.db
trouble
night 2026-02-05 '2 new
NEW
 over D-2 lash 1E due 2026-02-05 or at 350 h, 0 h left
 due D-3 unread due 2026-02-05'
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit \
    D-2,2026-02-06,360,h,lash,1E,0.39,,mm >better.csv
exact better.csv
load 2026-02-06 better.csv
night 2026-02-06 ''
run "$alert" --list --format csv "$book"
is 'it is better, but not for long' "$(printf '%s\n' "$out" | grep -c ',2026-02-06,,$')" 1
night 2026-02-08 ''
night 2026-02-09 '1 still, 1 cleared
STILL
 due D-3 unread due 2026-02-09; said first 2026-02-05
CLEARED
 over D-2 lash 1E said first 2026-02-05'

### acknowledging
fresh ack.db
trouble
run "$alert" --ack D-2 "$book"
is 'what was not said cannot be acknowledged' "$status|$err|$out" \
    "1|valve-alert: ack.db: no alert 'D-2' stands|"
"$alert" --text --as-of 2026-02-05 "$book" >first
run "$alert" --ack D-2/lash/1E --ack D-2/lash/2E --ack D-2/las "$book"
is 'the others are refused by name' "$status|$err|$out" \
    "1|valve-alert: ack.db: no alert 'D-2/lash/2E' stands
valve-alert: ack.db: no alert 'D-2/las' stands|"
night 2026-02-12 '1 still; 1 acknowledged, not listed
STILL
 due D-3 unread due 2026-02-12; said first 2026-02-05' --remind 7d
run "$alert" --ack D-2 --ack D-3/unread --until 2026-02-20 "$book"
is 'all of an engine, all of a kind' "$status|$err|$out" '0||'
run "$alert" --list --format csv "$book"
is 'until when' "$(printf '%s\n' "$out" | cut -d, -f2,9,10)" 'kind,acked,acked_until
lash,over,2026-02-20
unread,due,2026-02-20'
night 2026-02-20 '' --remind 1d
night 2026-02-21 '2 still
STILL
 over D-2 lash 1E due 2026-02-05 or at 350 h, 0 h left; said first 2026-02-05
 due D-3 unread due 2026-02-21; said first 2026-02-05'
night 2026-02-22 ''
run "$alert" --until 2026-02-20 "$book"
is '--until without --ack' "$status|$(printf '%s\n' "$err" | head -n 1)" \
    "2|valve-alert: a date (YYYY-MM-DD) for --ack, not '2026-02-20'"
run "$alert" --list --ack D-2 "$book"
is '--list and --ack' "$status" 2
cp "$book" before.db
run "$alert" --dry-run --ack D-2 --until 2026-02-25 "$book"
is '--dry-run and --ack' "$status|$(cmp "$book" before.db)" '2|'

### looking back
run "$alert" --text --as-of 2026-02-01 "$book"
is 'an earlier day would undo what was said' "$status|$err|$out" \
    '2|valve-alert: ack.db: alerts were told as of 2026-02-21 already, later than --as-of|'
night 2026-02-22 ''
fresh clock.db
trouble
"$alert" --text --as-of 2199-12-31 "$book" >first
run "$alert" --text "$book"
is 'a clock that was wrong once stops nothing' "$status|$err" '0|'

### a try leaves no trace
fresh try.db
trouble
cp try.db before.db
run "$alert" --dry-run --text --as-of 2026-02-05 "$book"
is 'a try speaks' "$status|$(printf '%s\n' "$out" | head -n 1)" '0|try as of 2026-02-05: 2 new'
is 'and remembers nothing' "$(sqlite3 try.db 'SELECT count(*) FROM alerts')" 0

### mailers
# fails NAME WHY COMMAND [OPTIONS]: the command fails, so the alerts are said again
fails() {
    fails_name=$1 fails_why=$2 fails_command=$3
    shift 3
    rm -f msg
    run "$alert" "$@" --as-of 2026-02-05 --pipe-to "$fails_command" "$book"
    is "$fails_name" "$status|$err|$out" "2|valve-alert: $fails_why|"
    run "$alert" --text --dry-run --as-of 2026-02-05 "$book"
    is "$fails_name: said again" "$(printf '%s\n' "$out" | head -n 1)" 'mail as of 2026-02-05: 2 new'
}
fresh mail.db
trouble
fails 'a mailer that fails' 'the command ended with status 75' 'cat >msg; exit 75'
is 'a mailer that fails had it all' "$(tail -n 1 msg | cut -c1-4)" '--=_'
fails 'a mailer that is killed' 'the command was killed by signal 9' 'cat >msg; kill -9 $$'
# shellcheck disable=SC2016
fails 'a mailer that is not there' 'the command ended with status 127: is it there?' \
    'no-such-mailer -t 2>/dev/null'
start=$(date +%s)
fails 'a mailer that hangs' 'the command took more than 1 s and was ended' \
    'echo $$ >pid; sleep 60' --timeout 1
[ "$all" ] && fails 'one that ignores a request to end' 'the command took more than 1 s and was ended' \
    "trap '' TERM; echo \$\$ >pid2; sleep 60 & sleep 60; sleep 60" --timeout 1
ok 'and nobody waits for it' [ $(($(date +%s) - start)) -lt 15 ]
for p in pid ${all:+pid2}; do
    ok "$p is gone" sh -c '! kill -0 -- "-$(cat "$1")" 2>/dev/null' sh $p
done
rows=$(awk 'BEGIN { for (i = 0; i < 400; i++) printf "GX-%03d,two\n", i }')
printf 'engine,family\n%s\n' "$rows" >many.csv
fresh big.db
load 2026-02-05 many.csv
run "$alert" --as-of 2026-02-05 --pipe-to 'exec <&-; sleep 0.2; true' "$book"
is 'a mailer that does not read' "$status|$err" \
    '2|valve-alert: the command ended without reading all of its input'
run "$alert" --as-of 2026-02-05 --pipe-to 'sleep 0.3; cat >big.msg' "$book"
is 'a mailer that reads late' "$status|$err|$out" '0||'
ok 'a large message is whole' [ "$(tail -n 1 big.msg | cut -c1-4) $(wc -c <big.msg)" \> '--=_ 100000' ]
fresh late.db
load 2026-02-05 many.csv
# shellcheck disable=SC2016
run "$alert" --timeout 1 --as-of 2026-02-05 --pipe-to '(trap "sleep 0.2; touch ended; exit" TERM
    while :; do sleep 0.05; done) 2>/dev/null; true' "$book"
is 'a mailer that does not read and hangs' "$status|$err" \
    '2|valve-alert: the command took more than 1 s and was ended'
ok 'what it has started may end in peace' [ -e ended ]
book=mail.db
rm -f msg
run "$alert" --as-of 2026-02-05 --pipe-to 'cat >msg; yes 2>yes.err | head -n 1 >/dev/null; [ ! -s yes.err ]' "$book"
is 'a mailer that succeeds' "$status|$err|$out" '0||'
ok 'has the message' grep -q '^Subject: mail: 2 new - D-2 lash 1E over$' msg
night 2026-02-05 ''
fresh chld.db
trouble
run perl -e '$SIG{CHLD} = "IGNORE"; exec @ARGV' "$alert" --as-of 2026-02-05 --pipe-to 'cat >msg; exit 3' "$book"
is 'where ended children are not waited for, the status is known all the same' "$status|$err" \
    '2|valve-alert: the command ended with status 3'
run sh -c '"$@" <&- >&-' sh "$alert" --as-of 2026-02-05 --pipe-to 'cat >msg' "$book"
is 'with closed standard input and output' "$status|$err" '0|'
ok 'the message is whole' [ "$(tail -n 1 msg | cut -c1-4)" = '--=_' ]

### the same message again
fresh again.db
trouble
for i in 1 2; do
    "$alert" --as-of 2026-02-05 --from a@b.example --pipe-to "cat >again.$i; exit 1" "$book" 2>/dev/null
done
ok 'a message that is repeated is the same' cmp again.1 again.2
id=$(grep '^Message-ID: <20260205\.0\.[0-9a-f]\{16\}@b.example>$' again.1)
ok 'its id has day, run and sum' [ "$id" ]
"$alert" --as-of 2026-02-05 --from a@b.example --pipe-to "cat >again.3" "$book"
"$alert" --as-of 2026-02-12 --remind 1d --from a@b.example --pipe-to "cat >again.4" "$book"
ok 'it is that of the one that goes through' grep -qxF "$id" again.3
ok 'another one has another' grep -q '^Message-ID: <20260212\.1\.' again.4
"$alert" --dry-run --remind 1d --as-of 2026-02-13 "$book" >with; "$alert" --dry-run --remind 1d --crlf --as-of 2026-02-13 "$book" >crlf
ok '--crlf' sh -c 'tr -d "\r" <crlf | cmp - with && [ "$(grep -c "$(printf "\r")\$" crlf)" -eq "$(wc -l <crlf)" ]'
run grep '^Date: ' with
is '--as-of dates the message' "$out" 'Date: Fri, 13 Feb 2026 00:00:00 +0000'

### where the message cannot be written
fresh full.db
trouble
run sh -c '"$@" >/dev/full' sh "$alert" --as-of 2026-02-05 "$book"
is 'a full device' "$status|$err" '2|valve-alert: stdout: No space left on device'
run sh -c '"$@" >&-' sh "$alert" --as-of 2026-02-05 "$book"
is 'a closed standard output' "$status|$err" '2|valve-alert: stdout: Bad file descriptor'
# shellcheck disable=SC2069
{ sleep 0.2; "$alert" --as-of 2026-02-05 "$book"; echo $? >.status; } 2>/dev/null | :
while [ ! -s .status ]; do sleep 0.1; done
is 'a reader that went away' "$(cat .status)" 141
night 2026-02-05 '2 new
NEW
 over D-2 lash 1E due 2026-02-05 or at 350 h, 0 h left
 due D-3 unread due 2026-02-05'

### killed between the mailer's success and the mark
fresh killed.db
trouble
# shellcheck disable=SC2016
"$alert" --as-of 2026-02-05 --pipe-to 'cat >msg.1; kill -9 $PPID' "$book"
is 'killed behind the mailer' "$?" 137
ok 'it was said' grep -q '2 new' msg.1
"$alert" --as-of 2026-02-05 --pipe-to 'cat >msg.2' "$book"
ok 'and is said once more, never not at all' grep -q '2 new' msg.2
night 2026-02-05 ''
is 'the book is sound' "$(sound "$book")" ok
fresh refuses.db
trouble
sqlite3 "$book" "CREATE INDEX no ON alerts(abs(iif(kind = 'lash', -9223372036854775807 - 1, 0)))"
run "$alert" --as-of 2026-02-05 --pipe-to 'cat >msg' "$book"
is 'a book that cannot remember' "$status|$err" \
    '2|valve-alert: refuses.db: said, but not remembered, so it will be said again: integer overflow'
is 'remembers nothing by half' "$(sqlite3 "$book" 'SELECT count(*) FROM alerts')" 0

### two at once
fresh two.db
trouble
rm -f log statuses
for i in 1 2 3 4 5 6; do
    { "$alert" --as-of 2026-02-05 --pipe-to 'cat >>log; sleep 0.1' "$book" 2>>errors; echo $? >>statuses; } &
done
wait
is 'six at once: one says it' "$(grep -c '^Subject: two: 2 new' log)" 1
is 'and none fails' "$(sort -u statuses)$(cat errors)" 0
is 'each alert is recorded once' "$(sqlite3 "$book" "SELECT count(*), count(DISTINCT kind) FROM alerts;
    SELECT runs FROM alerts_told")" '2|2
1'
fresh twice.db
trouble
rm -f log
"$alert" --as-of 2026-02-05 --pipe-to 'cat >>log; sleep 0.5; exit 1' "$book" 2>/dev/null &
sleep 0.1
run "$alert" --as-of 2026-02-05 --pipe-to 'cat >>log' "$book"
wait
is 'where the first one fails, the second says it' "$status|$err|$(grep -c '^Subject' log)" '0||2'
fresh name.db
trouble
ln -s name.db link.db
rm -f log
"$alert" --as-of 2026-02-05 --pipe-to 'cat >>log; sleep 0.3' "$book" &
sleep 0.1
run "$alert" --as-of 2026-02-05 --pipe-to 'cat >>log' link.db
wait
is 'and not where it succeeds, by whatever name' "$status|$err|$(grep -c '^Subject' log)" '0||1'
if [ "$all" ]; then
fresh busy.db
trouble
"$alert" --as-of 2026-02-05 --timeout 0 --pipe-to 'cat >msg; touch began; sleep 12.5' "$book" &
while [ ! -e began ]; do sleep 0.05; done
run "$alert" --as-of 2026-02-05 --timeout 1 --pipe-to 'touch never' "$book"
is 'one that waited long enough leaves it to the other' "$status|$err" \
    '0|valve-alert: busy.db: another valve-alert is at work; nothing was said'
ok 'and says nothing' [ ! -e never ]
fi

### nobody waits for a mailer
fresh free.db
trouble
command="cat >msg; '$bin/valve-book' --as-of 2026-02-06 --no-end '$book' better.csv &&
    '$alert' --list '$book' && '$bin/valve-due' --as-of 2026-02-06 '$book' >/dev/null"
run "$alert" --as-of 2026-02-05 --pipe-to "$command" "$book"
is 'while the mailer runs the book can be loaded and read' "$status|$err|$(printf '%s\n' "$out" | wc -l)" '0||1'
is 'what was loaded is there' "$("$bin/valve-book" --dump readings "$book" | grep -c '^D-2,2026-02-06')" 1
run "$alert" --remind 1d --as-of 2026-02-06 --pipe-to "cat >msg; '$alert' --ack D-2 --ack D-3 '$book'" "$book"
is 'and alerts acknowledged' "$status|$err" '0|'
is 'which stays' "$(sqlite3 "$book" "SELECT count(*) FROM alerts WHERE acked <> ''")" 2
fresh hold.db
trouble
hold="cat >msg; { echo 'BEGIN IMMEDIATE;'; sleep 1; echo 'COMMIT;'; } | sqlite3 '$book' & sleep 0.3"
run "$alert" --as-of 2026-02-05 --pipe-to "$hold" "$book"
is 'a load that has begun meanwhile is waited for' "$status|$err" '0|'
fresh other.db
trouble
run "$alert" --as-of 2026-02-05 --pipe-to "cat >msg; sqlite3 '$book' 'UPDATE alerts_told SET runs = 9'" "$book"
is 'somebody who does not keep to the lock' "$status|$err" \
    '2|valve-alert: other.db: said, but not remembered, so it will be said again: what was said of alerts has been changed by somebody else'

### what can never be due is said with what is, and is no reason to speak
fresh bare.db
printf 'family,side,key,value,unit\nbare,,cylinders,1,\n' >bare-families.csv
printf 'engine,family\nN-1,bare\n' >bare-engines.csv
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit \
    N-1,2026-01-05,50,h,lash,1E,0.3,,mm >bare.csv
for i in bare-families bare-engines bare; do load 2026-02-01 $i.csv; done
night 2026-03-11 ''
run "$alert" --text --as-of 2026-03-12 --dry-run "$book"
ok 'what may be missing' [ "$(printf '%s\n' "$out" | grep -A 1 '^What may be missing$' | tail -n 1)" = \
    'family bare: no lash_min, lash_max or seat_limit is stated for side E: by lash' ]

### a cam that is a little late, and then a tooth: 360 / 20 = 18 deg of the crank
cat >cam-families.csv <<'END'
family,side,key,value,unit
cam,,cylinders,2,
cam,,crank_teeth,20,
cam,,timing_tolerance,2,deg
cam,I,valves,1,
cam,I,checking_lift,1,mm
cam,I,opens,-12,deg
cam,I,closes,225,deg
END
# timed DAY LATER: both valves so many degrees later than nominal
timed() {
    echo engine,date,quantity,at,left,unit,u
    for at in 1I 2I; do
        echo "C-1,$1,opens,$at,$(($2 - 12)),deg,0.3"
        echo "C-1,$1,closes,$at,$(($2 + 225)),deg,0.3"
    done
}
printf 'engine,family\nC-1,cam\n' >cam-engines.csv
timed 2026-01-10 4 >late.csv
timed 2026-01-20 19 >tooth.csv
book=cam.db
"$bin/valve-book" --as-of 2026-01-10 --no-end cam.db cam-families.csv cam-engines.csv late.csv
night 2026-01-10 '2 new
NEW
 due C-1 timing I due 2026-01-10
 due C-1 unread due 2026-01-10'
run "$alert" --ack C-1/timing cam.db
night 2026-01-11 ''
load 2026-01-20 tooth.csv
run "$alert" --dry-run --text --as-of 2026-01-20 cam.db
ok 'what more is found is in its reason' grep -q 'one tooth retarded' .out
night 2026-01-20 '1 worse, 1 still
WORSE
 due C-1 timing I due 2026-01-20; more is found than was; said first 2026-01-10
STILL
 due C-1 unread due 2026-01-20; said first 2026-01-10'
night 2026-01-21 ''

### who may only read can try, and look what stands
fresh read.db
trouble
rm -f read.db-alert
run "$alert" --dry-run --text --as-of 2026-02-05 read.db
is 'a try makes no file beside the book' "$status|$err|$(printf '%s\n' "$out" | head -n 1)|$(echo read.db-*)" \
    '0||read as of 2026-02-05: 2 new|read.db-*'
run "$alert" --list read.db
is 'nor does a look at what stands' "$status|$err|$(echo read.db-*)" '0||read.db-*'

### what is refused
for o in '--remind 5h' '--remind soon' '--settle x' '--timeout 1.5' '--timeout -1' '--timeout 86401' \
    '--within 3' '--format xml' '--as-of never' '--ack D-2 --until never'; do
    # shellcheck disable=SC2086
    run "$alert" $o "$book"
    is "$o" "$status|$out" '2|'
done
run "$alert" --to "$(printf 'x\r\nBcc: e@f <a@b>')" "$book"
is 'nobody is made a recipient by a name' "$status|$err" \
    "2|valve-alert: a control character in an address: 'x??Bcc: e@f <a@b>'"
run "$alert" --from 'a@b, c@d' "$book"
is 'one mailbox an option' "$status|$err" "2|valve-alert: no mail address: 'a@b, c@d'"
printf '' >empty.db
run "$alert" empty.db
is 'an empty file is no book' "$status|$err|$(wc -c <empty.db | tr -d ' ')" \
    '2|valve-alert: empty.db: this file is no valvebook|0'
wait
done_testing
