//! Seeded chance: the same seed gives the same numbers everywhere.

use rand_core::{RngCore, SeedableRng};
use rand_pcg::Pcg64;

use super::maths;

/// A stream of random numbers (PCG XSL RR 128/64: O'Neill, HMC-CS-2014-0905).
#[derive(Debug, Clone)]
pub struct Dice(Pcg64);

impl Dice {
    /// A stream of its own for each pair of `seed` and `purpose`.
    pub fn new(seed: u64, purpose: &str) -> Self {
        // FNV-1a of the purpose, then the finaliser of splitmix64 (Steele, Lea & Flood,
        // OOPSLA 2014), so that neighbouring seeds and purposes start far apart.
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        for byte in purpose.bytes() {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
        let mut state = scattered(seed) ^ hash;
        let mut bytes = [0; 32];
        for chunk in bytes.chunks_exact_mut(8) {
            state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
            chunk.copy_from_slice(&scattered(state).to_le_bytes());
        }
        Self(Pcg64::from_seed(bytes))
    }

    /// Evenly from 0 to below 1.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly from `low` to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Evenly in the logarithm from `low` to `high`, both positive.
    pub fn ratio(&mut self, low: f64, high: f64) -> f64 {
        maths::exp(self.between(maths::ln(low), maths::ln(high)))
    }

    /// Whether something of probability `p` happens.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// A whole number from 0 to below `n`; 0 for `n` = 0.
    pub fn below(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// One of several; `None` of none.
    pub fn one<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        of.get(self.below(of.len()))
    }

    /// A standard normal deviate (Box & Muller, Ann. Math. Stat. 29 (1958) 610).
    pub fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * maths::ln(1.0 - self.unit()));
        radius * libm::cos(std::f64::consts::TAU * self.unit())
    }

    /// A normal deviate that stays within `most` standard deviations.
    pub fn normal_within(&mut self, most: f64) -> f64 {
        loop {
            let z = self.normal();
            if z.abs() <= most {
                return z;
            }
        }
    }

    /// A seed for something smaller.
    pub fn seed(&mut self) -> u64 {
        self.0.next_u64()
    }
}

/// The finaliser of splitmix64.
fn scattered(mut x: u64) -> u64 {
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_and_purpose_give_the_same_numbers_and_others_do_not() {
        let draw = |seed, purpose| Dice::new(seed, purpose).seed();
        assert_eq!(draw(7, "noise"), draw(7, "noise"));
        assert_ne!(draw(7, "noise"), draw(8, "noise"));
        assert_ne!(draw(7, "noise"), draw(7, "spread"));
    }

    #[test]
    fn first_draws_of_neighbouring_purposes_are_even() {
        let mut counts = [0_i32; 16];
        for i in 0..1600 {
            counts[Dice::new(3, &format!("tube {i}")).below(16)] += 1;
        }
        // χ² of 15 degrees of freedom is below 37.7 in 999 of 1000 cases.
        let chi2: f64 = counts.iter().map(|c| f64::from((c - 100).pow(2)) / 100.0).sum();
        assert!(chi2 < 37.7, "{chi2}");
    }

    #[test]
    fn normal_deviates_have_mean_0_and_variance_1() {
        let mut dice = Dice::new(1, "test");
        let n = 100_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..n {
            let z = dice.normal();
            sum += z;
            squares += z * z;
        }
        // Four standard errors: 4/√n and 4·√(2/n).
        assert!((sum / f64::from(n)).abs() < 0.0127);
        assert!((squares / f64::from(n) - 1.0).abs() < 0.018);
    }
}
