//! A pack of points side by side, on which the law is computed at once, by whatever instructions
//! the processor has.
//!
//! The same operations in the same order on every machine and in the browser: the results
//! agree to the last digit. That is why no product is fused with a sum, which some processors
//! could.

use std::ops::Range;

use fearless_simd::{Level, Simd, prelude::*};
#[cfg(target_arch = "wasm32")]
use fearless_simd::{f64x2, f64x4 as Wide, u64x4 as WideBits};
#[cfg(not(target_arch = "wasm32"))]
use fearless_simd::{f64x8 as Wide, u64x8 as WideBits};
#[cfg(target_arch = "wasm32")]
use std::arch::wasm32::{f64x2_pmax, f64x2_pmin, v128};

/// How many points that are: as many as the widest registers hold (AVX-512). Elsewhere they are in
/// two or four, and the one need not wait for the other. WebAssembly has registers for two: eight
/// points there are much code and nothing gained.
pub(crate) const WIDTH: usize = if cfg!(target_arch = "wasm32") { 4 } else { 8 };
/// Packs that go through the stages of the law together: while what comes of one is waited for,
/// the next ones are under way. Eighty points everywhere, so that sums are made in the same order.
pub(crate) const BLOCK: usize = 80 / WIDTH;
/// One quantity at a pack of points, as it is kept.
pub(crate) type Pack = [f64; WIDTH];
/// The same as it is computed with.
pub(crate) type Lanes<S> = Wide<S>;

/// What the processor has.
pub(crate) fn level() -> Level {
    Level::new()
}

/// Values pack by pack; what is missing from the last pack is `rest`.
pub(crate) fn packed(values: &[f64], rest: f64) -> Vec<Pack> {
    let (whole, left) = values.as_chunks();
    let mut packs = whole.to_vec();
    if !left.is_empty() {
        let mut last = [rest; WIDTH];
        last[..left.len()].copy_from_slice(left);
        packs.push(last);
    }
    packs
}

/// The numbers of so many packs, a block at a time.
#[inline(always)]
pub(crate) fn blocks(packs: usize) -> impl Iterator<Item = Range<usize>> {
    (0..packs).step_by(BLOCK).map(move |from| from..(from + BLOCK).min(packs))
}

/// Sum of the products of two lists of the same length.
pub(crate) fn dot(a: &[Pack], b: &[Pack]) -> f64 {
    let mut sum: Four = [0.0; 4];
    for (a, b) in fours(a).iter().zip(fours(b)) {
        for (sum, (a, b)) in sum.iter_mut().zip(a.iter().zip(b)) {
            *sum += a * b;
        }
    }
    total(sum)
}

/// Values that are added at once: four, however many points are computed at once.
pub(crate) type Four = [f64; 4];

/// The same values four by four.
#[inline(always)]
pub(crate) fn fours(packs: &[Pack]) -> &[Four] {
    packs.as_flattened().as_chunks().0
}

/// Sum of four values.
#[inline(always)]
pub(crate) fn total(four: Four) -> f64 {
    (four[0] + four[2]) + (four[1] + four[3])
}

/// The larger of each and a bound; the bound where it is not a number.
#[inline(always)]
pub(crate) fn at_least<S: Simd>(x: Lanes<S>, bound: impl SimdInto<Lanes<S>, S>) -> Lanes<S> {
    let bound: Lanes<S> = bound.simd_into(x.simd);
    #[cfg(target_arch = "wasm32")]
    let larger = halves(x, bound, |x, bound| f64x2_pmax(bound, x));
    #[cfg(not(target_arch = "wasm32"))]
    let larger = x.max(bound);
    larger
}

/// The smaller of each and a bound; the bound where it is not a number.
#[inline(always)]
pub(crate) fn at_most<S: Simd>(x: Lanes<S>, bound: impl SimdInto<Lanes<S>, S>) -> Lanes<S> {
    let bound: Lanes<S> = bound.simd_into(x.simd);
    #[cfg(target_arch = "wasm32")]
    let smaller = halves(x, bound, |x, bound| f64x2_pmin(bound, x));
    #[cfg(not(target_arch = "wasm32"))]
    let smaller = x.min(bound);
    smaller
}

