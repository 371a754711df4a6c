# Expected numbers of tests/powerlaw_test.c. Run from the root: Rscript tests/r/powerlaw.R
# The Poisson likelihood with a rate that is a power of age, maximised over both parameters by
# general-purpose optimisers; variances from a numerical Hessian, and, between engines, from
# numerical scores.
fit <- function(w, r) {
  # engine's term of the log likelihood; w: engine, from, to; r: watch, age, count
  term <- function(p, e) {
    b <- exp(p[1])
    s <- exp(p[2])
    i <- which(w$engine == e)
    j <- which(r$watch %in% i)
    sum(r$count[j] * (log(b) - b * log(s) + (b - 1) * log(r$age[j]))) -
      sum((w$to[i] / s)^b - (w$from[i] / s)^b)
  }
  engines <- unique(w$engine)
  ll <- function(p) sum(sapply(engines, function(e) term(p, e)))
  o <- list(par = c(0, log(mean(w$to))))
  for (i in 1:8)
    o <- optim(o$par, ll, control = list(fnscale = -1, reltol = 1e-16, maxit = 5000))
  # five-point derivatives
  d1 <- function(f, p, i, h = 1e-3) {
    at <- function(k) f(replace(p, i, p[i] + k * h))
    (at(-2) - 8 * at(-1) + 8 * at(1) - at(2)) / (12 * h)
  }
  for (i in 1:8) { # Newton's steps with those: the optimiser stops at eight digits
    g <- sapply(1:2, function(i) d1(ll, o$par, i))
    H <- sapply(1:2, function(i) sapply(1:2, function(j)
      d1(function(p) d1(ll, p, j), o$par, i)))
    o$par <- o$par - solve(H, g)
  }
  v <- solve(-H)
  u <- sapply(engines, function(e) sapply(1:2, function(i) d1(function(p) term(p, e), o$par, i)))
  robust <- v %*% (u %*% t(u)) %*% v
  n <- rep(r$count, 1)
  from <- w$from[r$watch]
  to <- w$to[r$watch]
  laplace <- sum(n * (r$age - (from + to) / 2)) / sqrt(sum(n * (to - from)^2 / 12))
  chi2 <- 2 * sum(n * log((to - from) / (r$age - from)))
  p <- pchisq(chi2, 2 * sum(n))
  c(exp(o$par), v[1, 1], v[2, 2], robust[1, 1], laplace, 2 * pnorm(-abs(laplace)), chi2,
    2 * min(p, 1 - p))
}

d <- read.csv("fixtures/reference/valveseat_data.csv")
end <- d[d$status == 0, ]
seat <- d[d$status == 1, ]
cases <- list(
  # NIST/SEMATECH e-Handbook 8.2.3.4: one system, 1500 h
  nist = list(w = data.frame(engine = 1, from = 0, to = 1500),
    r = data.frame(watch = 1, count = 1,
      age = c(5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478))),
  # 41 diesel engines
  seats = list(w = data.frame(engine = seq_len(nrow(end)), from = 0, to = end$time),
    r = data.frame(watch = match(seat$id, end$id), age = seat$time, count = 1)),
  # engines that came late; the second was built anew at 2000
  late = list(w = data.frame(engine = c(1, 2, 2, 3, 4), from = c(9000, 500, 0, 4000, 0),
      to = c(12000, 2000, 1600, 9500, 3000)),
    r = data.frame(watch = c(1, 1, 1, 4, 4, 4, 4, 2, 3, 5),
      age = c(9500, 11000, 11800, 5200, 7000, 7100, 9500, 1900, 1200, 2900),
      count = c(1, 2, 1, 1, 1, 3, 1, 1, 1, 1))))
cat("#", R.version.string, "\n")
for (name in names(cases))
  cat(sprintf("{\"%s\", %s},\n", name,
              paste(sprintf("%.10g", fit(cases[[name]]$w, cases[[name]]$r)), collapse = ", ")))
