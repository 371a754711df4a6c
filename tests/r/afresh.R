# Computes afresh what tests/tools/cases.c printed, and prints for each case and figure the
# largest relative difference.  Rscript tests/r/afresh.R CASES > differences
# Each line: number of the case, kind, figure, values compared, difference. Values that one
# side has and the other has not differ by 9e99.
lines <- strsplit(readLines(commandArgs(TRUE)[1]), ",", fixed = TRUE)

# "name=1 2 3" cells as a list of vectors
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

# --- one slope, one intercept an interval ---

root <- function(f, lo, hi) uniroot(f, c(lo, hi), tol = 1e-13, maxiter = 10000)$root

crossing <- function(k, fit, d) {
  ask <- function(m, ...) predict(fit, data.frame(meter = m, f = d$f[nrow(d)]), ...)
  b <- summary(fit)$coefficients["meter", ]
  now <- ask(k$from)
  if (!is.na(k$tight) && now < k$tight)
    return(list(way = 1, out_now = 1, expected = k$from, early = k$from))
  if (!is.na(k$loose) && now > k$loose)
    return(list(way = 2, out_now = 1, expected = k$from, early = k$from))
  closes <- b[[1]] < 0
  limit <- if (closes) k$tight else k$loose
  if (is.na(limit) || abs(b[[3]]) <= qt(k$p, df.residual(fit)))
    return(list(way = 0, out_now = 0, expected = Inf, early = Inf))
  # room: what is left to the limit, of the level and of its one-sided bound, which is one
  # end of the two-sided interval of level 2 p - 1
  end <- if (closes) "lwr" else "upr"
  sign <- if (closes) 1 else -1
  room <- function(m) sign * (ask(m) - limit)
  bound_room <- function(m)
    sign * (ask(m, interval = "confidence", level = 2 * k$p - 1)[, end] - limit)
  far <- 1000
  while (room(k$from + far) >= 0)
    far <- 2 * far
  expected <- root(room, k$from, k$from + far)
  early <- if (bound_room(k$from) <= 0) k$from else root(bound_room, k$from, expected)
  list(way = if (closes) 1 else 2, out_now = 0, expected = expected, early = early)
}

# Each reading against the fit of those before it: none for the first of an interval, or
# while there is no rate.
residuals_afresh <- function(d) {
  x <- cbind(outer(d$interval, unique(d$interval), "==") + 0, d$meter)
  q <- rep(NaN, nrow(d))
  for (i in seq_len(nrow(d))[-1]) {
    before <- seq_len(i - 1)
    if (!d$interval[i] %in% d$interval[before])
      next
    seen <- c(colSums(x[before, -ncol(x), drop = FALSE]) > 0, TRUE)
    xb <- x[before, seen, drop = FALSE]
    fit <- lm.wfit(xb, d$lash[before], d$w[before])
    if (fit$rank < ncol(xb))
      next
    # Full rank: nothing was moved about, and R'R = X'WX.
    x0 <- x[i, seen]
    v <- sum(backsolve(qr.R(fit$qr), x0, transpose = TRUE)^2)
    q[i] <- (d$lash[i] - sum(fit$coefficients * x0)) / sqrt(1 / d$w[i] + v)
  }
  q
}

afresh_wear <- function(k) {
  d <- data.frame(k[c("interval", "meter", "lash", "w")])
  d$f <- factor(d$interval)
  fit <- lm(lash ~ 0 + f + meter, data = d, weights = w)
  sxx <- deviance(lm(meter ~ f, data = d, weights = w))
  df <- nrow(d) - nlevels(d$f) - 1
  # Without two meters in one interval there is no rate, and what R leaves of sxx is rounding.
  rate <- coef(fit)[["meter"]]
  q <- residuals_afresh(d)
  out <- list(rate = rate, sse = if (df < 1) 0 else deviance(fit), df = df,
    sxx = if (is.na(rate)) 0 else sxx, level = NaN, se = NaN, way = NaN, out_now = NaN,
    expected = NaN, early = NaN, residual = q)
  out$residual_ss <- out$sse
  if (df < 1 || is.na(rate))
    return(out)
  level <- predict(fit, data.frame(meter = k$at, f = d$f[nrow(d)]), se.fit = TRUE)
  out$level <- level$fit
  out$se <- level$se.fit
  modifyList(out, crossing(k, fit, d))
}

# --- the rates of a family ---

# DerSimonian & Laird (1986), with Q of Cochran; a single rate shows nothing of tau2.
dersimonian_laird <- function(y, v) {
  v <- v[!is.na(y)]
  y <- y[!is.na(y)]
  k <- length(y)
  if (k == 0)
    return(list(k = 0, q = 0, df = 0, tau2 = NaN, mu = NaN, var_mu = Inf, i2 = 0))
  w <- 1 / v
  q <- sum(w * (y - weighted.mean(y, w))^2)
  tau2 <- if (k == 1) 0 else max(0, (q - (k - 1)) / (sum(w) - sum(w^2) / sum(w)))
  ws <- 1 / (v + tau2)
  list(k = k, q = if (k == 1) 0 else q, df = k - 1, tau2 = tau2, mu = weighted.mean(y, ws),
    var_mu = 1 / sum(ws), i2 = if (k == 1) 0 else max(0, (q - (k - 1)) / q))
}

