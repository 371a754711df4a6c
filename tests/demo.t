# The demo, run as a newcomer runs it, and what must be true of its result: the true wear rates
# are known, because the data are made from them.
. tests/tap.sh

run sh fixtures/demo/run.sh
is "the demo runs" "$status" 0
is "its exports have one deliberate error each in four of seven" \
    "$(cat "$B"/demo/rejects/*.csv | grep -c -v '^source,')" 4
demo=$B/demo
book=$demo/shop.db

run "$bin/valve-due" --as-of 2026-11-01 --format csv "$book"
is "there is a due list" "$status" 0
is "the sinking seat heads the seats" \
    "$(printf '%s\n' "$out" | grep ',seat,' | head -n 1 | cut -d, -f1-3)" "HC-1,seat,3E1"
is "the wearing lobe heads the lash windows" \
    "$(printf '%s\n' "$out" | grep ',lash,' | head -n 1 | cut -d, -f1-3)" "D-02,lash,5I"
is "the unread valve is named" \
    "$(printf '%s\n' "$out" | grep ',unread,' | cut -d, -f1,11)" "HC-2,4E2 never read in build B2"
is "the late setting is named" \
    "$(printf '%s\n' "$out" | grep ',interval,' | head -n 1 | cut -d, -f1)" "D-05"

is "the jumped tooth is on the list" \
    "$(printf '%s\n' "$out" | grep ',timing,' | cut -d, -f1-3,11 | cut -d';' -f1)" \
    'HC-2,timing,E,"one tooth retarded'

run "$bin/valve-set" --as-of 2026-11-01 --engine HC-1 --all --shims "$demo/shims.csv" \
    --format csv "$book"
is "the setting sheet serves all valves, inside their limits, and the sinking seat first of all" \
    "$(printf '%s\n' "$out" | awk -F, 'NR > 1 { n++
        good += $25 >= $14 && $25 <= $15 && $17 ~ /swap|keep|leave/
        gain = $11 - $13; if (gain < 0) gain = -gain
        if ($17 == "swap" && gain > most) { most = gain; who = $9 } }
        END { print n, good, who }')" "16 16 3E1"

run "$bin/valve-drift" --as-of 2026-11-01 --format table "$book"
is "the lobe is the fastest of its family" \
    "$(printf '%s\n' "$out" | awk '$2 == "depot6" { print $1, $3; exit }')" "D-02 5I"
is "the seat is the fastest of its family" \
    "$(printf '%s\n' "$out" | awk '$2 == "hill16" { print $1, $3; exit }')" "HC-1 3E1"

run "$bin/valve-life" --as-of 2026-11-01 --what trend --format csv "$book"
is "every replaced seat is counted" "$(printf '%s\n' "$out" | awk -F, '$1 == "depot6" { print $6 }')" \
    "$(grep -c ',replace,seat,' "$demo/events.csv")"
run "$bin/valve-life" --as-of 2026-11-01 --what weibull --format csv "$book"
is "three seats lasted from one replacement to the next" \
    "$(printf '%s\n' "$out" | awk -F, '$1 == "depot6" && $2 == "E" && $3 == "seat" { print $5 }')" 3
run "$bin/valve-life" --as-of 2026-11-01 --what interval --format csv "$book"
is "intervals are advised for both families" \
    "$(printf '%s\n' "$out" | awk -F, 'NR > 1 && $5 > 0 && $5 < $6 { print $1, $12 }' | tr '\n' ' ')" "depot6 12 hill16 16 "

# Cams against the truth they were made from, each time they were timed: every shift from nominal within 3 u.
run "$bin/valve-timing" --all --as-of 2026-11-01 --format csv "$book"
is "every cam stands where it was put" "$status$(printf '%s\n' "$out" |
    awk -F, 'NR == FNR { if (FNR > 1) truth[$2 "," $3] = $4; next }
        $19 == "nominal" { n++; d = $27 - truth[$6 "," $3]; if (d < 0) d = -d; good += d <= 3 * $28 }
        END { print "", n, good }' "$demo/truth-timing.csv" -)" '0 8 8'

# Every rate against the truth it was made from: |estimate - truth| <= 2 standard errors for at
# least 19 valves in 20. The file of truths is engine,life,at,rate,kind.
run "$bin/valve-drift" --all --as-of 2026-11-01 --format csv "$book"
printf '%s\n' "$out" >"$work/drift.csv"
covered=$(awk -F, 'FNR == 1 { next }
    NR == FNR { truth[$1 "," $2 "," $3] = $4; next }
    $11 != "" && $12 != "" {
        n++
        d = $11 - truth[$1 "," $4 "," $3]
        if (d < 0) d = -d
        if (($1 "," $4 "," $3) in truth && d <= 2 * $12) good++
    }
    END { print n + 0, good + 0, (n > 100 && good >= 0.95 * n) ? "enough" : "too few" }' \
    "$demo/truth.csv" "$work/drift.csv")
echo "# rates, within two standard errors: $covered"
is "19 in 20 true rates lie within two standard errors" "${covered##* }" \
    "$(case $covered in *enough) echo enough ;; *) echo "enough, not $covered" ;; esac)"

# loading everything once more changes nothing
run "$bin/valve-book" --dump readings "$book"
before=$out
(cd "$demo" && "$bin/valve-book" --as-of 2026-11-01 shop.db ./*s.csv plan.csv readings/*.csv) \
    >"$work/again" 2>&1
run "$bin/valve-book" --dump readings "$book"
ok "loading again changes nothing" test "$before" = "$out"
is "the swapped meter runs on" \
    "$(sqlite3 "$book" "SELECT count(*) FROM visits WHERE engine = 'D-03' AND meter < 5000")" \
    "$(awk -F'[;|]' '/^D-03/ { gsub("[.]", "", $3); if ($3 + 0 < 5000) d[$2] = 1 } END { for (i in d) n++; print n + 0 }' "$demo/depot-a.csv")"

# a cam is named wherever a valve would be
run "$bin/valve-alert" --as-of 2026-11-01 --dry-run --text "$book"
is "the moved cam is an alert" "$(printf '%s\n' "$out" | grep timing)" \
    '  due   HC-2  timing    E     due 2026-11-01'
run "$bin/valve-due" --as-of 2026-11-01 --format ical "$book"
is "in a calendar" "$(printf '%s\n' "$out" | tr -d '\r' | grep timing.E)" 'SUMMARY:HC-2 timing E due'
run "$bin/valve-due" --as-of 2026-11-01 --format openmetrics "$book"
is "and in metrics" "$(printf '%s\n' "$out" | grep '^valvebook_due_days.*timing')" \
    'valvebook_due_days{engine="HC-2",kind="timing",valve="E"} 0'
done_testing