/// What the processor itself has for a larger and a smaller one: WebAssembly's own `max` and `min`
/// settle more than is asked and take eight instructions each.
#[cfg(target_arch = "wasm32")]
#[inline(always)]
fn halves<S: Simd>(a: Lanes<S>, b: Lanes<S>, of: impl Fn(v128, v128) -> v128) -> Lanes<S> {
    let ((a, c), (b, d)) = (a.split(), b.split());
    let half = |a: f64x2<S>, b: f64x2<S>| -> f64x2<S> { of(a.into(), b.into()).simd_into(a.simd) };
    half(a, b).combine(half(c, d))
}

// The functions below know what their arguments can be (no infinities, nothing that is not a
// number, no results below the least full double): a fit is half as quick again for it.

/// e⁷⁰⁰ and its reciprocal are doubles of full precision; e⁷¹⁰ is none any more.
const MOST_EXPONENT: f64 = 700.0;

/// eˣ, x taken to lie within ±700: beyond, currents are as good as nought or not to be had.
#[inline(always)]
pub(crate) fn exp<S: Simd>(x: Lanes<S>) -> Lanes<S> {
    /// Added to a number below 2⁵⁰ it leaves the nearest integer in the lowest bits.
    const TO_INTEGER: f64 = 6_755_399_441_055_744.0;
    let x = at_most(at_least(x, -MOST_EXPONENT), MOST_EXPONENT);
    let shifted = x * std::f64::consts::LOG2_E + TO_INTEGER;
    let n = shifted - TO_INTEGER;
    let r = x - n * LN_2.0 - n * LN_2.1;
    // Taylor's series to r¹²: the rest is 2·10⁻¹⁶ at |r| = ln 2 / 2.
    let (r2, c) = (r * r, |a: f64, b: f64| r * b + a);
    let (r4, r8) = (r2 * r2, r2 * r2 * (r2 * r2));
    let low = r2 * c(0.5, 1.0 / 6.0) + c(1.0, 1.0);
    let middle = r2 * c(1.0 / 720.0, 1.0 / 5040.0) + c(1.0 / 24.0, 1.0 / 120.0);
    let high = r2 * c(1.0 / 3_628_800.0, 1.0 / 39_916_800.0) + c(1.0 / 40_320.0, 1.0 / 362_880.0);
    let high = r4 * (1.0 / 479_001_600.0) + high;
    let series = r8 * high + (r4 * middle + low);
    let bits: WideBits<S> = series.to_bits() + (shifted.to_bits() << 52);
    Lanes::from_bits(bits)
}

/// ln x for normal positive numbers: 2ᵏ·(1 + f), with f between √½ − 1 and √2 − 1.
#[inline(always)]
pub(crate) fn ln<S: Simd>(x: Lanes<S>) -> Lanes<S> {
    let (k, f) = taken_apart(x);
    ln_of_parts(k, f, Lanes::splat(x.simd, 0.0))
}

/// ln(1 + x) for x from 0 to 2⁵⁰, to the last digits also where x is lost beside 1.
#[inline(always)]
pub(crate) fn ln_1p<S: Simd>(x: Lanes<S>) -> Lanes<S> {
    let u = 1.0 + x;
    let (k, f) = taken_apart(u);
    // What the sum has lost of x, or of 1.
    let lost = x.simd_lt(1.0).select(x - (u - 1.0), 1.0 - (u - x));
    ln_of_parts(k, f, lost / u)
}

/// ln(1 + x) and 1/(1 + x) for x from 0 to 1, to the last digits.
#[inline(always)]
pub(crate) fn ln_1p_of_share<S: Simd>(x: Lanes<S>) -> (Lanes<S>, Lanes<S>) {
    let u = 1.0 + x;
    let per_u = 1.0 / u;
    let (k, f) = taken_apart(u);
    (ln_of_parts(k, f, (x - (u - 1.0)) * per_u), per_u)
}

