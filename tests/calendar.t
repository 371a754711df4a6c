#!/bin/sh
# valve-due --format ical, read back by two other programs' parsers: python's icalendar and
# ical.js from the npm registry.
. tests/tap.sh
due=$bin/valve-due
module=$PWD/build/npm/node_modules/ical.js
python=
for p in /usr/bin/python3 python3; do
    if [ -z "$python" ] && "$p" -c 'import icalendar' >/dev/null 2>&1; then
        python=$p
    fi
done
cd "$work" || exit 1
cat >families.csv <<'END'
family,side,key,value,unit
two,,cylinders,1,
two,I,valves,1,
two,E,valves,1,
two,I,lash_min,0.20,mm
two,E,lash_min,0.20,mm
two,E,seat_limit,0.10,mm
two,,relash_interval,500,h
END
# 1E of D-1 is that of tests/due.t: it closes 0.02 mm in 100 h = 10 days, and so does 1I, whose
# 0.26 mm to the limit last 1300 h from 21 January. 1I of the
# engine with a difficult name is below its limit and was read once, so it has no pace, and no
# date.
printf 'engine,family\nD-1,two\n"Ö; a,b\\d ""x"" 機関機関機関機関機関機関機関機関機関機関\nEND:VCALENDAR",two\n' >engines.csv
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit \
    D-1,2026-01-01,0,h,lash,1E,,0.40,mm D-1,2026-01-11,100,h,lash,1E,0.38,,mm \
    D-1,2026-01-21,200,h,lash,1E,0.36,,mm D-1,2026-01-01,0,h,lash,1I,,0.50,mm \
    D-1,2026-01-11,100,h,lash,1I,0.48,,mm D-1,2026-01-21,200,h,lash,1I,0.46,,mm >readings.csv
exact readings.csv
printf '"Ö; a,b\\d ""x"" 機関機関機関機関機関機関機関機関機関機関\nEND:VCALENDAR",2026-01-05,50,h,lash,1I,0.15,,mm,\n' >>readings.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end shop.db families.csv engines.csv readings.csv || exit 1
run "$due" --as-of 2026-02-01 --format ical shop.db
is 'a calendar' "$status|$err" '0|'
cp .out first.ics
"$due" --as-of 2026-04-20 --format ical shop.db >past.ics
cp shop.db swap.db
"$due" --as-of 2026-02-01T10:30 --format ical shop.db >same.ics
"$due" --as-of 2026-02-01 --format csv shop.db >first.csv
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit \
    D-1,2026-01-29,300,h,lash,1E,0.34,,mm >next.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end shop.db next.csv
"$due" --as-of 2026-02-02 --format ical shop.db >moved.ics
printf 'engine,date,meter,meter_unit,event,at\nD-1,2026-01-22,200,h,meter,0\n' >swap.csv
sed 's/,300,/,100,/' next.csv >swapped.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end swap.db swap.csv swapped.csv
"$due" --as-of 2026-02-02 --format ical swap.db >swap.ics
"$due" --as-of 2026-02-02 --format csv swap.db >swap.csv
printf 'engine,date,event,part,build\nD-1,2026-02-03,build,,B2\n' >events.csv
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit \
    D-1,2026-02-03,310,h,lash,1E,,0.25,mm D-1,2026-02-13,410,h,lash,1E,0.23,,mm >rebuilt.csv
"$bin/valve-book" --as-of 2026-02-13 --no-end shop.db events.csv rebuilt.csv
"$due" --as-of 2026-02-13 --format ical shop.db >rebuilt.ics
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit D-1,2026-03-10,301,h,lash,1E,0.30,,mm >over.csv
"$bin/valve-book" --as-of 2026-03-10 --no-end swap.db over.csv
"$due" --as-of 2026-03-10 --format ical swap.db >over.ics
run "$due" --exit-code --as-of 2026-02-13 --format ical shop.db
is '--exit-code' "$status" 1
printf 'engine,date,event\nD-1,2026-03-01,end\n' >end.csv
"$bin/valve-book" --as-of 2026-03-01 shop.db end.csv
"$due" --as-of 2026-03-01 --engine D-1 --format ical shop.db >empty.ics

