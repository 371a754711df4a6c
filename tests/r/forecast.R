# Expected numbers of tests/forecast_test.c. Run: Rscript tests/r/forecast.R
# Level and standard error by predict, crossings by uniroot on the level and on the
# one-sided bound, which is one end of the two-sided interval of level 2 p - 1.
cases <- list(
  closing = list(p = 0.95, limit = 0.15, side = "tight", from = 2500, at = 4000,
    interval = rep(0, 6), meter = c(0, 500, 1000, 1500, 2000, 2500), w = rep(1, 6),
    lash = c(0.305, 0.289, 0.282, 0.262, 0.255, 0.236)),
  opening = list(p = 0.95, limit = 0.5, side = "loose", from = 42000, at = 39000,
    interval = rep(0, 5), meter = c(2000, 11000, 19000, 33000, 42000), w = rep(1, 5),
    lash = c(0.3, 0.318, 0.333, 0.351, 0.378)),
  settings = list(p = 0.99, limit = 0.1, side = "tight", from = 6100, at = 9000,
    interval = c(0, 0, 0, 0, 1, 1, 1, 2, 3, 3, 3),
    meter = c(250, 900, 1500, 2300, 2300, 3100, 3900, 3900, 4700, 5600, 6100),
    w = c(1, 4, 0.25, 9, 2.5, 1, 16, 3, 0.5, 6.25, 1),
    lash = c(0.25, 0.237, 0.229, 0.208, 0.252, 0.233, 0.224, 0.245, 0.251, 0.226, 0.22)),
  single_last = list(p = 0.95, limit = 0.2, side = "tight", from = 3000, at = 3000,
    interval = c(0, 0, 0, 0, 1), meter = c(0, 1000, 2000, 3000, 3000), w = rep(1, 5),
    lash = c(0.301, 0.282, 0.257, 0.242, 0.3)),
  # The rate is 3 % beyond what counts as different from zero: the bound starts almost
  # level and is met long before the line itself.
  horizontal = list(p = 0.95, limit = 0.25, side = "tight", from = 5000, at = 60000,
    interval = rep(0, 6), meter = c(0, 1000, 2000, 3000, 4000, 5000), w = rep(1, 6),
    lash = c(0.301, 0.298135, 0.30047, 0.296605, 0.29854, 0.295925)),
  # The limit lies above the mean of the last interval.
  before_mean = list(p = 0.95, limit = 0.28, side = "tight", from = 100, at = 100,
    interval = rep(0, 6), meter = c(0, 500, 1000, 1500, 2000, 2500), w = rep(1, 6),
    lash = c(0.305, 0.289, 0.282, 0.262, 0.255, 0.236)))

cat("#", R.version.string, "\n")
for (name in names(cases)) {
  k <- cases[[name]]
  d <- data.frame(k[c("interval", "meter", "lash", "w")])
  d$f <- factor(d$interval)
  fit <- if (nlevels(d$f) > 1) lm(lash ~ 0 + f + meter, d, weights = w) else
    lm(lash ~ meter, d, weights = w)
  ask <- function(m, ...)
    predict(fit, data.frame(meter = m, f = d$f[nrow(d)]), ...)
  end <- if (k$side == "tight") "lwr" else "upr"
  bound <- function(m)
    ask(m, interval = "confidence", level = 2 * k$p - 1)[, end] - k$limit
  root <- function(f)
    uniroot(f, c(-1e4, 1e5), extendInt = "yes", tol = 1e-10, maxiter = 10000)$root
  level <- ask(k$at, se.fit = TRUE)
  ends <- ask(k$at, interval = "confidence", level = 2 * k$p - 1)
  cr <- summary(fit)$coefficients["meter", ]
  cat(name, "\n", sprintf("  %-8s %.15g\n",
    c("level", "se", "expected", "early", "t", "|t rate|",
      "lower", "upper"),
    c(level$fit, level$se.fit, root(function(m) ask(m) - k$limit), root(bound),
      qt(k$p, df.residual(fit)), abs(cr[3]), ends[, "lwr"], ends[, "upr"])), sep = "")
}

# Theil-Sen slope of meter on day, two readings on one day, an even number of pairs.
day <- c(10, 10, 31, 55, 90, 121)
meter <- c(1000, 1004, 1190, 1420, 1805, 2010)
o <- outer(meter, meter, "-") / outer(day, day, "-")
s <- o[lower.tri(o)]
cat(sprintf("pace %.15g of %d pairs\n", median(s[is.finite(s)]), sum(is.finite(s))))
e <- read.csv("fixtures/reference/epa_ug_ex17_6.csv")
o <- outer(e$Sulfate.ppm, e$Sulfate.ppm, "-") / outer(e$Sampling.Date, e$Sampling.Date, "-")
cat(sprintf("epa %.15g\n", median(o[lower.tri(o)])))

for (df in c(1, 3, 12.5, 40, 7040))
  cat(sprintf("qt %g %.15g %.15g\n", df, qt(0.95, df), qt(0.99, df)))
