# Expected numbers of tests/weibull_test.c. Run: Rscript tests/r/weibull.R
# Weibull lives by survreg of the package survival; lo = NA: left-, hi = NA: right-censored.
suppressMessages(library(survival))
cases <- list(
  # NIST/SEMATECH e-Handbook 8.4.1.3: ten failures, ten running at 500 h
  nist = list(lo = c(54, 187, 216, 240, 244, 335, 361, 373, 375, 386, rep(500, 10)),
              hi = c(54, 187, 216, 240, 244, 335, 361, 373, 375, 386, rep(NA, 10))),
  # every kind of life
  mixed = list(lo = c(100, 150, NA, 300, 250, 400, 200, 330.5, NA, 90),
               hi = c(200, NA, 120, 300, 260, NA, 400, 330.5, 410, NA)),
  # seen at visits only, 250 h apart
  visits = list(lo = c(500, 750, 750, 1000, 250, 1250, 1500, 1500, 1000, NA, 1750, 1250),
                hi = c(750, 1000, 1000, 1250, 500, NA, NA, 1750, NA, 250, NA, NA)),
  # looked at once each
  once = list(lo = c(200, 400, 350, 900, NA, NA, NA), hi = c(NA, NA, NA, NA, 800, 600, 1100)),
  # spans of a thousandth of their age
  narrow = list(lo = c(1000, 2001, 1503, 800.4, 2500), hi = c(1001, 2003, 1504.5, 801.2, NA)),
  # ages far from 1, a steep shape
  steep = list(lo = c(98123, 99456, 101010, 100200, 97900, 100900),
               hi = c(98123, 99456, 101010, 100200, NA, NA)),
  # tests/fleet_life.t: one setting each ended between visits, at the first visit, not at all
  settings = list(lo = c(200, NA, 300), hi = c(400, 200, NA)))

cat("#", R.version.string, "survival", as.character(packageVersion("survival")), "\n")
for (name in names(cases)) {
  k <- cases[[name]]
  fit <- survreg(Surv(k$lo, k$hi, type = "interval2") ~ 1,
                 control = survreg.control(rel.tolerance = 1e-12, maxiter = 200))
  q <- predict(fit, data.frame(x = 1), type = "uquantile", p = c(0.01, 0.1), se.fit = TRUE)
  # var of (Intercept) = ln scale and of Log(scale) = -ln shape
  cat(sprintf("{\"%s\", %.12g, %.12g, %.12g, %.12g, %.12g, %.12g,\n", name, 1 / fit$scale,
              exp(coef(fit)), fit$loglik[2], fit$var[2, 2], fit$var[1, 1], -fit$var[1, 2]))
  cat(sprintf(" {%.12g, %.12g}, {%.12g, %.12g}},\n", exp(q$fit[1]), q$se.fit[1],
              exp(q$fit[2]), q$se.fit[2]))
}
