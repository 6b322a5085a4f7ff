//! A healthy law fitted to the points of a section: the task that scipy is set as well.

use sweepbook_core::handbook;
use sweepbook_core::law::{COMPARED, Fit, FitOptions, Observed, Par, Params, Prior, SpaceCharge, fit};
use sweepbook_core::sweep::Tube;

/// Error of a reading beside its last digit, as a share of it.
const RELATIVE: f64 = 0.004;
/// Error of a reading at no current, A.
const FLOOR: f64 = 1e-6;

/// What was to be expected of the shape, so that both stand on the same ground.
pub const PRIORS: [Prior; 5] = [
    Prior { par: Par::X, mean: 1.4, sd: 0.12 },
    Prior { par: Par::Spread, mean: 0.15, sd: 0.08 },
    Prior { par: Par::W0, mean: 0.1, sd: 0.15 },
    Prior { par: Par::Kvb, mean: 300.0, sd: 400.0 },
    Prior { par: Par::Phi, mean: 0.2, sd: 0.5 },
];

/// Points, values to begin with, and what is free.
#[derive(Debug, Clone)]
pub struct Task {
    /// The sections.
    pub data: Vec<Observed>,
    /// Where the fit begins.
    pub begin: SpaceCharge,
    options: FitOptions,
}

/// All points of a section as they were read.
fn section(tube: &Tube, at: usize) -> Observed {
    let points = &tube.sections[at].points;
    let indices = 0..points.len();
    Observed {
        index: indices.clone().collect(),
        va: points.va.clone(),
        vg: points.vg.clone(),
        ia: points.ia.clone(),
        sigma: points.ia.iter().map(|ia| (FLOOR * FLOOR + (RELATIVE * ia).powi(2)).sqrt()).collect(),
        time: indices.map(|i| i as f64).collect(),
        ..Observed::default()
    }
}

/// The healthy law to be fitted to all sections of a tube together, from values that are off:
/// what the handbook has of its type, a tenth less of it, and a law that is not the tube's.
pub fn task(tube: &Tube) -> Task {
    let data: Vec<Observed> = (0..tube.sections.len()).map(|s| section(tube, s)).collect();
    let kind = tube.kind.as_deref().and_then(handbook::find).and_then(|k| k.section(0));
    let published = kind.and_then(|k| k.points.iter().find_map(|p| p.mu.as_ref())).map_or(20.0, |mu| mu.value);
    let (mu, phi, x) = (0.9 * published, 0.2, 1.45);
    // Through the largest reading.
    let readings = data.iter().flat_map(|o| o.ia.iter().zip(&o.va).zip(&o.vg));
    let ln_p = readings
        .max_by(|a, b| a.0.0.total_cmp(b.0.0))
        .map_or(-7.0, |((ia, va), vg)| ia.max(f64::MIN_POSITIVE).ln() - x * (vg + phi + va / mu).max(0.1).ln());
    let own = vec![vec![Par::LnP, Par::LnMu, Par::Phi]; data.len()];
    Task {
        begin: SpaceCharge { ln_p, mu, phi, x, w0: 0.1, w1: 0.15 / mu, kvb: 300.0, kvl: 0.0 },
        options: FitOptions {
            priors: PRIORS.to_vec(),
            // As near to the optimum as a diagnosis fits what it compares.
            settled: COMPARED,
            ..FitOptions::to_the_end(vec![Par::X, Par::W0, Par::Spread, Par::Kvb], own)
        },
        data,
    }
}

impl Task {
    /// Fits; `None` where nothing finite is found.
    pub fn run(&self) -> Option<Fit> {
        fit(&self.data, &vec![Params::healthy(&self.begin); self.data.len()], &self.options)
    }

    /// The priors, by the parameters' names in `tests/outside/fit.py`: name, mean, deviation.
    pub fn priors() -> [(&'static str, f64, f64); 5] {
        let names = ["x", "spread", "w0", "kvb", "phi"];
        std::array::from_fn(|i| (names[i], PRIORS[i].mean, PRIORS[i].sd))
    }
}
