#!/bin/sh
# make coverage: lines and branches of lib that the tests took, by gcc's own count: each && and
# || and ?: is a branch each way. A branch nothing can take is marked in the source, one by one,
# with the reason beside it. MISSED=lib/trade lists the branches not taken there.
set -eu
B=${B:-build-cov}
gcovr --root . --object-directory "$B" --filter 'lib/' --gcov-ignore-parse-errors --json "$B/coverage.json" \
    "$B/lib" >/dev/null 2>&1
python3 - "$B/coverage.json" "${MISSED:-}" <<'END'
import json, sys
totals = {}
for f in json.load(open(sys.argv[1]))['files']:
    lines = [l for l in f['lines'] if not l.get('gcovr/noncode')]
    branches = [(l['line_number'], b) for l in lines for b in l['branches']]
    counts = (sum(l['count'] > 0 for l in lines), len(lines),
              sum(b['count'] > 0 for _, b in branches), len(branches))
    room = '/'.join(f['file'].split('/')[:2])
    for name in (f['file'], room, 'lib'):
        totals[name] = [a + b for a, b in zip(totals.get(name, [0] * 4), counts)]
    if sys.argv[2] and f['file'].startswith(sys.argv[2]):
        missed = sorted({n for n, b in branches if not b['count']})
        if missed:
            print(f['file'] + ':', ' '.join(map(str, missed)))
print('%-32s %14s %20s' % ('', 'lines', 'branches'))
for name in sorted(totals, key=lambda n: (n == 'lib', n.count('/') == 1, n)):
    a, b, c, d = totals[name]
    print('%-32s %5d/%-5d %5.1f %% %5d/%-5d %5.1f %%' % (name, a, b, 100 * a / b if b else 100, c, d,
                                                    100 * c / d if d else 100))
END
