# Expected numbers of tests/cam_pool_test.c and tests/cam_fit_test.c.
# Run: Rscript tests/r/timing.R
# Shifts that share errors of TDC: every determination is a column of J, -1 where a shift's
# first reading rests on it and +1 where its second does, so
#     V = diag(own^2) + J diag(u^2) J'
# and the mean is generalised least squares by solve(). The odd one: t of a mean-shift
# outlier term for each valve in turn. All numbers are invented.
show <- function(name, x) cat(sprintf("  %-8s", name), sprintf("%.15g,", x), "\n")
covariance <- function(d, all = d) {
  own <- diag(all$own^2 + ifelse(all$t1 == 0, all$u1^2, 0) + ifelse(all$t2 == 0, all$u2^2, 0),
              nrow(all))
  id <- setdiff(c(all$t1, all$t2), 0)
  if (length(id) == 0) return(own)
  u <- sapply(id, function(k) c(all$u1[all$t1 == k], all$u2[all$t2 == k])[1])
  J <- outer(all$t2, id, "==") - outer(all$t1, id, "==")
  own + J %*% diag(u^2, length(u)) %*% t(J)
}
gls <- function(y, V, X = matrix(1, length(y))) {
  P <- solve(V)
  C <- solve(t(X) %*% P %*% X)
  b <- C %*% t(X) %*% P %*% y
  r <- y - X %*% b
  list(b = b, C = C, chi2 = drop(t(r) %*% P %*% r), w = drop(C %*% t(X) %*% P))
}
pooled <- function(name, d) {
  V <- covariance(d); g <- gls(d$y, V); n <- nrow(d)
  cat(name, "\n")
  show("weights", g$w)
  show("mean, u", c(g$b, sqrt(g$C)))
  show("chi2, p", c(g$chi2, pchisq(g$chi2, n - 1, lower.tail = FALSE)))
  if (n > 2) show("|t|", sapply(seq_len(n), function(i) {
    o <- gls(d$y, V, cbind(1, seq_len(n) == i)); abs(o$b[2]) / sqrt(o$C[2, 2])
  }))
}
cat("#", R.version.string, "\n")
cylinders <- data.frame(y = c(1.2, 1.5, 0.4, 0.9), own = c(0.3, 0.2, 0.25, 0.4),
  t1 = c(11, 11, 12, 12), t2 = c(21, 21, 22, 22), u1 = c(0.2, 0.2, 0.35, 0.35),
  u2 = c(0.15, 0.15, 0.3, 0.3))
wheel <- data.frame(y = c(-2.1, -1.7, -2.6, -1.9, -2.2), own = c(0.2, 0.2, 0.3, 0.15, 0.2),
  t1 = c(1, 1, 2, 2, 3), t2 = 9, u1 = c(0.25, 0.25, 0.25, 0.25, 0.4), u2 = 0.5)
tangled <- data.frame(y = c(0.5, -0.2, 0.9, 0.1), own = c(0.2, 0.3, 0.25, 0.2),
  t1 = c(5, 6, 7, 0), t2 = c(5, 7, 8, 0), u1 = c(0.4, 0.1, 0.3, 0.2),
  u2 = c(0.4, 0.3, 0.2, 0.1))
odd <- data.frame(y = c(0.1, -0.2, 0.15, 3.1, 0.0, 0.05), own = 0.25,
  t1 = 0, t2 = c(1, 1, 2, 2, 3, 3), u1 = 0, u2 = 1.5)
pooled("cylinders", cylinders)
pooled("wheel", wheel)
pooled("tangled", tangled)
pooled("odd", odd)
alone <- function(y, own) data.frame(y = y, own = own, t1 = 0, t2 = 0, u1 = 0, u2 = 0)
pooled("fine", alone(c(-0.23, 0.78, 0.12, 0.53), c(0.1, 0.25, 0.3, 0.2)))
pooled("coarse", alone(c(5.5, 0.18, 0, 0.05), c(1, 0.05, 0.1, 0.2)))
pooled("precise", alone(c(-3.4, -0.26, 0, 0.01), c(1, 0.05, 0.05, 0.1)))
pooled("one", cylinders[1, ])

cat("banks: wheel less other\n")
other <- data.frame(y = c(0.3, 0.6, -0.1), own = c(0.2, 0.25, 0.3), t1 = c(1, 4, 4), t2 = 9,
  u1 = c(0.25, 0.3, 0.3), u2 = 0.5)
both <- rbind(wheel, other)
V <- covariance(NULL, both)
a <- gls(wheel$y, covariance(wheel)); b <- gls(other$y, covariance(other))
w <- c(a$w, -b$w)
show("drive, u", c(a$b - b$b, sqrt(t(w) %*% V %*% w)))

cat("points of chi-squared, 1 and 2 degrees of freedom\n")
show("5 %", qchisq(0.05, 1:2, lower.tail = FALSE))
show("0.27 %", qchisq(0.0027, 1:2, lower.tail = FALSE))
