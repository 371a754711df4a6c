#!/bin/sh
# valve-timing and what valve-due says of cams. Expected values are worked out by hand, come
# from print, or from cams in closed form (simple harmonic rise and fall: Rothbart, Cam Design
# Handbook, 2004) whose events awk works out by acos, without any profile.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1

# timing ARGS...: as CSV; with one row a line of $1 = columns by name
timing() { run "$bin/valve-timing" --as-of 2026-11-01 --format csv "$@"; }
# cols NAMES: these columns of $out; the last one, hint, may have commas in it
cols() {
    printf '%s\n' "$out" | tr -d '"' | awk -F, -v names="$1" '
        NR == 1 { n = split(names, want, " "); for (i = 1; i <= NF; i++) at[$i] = last = i }
        { for (i = last + 1; i <= NF; i++) $last = $last "," $i }
        { for (i = 1; i <= n; i++) printf "%s%s", $at[want[i]], i < n ? "," : "\n" }'
}
rowed='engine,date,meter,meter_unit,quantity,at,found,left,unit,u'
# due BOOK ARGS...: its lines of kind timing
due() {
    run "$bin/valve-due" --as-of 2026-11-01 --format csv "$@"
    out=$(printf '%s\n' "$out" | grep ,timing, | tr -d '"')
}

### published cases: WAEC examination report Auto220Mq2 (overlap 11, exhaust 223) and a textbook
### case (SI): durations, overlap, centres and separation; advance by hand from its definition
cat >families.csv <<'END'
family,side,key,value,unit
exam,I,valves,1,
exam,E,valves,1,
exam,I,opens,6 BTDC,
exam,I,closes,35 ABDC,
exam,E,opens,38 BBDC,
exam,E,closes,5 ATDC,
exam,,checking_lift,1,mm
exam,,timing_tolerance,2,deg
exam,,crank_teeth,33,
exam,,sprocket_limit,2,deg
book,I,valves,1,
book,E,valves,1,
book,,checking_lift,1,mm
END
printf 'engine,family\nX-1,exam\nX-2,book\n' >engines.csv
cat >readings.csv <<END
$rowed
X-1,2026-01-01,0,h,opens,1I,,-6,deg,0.5
X-1,2026-01-01,0,h,closes,1I,,215,deg,0.5
X-1,2026-01-01,0,h,opens,1E,,-218,deg,0.5
X-1,2026-01-01,0,h,closes,1E,,5,deg,0.5
X-1,2026-01-01,0,h,stop_before,1,-30,,deg,0.5
X-1,2026-01-01,0,h,stop_after,1,30,,deg,0.5
X-2,2026-01-01,0,h,opens,1I,-20,,deg,
X-2,2026-01-01,0,h,closes,1I,215,,deg,
X-2,2026-01-01,0,h,opens,1E,-215,,deg,
X-2,2026-01-01,0,h,closes,1E,10,,deg,
END
hand 'published cases' 0 '' s.db families.csv engines.csv readings.csv
timing s.db
is 'timing ends well' "$status$err" 0
# u 0.5 of an angle: duration and overlap 0.5 sqrt(2), separation 0.25. X-1: the stop gives TDC
# to 0.5 / sqrt(2), so a centre is known to sqrt(0.125 + 0.125), advance to sqrt(0.0625 + 0.125).
# X-2 has none: TDC to 1 degree, centre sqrt(0.125 + 1), advance sqrt(0.0625 + 1).
is 'published cases by the book' "$out" \
    'engine,family,at,build,since,date,state,n,centre,centre_u,duration,duration_u,overlap,overlap_u,separation,separation_u,advance,advance_u,against,reference,reference_date,n_shift,shift,shift_u,lash,lash_u,drive,drive_u,longer,longer_u,rest,rest_u,limit,verdict,split,cause,teeth,odd,hint
X-1,exam,I,,,2026-01-01,left,1,104.5,0.5,221,0.707107,11,0.707107,105.5,0.25,1,0.433013,nominal,,,1,0,0.5,,,0,0.5,0,0.707107,0,0.707107,2,in,plain,none,,,
X-1,exam,E,,,2026-01-01,left,1,-106.5,0.5,223,0.707107,11,0.707107,105.5,0.25,1,0.433013,nominal,,,1,0,0.5,,,0,0.5,0,0.707107,0,0.707107,2,in,plain,none,,,
X-2,book,I,,,2026-01-01,found,1,97.5,1.06066,235,0.707107,30,0.707107,100,0.25,2.5,1.030776,,,,0,,,,,,,,,,,,,,,,,
X-2,book,E,,,2026-01-01,found,1,-102.5,1.06066,225,0.707107,30,0.707107,100,0.25,2.5,1.030776,,,,0,,,,,,,,,,,,,,,,,'
due s.db
is 'nothing of them is due' "$out" ''

### it moves: inlet 2 degrees later (within tolerance, but beyond 2 u = 1.41 since it was timed),
### exhaust a tooth of 33, 360/33 = 10.91, and a little; stops read 329 and 31: TDC at 0. Against
### nominal, where it may stand 2 deg off, u is sqrt(0.25 + 1): 11 less a tooth is within 3 u, and
### 2 asks for no cause. Sprockets: 3 of 2 deg.
cat >moved.csv <<END
$rowed
X-1,2026-03-01,50,h,opens,1I,-4,,deg,0.5
X-1,2026-03-01,50,h,closes,1I,217,,deg,0.5
X-1,2026-03-01,50,h,opens,1E,-207,,deg,0.5
X-1,2026-03-01,50,h,closes,1E,16,,deg,0.5
X-1,2026-03-01,50,h,stop_before,1,329,,deg,0.5
X-1,2026-03-01,50,h,stop_after,1,31,,deg,0.5
X-1,2026-02-01,25,h,sprocket_step,I,0.5,,deg,
X-1,2026-03-01,50,h,sprocket_step,I,3,,deg,
X-1,2026-03-01,50,h,sprocket_step,E,1,-0.5,deg,
END
hand 'it moves' 0 '' s.db moved.csv
timing --engine X-1 s.db
is 'what has moved' "$(cols 'at date state against reference_date n_shift shift shift_u drive drive_u limit verdict cause teeth hint')" \
    'at,date,state,against,reference_date,n_shift,shift,shift_u,drive,drive_u,limit,verdict,cause,teeth,hint
I,2026-03-01,found,nominal,,1,2,0.5,2,0.5,2,close,none,,
I,2026-03-01,found,timed,2026-01-01,1,2,0.707107,2,0.707107,,,wear,,a little late: wear or stretch of the drive
I,2026-03-01,found,mark,,,3,0.5,3,0.5,2,out,,,beyond its limit
E,2026-03-01,found,nominal,,1,11,0.5,11,0.5,2,out,teeth,1,one tooth retarded
E,2026-03-01,found,timed,2026-01-01,1,11,0.707107,11,0.707107,,,teeth,1,one tooth retarded
E,2026-03-01,left,mark,,,-0.5,0.5,-0.5,0.5,2,in,,,'
due --engine X-1 s.db
is 'what is due' "$out" \
    'X-1,timing,E,2026-11-01,,,h,,,2026-03-01,one tooth retarded; 11.00 ± 0.50 deg later than nominal (1 valve), limit 2.0; 11.00 ± 0.71 deg later than as timed 2026-01-01 (1 valve)
