#!/bin/sh
# valve-gauge: published and R's figures through the command, what cannot be studied, and the
# way into the book.
. tests/tap.sh
gauge=$bin/valve-gauge
cd "$work" || exit 1
heading='gauge,part,by,trial,value,unit'

# cells NAMES: of the rows in .out, the columns of these names, blank between them
cells() {
    awk -F, -v names="$1" '
    NR == 1 { n = split(names, want, " "); for (i = 1; i <= NF; i++) at[$i] = i; next }
    { for (i = 1; i <= n; i++) printf "%s%s", $at[want[i]], i < n ? " " : "\n" }' .out
}

### the study of the AIAG manual
# fixtures/reference/aiag_grr.csv: "part","op","trial","y"; deviations, here taken as mm
awk -F, -v h="$heading" 'NR == 1 { print h; next }
    { gsub(/"/, ""); print "dti-1," $1 "," $2 "," $3 "," $4 ",mm" }' \
    "$top/fixtures/reference/aiag_grr.csv" >aiag.csv
run "$gauge" --format csv aiag.csv
is 'AIAG: status, messages' "$status$err" 0
is 'AIAG: design and model' "$(cells 'gauge parts people trials readings model categories basis')" \
    'dti-1 10 3 3 90 without 4 crossed'
# variances as published: repeatability 0.03997, reproducibility 0.05146, gauge 0.09143, part
# 1.08645; gauge 7.76 % of variance, 27.86 % of study
is 'AIAG: components' "$(cells 'sd_repeat sd_people sd_gauge sd_part' |
    awk '{ printf "%.5f %.5f %.5f %.5f", $1 * $1, $2 * $2, $3 * $3, $4 * $4 }')" \
    '0.03997 0.05146 0.09143 1.08645'
is 'AIAG: shares' "$(cells 'share_gauge study_gauge share_total study_total' |
    awk '{ printf "%.2f %.2f %s %s", $1, $2, $3, $4 }')" '7.76 27.86 100 100'
is 'AIAG: no interaction' "$(cells 'p sd_interaction share_interaction study_interaction')" \
    '0.974106   '
# tests/r/gauge_u.R: 0.302371522322905 5.91836494332947 0.777270742896959
is 'AIAG: one reading' "$(cells 'u df expanded resolution u_resolution')" \
    '0.302372 5.918365 0.777271 0.01 0.002887'
cp .out want
{ sed 1q aiag.csv; sed 1d aiag.csv | sort -t, -k5; } |
    awk -F, -v OFS=, '{ print $6, $5, $4, $3, $2, $1 }' >turned.csv
run "$gauge" turned.csv
ok 'rows and columns in another order, CSV where there is no terminal' cmp .out want
sed -n '1,40p' aiag.csv >one.csv
sed -n '1p; 30,91p' aiag.csv | gzip -c >two.csv.gz
run "$gauge" one.csv two.csv.gz
is 'two files that overlap, one packed: the same row twice is one row' "$status$err" 0
ok 'two files that overlap: the same' cmp .out want
run "$gauge" - <aiag.csv
ok 'standard input' cmp .out want
run "$gauge" <aiag.csv
ok 'standard input without an operand' cmp .out want

### a study with interaction, in three units (tests/r/gauge.R and gauge_u.R: lash)
cat >values <<'END'
0.21 0.22 0.21 0.2 0.21 0.21 0.26 0.25 0.26 0.24 0.25 0.25
0.31 0.31 0.32 0.28 0.29 0.27 0.36 0.37 0.36 0.31 0.3 0.31
END
awk -v h="$heading" 'BEGIN { print h; split("1E 2E 3E 4E", part, " "); split("jo sam", by, " ") }
    { for (i = 1; i <= NF; i++) { k = n++; print "blade," part[int(k / 6) + 1] "," \
        by[int(k / 3) % 2 + 1] "," k % 3 + 1 "," $i ",mm" } }' values >lash.csv
