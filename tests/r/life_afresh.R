# Computes afresh what tests/tools/life_cases.c printed, and prints for each case and figure the
# largest relative difference.  Rscript tests/r/life_afresh.R CASES > differences
# Each line: number of the case, kind, figure, values compared, difference. Values that one side
# has and the other has not differ by 9e99.
suppressMessages(library(survival))
lines <- strsplit(readLines(commandArgs(TRUE)[1]), ",", fixed = TRUE)

parse <- function(cells) {
  cut <- regexpr("=", cells, fixed = TRUE)
  values <- strsplit(substring(cells, cut + 1), " ", fixed = TRUE)
  setNames(lapply(values, as.numeric), substring(cells, 1, cut - 1))
}

# Relative to the larger of the two, or to `scale` where a figure may come close to 0 by
# cancelling.
difference <- function(a, b, scale = 0) {
  if (length(a) != length(b))
    return(9e99)
  d <- abs(a - b) / pmax(abs(a), abs(b), scale)
  d[a == b | (is.na(a) & is.na(b))] <- 0
  d[is.na(d) | is.infinite(d)] <- 9e99
  max(d)
}

# survreg of survival; a left-censored life has lo = 0 here and NA there
afresh_weibull <- function(k) {
  lo <- ifelse(k$lo == 0, NA, k$lo)
  fit <- survreg(Surv(lo, k$hi, type = "interval2") ~ 1,
                 control = survreg.control(rel.tolerance = 1e-12, maxiter = 500))
  q <- predict(fit, data.frame(x = 1), type = "uquantile", p = c(0.01, 0.1), se.fit = TRUE)
  life <- function(i, level)
    exp(q$fit[i] + c(0, -1, 1) * qnorm(0.5 + level / 2) * q$se.fit[i])
  list(shape = 1 / fit$scale, scale = exp(coef(fit)[[1]]), loglik = fit$loglik[2],
       se_shape = sqrt(fit$var[2, 2]), se_scale = sqrt(fit$var[1, 1]), b1 = life(1, 0.95),
       b10 = life(2, 0.9))
}

# Matrices of engines by ages; the power law by its profile likelihood.
afresh_fleet <- function(k) {
  ages <- sort(unique(k$age))
  engines <- unique(k$engine)
  risk <- outer(seq_along(k$from), ages, function(i, t) (k$from[i] < t & t <= k$to[i]) + 0)
  y <- rowsum(risk, k$engine)
  done <- t(sapply(engines, function(e) sapply(ages, function(t)
    sum(k$count[k$engine[k$watch + 1] == e & k$age == t]))))
  n <- colSums(y)
  d <- colSums(done) / n
  u <- sweep(done - sweep(y, 2, d, "*"), 2, n, "/")
  u <- if (length(ages) > 1) t(apply(u, 1, cumsum)) else u
  big <- sum(k$count)
  logs <- sum(k$count * log(k$age))
  g <- function(b) sum(k$to^b - k$from^b)
  ll <- function(b) big * log(big / g(b)) + big * log(b) + b * logs
  score <- function(b) {
    from <- ifelse(k$from > 0, k$from^b * log(k$from), 0)
    big / b + logs - big * sum(k$to^b * log(k$to) - from) / g(b)
  }
  b <- uniroot(score, c(1e-3, 60), tol = 1e-14, maxiter = 10000)$root
  h <- 1e-3 * b
  curve <- (score(b - 2 * h) - 8 * score(b - h) + 8 * score(b + h) - score(b + 2 * h)) / (12 * h)
  from <- k$from[k$watch + 1]
  to <- k$to[k$watch + 1]
  chi2 <- 2 * sum(k$count * log((to - from) / (k$age - from)))
  p <- pchisq(chi2, 2 * big)
  stopifnot(ll(b) >= ll(b * 1.01), ll(b) >= ll(b * 0.99))
  list(step = ages, mcf = cumsum(d), se = sqrt(colSums(u^2)),
       se_poisson = sqrt(cumsum(colSums(done) / n^2)), power_shape = b,
       power_scale = (g(b) / big)^(1 / b), power_se = sqrt(-1 / curve) / b,
       laplace = sum(k$count * (k$age - (from + to) / 2)) / sqrt(sum(k$count * (to - from)^2 / 12)),
       chi2 = chi2, p_chi2 = min(1, 2 * min(p, 1 - p)))
}

# nested integration over tau and mu
afresh_relash <- function(k) {
  mu_at <- function(tau) weighted.mean(k$rates, 1 / (k$vars + tau^2))
  var_at <- function(tau) 1 / sum(1 / (k$vars + tau^2))
  log_like <- function(tau)
    (sum(-log(k$vars + tau^2)) + log(var_at(tau)) -
       sum((k$rates - mu_at(tau))^2 / (k$vars + tau^2))) / 2
  root_v <- sqrt(1 / mean(1 / k$vars))
  x <- seq(0, 8, 0.02)
  l <- sapply(root_v * sinh(x), log_like)
  peak <- max(l)
  upto <- min(8, max(x[l > peak - 25]) + 0.02)
  inside <- function(tau) {
    v <- var_at(tau)
    integrate(function(u) dnorm(u) *
      pnorm((k$level + (mu_at(tau) + sqrt(v) * u) * k$gap - k$tight) /
              sqrt(k$var + (tau * k$gap)^2))^k$valves, -10, 10, rel.tol = 1e-9,
      subdivisions = 1000)$value
  }
  over <- function(f) integrate(Vectorize(function(x) {
    tau <- root_v * sinh(x)
    f(tau) * exp(log_like(tau) - peak)
  }), 0, upto, rel.tol = 1e-8, subdivisions = 1000)$value
  list(risk = 1 - over(inside) / over(function(tau) 1))
}

afresh <- list(weibull = afresh_weibull, fleet = afresh_fleet, relash = afresh_relash)
cat("#", R.version.string, "survival", as.character(packageVersion("survival")), "\n")
for (cells in lines) {
  k <- parse(cells[-(1:2)])
  fresh <- afresh[[cells[2]]](k)
  for (name in names(fresh)) {
    # errors that are 0 in theory are rounding on both sides
    scale <- if (name == "se") max(k$se_poisson) * 1e-6 else if (name == "laplace") 1e-3 else 0
    d <- difference(k[[name]], fresh[[name]], scale)
    cat(sprintf("%s %s %s %d %.3g\n", cells[1], cells[2], name, length(fresh[[name]]), d))
  }
}