X-1,timing,I,2026-11-01,,,h,,,2026-03-01,beyond its limit; 2.00 ± 0.71 deg later than as timed 2026-01-01 (1 valve); 3.00 ± 0.50 deg later than its mark, limit 2.0'
run "$bin/valve-due" --as-of 2026-11-01 --exit-code --engine X-1 s.db
is 'that is something' "$status" 1
timing --engine X-1 --as-of 2026-02-15 s.db
is 'before that day it had not moved' "$(cols 'at against drive hint')" 'at,against,drive,hint
I,nominal,0,
I,mark,0.5,
E,nominal,0,'
timing --engine X-1 --all s.db
is 'all: earlier marks too' "$(cols 'at date against drive' | grep mark)" 'I,2026-02-01,mark,0.5
I,2026-03-01,mark,3
E,2026-03-01,mark,-0.5'
run "$bin/valve-timing" --as-of 2026-11-01 --format table --engine X-1 s.db
is 'a table has the most suspicious first' "$(printf '%s\n' "$out" | head -n 10)" \
    "engine  cam  build  read        as     against  of          valves  later deg     ±  by lash  ±  by drive     ±  longer deg     ±  limit deg  is     hint
X-1     E           2026-03-01  found  nominal                   1      11.00  0.50                 11.00  0.50        0.00  0.71        2.0  out    one tooth retarded
X-1     E           2026-03-01  found  timed    2026-01-01       1      11.00  0.71                 11.00  0.71        0.00  1.00                    one tooth retarded
X-1     I           2026-03-01  found  mark                              3.00  0.50                  3.00  0.50                          2.0  out    beyond its limit
X-1     I           2026-03-01  found  timed    2026-01-01       1       2.00  0.71                  2.00  0.71        0.00  1.00                    a little late: wear or stretch of the drive
X-1     I           2026-03-01  found  nominal                   1       2.00  0.50                  2.00  0.50        0.00  0.71        2.0  close  
X-1     E           2026-03-01  left   mark                             -0.50  0.50                 -0.50  0.50                          2.0  in     

engine  cam  build  since  read        as     valves  centre deg     ±  duration deg     ±  overlap deg     ±  separation cam deg     ±  advance deg     ±
X-1     I                  2026-03-01  found       1      106.50  0.50        221.00  0.71        20.00  0.71              101.00  0.25        -5.50  0.43"
is 'the cautions close it, once' "$(printf '%s\n' "$out" | grep -c 'qualified mechanic')" 1
run "$bin/valve-timing" --as-of 2026-11-01 --format json --engine X-2 s.db
is 'JSON Lines' "$(printf '%s\n' "$out" | head -n 1)" \
    '{"engine":"X-2","family":"book","at":"I","build":"","since":"","date":"2026-01-01","state":"found","n":1,"centre":97.5,"centre_u":1.06066,"duration":235,"duration_u":0.707107,"overlap":30,"overlap_u":0.707107,"separation":100,"separation_u":0.25,"advance":2.5,"advance_u":1.030776,"against":"","reference":"","reference_date":"","n_shift":0,"shift":null,"shift_u":null,"lash":null,"lash_u":null,"drive":null,"drive_u":null,"longer":null,"longer_u":null,"rest":null,"rest_u":null,"limit":null,"verdict":"","split":"","cause":"","teeth":null,"odd":"","hint":""}'

### re-timed: what was just left so has moved from nothing; a rebuild is a new build, and on its
### day the reading as found belongs to the old one
cat >again.csv <<END
$rowed
X-1,2026-04-01,60,h,opens,1E,-207,-218.5,deg,0.5
X-1,2026-04-01,60,h,closes,1E,16,4.5,deg,0.5
X-1,2026-05-01,70,h,opens,1E,-218,-217,deg,0.5
X-1,2026-05-01,70,h,closes,1E,5,6,deg,0.5
END
printf 'engine,date,event,part,build\nX-1,2026-05-01,build,,B2\n' >build.csv
cp s.db t.db
grep -v 2026-05-01 again.csv >april.csv
hand 're-timed' 0 '' t.db april.csv
timing --engine X-1 t.db
is 'as left: against nominal alone' "$(cols 'at date state against drive' | grep ^E)" 'E,2026-04-01,left,nominal,-0.5
E,2026-03-01,left,mark,-0.5'
timing --all --engine X-1 t.db
is 'all: as found before it was set, from where it was timed last' \
    "$(cols 'at date state against reference_date drive' | grep '^E.*nominal\|^E.*timed')" \
    'E,2026-01-01,left,nominal,,0
E,2026-03-01,found,nominal,,11
E,2026-03-01,found,timed,2026-01-01,11
E,2026-04-01,found,nominal,,11
E,2026-04-01,found,timed,2026-01-01,11
E,2026-04-01,left,nominal,,-0.5'
run "$bin/valve-timing" --all --as-of 2026-11-01 --format table --engine X-1 t.db
is 'all: where it stood each time' "$(printf '%s\n' "$out" | sed '1,/^engine.*since/d' | grep -c '  E  ')" 4
hand 'a rebuild' 0 '' t.db again.csv build.csv
timing --engine X-1 t.db
is 'since the last build' "$(cols 'at build since date state against reference reference_date drive' | grep ^E)" \
    'E,,,2026-03-01,left,mark,,,-0.5
E,B2,2026-05-01,2026-05-01,left,nominal,,,1
E,B2,2026-05-01,2026-05-01,left,last build,,2026-05-01,1'
timing --all --engine X-1 t.db
is 'and that one: as found on its last day, since it was set' \
    "$(cols 'at build date state against reference_date drive' | grep '^E.*2026-05-01.*\(nominal\|timed\)')" \
    'E,,2026-05-01,found,nominal,,0
E,,2026-05-01,found,timed,2026-04-01,0.5
E,B2,2026-05-01,left,nominal,,1'
# the inlet cam was not timed in B2: its old place is shown, and nothing of it is due any more
timing --engine X-1 t.db
is 'placed anew and not timed' "$(cols 'at build date against hint' | grep '^I.*nominal')" \
    'I,,2026-03-01,nominal,placed anew on 2026-05-01 and not timed since'
due --engine X-1 t.db
is 'of B2 nothing is due' "$out" ''
printf 'engine,date,event\nX-1,2026-03-02,end\n' >end.csv
cp s.db e.db
hand 'out of the fleet' 0 '' e.db end.csv
due --engine X-1 e.db
is 'of an engine that has left nothing is due' "$out" ''

