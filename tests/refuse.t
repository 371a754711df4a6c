#!/bin/sh
# valve-book: rows that cannot be true are refused by name, and the rows around them stay.
. tests/tap.sh
. tests/book.sh
cd "$work" || exit 1
basic base.db

# refuses NAME MESSAGE ROW...: the rows between two good ones are refused with this message
# (for line 3, the first of them), the good ones stay
refuses() {
    refuses_name=$1 refuses_err=$2
    shift 2
    cp base.db s.db
    { echo HC-1,2025-01-01,100,h,lash,1I,0.25,,mm
      printf '%s\n' "$@"
      echo HC-1,2025-03-01,200,h,lash,1E,0.35,,mm; } | rows r.csv
    hand "$refuses_name" 1 "valve-book: r.csv:3: $refuses_err" s.db r.csv
    shows "$refuses_name: the others stay" s.db 'HC-1,2025-01-01,100,1I,0.25,
HC-1,2025-03-01,200,1E,0.35,'
}
refuses 'unknown engine' "column 'engine': unknown engine 'XX-9'" XX-9,2025-02-01,9,h,lash,1I,0.2,,mm
refuses 'no engine' "column 'engine': unknown engine ''" ,2025-02-01,9,h,lash,1I,0.2,,mm
refuses 'cylinder too high' "column 'at': this family has no valve '5I'" \
    HC-1,2025-02-01,150,h,lash,5I,0.2,,mm
refuses 'index where a side has one valve' "column 'at': this family has one valve a side: no index in '1I1'" \
    HC-1,2025-02-01,150,h,lash,1I1,0.2,,mm
refuses 'second of one valve a side' "column 'at': this family has no valve '1I2'" \
    HC-1,2025-02-01,150,h,lash,1I2,0.2,,mm
refuses 'no index where a side has two' "column 'at': which valve of its side? An index is missing in '1I'" \
    D-07,2025-02-01,150,h,lash,1I,0.2,,mm
refuses 'index too high' "column 'at': this family has no valve '1E3'" \
    D-07,2025-02-01,150,h,lash,1E3,0.2,,mm
refuses 'no valve at all' "column 'at': unknown valve 'left'" HC-1,2025-02-01,150,h,lash,left,0.2,,mm
refuses 'a valve where a cylinder is meant' "column 'at': bad place '1I'" \
    HC-1,2025-02-01,150,h,leakdown,1I,8,,%
refuses 'unknown quantity' "column 'quantity': unknown quantity 'lsh'; known are lash, opens, closes, lift_tdc, checking_lift, stop_before, stop_after, shim, stem_height, recess, leakdown, compression, spring_load, lobe_lift, injector_lash, brake_lash, bridge_gap, sprocket_step" \
    HC-1,2025-02-01,150,h,lsh,1I,0.2,,mm
refuses 'unit of another dimension' "column 'unit': unit does not fit: 'deg'" \
    HC-1,2025-02-01,150,h,lash,1I,0.2,,deg
refuses 'unknown unit' "column 'unit': unit does not fit: 'furlong'" \
    HC-1,2025-02-01,150,h,lash,1I,0.2,,furlong
refuses 'no unit' "column 'unit': no unit" HC-1,2025-02-01,150,h,lash,1I,0.2,,
refuses 'neither found nor left' "column 'found': neither found nor left is filled" \
    HC-1,2025-02-01,150,h,lash,1I,,,mm
refuses 'no number' "column 'left': bad number '0.2O'" HC-1,2025-02-01,150,h,lash,1I,,0.2O,mm
refuses 'lash below zero' "column 'found': no credible value '-0.2'" \
    HC-1,2025-02-01,150,h,lash,1I,-0.2,,mm
refuses 'a slipped decimal point' "column 'left': no credible value '25'" \
    HC-1,2025-02-01,150,h,lash,1I,0.2,25,mm
refuses 'no such day' "column 'date': bad date '2025-02-30'" HC-1,2025-02-30,150,h,lash,1I,0.2,,mm
refuses 'later than --as-of' "column 'date': 2026-11-02 is later than 2026-11-01" \
    HC-1,2026-11-02,150,h,lash,1I,0.2,,mm
refuses 'km after h' "column 'meter_unit': this engine's meter runs in h, not in km" \
    HC-1,2025-02-01,150,km,lash,1I,0.2,,mm
refuses 'miles after h' "column 'meter_unit': this engine's meter runs in h, not in km" \
    HC-1,2025-02-01,150,mi,lash,1I,0.2,,mm
refuses 'a meter in mm' "column 'meter_unit': a meter runs in h or km, not 'mm'" \
    HC-1,2025-02-01,150,mm,lash,1I,0.2,,mm
refuses 'a meter that is no number' "column 'meter': bad number '15O'" \
    HC-1,2025-02-01,15O,h,lash,1I,0.2,,mm
refuses 'too few cells' '8 cells where the heading has 9' HC-1,2025-02-01,150,h,lash,1I,0.2,
refuses 'too many cells' '10 cells where the heading has 9' HC-1,2025-02-01,150,h,lash,1I,0.2,,mm,x
refuses 'a refused visit does not count: its slip of the meter' \
    "column 'at': this family has no valve '9I'" HC-1,2025-02-01,800,h,lash,9I,0.2,,mm
back="the meter runs backwards, and no meter event lies between"
refuses 'a slip of the meter' \
    "column 'meter': 1500 h on 2025-02-01 after 100 h on 2025-01-01: more than 24 h a day" \
    HC-1,2025-02-01,1500,h,lash,1I,0.2,,mm
refuses 'backwards in one load' \
    "column 'meter': 99.9 h on 2025-02-01 after 100 h on 2025-01-01: $back" \
    HC-1,2025-02-01,99.9,h,lash,1I,0.2,,mm
refuses 'a long number in inches is not taken for mm' \
    "column 'found': bad number '0.0100000000000000000001'" \
    HC-1,2025-02-01,150,h,lash,1I,0.0100000000000000000001,,in

long=12345678901234567890123456789012345678901234567890123456789012345
refuses 'a name too long to be shown' \
    "column 'engine': unknown engine 'E$(echo $long | cut -c 1-59)'" E$long,2025-02-01,9,h,lash,1I,0.2,,mm
refuses 'a date too long to be shown' "column 'date': bad date 'D$(echo $long | cut -c 1-39)'" \
    HC-1,D$long,150,h,lash,1I,0.2,,mm
refuses 'no date' "column 'date': bad date ''" HC-1,,150,h,lash,1I,0.2,,mm
refuses 'a meter in no unit' "column 'meter_unit': a meter runs in h or km, not ''" \
    HC-1,2025-02-01,150,,lash,1I,0.2,,mm
