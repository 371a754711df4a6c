# Random sets of lives, replacements and rates, computed by the library and again by R with
# survival (tests/r/life_afresh.R), which prints the relative difference of every figure of every
# case. SEED and CASES may be set.
. tests/tap.sh
seed=${SEED:-1995}
cases=${CASES:-50}

if ! Rscript -e 'library(survival)' >/dev/null 2>&1; then
    skip "random lives agree with R" "no Rscript with survival"
    done_testing
    exit 0
fi

run "$B/tests/life_cases" "$seed" "$cases"
is "cases are drawn" "$status $err" "0 "
printf '%s\n' "$out" >"$work/cases.csv"
run Rscript tests/r/life_afresh.R "$work/cases.csv"
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

for figure in shape scale loglik se_shape se_scale b1 b10; do
    within weibull "$figure" 1e-6
done
for figure in step mcf se se_poisson power_shape power_scale laplace chi2 p_chi2; do
    within fleet "$figure" 1e-9
done
within fleet power_se 1e-6 # by a numerical derivative there
within relash risk 1e-3

done_testing
