#!/bin/sh
# What a message says, part by part, of engines whose names would do harm if they could:
# markup, formulas, line ends, other ways of writing, and the longest name there may be.
. tests/tap.sh
alert=$bin/valve-alert
if ! python3 -c 'import email' >/dev/null 2>&1; then
    skip 'letters are read back' 'no python3'
    
# a fleet's first message: a thousand are written out, all are attached and remembered
{
    echo engine,family
    printf 'R-%04d,one\n' $(seq 1100)
} >engines.csv
{
    echo $heading
    printf "R-%04d,2026-01-01,10,h,lash,1E,0.19,,mm\n" $(seq 1100)
    printf "R-%04d,2026-01-01,10,h,lash,1I,0.3,,mm\n" $(seq 1100)
} >readings.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end first.db families.csv engines.csv readings.csv
"$alert" --as-of 2026-02-01 --within 30d first.db >message
run python3 - <<'END'
import email, email.policy
m = email.message_from_bytes(open('message', 'rb').read(), policy=email.policy.default)
text, page, sheet = [p.get_content() for p in m.walk() if not p.is_multipart()]
sheet = sheet.decode() if isinstance(sheet, bytes) else sheet
print(m['Subject'].split(': ')[1].split(' - ')[0])
print(text.count('  over  R-'), page.count('<b>over</b> R-'), sheet.count('R-'),
      '  and 100 more: valve-alert --list BOOK' in text, '<p>and 100 more:' in page)
END
is 'a thousand new ones and how many more' "$status|$err|$out" '0||1100 new
1000 1000 1100 True True'
is 'all are remembered' "$("$alert" --list --format csv first.db | grep -c '^R-')" 1100
done_testing
    exit 0