refuses 'a meter in a unit too long to be shown' \
    "column 'meter_unit': a meter runs in h or km, not 'u$(echo $long | cut -c 1-19)'" \
    HC-1,2025-02-01,150,u$long,lash,1I,0.2,,mm
refuses 'a meter too long to be shown' "column 'meter': bad number '$(echo $long | cut -c 1-40)'" \
    HC-1,2025-02-01,$long,h,lash,1I,0.2,,mm
refuses 'a meter below zero' "column 'meter': bad number '-1'" HC-1,2025-02-01,-1,h,lash,1I,0.2,,mm
refuses 'a meter in miles that has no room in km' "column 'meter': bad number '12345678901234567'" \
    D-07,2025-02-01,12345678901234567,mi,lash,1I1,0.2,,mm
refuses 'a number beyond all numbers' "column 'found': bad number '1e999'" \
    HC-1,2025-02-01,150,h,lash,1I,1e999,,mm
refuses 'one that is one, but not credible' "column 'found': no credible value '1e99'" \
    HC-1,2025-02-01,150,h,lash,1I,1e99,,mm
cp base.db s.db
{ head -n 1 r.csv | sed s/unit$/unit,u,line/
  echo HC-1,2025-02-01,150,h,lash,1I,0.2,,mm,0,
  echo HC-1,2025-02-01,150,h,lash,2I,0.2,,mm,0.01,4.5
  echo HC-1,2025-02-01,150,h,lash,3I,0.2,,mm,0.01,
  echo HC-1,2026-11-01T23:59,160,h,lash,3I,0.3,,mm,,7; } | sed 's/meter_unit,u,line/meter_unit/' >u.csv
hand 'uncertainty and line' 1 "valve-book: u.csv:2: column 'u': an uncertainty is above zero, not '0'
valve-book: u.csv:3: column 'line': bad number '4.5'" s.db u.csv
is 'a blank line stays blank; the evening of --as-of is not in the future' \
    "$("$vb" --dump readings s.db | sed '1d;$d')" \
    'HC-1,2025-02-01,150,h,lash,3I,0.2,,mm,0.01,,,,,,
HC-1,2026-11-01T23:59,160,h,lash,3I,0.3,,mm,,,,,,,7'

cp base.db s.db
printf '%s\n' engine,date,quantity,at,found,unit,u,temp_c,line HC-1,2025-02-01,lash,1I,0.2,mm,O.1,, \
    HC-1,2025-02-01,lash,2I,0.2,mm,,2O, HC-1,2025-02-01,lash,3I,0.2,mm,,,-5 HC-1,2025-02-01,lash,4I,0.2,mm,,,x \
    HC-1,2025-02-01,lash,4I,0.2,mm,0.01,-5,0 >u.csv
hand 'no numbers beside the reading' 1 "valve-book: u.csv:2: column 'u': bad number 'O.1'
valve-book: u.csv:3: column 'temp_c': bad number '2O'
valve-book: u.csv:4: column 'line': bad number '-5'
valve-book: u.csv:5: column 'line': bad number 'x'" s.db u.csv
is 'and numbers beside it' "$("$vb" --dump readings s.db | sed '1d;$d')" \
    'HC-1,2025-02-01,,,lash,4I,0.2,,mm,0.01,-5,,,,,0'

### meters
cp base.db s.db
rows r.csv <<'END'
HC-1,2025-01-01,100,h,lash,1I,0.20,,mm
HC-1,2025-02-01,200,h,lash,1I,0.21,,mm
HC-1,2025-04-01,300,h,lash,1I,0.22,,mm
END
hand 'three visits' 0 '' s.db r.csv
echo HC-1,2025-05-01,299.9,h,lash,1I,0.23,,mm | rows r.csv
hand 'backwards across loads' 1 \
    "valve-book: r.csv:2: column 'meter': 299.9 h on 2025-05-01 after 300 h on 2025-04-01: $back" s.db r.csv
echo HC-1,2025-03-01,199,h,lash,1I,0.23,,mm | rows r.csv
hand 'backwards between known dates' 1 \
    "valve-book: r.csv:2: column 'meter': 199 h on 2025-03-01 after 200 h on 2025-02-01: $back" s.db r.csv
echo HC-1,2025-03-01,301,h,lash,1I,0.23,,mm | rows r.csv
hand 'too far forwards between known dates' 1 \
    "valve-book: r.csv:2: column 'meter': 300 h on 2025-04-01 after 301 h on 2025-03-01: $back" s.db r.csv
printf '%s\n' HC-1,2025-03-01,200,h,lash,1I,0.23,,mm HC-1,2025-05-01,300,h,lash,1I,0.24,,mm | rows r.csv
hand 'standing still is no running back' 0 '' s.db r.csv
echo HC-1,2024-12-01,101,h,lash,1I,0.23,,mm | rows r.csv
hand 'too far before the first' 1 \
    "valve-book: r.csv:2: column 'meter': 100 h on 2025-01-01 after 101 h on 2024-12-01: $back" s.db r.csv
echo HC-1,2025-06-01,,,lash,1I,0.25,,mm | rows r.csv
hand 'no meter' 0 '' s.db r.csv
echo HC-1,2025-07-01,250,h,lash,1I,0.26,,mm | rows r.csv
hand 'backwards behind a visit without a meter' 1 \
    "valve-book: r.csv:2: column 'meter': 250 h on 2025-07-01 after 300 h on 2025-05-01: $back" s.db r.csv
echo HC-1,2025-07-01,400,km,lash,1I,0.26,,mm | rows r.csv
hand 'km behind a visit without a meter' 1 \
    "valve-book: r.csv:2: column 'meter_unit': this engine's meter runs in h, not in km" s.db r.csv
shows 'nothing of that is kept' s.db 'HC-1,2025-01-01,100,1I,0.2,
HC-1,2025-02-01,200,1I,0.21,
HC-1,2025-03-01,200,1I,0.23,
HC-1,2025-04-01,300,1I,0.22,
HC-1,2025-05-01,300,1I,0.24,
HC-1,2025-06-01,,1I,0.25,'
echo HC-1,2025-07-01,5,h,lash,1I,0.27,,mm | rows r.csv
printf 'engine,date,meter,meter_unit,event,at\nHC-1,2025-06-15,310,h,meter,0\n' >swap.csv
cp s.db t.db
hand 'a new meter: event and visit in one load' 0 '' s.db r.csv swap.csv
hand 'a new meter: event first' 0 '' t.db swap.csv
hand 'a new meter: then the visit' 0 '' t.db r.csv
same 'a new meter: the same book' s.db t.db
dump_all s.db before
# from 310 on the new meter ran 5: a swap at 100 on the day before would put 300 behind 100
printf 'engine,date,meter,meter_unit,event,at\nHC-1,2025-03-15,200,h,meter,1000\n' >swap.csv
hand 'an event that makes visits run backwards' 1 \
    "valve-book: swap.csv:2: column 'meter': with this event: 300 h on 2025-04-01 after 1000 h on 2025-03-15 (the new meter's first): the meter runs backwards" \
    s.db swap.csv