### cams in closed form: lift 8.5 mm at the lobe, ratio 1.5
# harmonic NAME STEP RISE FALL: a profile, to 0.1 um; cam degrees
harmonic() {
    awk -v name="$1" -v step="$2" -v rise="$3" -v fall="$4" 'BEGIN {
        pi = atan2(0, -1)
        for (a = 0; a <= rise + fall + 1e-9; a += step)
            printf "%s,%.6g,%.4f,mm\n", name, a,
                8.5 * (1 - cos(pi * (a < rise ? a / rise : (rise + fall - a) / fall))) / 2
    }'
}
# The exact cam: opens(g) and closes(g) of a valve under lash g at checking lift h, whose centre
# under 0.25 mm at 1 mm stands 108 degrees after overlap TDC (side 1) or before it (-1).
exact='function acos(x) { return atan2(sqrt(1 - x * x), x) }
    function flank(g, h) { return acos(1 - 2 * (h + g) / 12.75) / pi }
    function opens(g, h) { return 2 * rise * flank(g, h) - origin }
    function closes(g, h) { return 2 * (rise + fall - fall * flank(g, h)) - origin }
    BEGIN {
        pi = atan2(0, -1)
        origin = 0
        origin = (opens(0.25, 1) + closes(0.25, 1)) / 2 - side * 108
    }'
# valve ENGINE,DATE AT LASH LATER found|left [H [RISE FALL]]: readings of it, LATER degrees off
valve() {
    awk -v who="$1" -v at="$2" -v g="$3" -v later="$4" -v col="$5" -v h="${6:-1}" \
        -v rise="${7:-60}" -v fall="${8:-70}" -v side="$(case $2 in *I*) echo 1 ;; *) echo -1 ;; esac)" \
        "$exact"'
    function put(q, x, unit, u) {
        printf "%s,,,%s,%s,%s,%s,%s,%s\n", who, q, at, col == "found" ? x : "", col == "left" ? x : "", unit, u
    }
    BEGIN {
        put("opens", sprintf("%.9f", opens(g, h) + later), "deg", 0.25)
        put("closes", sprintf("%.9f", closes(g, h) + later), "deg", 0.25)
        put("lash", g, "mm", 0.01)
        if (h != 1)
            put("checking_lift", h, "mm", 0.01)
    }'
}
# event SIDE RISE FALL EXPRESSION: a figure of the exact cam
event() { awk -v side="$1" -v rise="$2" -v fall="$3" "$exact BEGIN { printf \"%.6f\", $4 }"; }
# near NAME GOT WANT WITHIN
near() {
    ok "$1" awk -v a="$2" -v b="$3" -v d="$4" \
        'BEGIN { exit !(a != "" && b != "" && a - b <= d && b - a <= d) }'
}
# get ROW COLUMN: of $out, ROW as a pattern of at,against
get() { cols "at against $2" | grep "^$1," | cut -d, -f3-; }

cat >families.csv <<END
family,side,key,value,unit
vee,,cylinders,4,
vee,I,valves,1,
vee,E,valves,1,
vee,,banks,A:1-3 B:2-4,
vee,,ratio,1.5,
vee,I,lash_target,0.25,mm
vee,E,lash_target,0.25,mm
vee,I,opens,$(event 1 60 70 'opens(0.25, 1)'),deg
vee,I,closes,$(event 1 60 70 'closes(0.25, 1)'),deg
vee,E,opens,$(event -1 66 75 'opens(0.25, 1)'),deg
vee,E,closes,$(event -1 66 75 'closes(0.25, 1)'),deg
vee,I,lobe,in,
vee,E,lobe,ex,
vee,,checking_lift,1,mm
vee,,timing_tolerance,2,deg
vee,,crank_teeth,33,
END
printf 'engine,family\nV-1,vee\nV-2,vee\nV-3,vee\nV-4,vee\n' >engines.csv
{ echo lobe,cam_deg,lift,unit && harmonic in 0.5 60 70 && harmonic ex 0.5 66 75; } >lobes.csv
tdc() { printf '%s,,,stop_before,1,-35,,deg,0.25\n%s,,,stop_after,1,35,,deg,0.25\n' "$1" "$1"; }
{
    echo $rowed
    tdc V-1,2026-01-01
    for i in 1 3; do valve V-1,2026-01-01 ${i}I 0.25 0 left; done
    for i in 2 4; do valve V-1,2026-01-01 ${i}I 0.25 0 left; done
    for i in 1 3; do valve V-1,2026-01-01 ${i}E 0.25 0 left 1 66 75; done
    for i in 2 4; do valve V-1,2026-01-01 ${i}E 0.25 0 left 1 66 75; done
    # two months on: AI lash alone, to 0.05 and 0.45; BI 3 degrees late; AE both; BE a tooth
    tdc V-1,2026-03-01
    valve V-1,2026-03-01 1I 0.05 0 found
    valve V-1,2026-03-01 3I 0.45 0 found
    for i in 2 4; do valve V-1,2026-03-01 ${i}I 0.25 3 found; done
    for i in 1 3; do valve V-1,2026-03-01 ${i}E 0.35 -1.5 found 1 66 75; done
    for i in 2 4; do valve V-1,2026-03-01 ${i}E 0.25 10.9090909 found 1 66 75; done
} >readings.csv
hand 'exact cams' 0 '' v.db families.csv engines.csv lobes.csv readings.csv
timing --engine V-1 v.db
is 'nothing is refused' "$status$err" 0
is 'what is thought of them' "$(cols 'at against verdict split cause teeth hint')" \
    'at,against,verdict,split,cause,teeth,hint
AI,nominal,in,profile,none,,
AI,timed,,profile,none,,
AI,bank,,,,,the banks do not stand alike
AE,nominal,in,profile,none,,
AE,timed,,profile,early,,a little early: a new drive, or set so
AE,bank,,,,,the banks do not stand alike
BI,nominal,out,profile,wear,,a little late: wear or stretch of the drive
BI,timed,,profile,wear,,a little late: wear or stretch of the drive
BE,nominal,out,profile,teeth,1,one tooth retarded
BE,timed,,profile,teeth,1,one tooth retarded'
near 'lash alone: nothing for the drive' "$(get AI,timed drive)" 0 0.001
near 'drive alone: the drive' "$(get BI,timed drive)" 3 0.001
near 'drive alone: nothing for the lash' "$(get BI,timed lash)" 0 1e-9
near 'both: the drive' "$(get AE,timed drive)" -1.5 0.001
near 'both: the lash' "$(get AE,timed lash)" \
    "$(event -1 66 75 '(opens(0.35, 1) + closes(0.35, 1) - opens(0.25, 1) - closes(0.25, 1)) / 2')" 0.001
near 'both: the duration' "$(get AE,timed longer)" \
    "$(event -1 66 75 'closes(0.35, 1) - opens(0.35, 1) - closes(0.25, 1) + opens(0.25, 1)')" 0.001
