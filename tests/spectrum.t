#!/bin/sh
# csv-spectrum, a package of eleven odd CSV files with what they hold as JSON, from the
# npm registry: `make deps` installs it.
. tests/tap.sh
rows=${bin%/bin}/tests/csv_rows
spectrum=$PWD/build/npm/node_modules/csv-spectrum

if [ ! -d "$spectrum" ]; then
    skip 'csv-spectrum' 'the npm package csv-spectrum is not installed (make deps)'
    done_testing
    exit 0
fi
if ! command -v node >/dev/null 2>&1; then
    skip 'csv-spectrum' 'node is not there'
    done_testing
    exit 0
fi

# The JSON keeps objects; a CSV file keeps a heading and rows. Prints the names of the
# files that hold what their JSON says.
cat >"$work/compare.js" <<'END'
const fs = require('fs'), { deepStrictEqual } = require('assert');
const [work, json, ...names] = process.argv.slice(2);
for (const name of names) try {
    const [heading, ...rest] = fs.readFileSync(`${work}/${name}.rows`, 'utf8')
        .split('\n').filter(l => l).map(l => JSON.parse(l));
    const got = rest.map(r => {
        if (r.length !== heading.length)
            throw new Error(`${r.length} cells under ${heading.length} headings`);
        return Object.fromEntries(r.map((cell, i) => [heading[i], cell]));
    });
    deepStrictEqual(got, JSON.parse(fs.readFileSync(`${json}/${name}.json`, 'utf8')));
    console.log(name);
} catch (e) {
    console.error(`${name}: ${e.message}`);
}
END

names=
for csv in "$spectrum"/csvs/*.csv; do
    name=$(basename "$csv" .csv)
    names="$names $name"
    run "$rows" "$csv"
    is "$name: read" "$status$err" 0
    mv "$work/.out" "$work/$name.rows"
done
# shellcheck disable=SC2086
node "$work/compare.js" "$work" "$spectrum/json" $names >"$work/same" 2>"$work/why"
for name in $names; do
    ok "$name: same as its JSON" grep -qx "$name" "$work/same"
done
is 'all eleven files' "$(wc -l <"$work/same") $(cat "$work/why")" '11 '

done_testing