unchanged 'such an event leaves no trace' s.db before
printf 'engine,date,meter,meter_unit,event,at\nHC-1,2025-06-15,310.0,hours,meter,0.00\n' >swap.csv
hand 'the same event in other words' 0 '' s.db swap.csv
unchanged 'the same event in other words changes nothing' s.db before

### rows that wait for others of the same load
cp base.db s.db
{ echo HC-1,2025-05-01,300,h,lash,1I,0.20,,mm
  echo HC-1,2025-07-01,5,h,lash,1I,0.21,,mm; } | rows r.csv
ev=engine,date,meter,meter_unit,event,at
printf '%s\n' $ev HC-1,2025-10-01,3,h,build, HC-1,2025-09-01,50,h,meter,0 HC-1,2025-06-15,310,h,meter,0 >new.csv
printf '%s\n' $ev HC-1,2025-06-15,310,h,meter,0 HC-1,2025-09-01,50,h,meter,0 HC-1,2025-10-01,3,h,build, >old.csv
cp s.db t.db
hand 'events, the newest first' 0 '' s.db new.csv r.csv
hand 'events, the oldest first' 0 '' t.db old.csv r.csv
same 'the order of events does not matter' s.db t.db
cp base.db s.db
hand 'visits before any event' 1 \
    "valve-book: r.csv:3: column 'meter': 5 h on 2025-07-01 after 300 h on 2025-05-01: $back" s.db r.csv
printf '%s\n' $ev HC-1,2025-10-01,3,h,build, HC-1,2025-12-01,2,h,build, HC-1,2025-09-01,350,h,meter,0 >new.csv
hand 'one that nothing makes room for is refused, in its place' 1 \
    "valve-book: new.csv:3: column 'meter': with this event: 2 h on 2025-12-01 (an event) after 3 h on 2025-10-01 (an event): the meter runs backwards" \
    s.db new.csv
printf 'family,side,key,value,unit\nfour,I,lash_min,0.2,mm\nfour,I,lash_max,0.4,mm\n' >f.csv
hand 'two facts' 0 '' s.db f.csv
printf 'family,side,key,value,unit\nfour,I,lash_max,0.1,mm\nfour,I,lash_min,0.05,mm\n' >f.csv
hand 'both corrected, in an order in which they do not go' 0 '' --correct s.db f.csv
is 'both corrected: they stand' "$("$vb" --dump families s.db | grep -c ',0.1,mm\|,0.05,mm')" 2
printf 'family,side,key,value,unit\nfour,I,lash_max,0.01,mm\n' >f.csv
hand 'one alone' 1 \
    "valve-book: f.csv:2: column 'value': with this lash_min of side I is above lash_max: 0.05 and 0.01 mm" --correct s.db f.csv
# no more than 20,000 wait
awk -v h=$ev 'BEGIN { print h; for (i = 1; i <= 20010; i++) printf "D-07,%04d-%02d-%02d,9,km,build,\n",
    1950 + i / 336, i / 28 % 12 + 1, i % 28 + 1; print "D-07,2025-09-01,1,km,meter,0" }' >many.csv
echo D-07,1940-01-01,10,km,lash,1I,0.20,,mm | sed s/1I/1I1/ | rows r.csv
hand 'one visit' 0 '' s.db r.csv
run "$vb" --as-of 2026-11-01 --no-end --rejects many.out s.db many.csv
is 'of 20,010 that do not go none is lost' "$status|$(wc -l <many.out)" '1|20012'

### facts that would leave readings without a valve
basic s.db
{ echo HC-1,2025-01-01,100,h,lash,1I,0.20,,mm
  echo HC-1,2025-02-01,200,h,lash,4I,0.20,,mm
  echo HC-1,2025-02-01,200,h,compression,4,11,,bar
  echo D-07,2025-01-01,100,km,lash,1I2,0.20,,mm; } | rows r.csv
hand 'readings' 0 '' s.db r.csv
fact() { printf '%s\n' family,side,key,value,unit "$1" >f.csv; }
printf 'engine,family\nHC-1,twin\n' >en.csv
no="with this HC-1 has no valve"
hand 'an engine of another family' 1 "valve-book: en.csv:2: column 'family': $no '1I', read on 2025-01-01" \
    --correct s.db en.csv
fact four,,cylinders,3,
hand 'fewer cylinders' 1 "valve-book: f.csv:2: column 'value': $no '4I', read on 2025-02-01" --correct s.db f.csv
fact twin,I,valves,1,
hand 'fewer valves' 1 \
    "valve-book: f.csv:2: column 'value': with this D-07 has no valve '1I2', read on 2025-01-01" --correct s.db f.csv
fact twin,E,valves,1,
hand 'fewer valves where none was read' 0 '' --correct s.db f.csv
fact four,,cylinders,6,
hand 'more cylinders' 0 '' --correct s.db f.csv
fact four,I,lash_min,0.1,mm
hand 'a fact of no valve' 0 '' s.db f.csv
printf '%s\n' family,side,key,value,unit three,,cylinders,3, >f.csv
printf 'engine,family\nHC-1,three\n' >en.csv
hand 'another family that has the first valve and not the other' 1 \
    "valve-book: en.csv:2: column 'family': $no '4I', read on 2025-02-01" --correct s.db f.csv en.csv
echo HC-1,2025-02-01,200,h,lash,4I,0.20,,mm | rows gone.csv
run "$vb" --withdraw --no-end s.db gone.csv
is 'that reading goes' "$status|$err" '0|'
hand 'now it can be of that family' 0 '' --correct s.db en.csv
fact three,I,valves,2,
hand 'a fact that was not stated before' 1 \
    "valve-book: f.csv:2: column 'value': $no '1I', read on 2025-01-01" s.db f.csv
run "$vb" --check --as-of 2026-11-01 s.db
is 'nothing is wrong with the book' "$status" 0

### facts that would leave events without their place
basic s.db
printf '%s\n' family,side,key,value,unit four,,banks,A:1-2\ B:3-4, two,,cylinders,2, two,,banks,A:1-2, \
    some,,cylinders,4, some,,banks,A:1-2\ B:3-4, some,I,valves,2, >f.csv
printf '%s\n' engine,date,meter,meter_unit,event,part,at,item HC-1,2025-01-01,,,replace,seat,4E, \
    HC-1,2025-01-02,,,replace,seat,3, HC-1,2025-01-03,,,replace,seat,E, HC-1,2025-01-04,,,fit,cam,BI,L \
    HC-1,2025-01-05,,,replace,chain,A, HC-1,2025-01-06,99,h,meter,,7, >ev.csv