have_metafor <- requireNamespace("metafor", quietly = TRUE)
by_metafor <- function(y, v) {
  r <- metafor::rma(yi = y[!is.na(y)], vi = v[!is.na(y)], method = "DL")
  list(k = r$k, q = r$QE, df = r$k - 1, tau2 = r$tau2, mu = r$beta[[1]], var_mu = r$se^2,
    i2 = max(0, (r$QE - (r$k - 1)) / r$QE))
}

afresh_family <- function(k) {
  y <- k$rates
  v <- k$vars
  out <- dersimonian_laird(y, v)
  if (have_metafor && out$k > 1)
    out <- by_metafor(y, v)
  others <- lapply(seq_along(y), function(i) dersimonian_laird(y[-i], v[-i]))
  pick <- function(name) sapply(others, `[[`, name)
  mu <- pick("mu")
  prior <- pick("tau2") + pick("var_mu")
  # Precisions add up; what is not known has none.
  own <- ifelse(is.na(y), 0, 1 / v)
  family <- ifelse(is.na(mu), 0, 1 / prior)
  sum0 <- function(a, b) ifelse(is.na(a), 0, a) + ifelse(is.na(b), 0, b)
  c(out, list(mu_without = mu, tau2_without = pick("tau2"), var_mu_without = pick("var_mu"),
    post = sum0(own * y, family * mu) / (own + family), post_var = 1 / (own + family)))
}

# --- a crossed study ---

afresh_study <- function(k) {
  d <- data.frame(part = factor(k$part), person = factor(k$person), value = k$value)
  full <- summary(aov(value ~ part * person, d))[[1]]
  main <- summary(aov(value ~ part + person, d))[[1]]
  a <- nlevels(d$part)
  b <- nlevels(d$person)
  r <- nrow(d) / a / b
  components <- function(part, people, against, e) {
    v <- c(e, max(0, (people - against) / (a * r)), max(0, (against - e) / r))
    v <- c(v, sum(v), max(0, (part - against) / (b * r)))
    c(v, v[4] + v[5])
  }
  ms <- full[["Mean Sq"]]
  me <- main[["Mean Sq"]][3]
  list(ss = full[["Sum Sq"]], df = full$Df, ms = ms, f = full[["F value"]][3],
    pf = full[["Pr(>F)"]][3], pooled_ss = main[["Sum Sq"]][3], pooled_df = main$Df[3],
    var_with = components(ms[1], ms[2], ms[3], ms[4]),
    var_without = components(ms[1], ms[2], me, me))
}

# --- two gauges ---

afresh_gauges <- function(k) {
  d <- k$first - k$second
  n <- length(d)
  t <- t.test(k$first, k$second, paired = TRUE, conf.level = k$confidence)
  lo <- mean(d) - 1.96 * sd(d)
  hi <- mean(d) + 1.96 * sd(d)
  half <- c(-1, 1) * qt(1 - (1 - k$confidence) / 2, n - 1) * sd(d) *
    sqrt(1 / n + 1.96^2 / (2 * (n - 1)))
  list(mean = mean(d), sd = sd(d), lo = lo, hi = hi, mean_ci = as.numeric(t$conf.int),
    lo_ci = lo + half, hi_ci = hi + half, t = t$statistic[[1]], df = t$parameter[[1]],
    pt = t$p.value)
}

# --- a series ---

afresh_series <- function(k) {
  later <- outer(k$day, k$day, ">")
  slopes <- (outer(k$run, k$run, "-") / outer(k$day, k$day, "-"))[later]
  n <- length(k$x)
  s <- sum(sign(outer(k$x, k$x, "-"))[lower.tri(diag(n))])
  t <- table(k$x)
  var <- (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5))) / 18
  # cor.test takes S from tau, so |S| - 1 is not quite 0 where it should be.
  z <- 0
  if (abs(s) > 1)
    z <- cor.test(seq_len(n), k$x, method = "kendall", exact = FALSE,
      continuity = TRUE)$statistic[[1]]
  list(pace = median(slopes), s = s, var = var, z = z, pz = 2 * pnorm(-abs(z)))
}

# --- all of them ---

# One residual may be nearly 0: it is held against the largest of its case.
scale_of <- function(name, values)
  if (name == "residual") max(0, abs(values), na.rm = TRUE) else 0

afresh <- list(wear = afresh_wear, family = afresh_family, study = afresh_study,
  gauges = afresh_gauges, series = afresh_series)
cat("#", R.version.string, if (have_metafor) "with metafor", "\n")
for (cells in lines) {
  k <- parse(cells[-(1:2)])
  fresh <- afresh[[cells[2]]](k)
  for (name in names(fresh)) {
    d <- difference(k[[name]], fresh[[name]], scale_of(name, k[[name]]))
    cat(sprintf("%s %s %s %d %.3g\n", cells[1], cells[2], name, length(fresh[[name]]), d))
  }
}
