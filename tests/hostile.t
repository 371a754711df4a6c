#!/bin/sh
# Input that is meant to hurt, or might as well be: endless lines, bombs, a hundred thousand
# columns, nothing but refusals. Memory stays small, the message is plain, and what is good is
# still read. VB_ALL=1 sends 10 GB where else there are 200 MB.
. tests/tap.sh
tidy=$bin/valve-tidy
measure=$PWD/$B/tests/measure
cd "$work" || exit 1
printf '%s\n' column,means,unit,at,state,format,value Engine,engine,,,,, Date,date,,,,, \
    Valve,valve,,,,, Found,lash,mm,,found,, >r.csv
head=Engine,Date,Valve,Found
good=HC-1,2026-05-01,1I,0.25
most=24000 # KiB resident
[ "${B#*-address}" = "$B" ] || most=400000

# takes NAME STATUS WORDS ROWS COMMAND: the last line it says has these words, so many readings
# come out, and it stays small
takes() {
    "$measure" "$5" >out 2>err
    takes_status=$?
    takes_rss=$(tail -n 1 err | cut -d' ' -f3)
    is "$1: status and readings" "$takes_status $(grep -c '^HC-1' out)" "$2 $4"
    if [ "$3" ]; then
        ok "$1: says why" expr "$(sed '$d' err | tail -n 1)" : "$3"
    else
        is "$1: says nothing" "$(sed '$d' err)" ''
    fi
    ok "$1: $takes_rss KiB" [ "$takes_rss" -lt $most ]
}
big=${VB_ALL:+10240}
big=${big:-200} # MB

# a gzip file may be many put together: ten megabytes of nothing, again and again
{ echo $head && echo $good; } | gzip -9 >good.gz
head -c 10485760 /dev/zero | gzip -9 >nothing.gz
i=0
{
    cat good.gz
    while [ $((i * 10)) -lt "$big" ]; do
        cat nothing.gz
        i=$((i + 1))
    done
    printf '\n%s\n' $good | gzip -9
} >bomb.gz
echo "# a bomb of $(wc -c <bomb.gz) bytes for $big MB"
takes 'a gzip bomb of zeros' 1 '.*bomb\.gz:3: .*' 2 "$tidy --recipe r.csv bomb.gz"
tr '\0' a </dev/zero | head -c 104857600 >line.part
{ echo $head && echo $good && cat line.part && echo && echo $good; } >line.csv
takes 'a line of 100 MB' 1 '.*line\.csv:3: .*' 2 "$tidy --recipe r.csv line.csv"
{ echo $head && echo $good && printf 'HC-1,2026-05-01,1E,"' && cat line.part && echo && echo $good; } >quote.csv
takes 'a quote that is never closed' 1 '.*quote\.csv:3: .*' 2 "$tidy --recipe r.csv quote.csv"
rm -f line.part line.csv quote.csv
awk 'BEGIN { printf "Engine,Date,Valve,Found"; for (i = 0; i < 100000; i++) printf ",c%d", i; print ""
    for (k = 0; k < 20; k++) { printf "HC-1,2026-05-01,1I,0.25"; for (i = 0; i < 100000; i++) printf ","; print "" } }' >wide.csv
takes 'a hundred thousand columns' 2 '.*wide\.csv:1: 100004 columns; more than 2048 are not read' 0 \
    "$tidy --recipe r.csv wide.csv"
{ echo $head && awk 'BEGIN { for (i = 0; i < 300000; i++) print "HC-1,2026-05-01,1I,x" }' && echo $good; } >wrong.csv
takes 'a hundred thousand refusals, thrice' 1 ".*wrong\.csv:300001: column 'Found': bad number 'x'" 1 \
    "$tidy --recipe r.csv --rejects rejects.csv wrong.csv"
is 'all of them are among the rejects' "$(wc -l <rejects.csv | tr -d ' ')" 300001
# as many columns as may be, all named
printf '%s\n' column,means,unit,at,state,format,value >long.csv
awk 'BEGIN { for (i = 0; i < 2044; i++) printf "c%d,ignore,,,,,\n", i }' >>long.csv
sed 1d r.csv >>long.csv
{ echo $head && echo $good; } >good.csv
takes 'a recipe of 2,048 columns' 2 '.*good\.csv:1: no heading as the recipe has it.*' 0 \
    "$tidy --recipe long.csv good.csv"
cut -d, -f1-2048 wide.csv >less.csv
takes 'and an export of as many' 0 '' 20 "$tidy --recipe long.csv less.csv"
echo more,ignore,,,,, >>long.csv
takes 'a recipe of one more' 2 '.*long\.csv:2050: more than 2048 columns' 0 "$tidy --recipe long.csv good.csv"
# a stream without end, as it were
lines=$((big * 1048576 / 26))
takes "a stream of $big MB" 0 '' 0 "{ echo $head; yes $good | head -n $lines; } | $tidy --recipe r.csv - | tail -n 1"
is 'every row of it was read' "$(cut -d, -f5,7 out)" "end,$lines"
done_testing
