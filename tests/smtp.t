#!/bin/sh
# Mail over the net: a real mailer (msmtp) speaks to a real SMTP server (aiosmtpd) on the
# loopback interface, and another program's parser (python's email) reads what arrived. The
# server takes any free port of 127.0.0.1 and ends by itself.
. tests/tap.sh
alert=$bin/valve-alert
python=
for p in /usr/bin/python3 python3; do
    if [ -z "$python" ] && "$p" -c 'import aiosmtpd' >/dev/null 2>&1; then
        python=$p
    fi
done
if [ -z "$python" ] || ! command -v msmtp >/dev/null 2>&1; then
    skip 'mail over SMTP' 'no msmtp or no python3 with aiosmtpd'
    done_testing
    exit 0
fi
cd "$work" || exit 1
mkdir box
echo keep >box/mood
"$python" "$top/tests/tools/smtp_server.py" box 2>server.err &
server=$!
trap 'touch "$work/box/stop"; kill $server 2>/dev/null; wait $server 2>/dev/null; rm -rf "$work"' EXIT
i=0
while [ ! -s box/port ] && [ $i -lt 100 ]; do sleep 0.1; i=$((i + 1)); done
ok 'the server listens' test -s box/port
port=$(cat box/port)
mailer="msmtp -C /dev/null --host=127.0.0.1 --port=$port --timeout=10 --tls=off --auth=off \
--read-recipients --read-envelope-from 2>mailer.err"

cat >families.csv <<'END'
family,side,key,value,unit
two,,cylinders,1,
two,E,valves,1,
two,E,lash_min,0.20,mm
two,E,lash_max,0.60,mm
END
printf 'engine,family\n"<b>Ö-2</b>, ""=cmd""",two\n' >engines.csv
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit \
    '"<b>Ö-2</b>, ""=cmd""",2026-02-05,350,h,lash,1E,0.19,,mm' >readings.csv
"$bin/valve-book" --as-of 2026-02-05 --no-end base.db families.csv engines.csv readings.csv || exit 1
name=$(awk 'BEGIN { for (i = 0; i < 100; i++) printf "äb%s", i % 10 ? "" : " " }')
ok 'a name of 300 characters and more' [ "$(printf %s "$name" | wc -c)" -ge 300 ]

# sends DATE OPTIONS: to three people whose names are none for a plain header
sends() {
    sends_date=$1
    shift
    run "$alert" --as-of "$sends_date" --from 'Nachtlauf, "Werk" Süd <night@depot.example>' \
        --to "$name <long@depot.example>" --to '"Weber, Kurt" <kurt@depot.example>' \
        --to plain@other.example --pipe-to "$mailer" "$@" shop.db
}

cp base.db shop.db
echo refuse >box/mood
sends 2026-02-05
is 'a server that refuses' "$status|$err" '2|valve-alert: the command ended with status 69'
ok 'the mailer says why' grep -q 554 mailer.err
echo later >box/mood
sends 2026-02-05
is 'a server that wants to be asked later' "$status|$err" '2|valve-alert: the command ended with status 69'
echo 'hang up' >box/mood
sends 2026-02-05
is 'a server that hangs up' "$status" 2
echo slow >box/mood
sends 2026-02-05 --timeout 1
is 'a server that takes too long' "$status|$err" '2|valve-alert: the command took more than 1 s and was ended'
is 'nothing has arrived' "$(ls box | grep -c '[0-9]')" 0
echo keep >box/mood
run "$alert" --as-of 2026-02-05 --pipe-to 'true' --dry-run shop.db
sends 2026-02-05
is 'a server that takes it' "$status|$err" '0|'
sends 2026-02-06
is 'and then there is nothing to say' "$status|$err|$(ls box | grep -c '[0-9]$')" '0||1'

cat >read.py <<'END'
import csv, email, email.header, email.policy, email.utils, io, sys
raw = open('box/1', 'rb').read()
def say(what, good):
    print('%s: %s' % (what, 'ok' if good else 'no'))
name = sys.argv[1]
engine = '<b>Ö-2</b>, "=cmd"'
say('envelope', open('box/1.to').read().split() == ['night@depot.example',
    'long@depot.example', 'kurt@depot.example', 'plain@other.example'])
say('it came in CR LF and short lines', raw.count(b'\n') == raw.count(b'\r\n') and
    max(map(len, raw.split(b'\r\n'))) <= 78)
m = email.message_from_bytes(raw, policy=email.policy.default)
say('nothing is wrong with it', not any(p.defects for p in m.walk()))
# python's newer code keeps the blank between two encoded words of a name (RFC 2047, 6.2)
old = email.message_from_bytes(raw)
def people(field):
    return [(str(email.header.make_header(email.header.decode_header(n))), a) for n, a in
            email.utils.getaddresses([old[field].replace('\r\n', '')])]
say('from', people('From') == [('Nachtlauf, "Werk" Süd', 'night@depot.example')])
say('to', people('To') == [(name.strip(), 'long@depot.example'),
                           ('Weber, Kurt', 'kurt@depot.example'), ('', 'plain@other.example')])
say('subject', m['Subject'] == 'shop: 1 new - %s lash 1E over' % engine)
say('date', m['Date'].datetime.isoformat() == '2026-02-05T00:00:00+00:00')
say('id', m['Message-ID'].startswith('<20260205.0.') and
    m['Message-ID'].endswith('@depot.example>'))
say('nobody answers by itself', m['Auto-Submitted'] == 'auto-generated')
text, page, sheet = [p for p in m.walk() if not p.is_multipart()]
say('text', '  over  %s  lash' % engine in text.get_content() and
    text.get_content().rstrip().endswith('engine is safe to run.'))
say('page', '&lt;b&gt;Ö-2&lt;/b&gt;, &quot;=cmd&quot;' in page.get_content() and
    '<b>Ö' not in page.get_content())
rows = list(csv.DictReader(io.StringIO(sheet.get_payload(decode=True).decode('utf-8-sig'))))
say('sheet', [(r['engine'], r['kind'], r['at'], r['meter_left']) for r in rows] ==
    [(engine, 'lash', "'1E", '0')] and sheet.get_filename() == 'shop-due-2026-02-05.csv')
END
run "$python" read.py "$name"
is 'the reader runs' "$status|$err" '0|'
printf '%s\n' "$out" >said
while IFS= read -r line; do
    is "${line%: *}" "${line##*: }" ok
done <said
is 'all was looked at' "$(wc -l <said | tr -d ' ')" 12
touch box/stop
wait $server
is 'the server ends by itself' "$?" 0
done_testing
