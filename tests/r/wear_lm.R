# Expected numbers of tests/wear_test.c. Run: Rscript tests/r/wear_lm.R
# One slope, one intercept an interval, by lm; the figures of the last interval and the
# movement by their definitions.
cases <- list(
  balanced = list(
    interval = rep(0:2, each = 4),
    meter = c(0, 480, 1010, 1495, 1495, 2003, 2490, 3020, 3020, 3515, 4040, 4490),
    lash = c(0.302, 0.271, 0.243, 0.207, 0.298, 0.275, 0.238, 0.211, 0.305, 0.268, 0.246,
             0.214),
    w = rep(1, 12)),
  unbalanced = list(
    interval = c(0, 0, 0, 0, 0, 1, 3, 3, 3, 4, 4, 6),
    meter = c(12000, 12350, 12910, 13480, 14020, 14020, 15100, 15640, 16220, 16220, 17005,
              17005),
    lash = c(0.412, 0.405, 0.391, 0.384, 0.366, 0.45, 0.401, 0.397, 0.378, 0.455, 0.431,
             0.447),
    w = rep(1, 12)),
  weighted = list(
    interval = c(0, 0, 0, 0, 1, 1, 1, 2, 3, 3, 3),
    meter = c(250, 900, 1500, 2300, 2300, 3100, 3900, 3900, 4700, 5600, 6100),
    lash = c(0.2, 0.213, 0.221, 0.242, 0.198, 0.217, 0.226, 0.205, 0.199, 0.224, 0.23),
    w = c(1, 4, 0.25, 9, 2.5, 1, 16, 3, 0.5, 6.25, 1)))

cat("#", R.version.string, "\n")
for (name in names(cases)) {
  d <- as.data.frame(cases[[name]])
  fit <- lm(lash ~ 0 + factor(interval) + meter, data = d, weights = w)
  b <- summary(fit)$coefficients["meter", ]
  last <- d[d$interval == max(d$interval), ]
  moved <- tapply(d$lash, d$interval, function(y) y[length(y)] - y[1])
  at <- data.frame(interval = max(d$interval), meter = 7000)
  level <- predict(fit, at, se.fit = TRUE)
  cat(name, "\n", sprintf("  %-9s %.15g\n",
    c("rate", "se", "sse", "df", "sxx", "movement", "last_w", "last_mbar", "last_ybar",
      "level7000", "se7000"),
    c(b[1], b[2], deviance(fit), df.residual(fit),
      deviance(fit) / df.residual(fit) / b[2]^2, sum(moved), sum(last$w),
      weighted.mean(last$meter, last$w), weighted.mean(last$lash, last$w),
      level$fit, level$se.fit)), sep = "")
}