near 'both: nothing is left of it' "$(get AE,timed rest)" 0 0.001
near 'a tooth' "$(get BE,nominal drive)" 10.909 0.001
near 'bank against bank, inlet' "$(get AI,bank drive)" -3 0.001
near 'bank against bank, exhaust' "$(get AE,bank drive)" -12.409 0.001
# one TDC for all: it goes out of the banks' difference, four valves of u 0.25 / sqrt(2) are left
# and the lash; it does not go out of a cam's shift, which has it twice
near 'its error does not part banks' "$(get AI,bank shift_u)" 0.1768 0.004
near 'it stands in a shift' "$(get BI,timed shift_u)" 0.3062 0.001
due --engine V-1 v.db
is 'due: beyond tolerance, and moved' "$(printf '%s\n' "$out" | cut -d, -f1-3)" 'V-1,timing,AE
V-1,timing,BE
V-1,timing,BI'
timing --engine V-1 --each-valve v.db
is 'each valve' "$(cols 'at against n n_shift' | head -n 3)" 'at,against,n,n_shift
1I,nominal,1,1
1I,timed,1,1'
for g in 0.05 0.45; do
    at=$(case $g in 0.05) echo 1I ;; *) echo 3I ;; esac)
    near "lash $g: the phase" "$(get $at,timed shift)" \
        "$(event 1 60 70 "(opens($g, 1) + closes($g, 1) - opens(0.25, 1) - closes(0.25, 1)) / 2")" 1e-5
    near "lash $g: all of it by lash" "$(get $at,timed drive)" 0 0.001
    near "lash $g: the duration" "$(get $at,timed longer)" \
        "$(event 1 60 70 "closes($g, 1) - opens($g, 1) - closes(0.25, 1) + opens(0.25, 1)")" 1e-5
    near "lash $g: overlap of its own cylinder" "$(get $at,nominal overlap)" \
        "$(echo "$(cols 'at against centre duration' | grep "^${at%I}E,nominal" | awk -F, '{ print $3 + $4 / 2 }') \
            $(cols 'at against centre duration' | grep "^$at,nominal" | awk -F, '{ print $3 - $4 / 2 }')" |
            awk '{ print $1 - $2 }')" 0.001
done

### a cam that faces the other way has its flanks exchanged; another lobe by its item's name
{
    echo $rowed
    for d in 2026-01-01 2026-03-01; do
        tdc V-2,$d
        g=$(case $d in *01-01) echo 0.25 ;; *) echo 0.65 ;; esac)
        col=$(case $d in *01-01) echo left ;; *) echo found ;; esac)
        for i in 1 3; do valve V-2,$d ${i}I $g 0 $col 1 70 60; done # facing the other way
        for i in 2 4; do valve V-2,$d ${i}I $g 0 $col 1 55 64; done # another lobe
    done
} >faces.csv
cat >fit.csv <<'END'
engine,date,event,part,at,item,faces
V-2,2025-12-01,fit,cam,A,C-1,reversed
V-2,2025-12-01,fit,cam,BI,short,
END
{ head -n 1 lobes.csv && harmonic short 0.5 55 64; } >short.csv
hand 'which cam' 0 '' v.db faces.csv
timing --engine V-2 v.db
lash=$(event 1 70 60 '(opens(0.65, 1) + closes(0.65, 1) - opens(0.25, 1) - closes(0.25, 1)) / 2')
near 'taken to face as the profile has it, the drive is blamed' "$(get AI,timed drive)" \
    "$(echo "$lash" | awk '{ print 2 * $1 }')" 0.001
is 'another lobe: no duration of this engine' "$(get BI,nominal hint | cut -d';' -f1)" \
    'its duration is that of no cam of this engine'
hand 'which cam, and how it faces' 0 '' v.db fit.csv short.csv
timing --engine V-2 v.db
near 'flanks exchanged: lash' "$(get AI,timed lash)" "$lash" 0.001
near 'flanks exchanged: nothing for the drive' "$(get AI,timed drive)" 0 0.001
near 'its own lobe: nothing for the drive' "$(get BI,timed drive)" 0 0.001
near 'its own lobe: nothing is left of the duration' "$(get BI,timed rest)" 0 0.001
near 'its own nominal duration' "$(get BI,nominal longer)" \
    "$(event 1 55 64 'closes(0.65, 1) - opens(0.65, 1) - closes(0.25, 1) + opens(0.25, 1)')" 0.001
is 'no stranger now' "$(get BI,nominal hint)" ''

### cams exchanged: inlet and exhaust in bank A, C-3 of bank B in bank A for V-4
{
    echo $rowed
    tdc V-3,2026-01-01
    for i in 1 3; do valve V-3,2026-01-01 ${i}I 0.25 0 left 1 66 75; done
    for i in 1 3; do valve V-3,2026-01-01 ${i}E 0.25 0 left; done
    tdc V-4,2026-01-01
    for i in 1 3; do valve V-4,2026-01-01 ${i}I 0.25 4 left 1 55 64; done
    for i in 2 4; do valve V-4,2026-01-01 ${i}I 0.25 -4 left; done
} >mixed.csv
cat >fit.csv <<'END'
engine,date,event,part,at,item,faces
V-4,2025-12-01,fit,cam,AI,in,
V-4,2025-12-01,fit,cam,BI,short,
END
hand 'exchanged' 0 '' v.db mixed.csv fit.csv
timing --engine V-3 v.db
is 'inlet and exhaust' "$(cols 'at against hint' | grep nominal)" \
    'AI,nominal,shows the events of cam AE: inlet and exhaust exchanged?
AE,nominal,shows the events of cam AI: inlet and exhaust exchanged?'
timing --engine V-4 v.db
is 'bank and bank' "$(cols 'at against hint' | grep nominal)" \
    'AI,nominal,shows the events of cam BI: banks exchanged?
BI,nominal,shows the events of cam AI: banks exchanged?'
due --engine V-3 v.db
is 'that is due' "$(printf '%s\n' "$out" | cut -d, -f1-3,11 | cut -d';' -f1)" \
    'V-3,timing,AE,shows the events of cam AI: inlet and exhaust exchanged?
V-3,timing,AI,shows the events of cam AE: inlet and exhaust exchanged?'
printf '%s\n' 'engine,date,event,part,at,item,faces' 'V-4,2026-05-01,fit,cam,AI,C-9,' >fit.csv
{ echo $rowed && tdc V-4,2026-05-01 && valve V-4,2026-05-01 1I 0.25 0 left; } >nine.csv
hand 'another cam is fitted' 0 '' v.db fit.csv nine.csv
timing --engine V-4 v.db
is 'it says so' "$(cols 'at against since n n_shift hint' | grep '^AI,last' | cut -d';' -f1)" \
    'AI,last build,2026-05-01,1,1,another cam: C-9, before in'

