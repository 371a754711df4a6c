#!/bin/sh
# valve-due --format openmetrics, read back by the OpenMetrics parser of python's
# prometheus_client.
. tests/tap.sh
due=$bin/valve-due
python=
for p in /usr/bin/python3 python3; do
    if [ -z "$python" ] && "$p" -c 'import prometheus_client.openmetrics.parser' >/dev/null 2>&1; then
        python=$p
    fi
done
cd "$work" || exit 1
cat >families.csv <<'END'
family,side,key,value,unit
two,,cylinders,1,
two,E,valves,1,
two,E,lash_min,0.20,mm
two,,relash_interval,500,h
END
# 1E of D-1 closes 0.02 mm in 100 h = 10 days: 0.16 mm to its limit last 800 h, 80 days from 21
# January; T-1 closes as much in 1000 km = 10 days, so that they last 8000 km. The engine with a
# difficult name is below its limit. D-4 was never read, D-5 was read last and is gone.
cat >engines.csv <<'END'
engine,family
D-1,two
T-1,two
"a\b ""c"", {d=""e""} ü
f",two
D-4,two
D-5,two
END
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
D-1,2026-01-01,0,h,lash,1E,,0.40,mm
D-1,2026-01-11,100,h,lash,1E,0.38,,mm
D-1,2026-01-21,200,h,lash,1E,0.36,,mm
T-1,2026-01-01,0,km,lash,1E,,0.40,mm
T-1,2026-01-11,1000,km,lash,1E,0.38,,mm
T-1,2026-01-21,2000,km,lash,1E,0.36,,mm
D-5,2026-01-25,50,h,lash,1E,,0.40,mm
END
exact readings.csv
printf '%s\n' '"a\b ""c"", {d=""e""} ü
f",2026-01-05,50,h,lash,1E,,0.15,mm,' >>readings.csv
printf 'engine,date,event\nD-5,2026-01-31,end\n' >events.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end shop.db families.csv engines.csv readings.csv events.csv || exit 1
run "$due" --as-of 2026-02-01 --format openmetrics shop.db
is 'metrics' "$status|$err" "0|valve-due: shop.db: family 'two': relash_interval is in h, the meter of T-1 runs in km: no interval by meter is due there"
cp .out metrics
is 'the end is marked' "$(tail -n 1 metrics)" '# EOF'
ok 'names are escaped' grep -qF 'engine="a\\b \"c\", {d=\"e\"} ü\nf",kind' metrics
run "$due" --as-of 2026-02-01 --engine D-5 --format openmetrics shop.db
cp .out none
run "$due" --exit-code --as-of 2026-02-01 --format openmetrics shop.db
is '--exit-code' "$status" 1
if [ -z "$python" ]; then
    skip 'prometheus_client reads it' 'no python3 with prometheus_client'
    done_testing
    exit 0
fi
cat >read.py <<'END'
from prometheus_client.openmetrics.parser import text_string_to_metric_families as parse

def say(what, good):
    print('%s: %s' % (what, 'ok' if good else 'no'))
def read(name): # as bytes came: no line end is changed
    return {f.name: f for f in parse(open(name, newline='', encoding='utf-8').read())}
def values(f):
    return {tuple(s.labels.values()): s.value for s in f.samples}

m = read('metrics')
say('families', set(m) == {'valvebook_' + n for n in ('as_of_timestamp_seconds', 'engines',
    'last_visit_timestamp_seconds', 'due_lines', 'due_days', 'due_over', 'due_left_hours', 'due_left_kilometers')})
say('all are gauges that say what they are', all(f.type == 'gauge' and f.documentation for f in m.values()))
say('units', {f.unit for f in m.values()} == {'seconds', 'days', 'hours', 'kilometers', ''})
say('labels', {tuple(s.labels) for s in m['valvebook_due_days'].samples} == {('engine', 'kind', 'valve')})
say('the day', values(m['valvebook_as_of_timestamp_seconds']) == {(): 20485 * 86400})
say('engines in service', values(m['valvebook_engines']) == {(): 4})
# 21 January, of D-1 and T-1
say('the newest visit', values(m['valvebook_last_visit_timestamp_seconds']) == {(): 20474 * 86400})
odd = 'a\\b "c", {d="e"} ü\nf'
# by hand: intervals of 500 h end 30 days behind 21 January, on 20 February; one in h says
# nothing of T-1
days = {('D-1', 'lash', '1E'): 69, ('T-1', 'lash', '1E'): 69, ('D-1', 'interval', ''): 19,
        ('D-4', 'unread', ''): 0}
say('days', values(m['valvebook_due_days']) == days)
say('hours', values(m['valvebook_due_left_hours']) == {('D-1', 'lash', '1E'): 800,
    ('D-1', 'interval', ''): 300, (odd, 'lash', '1E'): 0, (odd, 'interval', ''): 500})
say('kilometres', values(m['valvebook_due_left_kilometers']) == {('T-1', 'lash', '1E'): 8000})
over = {k: 0 for k in days}
over.update({(odd, 'lash', '1E'): 1, (odd, 'interval', ''): 0})
say('over', values(m['valvebook_due_over']) == over)
want = {(k, l): 0 for k in ('lash', 'seat', 'check', 'timing', 'interval', 'unread') for l in ('over', 'due', 'later')}
want.update({('lash', 'later'): 2, ('lash', 'over'): 1, ('interval', 'later'): 2, ('unread', 'due'): 1})
say('lines', values(m['valvebook_due_lines']) == want)
none = read('none')
say('an empty list', values(none['valvebook_engines']) == {(): 0} and not none['valvebook_due_days'].samples
    and not none['valvebook_last_visit_timestamp_seconds'].samples
    and set(values(none['valvebook_due_lines']).values()) == {0})
END
run "$python" read.py
is 'prometheus_client reads it' "$status|$err" '0|'
printf '%s\n' "$out" >said
while IFS= read -r line; do
    is "${line%: *}" "${line##*: }" ok
done <said
is 'all was looked at' "$(wc -l <said | tr -d ' ')" 13
done_testing
