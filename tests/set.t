# valve-set on engines so small that every figure can be worked out by hand.
. tests/tap.sh
set=$bin/valve-set
cd "$work" || exit 1

# One reading a valve shows no scatter, so u is a dial indicator's 0.01 mm and the guard band is
# 1.645 x 0.01 = 0.0164 mm (R qnorm(0.95)).
cat >families.csv <<'END'
family,side,key,value,unit
screw4,,cylinders,4,
screw4,I,valves,1,
screw4,E,valves,1,
screw4,,firing_order,1-3-4-2,
screw4,,adjuster,screw,
screw4,,screw_pitch,1,mm
screw4,E,screw_pitch,0.75,mm
screw4,E,screw_on,pushrod,
screw4,E,ratio,1.6,
screw4,I,ratio,1.3,
screw4,I,lash_min,0.20,mm
screw4,I,lash_max,0.30,mm
screw4,I,lash_target,0.25,mm
screw4,E,lash_min,0.35,mm
screw4,E,lash_max,0.45,mm
screw4,E,lash_target,0.40,mm
screw4,I,opens,12 BTDC,
screw4,I,closes,45 ABDC,
screw4,E,opens,50 BBDC,
screw4,E,closes,8 ATDC,
shim2,,cylinders,2,
shim2,I,valves,1,
shim2,E,valves,1,
shim2,,firing_order,1-2,
shim2,,adjuster,shim,
shim2,I,lash_min,0.10,mm
shim2,I,lash_max,0.20,mm
shim2,I,lash_target,0.15,mm
shim2,E,lash_min,0.10,mm
shim2,E,lash_max,0.20,mm
shim2,E,lash_target,0.15,mm
shim2,,shim_min,2.30,mm
shim2,,shim_max,2.40,mm
shim2,,shim_step,0.05,mm
shim2,E,shim_step,0.04,mm
hyd,,adjuster,hydraulic,
bare,I,lash_max,0.30,mm
bare,I,lash_target,0.25,mm
lobe3,,cylinders,3,
lobe3,I,valves,1,
lobe3,,firing_order,1-2-3,
lobe3,,adjuster,screw,
lobe3,,screw_pitch,1,mm
lobe3,I,lash_min,0.20,mm
lobe3,I,lash_max,0.40,mm
lobe3,I,lash_target,0.30,mm
lobe3,,read_at,lobe,
lobe3,,ratio,1.5,
lobe3,,lash_growth,0.001,mm/Cel
END
cat >engines.csv <<'END'
engine,family
S-1,screw4
M-1,shim2
H-1,hyd
B-1,bare
B-2,bare
L-1,lobe3
G-1,screw4
M-2,shim2
M-3,shim2
R-1,screw4
END
printf 'gauge,u,unit\nworn,0.02,mm\n' >gauges.csv
cat >readings.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit,temp_c
S-1,2026-02-01,500,h,lash,1I,0.29,,mm,
S-1,2026-02-01,500,h,lash,1E,0.46,,mm,
S-1,2026-02-01,500,h,lash,2I,0.25,,mm,
S-1,2026-02-01,500,h,lash,2E,0.30,,mm,
S-1,2026-02-01,500,h,lash,3I,0.27,,mm,
S-1,2026-02-01,500,h,lash,3E,0.41,,mm,
S-1,2026-01-15,480,h,lash,4E,0.40,,mm,
M-1,2026-02-01,70,h,lash,1I,0.05,,mm,
M-1,2026-02-01,70,h,lash,1E,0.25,,mm,
M-1,2026-02-01,70,h,lash,2I,0.02,,mm,
M-1,2026-02-01,70,h,lash,2E,0.30,,mm,
M-1,2026-01-20,60,h,shim,1I,2.500,,mm,
M-1,2026-01-20,60,h,shim,1E,2.400,,mm,
M-1,2026-01-20,60,h,shim,2I,2.600,,mm,
M-1,2026-01-20,60,h,shim,2E,2.200,,mm,
B-1,2026-02-01,10,h,lash,1I,0.40,,mm,
B-1,2026-02-01,10,h,lash,2I,0.20,,mm,
B-1,2026-02-01,10,h,lash,1E,0.20,,mm,
L-1,2026-02-01T08:30,10,h,lash,1I,0.30,,mm,45
L-1,2026-02-01T08:30,10,h,lash,2I,0.20,,mm,45
G-1,2026-01-10,9,h,lash,1I,0.29,,mm,
M-2,2026-02-01,70,h,lash,1I,0.15,,mm,
M-2,2026-02-01,70,h,lash,1E,0.05,,mm,
M-2,2026-02-01,70,h,lash,2I,0.25,,mm,
M-2,2026-02-01,70,h,lash,2E,0.15,,mm,
M-2,2026-02-01,70,h,shim,1I,2.300,,mm,
M-2,2026-02-01,70,h,shim,1E,2.500,,mm,
M-2,2026-02-01,70,h,shim,2I,2.400,,mm,
M-2,2026-02-01,70,h,shim,2E,2.300,,mm,
M-3,2026-02-01,70,h,lash,1I,0.11,,mm,
M-3,2026-02-01,70,h,lash,1E,0.03,,mm,
M-3,2026-02-01,70,h,shim,1I,2.340,,mm,
M-3,2026-02-01,70,h,shim,1E,2.380,,mm,
R-1,2026-01-10,9,h,lash,1I,0.15,,mm,
R-1,2026-01-10,9,h,lash,1E,0.15,,mm,
R-1,2026-01-25,9,h,lash,1I,0.25,,mm,
END
cat >coarse.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit,gauge
R-1,2026-01-25,9,h,lash,2I,0.22,,mm,worn
END
cat >events.csv <<'END'
engine,date,meter,meter_unit,event
G-1,2026-01-20,10,h,end
R-1,2026-01-20,9,h,build
END
run "$bin/valve-book" --as-of 2026-02-01 --no-end shop.db families.csv engines.csv events.csv \
    gauges.csv readings.csv coarse.csv