### lift at overlap TDC: the exact cam's lift there, its own lash, once 2 degrees late
# lift AT LASH LATER: ratio x lobe lift at TDC, less lash; rise 60, fall 70 of the inlet only
cat >families.csv <<END
family,side,key,value,unit
dial,I,valves,2,
dial,,ratio,1.5,
dial,I,lash_target,0.25,mm
dial,I,opens,$(event 1 60 70 'opens(0.25, 1)'),deg
dial,I,closes,$(event 1 60 70 'closes(0.25, 1)'),deg
dial,I,lobe,in,
dial,,checking_lift,1,mm
END
printf 'engine,family\nL-1,dial\nL-2,dial\nL-3,dial\n' >engines.csv
at_tdc() { event 1 60 70 "12.75 * (1 - cos(pi * (origin - $2) / 2 / rise)) / 2 - $1"; }
{
    echo $rowed
    printf 'L-1,2026-01-01,,,lift_tdc,1I1,,%s,mm,0.01\n' "$(at_tdc 0.25 0)"
    printf 'L-1,2026-01-01,,,lash,1I1,,0.25,mm,0.01\n'
    printf 'L-1,2026-03-01,,,lift_tdc,1I1,%s,,mm,0.01\n' "$(at_tdc 0.40 2)"
    printf 'L-1,2026-03-01,,,lash,1I1,0.40,,mm,0.01\n'
    # of two valves of a cam one was timed by its events: the lift of the other is left aside
    printf 'L-2,2026-01-01,,,lift_tdc,1I1,,0.5,mm,\nL-2,2026-01-01,,,lash,1I1,,0.25,mm,\n'
    valve L-2,2026-01-01 1I2 0.25 1 left
} >dial.csv
hand 'lift at TDC' 0 '' l.db families.csv engines.csv lobes.csv dial.csv
timing --engine L-1 l.db
near 'where it stands' "$(get I,nominal centre)" "$(event 1 60 70 '(opens(0.4, 1) + closes(0.4, 1)) / 2 + 2')" 0.001
near 'lift: the drive' "$(get I,timed drive)" 2 0.001
near 'lift: nothing but the lash beside it' "$(get I,timed lash)" \
    "$(event 1 60 70 '(opens(0.4, 1) + closes(0.4, 1) - opens(0.25, 1) - closes(0.25, 1)) / 2')" 0.001
# u of lift 0.01 and of lash 0.01 are sqrt(2) 0.01 mm; at which lift events are checked does not
# move TDC in the profile. The slope there is 12.75/2 pi/60 sin(pi x) / 2 mm a degree; TDC 1 degree
near 'its uncertainty' "$(get I,nominal centre_u)" \
    "$(event 1 60 70 'sqrt(1 + 0.0002 / (12.75 * pi / 240 * sin(pi * (origin - 2) / 120)) ^ 2)')" 0.0002
is 'a duration that was not measured is not told' \
    "$(cols 'at against duration overlap longer rest')" 'at,against,duration,overlap,longer,rest
I,nominal,,,,
I,timed,,,,'
# Nominal events that close 8 degrees earlier than the profile does are 4 degrees earlier in their
# mean, so the cam that stands where it should seems 4 late.
sed 's/^dial/short/' families.csv |
    awk -F, -v OFS=, '$3 == "closes" { $4 -= 8 } { print }' >short.fam
printf 'engine,family\nL-4,short\n' >short.eng
sed -n '1p; s/^L-1,2026-01/L-4,2026-01/p' dial.csv >short.csv
hand 'a profile and events that differ' 0 '' l.db short.fam short.eng short.csv
timing --engine L-4 l.db
near 'the shift is wrong' "$(get I,nominal drive)" 4 0.001
is 'and that is said' "$(cols 'hint' | tail -n 1)" \
    'a little late: wear or stretch of the drive; its profile is 8.0 deg longer than nominal: one of them is wrong, and this shift by up to half of that'
# The same the other way round, and of nominal events whose lash is not stated.
awk -F, -v OFS=, '$3 == "closes" { $4 += 16 } { sub(/^short/, "long") } !/,lash_/' short.fam >long.fam
printf 'engine,family\nL-5,long\n' >long.eng
sed 's/^L-4/L-5/' short.csv >long.csv
hand 'a profile shorter than the events' 0 '' l.db long.fam long.eng long.csv
timing --engine L-5 l.db
is 'and that is said' "$(cols 'hint' | tail -n 1 | sed 's/.*; its/its/')" \
    'its profile is 8.0 deg shorter than nominal: one of them is wrong, and this shift by up to half of that'
timing --engine L-2 l.db
is 'events are better than lift' "$(cols 'at against n n_shift drive' | sed 's/1\.0000../1/')" \
    'at,against,n,n_shift,drive
I,nominal,1,1,1'

### lift read at the lobe, 1.27 mm of 8.5, which at ratio 1.5 is where a valve without lash has risen by
### 1.905: the cam moves by 3 degrees, and 0.35 mm more lash has no part in it
cat >lifter.fam <<END
family,side,key,value,unit
lifter,I,valves,1,
lifter,,ratio,1.5,
lifter,I,lobe,in,
lifter,,lift_at,lobe,
lifter,,checking_lift,0.05,in
lifter,,timing_tolerance,2,deg
lifter,I,opens,$(event 1 60 70 'opens(0, 1.905)'),deg
lifter,I,closes,$(event 1 60 70 'closes(0, 1.905)'),deg
END
printf 'engine,family\nL-6,lifter\nL-7,lifter\n' >lifter.eng
at_lobe() { event 1 60 70 "$1(0, 1.905) + $2"; }
{
    echo $rowed
    tdc L-6,2026-01-01
    printf 'L-6,2026-01-01,,,opens,1I,,%s,deg,0.25\n' "$(at_lobe opens 0)"
    printf 'L-6,2026-01-01,,,closes,1I,,%s,deg,0.25\n' "$(at_lobe closes 0)"
    printf 'L-6,2026-01-01,,,lash,1I,,0.25,mm,0.01\n'
    tdc L-6,2026-03-01
    printf 'L-6,2026-03-01,,,opens,1I,%s,,deg,0.25\n' "$(at_lobe opens 3)"
    printf 'L-6,2026-03-01,,,closes,1I,%s,,deg,0.25\n' "$(at_lobe closes 3)"
    printf 'L-6,2026-03-01,,,lash,1I,0.60,,mm,0.01\n'
    # a cam timed by the lobe's lift at TDC, which needs no lash, 2 degrees late
    printf 'L-7,2026-01-01,,,lift_tdc,1I,,%s,mm,0.01\n' \
        "$(event 1 60 70 '8.5 * (1 - cos(pi * (origin - 2) / 2 / rise)) / 2')"
} >lifter.csv
printf '%s\n' engine,date,event,part,at,item L-6,2026-01-01,fit,cam,I,in >lifter.ev
hand 'lift of the lobe' 0 '' l.db lifter.fam lifter.eng lifter.ev lifter.csv
timing --engine L-6 l.db
near 'the drive alone' "$(get I,timed drive)" 3 0.001
near 'lash has no part in it' "$(get I,timed lash)" 0 1e-9
near 'nor in the duration' "$(get I,timed rest)" 0 0.001
near 'against nominal the same' "$(get I,nominal drive)" 3 0.001
near 'a cam of its own profile has its duration at the lobe' "$(get I,nominal rest)" 0 0.002
is 'with a profile' "$(get I,timed split)" profile
timing --engine L-7 l.db
near 'lift of the lobe at TDC' "$(get I,nominal drive)" 2 0.001

