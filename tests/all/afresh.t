# Random cases, computed by the library and again by R (tests/r/afresh.R), which prints the
# relative difference of every figure of every case. SEED and CASES may be set.
. tests/tap.sh
seed=${SEED:-1986}
cases=${CASES:-200}

if ! command -v Rscript >/dev/null 2>&1; then
    skip "random cases agree with R" "Rscript is not installed"
    done_testing
    exit 0
fi

run "$B/tests/cases" "$seed" "$cases"
is "cases are drawn" "$status $err" "0 "
printf '%s\n' "$out" >"$work/cases.csv"
run Rscript tests/r/afresh.R "$work/cases.csv"
is "R computes them afresh" "$status $err" "0 "
printf '%s\n' "$out" >"$work/differences"
sed -n 's/^#/# seed '"$seed"',/p' "$work/differences"

# within KIND FIGURE LIMIT: the figure is there in every case, and never differs by more
within() {
    awk -v kind="$1" -v figure="$2" -v limit="$3" -v cases="$cases" '
        $2 != kind || $3 != figure { next }
        { n++; values += $4 }
        $5 + 0 > largest + 0 { largest = $5; at = $1 }
        !($5 + 0 <= limit + 0) { bad++ }
        END {
            printf "largest difference %s (case %d), %d values in %d cases\n",
                largest + 0, at, values, n
            exit !(n == cases && values >= n && !bad)
        }' "$work/differences" >"$work/within"
    good=$?
    ok "$1 $2, seed $seed: $(cat "$work/within")" test "$good" -eq 0
}

for figure in rate sse df sxx level se way out_now residual residual_ss; do
    within wear "$figure" 1e-9
done
for figure in expected early; do
    within wear "$figure" 1e-8 # uniroot goes as far as the rounding of its bound
done
for figure in k q df tau2 mu var_mu i2 mu_without tau2_without var_mu_without post post_var; do
    within family "$figure" 1e-9
done
for figure in ss df ms f pf pooled_ss pooled_df var_with var_without; do
    within study "$figure" 1e-9
done
for figure in mean sd lo hi mean_ci lo_ci hi_ci t df pt; do
    within gauges "$figure" 1e-9
done
for figure in pace s var z pz; do
    within series "$figure" 1e-9
done

done_testing