run "$gauge" --format csv --tolerance 0.3mm lash.csv
is 'interaction: status, messages' "$status$err" 0
is 'interaction: model' "$(cells 'model p categories')" 'with 0.000014 3'
is 'interaction: shares of the standard deviation' \
    "$(cells 'study_repeat study_people study_interaction study_gauge study_part' |
        awk '{ printf "%.4f %.4f %.4f %.4f %.4f", $1, $2, $3, $4, $5 }')" \
    '11.0808 29.1302 27.4918 41.5590 90.9552'
is 'interaction: one reading, 6 u of 0.3 mm' "$(cells 'u df expanded tolerance_pct')" \
    '0.02421 2.450708 0.104166 48.419463'
cp .out want
awk -F, -v OFS=, 'NR > 1 { $5 = $5 * 1000; $6 = "um" } { print }' lash.csv >um.csv
run "$gauge" --tolerance 300um um.csv
ok 'the same in um' cmp .out want
awk -F, -v OFS=, 'NR > 1 && $2 == "1E" { $5 = $5 * 25.4 }
    NR > 1 && $2 != "1E" { $5 = $5 * 1000; $6 = "thou" } { print }' lash.csv >inch.csv
run "$gauge" inch.csv
# scaled by 25.4: shares stay, the step is 10 thou = 0.254 mm
is 'in thou, one part in mm' "$(cells 'gauge model p study_gauge sd_repeat resolution')" \
    'blade with 0.000014 41.558979 0.163956 0.254'

# a display that was switched: steps of 0.01 mm and 1 thou, and none of 0.0002 mm between
{
    echo "$heading"
    printf 'd,%s\n' 1E,jo,1,0.20,mm 2E,jo,1,0.21,mm 3E,jo,1,9,thou 4E,jo,1,11,thou 5E,jo,1,12,thou
} >switched.csv
run "$gauge" switched.csv
is 'in mm and thou: the coarser step' "$(cells resolution)" 0.0254

### what it looks like
cat >table.want <<'END'
Gauge blade: 4 parts, 2 people, 3 trials, 24 readings
  source                 sd mm  % of variance  % of study
  repeatability         0.0065            1.2        11.1
  person to person      0.0170            8.5        29.1
  person by part        0.0160            7.6        27.5
  gauge in all          0.0242           17.3        41.6
  part to part          0.0530           82.7        91.0
  total                 0.0583          100.0       100.0
  interaction        p 1.37e-05: people differ more on some parts than on others
  resolution mm         0.0100  step of the readings; u of it 0.0029
  u mm                  0.0242  one reading by one person, 2.5 degrees of freedom
  expanded mm           0.1042  95 % of readings are out by less, bias apart
  tolerance %             48.4  taken by six u, of 0.3000 mm
  verdict            3 distinct categories: enough to sort the parts, too coarse to follow wear
                     the gauge makes 41.6 % of the spread, most of that between people: agree on one way to read

Before working on an engine: turn it by hand only, with ignition, fuel and starting
END
run "$gauge" --format table --tolerance 0.3mm lash.csv
is 'table: status, messages' "$status$err" 0
is 'table' "$(head -n 17 .out)" "$(cat table.want)"
ok 'table: the cautions close it' grep -q '^engine is safe to run' .out
run "$gauge" --format json lash.csv
is 'JSON Lines' "$(cut -c 1-107 .out)" \
    '{"gauge":"blade","parts":4,"people":2,"trials":3,"readings":24,"model":"with","p":0.000014,"sd_repeat":0.00'
ok 'JSON Lines: what is not known is null' grep -q '"tolerance_pct":null,' .out
printf '%s\n' "$heading" >none.csv
for format in table csv json; do
    run "$gauge" --format $format none.csv
    is "no rows, $format" "$status$err $(head -n 1 .out | cut -c 1-9)" \
        "0 $(case $format in table) echo no trials ;; csv) echo gauge,par ;; esac)"
done
run "$gauge" --agree --format table none.csv
is 'no pair' "$status$err $(head -n 1 .out)" '0 no two gauges have read two of the same parts'