### one cam of a push-rod V8: another grind, 4 degrees either way, is no drive's doing; what happens
### to it at one side of one bank happens to all, lash trains too
cat >one.fam <<'END'
family,side,key,value,unit
v8,,cylinders,8,
v8,I,valves,1,
v8,E,valves,1,
v8,,cam_for,engine,
v8,,banks,A:1-3-5-7 B:2-4-6-8,
v8,I,opens,-20,deg
v8,I,closes,230,deg
v8,E,opens,-240,deg
v8,E,closes,16,deg
v8,,checking_lift,0.05,in
v8,,lift_at,lobe,
v8,I,lash_min,0.2,mm
v8,I,lash_max,0.4,mm
v8,E,lash_min,0.2,mm
v8,E,lash_max,0.4,mm
END
printf 'engine,family\nR-1,v8\n' >one.eng
cat >one.csv <<END
$rowed
R-1,2026-01-01,10,h,lash,1I,,0.3,mm,
R-1,2026-01-01,10,h,lash,2E,,0.3,mm,
R-1,2026-03-01,30,h,lash,1I,0.31,,mm,
R-1,2026-03-01,30,h,lash,2E,0.31,,mm,
R-1,2026-03-01,30,h,opens,1I,,-24,deg,0.4
R-1,2026-03-01,30,h,closes,1I,,226,deg,0.4
R-1,2026-03-01,30,h,opens,1E,,-236,deg,0.4
R-1,2026-03-01,30,h,closes,1E,,20,deg,0.4
END
cat >one.ev <<'END'
engine,date,event,part,at,item
R-1,2026-02-15,replace,cam,AI,
R-1,2026-02-15,fit,cam,AI,C-2
END
hand 'one cam' 0 '' o.db one.fam one.eng one.csv one.ev
timing o.db
grind='inlet shifted 8.0 deg earlier than exhaust, on one cam: not the drive; another grind, a lobe, a misreading'
is 'one cam, another grind' "$(cols 'at since against drive cause hint')" \
    "at,since,against,drive,cause,hint
AI,2026-02-15,nominal,-4,apart,$grind
AE,2026-02-15,nominal,4,apart,$grind"
run "$bin/valve-drift" --as-of 2026-11-01 --format csv o.db
is 'lash trains of both sides are new' "$(printf '%s\n' "$out" | cut -d, -f3,5)" 'at,since
1I,2026-02-15
2E,2026-02-15'
run "$bin/valve-life" --as-of 2026-11-01 --part cam --side E --what mcf --format csv o.db
is 'the cam of the exhausts was replaced' "$(printf '%s\n' "$out" | sed 1d | wc -l | tr -d ' ')" 1
printf 'family,side,key,value,unit\nv8,,cam_for,side,\n' >side.fam
run "$bin/valve-book" --as-of 2026-11-01 --no-end --correct o.db side.fam
timing o.db
is 'two cams: each by itself' "$(cols 'at since drive cause hint')" 'at,since,drive,cause,hint
AI,2026-02-15,-4,early,a little early: a new drive, or set so
AE,,4,wear,a little late: wear or stretch of the drive'
run "$bin/valve-drift" --as-of 2026-11-01 --format csv o.db
is 'and its lash trains' "$(printf '%s\n' "$out" | cut -d, -f3,5)" 'at,since
1I,2026-02-15
2E,'

### the checking lift: of the valve, else of its side, else of all, else the family's; other ones
### are compared by the profile, and without it not at all
ev() { printf '%s,,,opens,%s,,%s,deg,0.25\n%s,,,closes,%s,,%s,deg,0.25\n' "$1" "$2" "$3" "$1" "$2" "$4"; }
{
    echo $rowed
    for h in 1.27 0.8 1.5; do
        at=$(case $h in 1.27) echo 1I1 ;; 0.8) echo 1I2 ;; *) echo 2I1 ;; esac)
        valve L-3,2026-01-01 $at 0.25 0 left $h | grep -v checking
    done
    valve L-3,2026-01-01 2I2 0.30 0 left
    printf 'L-3,2026-01-01,,,checking_lift,1I1,1.27,,mm,\nL-3,2026-01-01,,,checking_lift,1,0.8,,mm,\n'
    printf 'L-3,2026-01-01,,,checking_lift,I,,1.5,mm,\nL-3,2026-01-01,,,checking_lift,2I2,1,,mm,\n'
} >lifts.csv
hand 'checking lifts' 0 '' l.db lifts.csv
timing --engine L-3 --each-valve l.db
for at in 1I1 1I2 2I1 2I2; do
    near "$at: at its own lift it stands as it should" "$(get $at,nominal drive)" 0 0.001
    near "$at: and as long" "$(get $at,nominal rest)" 0 0.002 # steps of half a degree
done
near 'another checking lift is as much lash' "$(get 1I1,nominal longer)" \
    "$(event 1 60 70 'closes(0.25, 1.27) - opens(0.25, 1.27) - closes(0.25, 1) + opens(0.25, 1)')" 0.001
cat >families.csv <<'END'
family,side,key,value,unit
bare,I,opens,12 BTDC,
bare,I,closes,45 ABDC,
bare,,checking_lift,1,mm
none,I,opens,12 BTDC,
none,I,closes,45 ABDC,
back,I,opens,45 ABDC,
back,I,closes,12 BTDC,
back,,checking_lift,1,mm
lost,I,lobe,nowhere,
lost,,checking_lift,1,mm
dent,I,lobe,two-humped,
dent,,checking_lift,1,mm
END
printf 'engine,family\nB-1,bare\nN-1,none\nN-2,none\nK-1,back\nO-1,lost\nD-1,dent\nD-2,dent\n' >engines.csv
cat >lobes.csv <<'END'
lobe,cam_deg,lift,unit
two-humped,0,0,mm
two-humped,10,2,mm
two-humped,20,5,mm
two-humped,30,8,mm
two-humped,40,6,mm
two-humped,50,8,mm
two-humped,60,5,mm
two-humped,70,2,mm
two-humped,80,0,mm
END
{
    echo $rowed
    ev B-1,2026-01-01 1I -12 225
    echo B-1,2026-02-01,,,checking_lift,,,1.27,mm,
    ev B-1,2026-02-01 1I -10 223
    ev N-1,2026-01-01 1I -12 225
    echo N-2,2026-01-01,,,checking_lift,,,1,mm,
    ev N-2,2026-01-01 1I -12 225
    ev K-1,2026-01-01 1I -12 225
    ev O-1,2026-01-01 1I -12 225
    ev D-1,2026-01-01 1I -12 225
    ev D-2,2026-01-01 1I -12 225
} >bare.csv
hand 'what is lacking' 0 '' b.db families.csv engines.csv lobes.csv bare.csv
timing b.db
is 'refused by name' "$status
$err" "1
valve-timing: b.db: D-1: lobe 'two-humped': lift rises after cam_deg 40, behind the top at 30
valve-timing: b.db: K-1: inlet events of family 'back': closes at -12, not after it opens at 225
valve-timing: b.db: N-1 2026-01-01 1I as left: no checking lift stated, at this visit or by the family
valve-timing: b.db: N-2: family 'none' states inlet events and no checking lift
valve-timing: b.db: O-1: lobe 'nowhere': no profile of this name in the table lobes"
is 'the rest goes on' "$(cols 'engine at date against n_shift drive split hint')" \
    "engine,at,date,against,n_shift,drive,split,hint
