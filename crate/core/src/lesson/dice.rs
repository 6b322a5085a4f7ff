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
        let mut bytes = [0; 32];
        bytes[..8].copy_from_slice(&seed.to_le_bytes());
        // FNV-1a of the purpose: any fixed spreading of the letters would do.
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        for byte in purpose.bytes() {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
        bytes[8..16].copy_from_slice(&hash.to_le_bytes());
        let mut pcg = Pcg64::from_seed(bytes);
        // Neighbouring seeds start close together; a few rounds part them.
        for _ in 0..4 {
            pcg.next_u64();
        }
        Self(pcg)
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
