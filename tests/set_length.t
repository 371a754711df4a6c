# valve-set for a mechanic whose blades are marked in inches: every figure by hand, 1 in = 25.4 mm.
. tests/tap.sh
set=$bin/valve-set
cd "$work" || exit 1

# A target of 0.008 in is 0.2032 mm in the book, a u of 0.0005 in 0.0127 mm. It has two digits with
# five decimals of an inch, 0.00050, and with two of a thousandth; its guard band is 1.645 times that,
# 0.0008 in. So 0.0130 is out of 0.006 to 0.010, and (0.013 - 0.008) in are 0.127 mm.
cat >families.csv <<'END'
family,side,key,value,unit
inch2,,cylinders,2,
inch2,I,valves,1,
inch2,,firing_order,1-2,
inch2,,adjuster,screw,
inch2,,screw_pitch,0.05,in
inch2,I,lash_min,0.006,in
inch2,I,lash_max,10,thou
inch2,I,lash_target,0.008,in
hand2,,cylinders,2,
hand2,I,valves,1,
hand2,I,lash_min,0.006,in
hand2,I,lash_max,0.010,in
hand2,I,lash_target,0.008,in
shim2,,cylinders,2,
shim2,I,valves,1,
shim2,,adjuster,shim,
shim2,I,lash_min,0.006,in
shim2,I,lash_max,0.010,in
shim2,I,lash_target,0.008,in
shim2,,shim_min,2.30,mm
shim2,,shim_max,2.70,mm
shim2,,shim_step,0.05,mm
END
printf 'engine,family\nS-1,inch2\nB-1,hand2\nM-1,shim2\n' >engines.csv
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit,u
S-1,2026-02-01,500,h,lash,1I,0.013,,in,0.0005
S-1,2026-02-01,500,h,lash,2I,8.5,,thou,0.5
B-1,2026-02-01,10,h,lash,1I,0.013,,in,0.0005
B-1,2026-02-01,10,h,lash,2I,0.003,,in,0.0005
M-1,2026-02-01,70,h,lash,1I,0.013,,in,0.0005
M-1,2026-02-01,70,h,shim,1I,2.500,,mm,
M-1,2026-02-01,70,h,lash,2I,0.004,,in,0.0005
END
run "$bin/valve-book" --as-of 2026-02-01 --no-end shop.db families.csv engines.csv readings.csv
is "the book takes it" "$status$err" 0

# sheet ENGINE OPTIONS: for people
sheet() {
    engine=$1
    shift
    run "$set" --as-of 2026-02-01 --format table --engine "$engine" "$@" shop.db
}
# rows: of the last sheet, from the headings on, one blank between words
rows() {
    printf '%s\n' "$out" | sed -n '/^crank deg/,/^$/p' | tr -s ' ' | sed 's/^ //; /^$/d'
}

# (0.013 - 0.008) / 0.05 = 0.1 turn, 36 degrees
sheet S-1
is "in mm if nothing is said" "$status$err $(rows)" \
    "0 crank deg at TDC valve read found mm ± mm target mm window mm is do then reads mm left mm
0 1 fires, 2 rocks 1I 2026-02-01 0.330 0.013 0.203 0.152-0.254 out in 0.10 turn, 36° 0.203 _____
360 2 fires, 1 rocks 2I 2026-02-01 0.216 0.013 0.203 0.152-0.254 in leave 0.216 _____"
in_mm=$out
sheet S-1 --length mm
is "which is what mm says" "$out" "$in_mm"
sheet S-1 --length in
is "in inches" "$status$err $(rows)" \
    "0 crank deg at TDC valve read found inch ± inch target inch window inch is do then reads inch left inch
0 1 fires, 2 rocks 1I 2026-02-01 0.01300 0.00050 0.0080 0.0060-0.0100 out in 0.10 turn, 36° 0.0080 _____
360 2 fires, 1 rocks 2I 2026-02-01 0.00850 0.00050 0.0080 0.0060-0.0100 in leave 0.0085 _____"
is "and it says so" "$(printf '%s\n' "$out" | grep -c '^Lash in inches at the valve tip')$(printf '%s\n' "$out" | grep -cw mm)" 10
sheet S-1 --length thou
is "in thousandths" "$status$err $(rows)" \
    "0 crank deg at TDC valve read found thou ± thou target thou window thou is do then reads thou left thou