B-1,I,2026-02-01,nominal,0,,,not comparable: other valves, or another checking lift and no profile
D-1,I,2026-01-01,,0,,,
D-2,I,2026-01-01,,0,,,
K-1,I,2026-01-01,,0,,,
N-2,I,2026-01-01,,0,,,
O-1,I,2026-01-01,,0,,,"
due b.db
is 'due: somebody should look' "$(printf '%s\n' "$out" | cut -d, -f1-3,11)" \
    'D-1,timing,,1 thing about its cams cannot be used: valve-timing says what
K-1,timing,,1 thing about its cams cannot be used: valve-timing says what
N-1,timing,,1 thing about its cams cannot be used: valve-timing says what
N-2,timing,,1 thing about its cams cannot be used: valve-timing says what
O-1,timing,,1 thing about its cams cannot be used: valve-timing says what'

### what the book has to know: gauges by their kind, profiles in inches, events by their part and day
cat >families.csv <<END
family,side,key,value,unit
inch,,checking_lift,1,mm
inch,I,lobe,thin,
END
printf 'engine,family\nG-1,inch\nG-2,inch\nG-3,inch\nG-4,inch\n' >engines.csv
{ echo lobe,cam_deg,lift,unit && harmonic thin 0.5 60 70 | awk -F, '{ printf "%s,%s,%.17g,in\n", $1, $2, $3 / 25.4 }'; } >lobes.csv
printf 'gauge,kind,resolution,unit,u\ndti,dial,0.01,mm,0.3\nwheel,degree wheel,1,deg,\n' >gauges.csv
{
    echo engine,date,quantity,at,found,left,unit,gauge
    for g in dti wheel; do
        d=$(case $g in dti) echo 2026-01-01 ;; *) echo 2026-03-01 ;; esac)
        echo "G-1,$d,opens,1I,,-12,deg,$g"
        echo "G-1,$d,closes,1I,,225,deg,$g"
    done
    for e in G-2 G-3 G-4; do
        echo "$e,2026-01-01,opens,1I,,-12,deg,"
        echo "$e,2026-01-01,closes,1I,,225,deg,"
        echo "$e,2026-03-01,opens,1I,-12,,deg,"
        echo "$e,2026-03-01,closes,1I,225,,deg,"
    done
    echo G-4,2026-01-01,lash,1I,,0.10,mm,
    echo G-4,2026-03-01,lash,1I,0.20,,mm,
} >more.csv
hand 'more of it' 0 '' g.db families.csv engines.csv lobes.csv gauges.csv more.csv
timing --engine G-1 --as-of 2026-02-01 g.db
near 'a dial says nothing of angles' "$(cols 'at against duration_u' | grep ^I | cut -d, -f3)" 0.707107 1e-6
timing --engine G-1 g.db
# a step of 1 degree: 1 / sqrt(12) an angle, sqrt(2) as much for the duration
near 'a wheel says it of its angles' "$(cols 'at against duration_u' | grep ^I | cut -d, -f3)" 0.408248 1e-6
timing --engine G-4 g.db
# 12.75 / 1.5 = 8.5 mm of lift at ratio 1
near 'a profile in inches' "$(get I,timed lash)" "$(awk 'function acos(x) { return atan2(sqrt(1 - x * x), x) }
    function f(y) { return acos(1 - 2 * y / 8.5) / atan2(0, -1) }
    BEGIN { print (60 - 70) * (f(1.2) - f(1.1)) }')" 0.001
for part in seat head cam chain sprocket ''; do
    printf 'engine,date,event,part\nG-2,2026-02-01,%s,%s\n' "${part:+replace}" "$part" |
        sed 's/,,$/,build,/' >part.csv
    cp g.db p.db
    hand "part '$part'" 0 '' p.db part.csv
    timing --engine G-2 p.db
    is "it places the cam: '$part'" "$(cols against | tail -n 1)" \
        "$([ "$part" = seat ] && echo timed || echo 'last build')"
done
timing --engine G-2 --as-of 2026-02-15 p.db
is 'an event of before' "$(cols 'since hint' | tail -n 1)" ',placed anew on 2026-02-01 and not timed since'
timing --engine G-2 --as-of 2026-01-15 p.db
is 'an event to come is not looked at' "$(cols 'since hint' | tail -n 1)" ','
cat >fit.csv <<'END'
engine,date,event,part,at,item,faces
G-3,2025-12-01,fit,cam,I,C-1,reversed
G-3,2025-12-02,fit,cam,I,thin,
END
hand 'a cam that was turned round' 0 '' g.db fit.csv
printf 'engine,date,quantity,at,found,left,unit\nG-3,2026-01-01,lash,1I,,0.10,mm\nG-3,2026-03-01,lash,1I,0.20,,mm\n' >l3.csv
hand 'and its lash' 0 '' g.db l3.csv
timing --engine G-3 g.db
near 'a fit that does not say how it faces leaves that' "$(get I,timed lash)" "$(awk '
    function acos(x) { return atan2(sqrt(1 - x * x), x) }
    function f(y) { return acos(1 - 2 * y / 8.5) / atan2(0, -1) }
    BEGIN { print (70 - 60) * (f(1.2) - f(1.1)) }')" 0.001

### readings that cannot be
printf 'engine,family\n' >engines.csv
for i in 1 2 3 4 5 6 7 8; do echo "R-$i,bare"; done >>engines.csv
cat >wrong.csv <<'END'
engine,date,quantity,at,found,left,unit,u,source,line
R-1,2026-01-01,opens,1I,225,,deg,,w.csv,2
R-1,2026-01-01,closes,1I,-12,,deg,,w.csv,2
R-1,2026-01-01,opens,2I,-12,,deg,,w.csv,3
R-1,2026-01-01,closes,2I,225,,deg,,w.csv,3
R-2,2026-01-01,opens,1I,-12,-12,deg,,w.csv,4
R-2,2026-01-01,closes,1I,225,,deg,,w.csv,4
R-3,2026-01-01,closes,1I,225,,deg,,w.csv,5
R-4,2026-01-01,opens,1I,-12,,deg,,w.csv,6
R-4,2026-01-01,closes,1I,225,,deg,,w.csv,6
R-4,2026-01-01,stop_before,1,-30,,deg,,w.csv,6
R-4,2026-01-01,stop_after,2,30,,deg,,w.csv,7
R-5,2026-01-01,opens,1I,-12,,deg,,w.csv,8
R-5,2026-01-01,closes,1I,225,,deg,,w.csv,8
R-5,2026-01-01,stop_before,1,30,,deg,,w.csv,8
R-5,2026-01-01,stop_after,1,-30,,deg,,w.csv,8
R-6,2026-01-01,lift_tdc,1I,2.5,,mm,,w.csv,9
R-7,2026-01-01,opens,1I,-12,,deg,1e-7,w.csv,10
R-7,2026-01-01,closes,1I,225,,deg,1e-7,w.csv,10
R-7,2026-01-01,opens,2I,-12,,deg,,w.csv,11
R-7,2026-01-01,closes,2I,225,,deg,,w.csv,11
R-8,2026-01-01,lift_tdc,1I,0,,mm,,w.csv,12
END
hand 'readings that cannot be' 0 '' b.db engines.csv wrong.csv
timing b.db
is 'each is refused by name' "$(printf '%s\n' "$err" | grep ' R-')" \
    "valve-timing: b.db: R-1 2026-01-01 1I: closes at -12, not after it opens at 225 (w.csv:2)