### into the book
run sh -c '"$1" --emit gauges lash.csv | "$2" shop.db' sh "$gauge" "$bin/valve-book"
is 'emit: the book takes it' "$status$err" 0
run "$bin/valve-book" --dump gauges shop.db
is 'emit: and has it' "$out" 'gauge,kind,resolution,unit,u,valid_until
blade,,0.01,mm,0.02421,'
run sh -c '"$1" --emit gauges lash.csv aiag.csv | "$2" shop.db' sh "$gauge" "$bin/valve-book"
is 'emit: again, with another gauge' "$status$err" 0
run "$bin/valve-book" --dump gauges shop.db
is 'emit: two rows' "$(sed 1d .out)" 'blade,,0.01,mm,0.02421,
dti-1,,0.01,mm,0.302372,'

### two gauges on the same valves (tests/r/gauge.R: dial, blade)
{
    echo "$heading"
    i=0
    for pair in 0.213:0.22 0.305:0.3 0.287:0.3 0.241:0.25 0.336:0.33 0.298:0.31 0.254:0.26 \
        0.312:0.32 0.229:0.24 0.271:0.27 0.344:0.36 0.262:0.26; do
        i=$((i + 1))
        echo "dial,v$i,jo,1,${pair%:*},mm"
        echo "feeler,v$i,jo,1,${pair#*:},mm"
    done
} >two.csv
run "$gauge" --agree --format csv two.csv
is 'agree: status, messages' "$status$err" 0
is 'agree: as R has it' "$out" \
    'first,second,parts,readings_first,readings_second,mean,mean_lo,mean_hi,sd,lower,lower_lo,lower_hi,upper,upper_lo,upper_hi,t,df,p,reads_more
dial,feeler,12,12,12,-0.005667,-0.010362,-0.000972,0.00739,-0.02015,-0.028411,-0.01189,0.008817,0.000556,0.017077,-2.656427,11,0.022329,feeler'
cat >agree.want <<'END'
Gauges dial and feeler: 12 parts, 12 and 12 readings
  first less second         mm  95 % confidence
  mean                 -0.0057  -0.0104 to -0.0010
  standard deviation    0.0074
  lower limit          -0.0202  -0.0284 to -0.0119
  upper limit           0.0088  0.0006 to 0.0171
  paired t               -2.66  11 degrees of freedom, p 0.0223
  verdict            feeler reads more than dial, by 0.0057 mm
                     95 % of differences lie between the limits

END
run "$gauge" --agree --format table two.csv
is 'agree: table' "$(head -n 9 .out)" "$(cat agree.want)"
ok 'agree: the cautions close it' grep -q '^engine is safe to run' .out
# the same a hundred times smaller: R's figures, and the uncertainties still have two digits
awk -F, -v OFS=, 'NR > 1 { $5 = sprintf("%.8f", $5 / 100) } { print }' two.csv >small.csv
run "$gauge" --agree --format table small.csv
is 'agree: small differences' "$(sed -n '3,4p; 8p' .out)" \
    '  mean               -0.000057  -0.000104 to -0.000010
  standard deviation  0.000074
  verdict            feeler reads more than dial, by 0.000057 mm'
run "$gauge" --format table two.csv
is 'two gauges: the comparison comes by itself' "$(sed -n '/^Gauges/,/^$/p' .out)" "$(cat agree.want)"
is 'two gauges: each is said to be no study' "$status$nl$err" "1
valve-gauge: gauge 'dial': one person, one trial only: resolution alone
valve-gauge: gauge 'feeler': one person, one trial only: resolution alone"
run "$gauge" --format csv two.csv
is 'resolution alone' "$(cells 'gauge resolution basis u df expanded sd_repeat')" \
    'dial 0.001 step 0.000289   
feeler 0.01 step 0.002887   '
run "$gauge" --emit gauges two.csv
is 'resolution alone is no u for the book' "$status $(sed 1d .out)" '1 dial,,0.001,mm,,
feeler,,0.01,mm,,'
# the dial read twice, 0.001 up and down: means count, and nothing changes
awk -F, -v OFS=, '$1 != "dial" { print; next } { v = $5
    $5 = v + 0.001; print; $4 = 2; $5 = v - 0.001; print }' two.csv >twice.csv
