# The demo's page in a real browser, as wide as a telephone and as a desk: nothing is wider
# than the screen, and in the charts no text is small, cut off or in another's way. A frame
# of that width measures itself and tells the page around it, which --dump-dom prints.
. tests/tap.sh
browser=$(command -v chromium || command -v chromium-browser || command -v google-chrome)
if [ -z "$browser" ]; then
    skip 'pages in a browser' 'no Chromium here'
    done_testing
    exit 0
fi
run sh fixtures/demo/run.sh
is 'the demo runs' "$status" 0
cd "$B/demo" || exit 1
cp trend.html "$work/fleet.html"
"$bin/valve-trend" --as-of 2026-11-01 --engine HC-2 --format html shop.db >"$work/engine.html"
cd "$work" || exit 1
cat >measure <<'END'
<script>
const texts = [...document.querySelectorAll('figure svg text')];
const size = t => parseFloat(getComputedStyle(t).fontSize) * t.getScreenCTM().a;
let cut = 0, touch = 0;
for (const svg of document.querySelectorAll('figure svg')) {
    const b = svg.getBoundingClientRect();
    const r = [...svg.querySelectorAll('text')].map(t => t.getBoundingClientRect());
    r.forEach((p, i) => {
        cut += p.left < b.left - 1 || p.right > b.right + 1 || p.top < b.top - 1 || p.bottom > b.bottom + 1;
        r.slice(0, i).forEach(q => touch += Math.min(p.right, q.right) - Math.max(p.left, q.left) > 1 &&
            Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 4);
    });
}
parent.postMessage([innerWidth, document.documentElement.scrollWidth <= innerWidth ? 'fits' : 'too wide',
    Math.min(...texts.map(size)) >= 11 ? 'legible' : 'small', cut + ' cut', touch + ' touching'].join(' '), '*');
</script>
END
for page in fleet engine; do
    cat measure >>$page.html
    for width in 390 1440; do
        printf '<!DOCTYPE html><title>x</title><body><iframe width=%s height=900 style="border:0" src=%s.html></iframe><script>onmessage = e => document.body.textContent = "MEASURED " + e.data</script>' \
            $width $page >frame.html
        run timeout 60 "$browser" --headless --no-sandbox --disable-gpu --virtual-time-budget=20000 \
            --window-size=1500,1000 --dump-dom "file://$work/frame.html"
        is "$page, $width pixels wide" "$(printf '%s\n' "$out" | grep -o 'MEASURED [a-z0-9 ]*')" \
            "MEASURED $width fits legible 0 cut 0 touching"
    done
done
done_testing
