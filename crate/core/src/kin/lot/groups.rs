//! Groups within a lot: how many, and who is in which.

use nalgebra::{DMatrix, DVector};

use crate::kin::k_means::k_means;
use crate::kin::mixture::{Component, Fitted, Fitting, Mixture, Row};
use crate::sorting::{places_by, sort_by};

/// By how much the information criterion must gain over one group: "very strong" evidence
/// (Kass and Raftery, J. Am. Stat. Assoc. 90 (1995) 773, 2 ln B above 10).
pub(super) const VERY_STRONG: f64 = 10.0;
/// Fewest tubes in a group; fewer are odd tubes and no group (own choice, no source).
pub const FEWEST: usize = 4;
/// Most groups that are looked for: a lot is of one delivery or a few (own choice, no source).
const MOST: usize = 4;
/// Seed of the starts.
const SEED: u64 = 20_261_125;
/// Starts of k-means for each number of groups.
const STARTS: u64 = 8;
/// Rounds by which a start is judged, and most rounds of the best one.
const ROUNDS: (usize, usize) = (6, 200);
/// Gain in mean log-likelihood at which a fit is done.
const SETTLED: f64 = 1e-7;

/// The groups of a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Groups {
    /// The fitted mixture; its components are the groups, the largest first.
    pub mixture: Mixture,
    /// The group of each row; `None` for a row without any figure.
    pub of: Vec<Option<usize>>,
    /// By how much the criterion gains over one group; 0 for one.
    pub gain: f64,
}

/// Groups the rows by a mixture of normal distributions of one covariance, their number
/// by the Bayesian information criterion (Schwarz 1978). `least` is the least standard
/// deviation on which rows are told apart. `None` where fewer than [`FEWEST`] rows are whole.
pub fn groups(rows: &[Row], least: f64) -> Option<Groups> {
    let used: Vec<Row> = rows.iter().filter(|r| r.iter().any(Option::is_some)).cloned().collect();
    let whole: Vec<Vec<f64>> = rows.iter().filter_map(|r| r.iter().copied().collect::<Option<Vec<f64>>>()).collect();
    if whole.len() < FEWEST {
        return None;
    }
    let single = best_of(&used, &whole, 1, least)?;
    let one = criterion(&single.mixture, single.log_likelihood, used.len());
    let mut best = (one, single);
    for k in 2..=MOST.min(used.len() / FEWEST) {
        let Some(fit) = best_of(&used, &whole, k, least) else { continue };
        let sizes = assigned(&used, &fit.mixture);
        let large = (0..k).all(|g| sizes.iter().filter(|s| **s == g).count() >= FEWEST);
        let score = criterion(&fit.mixture, fit.log_likelihood, used.len());
        if large && score < best.0 && one - score > VERY_STRONG {
            best = (score, fit);
        }
    }
    let mut mixture = best.1.mixture;
    sort_by(&mut mixture.components, |a, b| b.weight.total_cmp(&a.weight).then(a.mean[0].total_cmp(&b.mean[0])));
    Some(Groups { mixture, of: Vec::new(), gain: one - best.0 }.of_rows(rows))
}

/// The Bayesian information criterion of `rows` rows under a mixture of one covariance.
fn criterion(mixture: &Mixture, log_likelihood: f64, rows: usize) -> f64 {
    let (k, width) = (mixture.components.len(), mixture.components.first().map_or(0, |c| c.mean.len()));
    let free = k.saturating_sub(1) + k * width + width * (width + 1) / 2;
    free as f64 * libm::log(rows as f64) - 2.0 * log_likelihood
}

impl Groups {
    /// The information criterion of these groups for some rows.
    pub fn criterion(&self, rows: &[Row]) -> f64 {
        let used: Vec<&Row> = rows.iter().filter(|r| r.iter().any(Option::is_some)).collect();
        let likelihood = used.iter().map(|r| self.mixture.log_density(r)).sum();
        criterion(&self.mixture, likelihood, used.len())
    }

