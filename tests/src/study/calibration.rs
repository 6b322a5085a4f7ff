//! Whether confidences are probabilities: of the findings said with 80 %, eight in ten
//! should be right.

use super::interval::Share;

/// A confidence and whether what was said with it was right.
pub type Said = (f64, bool);

/// One bin of a reliability table.
#[derive(Debug, Clone, PartialEq)]
pub struct Bin {
    /// Confidences from here on.
    pub from: f64,
    /// To below here (the last bin: to 1).
    pub to: f64,
    /// Mean confidence.
    pub mean: f64,
    /// How many were right.
    pub right: Share,
}

/// Ends of the bins: tenths, and finer where the surest findings are.
const ENDS: [f64; 13] = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0];

/// The reliability table; empty bins are left out.
pub fn bins(said: &[Said]) -> Vec<Bin> {
    let within = |p: f64, from: f64, to: f64| p >= from && (p < to || to >= 1.0);
    ENDS.windows(2)
        .filter_map(|end| {
            let here: Vec<&Said> = said.iter().filter(|(p, _)| within(*p, end[0], end[1])).collect();
            let n = here.len();
            (n > 0).then(|| Bin {
                from: end[0],
                to: end[1],
                mean: here.iter().map(|(p, _)| p).sum::<f64>() / n as f64,
                right: Share::count(&here, |s| s.1),
            })
        })
        .collect()
}

/// Expected calibration error over these bins: how far mean confidence and share of right
/// ones are apart, weighted by the number of findings.
pub fn error(said: &[Said]) -> f64 {
    let off = |b: &Bin| b.right.of as f64 * (b.mean - b.right.value()).abs();
    bins(said).iter().map(off).sum::<f64>() / said.len().max(1) as f64
}

/// The same in ten equal bins, as the scoring script has it.
pub fn error_in_tenths(said: &[Said]) -> f64 {
    let mut sums = [(0.0, 0.0); 10];
    for (p, right) in said {
        let bin = ((p * 10.0) as usize).min(9);
        sums[bin].0 += p;
        sums[bin].1 += f64::from(u8::from(*right));
    }
    sums.iter().map(|(p, right)| (p - right).abs()).sum::<f64>() / said.len().max(1) as f64
}

/// Mean square of confidence minus truth (G. W. Brier, Monthly Weather Review 78 (1950) 1).
pub fn brier(said: &[Said]) -> f64 {
    let square = |(p, right): &Said| (p - f64::from(u8::from(*right))).powi(2);
    said.iter().map(square).sum::<f64>() / said.len().max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-12
    }

    #[test]
    fn honest_confidences_have_no_error_and_boasting_has_its_size() {
        let honest: Vec<Said> = (0..10).map(|i| (0.8, i < 8)).collect();
        assert!(close(error(&honest), 0.0) && close(error_in_tenths(&honest), 0.0));
        assert!(close(brier(&honest), 0.16));
        let boasting: Vec<Said> = (0..10).map(|i| (0.98, i < 5)).collect();
        assert!(close(error(&boasting), 0.48) && close(error_in_tenths(&boasting), 0.48));
    }

    #[test]
    fn errors_of_opposite_sign_cancel_within_a_bin_only() {
        let said = [(0.65, true), (0.65, false), (0.95, true), (0.55, true)];
        // |1.3 − 1| + |0.95 − 1| + |0.55 − 1| over four.
        assert!(close(error_in_tenths(&said), 0.2));
    }

    #[test]
    fn certainty_falls_in_the_last_bin() {
        let said = [(1.0, true), (0.99, true), (0.95, false)];
        let table = bins(&said);
        assert_eq!(table.len(), 2);
        assert_eq!(table[1].right, Share { yes: 2, of: 2 });
        assert!(bins(&[]).is_empty() && close(error(&[]), 0.0));
    }
}