is "the book takes it" "$status$err" 0
heading=engine,date,meter,meter_unit,stop,crank_deg,firing,rocking,at,read,found,u,target,lash_min,lash_max,verdict,do,close_by,turns,turn_deg,shim_out,shim_in,shim_from,shim_wanted,after,reads,temp_c,left,why

# sheet ENGINE OPTIONS: its CSV
sheet() {
    engine=$1
    shift
    run "$set" --as-of 2026-02-01 --format csv --engine "$engine" "$@" shop.db
}
# column NAMES: these columns of the last sheet, without the heading
column() {
    printf '%s\n' "$out" | awk -F, -v names="$1" '
        NR == 1 { n = split(names, want, " "); for (i = 1; i <= NF; i++) at[$i] = i; next }
        { for (i = 1; i <= n; i++) printf "%s%s", (i > 1 ? "," : ""), $at[want[i]]; print "" }'
}

### screws
# (0.29 - 0.25) / 1 = 0.04 turn, 14.4 degrees: common practice with M8x1. On the push-rod side
# (0.46 - 0.40) / (0.75 x 1.6) = 0.05 turn, 18 degrees, and (0.30 - 0.40) / 1.2 = -1/12, -30.
# 1I and 1E are 0.01 mm from a limit, nearer than the guard band; 2E is 0.05 mm outside.
sheet S-1
is "screws by hand" "$status$err $out" "0 $heading
S-1,2026-02-01,500,h,1,0,1,4,1I,2026-02-01,0.29,0.01,0.25,0.2,0.3,close,in,0.04,0.04,14.4,,,,,0.25,0.25,,,screw taken to be on the valve's side: no screw_on
S-1,2026-02-01,500,h,1,0,1,4,1E,2026-02-01,0.46,0.01,0.4,0.35,0.45,close,in,0.06,0.05,18,,,,,0.4,0.4,,,
S-1,2026-02-01,500,h,2,180,3,2,3I,2026-02-01,0.27,0.01,0.25,0.2,0.3,in,leave,0.02,,,,,,,0.27,0.27,,,
S-1,2026-02-01,500,h,2,180,3,2,3E,2026-02-01,0.41,0.01,0.4,0.35,0.45,in,leave,0.01,,,,,,,0.41,0.41,,,
S-1,2026-02-01,500,h,3,360,4,1,4I,,,,0.25,0.2,0.3,,read,,,,,,,,,,,,not read in its present life
S-1,2026-02-01,500,h,3,360,4,1,4E,2026-01-15,0.4,0.01,0.4,0.35,0.45,in,leave,0,,,,,,,0.4,0.4,,,
S-1,2026-02-01,500,h,4,540,2,3,2I,2026-02-01,0.25,0.01,0.25,0.2,0.3,in,leave,0,,,,,,,0.25,0.25,,,
S-1,2026-02-01,500,h,4,540,2,3,2E,2026-02-01,0.3,0.01,0.4,0.35,0.45,out,out,-0.1,-0.083333,-30,,,,,0.4,0.4,,,"

sheet S-1 --all
is "--all sets what is not at its target" "$(column 'at do turn_deg' | sed -n '3,4p;6,7p')" \
    "3I,in,7.2${nl}3E,in,3${nl}4E,leave,${nl}2I,leave,"

# The same screws elsewhere, ratio 1.3: a stud's nut closes the tip by 2.3 mm a turn, so 1I needs
# 0.04 / 2.3 turn, 6.26 degrees; a follower's pivot opens it by 0.3, so its screw comes out by
# 0.04 / 0.3 turn, 48 degrees.
for on in stud pivot; do
    printf '%s\n' family,side,key,value,unit screw4,I,screw_on,$on, >on.csv
    cp shop.db $on.db
    "$bin/valve-book" --as-of 2026-02-01 $on.db on.csv
    run "$set" --as-of 2026-02-01 --engine S-1 --format csv $on.db
    is "on a $on" "$(column 'at do close_by turns turn_deg why' | head -n 1)" "$(
        test $on = stud && echo 1I,in,0.04,0.017391,6.26087, || echo 1I,out,0.04,-0.133333,-48,
    )"
done

# TM 5-3805-258-24-1 p. 4-28: at TDC no. 1 inlet 1, 2 and exhaust 1, 3; one turn on the others.
sheet S-1 --order two
is "the two positions of a public manual" "$(column 'crank_deg at' | tr '\n' ' ')" \
    "0,1I 0,1E 0,2I 0,3E 360,2E 360,3I 360,4I 360,4E "
sheet S-1 --order opposite
is "the companion rocks" "$(column 'firing rocking at' | tr '\n' ' ')" \
    "1,4,1I 1,4,1E 3,2,3I 3,2,3E 4,1,4I 4,1,4E 2,3,2I 2,3,2E "
is "a day later the settings are a visit of that day" \
    "$("$set" --as-of 2026-02-02 --engine S-1 --format csv shop.db | sed -n 2p | cut -d, -f2-4)" \
    "2026-02-02,,"

# its lives: what was read before the rebuild is nothing; a gauge of u 0.02 has a band of 0.033
sheet R-1
is "a rebuilt engine, and a worn gauge" "$(column 'at read found u verdict do' | grep -v ',,')" \
    "1I,2026-01-25,0.25,0.01,in,leave${nl}2I,2026-01-25,0.22,0.02,close,out"

