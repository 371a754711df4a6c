#include "valvebook/svg.h"

#include <math.h>
#include <string.h>

#include "valvebook/html.h"

double
vb_axis_at(const struct vb_axis *a, double value)
{
    return a->at_lo + (value - a->lo) / (a->hi - a->lo) * (a->at_hi - a->at_lo);
}

/* digits * 10^k: a negative power of ten is exact only as a divisor. */
static double
scaled(double digits, int k)
{
    return k < 0 ? digits / pow(10, -k) : digits * pow(10, k);
}

static int
ticks_of(double lo, double hi, size_t most, int k, double digit, struct vb_ticks *t)
{
    double step = scaled(digit, k);
    double first = ceil(lo / step), last = floor(hi / step);
    if (!(last - first < (double)most))
        return 0;
    t->n = last < first ? 0 : (size_t)(last - first) + 1;
    for (size_t i = 0; i < t->n; i++)
        t->tick[i] = scaled((first + (double)i) * digit, k);
    t->decimals = k < 0 ? -k : 0;
    return 1;
}

enum vb_err
vb_ticks(double lo, double hi, size_t most, struct vb_ticks *out)
{
    static const double digits[] = {1, 2, 5};
    double width = hi - lo;
    if (!isfinite(lo) || !isfinite(hi) || !(lo < hi) || !isfinite(width) || most < 2 ||
        most > VB_TICKS_MAX || width < 1e-12 * fmax(fabs(lo), fabs(hi)) || width < 1e-15)
        return VB_EDOM;
    struct vb_ticks t;
    int k = (int)floor(log10(width / (double)most)) - 1;
    for (;; k++)
        for (size_t i = 0; i < sizeof digits / sizeof *digits; i++)
            if (ticks_of(lo, hi, most, k, digits[i], &t)) {
                *out = t;
                return VB_OK;
            }
}

void
vb_svg_begin(struct vb_out *o, size_t id, double width, double height, const char *title,
             const char *desc)
{
    vb_html_put(o,
                "<svg viewBox=\"0 0 %.0f %.0f\" role=\"img\""
                " aria-labelledby=\"t%zu d%zu\">\n<title id=\"t%zu\">%s</title>\n"
                "<desc id=\"d%zu\">%s</desc>\n",
                width, height, id, id, id, title, id, desc);
}

void
vb_svg_end(struct vb_out *o)
{
    vb_out_text(o, "</svg>\n");
}

static void
shape(struct vb_out *o, const char *class, const double (*xy)[2], size_t n)
{
    vb_html_put(o, "<polygon class=\"%s\" points=\"", class);
    for (size_t i = 0; i < n; i++)
        vb_html_put(o, i ? " %.1f,%.1f" : "%.1f,%.1f", xy[i][0], xy[i][1]);
    vb_out_text(o, "\"/>\n");
}

void
vb_svg_mark(struct vb_out *o, enum vb_mark mark, const char *class, double x, double y,
            double r)
{
    const double a = 0.8 * r; // of a square as large to the eye as a disc
    const double diamond[][2] = {{x, y - r}, {x + r, y}, {x, y + r}, {x - r, y}};
    const double square[][2] = {
        {x - a, y - a}, {x + a, y - a}, {x + a, y + a}, {x - a, y + a}};
    const double down[][2] = {{x - r, y - a}, {x + r, y - a}, {x, y + r}};
    switch (mark) {
    case VB_MARK_DIAMOND: shape(o, class, diamond, 4); break;
    case VB_MARK_SQUARE: shape(o, class, square, 4); break;
    case VB_MARK_DOWN: shape(o, class, down, 3); break;
    case VB_MARK_CROSS:
        vb_html_put(
            o, "<path class=\"%s\" d=\"M%.1f %.1fL%.1f %.1fM%.1f %.1fL%.1f %.1f\"/>\n",
            class, x - a, y - a, x + a, y + a, x - a, y + a, x + a, y - a);
        break;
    default:
        vb_html_put(o, "<circle class=\"%s\" cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\"/>\n",
                    class, x, y, r);
    }
}

void
vb_svg_bar(struct vb_out *o, const char *class, double x, double y0, double y1)
{
    const double w = 2.5; // half of an end
    vb_html_put(
        o, "<path class=\"%s\" d=\"M%.1f %.1fV%.1fM%.1f %.1fH%.1fM%.1f %.1fH%.1f\"/>\n",
        class, x, y0, y1, x - w, y0, x + w, x - w, y1, x + w);
}

void
vb_svg_line(struct vb_out *o, const char *class, double x0, double y0, double x1,
            double y1)
{
    vb_html_put(o,
                "<line class=\"%s\" x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\"/>\n",
                class, x0, y0, x1, y1);
}

void
vb_svg_rect(struct vb_out *o, const char *class, double x, double y, double w, double h)
{
    vb_html_put(o,
                "<rect class=\"%s\" x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" "
                "height=\"%.1f\"/>\n",
                class, x, y, w, h);
}

void
vb_svg_path(struct vb_out *o, const char *class, const double (*xy)[2], size_t n,
            int closed)
{
    vb_html_put(o, "<path class=\"%s\" d=\"", class);
    for (size_t i = 0; i < n; i++)
        vb_html_put(o, i ? "L%.1f %.1f" : "M%.1f %.1f", xy[i][0], xy[i][1]);
    vb_out_text(o, closed ? "Z\"/>\n" : "\"/>\n");
}

void
vb_svg_text(struct vb_out *o, const char *class, enum vb_anchor anchor, double x,
            double y, const char *text)
{
    static const char *const anchors[] = {"start", "middle", "end"};
    vb_html_put(o,
                "<text class=\"%s\" text-anchor=\"%s\" x=\"%.1f\" y=\"%.1f\">%s</text>\n",
                class, anchors[anchor], x, y, text);
}

void
vb_svg_clip_begin(struct vb_out *o, size_t id, double x, double y, double w, double h)
{
    vb_html_put(o, "<clipPath id=\"c%zu\"><rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\"", id,
                x, y, w);
    vb_html_put(o, " height=\"%.1f\"/></clipPath>\n<g clip-path=\"url(#c%zu)\">\n", h,
                id);
}

void
vb_svg_clip_end(struct vb_out *o)
{
    vb_out_text(o, "</g>\n");
}
