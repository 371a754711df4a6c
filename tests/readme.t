# The README's pipe is run as it stands and must print what stands there. Lines that begin
# with "$ " are commands; the indented lines behind them are what comes out, stderr included.
. tests/tap.sh
run sh fixtures/demo/run.sh
is "the demo's shop is there" "$status" 0
sed -n '/^<!-- pipe -->/,/^<!-- end -->/{/^<!--/d; s/^    //; p;}' README.md >"$work/want"
cd "$B/demo" || exit 1
PATH=$bin:$PATH
sed -n 's/^\$ //p' "$work/want" >"$work/commands"
ok "there are commands" test -s "$work/commands"
while IFS= read -r command; do
    printf '$ %s\n' "$command"
    sh -c "$command" 2>&1
done <"$work/commands" >"$work/got"
is "README shows what is printed" "$(cat "$work/got")" "$(cat "$work/want")"
done_testing