run "$set" --as-of 2026-02-01 --format table --engine S-1 shop.db
is "for people" "$out" "S-1 (screw4), to set 2026-02-01, 500 h: 3 to set, 4 to leave, 1 to read
Lash in mm at the valve tip and 20 °C. ± is the standard uncertainty of a reading (no scatter
is known yet: as stated, or a dial's).
Leave: inside its window by the guard band (5 %, one-sided). Close: too close to a limit to say.
Cylinder by cylinder as they fire, each at its firing TDC (order 1-3-4-2, taken to fire evenly,
180° apart). A valve is set 30° of the crank or more from its events, taken to be as wide as
usual at least.
Turns: the family states a ratio and no screw_on. The screw is taken to be on the valve's side;
on the push-rod's side, or on a stud, other turns are right.
Read it: not read in its present life.

crank deg  at TDC            valve  read        found mm   ± mm  target mm  window mm    is     do                  then reads mm  left mm
        0  1 fires, 4 rocks  1I     2026-02-01     0.290  0.010      0.250  0.200-0.300  close  in 0.04 turn, 14°           0.250  _____
                             1E     2026-02-01     0.460  0.010      0.400  0.350-0.450  close  in 0.05 turn, 18°           0.400  _____
      180  3 fires, 2 rocks  3I     2026-02-01     0.270  0.010      0.250  0.200-0.300  in     leave                       0.270  _____
                             3E     2026-02-01     0.410  0.010      0.400  0.350-0.450  in     leave                       0.410  _____
      360  4 fires, 1 rocks  4I                                      0.250  0.200-0.300         read it                            _____
                             4E     2026-01-15     0.400  0.010      0.400  0.350-0.450  in     leave                       0.400  _____
      540  2 fires, 3 rocks  2I     2026-02-01     0.250  0.010      0.250  0.200-0.300  in     leave                       0.250  _____
                             2E     2026-02-01     0.300  0.010      0.400  0.350-0.450  out    out 0.08 turn, 30°          0.400  _____

Before working on an engine: turn it by hand only, with ignition, fuel and starting
disabled; hot parts burn; valve springs store energy. The engine maker's manual, the
rules of your class or fleet, local codes and a qualified mechanic come before anything
printed here. A forecast is an estimate from past readings, not a promise that an
engine is safe to run."

### a lobe's reading, a warm engine, a time of day, an odd number of cylinders
# 0.30 at the lobe is 0.45 at the tip and 0.45 - 0.001 x 25 = 0.425 at 20 Cel; 0.20 is 0.275. Set
# to 0.30, the gauge reads (0.30 + 0.025) / 1.5 = 0.216667 at the lobe.
sheet L-1 --all
is "what the gauge shows is not what lash is" \
    "$(column 'date crank_deg at found close_by after reads temp_c')" \
    "2026-02-01T08:30,0,1I,0.425,0.125,0.3,0.216667,45
2026-02-01T08:30,240,2I,0.275,-0.025,0.3,0.216667,45
2026-02-01T08:30,480,3I,,,,,"
run "$set" --as-of 2026-02-01 --engine L-1 --order opposite shop.db
is "no companion among three" "$status $err" \
    "2 valve-set: with 3 cylinders no valves rock while another cylinder fires"

### cylinders that fire unevenly: two whose crankpins stand half a turn apart
# At 360 the second is 180 behind its firing TDC: with the usual events its exhaust is open, and its
# inlet opens in 168.
cat >twin.csv <<'END'
family,side,key,value,unit
twin,,cylinders,2,
twin,I,valves,1,
twin,E,valves,1,
twin,I,opens,-12,deg
twin,I,closes,225,deg
twin,E,opens,-230,deg
twin,E,closes,8,deg
twin,,adjuster,screw,
twin,,screw_pitch,1,mm
twin,I,lash_target,0.20,mm
twin,E,lash_target,0.20,mm
twin,,firing_order,1-2@180,
END
printf '%s\n' engine,family T-1,twin >twin.eng
printf '%s\n' engine,date,quantity,at,found,unit T-1,2026-01-25,lash,1I,0.1,mm \
    T-1,2026-01-25,lash,1E,0.1,mm T-1,2026-01-25,lash,2I,0.1,mm T-1,2026-01-25,lash,2E,0.1,mm >twin.rd
run "$bin/valve-book" --as-of 2026-02-01 --no-end twin.db twin.csv twin.eng twin.rd
is "a twin" "$status$err" 0
# twin ARGS...: its positions
twin() {
    run "$set" --as-of 2026-02-01 --engine T-1 --format csv "$@" twin.db
    column 'crank_deg firing rocking at'
}
is "each at its own firing TDC" "$(twin)" "0,1,,1I${nl}0,1,,1E${nl}180,2,,2I${nl}180,2,,2E"
is "at the fewest" "$(twin --order two)" "0,1,,1I${nl}0,1,,1E${nl}0,1,,2E${nl}360,,1,2I"
run "$set" --as-of 2026-02-01 --engine T-1 --order opposite twin.db
is "no companion" "$status $err" \
    "2 valve-set: in the order 1-2@180 some cylinder fires while no other's valves rock"
ok "they are not said to fire evenly" sh -c '"$@" | grep -q "(order 1-2@180)"' \
    sh "$set" --as-of 2026-02-01 --engine T-1 --format table twin.db
ok "a gauge's frame is said" sh -c '"$@" | grep -q "^Then reads: what the gauge shows after setting, at the lobe"' \
    sh "$set" --as-of 2026-02-01 --engine L-1 --format table shop.db

# An engine cools while it is read: one temperature for all would be that of none.
printf '%s\n' engine,family T-4,warm T-5,warm >warm.eng
{ sed 's/^twin,/warm,/' twin.csv; echo warm,,lash_growth,1,um/Cel; } >warm.fam
for e in T-4,60 T-5,42.5; do
    printf '%s\n' "${e%,*},2026-01-25,lash,1I,0.1,mm,60" "${e%,*},2026-01-25,lash,2I,0.1,mm,${e#*,}"
done | sed '1i engine,date,quantity,at,found,unit,temp_c' >warm.rd
"$bin/valve-book" --as-of 2026-02-01 --no-end warm.db warm.fam warm.eng warm.rd
# reads ENGINE: what is said of what the gauge shows then, on the day of the readings
reads() { "$set" --as-of 2026-01-25 --engine "$1" --format table warm.db | grep -A1 '^Then reads:' | tr '\n' ' '; }
ok "all at one temperature" sh -c 'case "$1" in *"at the 60 °C of the readings."*) ;; *) false ;; esac' - "$(reads T-4)"
ok "each at its own" sh -c 'case "$1" in *"each at the temperature of its reading, 42.5 to 60 °C."*) ;; *) false ;; esac' \
    - "$(reads T-5)"

### a valve that reads 0 may be held open; one that is to stand at 0 has its lash
printf '%s\n' engine,family T-2,twin T-3,zero >zero.eng
printf '%s\n' family,side,key,value,unit zero,,adjuster,screw, zero,,screw_pitch,1,mm \
    zero,I,lash_target,0,mm >zero.fam
printf '%s\n' engine,date,quantity,at,found,unit T-2,2026-01-25,lash,1I,0,mm \
    T-2,2026-01-25,lash,1E,0.00,mm T-2,2026-01-25,lash,2I,0.01,mm T-3,2026-01-25,lash,1I,0,mm >zero.rd
run "$bin/valve-book" --as-of 2026-02-01 --no-end twin.db zero.eng zero.fam zero.rd
is "no gaps" "$status$err" 0
run "$set" --as-of 2026-02-01 --engine T-2 --format csv twin.db
is "no gap is no length" "$(column 'at found do turns why' | head -n 3)" \
    "1I,0,out,-0.2,\"no gap: may be held open${nl}1E,0,out,-0.2,\"no gap: may be held open${nl}2I,0.01,out,-0.19,"
is "for people" "$("$set" --as-of 2026-02-01 --engine T-2 --format table twin.db | grep 'no gap')" \
    "1I, 1E read no gap: held open, perhaps, and nobody knows how far. Set, read and set again."
run "$set" --as-of 2026-02-01 --engine T-3 --format csv twin.db
is "set to nothing" "$(column 'at found do why')" 1I,0,leave,

### events at 1 mm of lift say nothing of the clearance ramps beyond
# With the inlet shut at 225 inlet 8 of 1-8-4-3-6-5-7-2 would be set 45 degrees behind that, at 0.
# A lobe of 8 mm whose flank of 60 degrees stands on a ramp of 0.2 mm in 20 closes at 1 mm, ratio
# 1.5, lash 0.25, where 10 s^3 - 15 s^4 + 6 s^5 = 0.633 / 8, s = 0.225, 27 degrees of the crank
# above the ramp, which goes on for 40: at 45 the lash reads 0.25 - 0.165. So it waits for 360,
# as it does where nobody states events.
sed -n 's/^twin,/v8,/; s/^\(v8,,firing_order,\).*/\11-8-4-3-6-5-7-2,/; s/^\(v8,,cylinders,\).*/\18,/; p' \
    twin.csv >v8.csv
grep -v ',opens,\|,closes,' v8.csv | sed 's/^v8/bare8/' | tail -n +2 >>v8.csv
printf '%s\n' engine,family V-1,v8 V-2,bare8 >v8.eng
for v in V-1 V-2; do
    for c in 1 2 3 4 5 6 7 8; do
        printf '%s\n' "$v,2026-01-25,lash,${c}I,0.1,mm" "$v,2026-01-25,lash,${c}E,0.1,mm"
    done
done | sed '1i engine,date,quantity,at,found,unit' >v8.rd
run "$bin/valve-book" --as-of 2026-02-01 --no-end v8.db v8.csv v8.eng v8.rd
is "eight cylinders" "$status$err" 0
for v in V-1 V-2; do
    run "$set" --as-of 2026-02-01 --engine $v --format csv --order two v8.db
    is "$v: off the ramps" "$(column 'crank_deg at' | tr '\n' ' ')" "0,1I 0,1E 0,2I 0,3E 0,4E 0,5I \
0,7I 0,8E 360,2E 360,3I 360,4I 360,5E 360,6I 360,6E 360,7E 360,8I "
done

### what is not known
sheet B-1
is "without adjuster, limits, firing order" "$(column 'stop crank_deg firing at do close_by verdict why')" \
    "1,,1,1I,tighten,0.15,out,the family does not state with what it is set
1,,1,1E,none,,,the family states no lash_target
2,,2,2I,leave,-0.05,in,"

# refused NAME ENGINE MESSAGE [OPTIONS]: no sheet, said plainly
refused() {
    refused_name=$1 refused_engine=$2 refused_why=$3
    shift 3
    run "$set" --as-of 2026-02-01 --engine "$refused_engine" "$@" shop.db
    is "$refused_name" "$status $err$out" "2 valve-set: $refused_why"
}
refused "hydraulic" H-1 "engine 'H-1' has hydraulic adjusters: there is no lash to set"
refused "unknown engine" X-9 "shop.db: unknown engine 'X-9'"
refused "nothing read" B-2 "no lash of engine 'B-2' was read in its present life"
refused "left the fleet" G-1 "engine 'G-1' has left the fleet"
refused "no firing order" B-1 "family 'bare' states no firing_order" --order two
refused "stock that is not there" M-1 "none.csv: No such file or directory" --shims none.csv

### shims
# 1I wants 2.500 + 0.05 - 0.15 = 2.400 and 1E 2.500: each other's. 2I wants 2.470, on the shelf is
# 2.475 (0.145). 2E wants 2.350: to be had are 2.300, 2.340 (0.16) and 2.380, and 1E's 2.400 would
# land on the limit, but then 1I would have to buy.
printf 'count,unit,thickness\n1,mm,2.475\n3,mm,2.6\n' >shims.csv
sheet M-1 --shims shims.csv
is "shims by hand" "$status$err $(column 'at do shim_out shim_in shim_from shim_wanted after')" \
    "0 1I,swap,2.5,2.4,1E,2.4,0.15
1E,swap,2.4,2.5,1I,2.5,0.15
2I,swap,2.6,2.475,stock,2.47,0.145
2E,swap,2.2,2.34,buy,2.35,0.16"
run "$set" --as-of 2026-02-01 --engine M-1 --shims shims.csv --format table shop.db
is "what to fetch, to buy and to put away" "$(printf '%s\n' "$out" | grep -e stock: -e '^Buy' -e over:)" \
    "Fetch from stock: 1 x 2.475 mm
Buy: 1 x 2.340 mm
Left over: 1 x 2.200 mm, 1 x 2.600 mm"
is "the tasks in words" "$(printf '%s\n' "$out" | grep -o '2\.[0-9]* → [0-9.]*, [a-z]*\( [1-9][IE]\)*')" \
    "2.500 → 2.400, of 1E
2.400 → 2.500, of 1I
2.600 → 2.475, stock
2.200 → 2.340, buy"

sheet M-2
is "shims of valves that are left stay where they are" "$(column 'at do shim_in shim_from')" \
    "1I,leave,,${nl}1E,swap,2.4,2I${nl}2I,swap,2.5,1E${nl}2E,leave,,"

# 1I reads 0.11, 0.01 from its limit and so too close to say; its own 2.340 would leave it there. It
# wants 2.340 + 0.11 - 0.15 = 2.300, which can be bought; 1E wants 2.260, and 2.300 gives 0.11 again.
sheet M-3
is "a shim that leaves a valve too close to a limit to say is not kept" \
    "$(column 'at verdict do shim_in shim_from after' | head -n 2)" \
    "1I,close,swap,2.3,buy,0.15${nl}1E,out,swap,2.3,buy,0.11"

# Without limits every shim lands inside, so that none is bought; the two exchanged would be off by
# 0.08 and 0.08 mm, as they are by 0.04 and 0.12: neither is moved.
grep -v ',lash_m' families.csv >open.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end open.db open.csv engines.csv readings.csv >few.err 2>&1
run "$set" --as-of 2026-02-01 --engine M-3 --format csv open.db
is "valves without limits keep their shims" "$status$err $(column 'at verdict do shim_in after' | head -n 2)" \
    "0 1I,,keep,,0.11${nl}1E,,keep,,0.03"

# Without grades and shelf two can be served and two cannot. That 1I and 1E swap is off by nothing;
# 2I could have had 1I's 2.500 (0.12) and 2E 1E's 2.400 (0.20), each with one of the others unserved.
grep -v shim2,,shim_ families.csv >none.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end few.db none.csv engines.csv readings.csv >few.err 2>&1
run "$set" --as-of 2026-02-01 --engine M-1 --format csv few.db
is "who cannot be served" "$status$err $(column 'at do shim_in after shim_wanted why')" \
    "0 1I,swap,2.4,0.15,2.4,its shim taken to fit this side too: no shim_fits
1E,swap,2.5,0.15,2.5,its shim taken to fit this side too: no shim_fits
2I,none,,,2.47,wants a shim of 2.470 mm; the only one that lands inside its limits serves another valve
2E,none,,,2.35,wants a shim of 2.350 mm; the only one that lands inside its limits serves another valve"
run "$set" --as-of 2026-02-01 --engine M-1 --format table few.db
is "that stands above the rows" "$(printf '%s\n' "$out" | grep -A1 'cannot be set: it')" \
    "2I cannot be set: it wants a shim of 2.470 mm; the only one that lands inside its limits serves
another valve.
2E cannot be set: it wants a shim of 2.350 mm; the only one that lands inside its limits serves
another valve."
taken='Shims are taken to fit both sides, and go from one to the other: the family states no shim_fits.'
# said NAME SENTENCE: one that may be broken into lines stands above the rows
said() { is "$1" "$(printf '%s\n' "$out" | tr '\n' ' ' | grep -cF "$2")" 1; }
said "a shim that changes sides is said to" "$taken"
cp few.db both.db
printf 'family,side,key,value,unit\nshim2,,shim_fits,both,\n' >both.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end both.db both.csv
run "$set" --as-of 2026-02-01 --engine M-1 --format csv both.db
is "shims that fit both sides are not doubted" "$(column 'at shim_from why' | head -n 2)" "1I,1E,${nl}1E,1I,"
run "$set" --as-of 2026-02-01 --engine M-1 --format table both.db
is "nor is it said" "$(printf '%s\n' "$out" | grep -c 'Shims are taken')" 0

# Of two diameters: 1I wants 2.35 to 2.45 and has 2.500 and 2.600 to choose from, 2I takes 2.500, which
# leaves 0.12. 1E wants 2.45 to 2.55, and 2E takes its 2.400, which leaves 0.10.
cp few.db side.db
sed s/both/side/ both.csv >side.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end side.db side.csv
run "$set" --as-of 2026-02-01 --engine M-1 --format csv side.db
none='none at hand or to be ordered lands inside its limits'
is "shims that fit one side stay there" "$status$err $(column 'at do shim_from after why')" \
    "0 1I,none,,,wants a shim of 2.400 mm; $none; its own of 2.500 mm goes to 2I
1E,none,,,wants a shim of 2.500 mm; $none; its own of 2.400 mm goes to 2E
2I,swap,1I,0.12,
2E,swap,1E,0.1,"
run "$set" --as-of 2026-02-01 --engine M-1 --format table side.db
is "the line of a valve that cannot be set says where its shim goes" \
    "$(printf '%s\n' "$out" | grep -o 'cannot be set; its [0-9.]* goes to ..')" \
    "cannot be set; its 2.500 goes to 2I${nl}cannot be set; its 2.400 goes to 2E"
said "and so does the sentence" "1I cannot be set: it wants a shim of 2.400 mm; $none; its own of 2.500 mm goes to 2I."
run "$set" --as-of 2026-02-01 --engine M-1 --format html side.db
is "and the page" "$(printf '%s\n' "$out" | grep -c 'cannot be set; its 2.500 goes to 2I</td>')" 1
is "where sides are told apart, the shims that are left over are too" \
    "$(printf '%s\n' "$out" | grep -o 'Left over[a-z, ]*: [^<]*')" \
    "Left over, inlet: 1 x 2.600 mm${nl}Left over, exhaust: 1 x 2.200 mm"
# 2.4 for inlets and 2.5 for exhausts are what 1I and 1E want; 2.475 says no side and leaves 2I 0.145
printf 'thickness,unit,count,side\n2.5,mm,1,exhaust\n2.4,mm,1,I\n2.475,mm,1,\n' >sides.csv
run "$set" --as-of 2026-02-01 --engine M-1 --shims sides.csv --format csv side.db
is "a shelf of two diameters" "$status$err $(column 'at do shim_in shim_from after')" \
    "0 1I,swap,2.4,stock,0.15
1E,swap,2.5,stock,0.15
2I,swap,2.475,stock,0.145
2E,swap,2.4,1E,0.1"
run "$set" --as-of 2026-02-01 --engine M-1 --shims sides.csv --format table side.db
is "is fetched and put away by side" "$(printf '%s\n' "$out" | grep -e stock, -e over,)" \
    "Fetch from stock, inlet: 1 x 2.400 mm, 1 x 2.475 mm
Left over, inlet: 1 x 2.500 mm, 1 x 2.600 mm
Fetch from stock, exhaust: 1 x 2.500 mm
Left over, exhaust: 1 x 2.200 mm"
said "a shim of no side is to be looked at" \
    'Shims of the stock that name no side are taken to fit the valve that gets them: look at their size.'
# the other way round they are no use but to 2E, where 2.4 leaves 0.10
printf 'thickness,unit,count,side\n2.5,mm,1,in\n2.4,mm,1,Exh\n' >sides.csv
run "$set" --as-of 2026-02-01 --engine M-1 --shims sides.csv --format csv side.db
is "the wrong diameter helps nobody" "$(column 'at do shim_from' | head -n 2)" "1I,none,${nl}1E,none,"
# bought are 2.30 to 2.40 in steps of 0.05, of exhausts of 0.04: 1I 2.400, 2E 2.340; for 1E all are too thin
cp shop.db buys.db
"$bin/valve-book" --as-of 2026-02-01 --no-end buys.db side.csv
run "$set" --as-of 2026-02-01 --engine M-1 --format table buys.db
is "what is to be bought, by side" "$(printf '%s\n' "$out" | grep '^Buy')" \
    "Buy, inlet: 1 x 2.400 mm${nl}Buy, exhaust: 1 x 2.340 mm"
is "a valve whose shim nobody takes is as it was" "$(printf '%s\n' "$out" | grep -c 'cannot be set *0\|cannot be set *_')" 1
# 0.45 mm more and nothing lands: 2.750 to 2.850 would
sed 's/^M-1,2026-02-01,70,h,lash,2E,0.30/M-1,2026-02-01,70,h,lash,2E,0.75/' readings.csv >worse.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end worse.db none.csv engines.csv worse.csv >few.err 2>&1
run "$set" --as-of 2026-02-01 --engine M-1 --format csv worse.db
is "nothing lands" "$(column 'at why' | tail -n 1)" \
    "2E,wants a shim of 2.800 mm; none at hand or to be ordered lands inside its limits"

cat >odd.csv <<'END'
thickness,unit,count
2.475,mm,1
2.475,mm,2
0.0984,in,1
2.4x,mm,1
2.5,bar,1
0,mm,1
2.5,mm,1.5
2.5,,1
2.5,mm
2475,um,1
11,mm,1
2.6,mm,10001
END
run "$set" --as-of 2026-02-01 --engine M-1 --shims odd.csv --format csv shop.db
is "rows of the stock that are refused" "$status $err" "1 valve-set: odd.csv:3: column 'count': 2 here, 1 before
valve-set: odd.csv:5: column 'thickness': bad number '2.4x'
valve-set: odd.csv:6: column 'unit': not a unit of length: 'bar'
valve-set: odd.csv:7: column 'thickness': no credible shim: '0'
valve-set: odd.csv:8: column 'count': a count is a whole number up to 10000, not '1.5'
valve-set: odd.csv:9: column 'unit': blank
valve-set: odd.csv:10: 2 cells where the heading has 3
valve-set: odd.csv:12: column 'thickness': no credible shim: '11'
valve-set: odd.csv:13: column 'count': a count is a whole number up to 10000, not '10001'"
is "the others are used" "$(column 'at shim_in shim_from' | sed -n 3p)" "2I,2.475,stock"
printf 'thickness,unit\n1,mm\n' >lacks.csv
printf 'thickness,unit,count,count\n1,mm,1,1\n' >twice.csv
printf 'thickness,unit,count,shelf\n1,mm,1,1\n' >more.csv
: >empty.csv
refused "a stock without counts" M-1 "lacks.csv:1: no column 'count' in table shims" --shims lacks.csv
refused "a column twice" M-1 "twice.csv:1: repeated column 'count' in table shims" --shims twice.csv
refused "a column too many" M-1 "more.csv:1: unknown column 'shelf' in table shims" --shims more.csv
echo 'thickness;unit;count' >semi.csv
refused "a stock with semicolons" M-1 "semi.csv:1: cells separated by ';': a tidy table has commas; valve-tidy reads exports" --shims semi.csv
refused "an empty stock" M-1 "empty.csv: empty: a table begins with its heading" --shims empty.csv
is "the stock from standard input" \
    "$("$set" --as-of 2026-02-01 --engine M-1 --shims - --format csv shop.db <shims.csv | grep -c ,stock,)" 1

### before the head is opened
# 1I reads 0.30, 0.29, 0.28 at 0, 100, 200 h: 0.00001 mm an hour, so 0.275 at 250 h, behind the
# plan's 50 h, and without any scatter known to 0; 1E was read once and moves as its like do not
# tell: its newest reading stands. By the pace, 10 h a day, it is 0.2785 at 215 h on the 22nd + 1.5.
cat >plan.fam <<'END'
family,side,key,value,unit
plan1,,cylinders,1,
plan1,I,valves,1,
plan1,E,valves,1,
plan1,,firing_order,1,
plan1,,adjuster,screw,
plan1,,screw_pitch,1,mm
plan1,I,lash_target,0.30,mm
plan1,I,lash_min,0.277,mm
plan1,I,lash_max,0.40,mm
plan1,E,lash_target,0.30,mm
END
cat >plan.csv <<'END'
engine,date,meter,meter_unit,quantity,at,found,left,unit
P-1,2026-01-01,0,h,lash,1I,,0.30,mm
P-1,2026-01-11,100,h,lash,1I,0.29,,mm
P-1,2026-01-21,200,h,lash,1I,0.28,,mm
P-1,2026-01-21,200,h,lash,1E,0.25,,mm
END
sed '1s/$/,u/; /,1I,/s/$/,1e-17/; /,1E,/s/$/,/' plan.csv >plan.exact
printf 'engine,family\nP-1,plan1\n' >plan.eng
printf 'engine,date,meter_gain,label\nP-1,2026-02-05,50,"hill <b>&"\n' >plan.pln
run "$bin/valve-book" --as-of 2026-01-21 --no-end plan.db plan.fam plan.eng plan.exact
is "another book" "$status$err" 0
run "$set" --as-of 2026-01-23 --engine P-1 --plan --format csv plan.db
is "expected by the meter's pace" "$status$err $(column 'date meter at read found u verdict do close_by')" \
    "0 2026-01-23,220,1I,forecast,0.278,0,in,leave,-0.022
2026-01-23,220,1E,2026-01-21,0.25,0.01,,out,-0.05"
"$bin/valve-book" --as-of 2026-01-23 --no-end plan.db plan.pln
run "$set" --as-of 2026-01-23 --engine P-1 --plan --format csv plan.db
is "expected behind the next planned event" "$(column 'meter at read found u verdict do close_by')" \
    "250,1I,forecast,0.275,0,out,out,-0.025
250,1E,2026-01-21,0.25,0.01,,out,-0.05"
# without --plan
run "$set" --as-of 2026-01-23 --engine P-1 --format csv plan.db
is "and as it was found" "$(column 'meter at read found verdict do')" \
    ",1I,2026-01-21,0.28,in,leave${nl},1E,2026-01-21,0.25,,out"
# Read to a hundredth, they may be in line by rounding alone: u = 0.01 / sqrt(12) = 0.002887 mm,
# and 0.28 is too close to 0.277.
"$bin/valve-book" --as-of 2026-01-21 --no-end round.db plan.fam plan.eng plan.csv
run "$set" --as-of 2026-01-23 --engine P-1 --format csv round.db
is "readings that agree were rounded all the same" "$(column 'at found u verdict do' | head -n 1)" \
    "1I,0.28,0.002887,close,out"
sed 's/0.277/0.26/' plan.fam >due.fam
"$bin/valve-book" --as-of 2026-01-23 --correct --no-end plan.db due.fam
run "$set" --as-of 2026-01-23 --engine P-1 --format csv plan.db
is "left, since nothing is due before the event is over" "$(column 'at do why' | head -n 1)" "1I,leave,"
sed 's/,50,/,250,/' plan.pln >far.pln
"$bin/valve-book" --as-of 2026-01-23 --correct --no-end plan.db far.pln
run "$set" --as-of 2026-01-23 --engine P-1 --format table plan.db
is "left, and due before it is over: 0.02 mm at 0.1 mm/1000 h is 200 h" \
    "$(printf '%s\n' "$out" | grep -o 'leave, due by [0-9]* h')" "leave, due by 400 h"

# Four readings in line, 0.27 at 300 h: s is 0.0029, what rounding leaves, so the level there has the
# error 0.0029 sqrt(1/4 + 150^2 / 50000) = 0.0024, t(0.95, 2) is 2.92, and 0.267 may have been met at
# 300 h. Its own shim is the only one.
sed 's/adjuster,screw/adjuster,shim/; /screw_pitch/d; s/0.277/0.267/' plan.fam >keep.fam
{ cat plan.csv; echo P-1,2026-01-31,300,h,lash,1I,0.27,,mm; echo P-1,2026-01-31,300,h,shim,1I,2.5,,mm; } >keep.csv
"$bin/valve-book" --as-of 2026-01-31 --no-end keep.db keep.fam plan.eng keep.csv
run "$set" --as-of 2026-02-01 --engine P-1 --format csv keep.db
is "a valve that keeps its shim is due as one that is left" "$(column 'at do why' | head -n 1)" \
    "1I,keep,best for all valves together; may have reached a limit by now"
run "$set" --as-of 2026-02-01 --engine P-1 --format table keep.db
is "in words, and counted apart" \
    "$(printf '%s\n' "$out" | grep -o -e '1 to set.*' -e 'keep 2.*h ' -e '^Due.*')" \
    "1 to set, 0 to leave, 1 to keep
Due: may have reached a limit by now.
keep 2.500, due by 300 h "

### the way back
run "$set" --recipe
printf '%s\n' "$out" >recipe.csv
is "the recipe names the columns of a sheet" \
    "$(sed 1d recipe.csv | cut -d, -f1 | tr '\n' ' ')" "$(echo "$heading" | tr , ' ') "
sheet M-1 --shims shims.csv
printf '%s\n' "$out" | awk -F, -v OFS=, 'NR > 1 { $28 = $9 == "2E" ? "" : $25 + 0.01 } 1' >filled.csv
run "$bin/valve-tidy" --recipe recipe.csv filled.csv
printf '%s\n' "$out" >back.csv
is "filled in and read back: what was left, and with which shim" \
    "$status$err $(sed '1d;$d' back.csv | cut -d, -f1-9)" \
    "0 M-1,2026-02-01,70,h,shim,1I,,2.4,mm
M-1,2026-02-01,70,h,lash,1I,,0.16,mm
M-1,2026-02-01,70,h,shim,1E,,2.5,mm
M-1,2026-02-01,70,h,lash,1E,,0.16,mm
M-1,2026-02-01,70,h,shim,2I,,2.475,mm
M-1,2026-02-01,70,h,lash,2I,,0.155,mm
M-1,2026-02-01,70,h,shim,2E,,2.34,mm"
run "$bin/valve-book" --as-of 2026-02-01 shop.db back.csv
is "the book takes it back" "$status$err" 0
run "$bin/valve-drift" --as-of 2026-02-01 --engine M-1 --format csv shop.db
is "valve-drift sees the settings" "$(printf '%s\n' "$out" | sed 1d | cut -d, -f3,6-8)" \
    "1I,2,2,0.16${nl}1E,2,2,0.16${nl}2I,2,2,0.155${nl}2E,1,1,0.3"
sheet M-1 --all --shims shims.csv
is "the next sheet knows the shims; what was not carried out is as before" \
    "$(column 'at do shim_out shim_in shim_wanted')" \
    "1I,keep,,,2.41${nl}1E,keep,,,2.51${nl}2I,keep,,,2.48${nl}2E,swap,2.2,2.34,2.35"
printf 'engine,date,meter,meter_unit,quantity,at,found,left,unit\nM-1,2026-02-02,71,h,lash,1I,0.05,0.15,mm\n' >later.csv
"$bin/valve-book" --as-of 2026-02-02 --no-end shop.db later.csv
run "$set" --as-of 2026-02-02 --engine M-1 --all --format csv shop.db
is "set without a word on the shim: at its target" "$(column 'at do' | head -n 1)" 1I,leave
printf 'engine,date,meter,meter_unit,quantity,at,found,left,unit\nM-1,2026-02-03,72,h,lash,1I,0.05,,mm\n' >later.csv
"$bin/valve-book" --as-of 2026-02-03 --no-end shop.db later.csv
run "$set" --as-of 2026-02-03 --engine M-1 --format csv shop.db
is "and then its shim is not known" "$(column 'at do close_by after why' | head -n 1)" \
    "1I,measure,-0.1,0.15,set since its shim was noted"
run "$set" --as-of 2026-02-01 --engine M-1 --all --format csv shop.db
is "nothing later is looked at" "$(column 'at read found do' | head -n 1)" "1I,2026-02-01,0.16,keep"

### a page
printf 'engine,family\n"<i>&""1'"'"'",screw4\n' >mark.eng
printf 'engine,date,meter,meter_unit,quantity,at,found,left,unit\n"<i>&""1'"'"'",2026-02-01,5,h,lash,2E,0.30,,mm\n' >mark.csv
"$bin/valve-book" --as-of 2026-02-01 --no-end shop.db mark.eng mark.csv
run "$set" --as-of 2026-02-01 --format html --engine '<i>&"1'"'" shop.db
is "a page" "$status$err $(printf '%s\n' "$out" | head -n 1)" "0 <!DOCTYPE html>"
is "data stay data" "$(printf '%s\n' "$out" | grep -c '<i>&"')$(printf '%s\n' "$out" | grep -c '<h1>&lt;i&gt;&amp;&quot;1&#39;</h1>')" 01
is "eight valves at four positions" \
    "$(printf '%s\n' "$out" | grep -c 'class="v"')$(printf '%s\n' "$out" | grep -c '<tbody>')" 84
is "told without colour" "$(printf '%s\n' "$out" | grep -o '>OUT<\|>out 0.08 turn, 30°<')" \
    ">OUT<${nl}>out 0.08 turn, 30°<"
ok "the cautions are on it" sh -c 'printf "%s" "$1" | grep -q "class=\"care\">.*qualified mechanic"' sh \
    "$(printf '%s' "$out" | tr '\n' ' ')"
is "nothing is fetched from elsewhere" "$(printf '%s\n' "$out" | grep -c -e src= -e href= -e url -e @import)" 0

### the command line
# wrong NAME MESSAGE ARGUMENTS
wrong() {
    wrong_name=$1 wrong_why=$2
    shift 2
    run "$set" "$@"
    is "$wrong_name" "$status $(printf '%s\n' "$err" | head -n 1)" "2 valve-set: $wrong_why"
}
wrong "no engine" "one engine is needed" shop.db
wrong "no book" "one book is needed" --engine S-1
wrong "two books" "one book is needed" --engine S-1 a b
wrong "a format nobody knows" "csv, html, json or table, not 'xml'" --format xml --engine S-1 shop.db
wrong "an order nobody knows" "cylinders, opposite or two, not 'three'" --order three --engine S-1 shop.db
wrong "a bad date" "bad date (YYYY-MM-DD) 'soon'" --as-of soon --engine S-1 shop.db
wrong "a recipe and more" "--recipe goes with nothing else" --recipe --engine S-1 shop.db
wrong "no such book" "none.db: No such file or directory" --engine S-1 none.db
run "$set" --as-of 2026-02-01 --format json --engine S-1 shop.db
is "JSON" "$status $(printf '%s\n' "$out" | head -n 1 | cut -c -60)" \
    '0 {"engine":"S-1","date":"2026-02-01","meter":500,"meter_unit"'
run sh -c '"$@" >/dev/full' sh "$set" --as-of 2026-02-01 --format html --engine S-1 shop.db
is "a full device" "$status $err" "2 valve-set: stdout: No space left on device"
done_testing