hand 'events' 0 '' s.db f.csv ev.csv
named() { echo "valve-book: $1: column '$2': $3 this HC-1 has no $4, which an event of $5 names"; }
printf 'engine,family\nHC-1,two\n' >en.csv
hand 'a family with fewer cylinders, of a valve' 1 "$(named en.csv:2 family with "valve '4E'" 2025-01-01)" \
    --correct s.db en.csv
fact four,,cylinders,3,
hand 'fewer cylinders than an event names' 1 "$(named f.csv:2 value with "valve '4E'" 2025-01-01)" \
    --correct s.db f.csv
head -n 2 ev.csv >gone.csv
run "$vb" --withdraw s.db gone.csv
is 'the event of the valve goes' "$status|$err" '0|'
hand 'fewer, which leave all' 0 '' --correct s.db f.csv
fact four,,cylinders,2,
hand 'fewer, of a cylinder' 1 "$(named f.csv:2 value with "cylinder '3'" 2025-01-02)" --correct s.db f.csv
fact four,,banks,A:1-2-3-4,
hand 'fewer banks' 1 "$(named f.csv:2 value with "bank 'B'" 2025-01-04)" --correct s.db f.csv
fact four,,banks,A:1-2\ B:3-4,
run "$vb" --withdraw s.db f.csv
is 'no banks at all' "$status|$err" "1|$(named f.csv:2 family without "bank 'B'" 2025-01-04)"
printf 'engine,family\nHC-1,some\n' >en.csv
hand 'a family of other valves, where all have their place' 0 '' --correct s.db en.csv
run "$vb" --withdraw s.db f.csv
is 'banks that no engine has any more' "$status|$err" '0|'
run "$vb" --check --as-of 2026-11-01 s.db
is 'nothing is wrong with that book' "$status" 0

### the pace of a meter, and the figures of events
# pace NAME STATUS MESSAGE ROW...: readings of HC-1 or events, into a book with visits at 100 h on
# 2025-01-01 and 600 h on 2025-06-01 and a rebuild at 300 h on 2025-03-01
cp base.db paced.db
{ echo HC-1,2025-01-01,100,h,lash,1I,0.20,,mm
  echo HC-1,2025-06-01,600,h,lash,1I,0.21,,mm; } | rows paced.csv
e=engine,date,meter,meter_unit,event,part,at
printf '%s\n' $e HC-1,2025-03-01,300,h,build,, >paced-events.csv
hand 'pace: visits and an event' 0 '' paced.db paced.csv paced-events.csv
pace() {
    pace_name=$1 pace_err=$2 pace_row=$3
    cp paced.db s.db
    dump_all s.db before
    case $pace_row in
    *lash*) echo "$pace_row" | rows pace.csv ;;
    *) printf '%s\n' "$e" "$pace_row" >pace.csv ;;
    esac
    hand "pace: $pace_name" "$([ -z "$pace_err" ] && echo 0 || echo 1)" \
        "${pace_err:+valve-book: pace.csv:2: column $pace_err}" s.db pace.csv
    [ -z "$pace_err" ] || unchanged "pace: $pace_name: the book is as before" s.db before
}
fast='more than 24 h a day'
pace 'behind the last, day and night' '' HC-1,2025-06-11,865,h,lash,1I,0.2,,mm
pace 'behind the last, and more' "'meter': 866 h on 2025-06-11 after 600 h on 2025-06-01: $fast" \
    HC-1,2025-06-11,866,h,lash,1I,0.2,,mm
pace 'ten times too much' "'meter': 60000 h on 2025-07-01 after 600 h on 2025-06-01: $fast" \
    HC-1,2025-07-01,60000,h,lash,1I,0.2,,mm
pace 'in between' "'meter': 600 h on 2025-06-01 after 310 h on 2025-05-25: $fast" \
    HC-1,2025-05-25,310,h,lash,1I,0.2,,mm
pace 'in between, after the event' "'meter': 500 h on 2025-03-02 after 300 h on 2025-03-01 (an event): $fast" \
    HC-1,2025-03-02,500,h,lash,1I,0.2,,mm
pace 'below the event before it' \
    "'meter': 250 h on 2025-03-02 after 300 h on 2025-03-01 (an event): the meter runs backwards" \
    HC-1,2025-03-02,250,h,lash,1I,0.2,,mm
pace 'above the event behind it' \
    "'meter': 300 h on 2025-03-01 (an event) after 301 h on 2025-02-27: the meter runs backwards" \
    HC-1,2025-02-27,301,h,lash,1I,0.2,,mm
pace 'on the day of the event, before it' '' HC-1,2025-03-01,299,h,lash,1I,0.2,,mm
pace 'on the day of the event, behind it' '' HC-1,2025-03-01,301,h,lash,1I,0.2,,mm
pace 'on the day of the event, far from it' \
    "'meter': 330 h on 2025-03-01 and 300 h on 2025-03-01 (an event): $fast" \
    HC-1,2025-03-01,330,h,lash,1I,0.2,,mm
pace 'before the first' "'meter': 100 h on 2025-01-01 after 5 h on 2024-12-31: $fast" \
    HC-1,2024-12-31,5,h,lash,1I,0.2,,mm
with="'meter': with this event:"
pace 'an event above the visits around it' \
    "$with 600 h on 2025-06-01 after 700 h on 2025-05-01 (an event): the meter runs backwards" \
    HC-1,2025-05-01,700,h,replace,seat,1E
pace 'an event below the visits around it' \
    "$with 90 h on 2025-01-20 (an event) after 100 h on 2025-01-01: the meter runs backwards" \
    HC-1,2025-01-20,90,h,replace,seat,1E
pace 'an event too fast' "$with 900 h on 2025-01-20 (an event) after 100 h on 2025-01-01: $fast" \
    HC-1,2025-01-20,900,h,replace,seat,1E
pace 'an event behind all, too fast' "$with 9000 h on 2025-07-01 (an event) after 600 h on 2025-06-01: $fast" \
    HC-1,2025-07-01,9000,h,end,,
pace 'an event between two events' \
    "$with 300 h on 2025-03-01 (an event) after 310 h on 2025-02-01 (an event): the meter runs backwards" \
    HC-1,2025-02-01,310,h,replace,seat,1E
pace 'an event in km' "$with 600 h on 2025-06-01 after 310 km on 2025-04-01 (an event): an engine has one meter, in h or in km" \
    HC-1,2025-04-01,310,km,replace,seat,1E
