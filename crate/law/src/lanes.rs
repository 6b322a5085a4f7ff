//! Four points side by side, on which the law is computed at once.
//!
//! The same operations in the same order on every machine and in the browser: the results
//! agree to the last digit. Only a build for a processor with fused multiplication, which
//! nobody ships, would differ in it.

use wide::bytemuck::cast;
use wide::{f64x4, u64x4};

/// One quantity at four points.
pub(crate) type Lanes = f64x4;
/// How many that are.
pub(crate) const WIDTH: usize = 4;

/// The same value at all of them.
pub(crate) fn all(value: f64) -> Lanes {
    Lanes::splat(value)
}

/// Values four by four; what is missing from the last four is `rest`.
pub(crate) fn packed(values: &[f64], rest: f64) -> Vec<Lanes> {
    let four = |chunk: &[f64]| {
        let mut lanes = [rest; WIDTH];
        lanes[..chunk.len()].copy_from_slice(chunk);
        Lanes::new(lanes)
    };
    values.chunks(WIDTH).map(four).collect()
}

/// Sum of the products of two lists of the same length.
pub(crate) fn dot(a: &[Lanes], b: &[Lanes]) -> f64 {
    let mut sum = Lanes::ZERO;
    for (a, b) in a.iter().zip(b) {
        sum += *a * *b;
    }
    sum.reduce_add()
}

// The functions below are those of `wide` without what it does for arguments that cannot occur
// here (infinities, what is not a number, results below the least full double): a fit
// is one and a half times as quick for it, measured.

/// e⁷⁰⁰ and its reciprocal are doubles of full precision; e⁷¹⁰ is none any more.
const MOST_EXPONENT: f64 = 700.0;

/// eˣ, x taken to lie within ±700: beyond, currents are as good as nought or not to be had.
#[inline(always)]
pub(crate) fn exp(x: Lanes) -> Lanes {
    /// Added to a number below 2⁵⁰ it leaves the nearest integer in the lowest bits.
    const TO_INTEGER: f64 = 6_755_399_441_055_744.0;
    let x = x.fast_max(all(-MOST_EXPONENT)).fast_min(all(MOST_EXPONENT));
    let shifted = x.mul_add(all(std::f64::consts::LOG2_E), all(TO_INTEGER));
    let n = shifted - all(TO_INTEGER);
    let r = n.mul_neg_add(all(LN_2.1), n.mul_neg_add(all(LN_2.0), x));
    // Taylor's series to r¹²: the rest is 2·10⁻¹⁶ at |r| = ln 2 / 2.
    let (r2, c) = (r * r, |a: f64, b: f64| r.mul_add(all(b), all(a)));
    let (r4, r8) = (r2 * r2, r2 * r2 * (r2 * r2));
    let low = r2.mul_add(c(0.5, 1.0 / 6.0), c(1.0, 1.0));
    let middle = r2.mul_add(c(1.0 / 720.0, 1.0 / 5040.0), c(1.0 / 24.0, 1.0 / 120.0));
    let high = r2.mul_add(c(1.0 / 3_628_800.0, 1.0 / 39_916_800.0), c(1.0 / 40_320.0, 1.0 / 362_880.0));
    let high = r4.mul_add(all(1.0 / 479_001_600.0), high);
    let series = r8.mul_add(high, r4.mul_add(middle, low));
    let bits: u64x4 = cast::<Lanes, u64x4>(series) + (cast::<Lanes, u64x4>(shifted) << 52);
    cast(bits)
}

/// ln x for normal positive numbers: 2ᵏ·(1 + f), with f between √½ − 1 and √2 − 1.
#[inline(always)]
pub(crate) fn ln(x: Lanes) -> Lanes {
    let (k, f) = taken_apart(x);
    ln_of_parts(k, f, Lanes::ZERO)
}

