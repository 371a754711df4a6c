# Expected numbers of tests/gauge_u_test.c and tests/gauge.t. Run: Rscript tests/r/gauge_u.R
# One reading by one person: the gauge's variance as a sum of mean squares from aov, degrees
# of freedom by Satterthwaite; repeatability of incomplete designs from aov(y ~ part : op).
aiag <- read.csv("fixtures/reference/aiag_grr.csv")
# Invented, as in gauge.R.
lash <- data.frame(part = rep(1:4, each = 6), op = rep(rep(1:2, each = 3), 4),
  trial = rep(1:3, 8),
  y = c(0.21, 0.22, 0.21, 0.2, 0.21, 0.21, 0.26, 0.25, 0.26, 0.24, 0.25, 0.25,
        0.31, 0.31, 0.32, 0.28, 0.29, 0.27, 0.36, 0.37, 0.36, 0.31, 0.3, 0.31))
flat <- data.frame(part = rep(1:3, each = 4), op = rep(rep(1:2, each = 2), 3),
  trial = rep(1:2, 6),
  y = c(0.25, 0.29, 0.28, 0.26, 0.27, 0.24, 0.24, 0.28, 0.26, 0.29, 0.25, 0.27))

# Invented, the example of valve-gauge(1): feelers in steps of 0.05, middles of pairs that are
# 0.1 apart.
blades <- data.frame(part = rep(1:3, each = 4), op = rep(rep(1:2, each = 2), 3),
  trial = rep(1:2, 6),
  y = 0.05 + c(0.2, 0.2, 0.2, 0.15, 0.3, 0.3, 0.25, 0.25, 0.4, 0.45, 0.35, 0.4))

show <- function(name, x) cat(sprintf("  %-8s", name), sprintf("%.15g", x), "\n")
# terms: c * ms of the mean squares, with their degrees of freedom
welch <- function(term, df) {
  u2 <- sum(term)
  v <- u2^2 / sum(term^2 / df)
  c(sqrt(u2), v, qt(0.975, floor(v + 1e-9)) * sqrt(u2))
}
one <- function(d, step) {
  a <- length(unique(d$part)); b <- length(unique(d$op)); r <- length(unique(d$trial))
  full <- summary(aov(y ~ factor(part) * factor(op), d))[[1]]
  main <- summary(aov(y ~ factor(part) + factor(op), d))[[1]]
  if (full[["Pr(>F)"]][3] > 0.25) {
    e <- main[["Mean Sq"]][3]; o <- main[["Mean Sq"]][2]
    term <- if (o > e) c(o / (a * r), e * (1 - 1 / (a * r))) else c(0, e)
    df <- main$Df[2:3]
  } else {
    ms <- full[["Mean Sq"]]; e <- ms[4]
    people <- ms[2] > ms[3]
    term <- c(if (people) ms[2] / (a * r) else 0,
      ms[3] * (1 / r - if (people) 1 / (a * r) else 0), e * (1 - 1 / r))
    df <- full$Df[2:4]
  }
  welch(c(term, max(0, step^2 / 12 - e)), c(df, Inf))
}

cat("#", R.version.string, "\n")
cat("blades 0.1\n")
show("u df U", one(blades, 0.1))
for (name in c("aiag", "lash", "flat"))
  for (step in c(0, 0.01, 0.5)) {
    cat(name, step, "\n")
    show("u df U", one(get(name), step))
  }
# people alike, interaction real: the people's term falls away
even <- lash
even$y[even$op == 2] <- even$y[even$op == 2] + mean(lash$y[lash$op == 1]) - mean(lash$y[lash$op == 2])
cat("even 0\n")
show("u df U", one(even, 0))
# one person of `lash`, and `lash` without its last reading
for (d in list(lash[lash$op == 1, ], lash[-24, ])) {
  m <- summary(aov(y ~ interaction(part, op, drop = TRUE), d))[[1]]
  k <- nrow(m)
  cat("within\n")
  show("var df", c(m[["Mean Sq"]][k], m$Df[k]))
  show("u df U", welch(m[["Mean Sq"]][k], m$Df[k]))
}
