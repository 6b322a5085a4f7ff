//! The trained model: what sound tubes and each fault look like, and how a tube compares.
//!
//! Each class is a mixture of a few normal components over the [`super::features`]; all
//! components share one matrix of correlations and have spreads of their own. Numbers are
//! whole hundredths of the spread of sound sections, so that the file can be read and
//! reviewed. Missing features are marginalised.

use std::sync::LazyLock;

use nalgebra::{Cholesky, DMatrix, Dyn};

use super::mixture::{Row, ln_determinant, present, shares};
pub use super::model_file::{Class, Model, Part};
use crate::numerics::{factored, log_sum_exp, normal_below, solve_lower};
use crate::sorting::sort_by;

/// The class of sound sections.
pub const SOUND: &str = "sound";
/// The class of sound sections whose twin is not.
pub const TWIN: &str = "sound beside a faulty section";
/// What is said of a reading far from every class.
pub const UNKNOWN: &str = "unlike anything known";

/// What could be so of a tube: a class, in a section (from 0) or in all.
#[derive(Debug, Clone, PartialEq)]
pub struct Guess {
    /// Name of the class.
    pub class: String,
    /// The section; `None` for the whole tube.
    pub section: Option<usize>,
    /// Its probability.
    pub probability: f64,
}

/// What the model says of a tube.
#[derive(Debug, Clone, PartialEq)]
pub struct Opinion {
    /// All that could be so, the likeliest first; empty for a tube without sections.
    pub guesses: Vec<Guess>,
    /// For each section, whether it is far from every class.
    pub strange: Vec<bool>,
    /// For each section, the squared distance to the nearest component over the number of
    /// features that were measured.
    pub distance: Vec<f64>,
}

/// Chance that a section of a known kind is called unknown: one in a thousand.
const STRANGER: f64 = 1e-3;

/// What a number of the file stands for.
fn hundredths(value: i32) -> f64 {
    f64::from(value) / 100.0
}

/// Which features a section has, and what all components share at those.
struct Seen {
    at: Vec<usize>,
    factor: Option<Cholesky<f64, Dyn>>,
    /// ln of the determinant that it factors, and of τ for every value: twice what the
    /// density of the middle is below 1.
    ln_norm: f64,
}

impl Model {
    /// The shipped model.
    pub fn shipped() -> &'static Self {
        static MODEL: LazyLock<Model> = LazyLock::new(|| {
            // Packed by the build script; a test holds it against the file.
            let packed = include_bytes!(concat!(env!("OUT_DIR"), "/model.bin"));
            postcard::from_bytes(packed).unwrap_or_else(|_| Model::empty())
        });
        &MODEL
    }

    /// A model that knows nothing.
    fn empty() -> Self {
        Self {
            seed: 0,
            temper: 1.0,
            sound: 1.0,
            stretch: 1.0,
            features: Vec::new(),
            centre: Vec::new(),
            scale: Vec::new(),
            correlations: Vec::new(),
            classes: Vec::new(),
        }
    }

    fn see(&self, at: Vec<usize>) -> Seen {
        let between = |a: usize, b: usize| match a.cmp(&b) {
            std::cmp::Ordering::Equal => 1.0,
            std::cmp::Ordering::Greater => hundredths(self.correlations[a][b]),
            std::cmp::Ordering::Less => hundredths(self.correlations[b][a]),
        };
        let factor = factored(DMatrix::from_fn(at.len(), at.len(), |i, j| between(at[i], at[j])));
        let ln_determinant = factor.as_ref().map_or(f64::INFINITY, |f| ln_determinant(f, at.len()));
        let ln_norm = ln_determinant + at.len() as f64 * libm::log(std::f64::consts::TAU);
        Seen { at, factor, ln_norm }
    }

    /// ln density of each class at a section, and the least squared distance of all
    /// components.
    fn log_densities(&self, row: &[Option<f64>], seen: &Seen) -> (Vec<f64>, f64) {
        let Some(factor) = &seen.factor else { return (vec![f64::NEG_INFINITY; self.classes.len()], f64::INFINITY) };
        let parts: Vec<&Part> = self.classes.iter().flat_map(|c| &c.parts).collect();
        // How far off each component is, a row each: all are solved for together.
        let mut deviations = DMatrix::zeros(parts.len(), seen.at.len());
        // Spreads are hundredths up to a few hundred: their product is a number.
        let mut widths = vec![1.0; parts.len()];
        for (&j, mut column) in seen.at.iter().zip(deviations.column_iter_mut()) {
            let value = 100.0 * (row[j].unwrap_or(0.0) - self.centre[j]) / self.scale[j];
            for ((part, deviation), width) in parts.iter().zip(column.as_mut_slice()).zip(&mut widths) {
                let spread = f64::from(part.spread[j]);
                *deviation = (value - f64::from(part.mean[j])) / spread;
                *width *= 0.01 * spread;
            }
        }
        solve_lower(factor.l_dirty(), &mut deviations);
        let mut squared = vec![0.0; parts.len()];
        for column in deviations.column_iter() {
            squared.iter_mut().zip(column.as_slice()).for_each(|(sum, d)| *sum += d * d);
        }
        let nearest = squared.iter().copied().fold(f64::INFINITY, f64::min);
        let density = |((part, width), squared): ((&&Part, &f64), &f64)| {
            libm::log(part.weight / width) - 0.5 * (squared + seen.ln_norm)
        };
        let of_parts: Vec<f64> = parts.iter().zip(&widths).zip(&squared).map(density).collect();
        let mut rest = of_parts.as_slice();
        let mut of_class = |class: &Class| {
            let (own, others) = rest.split_at(class.parts.len());
            rest = others;
            log_sum_exp(own)
        };
        (self.classes.iter().map(&mut of_class).collect(), nearest)
    }

    /// Squared distance of a section to the nearest component of all classes.
    pub fn nearest(&self, row: &[Option<f64>]) -> f64 {
        self.log_densities(row, &self.see(present(row))).1
    }

    /// What the model says of a tube, from the features of its sections.
    pub fn look(&self, sections: &[Row]) -> Opinion {
        // Sections that have the same features share what is worked out for those.
        let mut before: Option<Seen> = None;
        let of_section = |row: &Row| {
            let at = present(row);
            let seen = before.take().filter(|s| s.at == at).unwrap_or_else(|| self.see(at));
            self.log_densities(row, before.insert(seen))
        };
        let seen: Vec<(Vec<f64>, f64)> = sections.iter().map(of_section).collect();
        let strange = seen
            .iter()
            .zip(sections)
            .map(|((_, squared), row)| *squared > self.stretch * chi_squared(present(row).len(), STRANGER))
            .collect();
        let distance =
            seen.iter().zip(sections).map(|((_, squared), row)| squared / present(row).len().max(1) as f64).collect();
        Opinion { guesses: self.guesses(&seen.into_iter().map(|s| s.0).collect::<Vec<_>>()), strange, distance }
    }

    /// Weighs all that could be so of a tube: nothing, a fault of the whole tube, or one of
    /// a section beside sound ones.
    pub fn guesses(&self, densities: &[Vec<f64>]) -> Vec<Guess> {
        let place = |name: &str| self.classes.iter().position(|c| c.name == name);
        let (Some(sound), Some(twin), false) = (place(SOUND), place(TWIN), densities.is_empty()) else {
            return Vec::new();
        };
        let n = densities.len();
        let all = |k: usize| densities.iter().map(|d| d[k]).sum::<f64>();
        let faults = self.classes.len() - 2;
        let each = libm::log((1.0 - self.sound) / faults as f64);
        let mut could = vec![(sound, None, libm::log(self.sound) + all(sound))];
        for (k, class) in self.classes.iter().enumerate().filter(|(k, _)| ![sound, twin].contains(k)) {
            if class.whole {
                // What compares sections needs two.
                if n > 1 || class.name != "section-mismatch" {
                    could.push((k, None, each + all(k)));
                }
                continue;
            }
            for s in 0..n {
                let rest: f64 = (0..n).filter(|t| *t != s).map(|t| densities[t][twin]).sum();
                let log = each - libm::log(n as f64) + densities[s][k] + rest;
                could.push((k, Some(s), log));
            }
        }
        let probabilities = shares(&could.iter().map(|c| self.temper * c.2).collect::<Vec<_>>());
        let mut guesses: Vec<Guess> = could
            .into_iter()
            .zip(probabilities)
            .map(|((k, section, _), probability)| Guess { class: self.classes[k].name.clone(), section, probability })
            .collect();
        sort_by(&mut guesses, |a, b| b.probability.total_cmp(&a.probability));
        guesses
    }

    /// Whether a tube may be sent back on this class alone.
    pub fn may_speak(&self, class: &str) -> bool {
        self.classes.iter().any(|c| c.name == class && c.speaks)
    }
}