run "$gauge" --agree --format csv twice.csv
is 'means of a part' "$(sed 1d .out | cut -d, -f 3-8)" '12,24,12,-0.005667,-0.010362,-0.000972'
run "$gauge" --agree --format table twice.csv
ok 'means of a part: said' grep -q 'single ones differ more$' .out
sed 's/^feeler/wire/' two.csv | cat two.csv - | awk '!seen[$0]++' >three.csv
run "$gauge" --agree --format csv three.csv
is 'three gauges: three pairs, a gauge like another' "$(sed 1d .out | cut -d, -f 1,2,3,6,9,16,18,19)" \
    'dial,feeler,12,-0.005667,0.00739,-2.656427,0.022329,feeler
dial,wire,12,-0.005667,0.00739,-2.656427,0.022329,wire
feeler,wire,12,0,0,0,1,'
run "$gauge" --format table three.csv
ok 'three gauges: --agree is pointed out' grep -q '^3 pairs of gauges .*: --agree compares them$' .out
# 7 gauges read two parts: 7 * 6 / 2 pairs, in the order of their names
{
    echo "$heading"
    for i in a b c d e f g; do
        printf "$i,v1,jo,1,1,mm\n$i,v2,jo,1,2,mm\n"
    done
} >seven.csv
run "$gauge" --agree --format csv seven.csv
is 'seven gauges: 21 pairs' "$status$err $(sed 1d .out | cut -d, -f 1-6 | sed -n '$='; tail -n 1 .out)" \
    '0 21
f,g,2,2,2,0,0,0,0,0,0,0,0,0,0,0,1,1,'
# the dial reads 0.022, 0.025, 0.028 and 0.025 more
{
    echo "$heading"
    printf 'dial,v%s,mm\n' 1,jo,1,0.322 2,jo,1,0.425 3,jo,1,0.528 4,jo,1,0.225
    printf 'feeler,v%s,mm\n' 1,jo,1,0.30 2,jo,1,0.40 3,jo,1,0.50 4,jo,1,0.20
} >more.csv
run "$gauge" --agree --format csv more.csv
is 'the first reads more' "$(sed 1d .out | cut -d, -f 1-3,6,19)" 'dial,feeler,4,0.025,dial'
run "$gauge" --agree --format table more.csv
is 'the first reads more: in words' "$(sed -n 's/^  verdict *//p' .out)" \
    'dial reads more than feeler, by 0.0250 mm'
printf 'feeler,v1,jo,2,0.30,mm\n' | cat more.csv - >again.csv
run "$gauge" --agree --format table again.csv
ok 'the second read twice: said' grep -q 'single ones differ more$' .out
run "$gauge" --agree --format table three.csv
is 'three gauges: neither of two that are alike' "$(sed -n '/^Gauges feeler/,/^$/s/^  verdict *//p' .out)" \
    'neither is shown to read more'
printf '%s\na,v1,jo,1,1,mm\nb,v1,jo,1,1,mm\nb,v2,jo,1,1,mm\na,v3,jo,1,1,mm\n' "$heading" >apart.csv
run "$gauge" --agree --format csv apart.csv
is 'one part in common is no pair' "$status$err $(wc -l <.out | tr -d ' ')" '0 1'

### less than a study
# less NAME FILTER ERR CELLS: rows of lash.csv that awk keeps; basis, u, df and repeatability
less() {
    awk -F, "NR == 1 || ($2)" lash.csv >less.csv
    run "$gauge" --format csv less.csv
    is "$1: status, message" "$status $err" "${3:+1 valve-gauge: gauge 'blade': }${3:-0 }"
    is "$1: what is left" "$(cells 'basis u df sd_repeat resolution')" "$4"
}
# tests/r/gauge_u.R: within
less 'one person' '$3 == "jo"' 'one person only: repeatability alone' 'repeat 0.005774 8 0.005774 0.01'
run "$gauge" --format table less.csv
is 'one person: in words' "$(sed -n '2,6p' .out)" '  no crossed study   one person only
  repeatability mm      0.0058  8 degrees of freedom
  resolution mm         0.0100  step of the readings; u of it 0.0029
  u mm                  0.0058  one reading by one person, 8.0 degrees of freedom
  expanded mm           0.0133  95 % of readings are out by less, bias apart'