fi
cd "$work" || exit 1
cat >families.csv <<'END'
family,side,key,value,unit
two,,cylinders,3,
two,E,valves,1,
two,E,lash_min,0.20,mm
two,E,lash_max,0.60,mm
END
# engines.csv: every name of names.txt, where %XX stands for a byte
cat >names.txt <<'END'
D-01
<script>alert(1)</script>
"><img src=x onerror=alert(1)>
&lt;b&gt; &amp; 'x' "y"
=cmd|' /C calc'!A0
=1+1,"2"
+49 2
-2+3
@SUM(A1:A9)
%0D%0ABcc: e@f.example
x%09=1+1
%1B[2J%07
%C2%85%E2%80%A8%E2%80%AEabc
Jürgens Öl-Motor, Werk „Süd“
機関🔧
0012
3E1
.5
E1
%2D--=_20260205_mixed
.
From here
END
python3 - <<'END'
import csv, re
names = [re.sub('%([0-9A-F]{2})', lambda m: chr(int(m[1], 16)), l.rstrip('\n')).encode('latin-1', 'ignore')
         if re.search('%[0-9A-F]{2}', l) and l.isascii() else l.rstrip('\n').encode()
         for l in open('names.txt', encoding='utf-8')]
names = [n.decode('utf-8') for n in names] + ['L' * 118 + 'ü']
with open('names.out', 'w', encoding='utf-8', newline='') as f:
    f.write('\0'.join(names))
with open('engines.csv', 'w', encoding='utf-8', newline='') as f:
    csv.writer(f).writerows([['engine', 'family']] + [[n, 'two'] for n in names])
with open('readings.csv', 'w', encoding='utf-8', newline='') as f:
    w = csv.writer(f)
    w.writerow('engine,date,meter,meter_unit,quantity,at,found,left,unit'.split(','))
    for n in names:
        w.writerow([n, '2026-01-05', 50, 'h', 'lash', '3E', 0.19, '', 'mm'])
END
file="Grüße, \"$(printf 'x%.0s' 1 2 3 4 5 6 7 8 9 10)\" =1.v2.db"
run "$bin/valve-book" --as-of 2026-02-01 --no-end "$file" families.csv engines.csv readings.csv
is 'the book takes them' "$status|$err" '0|'
cp "$file" text.db
run "$alert" --as-of 2026-02-05 --from 'Ölwechsel, "Team" <a@b.example>' "$file"
is 'there is a message' "$status|$err" '0|'
cp .out message
"$alert" --as-of 2026-02-05 --text text.db >text
"$bin/valve-due" --as-of 2026-02-05 --format csv text.db >due.csv
cat >look.py <<'END'
import csv, email, email.policy, html.parser, io, re, sys, unicodedata

names = open('names.out', encoding='utf-8', newline='').read().split('\0')
m = email.message_from_bytes(open('message', 'rb').read(), policy=email.policy.default)
text, page, sheet = [p for p in m.walk() if not p.is_multipart()]
shown = [re.sub('[\0-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]', '?', n) for n in names]
book = 'Grüße, "xxxxxxxxxx" =1.v2'
def say(what, good):
    print('%s: %s' % (what, 'ok' if good else 'no'))

body = text.get_content()
say('subject', m['Subject'] == '%s: 46 new - ??Bcc: e@f.example lash 3E over' % book)
say('nobody else gets it', m['To'] == m['From'] and m['Bcc'] is None)
say('heading', body.split('\n')[0] == book + ' as of 2026-02-05: 46 new')
say('text: every name, and nothing that moves a cursor',
    all('  over  %s  ' % n in body for n in shown) and not re.search('[\0-\x09\x0b-\x1f\x7f-\x9f]', body))
def cells(n): # of a terminal
    return sum(2 if unicodedata.east_asian_width(c) in 'WF' else 1 for c in n)
short = max(cells(n) for n in shown if cells(n) <= 24)
say('text: columns stand below each other', all('\n  over  %s%s  lash      3E    due ' % (n, ' ' * (short - cells(n)))
                                                in body for n in shown))
say('text: two lines an alert', body.count('\n        0.190 mm, tight limit 0.200 mm; no rate yet (1 reading)\n') == 23)
say('text: the cautions close it', body.rstrip().endswith('engine is safe to run.'))
say('text: as --text has it', open('text', encoding='utf-8').read().split('\n')[1:] == body.split('\n')[1:])

class Page(html.parser.HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.items, self.text, self.stack = set(), [], '', []
    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attrs = getattr(self, 'attrs', []) + attrs
        if tag not in ('meta', 'br'): self.stack.append(tag)
        if tag == 'li': self.items.append('')
        if tag == 'br' and self.items and 'li' in self.stack: self.items[-1] += '\n'
    def handle_endtag(self, tag):
        if self.stack.pop() != tag: raise SystemExit('tags do not match')
    def handle_data(self, data):
        self.text += data
        if 'li' in self.stack: self.items[-1] += data
p = Page()
p.feed(page.get_content())
say('page: only the tags of the letter', p.tags == {'html', 'head', 'meta', 'title', 'body',
    'h1', 'h2', 'p', 'b', 'br', 'ul', 'li', 'code'} and not p.stack)
say('page: no style, script, link or image', {k for k, _ in p.attrs} <= {'lang', 'charset', 'name', 'content'})
def page_name(n): # as valvebook/html.h has it
    n = re.sub('[\t\n\r\u2028\u2029]', ' ', n)
    return re.sub('[\0-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]', '\ufffd', n)
say('page: every name is text', all(any(i.startswith('over %s lash 3E: due ' % page_name(n)) for i in p.items) for n in names))
say('page: all alerts, with the reason', len(p.items) == 46 and
    sum('\n0.190 mm, tight limit 0.200 mm; no rate yet (1 reading)' in i for i in p.items) == 23)
say('page: the cautions close it', p.text.rstrip().endswith('engine is safe to run.'))

raw = sheet.get_payload(decode=True)
say('sheet: a byte order mark and CR LF', raw[:3] == b'\xef\xbb\xbf' and
    raw.count(b'\r\n') == raw.count(b'\n') == 47)
rows = list(csv.reader(io.StringIO(raw.decode('utf-8-sig'), newline='')))
due = list(csv.reader(open('due.csv', encoding='utf-8', newline='')))
say('sheet: the columns of valve-due', rows[0] == due[0])
say('sheet: no formula', not any(c[:1] in '=+-@\t\r' for r in rows for c in r if c))
say('sheet: no text that a spreadsheet takes for a number',
    not any(re.fullmatch('[0-9]+(E[0-9]+)?', r[i]) for r in rows for i in (0, 1, 2, 10)))
def guarded(c): return "'" + c if c[:1] in ('=', '+', '-', '@') or c in ('0012', '3E', '3E1', '.5') else c
want = [[guarded(re.sub('[\0-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]', '?', c)) if i in (0, 1, 2, 10) else c
         for i, c in enumerate(r)] for r in due]
say('sheet: else the same', rows[1:] == want[1:])
say('sheet: its name', sheet.get_filename() == book + '-due-2026-02-05.csv')
END
run python3 look.py
is 'the reader runs' "$status|$err" '0|'
printf '%s\n' "$out" >said
while IFS= read -r line; do
    is "${line%: *}" "${line##*: }" ok
done <said
is 'all was looked at' "$(wc -l <said | tr -d ' ')" 19
is 'machines get names as they are' "$(grep -c -e '^=cmd' -e '^-2+3' -e '^0012' due.csv)" 6
run "$alert" --list --format csv "$file"
is 'and so does --list' "$(printf '%s\n' "$out" | grep -c -e '^=cmd' -e '^-2+3' -e '^0012')" 6
run "$alert" --ack "$(printf '\r\nBcc: e@f.example')" --ack '=1+1,"2"/lash' --ack "$(printf 'a\r\nb')" "$file"
is 'any of them can be acknowledged' "$status|$err" "1|valve-alert: $file: no alert 'a??b' stands"
is 'which is remembered' "$(sqlite3 "$file" "SELECT count(*) FROM alerts WHERE acked <> ''")" 3

# the page by itself
validate=$top/build/npm/node_modules/.bin/html-validate
if [ -x "$validate" ] && command -v node >/dev/null 2>&1; then
    mkdir page
    echo '{"root": true, "extends": ["html-validate:recommended"]}' >page/.htmlvalidate.json
    python3 -c 'import email, email.policy, sys
m = email.message_from_bytes(open("message", "rb").read(), policy=email.policy.default)
open("page/page.html", "w", encoding="utf-8").write([p for p in m.walk()][3].get_content())'
    ok 'html-validate finds nothing' "$validate" page/page.html
else
    skip 'html-validate finds nothing' 'the npm package html-validate is not installed (make deps)'
fi

# an attachment that is large, and what changes between two messages
printf 'engine,date,event\nD-01,2026-02-06,end\n' >end.csv
"$bin/valve-book" --as-of 2026-02-06 "$file" end.csv
mkdir shop.d
"$alert" --as-of 2026-02-06 --dry-run "$file" >message
cp "$file" shop.d/shop
"$alert" --as-of 2026-02-06 --dry-run "$work/shop.d/shop" | grep '^Subject' >subject
is 'a name without an ending, in a directory that has one' "$(cut -d' ' -f2 subject)" shop:
run python3 - <<'END'
import email, email.policy
m = email.message_from_bytes(open('message', 'rb').read(), policy=email.policy.default)
text, page, sheet = [p.get_content() for p in m.walk() if not p.is_multipart()]
print(m['Subject'].split(': ')[-1])
print(text.split('\n')[0].split(': ')[-1])
i = text.index('CLEARED')
print('\n'.join(' '.join(l.split()) for l in text[i:].split('\n')[:3]))
j = page.index('<h2>Cleared')
print(page[j:].split('</ul>')[0].strip())
print('D-01' in sheet, *[l for l in text.split('\n') if l.isupper()],
      *[l for l in page.split('\n') if l[:4] == '<h2>'])
print(*[n in t for n in ('3E1', 'Bcc') for t in (text, page)])
END
is 'what is over is cleared, what is acknowledged is counted' "$status|$err|$out" '0||2 cleared - ?[2J? lash 3E over
41 still, 2 cleared; 3 acknowledged, not listed
CLEARED
over D-01 lash 3E said first 2026-02-05
due D-01 unread said first 2026-02-05
<h2>Cleared</h2>
<ul>
<li><b>over</b> D-01 lash 3E: said first 2026-02-05</li>
<li><b>due</b> D-01 unread: said first 2026-02-05</li>
False STILL CLEARED <h2>Still</h2> <h2>Cleared</h2>
True True False False'

# a planned interval that is over by the meter
printf 'family,side,key,value,unit\nplan,,relash_interval,100,h\nplan,E,valves,1,\nplan,,cylinders,1,\n' >families.csv
printf 'engine,family\nR-1,plan\n' >engines.csv
printf '%s\n' engine,date,meter,meter_unit,quantity,at,found,left,unit \
    R-1,2026-01-01,0,h,lash,1E,,0.3,mm R-1,2026-01-16,150,h,lash,1E,0.3,,mm >readings.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end plan.db families.csv engines.csv readings.csv
run "$alert" --text --as-of 2026-02-01 plan.db
is 'what is past is said to be' "$(printf '%s\n' "$out" | grep -F R-1)" \
    '  over  R-1  interval        due 2026-01-11 or at 100 h, 50 h past'

# more stand than anybody reads: the new one and the first fifty are written out
printf 'family,side,key,value,unit\none,,cylinders,1,\none,E,valves,1,\none,I,valves,1,\none,E,lash_min,0.2,mm\n' \
    >families.csv
{
    echo engine,family
    printf 'Q-%02d,one\n' $(seq 61)
    echo far,one
} >engines.csv
heading=engine,date,meter,meter_unit,quantity,at,found,left,unit
{
    echo $heading
    printf "Q-%02d,2026-01-01,10,h,lash,1E,0.19,,mm\n" $(seq 60)
    echo Q-61,2026-01-01,10,h,lash,1E,0.3,,mm
    printf "Q-%02d,2026-01-01,10,h,lash,1I,0.3,,mm\n" $(seq 61)
    echo far,2026-01-01,90,h,lash,1I,0.3,,mm
    printf 'far,2025-%02d-01,%d,h,lash,1E,0.%d,,mm\n' 1 0 400 2 20 3980 3 40 3962 4 60 3939 5 80 3921
} >readings.csv
exact readings.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end many.db families.csv engines.csv readings.csv
"$alert" --as-of 2026-02-01 --within 30d many.db >message
is 'nothing new is left out' "$(grep -c '  over  Q-[0-9]*  lash      1E' message)" 60
printf '%s\nQ-61,2026-02-02,10,h,lash,1E,0.18,,mm\n' $heading >more.csv
"$bin/valve-book" --as-of 2026-02-02 --no-end many.db more.csv
run "$alert" --text --as-of 2026-02-02 --within 30d --dry-run many.db
is 'what stands is written out fifty times' "$(printf '%s\n' "$out" | grep -c '  over  Q-')" 51
is 'the new one first' "$(printf '%s\n' "$out" | sed -n '1p;/^NEW/,/over/p;/and .* more/p')" \
    'many as of 2026-02-02: 1 new, 60 still
NEW
  over  Q-61  lash      1E    due at 10 h, 0 h left
  and 10 more: valve-alert --list BOOK'
"$alert" --as-of 2026-02-02 --within 30d --dry-run many.db >message
"$bin/valve-due" --format csv --as-of 2026-02-02 many.db >due.csv
"$bin/valve-due" --format csv --as-of 2026-02-02 --within 30d many.db >within.csv
run python3 - <<'END'
import csv, email, email.policy, io
m = email.message_from_bytes(open('message', 'rb').read(), policy=email.policy.default)
text, page, sheet = [p.get_content() for p in m.walk() if not p.is_multipart()]
print(text.count('  over  Q-'), page.count('<li><b>over</b> Q-'), '<p>and 10 more: valve-alert --list BOOK</p>' in page)
rows = list(csv.reader(io.StringIO(sheet.decode('utf-8-sig') if isinstance(sheet, bytes) else sheet.lstrip('\ufeff'))))
names = lambda f: [r[0] for r in csv.reader(open(f))][1:]
print([r[0] for r in rows[1:]] == names('within.csv'), 'far' in names('due.csv'), 'far' in names('within.csv'))
END
is 'as mail too, with all within the horizon attached' "$status|$err|$out" '0||51 51 True
True True False'

# what is doubted of a family has its name, and that of an engine, which stand there as they
# were stated; lines end where python's textwrap ends them
esc=$(printf '\033[2J')
turn=$(printf '\342\200\256')
long=$(printf 'ü%.0s' $(seq 35))
{
    echo family,side,key,value,unit
    printf '%s\n' "$esc$turn$long,,cylinders,1," "$esc$turn$long,E,valves,1," \
        "$esc$turn$long,,relash_interval,100,km" "$esc$turn$long,,relash_days,10,d"
} >families.csv
printf 'engine,family\n%s,%s\n' "$esc$turn" "$esc$turn$long" >engines.csv
printf '%s\n%s,2026-01-01,10,h,lash,1E,0.19,0.2,mm\n' $heading "$esc$turn" >readings.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end doubt.db families.csv engines.csv readings.csv
run "$alert" --as-of 2026-02-01 --text doubt.db
is 'what is doubted is shown as other names are' "$(printf '%s\n' "$out" | sed -n '/^family/,/^$/p')" \
    "family ?[2J?$long: no lash_min, lash_max or
seat_limit is stated for side E: by lash and seats nothing of it is ever due
family ?[2J?$long: relash_interval is in km, the
meter of ?[2J? runs in h: no interval by meter is due there"
done_testing
