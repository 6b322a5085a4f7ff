//! Functions that must not overflow or lose digits, and the square.

/// x². Where the page's program is compiled for size `powi(2)` is a call.
pub fn square(x: f64) -> f64 {
    x * x
}

/// ln(1 + eᶻ), exact at both ends.
pub fn softplus(z: f64) -> f64 {
    if z > 0.0 { z + libm::log1p(libm::exp(-z)) } else { libm::log1p(libm::exp(z)) }
}

/// 1/(1 + e⁻ᶻ).
pub fn logistic(z: f64) -> f64 {
    if z >= 0.0 {
        1.0 / (1.0 + libm::exp(-z))
    } else {
        let e = libm::exp(z);
        e / (1.0 + e)
    }
}

/// The inverse of [`logistic`].
pub fn logit(p: f64) -> f64 {
    libm::log(p / (1.0 - p))
}

/// ln Σ eˣ without overflow; minus infinity for no terms.
pub fn log_sum_exp(values: &[f64]) -> f64 {
    let top = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        return top;
    }
    top + libm::log(values.iter().map(|v| libm::exp(v - top)).sum::<f64>())
}

/// Probability that a standard normal variable lies below `z`.
pub fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn softplus_and_logistic_hold_at_the_ends() {
        assert_eq!(softplus(800.0), 800.0);
        assert_relative_eq!(softplus(-40.0), libm::exp(-40.0), max_relative = 1e-12);
        assert_relative_eq!(softplus(0.0), std::f64::consts::LN_2);
        assert_eq!(logistic(-800.0), 0.0);
        assert_eq!(logistic(800.0), 1.0);
        assert_relative_eq!(logistic(logit(0.2)), 0.2, max_relative = 1e-12);
    }

    #[test]
    fn log_sum_exp_does_not_underflow() {
        assert_relative_eq!(log_sum_exp(&[-2000.0, -2000.0]), -2000.0 + std::f64::consts::LN_2);
        assert_eq!(log_sum_exp(&[]), f64::NEG_INFINITY);
    }

    #[test]
    fn the_normal_distribution_matches_scipy() {
        // scipy 1.17, scipy.stats.norm.cdf.
        for (z, p) in
            [(-3.0, 1.349_898_03e-3), (-1.0, 0.158_655_254), (0.0, 0.5), (1.0, 0.841_344_746), (2.5, 0.993_790_335)]
        {
            assert!((normal_below(z) - p).abs() < 1e-8);
        }
    }
}
