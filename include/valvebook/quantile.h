#ifndef VALVEBOOK_QUANTILE_H
#define VALVEBOOK_QUANTILE_H

/*
 * vb_t_quantile - what Student's t with df degrees of freedom stays below with probability p.
 *   p    above 0, below 1;  df  above 0; far beyond 10^10 the normal quantile
 * NaN for anything else. A list asks the same few again and again, so those asked last are
 * remembered, by each thread for itself.
 * Source: GSL's gsl_cdf_tdist_Pinv and gsl_cdf_ugaussian_Pinv.
 */
double vb_t_quantile(double p, double df);

#endif
