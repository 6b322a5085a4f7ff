//! Statistics that a few wild points do not move.

/// Median absolute deviation to standard deviation of a normal distribution
/// (1/Φ⁻¹(3/4), textbook constant).
pub const MAD_TO_SD: f64 = 1.4826;

/// The median; NaN for nothing. Reorders `values`.
pub fn median(values: &mut [f64]) -> f64 {
    let n = values.len();
    if n == 0 {
        return f64::NAN;
    }
    let upper = nth_smallest(values, n / 2);
    if n % 2 == 1 {
        return upper;
    }
    let lower = values[..n / 2].iter().copied().fold(f64::NEG_INFINITY, f64::max);
    0.5 * (lower + upper)
}

/// The value that so many others (fewer than there are) precede in order. Reorders `values` so that
/// they do.
pub fn nth_smallest(values: &mut [f64], n: usize) -> f64 {
    *values.select_nth_unstable_by(n, f64::total_cmp).1
}

/// Standard deviation from the median absolute deviation about zero. Reorders `values`.
pub fn mad(values: &mut [f64]) -> f64 {
    for v in values.iter_mut() {
        *v = v.abs();
    }
    MAD_TO_SD * median(values)
}

/// Scaled third differences of `y` over `x` (sorted, uneven steps allowed): what
/// remains after a parabola through each four neighbours, with the variance of a
/// single reading. Returns `(middle index, residual)`; four points of which two
/// share an `x` give none.
pub fn third_difference_residuals(x: &[f64], y: &[f64]) -> Vec<(usize, f64)> {
    let mut out = Vec::with_capacity(x.len().saturating_sub(3));
    for i in 0..x.len().saturating_sub(3) {
        let mut sum = 0.0;
        let mut norm = 0.0;
        for j in i..i + 4 {
            // Weight of y[j] in the third divided difference.
            let c = (i..i + 4).filter(|&k| k != j).map(|k| x[j] - x[k]).product::<f64>().recip();
            sum += c * y[j];
            norm += c * c;
        }
        let r = sum / norm.sqrt();
        if r.is_finite() {
            out.push((i + 1, r));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn medians() {
        assert_eq!(median(&mut [3.0, 1.0, 2.0]), 2.0);
        assert_eq!(median(&mut [4.0, 1.0, 2.0, 3.0]), 2.5);
        assert!(median(&mut []).is_nan());
    }

    #[test]
    fn third_differences_ignore_a_parabola_and_keep_the_noise() {
        let x: Vec<f64> = (0..200).map(|i| 0.1 * f64::from(i) + 0.03 * f64::from(i % 3)).collect();
        let parabola: Vec<f64> = x.iter().map(|x| 2.0 - x + 0.5 * x * x).collect();
        assert!(third_difference_residuals(&x, &parabola).iter().all(|(_, r)| r.abs() < 1e-9));
        // A fixed sequence with mean 0 and variance 1 (alternating ±1 in a scrambled order).
        let noise: Vec<f64> =
            (0..200u32).map(|i| if i.wrapping_mul(2_654_435_761) >> 31 == 0 { 1.0 } else { -1.0 }).collect();
        let r: f64 = third_difference_residuals(&x, &noise).iter().map(|(_, r)| r * r).sum::<f64>() / 197.0;
        assert_relative_eq!(r, 1.0, max_relative = 0.5);
    }
}
