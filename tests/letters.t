#!/bin/sh
# Names that are longer than the room there is for them, in letters of two and three bytes: they
# are cut between two letters, so that what is printed can still be read, and what looks at it
# is iconv and python's json.
. tests/tap.sh
cd "$work" || exit 1

# long LEAD LETTER BYTES: a name of 120 bytes or a few less
long() { printf '%s' "$1" && printf "$2%.0s" $(seq $(((120 - ${#1}) / $3))) && echo; }
: >names
for lead in '' a ab; do
    long "$lead" é 2 >>names
    long "$lead" 機 3 >>names
done
awk 'BEGIN {
    print "family,side,key,value,unit" >"families.csv"
    print "engine,family,site" >"engines.csv"
    print "engine,date,event,part,at,build" >"events.csv"
    print "engine,date,meter_gain,label" >"plan.csv"
    print "engine,date,meter,meter_unit,quantity,at,found,unit,source" >"readings.csv"
}
{
    print $0 ",,cylinders,2,\n" $0 ",E,valves,1,\n" $0 ",,relash_interval,100,km" >>"families.csv"
    print $0 ",E,opens,-230,deg\n" $0 ",E,closes,8,deg\n" $0 ",,checking_lift,1,mm" >>"families.csv"
    print $0 "," $0 "," $0 $0 $0 >>"engines.csv"
    print $0 ",2026-01-10,build,,," $0 >>"events.csv"
    print $0 ",2026-05-01,50," $0 >>"plan.csv"
    for (m = 2; m <= 4; m++) {
        print $0 ",2026-0" m "-01," 100 * m ",h,lash,1E," (0.5 - 0.08 * m) ",mm," $0 >>"readings.csv"
        print $0 ",2026-0" m "-01," 100 * m ",h,opens,1E," (-232 - 5 * m) ",deg," $0 >>"readings.csv"
        print $0 ",2026-0" m "-01," 100 * m ",h,closes,1E," (6 + 5 * m) ",deg," $0 >>"readings.csv"
    }
    print $0 ",2026-04-01,400,h,lift_tdc,2E,1,mm," $0 >>"readings.csv"
}' names
run "$bin/valve-book" --as-of 2026-04-10 --no-end b.db families.csv engines.csv events.csv plan.csv readings.csv
is 'the book takes them' "$status|$err" '0|'
one=$(sed -n 2p names)

# whole NAME COMMAND...: what it prints is UTF-8, its messages too, and no letter is spoilt
whole() {
    whole_name=$1
    shift
    run "$@"
    ok "$whole_name: it prints something" [ "$status" -le 1 -a -s .out ]
    ok "$whole_name: UTF-8" iconv -f UTF-8 -t UTF-8 .out
    ok "$whole_name: no letter is spoilt" sh -c '! grep -q "�" .out'
    ok "$whole_name: messages" iconv -f UTF-8 -t UTF-8 .err
}
day='--as-of 2026-04-10'
for tool in drift due timing life; do
    for format in csv json table; do
        whole "valve-$tool, $format" "$bin/valve-$tool" $day --format $format b.db
    done
done
for format in ical openmetrics; do
    whole "valve-due, $format" "$bin/valve-due" $day --format $format b.db
done
for format in csv json table html; do
    whole "valve-set, $format" "$bin/valve-set" $day --format $format --plan --engine "$one" b.db
done
for format in html table; do
    whole "valve-trend, $format" "$bin/valve-trend" $day --format $format b.db
done
whole 'valve-alert' "$bin/valve-alert" $day --text --dry-run b.db
if ! python3 -c 'import email, json' >/dev/null 2>&1; then
    skip 'messages and JSON are read back' 'no python3'
    : >names
fi
while IFS= read -r name; do
    "$bin/valve-alert" $day --dry-run --site "$name$name$name" b.db >message 2>/dev/null
    python3 -c 'import email, email.policy
m = email.message_from_bytes(open("message", "rb").read(), policy=email.policy.default)
for p in m.walk():
    if not p.is_multipart():
        print(p.get_payload(decode=True).decode("utf-8"))' >.out 2>.err
    ok 'a message for a site of 360 bytes' [ "$? $(grep -c '�' .out)" = '0 0' ]
done <names
for tool in drift due timing; do
    [ -s names ] || continue
    "$bin/valve-$tool" $day --format json b.db >out.json
    ok "valve-$tool: JSON" python3 -c 'import json
for l in open("out.json", encoding="utf-8"): json.loads(l)'
done
run "$bin/valve-drift" $day --format csv b.db
is 'builds as far as there is room' "$(printf '%s\n' "$out" | cut -d, -f4 | LC_ALL=C awk '{ print length($0) }' | sort -nu | tr '\n' ' ')" \
    "$(printf '%s ' 5 29 30 31)"
done_testing
