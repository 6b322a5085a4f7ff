//! Tubes that are odd among their mates.

use crate::numerics::{median, nth_smallest};

/// Chance that a sound lot has any tube called odd: one lot in a hundred.
pub const CHANCE: f64 = 0.01;

/// A value among its mates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Its distance from the others' median, in the compared quantity.
    pub apart: f64,
    /// The distance from which on it would be odd.
    pub limit: f64,
}

impl Standing {
    /// Whether it is odd.
    pub fn is_odd(&self) -> bool {
        self.apart.abs() > self.limit
    }
}

/// Where each value stands. Their robust spread is the
/// yardstick, as well as so few can know it; and so is what is usual between sound tubes,
/// which speaks where there are few mates. `None` where there is no value or where it has
/// fewer than [`FEWEST`] mates.
pub fn standings(values: &[Option<f64>], least: f64, usual: f64, tests: usize) -> Vec<Option<Standing>> {
    let count = values.iter().flatten().count();
    let mates = count.saturating_sub(1);
    if mates < FEWEST {
        return vec![None; values.len()];
    }
    let (own, known) = (limit(tests, mates), limit(tests, MANY));
    let mut all: Vec<f64> = values.iter().flatten().copied().collect();
    let spread = spread(&all).max(least);
    let middle = median(&mut all);
    let limit = (own * spread).min(known * spread.max(usual));
    values.iter().map(|v| v.map(|v| Standing { apart: v - middle, limit })).collect()
}

/// Standard deviation that up to half of the values cannot spoil: Rousseeuw and Croux's Qn,
/// the lower quarter of the distances between pairs, with its corrections for few values
/// (J. Am. Stat. Assoc. 88 (1993) 1273; the corrections are those of their software).
fn spread(values: &[f64]) -> f64 {
    const NORMAL: f64 = 2.2219;
    let n = values.len();
    let mut apart: Vec<f64> =
        (0..n).flat_map(|i| (0..i).map(move |j| (i, j))).map(|(i, j)| (values[i] - values[j]).abs()).collect();
    let half = n / 2 + 1;
    let rank = half * (half - 1) / 2;
    if apart.is_empty() || rank == 0 {
        return 0.0;
    }
    let at = nth_smallest(&mut apart, rank - 1);
    let few = n as f64 / (n as f64 + if n % 2 == 1 { 1.4 } else { 3.8 });
    NORMAL * few * at
}

/// Mates with which Student's distribution is the normal one, to a few per cent of the
/// limit; more change nothing.
const MANY: usize = 200;

/// Fewest mates by which a tube is judged: a lot of five.
pub const FEWEST: usize = 4;

/// Distance from which on a tube is odd: what one of `tests` comparisons reaches with
/// probability [`CHANCE`], Student's distribution standing in for a [`spread`] of `mates`
/// values, which is worth 82 % of as many (its efficiency, same paper).
pub fn limit(tests: usize, mates: usize) -> f64 {
    const WORTH: f64 = 0.82;
    let freedom = (WORTH * mates.min(MANY) as f64).max(1.0);
    let wanted = CHANCE / tests.max(1) as f64;
    // Bisection in the logarithm: the distribution falls all the way.
    let (mut low, mut high) = (0.0_f64, 35.0_f64);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if beyond(libm::exp(middle), freedom) > wanted { low = middle } else { high = middle }
    }
    libm::exp(high)
}

/// Probability that Student's t lies beyond ±`t`: the integral of cosⁿ⁻¹ over the angle
/// whose tangent is t/√n, by Simpson's rule on a scale that follows its fall.
fn beyond(t: f64, freedom: f64) -> f64 {
    const STEPS: usize = 400;
    let from = libm::atan(t / freedom.sqrt());
    let end = std::f64::consts::FRAC_PI_2;
    let normal = libm::exp(
        libm::lgamma(0.5 * (freedom + 1.0)) - libm::lgamma(0.5 * freedom) - 0.5 * libm::log(std::f64::consts::PI),
    );
    // x = π/2 − angle = u³ puts the points where a power of the sine needs them.
    let width = libm::cbrt(end - from) / STEPS as f64;
    let value = |k: usize| {
        let u = k as f64 * width;
        let sine = libm::sin(u * u * u);
        if sine <= 0.0 { 0.0 } else { libm::exp((freedom - 1.0) * libm::log(sine)) * 3.0 * u * u }
    };
    let inner: f64 = (1..STEPS).map(|k| if k % 2 == 1 { 4.0 } else { 2.0 } * value(k)).sum();
    (2.0 * normal * width / 3.0 * (value(0) + inner + value(STEPS))).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn students_distribution_is_scipys() {
        // scipy 1.17: 2*scipy.stats.t.sf(t, n).
        for (t, n, p) in [
            (2.0, 1.5, 0.224_188_3),
            (2.0, 4.0, 0.116_116_5),
            (5.0, 10.0, 5.373_334e-4),
            (4.0, 60.0, 1.763_224e-4),
            (4.0, 164.0, 9.564_838e-5),
        ] {
            assert!((beyond(t, n) / p - 1.0).abs() < 2e-3, "{t} {n}: {}", beyond(t, n));
        }
    }

    #[test]
    fn one_far_value_is_odd_and_the_rest_are_not() {
        let mut values: Vec<Option<f64>> = (0..12).map(|i| Some(f64::from(i % 4))).collect();
        values[7] = Some(60.0);
        values[3] = None;
        let standings = standings(&values, 0.1, 10.0, 12);
        assert!(standings[7].unwrap().is_odd() && standings[3].is_none());
        assert!(standings.iter().enumerate().all(|(i, s)| i == 7 || s.is_none_or(|s| !s.is_odd())));
    }

    #[test]
    fn identical_values_are_never_odd() {
        assert!(standings(&[Some(1.0); 9], 0.01, 0.1, 9).iter().all(|s| s.unwrap().apart == 0.0));
    }

    #[test]
    fn in_a_lot_of_five_the_usual_spread_speaks() {
        // Four within a few per cent, one 60 % lower: its mates alone could not tell.
        let values = [0.0, 0.03, -0.02, 0.05, -0.9].map(Some);
        let odd: Vec<bool> = standings(&values, 0.005, 0.11, 40).iter().map(|s| s.unwrap().is_odd()).collect();
        assert_eq!(odd, [false, false, false, false, true]);
        assert!(standings(&values[..4], 0.005, 0.11, 40).iter().all(Option::is_none));
    }
}
