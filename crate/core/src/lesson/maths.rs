//! Elementary functions that give the same bits natively and in the page.
//!
//! The standard library's `exp` and `powf` are the platform's and differ in the last
//! digit between a native build and WebAssembly; a quantised reading on the edge would
//! then differ by a whole step. `libm` is one pure Rust implementation for both.

/// eˣ.
pub(super) fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Natural logarithm.
pub(super) fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// xʸ.
pub(super) fn pow(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// ln(1 + eˣ), without overflow.
pub(super) fn softplus(x: f64) -> f64 {
    x.max(0.0) + libm::log1p(libm::exp(-x.abs()))
}

/// 1/(1 + e⁻ˣ).
pub(super) fn logistic(x: f64) -> f64 {
    if x >= 0.0 { 1.0 / (1.0 + exp(-x)) } else { exp(x) / (1.0 + exp(x)) }
}

/// Most steps of [`root`]. Bisection alone needs 60 for full precision.
const MOST_STEPS: usize = 120;

/// A root of `f` between `low` and `high`, whose values there have different signs.
///
/// The Illinois variant of the false position (Dowell & Jarratt, BIT 11 (1971) 168; from
/// memory), with a bisection whenever three steps have not halved the bracket. Ends
/// where the bracket is as small as floating point allows or `f` is exactly zero; where the
/// signs do not differ, the end with the smaller value is returned.
pub(super) fn root(low: f64, high: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 || !(fa < 0.0 && fb > 0.0 || fa > 0.0 && fb < 0.0) {
        return if fa.abs() <= fb.abs() { a } else { b };
    }
    let (mut kept, mut target) = (0_i8, 0.5 * (b - a).abs());
    for step in 1..=MOST_STEPS {
        let mut x = (a * fb - b * fa) / (fb - fa);
        if step % 3 == 0 {
            if (b - a).abs() > target {
                x = 0.5 * (a + b);
                kept = 0;
            }
            target = 0.5 * (b - a).abs();
        }
        if !(x > a.min(b) && x < a.max(b)) {
            x = 0.5 * (a + b);
            if x == a || x == b {
                break;
            }
        }
        let fx = f(x);
        if fx == 0.0 {
            return x;
        }
        if (fx > 0.0) == (fb > 0.0) {
            (b, fb) = (x, fx);
            if kept == 1 {
                fa *= 0.5;
            }
            kept = 1;
        } else {
            (a, fa) = (x, fx);
            if kept == -1 {
                fb *= 0.5;
            }
            kept = -1;
        }
        if (b - a).abs() <= f64::EPSILON * a.abs().max(b.abs()) {
            break;
        }
    }
    if fa.abs() < fb.abs() { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_root_is_found_to_the_last_digits() {
        for (low, high, f, want) in [
            (0.0, 2.0, (|x: f64| x * x - 2.0) as fn(f64) -> f64, 2.0_f64.sqrt()),
            (-50.0, 100.0, |x| libm::exp(x * 12.0) - 1e-6, -libm::log(1e6) / 12.0),
            (5.0, -5.0, |x| x - 1.25, 1.25),
        ] {
            assert!((root(low, high, f) - want).abs() < 1e-13 * want.abs().max(1.0));
        }
    }

    #[test]
    fn without_a_change_of_sign_the_better_end_is_taken() {
        assert_eq!(root(0.0, 1.0, |x| x + 1.0), 0.0);
        assert_eq!(root(0.0, 1.0, |_| f64::NAN), 1.0);
    }
}