0 1 fires, 2 rocks 1I 2026-02-01 13.00 0.50 8.0 6.0-10.0 out in 0.10 turn, 36° 8.0 _____
360 2 fires, 1 rocks 2I 2026-02-01 8.50 0.50 8.0 6.0-10.0 in leave 8.5 _____"
is "and it says what these are" \
    "$(printf '%s\n' "$out" | grep -c '^Lash in thou (0.001 inch) at')$(printf '%s\n' "$out" | grep -cw mm)" 10

sheet B-1 --length in
is "by how much, where it is not stated with what" "$(printf '%s\n' "$out" | grep -o '[a-z]* by 0.*h  ' | tr -s ' ')" \
    "tighten by 0.0050 inch ${nl}loosen by 0.0050 inch "
sheet B-1 --length thou
is "in thousandths too" "$(printf '%s\n' "$out" | grep -o '[a-z]* by [0-9.]* thou')" \
    "tighten by 5.0 thou${nl}loosen by 5.0 thou"

# 1I wants 2.500 + 0.127 = 2.627; to be had is 2.650, 0.023 mm more: 0.18 mm, 0.00710 in. On the shelf is
# 0.1034 in, 2.62636 mm, kept as 2.6264: 0.3302 + 2.5 - 2.6264 = 0.2038, 0.0080 in.
# 2I has no shim on record; 0.008 - 0.004 in are 0.1016 mm.
sheet M-1 --length in
is "shims are in mm" "$(rows | grep -o 'shims in mm\|2\.500.*buy.*\|measure shim.*')" \
    "shims in mm
2.500 → 2.650, buy 0.0071 _____
measure shim, 0.102 thinner 0.0080 _____"
is "and in inches beside it" "$(printf '%s\n' "$out" | grep -e '^Buy' -e '^Left' -e '^Shims')" \
    "Shims in mm, as most are stamped; compare with what is on yours.
Buy: 1 x 2.650 mm (0.1043 inch)
Left over: 1 x 2.500 mm (0.0984 inch)"
printf 'thickness,unit,count\n0.1034,in,1\n' >shims.csv
sheet M-1 --length thou --shims shims.csv
is "one that is stamped in inches is found by these" "$(printf '%s\n' "$out" | grep -e '^Fetch'; rows | grep -o '2.500 → .*')" \
    "Fetch from stock: 1 x 2.626 mm (103.4 thou)
2.500 → 2.626, stock 8.0 _____"

### a page
run "$set" --as-of 2026-02-01 --format html --engine S-1 --length in shop.db
is "a page in inches" "$status$err $(printf '%s\n' "$out" | grep -o '>found<br>inch<\|>target<br>inch<\|>window<br>inch<\|>reads<br>inch<\|>left<br>inch<\|>then<br>reads<br>inch<')" \
    "0 >found<br>inch<
>target<br>inch<
>window<br>inch<
>then<br>reads<br>inch<
>left<br>inch<"
is "its figures" "$(printf '%s\n' "$out" | grep '>1I<' | sed 's/<[^>]*>/ /g' | tr -s ' ')" \
    " 0° 1 fires, 2 rocks 1I 0.01300 ± 0.00050 0.0080 0.0060-0.0100 OUT in 0.10 turn, 36° 0.0080 "
run "$set" --as-of 2026-02-01 --format html --engine M-1 --length thou shop.db
is "a page with shims" "$(printf '%s\n' "$out" | grep -o '>do<br>shims in mm<\|<p>Buy.*')" \
    "<p>Buy: 1 x 2.650 mm (104.3 thou)</p>
>do<br>shims in mm<"

