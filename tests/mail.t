#!/bin/sh
# Messages read back by another program's parser, python's email package: what went in comes
# out, whatever it is. 200 messages of random names, subjects, files and bodies; SEED may be set.
. tests/tap.sh
writer=$PWD/$B/tests/mail_write
seed=${SEED:-1986}
if ! python3 -c 'import email' >/dev/null 2>&1; then
    skip 'messages are read back' 'no python3'
    done_testing
    exit 0
fi
cd "$work" || exit 1
cat >back.py <<'END'
import email, email.header, email.policy, email.utils, random, re, subprocess, sys

writer, seed = sys.argv[1], int(sys.argv[2])
rnd = random.Random(seed)
nasty = ['a', 'Z', '7', ' ', '  ', ',', ';', '"', '\\', '(', ')', '<', '@', ':', '.', "'", '%',
         '*', '=', '?', '_', '=?', '?=', 'ü', 'ß', 'Ö', '±', '漢', '🔧', '\u0301', '\u202e',
         '-- ', 'From ', '\t', 'x' * 70, 'Weber, Kurt']

def text(most, lines=False):
    pool = nasty + (['\n', '\n.\n', '\n\n', ' \n', '\r'] if lines else [])
    return ''.join(rnd.choice(pool) for _ in range(rnd.randint(0, most)))

def shown(s): # control characters of a header become '?'
    return re.sub('[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]', '?', s)

def put(name, data):
    with open(name, 'wb') as f:
        f.write(data)

bad = {}
def check(what, got, want):
    if got != want:
        bad.setdefault(what, 'case %d: %r, not %r' % (case, got, want))

for case in range(200):
    most = 4 if case % 3 == 0 else 40 if case % 3 == 1 else 120
    names = []
    for _ in range(rnd.randint(2, 6)):
        name = text(most).replace('\t', '').strip(' ')
        if name[:1] == '"' and name[-1:] == '"':
            name = 'q' + name
        if len(name.encode()) < 1024:
            names.append(name)
    if len(names) < 2:
        names = ['', 'x']
    addr = ['a.%d@depot-%d.example.org' % (i, case) for i in range(len(names))]
    box = ['%s <%s>' % pair if pair[0] else pair[1] for pair in zip(names, addr)]
    subject, file = text(most), (text(most) or 'a') + '.csv'
    body, html, csv = text(60, True), text(60, True), text(60, True)
    put('text', body.encode()); put('html', html.encode()); put('csv', csv.encode())
    eol = b'\r\n' if case % 2 else b'\n'
    raw = subprocess.run([writer, box[0], '\n'.join(box[1:]), subject, file, '20758.5',
                          'crlf' if case % 2 else 'lf', 'text', 'html', 'csv'],
                         stdout=subprocess.PIPE, check=True).stdout
    check('all is ASCII', max(raw) < 127 and min(raw) > 8, True)
    lines = raw.split(eol)
    check('no line is long', max(map(len, lines)) <= 78, True)
    check('all lines end alike', any(b'\r' in l or b'\n' in l for l in lines), False)
    check('it ends with a line', raw.endswith(eol), True)
    head = raw.split(eol + eol)[0].split(eol)
    check('a fold is followed by text', any(l.strip() == b'' for l in head), False)
    names_of_fields = [l.split(b':')[0].decode() for l in head if not l[:1].isspace()]
    check('fields', names_of_fields, ['Date', 'From', 'To', 'Subject', 'Message-ID',
                                      'Auto-Submitted', 'MIME-Version', 'Content-Type'])
    m = email.message_from_bytes(raw, policy=email.policy.default)
    def defects(part):
        found = list(part.defects)
        for value in part.values():
            found += getattr(value, 'defects', [])
        return found + [d for p in part.iter_parts() for d in defects(p)] \
            if part.is_multipart() else found
    check('no defects', [str(d) for d in defects(m)], [])
    old = email.message_from_bytes(raw) # RFC 2047 decoded by the older code
    def unfold(field):
        return str(email.header.make_header(email.header.decode_header(
            re.sub(r'\r?\n', '', old[field]))))
    check('subject', unfold('Subject').strip(' ') if subject.strip(' ') else '',
          shown(subject).strip(' '))
    for field, want in (('From', box[:1]), ('To', box[1:])):
        got = [(str(email.header.make_header(email.header.decode_header(n))), a) for n, a in
               email.utils.getaddresses([re.sub(r'\r?\n', '', old[field])])]
        k = 0 if field == 'From' else 1
        n = 1 if field == 'From' else len(names) - 1
        check(field, got, [(shown(x), y) for x, y in zip(names[k:k + n], addr[k:k + n])])
    check('date', m['Date'].datetime.isoformat(), '2026-11-01T12:00:00+00:00')
    check('id', m['Message-ID'], '<20261101.3.00112233445566ff@depot-%d.example.org>' % case)
    parts = [p.get_content_type() for p in m.walk()]
    check('parts', parts, ['multipart/mixed', 'multipart/alternative', 'text/plain',
                           'text/html', 'text/csv'])
    plain, rich, table = [p for p in m.walk() if not p.is_multipart()]
    for part, want in ((plain, body), (rich, html)):
        got = part.get_payload(decode=True).decode('utf-8')
        check(part.get_content_type(), got.replace('\r\n', '\n') if case % 2 else got, want)
        check('charset', part.get_content_charset(), 'utf-8')
    check('csv', table.get_payload(decode=True), csv.encode())
    check('disposition', table.get_content_disposition(), 'attachment')
    name = email.utils.collapse_rfc2231_value(
        email.message_from_bytes(raw).get_payload()[1].get_param('filename',
                                                                 header='content-disposition'))
    check('filename', re.sub(r'\r?\n', '', name), shown(file))

for what in ('all is ASCII', 'no line is long', 'all lines end alike', 'it ends with a line',
             'a fold is followed by text', 'fields', 'no defects', 'subject', 'From', 'To',
             'date', 'id', 'parts', 'text/plain', 'text/html', 'charset', 'csv',
             'disposition', 'filename'):
    print('%s: %s' % (what, bad.get(what, 'ok')))
END
run python3 back.py "$writer" "$seed"
is 'the reader runs' "$status $err" '0 '
printf '%s\n' "$out" >said
while IFS= read -r line; do
    is "200 messages, seed $seed: ${line%%:*}" "$line" "${line%%:*}: ok"
done <said
is 'all was looked at' "$(wc -l <said | tr -d ' ')" 19

printf x >one
# refused NAME FROM TO WHY: who would forge a header is named, and nothing is written
refused() {
    run "$writer" "$2" "$3" s n 1 lf one one one
    is "$1" "$status $out" "1 $4"
}
refused 'CR LF in a name' "$(printf "x\r\nBcc: e@f <a@b>")" a@b \
    "a control character in an address: 'x??Bcc: e@f <a@b>'"
refused 'a comma between addresses' 'a@b, c@d' a@b "no mail address: 'a@b, c@d'"
done_testing
