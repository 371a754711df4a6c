# Expected numbers of tests/state_test.c. Run: Rscript tests/r/state.R
# Rates by lm. What is borrowed is one more observation in the regression: the slope is mu,
# with the variance tau2 + var(mu); mu and tau2 from the others, by DerSimonian and Laird
# (1986) in their own formulas. Levels and their variances from the normal equations.
valve <- function(id, ..., meter = NULL, interval = NULL, u = NA) {
  y <- c(...)
  if (is.null(meter)) meter <- 100 * (seq_along(y) - 1)
  if (is.null(interval)) interval <- rep(0, length(y))
  data.frame(id, meter, lash = y, interval, u = rep_len(u, length(y)))
}
base <- rbind(
  valve("1", 0.40, 0.385, 0.372, 0.361, 0.40, 0.388,
    meter = c(0, 100, 200, 300, 300, 400), interval = c(0, 0, 0, 0, 1, 1)),
  valve("2", 0.40, 0.391, 0.374, 0.369, 0.350),
  valve("3", 0.40, 0.379, 0.365, 0.342, 0.327),
  valve("4", 0.40, 0.388, 0.381, 0.366, 0.361),
  valve("5", 0.40, 0.383, 0.359, 0.350, 0.329))

weight <- function(d) ifelse(is.na(d$u), 1, (0.01 / d$u)^2)
design <- function(d) {
  j <- sort(unique(d$interval))
  cbind(outer(d$interval, j, "==") + 0, d$meter)
}
own <- function(d) {
  k <- list(n = nrow(d), sse = 0, df = nrow(d) - length(unique(d$interval)) - 1)
  if (nrow(d) <= length(unique(d$interval))) return(c(k, rate = NA, v = NA))
  fit <- lm(d$lash ~ 0 + design(d), weights = weight(d))
  last <- length(coef(fit))
  if (k$df > 0) k$sse <- deviance(fit)
  c(k, rate = unname(coef(fit)[last]), v = chol2inv(qr.R(qr(fit)))[last, last])
}
dl <- function(r, v) {
  w <- 1 / v
  q <- sum(w * (r - weighted.mean(r, w))^2)
  t2 <- max(0, (q - (length(r) - 1)) / (sum(w) - sum(w^2) / sum(w)))
  if (length(r) == 1) t2 <- 0
  list(mu = weighted.mean(r, 1 / (v + t2)), prior = t2 + 1 / sum(1 / (v + t2)), tau2 = t2)
}
# The line of d with the family's help: coefficients and their covariance.
with_help <- function(d, fam, s2) {
  x <- rbind(design(d), 0)
  x[nrow(x), ncol(x)] <- 1
  w <- c(weight(d) / s2, 1 / fam$prior)
  v <- solve(t(x) %*% (w * x))
  list(b = v %*% t(x) %*% (w * c(d$lash, fam$mu)), v = v)
}
show <- function(name, ...) cat(sprintf("  %-12s", name), sprintf("%.15g", c(...)), "\n")

# Everything about one valve among all.
state <- function(title, all, id, floor = 0, near = NULL, last = NULL) {
  cat(title, "\n")
  f <- lapply(split(all, all$id), own)
  df <- sum(sapply(f, `[[`, "df")[sapply(f, `[[`, "df") > 0])
  s2 <- max(sum(sapply(f, `[[`, "sse")) / df, floor^2)
  r <- sapply(f, `[[`, "rate")
  v <- sapply(f, `[[`, "v") * s2
  d <- all[all$id == id, ]
  rest <- names(r) != id & !is.na(r)
  show("s2 df", s2, df)
  show("own se", r[id], sqrt(v[id]))
  if (!any(rest)) return(invisible())
  fam <- dl(r[rest], v[rest])
  show("mu tau2", fam$mu, fam$tau2)
  show("z", (r[id] - fam$mu) / sqrt(v[id] + fam$prior))
  h <- with_help(d, fam, s2)
  k <- nrow(h$v)
  show("est se", h$b[k], sqrt(h$v[k, k]))
  step <- function(m) { # the newest m
    b <- d[seq_len(max(0, nrow(d) - m)), ]
    if (nrow(b) == 0 || tail(b$interval, 1) != tail(d$interval, 1)) return()
    new <- tail(d, m)
    f[[id]] <- own(b) # the scatter without what is tested
    df <- sum(pmax(0, sapply(f, `[[`, "df")))
    s2 <- max(sum(sapply(f, `[[`, "sse")) / df, floor^2)
    h <- with_help(b, fam, s2)
    x <- c((sort(unique(b$interval)) == tail(b$interval, 1)) + 0, mean(new$meter))
    off <- mean(new$lash) - sum(x * h$b)
    sd <- sqrt(c(t(x) %*% h$v %*% x) + s2 * mean(1 / weight(new)) / m)
    show(paste("step", m), off, sd, 2 * pt(-abs(off / sd), df))
  }
  step(1)
  step(2)
  show("band", qt(0.95, df) * sqrt(s2 / weight(tail(d, 1))))
  if (!is.null(near)) {
    n <- dl(r[near], v[near])
    show("neighbours", (r[id] - n$mu) / sqrt(v[id] + n$prior))
  }
  if (!is.null(last)) show("vs last", r[id] - r[last], sqrt(v[id] + v[last]))
}