/// ln(1 + x) for x from 0 to 2⁵⁰, to the last digits also where x is lost beside 1.
#[inline(always)]
pub(crate) fn ln_1p(x: Lanes) -> Lanes {
    let u = all(1.0) + x;
    let (k, f) = taken_apart(u);
    // What the sum has lost of x, or of 1.
    let lost = x.simd_lt(all(1.0)).select(x - (u - all(1.0)), all(1.0) - (u - x));
    ln_of_parts(k, f, lost / u)
}

/// ln(1 + x) and 1/(1 + x) for x from 0 to 1, to the last digits.
#[inline(always)]
pub(crate) fn ln_1p_of_share(x: Lanes) -> (Lanes, Lanes) {
    let u = all(1.0) + x;
    let per_u = all(1.0) / u;
    let (k, f) = taken_apart(u);
    (ln_of_parts(k, f, (x - (u - all(1.0))) * per_u), per_u)
}

/// ln 2 in two parts; the first has zeros at its end, so that its multiples are exact.
const LN_2: (f64, f64) = (6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10);

#[inline(always)]
fn taken_apart(x: Lanes) -> (Lanes, Lanes) {
    /// Bits of √½ and of 1, and of the number whose lowest bits count.
    const HALF_ROOT: u64 = 0x3fe6_a09e_667f_3bcd;
    const ONE: u64 = 0x3ff0_0000_0000_0000;
    const COUNTER: u64 = 0x4330_0000_0000_0000;
    let bits: u64x4 = cast(x);
    let k = (bits + u64x4::splat(ONE - HALF_ROOT)) >> 52;
    let count: Lanes = cast(k | u64x4::splat(COUNTER));
    let mantissa: Lanes = cast(bits - (k << 52) + u64x4::splat(ONE));
    (count - all(4_503_599_627_370_496.0 + 1023.0), mantissa - all(1.0))
}

/// ln(1 + f) as a series in s = f/(2 + f), its coefficients those of the C library of BSD
/// (e_log.c, Sun Microsystems 1993).
#[inline(always)]
fn ln_of_parts(k: Lanes, f: Lanes, lost: Lanes) -> Lanes {
    let s = f / (all(2.0) + f);
    let z = s * s;
    let w = z * z;
    let odd = w.mul_add(all(1.479_819_860_511_658_6e-1), all(1.818_357_216_161_805e-1));
    let odd = w.mul_add(w.mul_add(odd, all(2.857_142_874_366_239e-1)), all(6.666_666_666_666_735e-1));
    let even = w.mul_add(all(1.531_383_769_920_937_3e-1), all(2.222_219_843_214_978_4e-1));
    let even = w.mul_add(even, all(3.999_999_999_940_942e-1));
    let rest = w.mul_add(even, z * odd);
    let half = all(0.5) * f * f;
    let low = s.mul_add(half + rest, k.mul_add(all(LN_2.1), lost));
    k.mul_add(all(LN_2.0), f - (half - low))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_functions_are_those_of_libm(x in -700.0..700.0f64, small in -690.0..30.0f64) {
            let first = |lanes: Lanes| lanes.to_array()[0];
            let near = |a: f64, b: f64| (a - b).abs() <= 1e-15 * b.abs();
            prop_assert!(near(first(exp(all(x))), libm::exp(x)));
            prop_assert_eq!(first(exp(all(100.0 * x))), first(exp(all((100.0 * x).clamp(-700.0, 700.0)))));
            let e = libm::exp(small);
            prop_assert!((first(ln(all(e))) - small).abs() <= 4e-16 * small.abs().max(1.0));
            prop_assert!(near(first(ln_1p(all(e))), libm::log1p(e)));
            let share = e.min(1.0);
            let (ln_1p, reciprocal) = ln_1p_of_share(all(share));
            prop_assert!(near(first(ln_1p), libm::log1p(share)) && near(first(reciprocal), 1.0 / (1.0 + share)));
        }
    }

    #[test]
    fn what_is_missing_from_the_last_four_counts_nothing() {
        let (a, b) = (packed(&[1.0, 2.0, 3.0, 4.0, 5.0], 0.0), packed(&[1.0; 5], 0.0));
        assert_eq!((a.len(), dot(&a, &b)), (2, 15.0));
    }
}
