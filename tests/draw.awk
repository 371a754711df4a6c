# For awk -f in front of a program that sets `seed`: numbers and words drawn by lot.
function below(n) { # a linear congruential generator: the same in every awk
    seed = (seed * 69069 + 1) % 4294967296
    return int(seed / 65536) % n
}
function pick(words,    w, n) { # of words between blanks; - is a blank cell
    n = split(words, w, " ")
    n = w[1 + below(n)]
    return n == "-" ? "" : n
}