run "$gauge" --emit gauges less.csv
is 'one person: repeatability is emitted, and said' "$status $(sed 1d .out)" '1 blade,,0.01,mm,0.005774,'
less 'a missing trial' 'NR < 25' "part '4E' by 'sam' has no trial 3: repeatability alone" \
    'repeat 0.006583 15 0.006583 0.01'
# by hand: the sum of squares is 0.0006 in 14; of 1E alone 4/3 of 0.0001 in 4
less 'a missing person' '$2 != "2E" || $3 != "jo"' \
    "part '2E' by 'jo' has no trial 1: repeatability alone" 'repeat 0.006547 14 0.006547 0.01'
less 'one part' '$2 == "1E"' 'one part only: repeatability alone' 'repeat 0.005774 4 0.005774 0.01'
less 'one trial' '$4 == 1' 'one trial only: resolution alone' 'step 0.002887   0.01'
less 'one part, one trial' '$2 == "1E" && $4 == 1' 'one part, one trial only: resolution alone' \
    'step 0.002887   0.01'
less 'one part, one person' '$2 == "1E" && $3 == "jo"' 'one part, one person only: repeatability alone' \
    'repeat 0.005774 2 0.005774 0.01'
less 'one reading' 'NR == 2' 'one part, one person, one trial only: nothing can be said' 'none    '
less 'two people are enough' 1 '' 'crossed 0.02421 2.450708 0.006455 0.01'
# A coarse gauge that repeats itself to the step: u is that of the step, 0.05 / sqrt(12).
awk -F, -v OFS=, 'NR > 1 { $5 = 0.15 + 0.05 * substr($2, 1, 1) } { print }' lash.csv >coarse.csv
run "$gauge" --format csv coarse.csv
is 'a coarse gauge' "$status$err $(cells 'model p sd_gauge study_gauge categories resolution u df')" \
    '0 without 1 0 0  0.05 0.014434 '
run "$gauge" --format table coarse.csv
ok 'a coarse gauge: in words' grep -q 'the parts differ and the gauge shows no scatter at all' .out
ok 'a coarse gauge: why' grep -q 'its step is wider than the scatter of one hand' .out
awk -F, -v OFS=, 'NR > 1 { $5 = 0.3 } { print }' lash.csv >still.csv
run "$gauge" --format csv still.csv
is 'a gauge that always shows the same' "$status$err $(cells 'basis u resolution share_part')" '0 none   '
run "$gauge" --format table still.csv
ok 'a gauge that always shows the same: in words' grep -q 'no two readings differ' .out

### pairs of blades: the middle is read, and the width counts as the resolution
{
    echo "$heading"
    printf 'f,%s,mm\n' 1E,jo,1,0.20/0.30 1E,jo,2,'"0,20 / 0,30"' 1E,sam,1,0.20/0.30 1E,sam,2,0.15/0.25 \
        2E,jo,1,0.30/0.40 2E,jo,2,0.30/0.40 2E,sam,1,0.25/0.35 2E,sam,2,0.25/0.35 \
        3E,jo,1,0.40/0.50 3E,jo,2,0.45/0.55 3E,sam,1,0.35/0.45 3E,sam,2,0.40/0.50
} >pairs.csv
run "$gauge" --format csv pairs.csv
is 'blades: status, messages' "$status$err" 0
# tests/r/gauge_u.R, blades 0.1: 0.040181878170804 3.35476363636363 0.127876669724035
is 'blades: one reading' "$(cells 'model basis resolution u_resolution u df expanded')" \
    'without crossed 0.1 0.028868 0.040182 3.354764 0.127877'
cp .out pairs.want
# the middles as plain numbers: every component is the same, and the step is that between them
awk 'NR > 1 { gsub(/"/, ""); sub(/0,20 . 0,30/, "0.20/0.30"); split($0, c, ","); split(c[5], b, "/")
    $0 = c[1] "," c[2] "," c[3] "," c[4] "," (b[1] + b[2]) / 2 ",mm" } { print }' pairs.csv >middles.csv