if [ "$python" ]; then
    cat >read.py <<'END'
import csv, datetime, icalendar, re

def say(what, good):
    print('%s: %s' % (what, 'ok' if good else 'no'))
def read(name):
    raw = open(name, 'rb').read()
    short = all(len(l) <= 75 and (l.decode('utf-8') or True) for l in raw.split(b'\r\n'))
    crlf = raw.endswith(b'\r\n') and raw.count(b'\n') == raw.count(b'\r\n') == raw.count(b'\r')
    cal = icalendar.Calendar.from_ical(raw)
    return cal, list(cal.walk('VEVENT')), short and crlf
def key(e):
    return str(e['SUMMARY']).rsplit(' ', 1)[0]
day = lambda s: datetime.date.fromisoformat(s)

name = 'Ö; a,b\\d "x" ' + '機関' * 10 + '?END:VCALENDAR'
cal, first, good = read('first.ics')
say('lines are short and whole characters', good)
say('no errors', not any(c.errors for c in cal.walk()))
say('head', (cal['VERSION'], cal['CALSCALE'], 'METHOD' in cal) == ('2.0', 'GREGORIAN', False) and cal['PRODID'])
# by hand, as in tests/due.t: the seat of 1E has 300 h left, its lash 800 h, that of 1I 1300 h;
# the other engine was never read at 1E and never set
want = {'D-1 seat 1E due': '2026-02-20', 'D-1 interval due': '2026-02-20',
        'D-1 lash 1E due': '2026-04-11', 'D-1 lash 1I due': '2026-05-31',
        name + ' unread due': '2026-02-01', name + ' interval due': '2026-02-01'}
say('what is due when', {str(e['SUMMARY']): e['DTSTART'].dt.isoformat() for e in first} == want)
say('whole days', all(e['DTEND'].dt - e['DTSTART'].dt == datetime.timedelta(1) and
                      type(e['DTSTART'].dt) is datetime.date for e in first))
say('nobody is busy', {e['TRANSP'] for e in first} == {'TRANSPARENT'})
say('the day it was made', {(e['DTSTAMP'].dt.isoformat(), e['LAST-MODIFIED'].dt.isoformat(),
    e['SEQUENCE']) for e in first} == {('2026-02-01T00:00:00+00:00',) * 2 + (20485 * 1440,)})
say('each has a name of its own', len({e['UID'] for e in first}) == len(first) == 6)
rows = {(r['engine'], r['kind'], r['at']): r for r in csv.DictReader(open('first.csv', newline=''))}
lash = next(e for e in first if key(e) == 'D-1 lash 1E')
text = str(lash['DESCRIPTION']).split('\n')
say('why', text[:3] == ['due 2026-04-11 or at 1000 h', 'expected 2026-04-11 or at 1000 h',
                        rows['D-1', 'lash', '1E']['reason']])
unfolded = open('first.ics', 'rb').read().replace(b'\r\n ', b'').decode('utf-8')
say('escapes', 'SUMMARY:Ö\\; a\\,b\\\\d "x" ' in unfolded and '0.100 mm\\; closing' in unfolded)
say('the cautions', all(str(e['DESCRIPTION']).rstrip().endswith('engine is safe to run.') for e in first))

_, same, _ = read('same.ics')
say('later that day: the same events, one more revision', [(e['UID'], e['DTSTART'].dt) for e in first] ==
    [(e['UID'], e['DTSTART'].dt) for e in same] and
    {(e['SEQUENCE'], e['DTSTAMP'].dt.isoformat()) for e in same} == {(20485 * 1440 + 630, '2026-02-01T10:30:00+00:00')})
_, moved, _ = read('moved.ics')
a, b = ({key(e): e for e in c} for c in (first, moved))
say('a new reading moves an event and makes no second one', {k: e['UID'] for k, e in a.items()} ==
    {k: e['UID'] for k, e in b.items()} and
    a['D-1 lash 1E']['DTSTART'].dt != b['D-1 lash 1E']['DTSTART'].dt and
    a['D-1 lash 1E']['SEQUENCE'] < b['D-1 lash 1E']['SEQUENCE'])