valve-timing: b.db: R-2 2026-01-01 1I as left: opens without closes (w.csv:4)
valve-timing: b.db: R-3 2026-01-01 1I: closes without opens (w.csv:5)
valve-timing: b.db: R-4 2026-01-01 2: stop_after without stop_before (w.csv:7)
valve-timing: b.db: R-4 2026-01-01 1: stop_before without stop_after (w.csv:6)
valve-timing: b.db: R-5 2026-01-01 1: stop readings 30 and -30 lie 300 apart through TDC: exchanged? (w.csv:8)
valve-timing: b.db: R-6 2026-01-01 1I: lift_tdc, and no profile to make degrees of it (w.csv:9)
valve-timing: b.db: R-7 2026-01-01 I: the uncertainties of its valves are too unlike for one mean
valve-timing: b.db: R-8 2026-01-01 1I: lift_tdc, and no profile to make degrees of it (w.csv:12)"
is 'the others stay' "$(cols 'engine at n centre against n_shift' | grep ^R)" \
    'R-1,I,1,106.5,nominal,1
R-2,I,1,106.5,nominal,1
R-4,I,1,106.5,nominal,1
R-5,I,1,106.5,nominal,1
R-7,I,2,,nominal,0'

### the command line, and books without cams
run "$bin/valve-timing" --as-of 2026-11-01 --engine Q-1 b.db
is 'no such engine' "$status|$out|$err" "2||valve-timing: b.db: unknown engine 'Q-1'"
run "$bin/valve-timing" --as-of 2026-11-01 --family q b.db
is 'no such family' "$status|$out|$err" "2||valve-timing: b.db: no engine of family 'q'"
timing --family bare b.db
is 'one family' "$(cols engine | sort -u | tr '\n' ' ')" 'B-1 R-1 R-2 R-4 R-5 R-7 engine '
timing --family bare --engine K-1 b.db
is 'an engine of another family' "$status|$out|$err" \
    "2||valve-timing: b.db: engine 'K-1' is of family 'back', not 'bare'"
basic lash.db
timing lash.db
is 'a book of lash: a heading' "$status|$err|$(printf '%s\n' "$out" | wc -l | tr -d ' ')" '0||1'
run "$bin/valve-timing" --as-of 2026-11-01 --format table lash.db
is 'a book of lash, for a person' "$status$(printf '%s\n' "$out" | head -n 1)" '0no cam has been timed yet'
run "$bin/valve-timing" --as-of 2026-11-01 --format table --engine N-2 b.db
is 'nothing to compare with' "$(printf '%s\n' "$out" | head -n 1)" 'nothing to hold these cams against'
run "$bin/valve-timing" --format xml b.db
is 'an unknown format' "$status" 2
run "$bin/valve-timing" --as-of tomorrow b.db
is 'a bad date' "$status" 2
### twice on the day of a rebuild: in the morning it is left at 105.5, in the evening, 4 h on, it
# is found at 116.5; 11 degrees late since it was timed in this build
cat >twice.fam <<'END'
family,side,key,value,unit
twice,I,opens,12 BTDC,
twice,I,closes,45 ABDC,
twice,,checking_lift,0.5,mm
END
printf 'engine,family\nT-1,twice\n' >twice.eng
printf 'engine,date,event,build\nT-1,2025-02-01,build,B2\n' >twice.ev
cat >twice.csv <<'END'
engine,date,quantity,at,found,left,unit
T-1,2025-02-01T08:00,opens,1I,-11,-13,deg
T-1,2025-02-01T08:00,closes,1I,226,224,deg
T-1,2025-02-01T18:00,opens,1I,-2,,deg
T-1,2025-02-01T18:00,closes,1I,235,,deg
END
run "$bin/valve-book" --as-of 2025-03-01 --no-end twice.db twice.fam twice.eng twice.ev twice.csv
is "two timings of one day" "$status$err" 0
is "what the evening finds is of the build of the morning" \
    "$("$bin/valve-timing" --as-of 2025-03-01 --format csv twice.db | cut -d, -f4,6,7,9,19,21,27)" \
    "build,date,state,centre,against,reference_date,drive
B2,2025-02-01T18:00,found,116.5,nominal,,10
B2,2025-02-01T18:00,found,116.5,timed,2025-02-01T08:00,11
B2,2025-02-01T18:00,found,116.5,last build,2025-02-01T08:00,9"
# Only the cam that was timed in the morning: not that of the other bank, nor of the other side.
cat >twice.fam <<'END'
family,side,key,value,unit
twice,I,opens,12 BTDC,
twice,I,closes,45 ABDC,
twice,E,opens,45 BBDC,
twice,E,closes,12 ATDC,
twice,,banks,A:1 B:2,
twice,,checking_lift,0.5,mm
END
cat >twice.csv <<'END'
engine,date,quantity,at,found,left,unit
T-1,2025-02-01T08:00,opens,1E,,-225,deg
T-1,2025-02-01T08:00,closes,1E,,12,deg
T-1,2025-02-01T18:00,opens,1E,-224,,deg
T-1,2025-02-01T18:00,closes,1E,13,,deg
T-1,2025-02-01T18:00,opens,2E,-223,-226,deg
T-1,2025-02-01T18:00,closes,2E,14,11,deg
T-1,2025-02-01T18:00,opens,1I,-2,-12,deg
T-1,2025-02-01T18:00,closes,1I,235,225,deg
END
run "$bin/valve-book" --as-of 2025-03-01 --no-end banks.db twice.fam twice.eng twice.ev twice.csv
is "timings of three cams" "$status$err" 0
is "a cam goes on in the build in which it was timed itself" \
    "$("$bin/valve-timing" --as-of 2025-03-01 --all --format csv banks.db | grep found,.*,nominal | cut -d, -f3,4,9)" \
    "AI,,116.5
AE,B2,-105.5
BE,,-104.5"
done_testing