run "$gauge" --format csv middles.csv
is 'blades: their middles scatter alike, and step by 0.05' \
    "$(cut -d, -f 1-26 .out) $(cells resolution)" "$(cut -d, -f 1-26 pairs.want) 0.05"
awk 'NR > 1 { gsub(/"/, ""); sub(/0,20 . 0,30/, "0.20/0.30"); split($0, c, ","); split(c[5], b, "/")
    $0 = c[1] "," c[2] "," c[3] "," c[4] "," b[1] * 1000 "/" b[2] * 1000 ",um" } { print }' pairs.csv >um.csv
run "$gauge" --format csv um.csv
ok 'blades in um: the same' cmp .out pairs.want
run "$gauge" --format table pairs.csv
is 'blades: in words' "$(sed -n '/^  resol/p; /spread/p' .out)" \
    "  resolution mm         0.1000  widest of 12 pairs of blades; u of it 0.0289
                     the gauge makes 32.2 % of the spread; its blades are wider apart than one hand scatters"
run "$gauge" --emit gauges pairs.csv
is 'blades: emitted' "$status $(sed 1d .out)" '0 f,,0.1,mm,0.040182,'
# once each: the width alone, 0.05 / sqrt(12) = 0.0144338 (JCGM 100:2008, 4.3.7)
once() { # NAME ROWS CELLS EMITTED
    { echo "$heading"; printf 'f,%s,mm\n' $2; } >once.csv
    run "$gauge" --format csv once.csv
    is "blades once: $1" "$status $(cells 'basis resolution u_resolution u df expanded')" "1 $3"
    run "$gauge" --emit gauges once.csv
    is "blades once: $1: emitted" "$(sed 1d .out)" "$4"
}
once 'one reading' 1E,jo,1,0.25/0.30 'step 0.05 0.014434 0.014434  ' 'f,,0.05,mm,0.014434,'
run "$gauge" --format table once.csv
is 'blades once: in words' "$(sed -n '3,5p' .out)" \
    "  resolution mm         0.0500  widest of 1 pair of blades; u of it 0.0144
  u mm                  0.0144  one reading by one person
  verdict            nothing was read twice: u is the width of the blades alone, a lower bound"
once 'the widest counts' '1E,jo,1,0.25/0.30 2E,jo,1,0.25/0.35' \
    'step 0.1 0.028868 0.028868  ' 'f,,0.1,mm,0.028868,'
# numbers among them have a step of their own: the coarser counts
once 'numbers of a finer step among them' '1E,jo,1,0.25/0.30 2E,jo,1,0.25 3E,jo,1,0.27' \
    'step 0.05 0.014434 0.014434  ' 'f,,0.05,mm,0.014434,'
once 'numbers of a coarser step among them' '1E,jo,1,0.2 2E,jo,1,0.25/0.30 3E,jo,1,0.4' \
    'step 0.2 0.057735 0.057735  ' 'f,,0.2,mm,,'
# read four times, always the same pair: nothing scatters, the width is all
{
    echo "$heading"
    printf 'f,%s,0.25/0.30,mm\n' 1E,jo,1 1E,jo,2 1E,sam,1 1E,sam,2 2E,jo,1 2E,jo,2 2E,sam,1 2E,sam,2
} >alike.csv
run "$gauge" --format csv alike.csv
is 'blades that always say the same' "$status$err $(cells 'basis sd_gauge study_gauge u verdict')" \
    '0 crossed 0  0.014434 1 distinct category: the gauge cannot tell these parts apart'
run "$gauge" --format table alike.csv
is 'blades that always say the same: no number that is none' "$(grep -c nan .out)" 0
sed '1n; s/^f/g/; s|0.25/0.30|0.300|' alike.csv | cat alike.csv - | awk '!seen[$0]++' >two.blades
run "$gauge" --agree --format csv two.blades
is 'blades against a dial: the middle counts' "$(sed 1d .out | cut -d, -f 1-8)" 'f,g,2,8,8,-0.025,-0.025,-0.025'
printf '%s\nd,1E,jo,1,"0,25",mm\nd,1E,jo,2,0.26,mm\n' "$heading" >comma.csv
run "$gauge" --format csv comma.csv
is 'a decimal comma' "$(cells 'readings resolution')" '2 0.01'

