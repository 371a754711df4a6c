# Expected numbers of tests/gauge_test.c. Run: Rscript tests/r/gauge.R
# Crossed studies by aov, two gauges by t.test, limits of agreement by their definition,
# coverage factors by qt and qnorm.
aiag <- read.csv("fixtures/reference/aiag_grr.csv")
# Invented: four valves, two people, three readings each, mm. One person presses the
# blade harder where the gap is wide, so the interaction is real.
lash <- data.frame(part = rep(1:4, each = 6), op = rep(rep(1:2, each = 3), 4),
  trial = rep(1:3, 8),
  y = c(0.21, 0.22, 0.21, 0.2, 0.21, 0.21, 0.26, 0.25, 0.26, 0.24, 0.25, 0.25,
        0.31, 0.31, 0.32, 0.28, 0.29, 0.27, 0.36, 0.37, 0.36, 0.31, 0.3, 0.31))
# Invented: both persons alike, parts hardly different: components below 0.
flat <- data.frame(part = rep(1:3, each = 4), op = rep(rep(1:2, each = 2), 3),
  trial = rep(1:2, 6),
  y = c(0.25, 0.29, 0.28, 0.26, 0.27, 0.24, 0.24, 0.28, 0.26, 0.29, 0.25, 0.27))

show <- function(name, x) cat(sprintf("  %-14s", name), sprintf("%.15g", x), "\n")
components <- function(ms, d) {
  a <- length(unique(d$part)); b <- length(unique(d$op)); r <- length(unique(d$trial))
  v <- c(repeatability = ms[["e"]], people = max(0, (ms[["op"]] - ms[["ab"]]) / (a * r)),
    interaction = max(0, (ms[["ab"]] - ms[["e"]]) / r))
  v <- c(v, gauge = sum(v), part = max(0, (ms[["part"]] - ms[["ab"]]) / (b * r)))
  v <- c(v, total = v[["gauge"]] + v[["part"]])
  show("var", v)
  show("share", 100 * v / v[["total"]])
  show("study", 100 * sqrt(v / v[["total"]]))
  show("categories", sqrt(2 * v[["part"]] / v[["gauge"]]))
}

cat("#", R.version.string, "\n")
for (name in c("aiag", "lash", "flat")) {
  d <- get(name)
  cat(name, "\n")
  full <- summary(aov(y ~ factor(part) * factor(op), d))[[1]]
  main <- summary(aov(y ~ factor(part) + factor(op), d))[[1]]
  show("ss", full[["Sum Sq"]])
  show("df", full$Df)
  show("ms", full[["Mean Sq"]])
  show("F p", c(full[["F value"]][3], full[["Pr(>F)"]][3]))
  show("pooled", c(main[["Sum Sq"]][3], main$Df[3], main[["Mean Sq"]][3]))
  ms <- setNames(full[["Mean Sq"]], c("part", "op", "ab", "e"))
  components(ms, d)
  ms["ab"] <- ms["e"] <- main[["Mean Sq"]][3]
  components(ms, d)
}

agree <- function(a, b, confidence) {
  d <- a - b
  n <- length(d)
  k <- t.test(a, b, paired = TRUE, conf.level = confidence)
  limits <- mean(d) + c(-1, 1) * 1.96 * sd(d)
  half <- qt(1 - (1 - confidence) / 2, n - 1) * sd(d) *
    sqrt(1 / n + 1.96^2 / (2 * (n - 1)))
  show("mean sd", c(mean(d), sd(d)))
  show("lo hi", limits)
  show("mean_ci", k$conf.int)
  show("lo_ci", limits[1] + c(-1, 1) * half)
  show("hi_ci", limits[2] + c(-1, 1) * half)
  show("t df p", c(k$statistic, k$parameter, k$p.value))
}
# Invented: 12 valves by dial indicator and by blade, mm.
dial <- c(0.213, 0.305, 0.287, 0.241, 0.336, 0.298, 0.254, 0.312, 0.229, 0.271, 0.344, 0.262)
blade <- c(0.22, 0.3, 0.3, 0.25, 0.33, 0.31, 0.26, 0.32, 0.24, 0.27, 0.36, 0.26)
cat("gauges\n")
agree(dial, blade, 0.95)
agree(dial, blade, 0.99)
# Bland & Altman (1986), peak flow by two meters, l/min.
large <- c(494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
mini <- c(512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)
cat("peak flow\n")
agree(large, mini, 0.95)

# JCGM 100:2008 H.1, nm.
u <- c(25, 5.8, 3.9, 6.7, 2.9, 16.6)
df <- c(18, 24, 5, 8, 50, 2)
uc <- sqrt(sum(u^2))
v <- uc^4 / sum(u^4 / df)
cat("H.1\n")
show("u df", c(uc, v))
show("k U 99", c(qt(0.995, floor(v)), qt(0.995, floor(v)) * uc))
show("k U 95", c(qt(0.975, floor(v)), qt(0.975, floor(v)) * uc))
show("normal 95 99", qnorm(c(0.975, 0.995)))