### what programs read stays in mm
# refused NAME OPTIONS: it would not be in the unit that was asked for
refused() {
    refused_name=$1
    shift
    run "$set" --as-of 2026-02-01 --engine S-1 "$@" shop.db
    is "$refused_name" "$status $out$(printf '%s\n' "$err" | head -n 1)" \
        "2 valve-set: --length in or thou goes with --format table or html: CSV and JSON are in mm"
}
refused "CSV" --length in --format csv
refused "JSON" --format json --length thou
refused "CSV since it is no terminal that it goes to" --length in
refused "CSV after all" --length thou --format html --format csv
run "$set" --as-of 2026-02-01 --engine S-1 shop.db
csv=$out
run "$set" --as-of 2026-02-01 --engine S-1 --length mm shop.db
is "mm goes with all" "$status $out" "0 $csv"
run "$set" --as-of 2026-02-01 --engine S-1 --length in --length mm --format json shop.db
is "the last one counts" "$status $(printf '%s\n' "$out" | grep -o '"target":[0-9.]*')" '0 "target":0.2032
"target":0.2032'
run "$set" --engine S-1 --length inch shop.db
is "a unit that nobody offers" "$status $(printf '%s\n' "$err" | head -n 1)" "2 valve-set: mm, in or thou, not 'inch'"
run "$set" --engine S-1 shop.db --length
is "no unit" "$status $(printf '%s\n' "$err" | head -n 1)" "2 valve-set: a value is needed behind '--length'"
run "$set" --recipe --length mm
is "a recipe has no unit of its own" "$status $(printf '%s\n' "$err" | head -n 1)" \
    "2 valve-set: --recipe goes with nothing else"
if command -v script >/dev/null 2>&1; then
    script -qec "'$set' --as-of 2026-02-01 --engine S-1 --length thou shop.db" /dev/null >terminal </dev/null
    is "a terminal gets a table" "$(grep -c '^Lash in thou' terminal)" 1
else
    skip "a terminal gets a table" 'no script(1)'
fi

### the way back
# 0.008 in are 0.2032 mm, 8.5 thou 0.2159 mm, 0.1034 in 2.62636 mm; a bare 0.21 is in mm
run "$set" --as-of 2026-02-01 --engine S-1 --format csv shop.db
printf '%s\n' "$out" | awk -F, -v OFS=, '$9 == "1I" { $28 = "0.008 in" } $9 == "2I" { $28 = "8.5 thou" } 1' >filled.csv
run "$set" --as-of 2026-02-01 --engine M-1 --format csv shop.db
printf '%s\n' "$out" | awk -F, -v OFS=, '$9 == "1I" { $22 = "0.1034 in"; $28 = "8\"" } $9 == "2I" { $28 = 0.21 } 1' |
    sed 's/8"/"0.008"""/' >shims-filled.csv
"$set" --recipe >recipe.csv
# tidied: places and values of what valve-tidy wrote, without its heading and its end
tidied() {
    printf '%s\n' "$out" | sed '1d;$d' | cut -d, -f1-9
}
run "$bin/valve-tidy" --recipe recipe.csv filled.csv
is "a cell may name its unit" "$status$err $(tidied)" \
    "0 S-1,2026-02-01,500,h,lash,1I,,0.2032,mm
S-1,2026-02-01,500,h,lash,2I,,0.2159,mm"
printf '%s\n' "$out" >back.csv
run "$bin/valve-tidy" --recipe recipe.csv shims-filled.csv
is "so may that of a shim, and the next cell none" "$status$err $(tidied)" \
    "0 M-1,2026-02-01,70,h,shim,1I,,2.62636,mm
M-1,2026-02-01,70,h,lash,1I,,0.2032,mm
M-1,2026-02-01,70,h,lash,2I,,0.21,mm"
# or the recipe says it of the whole column
sed 's/^left,lash,mm/left,lash,thou/' recipe.csv >thou.csv
sed 's/ thou//; s/0.008 in/8/' filled.csv >bare.csv
run "$bin/valve-tidy" --recipe thou.csv bare.csv
is "or the recipe" "$status$err $(tidied)" "0 S-1,2026-02-01,500,h,lash,1I,,0.2032,mm
S-1,2026-02-01,500,h,lash,2I,,0.2159,mm"
# 8 for 8 thou would be 8 mm
run "$bin/valve-tidy" --recipe recipe.csv bare.csv
is "bare thousandths are no mm" "$status $(printf '%s\n' "$err" | head -n 1)" \
    "1 valve-tidy: bare.csv:2: column 'left': 8 mm is no credible lash"
run "$bin/valve-book" --as-of 2026-02-01 shop.db back.csv
is "the book takes it back" "$status$err" 0
sheet S-1 --length thou --all
is "and the next sheet shows it as it was set" "$(rows | sed 1d | grep -o '[12]I .*' | cut -d ' ' -f 1,3-6)" \
    "1I 8.00 0.50 8.0 6.0-10.0${nl}2I 8.50 0.50 8.0 6.0-10.0"
done_testing
