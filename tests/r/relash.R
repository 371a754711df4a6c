# Expected numbers of tests/relash_test.c. Run: Rscript tests/r/relash.R
# The chance that any valve of an engine is beyond its tight limit at the end of a gap, by
# nested numerical integration over mu and, where rates are given, over tau.
inside <- function(s, gap) {
  # all valves of a side, given mu and tau
  given <- function(mu, tau)
    pnorm((s$level + mu * gap - s$tight) / sqrt(s$var + (tau * gap)^2))^s$valves
  over_mu <- function(m, v, tau)
    if (v == 0) given(m, tau) else
      integrate(function(u) dnorm(u) * given(m + sqrt(v) * u, tau), -12, 12,
                rel.tol = 1e-11, subdivisions = 2000)$value
  if (is.null(s$rate))
    return(over_mu(s$mu, s$var_mu, s$tau))
  mu_at <- function(tau) weighted.mean(s$rate, 1 / (s$v + tau^2))
  var_at <- function(tau) 1 / sum(1 / (s$v + tau^2))
  like <- function(tau)
    sqrt(prod(1 / (s$v + tau^2)) * var_at(tau)) *
      exp(-sum((s$rate - mu_at(tau))^2 / (s$v + tau^2)) / 2)
  # flat in x = asinh(tau / sqrt(v)), v the harmonic mean
  root_v <- sqrt(1 / mean(1 / s$v))
  peak <- optimize(function(x) like(root_v * sinh(x)), c(0, 12), maximum = TRUE)$objective
  outer <- function(f) integrate(Vectorize(function(x) {
    tau <- root_v * sinh(x)
    f(tau) * like(tau) / peak
  }), 0, 9, rel.tol = 1e-10, subdivisions = 2000)$value
  outer(function(tau) over_mu(mu_at(tau), var_at(tau), tau)) / outer(function(tau) 1)
}
risk <- function(sides, gap) 1 - prod(sapply(sides, inside, gap))

rate <- c(-1.31, -0.92, -1.55, -1.12, -1.78, -0.71, -1.24, -1.4) * 1e-4
se <- c(0.2, 0.25, 0.15, 0.3, 0.2, 0.2, 0.35, 0.15) * 1e-4
few <- list(tight = 0.2, level = 0.4, var = 0.012^2, valves = 6, rate = rate, v = se^2)
three <- list(tight = 0.2, level = 0.4, var = 0.012^2, valves = 4, rate = rate[1:3],
              v = se[1:3]^2)
known <- list(tight = 0.2, level = 0.398, var = 0.015^2, valves = 6, mu = -1.2e-4,
              tau = 2.5e-5, var_mu = 0)
doubt <- modifyList(known, list(var_mu = 6e-6^2))
wide <- modifyList(known, list(var_mu = 9e-5^2, tau = 1e-5, var = 0.003^2))
inlet <- list(tight = 0.1, level = 0.252, var = 0.014^2, valves = 6, mu = -6e-5, tau = 1.5e-5,
              var_mu = 4e-6^2)
cases <- list(known = list(known), doubt = list(doubt), wide = list(wide),
              sides = list(inlet, doubt), rates = list(few), three = list(three),
              both = list(inlet, few))
cat("#", R.version.string, "\n")
for (name in names(cases)) {
  s <- cases[[name]]
  gap <- uniroot(function(g) risk(s, g) - 0.01, c(5, 3000), tol = 1e-9)$root
  cat(sprintf("{\"%s\", %.10g, %.10g, %.9g},\n", name, risk(s, 500), risk(s, 1200), gap))
}