pace 'an event below zero' "'meter': a meter is not below 0, as '-5' is" HC-1,2024-12-01,-5,h,build,,
pace "the old meter's last below the last visit" \
    "$with 590 h on 2025-06-15 (the old meter's last) after 600 h on 2025-06-01: the meter runs backwards" \
    HC-1,2025-06-15,590,h,meter,,0
pace "the old meter's last too far" \
    "$with 6000 h on 2025-06-15 (the old meter's last) after 600 h on 2025-06-01: $fast" \
    HC-1,2025-06-15,6000,h,meter,,0
pace 'a swap that goes with the last visit' '' HC-1,2025-06-15,610,h,meter,,0
pace "the new meter's first above the next visit" \
    "$with 600 h on 2025-06-01 after 650 h on 2025-05-31 (the new meter's first): the meter runs backwards" \
    HC-1,2025-05-31,550,h,meter,,650
pace 'a swap to a figure below zero' "'at': a meter is not below 0, as '-1' is" HC-1,2025-06-15,610,h,meter,,-1

# a swap at 610 h on 2025-06-15
printf '%s\n' $e HC-1,2025-06-15,610,h,meter,,0 >swap.csv
hand 'pace: a swap' 0 '' paced.db swap.csv
pace 'the new meter too fast' \
    "'meter': 100 h on 2025-06-17 after 0 h on 2025-06-15 (the new meter's first): $fast" \
    HC-1,2025-06-17,100,h,lash,1I,0.2,,mm
pace 'the day of the swap, old meter' '' HC-1,2025-06-15,609,h,lash,1I,0.2,,mm
pace 'the day of the swap, new meter' '' HC-1,2025-06-15,1,h,lash,1I,0.2,,mm
pace 'the day of the swap, neither' \
    "'meter': 615 h on 2025-06-15, when the old meter stopped at 610 and the new one began at 0" \
    HC-1,2025-06-15,615,h,lash,1I,0.2,,mm
pace 'the same swap on another day' \
    "$with 610 h on 2025-07-15 (the old meter's last) after 610 h on 2025-06-15 (the old meter's last): one swap under two dates?" \
    HC-1,2025-07-15,610,h,meter,,0
pace 'another swap later' '' HC-1,2025-07-15,500,h,meter,,0
echo HC-1,2025-08-01,400,h,lash,1I,0.2,,mm | rows r.csv
hand 'pace: behind the swap' 0 '' paced.db r.csv
printf '%s\n' $e HC-1,2025-08-10,450,h,replace,seat,1E HC-1,2025-08-20,610,h,meter,,0 >swap.csv
hand 'pace: the same swap on another day, and an event between' 1 \
    "valve-book: swap.csv:3: column $with 610 h on 2025-08-20 (the old meter's last) after 610 h on 2025-06-15 (the old meter's last): one swap under two dates?" \
    paced.db swap.csv

# a book from before the pace was looked at: what is wrong there is in nobody's way
cp base.db old.db
rows r.csv <<'END'
HC-1,2025-01-01,100,h,lash,1I,0.20,,mm
HC-1,2025-02-01,200,h,lash,1I,0.20,,mm
HC-1,2025-04-01,400,h,lash,1I,0.20,,mm
END
hand 'pace: three visits' 0 '' old.db r.csv
sqlite3 old.db "UPDATE visits SET meter = 9000 WHERE date = '2025-04-01'"
echo HC-1,2025-03-01,300,h,lash,1I,0.2,,mm | rows r.csv
hand 'pace: an old slip does not keep others out' 0 '' old.db r.csv
echo HC-1,2025-03-05,250,h,lash,1I,0.2,,mm | rows r.csv
hand 'pace: but no new one comes in' 1 \
    "valve-book: r.csv:2: column 'meter': 250 h on 2025-03-05 after 300 h on 2025-03-01: $back" old.db r.csv
printf '%s\n' $e HC-1,2025-01-15,150,h,replace,seat,1E >replace.csv
hand 'pace: nor events' 0 '' old.db replace.csv
echo HC-1,2025-04-01,400,h,lash,1I,0.2,,mm | rows r.csv
hand 'pace: and it can be corrected' 0 '' --correct old.db r.csv

# kilometres: 3000 a day (common practice)
basic km.db
{ echo HC-1,2025-01-01,100000,km,lash,1I,0.20,,mm
  echo HC-1,2025-01-03,109001,km,lash,1I,0.20,,mm
  echo HC-1,2025-01-05,118003,km,lash,1I,0.20,,mm; } | rows r.csv
hand 'pace: kilometres' 1 \
    "valve-book: r.csv:4: column 'meter': 118003 km on 2025-01-05 after 109001 km on 2025-01-03: more than 3000 km a day" \
    km.db r.csv
# 99999 and on from 0: a counter may go round twice
{ echo HC-1,2024-12-01,40000,km,lash,1I,0.20,,mm
  echo HC-1,2025-12-01,40000,km,lash,1I,0.20,,mm
  echo HC-1,2026-10-01,5000,km,lash,1I,0.20,,mm; } | rows r.csv
printf '%s\n' $e HC-1,2025-06-01,99999,km,meter,,0 HC-1,2026-06-01,99999,km,meter,,0 >swap.csv
basic km.db
hand 'pace: a counter that goes round twice' 0 '' km.db r.csv swap.csv

### small tables
# small NAME MESSAGE TABLE-HEADING ROW: refused with this message, leaving the book as it was
dump_all base.db before
small() {
    printf '%s\n%s\n' "$3" "$4" >small.csv
    cp base.db s.db
    book "$1" 1 "valve-book: small.csv:2: column $2" s.db small.csv
    unchanged "$1: the book is as before" s.db before
}
# figures of one day: with a clock, and of events; beside each other that of the event comes second
rows r.csv <<'END'
HC-1,2025-01-02T08:30,101,h,lash,1I,0.25,,mm
HC-1,2025-01-02T16:05,100.5,h,lash,1I,0.26,,mm
END
cp base.db s.db
hand 'the clock runs on, the meter back' 1 \
    "valve-book: r.csv:3: column 'meter': 100.5 h on 2025-01-02T16:05 after 101 h on 2025-01-02T08:30: $back" \
    s.db r.csv
# of_a_day NAME MESSAGE ROW...: the last of these events is refused
of_a_day() {
    of_a_day_name=$1 of_a_day_err=$2
    shift 2
    cp base.db s.db
    for i in "$@"; do
        printf 'engine,date,meter,meter_unit,event,part,at\n%s\n' "HC-1,2025-01-02,$i" >day.csv
        "$vb" --as-of 2026-11-01 s.db day.csv 2>day.err && [ ! -s day.err ] || break
    done
    is "$of_a_day_name" "$(cat day.err)" \
        "valve-book: day.csv:2: column 'meter': with this event: $of_a_day_err"
    is "$of_a_day_name: the others stay" "$("$vb" --dump events s.db | wc -l | tr -d ' ')" $#
}
of_a_day 'more on one day than a day has' \
    '130 h on 2025-01-02 (an event) and 100 h on 2025-01-02 (an event): more than 24 h a day' \
    100,h,build,, 130,h,replace,cam,
