# The page of valve-set for 24 valves, printed by a browser: one sheet of A4 with all of it on.
. tests/tap.sh

browser=
for b in chromium chromium-browser google-chrome; do
    [ "$browser" ] || browser=$(command -v "$b")
done
if [ -z "$browser" ] || ! command -v pdfinfo >/dev/null 2>&1; then
    skip "24 valves print on one sheet" "no chromium, or no pdfinfo (poppler-utils)"
    done_testing
    exit 0
fi
cd "$work" || exit 1

# Six cylinders of four valves. All shims are wrong, one is not known, the shelf has a few.
cat >families.csv <<'END'
family,side,key,value,unit
six24,,cylinders,6,
six24,I,valves,2,
six24,E,valves,2,
six24,,firing_order,1-5-3-6-2-4,
six24,,adjuster,shim,
six24,I,lash_min,0.15,mm
six24,I,lash_max,0.25,mm
six24,I,lash_target,0.20,mm
six24,E,lash_min,0.25,mm
six24,E,lash_max,0.35,mm
six24,E,lash_target,0.30,mm
six24,,lash_growth,0.0004,mm/Cel
six24,,shim_min,2.30,mm
six24,,shim_max,2.80,mm
six24,,shim_step,0.05,mm
END
printf 'engine,family\nT-24,six24\n' >engines.csv
printf 'thickness,unit,count\n2.375,mm,1\n2.400,mm,2\n2.425,mm,1\n2.450,mm,3\n' >shims.csv
awk 'BEGIN {
    print "engine,date,meter,meter_unit,quantity,at,found,left,unit,temp_c"
    for (c = 1; c <= 6; c++)
        for (k = 0; k < 4; k++) {
            at = c substr("IE", int(k / 2) + 1, 1) k % 2 + 1
            lash = (k < 2 ? 0.2 : 0.3) - 0.03 - (c * 7 + k * 5) % 11 / 100
            printf "T-24,2026-11-01,90,h,lash,%s,%.2f,,mm,26\n", at, lash
            if (at != "3I2")
                printf "T-24,2026-11-01,90,h,shim,%s,%.3f,,mm,\n", at, 2.4 + (c * 5 + k * 3) % 9 / 40
        }
}' >readings.csv
run "$bin/valve-book" --as-of 2026-11-01 --no-end shop.db families.csv engines.csv readings.csv
is "the book takes it" "$status$err" 0
# and an engine of which no shim was ever noted: the longest tasks there are
grep -v ,shim, readings.csv >lash.csv
run "$bin/valve-book" --as-of 2026-11-01 --no-end bare.db families.csv engines.csv lash.csv
is "so does another" "$status$err" 0

# printed NAME OPTIONS: one page of A4 that has every valve and the cautions, of $book
book=shop.db
printed() {
    name=$1
    shift
    run "$bin/valve-set" --as-of 2026-11-01 --engine T-24 --format html "$@" "$book"
    printf '%s\n' "$out" >"$name.html"
    is "$name: a page" "$status$err" 0
    "$browser" --headless --no-sandbox --disable-gpu --no-pdf-header-footer \
        --user-data-dir="$work/profile" --print-to-pdf="$work/$name.pdf" \
        "file://$work/$name.html" >"$name.log" 2>&1
    is "$name: one sheet of A4" \
        "$(pdfinfo "$name.pdf" 2>/dev/null | awk '$1 == "Pages:" { p = $2 } /^Page size/ { s = $NF } END { print p, s }')" \
        "1 (A4)"
    pdftotext -layout "$name.pdf" "$name.txt" 2>/dev/null
    is "$name: every valve is on it" "$(grep -c '^ *\([0-9]*°\|[1-6] [a-z].*\|set [1-6]\)\{0,1\} *[1-6][IE][12] ' "$name.txt")" 24
    is "$name: and the cautions" "$(grep -c 'qualified mechanic' "$name.txt")" 1
}
printed cylinders --all --shims shims.csv
printed two --all --shims shims.csv --order two
printed opposite --order opposite
printed plan --plan --all --shims shims.csv
printed inches --all --shims shims.csv --length in
printed thousandths --length thou
book=bare.db
printed unmeasured --all
printed companions --all --order opposite
printed unmeasured-inches --all --length in
# nor is it stated what sets the lash: by so much
grep -v adjuster families.csv >screwless.csv
run "$bin/valve-book" --as-of 2026-11-01 --no-end by.db screwless.csv engines.csv lash.csv
is "and a third" "$status$err" 0
book=by.db
printed by --all
printed by-inches --all --length in
done_testing