_, rebuilt, _ = read('rebuilt.ics')
c = {key(e): e for e in rebuilt}
say('a rebuilt engine has new ones, the other keeps its own',
    {k for k in b if k in c and b[k]['UID'] == c[k]['UID']} == {name + ' unread', name + ' interval'} and
    {'D-1 lash 1E', 'D-1 interval'} <= set(c))
_, past, _ = read('past.ics')
p = {key(e): e for e in past}
say('what is past stands on the day that is looked at', (p['D-1 lash 1E']['DTSTART'].dt,
    p['D-1 lash 1I']['DTSTART'].dt) == (day('2026-04-20'), day('2026-05-31')) and
    'due 2026-04-11' in p['D-1 lash 1E']['DESCRIPTION'])
say('what is over is said to be', any(str(e['SUMMARY']) == 'D-1 interval over' for e in read('over.ics')[1]))
_, swap, _ = read('swap.ics')
rows = {' '.join(filter(None, (r['engine'], r['kind'], r['at']))): r
        for r in csv.DictReader(open('swap.csv', newline='')) if r['due_meter']}
say('meters are what the present one will show', len([e for e in swap if key(e) in rows]) == 4 and
    all(e['DESCRIPTION'].split('\n')[0] == 'due %s or at %.0f h' % (rows[key(e)]['due_date'],
        float(rows[key(e)]['due_meter'])) for e in swap if key(e) in rows))
cal, none, good = read('empty.ics')
say('an empty one says so', good and not none and [str(j['SUMMARY']) for j in cal.walk('VJOURNAL')] == ['nothing is due'])
END
    run "$python" read.py
    is 'icalendar reads it' "$status|$err" '0|'
    printf '%s\n' "$out" >said
    while IFS= read -r line; do
        is "${line%: *}" "${line##*: }" ok
    done <said
    is 'all was looked at' "$(wc -l <said | tr -d ' ')" 18
else
    skip 'icalendar reads it' 'no python3 with icalendar'
fi

if [ -d "$module" ] && command -v node >/dev/null 2>&1; then
    cat >read.mjs <<'END'
import fs from 'fs';
const { default: ICAL } = await import(process.argv[2]);
for (const name of ['first.ics', 'moved.ics', 'rebuilt.ics', 'empty.ics']) {
    const cal = new ICAL.Component(ICAL.parse(fs.readFileSync(name, 'utf8')));
    const events = cal.getAllSubcomponents('vevent').map((c) => new ICAL.Event(c));
    console.log(name, events.length, new Set(events.map((e) => e.uid)).size,
        events.filter((e) => e.summary.startsWith('D-1 lash 1E'))
            .map((e) => e.startDate.toString() + ' ' + e.startDate.isDate + ' ' + e.duration.toString()).join());
}
const cal = new ICAL.Component(ICAL.parse(fs.readFileSync('first.ics', 'utf8')));
console.log(cal.getAllSubcomponents('vevent').map((c) => new ICAL.Event(c).summary).find((s) => s.startsWith('Ö')));
END
    run node read.mjs "$module/dist/ical.js"
    is 'ical.js reads the same' "$status|$err|$out" "0||first.ics 6 6 2026-04-11 true P1D
moved.ics 6 6 $(sed -n '/^UID:lash/,/^SUMMARY/p' moved.ics | tr -d '\r' | sed -n 's/^DTSTART;VALUE=DATE:\(....\)\(..\)\(..\)$/\1-\2-\3/p' | head -n 1) true P1D
rebuilt.ics $(grep -c '^UID' rebuilt.ics) $(grep -c '^UID' rebuilt.ics) $(sed -n '/^UID:lash/,/^SUMMARY/p' rebuilt.ics | tr -d '\r' | sed -n 's/^DTSTART;VALUE=DATE:\(....\)\(..\)\(..\)$/\1-\2-\3/p' | head -n 1) true P1D
empty.ics 0 0 
Ö; a,b\\d \"x\" 機関機関機関機関機関機関機関機関機関機関?END:VCALENDAR interval due"
else
    skip 'ical.js reads the same' 'the npm package ical.js is not installed (make deps)'
fi
done_testing