/// ln 2 in two parts; the first has zeros at its end, so that its multiples are exact.
const LN_2: (f64, f64) = (6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10);

#[inline(always)]
fn taken_apart<S: Simd>(x: Lanes<S>) -> (Lanes<S>, Lanes<S>) {
    /// Bits of √½ and of 1, and of the number whose lowest bits count.
    const HALF_ROOT: u64 = 0x3fe6_a09e_667f_3bcd;
    const ONE: u64 = 0x3ff0_0000_0000_0000;
    const COUNTER: u64 = 0x4330_0000_0000_0000;
    let bits: WideBits<S> = x.to_bits();
    let k = (bits + (ONE - HALF_ROOT)) >> 52;
    let count = Lanes::from_bits(k | COUNTER);
    let mantissa = Lanes::from_bits(bits - (k << 52) + ONE);
    (count - (4_503_599_627_370_496.0 + 1023.0), mantissa - 1.0)
}

/// ln(1 + f) as a series in s = f/(2 + f), its coefficients those of the C library of BSD
/// (e_log.c, Sun Microsystems 1993).
#[inline(always)]
fn ln_of_parts<S: Simd>(k: Lanes<S>, f: Lanes<S>, lost: Lanes<S>) -> Lanes<S> {
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let odd = w * 1.479_819_860_511_658_6e-1 + 1.818_357_216_161_805e-1;
    let odd = w * (w * odd + 2.857_142_874_366_239e-1) + 6.666_666_666_666_735e-1;
    let even = w * 1.531_383_769_920_937_3e-1 + 2.222_219_843_214_978_4e-1;
    let even = w * even + 3.999_999_999_940_942e-1;
    let rest = w * even + z * odd;
    let half = 0.5 * f * f;
    let low = s * (half + rest) + (k * LN_2.1 + lost);
    k * LN_2.0 + (f - (half - low))
}

#[cfg(test)]
mod tests {
    use fearless_simd::dispatch;
    use proptest::prelude::*;

    use super::*;

    /// e^x, ln and the rest of a value, on one level.
    fn all(level: Level, x: f64, positive: f64) -> [f64; 5] {
        dispatch!(level, simd => {
            let all = |v: f64| Lanes::splat(simd, v);
            let (share, reciprocal) = ln_1p_of_share(all(positive.min(1.0)));
            [exp(all(x)), ln(all(positive)), ln_1p(all(positive)), share, reciprocal].map(|v| v[0])
        })
    }

    proptest! {
        #[test]
        fn the_functions_are_those_of_libm(x in -700.0..700.0f64, small in -690.0..30.0f64) {
            let near = |a: f64, b: f64| (a - b).abs() <= 1e-15 * b.abs();
            let e = libm::exp(small);
            let [exp, ln, ln_1p, share, reciprocal] = all(level(), x, e);
            prop_assert!(near(exp, libm::exp(x)));
            prop_assert!((ln - small).abs() <= 4e-16 * small.abs().max(1.0));
            prop_assert!(near(ln_1p, libm::log1p(e)));
            prop_assert!(near(share, libm::log1p(e.min(1.0))) && near(reciprocal, 1.0 / (1.0 + e.min(1.0))));
            let clamped = (100.0 * x).clamp(-700.0, 700.0);
            prop_assert_eq!(all(level(), 100.0 * x, e)[0], all(level(), clamped, e)[0]);
            // On any processor the same.
            prop_assert_eq!(all(level(), x, e), all(Level::baseline(), x, e));
        }
    }

    #[test]
    fn what_is_missing_from_the_last_pack_counts_nothing() {
        let (a, b) = (packed(&[2.0; WIDTH + 1], 0.0), packed(&[1.5; WIDTH + 1], 0.0));
        assert_eq!((a.len(), dot(&a, &b)), (2, 3.0 * (WIDTH + 1) as f64));
    }
}