stopped='when the old meter stopped at 310 and the new one began at 5'
of_a_day 'neither the old meter nor the new, named behind the swap' \
    "320 h on 2025-01-02 (an event), $stopped" 310,h,meter,,5 320,h,replace,cam,
of_a_day 'neither of them, named before the swap' \
    "320 h on 2025-01-02 (an event), $stopped" 310,h,meter,,5 320,h,build,,
cp base.db s.db
rows r.csv <<'END'
HC-1,2025-01-02,320,h,lash,1I,0.25,,mm
END
printf 'engine,date,meter,meter_unit,event,part,at\nHC-1,2025-01-02,310,h,meter,,5\n' >day.csv
hand 'nor may a visit be' 1 "valve-book: r.csv:2: column 'meter': 320 h on 2025-01-02, $stopped" s.db day.csv r.csv
printf 'engine,date,meter,meter_unit,event,part\nHC-1,2025-01-02,350,h,replace,cam\n' >day.csv
cp base.db s.db
hand 'a visit of that day' 0 '' s.db r.csv
hand 'and an event far from it' 1 \
    "valve-book: day.csv:2: column 'meter': with this event: 320 h on 2025-01-02 and 350 h on 2025-01-02 (an event): more than 24 h a day" \
    s.db day.csv
# one that goes neither with the next nor with the one behind that is told by the next
printf 'engine,date,meter,meter_unit,event,part\n%s\n%s\n' HC-1,2025-02-01,100,h,replace,cam \
    HC-1,2025-03-01,200,h,replace,cam >day.csv
cp base.db s.db
hand 'two events' 0 '' s.db day.csv
printf 'engine,date,meter,meter_unit,event,part\nHC-1,2025-01-01,500,h,replace,cam\n' >day.csv
hand 'and one before them' 1 \
    "valve-book: day.csv:2: column 'meter': with this event: 100 h on 2025-02-01 (an event) after 500 h on 2025-01-01 (an event): the meter runs backwards" \
    s.db day.csv
# a swap between two others, each with what ran before it
printf '%s\n' engine,date,meter,meter_unit,event,at HC-1,2025-01-01,100,h,meter,0 HC-1,2025-03-01,200,h,meter,0 >day.csv
cp base.db s.db
hand 'two swaps' 0 '' s.db day.csv
printf 'engine,date,meter,meter_unit,event,at\nHC-1,2025-02-01,250,h,meter,\n' >day.csv
hand 'and one between them that read less before' 0 '' s.db day.csv

f=family,side,key,value,unit
small 'unknown fact' "'key': unknown fact 'bore'" $f four,,bore,80,mm
small 'wrong unit' "'value': unit 'deg' does not fit lash_min" $f four,I,lash_min,0.2,deg
small 'no unit for a length' "'value': no unit for lash_min" $f four,I,lash_min,0.2,
small 'a unit for a count' "'value': unit 'mm' does not fit valves" $f six,I,valves,1,mm
small 'a unit for a word' "'value': adjuster has no unit" $f four,,adjuster,screw,mm
small 'no side' "'value': lash_min is said of side I or E, not of ''" $f four,,lash_min,0.2,mm
small 'a side for the engine' "'value': cylinders is said of the engine, not of 'I'" $f six,I,cylinders,6,
small 'no such side' "'side': neither inlet nor exhaust: 'left'" $f four,left,lash_min,0.2,mm
small 'blank value' "'value': blank ''" $f four,I,lash_min,,mm
small 'no such word' "'value': adjuster is one of 'screw shim hydraulic', not 'screws'" $f four,,adjuster,screws,
small 'two words' "'value': adjuster is one of 'screw shim hydraulic', not 'screw shim'" $f \
    'four,,adjuster,screw shim,'
small 'no firing order' "'value': firing_order is like 1-3-4-2 or 1-2@405, not '1-3-3-2'" $f four,,firing_order,1-3-3-2,
small 'half a valve' "'value': valves 1.5 is out of reason" $f six,I,valves,1.5,
small 'more digits than fit' "'value': lash_min 0.12345678901234567 is out of reason" $f \
    four,I,lash_min,0.12345678901234567,in
small 'unknown family' "'family': unknown family 'nine'" engine,family XX-9,nine
small 'a name of 121 bytes' "'engine': a name of more than 120 bytes" engine,family \
    "E$long$(echo $long | cut -c 1-55),four"
small 'no day' "'in_service': bad date '1.5.2024'" engine,family,in_service XX-9,four,1.5.2024
small 'unknown engine of a plan' "'engine': unknown engine 'XX-9'" engine,date,label XX-9,2026-12-01,race
e=engine,date,meter,meter_unit,event,part,at
small 'unknown engine of an event' "'engine': unknown engine 'XX-9'" $e XX-9,2025-01-01,,,build,,
small 'unknown event' "'event': unknown event 'wash'; known are build, replace, fit, meter, end" $e HC-1,2025-01-01,,,wash,,
small 'unknown part' "'part': unknown part 'bonnet'; known are engine, head, seat, valve, cam, follower, tip, rocker, adjuster, pushrod, guide, spring, chain, belt, gear, sprocket, piston, bottom_end" $e HC-1,2025-01-01,,,replace,bonnet,
small 'which part' "'part': which part was replaced?" $e HC-1,2025-01-01,,,replace,,
small 'no such place' "'at': neither a valve, a side nor a cylinder: 'top'" $e HC-1,2025-01-01,,,replace,seat,top
small 'an event to come' "'date': 2026-11-02 is later than 2026-11-01" $e HC-1,2026-11-02,,,build,,
small 'an event by mm' "'meter_unit': a meter runs in h or km, not 'mm'" $e HC-1,2025-01-01,5,mm,build,,
small 'a unit of no figure' "'meter_unit': a meter runs in h or km, not 'mm'" $e HC-1,2025-01-01,,mm,build,,
small 'an event by no unit' "'meter_unit': a meter runs in h or km, not ''" $e HC-1,2025-01-01,5,,build,,
small 'no such cylinder' "'at': this family has no cylinder '5'" $e HC-1,2025-01-01,,,replace,seat,5
small 'no such valve' "'at': this family has no valve '5E'" $e HC-1,2025-01-01,,,replace,seat,5E
small 'an index where a side has one valve' "'at': this family has no valve '1E1'" $e \
    HC-1,2025-01-01,,,replace,seat,1E1
