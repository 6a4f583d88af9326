//! Figures that tests hold the power computations to. R 4.2.2: `pt(t, df, ncp, lower.tail = FALSE)`;
//! `power.t.test(n, delta, sd = 1, type = "paired")$power`; `power.t.test(n, power = 0.8, sd = 1,
//! type = "paired", tol = 1e-12)$delta`, also with `alternative = "one.sided"`; `power.t.test(n,
//! delta, sd = 1)$power`; and for randomised blocks `uniroot(function(d) pt(qt(0.975, df), df,
//! d / sqrt(2 / b), lower.tail = FALSE) - 0.8, c(0.01, 30), tol = 1e-12)` with df = (b - 1)(t - 1).

/// t, degrees of freedom, shift, tail above.
pub(super) const TAILS: &[(f64, f64, f64, f64)] = &[
    (2.571, 5.0, 0.0, 0.024987317342),
    (2.571, 5.0, 3.0, 0.672053261790),
    (12.706, 1.0, 16.0, 0.790653941516),
    (2.228, 10.0, 1.5, 0.273637993471),
    (2.048, 28.0, 4.0, 0.971273125272),
    (1.96, 1000.0, 2.8, 0.799457258706),
    (4.303, 2.0, 6.0, 0.835694828661),
    (3.0, 7.0, 12.0, 0.999999999992),
    (2.1, 18.0, 0.2, 0.038400845557),
];

/// Pairs, difference in standard deviations of a difference, power.
pub(super) const PAIRED_POWER: &[(usize, f64, f64)] = &[
    (2, 0.5, 0.053095857),
    (2, 1.0, 0.090579719),
    (2, 2.0, 0.175664004),
    (3, 0.5, 0.078931477),
    (3, 1.0, 0.178610055),
    (3, 2.0, 0.470747706),
    (4, 0.5, 0.108083237),
    (4, 1.0, 0.288548667),
    (4, 2.0, 0.754983840),
    (6, 0.5, 0.169323863),
    (6, 1.0, 0.506816681),
    (6, 2.0, 0.970503569),
    (8, 0.5, 0.231407380),
    (8, 1.0, 0.680830150),
    (8, 2.0, 0.997601675),
    (12, 0.5, 0.352635743),
    (12, 1.0, 0.882891518),
    (12, 2.0, 0.999990910),
    (30, 0.5, 0.753962725),
    (30, 1.0, 0.999563601),
    (30, 2.0, 1.000000000),
];

/// Pairs, smallest difference two-sided, one-sided.
pub(super) const PAIRED_DELTA: &[(usize, f64, f64)] = &[
    (2, 11.549888436, 5.792801492),
    (3, 3.264043550, 2.297274767),
    (4, 2.127949410, 1.649724575),
    (6, 1.434545344, 1.185790582),
    (8, 1.156035494, 0.978156086),
    (12, 0.888655145, 0.766404574),
    (30, 0.529236245, 0.464945468),
];

/// Strips of each of two treatments, difference in standard deviations of a strip, power.
pub(super) const TWO_SAMPLE_POWER: &[(usize, f64, f64)] = &[
    (3, 0.5, 0.069768293),
    (3, 1.0, 0.157236103),
    (3, 2.0, 0.462608129),
    (6, 0.5, 0.120123109),
    (6, 1.0, 0.347156485),
    (6, 2.0, 0.876417637),
    (12, 0.5, 0.215279550),
    (12, 1.0, 0.648634351),
    (12, 2.0, 0.996694799),
];

/// Treatments, blocks, smallest difference in standard deviations of a strip.
pub(super) const BLOCKS_DELTA: &[(usize, usize, f64)] = &[
    (3, 2, 5.653489266),
    (3, 4, 2.380755568),
    (3, 6, 1.795542618),
    (4, 2, 4.255898821),
    (4, 4, 2.227128746),
    (4, 6, 1.730818662),
    (6, 2, 3.513904106),
    (6, 4, 2.119811280),
    (6, 6, 1.683055444),
];