# Recursive residuals and where the CUSUM of them ends.
slow <- function(all, id) {
  f <- lapply(split(all, all$id), own)
  s2 <- sum(sapply(f, `[[`, "sse")) / sum(sapply(f, `[[`, "df"))
  d <- all[all$id == id, ]
  q <- sapply(3:nrow(d), function(i) {
    p <- predict(lm(lash ~ meter, d[seq_len(i - 1), ]), d[i, ], se.fit = TRUE)
    k <- solve(crossprod(cbind(1, d$meter[seq_len(i - 1)])))
    x <- c(1, d$meter[i])
    (d$lash[i] - p$fit) / sqrt(1 + c(t(x) %*% k %*% x))
  })
  sums <- function(z) Reduce(function(s, x) max(0, s + x - 0.5), z, 0, accumulate = TRUE)
  cat("slow\n")
  show("q", q)
  show("lo", tail(sums(-q / sqrt(s2)), 1))
  show("hi", tail(sums(q / sqrt(s2)), 1))
}

cat("#", R.version.string, "\n")
state("two readings", rbind(base, valve("x", 0.40, 0.37)), "x")
state("one reading", rbind(base, valve("x", 0.40)), "x")
state("alone", base[base$id == "1", ], "1")
state("one other", base[base$id %in% c("1", "3"), ], "1")
state("far out", rbind(base, valve("x", 0.40, 0.3684)), "x")
state("just not", rbind(base, valve("x", 0.40, 0.3694)), "x")
state("newest", rbind(base, valve("x", 0.40, 0.39, 0.37, 0.30)), "x")
state("newest in 2", rbind(base, valve("x", 0.40, 0.385, 0.371, 0.40, 0.386, 0.34,
  meter = c(0, 100, 200, 200, 300, 400), interval = c(0, 0, 0, 1, 1, 1))), "x")
state("two together", rbind(base, valve("x", 0.40, 0.385, 0.372, 0.337, 0.3175)), "x")
state("newest first", rbind(base, valve("x", 0.40, 0.385, 0.372, 0.33, 0.20)), "x")
state("weights", rbind(base, valve("x", 0.40, 0.385, 0.372, 0.350,
  u = c(NA, 0.02, 0.005, 0.008))), "x")
state("wears less", rbind(base, valve("x", 0.40, 0.399, 0.398, 0.396, 0.395, 0.394, 0.393,
  0.392, 0.3905)), "x", near = as.character(1:5))
state("neighbours", rbind(base, valve("x", 0.40, 0.35, 0.31, 0.26, 0.22),
  valve("y", 0.40, 0.37, 0.34), valve("z", 0.40, 0.36, 0.325)), "x",
  near = as.character(1:5))
state("last build", rbind(base, valve("a", 0.40, 0.391, 0.378),
  valve("b", 0.40, 0.375, 0.345, meter = c(200, 300, 400))), "b", last = "a")
slow(rbind(base, valve("x", 0.40, 0.386, 0.377, 0.364, 0.352, 0.337, 0.323, 0.306, 0.290,
  0.270, 0.249)), "x")
for (y in c(0.370, 0.369)) {
  k <- summary(lm(y ~ m, data.frame(y = c(0.40, 0.39, 0.388, y), m = 100 * 0:3)))
  cat("way", y, sprintf("%.15g", c(coef(k)[2, 1:3], qt(0.975, 2))), "\n")
}
quiet <- do.call(rbind, lapply(1:4, function(i)
  valve(as.character(i), c(0.40, 0.386 + i / 1000, 0.37, 0.356), u = c(0.02, 0.02, 0.02, NA))))
state("floor", quiet, "1", floor = 0.01)
state("no floor", transform(quiet, u = ifelse(meter > 100, NA, u)), "1")
