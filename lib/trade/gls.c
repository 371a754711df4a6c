#include "gls.h"

#include <math.h>

#include <gsl/gsl_linalg.h>

#include "finite.h"

#define OWN_MIN 1e-10 // own variance over the greatest: some digits are left of 16

/* Of two different items, by the TDCs they share; number 0 is shared by nobody. */
static double
shared(const struct vb_gls_item *a, const struct vb_gls_item *b)
{
    double sum = 0;
    for (int i = 0; i < 2; i++)
        for (int j = 0; j < 2; j++)
            if (a->tdc[i] != 0 && a->tdc[i] == b->tdc[j])
                sum += a->u_tdc[i] * b->u_tdc[j];
    return sum;
}

/* Of an item with itself. One TDC that both readings rest on goes out. */
static double
variance(const struct vb_gls_item *a)
{
    if (a->tdc[0] != 0 && a->tdc[0] == a->tdc[1]) {
        double left = a->u_tdc[0] + a->u_tdc[1];
        return a->own2 + left * left;
    }
    return a->own2 + a->u_tdc[0] * a->u_tdc[0] + a->u_tdc[1] * a->u_tdc[1];
}

/*
 * The covariance is what items own, on the diagonal, and a sum of squares: it has an
 * inverse unless what is own drowns in what is shared. GSL is not asked for that one: its
 * error handler may stop the program.
 */
static int
drowned(const struct vb_gls_item *x, size_t n)
{
    double most = 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, variance(&x[i]));
    for (size_t i = 0; i < n; i++)
        if (!(x[i].own2 > OWN_MIN * most))
            return 1;
    return !isfinite(most);
}

static enum vb_err
invert_covariance(const struct vb_gls_item *x, struct vb_gls *g)
{
    gsl_matrix_view v = gsl_matrix_view_array(g->p, g->n, g->n);
    for (size_t i = 0; i < g->n; i++)
        for (size_t j = 0; j < g->n; j++)
            gsl_matrix_set(&v.matrix, i, j,
                           i == j ? variance(&x[i]) : shared(&x[i], &x[j]));
    // drowned() has seen that there is an inverse: neither can fail
    int rc = gsl_linalg_cholesky_decomp1(&v.matrix);
    rc = rc ? rc : gsl_linalg_cholesky_invert(&v.matrix); // GCOVR_EXCL_BR_LINE: above
    return rc ? VB_EDOM : VB_OK;                          // GCOVR_EXCL_BR_LINE: above
}

/* The row sums of the inverse are the weights, but for their own sum. */
static void
weigh(struct vb_gls *g)
{
    double sum = 0;
    for (size_t i = 0; i < g->n; i++) {
        g->w[i] = 0;
        for (size_t j = 0; j < g->n; j++)
            g->w[i] += g->p[i * g->n + j];
        sum += g->w[i];
    }
    g->var = 1 / sum;
    for (size_t i = 0; i < g->n; i++)
        g->w[i] *= g->var;
}

/* Element i of the inverse times the residuals. */
static double
pull(const struct vb_gls *g, const struct vb_gls_item *x, size_t i)
{
    double sum = 0;
    for (size_t j = 0; j < g->n; j++)
        sum += g->p[i * g->n + j] * (x[j].y - g->y);
    return sum;
}

enum vb_err
vb_gls_mean(const struct vb_gls_item *x, size_t n, struct vb_gls *out)
{
    if (drowned(x, n))
        return VB_EDOM;
    out->n = n;
    if (invert_covariance(x, out)) // GCOVR_EXCL_BR_LINE: see there
        return VB_EDOM;            // GCOVR_EXCL_LINE
    weigh(out);
    out->y = out->chi2 = 0;
    for (size_t i = 0; i < n; i++)
        out->y += out->w[i] * x[i].y;
    for (size_t i = 0; i < n; i++)
        out->chi2 += (x[i].y - out->y) * pull(out, x, i);
    const double found[] = {out->y, log(out->var)}; // a variance is above 0
    return all_finite(found, 2) ? VB_OK : VB_EDOM;
}

size_t
vb_gls_farthest(const struct vb_gls *g, const struct vb_gls_item *x)
{
    size_t at = 0;
    double most = -1;
    for (size_t i = 0; i < g->n; i++) {
        double var = g->p[i * g->n + i] - g->w[i] * g->w[i] / g->var;
        double t = fabs(pull(g, x, i)) / sqrt(var);
        if (t > most) {
            most = t;
            at = i;
        }
    }
    return at;
}

double
vb_gls_shared(const struct vb_gls *a, const struct vb_gls_item *xa,
              const struct vb_gls *b, const struct vb_gls_item *xb)
{
    double sum = 0;
    for (size_t i = 0; i < a->n; i++)
        for (size_t j = 0; j < b->n; j++)
            sum += a->w[i] * b->w[j] * shared(&xa[i], &xb[j]);
    return sum;
}
