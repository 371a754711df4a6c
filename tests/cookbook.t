#!/bin/sh
# What stands in docs/cookbook.md works, in the order in which it stands, on the demo's shop.
# A block behind "<!-- file NAME -->" becomes that file; one behind "<!-- run -->" is run, and
# one behind "<!-- run PROGRAM -->" only where that program is.
. tests/tap.sh
server=$PWD/tests/tools/smtp_server.py
book=$PWD/docs/cookbook.md
run sh fixtures/demo/run.sh
is "the demo's shop is there" "$status" 0
cp -R "$B/demo" "$work/shop" || exit 1
cd "$work/shop" || exit 1
PATH=$bin:$PATH
export PATH

# blocks: NAME of a file or NNN.run with the commands; `order` has them in order
mkdir blocks
awk '
    /^<!-- (file|run)/ { what = $2; name = $3 == "-->" ? "" : $3; next }
    what != "" && /^```/ {
        if (inside) {
            close(to); what = ""; inside = 0
        } else {
            inside = 1
            to = what == "file" ? "blocks/" name : sprintf("blocks/%03d.run", ++n)
            print to, (what == "run" ? name : "-file") >"blocks/order"
        }
        next
    }
    inside { print >to }
    /^```/ && what == "" { loose++ }
    END { if (loose % 2) exit 1 }' "$book"
is 'blocks can be read' "$?" 0
ok 'there are files and commands' [ "$(grep -c -- -file blocks/order) $(grep -c run blocks/order)" = '8 17' ]

# a mail server for the blocks that send
python=
for p in /usr/bin/python3 python3; do
    if [ -z "$python" ] && "$p" -c 'import aiosmtpd' >/dev/null 2>&1; then
        python=$p
    fi
done
mkdir box
echo keep >box/mood
if [ "$python" ]; then
    "$python" "$server" box 2>/dev/null &
    pid=$!
    trap 'touch "$work/shop/box/stop"; wait $pid 2>/dev/null; rm -rf "$work"' EXIT
    i=0
    while [ ! -s box/port ] && [ $i -lt 100 ]; do sleep 0.1; i=$((i + 1)); done
fi
port=$(cat box/port 2>/dev/null)

# can FILE NEED: is there what a block needs?
can() {
    case $2 in
        '' | -file) return 0 ;;
        mail) [ "$port" ] && command -v "$(grep -o -w -e msmtp -e curl "$1" | head -n 1)" >/dev/null ;;
        *) command -v "$2" >/dev/null ;;
    esac
}
sent=0
while read -r file need; do
    name=$(basename "$file")
    case $need in
        -file) cp "$file" "$name"; continue ;;
    esac
    first=$(head -n 1 "$file" | cut -c1-60)
    can "$file" "$need" || { skip "$first" "no $need"; continue; }
    sed "s/mail.depot.example:25/127.0.0.1:$port/; s/mail.depot.example --port=25/127.0.0.1 --port=$port/
         s/valve-alert --from/valve-alert --as-of 2026-11-0$((sent + 1)) --remind 1d --from/" "$file" >go.sh
    run sh -e go.sh
    is "$first" "$status|$(printf '%s\n' "$err" | grep -v 'no credible lash')" '0|'
    printf '%s\n' "$out" >"$name.out"
    [ "$need" != mail ] || sent=$((sent + 1))
done <blocks/order