/// Value that χ² with `freedom` degrees exceeds with probability `chance` (Wilson and
/// Hilferty, Proc. Nat. Acad. Sci. 17 (1931) 684; within 2 % from three degrees on).
pub fn chi_squared(freedom: usize, chance: f64) -> f64 {
    let n = (freedom as f64).max(1.0);
    let (mut low, mut high) = (0.0, 10.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if normal_below(-middle) > chance { low = middle } else { high = middle }
    }
    let cube = 1.0 - 2.0 / (9.0 * n) + high * (2.0 / (9.0 * n)).sqrt();
    n * cube * cube * cube
}

#[cfg(test)]
mod tests {
    use super::super::features::FEATURES;
    use super::*;

    #[test]
    fn the_shipped_model_is_of_these_features_and_whole() {
        let model: Model = serde_json::from_str(include_str!("model.json")).unwrap();
        let names: Vec<&str> = FEATURES.iter().map(|f| f.name).collect();
        assert_eq!(model.features, names);
        assert_eq!(&model, Model::shipped());
        assert!(model.classes.iter().any(|c| c.name == SOUND) && model.classes.iter().any(|c| c.name == TWIN));
        for class in &model.classes {
            for part in &class.parts {
                assert!(part.mean.len() == names.len() && part.spread.len() == names.len());
                assert!(part.spread.iter().all(|s| *s > 0) && part.weight > 0.0, "{}", class.name);
            }
        }
        let full = model.see((0..names.len()).collect());
        assert!(full.factor.is_some(), "the correlations are positive definite");
    }

    #[test]
    fn far_off_readings_are_unlike_anything_and_none_are_like_all() {
        let model = Model::shipped();
        let width = model.features.len();
        let far: Row = (0..width).map(|j| Some(model.centre[j] + 1e5 * model.scale[j])).collect();
        let opinion = model.look(&[far]);
        assert!(opinion.strange[0]);
        assert!((opinion.guesses.iter().map(|g| g.probability).sum::<f64>() - 1.0).abs() < 1e-9);
        let blank = model.look(&[vec![None; width]]);
        assert!(!blank.strange[0] && blank.guesses[0].class == SOUND);
        assert!(model.look(&[]).guesses.is_empty());
    }

    #[test]
    fn chi_squared_is_scipys() {
        // scipy 1.17: scipy.stats.chi2.isf(1e-3, n).
        for (n, value) in [(3, 16.266), (10, 29.588), (30, 59.703), (70, 112.317)] {
            assert!((chi_squared(n, 1e-3) / value - 1.0).abs() < 0.02, "{n}: {}", chi_squared(n, 1e-3));
        }
    }
}