    /// The same groups, with these rows put to the nearest.
    pub fn of_rows(mut self, rows: &[Row]) -> Self {
        let group = |r: &Row| r.iter().any(Option::is_some).then(|| nearest(&self.mixture.log_joint(r)));
        self.of = rows.iter().map(group).collect();
        self
    }
}

fn assigned(rows: &[Row], mixture: &Mixture) -> Vec<usize> {
    rows.iter().map(|r| nearest(&mixture.log_joint(r))).collect()
}

fn nearest(logs: &[f64]) -> usize {
    (0..logs.len()).max_by(|a, b| logs[*a].total_cmp(&logs[*b])).unwrap_or(0)
}

/// The best fit of `k` groups from several starts: k-means on figures scaled by their
/// spread, and each figure's own order cut into equal parts.
fn best_of(rows: &[Row], whole: &[Vec<f64>], k: usize, least: f64) -> Option<Fitted> {
    let how = |rounds| Fitting { ridge: least * least, tied: true, rounds, settled: SETTLED };
    let starts: Vec<Vec<usize>> = if k == 1 { vec![vec![0; whole.len()]] } else { starts(whole, k) };
    let begun = starts.iter().filter_map(|of| Mixture::fit(rows, start(whole, of, k, least), how(ROUNDS.0)));
    let best = begun.max_by(|a, b| a.log_likelihood.total_cmp(&b.log_likelihood))?;
    Mixture::fit(rows, best.mixture, how(ROUNDS.1))
}

fn starts(whole: &[Vec<f64>], k: usize) -> Vec<Vec<usize>> {
    let width = whole[0].len();
    let n = whole.len() as f64;
    let column = |j: usize| whole.iter().map(move |r| r[j]);
    let scale: Vec<(f64, f64)> = (0..width)
        .map(|j| {
            let mean = column(j).sum::<f64>() / n;
            let variance = column(j).map(|v| (v - mean).powi(2)).sum::<f64>() / n;
            (mean, variance.sqrt().max(f64::MIN_POSITIVE))
        })
        .collect();
    let scaled: Vec<Vec<f64>> =
        whole.iter().map(|r| r.iter().zip(&scale).map(|(v, (mean, sd))| (v - mean) / sd).collect()).collect();
    let mut out: Vec<Vec<usize>> = (0..STARTS).filter_map(|s| k_means(&scaled, k, 1, SEED + s)).map(|g| g.of).collect();
    // Along each figure, and along the sum and the difference of each two.
    let mut along: Vec<Vec<f64>> = (0..width).map(|j| scaled.iter().map(|r| r[j]).collect()).collect();
    for i in 0..width {
        for j in 0..i {
            along.push(scaled.iter().map(|r| r[i] + r[j]).collect());
            along.push(scaled.iter().map(|r| r[i] - r[j]).collect());
        }
    }
    for values in along {
        let mut order: Vec<usize> = (0..values.len()).collect();
        places_by(&mut order, &|a, b| values[a].total_cmp(&values[b]));
        let mut of = vec![0; values.len()];
        for (rank, i) in order.into_iter().enumerate() {
            of[i] = rank * k / values.len();
        }
        out.push(of);
    }
    out
}

fn start(whole: &[Vec<f64>], of: &[usize], k: usize, least: f64) -> Mixture {
    let width = whole[0].len();
    let mut means = vec![DVector::zeros(width); k];
    let mut counts = vec![0.0; k];
    for (row, &g) in whole.iter().zip(of) {
        means[g] += DVector::from_column_slice(row);
        counts[g] += 1.0;
    }
    for (mean, count) in means.iter_mut().zip(&counts) {
        *mean /= f64::max(*count, 1.0);
    }
    let mut covariance = DMatrix::zeros(width, width);
    for (row, &g) in whole.iter().zip(of) {
        let d = DVector::from_column_slice(row) - &means[g];
        covariance.ger(1.0 / whole.len() as f64, &d, &d, 1.0);
    }
    (0..width).for_each(|j| covariance[(j, j)] += least * least);
    let component = |g: usize| Component {
        weight: (counts[g] / whole.len() as f64).max(1e-6),
        mean: means[g].clone(),
        covariance: covariance.clone(),
    };
    Mixture { components: (0..k).map(component).collect() }
}