# a backup that comes to its end only in part
today=backup/$(date +%u)
cat "$today"/*.csv >before.all
mkdir -p fails
printf '#!/bin/sh\ncase $* in *readings*) echo "no room" >&2; exit 2 ;; esac\nexec "%s" "$@"\n' "$bin/valve-book" >fails/valve-book
chmod +x fails/valve-book
valve-book --as-of 2026-11-01 --no-end shop.db <<'END'
gauge,kind
later,feeler
END
(PATH=$PWD/fails:$PATH && run sh backup.sh && echo "$status|$err") >said
is 'a backup that fails says so' "$(cat said)" '2|no room'
cat "$today"/*.csv >after.all
ok 'and leaves that of before whole' cmp before.all after.all
run sh backup.sh
is 'the next one is whole' "$status|$(grep -c '^later,' "$today/gauges.csv")|$(ls -d backup/*)" "0|1|$today"

# what came of it
is 'mails have arrived' "$(grep -l '^Subject: shop: ' box/[0-9]* 2>/dev/null | wc -l | tr -d ' ')" "$sent"
ok 'what has been said is listed' grep -q '^HC-1 *seat *3E1' 003.run.out
is 'the board' "$(head -n 1 board.txt | cut -d: -f1)" 'shop as of 2026-11-10'
is 'what is acknowledged is not on it' "$(grep -c 'seat *3E1' board.txt)" 0
is 'the office, and the book made anew after a fault, have all readings' "$(valve-book --dump readings office.db | cksum)" "$(valve-book --dump readings shop.db | cksum)"
is 'a list of one depot, in order' "$(cut -d, -f1-3 depot-a-due.csv | tr '\n' ' ')" \
    'engine,kind,at D-02,lash,5I D-02,check,5I '
is 'and its mail' "$(head -n 1 depot-a.txt | cut -d: -f1)" 'shop, depot A as of 2026-11-11'
is 'a line an engine, and a sheet for it' "$(wc -l <depot-a-engines.csv | tr -d ' ') $(ls sheets)" '2 D-02.html'
ok 'a calendar' grep -q '^END:VCALENDAR' due.ics
ok 'pages, one of all and one an engine' [ "$(grep -l '^</html>' HC-1.html HC-2.html fleet.html | wc -l)" -eq 3 ]
ok 'each of its own' [ "$(grep -c '<figure>' HC-1.html)" -gt 4 ]
is 'metrics' "$(tail -n 1 valves.prom)" '# EOF'
for p in gnuplot Rscript; do
    command -v $p >/dev/null || skip "what $p makes" "no $p"
done
if command -v gnuplot >/dev/null; then
    ok 'what gnuplot makes: a point for each reading' [ "$(grep -c '<use ' 3E1.svg)" -ge \
        "$(awk -F, '{ n += ($2 != "") + ($3 != "") } END { print n }' 3E1.csv)" ]
fi
if command -v Rscript >/dev/null; then
    # the middle rate of a family and side by sort and awk
    want=$(valve-drift --as-of 2026-11-01 --format csv shop.db |
        awk -F, 'NR > 1 && $2 == "depot6" && $3 ~ /E/ && $11 != "" { print $11 }' | sort -g |
        awk '{ v[NR] = $1 } END { printf "%.5g", NR % 2 ? v[(NR + 1) / 2] : (v[NR / 2] + v[NR / 2 + 1]) / 2 }')
    last=$(ls ./*.run.out | tail -n 1)
    ok "what R makes: a median of $want" awk -v want="$want" '$2 == "depot6" && $3 == "E" {
        d = $4 - want; if (d < 0) d = -d; found = d < 1e-4 } END { exit !found }' "$last"
fi

# the night: twice, with a mailer that fails and one that does not, whatever day it is
sed 's/valve-alert --from/valve-alert --as-of 2026-12-01 --from/
     s/valve-book --rejects/valve-book --as-of 2026-12-01 --rejects/' blocks/night.sh >night.sh
mkdir -p inbox/depot-a inbox/wheel-hc2
rm rejects/* # of the demo
cp depot-a.csv inbox/depot-a/late.csv
printf 'D-77;19.10.2026;12.000;20;1;0,30;;0,40;;a\r\n' >>inbox/depot-a/late.csv # nobody knows this engine
printf 'no sheet\n' >inbox/depot-a/odd.csv
cp wheel-hc2.csv inbox/wheel-hc2/late.csv # without a fault
rm -f msg
MAILER='exit 1' sh night.sh >night.out 2>&1
ok 'a mailer that fails is told of' grep -q 'ended with status 1' night.out
MAILER='cat >msg' sh night.sh >night.out 2>&1
is 'the sheets are in, what is none waits' \
    "$(ls done | sed 's/^[-0-9]*T[0-9]*-[0-9]*-//' | tr '\n' ' ')$(cd inbox && ls -- */*.csv)" \
    'depot-a-late.csv wheel-hc2-late.csv depot-a/odd.csv'
ok 'the night has a message' grep -q '^To: Planner <planner@depot.example>$' msg
ok 'refused rows are kept' grep -q 'no credible lash' rejects/2*-depot-a-late.csv
is 'and those that the book refused' "$(grep -c "unknown engine 'D-77'" rejects/book-*-late.csv)" 2
is 'and nothing else lies there' "$(ls rejects | sed 's/[0-9]*-[0-9]*-[0-9]*T[0-9]*-[0-9]*-//' | sort -u | tr '\n' ' ')" \
    'book-depot-a-late.csv depot-a-late.csv '
cp depot-a.csv inbox/depot-a/late.csv
sleep 1
MAILER='cat >msg' sh night.sh >night.out 2>&1
is 'a second sheet of that name takes the place of none' "$(ls done | wc -l | tr -d ' ')" 3

# crontab: five fields and a command each, which works with the variables above it
awk '/^[A-Z]+=/ { sub("=", "=\""); print $0 "\"; export " substr($0, 1, index($0, "=") - 1) }' crontab |
    sed "s|^SHOP=.*export|SHOP=\"$PWD\"; export|; s|^PATH=\"|PATH=\"$bin:|" >cron.env
grep -v -e '^#' -e '^[A-Z]*=' crontab >cron.jobs
is 'jobs of the crontab' "$(wc -l <cron.jobs | tr -d ' ')" 4
ok 'have five fields of time' awk '{ for (i = 1; i <= 5; i++) if ($i !~ /^(\*|[0-9]+)$/) exit 1 }' cron.jobs
ok 'and no % in them' sh -c '! grep -q % cron.jobs'
rm -f due.ics msg
while read -r _ _ _ _ _ job; do
    (cd / && MAILER='cat >msg' env -i MAILER='cat >msg' sh -c ". '$work/shop/cron.env'; $job") >/dev/null 2>cron.err
    is "cron: $job" "$?|$(grep -v -e 'odd.csv' -e 'no end row' -e 'no credible lash' cron.err)" '0|'
done <cron.jobs
ok 'cron: the calendar is there' test -s due.ics

if command -v systemd-analyze >/dev/null 2>&1; then
    mkdir units
    sed "s|/srv/shop|$PWD|; s|^User=.*|User=root|" valvebook-night.service >units/valvebook-night.service
    cp valvebook-night.timer units
    run systemd-analyze verify units/valvebook-night.service units/valvebook-night.timer
    is 'systemd-analyze verify' "$status|$(printf '%s\n' "$err" | grep valvebook)" '0|'
else
    skip 'systemd-analyze verify' 'no systemd-analyze'
fi
done_testing