small 'too high an index' "'at': this family has no valve '1E3'" $e D-07,2025-01-01,,,replace,seat,1E3
small 'a swap of nothing' "'meter': what did the old meter show last?" $e HC-1,2025-01-01,,,meter,,0
small 'a swap to a word' "'at': what the new meter began with is a number, not 'zero'" $e \
    HC-1,2025-01-01,5,h,meter,,zero
small 'a gauge by h' "'unit': neither a unit of length nor of angle: 'h'" gauge,resolution,unit dti-1,0.01,h
small 'a lobe by no unit' "'unit': blank ''" lobe,cam_deg,lift,unit L-3,1,2,
small 'a lobe at no number' "'cam_deg': bad number 'x'" lobe,cam_deg,lift,unit L-3,x,2,mm
small 'a lobe by furlong' "'unit': not a unit of length: 'furlong'" lobe,cam_deg,lift,unit L-3,1,2,furlong
small 'a gauge by furlong' "'unit': neither a unit of length nor of angle: 'furlong'" gauge,resolution,unit \
    dti-1,0.01,furlong
small 'a shim by h' "'unit': not a unit of length: 'h'" thickness,unit,count 2.7,h,2
small 'shims uncounted' "'count': blank ''" thickness,unit,count 2.7,mm,
small 'a gauge of which that is all' "'unit': neither a unit of length nor of angle: '1in'" gauge,unit dti-1,1in
small 'a trial by deg' "'unit': not a unit of length: 'deg'" gauge,part,by,trial,value,unit g,p,ab,1,2,deg
small 'a trial beyond all numbers' "'value': bad number '1e999'" gauge,part,by,trial,value,unit g,p,ab,1,1e999,mm
small 'a pair of blades beyond them' "'value': bad number '0.1/1e999'" gauge,part,by,trial,value,unit \
    g,p,ab,1,0.1/1e999,mm
small 'a cell that is too long' "'old': too long a cell '$(printf '%060d' 0)...'" table,key,seq,old,new \
    "gauges,F1,1,$(printf '%04096d' 0),"
small 'history of no table' "'table': unknown table 'nothing'" table,key,seq,old,new nothing,k,1,a,b
small 'history of history' "'table': unknown table 'history'" table,key,seq,old,new history,k,1,a,b

### places of events that hold: all of a cylinder, a side, a cylinder's side, one valve
cp base.db s.db
for at in 4 exhaust 1E 1E2 E2; do echo "D-07,2025-01-01,,,replace,seat,$at"; done >places.rows
{ echo $e && cat places.rows; } >places.csv
hand 'places that are there' 0 '' s.db places.csv
is 'places as they are kept' "$("$vb" --dump events s.db | sed 1d | cut -d, -f7 | tr '\n' ' ')" '1E 1E2 2E 4 E '
cp base.db s.db
printf 'family,side,key,value\nbare,,ratio,1\n' >bare.csv
printf 'engine,family\nB-1,bare\n' >bare-engine.csv
printf '%s\n' $e B-1,2025-01-01,,,replace,seat,9E9 >bare-event.csv
hand 'a family that states no numbers' 0 '' s.db bare.csv bare-engine.csv bare-event.csv
printf 'family,side,key,value\nbare,E,valves,1\n' >bare.csv
hand 'and cannot do so later' 1 \
    "valve-book: bare.csv:2: column 'value': with this B-1 has no valve '9E9', which an event of 2025-01-01 names" \
    s.db bare.csv
# as books that are merged may do: such a row can be withdrawn
sqlite3 s.db "INSERT INTO families VALUES('bare', 'E', 'valves', '1', '')"
hand 'where it is so the event is refused' 1 "valve-book: bare-event.csv:2: column 'at': this family has no valve '9E9'" \
    s.db bare-event.csv
run "$vb" --withdraw s.db bare-event.csv
is 'and can be withdrawn' "$status$err" 0

### facts that contradict each other
cp base.db s.db
# facts NAME STATUS MESSAGE ROW...: of family four, into s.db
facts() {
    facts_name=$1 facts_status=$2 facts_err=$3
    shift 3
    { echo $f && printf 'four,%s\n' "$@"; } >facts.csv
    # shellcheck disable=SC2086
    hand "$facts_name" "$facts_status" "${facts_err:+valve-book: facts.csv:$facts_err}" $correct s.db facts.csv
}
correct=
facts 'limits and a target within' 0 '' E,lash_min,0.2,mm E,lash_max,0.4,mm E,lash_target,0.4,mm
facts 'a target below' 1 "4: column 'value': with this lash_target of side I is below lash_min: 0.19 and 0.2 mm" \
    I,lash_min,0.2,mm I,lash_max,0.4,mm I,lash_target,0.19,mm
facts 'a target above, in other units' 1 \
    "2: column 'value': with this lash_target of side I is above lash_max: 0.4064 and 0.4 mm" I,lash_target,0.016,in
facts 'a target at the limit' 0 '' I,lash_target,400,um
facts 'the limits of shims' 1 "3: column 'value': with this shim_min of side I is above shim_max: 2.5 and 2 mm" \
    I,shim_max,2,mm I,shim_min,2.5,mm
correct=--correct
facts 'a limit beyond the other' 1 "2: column 'value': with this lash_min of side E is above lash_max: 0.41 and 0.4 mm" \
    E,lash_min,0.41,mm
facts 'limits that move apart' 0 '' E,lash_max,0.6,mm E,lash_target,0.5,mm E,lash_min,0.41,mm
correct=
facts 'what stood there once is no contradiction' 0 '' E,lash_max,0.4,mm
sqlite3 s.db "UPDATE families SET value = '0.1' WHERE family = 'four' AND side = 'E' AND key = 'lash_max'"
facts 'a book that has a contradiction takes other facts' 0 '' E,seat_limit,1,mm
facts 'but no more of them' 1 "2: column 'value': with this shim_min of side I is above shim_max: 2.5 and 2 mm" \
    I,shim_min,2.5,mm
correct=--correct
facts 'and is corrected' 0 '' E,lash_max,0.6,mm
correct=
sqlite3 s.db "UPDATE families SET unit = 'mm' WHERE family = 'four' AND key = 'cylinders'"
correct=--correct
facts 'what stands in a unit that does not fit is corrected' 0 '' ,cylinders,6,
correct=
is 'what stands in a unit that does not fit: is what was said' \
    "$(sqlite3 s.db "SELECT value FROM families WHERE family = 'four' AND key = 'cylinders'")" 6
facts 'growth' 0 '' E,lash_growth,0.001,mm/Cel
facts 'growth and what makes it' 1 "2: column 'key': lash_growth is stated already, which says the same" \
    E,lash_stack,+120x21.5,
facts 'what makes it, of both sides' 0 '' ,lash_stack,+120x21.5,
facts 'and the growth, of both sides' 1 "2: column 'key': lash_stack is stated already, which says the same" \
    ,lash_growth,0.001,mm/Cel
