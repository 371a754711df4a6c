# Shims of 500 random engines, chosen by the library and again by
# scipy.optimize.linear_sum_assignment from the raw lengths. SEED and CASES may be set.
. tests/tap.sh
seed=${SEED:-1986}
cases=${CASES:-500}

python=
for p in python3 /usr/bin/python3; do
    if [ -z "$python" ] && "$p" -c 'import numpy, scipy.optimize' >/dev/null 2>&1; then
        python=$p
    fi
done
if [ -z "$python" ]; then
    skip "shims are those that scipy would choose" "no python3 with scipy"
    done_testing
    exit 0
fi

cat >"$work/afresh.py" <<'END'
import json
import sys
from collections import Counter

import numpy as np
import scipy
from scipy.optimize import linear_sum_assignment

NEVER = 2**52  # no sum of what may be comes near
OWN, SWAP, SHELF, BUY = 1, 2, 3, 4


def after(valve, thickness):
    return valve[0] + valve[1] - thickness


def lands(valve, thickness):
    lo, hi = valve[3], valve[4]
    return (lo is None or after(valve, thickness) >= lo) and (
        hi is None or after(valve, thickness) <= hi)


def off(valve, thickness):
    return abs(after(valve, thickness) - valve[2])


def fits(valve, side):
    return side in ("", valve[8])


def of(valve):
    """The side that the shim in a valve fits: its own, or either."""
    return valve[8] if valve[9] else ""


def solve(valves, stock):
    """(unserved, bought, off, moved): every grade is a column of its own for each valve."""
    n = len(valves)
    pool = [v[0] for v in valves] + [s for s, count, _ in stock for _ in range(count)]
    sides = [of(v) for v in valves] + [side for _, count, side in stock for _ in range(count)]
    bought = []
    for i, v in enumerate(valves):
        if v[7] is not None:
            bought += [(i, g) for g in range(v[5], v[6] + 1, v[7]) if lands(v, g)]
    largest = max([off(v, g) for v in valves for g in pool + [b for _, b in bought]
                   if lands(v, g)], default=0)
    per_off = n + 1
    per_buy = per_off * (n * largest + 1)
    per_none = per_buy * (n + 1)
    cost = np.full((n, len(pool) + len(bought) + n), NEVER, dtype=np.int64)
    for i, v in enumerate(valves):
        for j, s in enumerate(pool):
            if lands(v, s) and fits(v, sides[j]):
                cost[i, j] = per_off * off(v, s) + (i != j)
        for j, (k, g) in enumerate(bought):
            if k == i:
                cost[i, len(pool) + j] = per_buy + per_off * off(v, g) + 1
        cost[i, len(pool) + len(bought) + i] = per_none
    assert n * per_none < 2**52  # exact in the doubles that scipy works with
    rows, cols = linear_sum_assignment(cost)
    total = int(cost[rows, cols].sum())
    assert total < NEVER
    unserved, rest = divmod(total, per_none)
    bought, rest = divmod(rest, per_buy)
    return [unserved, bought] + list(divmod(rest, per_off))


def honest(case):
    """The choice is one that can be carried out and adds up to its total."""
    valves, stock, total = case["valves"], case["stock"], [0, 0, 0, 0]
    used = Counter()
    for i, (v, (source, k, s)) in enumerate(zip(valves, case["chosen"])):
        if source == 0:
            total[0] += 1
            continue
        if not lands(v, s):
            return False
        if source in (OWN, SWAP):
            if valves[k if source == SWAP else i][0] != s:
                return False
            if source == SWAP and not fits(v, of(valves[k])):
                return False
            used["valve", k if source == SWAP else i] += 1
        elif source == SHELF:
            if stock[k][0] != s or not fits(v, stock[k][2]):
                return False
            used["shelf", k] += 1
        elif v[7] is None or not v[5] <= s <= v[6] or (s - v[5]) % v[7]:
            return False
        total[1] += source == BUY
        total[2] += off(v, s)
        total[3] += source != OWN
    return total == case["total"] and all(
        count <= (1 if what == "valve" else stock[k][1]) for (what, k), count in used.items())


same = good = engines = unserved = bought = apart = 0
for line in open(sys.argv[1]):
    case = json.loads(line)
    fresh = solve(case["valves"], case["stock"])
    engines += 1
    same += fresh == case["total"]
    good += honest(case)
    unserved += fresh[0] > 0
    bought += fresh[1] > 0
    either = [v[:9] + [0] for v in case["valves"]], [s[:2] + [""] for s in case["stock"]]
    apart += solve(*either) != fresh
print(engines, same, good)
print("# scipy %s: %d engines, %d with a valve that nothing serves, %d that buy, "
      "%d in which sides matter" % (scipy.__version__, engines, unserved, bought, apart))
END

run "$B/tests/shim_cases" "$seed" "$cases"
is "engines are drawn" "$status $err" "0 "
printf '%s\n' "$out" >"$work/cases"
run "$python" "$work/afresh.py" "$work/cases"
printf '%s\n' "$out" | sed -n "s/^#/# seed $seed,/p"
is "engines, totals as scipy's, choices that add up" \
    "$status $(printf '%s\n' "$out" | head -n 1)$err" "0 $cases $cases $cases"
done_testing
