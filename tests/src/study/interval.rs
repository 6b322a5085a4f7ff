//! Shares with their intervals.

use statrs::distribution::{Beta, ContinuousCDF};

/// A count out of a number.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Share {
    /// How many it is true of.
    pub yes: usize,
    /// Of how many.
    pub of: usize,
}

impl Share {
    /// Counts what a test is true of.
    pub fn count<T>(things: impl IntoIterator<Item = T>, test: impl Fn(&T) -> bool) -> Self {
        let mut share = Self::default();
        for thing in things {
            share.add(test(&thing));
        }
        share
    }

    /// Counts one more.
    pub fn add(&mut self, yes: bool) {
        self.yes += usize::from(yes);
        self.of += 1;
    }

    /// The share; 0 of nothing.
    pub fn value(self) -> f64 {
        if self.of == 0 { 0.0 } else { self.yes as f64 / self.of as f64 }
    }

    /// The 95 % interval of Clopper and Pearson (Biometrika 26 (1934) 404): never narrower
    /// than it should be, also for 0 of n.
    pub fn interval(self) -> (f64, f64) {
        let (k, n) = (self.yes as f64, self.of as f64);
        let quantile = |a: f64, b: f64, p: f64| Beta::new(a, b).map(|d| d.inverse_cdf(p));
        let low = if self.yes == 0 { Ok(0.0) } else { quantile(k, n - k + 1.0, 0.025) };
        let high = if self.yes == self.of { Ok(1.0) } else { quantile(k + 1.0, n - k, 0.975) };
        (low.unwrap_or(0.0), high.unwrap_or(1.0))
    }

    /// `12/15 80 % (52–96)`; a dash for nothing.
    pub fn with_interval(self) -> String {
        if self.of == 0 {
            return "–".into();
        }
        let (low, high) = self.interval();
        format!("{}/{} {} ({}–{})", self.yes, self.of, percent(self.value()), bare(low), bare(high))
    }

    /// `12/15`; a dash for nothing.
    pub fn plain(self) -> String {
        if self.of == 0 { "–".into() } else { format!("{}/{}", self.yes, self.of) }
    }
}

/// `80 %`, and `0.4 %` where whole numbers would say too little.
pub fn percent(share: f64) -> String {
    format!("{} %", bare(share))
}

fn bare(share: f64) -> String {
    let p = 100.0 * share;
    let near_an_end = (p > 0.0 && p < 9.95) || (p > 90.05 && p < 100.0);
    if near_an_end { format!("{p:.1}") } else { format!("{p:.0}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_interval_is_clopper_and_pearsons() {
        // Closed forms: 0 of n gives 1 − 0.025^(1/n); n of n its mirror image.
        let (low, high) = Share { yes: 0, of: 600 }.interval();
        assert!(low == 0.0 && (high - (1.0 - 0.025_f64.powf(1.0 / 600.0))).abs() < 1e-9, "{high}");
        let (low, high) = Share { yes: 20, of: 20 }.interval();
        assert!(high == 1.0 && (low - 0.025_f64.powf(1.0 / 20.0)).abs() < 1e-9, "{low}");
        // At its ends the binomial tails are 2.5 %, here summed outright.
        let (low, high) = Share { yes: 2, of: 5 }.interval();
        let tail = |p: f64, from: u32, to: u32| -> f64 {
            let ways = [1.0, 5.0, 10.0, 10.0, 5.0, 1.0];
            (from..=to).map(|k| ways[k as usize] * p.powi(k as i32) * (1.0 - p).powi(5 - k as i32)).sum()
        };
        assert!((tail(low, 2, 5) - 0.025).abs() < 1e-6 && (tail(high, 0, 2) - 0.025).abs() < 1e-6);
    }

    #[test]
    fn a_share_of_nothing_is_a_dash() {
        assert_eq!(Share::default().with_interval(), "–");
        assert_eq!(Share { yes: 1, of: 2 }.with_interval(), "1/2 50 % (1.3–98.7)");
    }
}