### rows that cannot be used
# refuses NAME ROW ERR: a row is refused by name, the others are used
refuses() {
    cp lash.csv bad.csv
    # shellcheck disable=SC2059
    printf "$2\n" >>bad.csv
    run "$gauge" --format csv --tolerance 0.3mm bad.csv
    is "$1: status, message" "$status $err" "1 valve-gauge: bad.csv:26: $3"
    ok "$1: the others are used" cmp .out want
}
refuses 'bad number' 'blade,5E,jo,1,0.2x,mm' "column 'value': bad number '0.2x'"
refuses 'a grouped number' 'blade,5E,jo,1,"1,234.5",mm' "column 'value': bad number '1,234.5'"
refuses 'half a pair' 'blade,5E,jo,1,0.25/,mm' "column 'value': bad number '0.25/'"
refuses 'three blades' 'blade,5E,jo,1,0.25/0.3/0.35,mm' "column 'value': bad number '0.25/0.3/0.35'"
order='the blade that goes comes first and is thinner, as in 0.25/0.30, not'
refuses 'the blade that does not go first' 'blade,5E,jo,1,0.30/0.25,mm' "column 'value': $order '0.30/0.25'"
refuses 'a pair of one blade' 'blade,5E,jo,1,0.3/0.30,mm' "column 'value': $order '0.3/0.30'"
refuses 'a pair where a number stood' 'blade,1E,jo,1,0.20/0.22,mm' \
    "column 'value': 0.2/0.22 mm here, 0.21 mm in line 2 of bad.csv"
refuses 'bad unit' 'blade,5E,jo,1,0.2,furlong' "column 'unit': not a unit of length: 'furlong'"
refuses 'a unit of another kind' 'blade,5E,jo,1,0.2,deg' "column 'unit': not a unit of length: 'deg'"
refuses 'no unit' 'blade,5E,jo,1,0.2,' "column 'unit': blank"
refuses 'no value' 'blade,5E,jo,1, ,mm' "column 'value': blank"
refuses 'no name' ',5E,jo,1,0.2,mm' "column 'gauge': blank"
refuses 'half a trial' 'blade,5E,jo,1.5,0.2,mm' "column 'trial': a trial is a whole number, not '1.5'"
refuses 'a trial below 0' 'blade,5E,jo,-1,0.2,mm' "column 'trial': a trial is a whole number, not '-1'"
refuses 'a trial in words' 'blade,5E,jo,first,0.2,mm' "column 'trial': a trial is a whole number, not 'first'"
refuses 'too many digits' 'blade,5E,jo,1,0.12345678901234567,in' \
    "column 'value': too many digits: '0.12345678901234567'"
refuses 'too many digits between two blades' 'blade,5E,jo,1,0.060000000000000001/0.060000000000000004,mm' \
    "column 'value': too many digits: '0.060000000000000001/0.060000000000000004'"