facts 'growth again' 0 '' E,lash_growth,0.0010,mm/Cel
facts 'limits of the inlet side' 0 '' I,shim_min,1,mm
facts 'limits of both sides, of which it is an exception' 0 '' E,shim_min,3,mm E,shim_max,4,mm \
    ,shim_max,4,mm ,shim_min,3,mm
facts 'a limit of both that no side has left' 0 '' ,shim_step,0.05,mm

### rejects
cp base.db s.db
rows r.csv <<'END'
HC-1,2025-01-01,100,h,lash,1I,0.25,,mm
HC-1,2025-01-01,100,h,lash,"1""X",0.25,,mm
HC-1,2025-01-01,100,h,lash,1E,0.3
HC-1,2025-01-01,100,h,lash,5E,0.30,,mm
END
run "$vb" --as-of 2026-11-01 --no-end --rejects rejects.csv s.db r.csv
is 'rejects: status' "$status" 1
is 'rejects: rows are kept whole' "$(cat rejects.csv)" 'source,line,column,reason,row
r.csv,3,at,"unknown valve '"'1\"\"X'"'","HC-1,2025-01-01,100,h,lash,""1""""X"",0.25,,mm"
r.csv,4,,7 cells where the heading has 9,"HC-1,2025-01-01,100,h,lash,1E,0.3"
r.csv,5,at,this family has no valve '"'5E'"',"HC-1,2025-01-01,100,h,lash,5E,0.30,,mm"'
shows 'rejects: the good row' s.db HC-1,2025-01-01,100,1I,0.25,

### rows of an export that came over a pipe: which engine it is, and where it stands there
export_of() {
    echo engine,date,meter,meter_unit,quantity,at,found,unit,source,line
    cat
}
cp base.db s.db
export_of >export.csv <<'END'
HC-1,2025-01-01,100,h,lash,1I,0.20,mm,north.csv,7
HC-1,2025-02-01,15,h,lash,1I,0.20,mm,south.csv,2
HC-1,2025-02-01,15,h,lash,2I,0.20,mm,south.csv,3
HC-1,2025-02-01,15,h,lash,3I,0.20,mm,south.csv,4
D-07,2026-11-02,9,h,lash,1I1,0.20,mm,south.csv,5
D-07,2026-11-02,9,h,lash,1I2,0.20,mm,south.csv,6
HC-1,2025-03-01,120,h,lash,1I,12,mm,west.csv,9
,2025-03-01,120,h,lash,1I,0.2,mm,west.csv,
HC-1,2025-03-01,120,h,lash,1I,0.2,mm,west.csv
HC-1,2025-03-01,120,h,lash,2I
HC-1,2025-04-01,11,h,lash,1I,0.20,mm,last.csv,2
HC-1,2025-04-01,11,h,lash,2I,0.20,mm,last.csv,3
HC-1,2025-04-01,11,h,lash,3I,0.20,mm,last.csv,4
END
slip="after 100 h on 2025-01-01: $back"
run "$vb" --as-of 2026-11-01 --no-end --rejects rejects.csv s.db - <export.csv
is 'where a row stood, and one slip of a visit once' "$status|$err" \
    "1|valve-book: stdin:3: column 'meter': 15 h on 2025-02-01 $slip (HC-1 in south.csv:2)
valve-book: stdin:5: 2 more rows of this visit are refused for that (HC-1 in south.csv:4)
valve-book: stdin:6: column 'date': 2026-11-02 is later than 2026-11-01 (D-07 in south.csv:5)
valve-book: stdin:7: column 'date': 2026-11-02 is later than 2026-11-01 (D-07 in south.csv:6)
valve-book: stdin:8: column 'found': no credible value '12' (HC-1 in west.csv:9)
valve-book: stdin:9: column 'engine': unknown engine '' (west.csv)
valve-book: stdin:10: 9 cells where the heading has 10 (HC-1 in west.csv)
valve-book: stdin:11: 6 cells where the heading has 10
valve-book: stdin:12: column 'meter': 11 h on 2025-04-01 $slip (HC-1 in last.csv:2)
valve-book: stdin:14: 2 more rows of this visit are refused for that (HC-1 in last.csv:4)"
is 'the rejects have all of them, in the words of the reason' \
    "$(grep -c "^stdin,[345],meter,\"15 h on 2025-02-01 $slip\",\"HC-1" rejects.csv)|$(wc -l <rejects.csv | tr -d ' ')" '3|13'
shows 'and the others stay' s.db HC-1,2025-01-01,100,1I,0.2,

### nothing of a refused row is taken, not even its meter
cp base.db s.db
rows r.csv <<'END'
HC-1,2025-01-01,100,h,lash,9I,0.25,,mm
HC-1,2025-01-01,,,lash,1I,0.25,,mm
END
run "$vb" --as-of 2026-11-01 --no-end s.db r.csv
is 'a meter beside an unknown valve: status' "$status" 1
is 'a meter beside an unknown valve: not taken' "$(sqlite3 s.db 'SELECT meter FROM visits')" ''
run "$vb" --as-of 2026-11-01 --no-end s.db r.csv
is 'nor the second time, when there is a visit without one' \
    "$status$(sqlite3 s.db 'SELECT meter FROM visits')" 1
rows r.csv <<'END'
HC-1,2025-01-01,100,h,lash,1E,0.25,,mm
END
run "$vb" --as-of 2026-11-01 --no-end s.db r.csv
is 'that of a good row is' "$status$(sqlite3 s.db 'SELECT meter FROM visits')" 0100.0
is 'the book is sound' "$(sound s.db)" ok

# the rejects must not be written over what is read, and never over the book
printf 'engine,family\nHC-9,none\n' >more.csv
cp more.csv more.before
for name in s.db more.csv; do
    ln -sf "$name" link
    for rejects in "$name" link; do
        cp base.db s.db
        run "$vb" --as-of 2026-11-01 --rejects "$rejects" s.db more.csv
        is "rejects into $name, as $rejects" "$status $err$out" \
            "2 valve-book: $rejects: this file is read, and would be lost if it were written"
        ok "the book is as it was: $rejects" cmp base.db s.db
        ok "the table is as it was: $rejects" cmp more.before more.csv
    done
done
run "$vb" --as-of 2026-11-01 --rejects more.csv s.db <more.csv
is 'rejects into standard input' "$status $err" \
    '2 valve-book: more.csv: this file is read, and would be lost if it were written'
run "$vb" --as-of 2026-11-01 --rejects new.db new.db families.csv
is 'rejects into a book that is being made' "$status $err" \
    '2 valve-book: new.db: this file is read, and would be lost if it were written'
done_testing
