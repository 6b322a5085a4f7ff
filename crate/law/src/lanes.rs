//! Four points side by side, on which the law is computed at once.
//!
//! The same operations in the same order on every machine and in the browser: the results
//! agree to the last digit. Only a build for a processor with fused multiplication, which
//! nobody ships, would differ in it.

use wide::f64x4;

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_missing_from_the_last_four_counts_nothing() {
        let (a, b) = (packed(&[1.0, 2.0, 3.0, 4.0, 5.0], 0.0), packed(&[1.0; 5], 0.0));
        assert_eq!((a.len(), dot(&a, &b)), (2, 15.0));
    }
}