refuses 'a trial beyond all' 'blade,5E,jo,1000001,0.2,mm' "column 'trial': a trial is a whole number, not '1000001'"
refuses 'another value' 'blade,1E,jo,1,0.22,mm' "column 'value': 0.22 mm here, 0.21 mm in line 2 of bad.csv"
refuses 'a short row' 'blade,5E,jo,1' '4 cells where the heading has 6'
refuses 'a long row' 'blade,5E,jo,1,0.2,mm,x' '7 cells where the heading has 6'
refuses 'an open quote' '"blade,5E,jo,1,0.2,mm' 'unclosed quote'
refuses 'a NUL byte' 'blade,5E,j\0o,1,0.2,mm' 'NUL byte'
refuses 'control characters' 'blade,5E,jo,1,\033[2J,mm' "column 'value': bad number '?[2J'"
printf 'blade,1E,jo,1,210,um,,\n' | cat lash.csv - >same.csv
run "$gauge" --format csv --tolerance 0.3mm same.csv
is 'the same in another unit, and blank cells behind it' "$status$err" 0
ok 'the same in another unit: nothing changes' cmp .out want
# the quote of the first line closes in the third: one line is lost, not three
printf 'blade,5E,"jo,1,0.2,mm\nblade,1E,jo,1,0.21,mm\nblade,1E",jo,1,0.21,mm,,x\n' | cat lash.csv - >quote.csv
run "$gauge" --format csv --tolerance 0.3mm quote.csv
is 'a quote that closes lines below' "$status$nl$err" "1
valve-gauge: quote.csv:26: unclosed quote
valve-gauge: quote.csv:28: 8 cells where the heading has 6"
ok 'a quote that closes lines below: nothing changes' cmp .out want
seq 1 600 | awk -v h="$heading" 'BEGIN { print h } { print "d,v" $1 ",jo,1," $1 / 100 ",mm" }' >many.csv
run "$gauge" --format csv many.csv
is 'six hundred parts' "$(cells 'parts people trials readings resolution')" '600 1 1 600 0.01'
gzip -c many.csv | head -c 1000 >cut.csv.gz
run "$gauge" --format csv cut.csv.gz
is 'a packed file that was cut' "$status$out $err" '2 valve-gauge: cut.csv.gz: gzip data end too early'
forged=$(printf 'x\033[2J')
printf '%s\n%s,a,jo,1,0.2,mm\n%s,b,jo,2,0.3,mm\n' "$heading" "$forged" "$forged" >forged.csv
run "$gauge" --format table forged.csv
is 'names cannot forge terminal output' "$(grep -c "$(printf '\033')" .out .err)" '.out:0
.err:0'

# unread NAME HEADING ERR
unread() {
    printf '%s\n' "$2" >head.csv
    run "$gauge" --format csv lash.csv head.csv
    is "$1" "$status$out $err" "2 valve-gauge: head.csv:1: $3"
}
unread 'a column nobody knows' "$heading,note" "unknown column 'note' in table trials"
unread 'semicolons' 'gauge;part;by;trial;value;unit' \
    "cells separated by ';': a tidy table has commas; valve-tidy reads exports"
unread 'a heading of nothing' '""' "unknown column '' in table trials"
unread 'a column twice' "$heading,by" "repeated column 'by' in table trials"
unread 'a column less' gauge,part,by,trial,value "no column 'unit' in table trials"
unread 'another table' gauge,kind,resolution,unit "unknown column 'kind' in table trials"
: >empty.csv
run "$gauge" empty.csv
is 'empty file' "$status$out $err" '2 valve-gauge: empty.csv: empty: a table begins with its heading'
run "$gauge" lash.csv none/x.csv
is 'missing file' "$status$out $err" '2 valve-gauge: none/x.csv: No such file or directory'
run sh -c '"$@" <&-' sh "$gauge"
is 'closed standard input' "$status$out $err" '2 valve-gauge: stdin: Bad file descriptor'
for form in --agree --format=csv --format=table --emit=gauges; do
    run sh -c '"$@" >/dev/full' sh "$gauge" $form lash.csv
    is "full device, $form" "$status $err" '2 valve-gauge: stdout: No space left on device'
done

### options
# wrong NAME ERR ARGUMENT...
wrong() {
    name=$1 want=$2
    shift 2
    run "$gauge" "$@" lash.csv
    is "$name" "$status$out $(head -n 1 .err)" "2 valve-gauge: $want"
}
wrong 'another format' "csv, json or table, not 'xml'" --format xml
wrong 'another table' "gauges can be emitted, not 'trials'" --emit trials
wrong 'a tolerance without a unit' "a width is like 0.1mm or 4thou, not '0.1'" --tolerance 0.1
wrong 'a tolerance of nothing' "a width is like 0.1mm or 4thou, not '0mm'" --tolerance 0mm
wrong 'emit is alone' '--emit goes with no other option' --emit gauges --agree
wrong 'emit is CSV' '--emit goes with no other option' --emit gauges --format json
wrong 'a tolerance of two gauges' '--tolerance does not go with --agree' --agree --tolerance 1mm
done_testing
