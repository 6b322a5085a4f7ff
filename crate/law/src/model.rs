//! The law with what a fault or the bench does to it, as a function of its
//! parameters, with all derivatives.
//!
//! Terms that feed the measured current back into the voltages (a resistance in
//! the cathode lead) use the reading itself: the equation that would have to be
//! solved at every point becomes explicit, at the price of the reading's noise,
//! which is small against the current.

use fearless_simd::{dispatch, prelude::*};

use super::applied::AppliedLanes;
use super::lanes::{self, Lanes, Pack, blocks, level};
use super::observed::Observed;
use super::predict::Way;
use super::space_charge::SpaceCharge;

/// The parameters of one section's model, as indices into [`Params`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(usize)]
pub enum Par {
    /// ln of the perveance.
    LnP,
    /// ln of the amplification factor.
    LnMu,
    /// Contact potential, V.
    Phi,
    /// Exponent.
    X,
    /// Width of the bend, V.
    W0,
    /// Relative spread of the grid: w1·mu.
    Spread,
    /// Hold of the grid at low plate voltage, V².
    Kvb,
    /// The same in proportion to the plate voltage, V.
    Kvl,
    /// Reciprocal of the emission ceiling, 1/A; 0 without one.
    Ceiling,
    /// ln of the exponent with which the ceiling is approached.
    LnSharp,
    /// Resistance in the cathode lead, ohm.
    Ri,
    /// ln of the scale of the grid axis.
    LnKappa,
    /// Share of the cathode under the coarser part of the grid.
    Share,
    /// ln of the coarser part's mu over the mu of the rest.
    LnRatio,
    /// Constant added to the reading, A.
    I0,
    /// Plate–cathode conductance, S.
    Gak,
    /// Plate–grid conductance, S.
    Gga,
    /// Share of the current missing when the sweep began: a tube not yet warm.
    Deficit,
    /// ln of the time constant with which it is made up, in points.
    LnTau,
    /// Relative rise of a pentode's current per volt of plate beyond screen, 1/V.
    Plate,
    /// 1 where the sections were taken one after the other without a pause, 0
    /// where each began anew. Never fitted.
    Continued,
}

impl Par {
    /// Those of what flows beside the space charge.
    pub const FLOOR: [Self; 3] = [Self::I0, Self::Gak, Self::Gga];
}

/// Number of parameters.
pub const PARS: usize = 21;

/// What was applied at a point, and what the model needs of the reading itself.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Applied {
    /// Voltage that drives the space charge, V: the plate's, or a pentode's screen's.
    pub va: f64,
    /// Plate voltage, V: what leaks from the plate feel.
    pub anode: f64,
    /// Grid voltage at the pin, V.
    pub vg: f64,
    /// How far the plate is beyond the screen in a pentode, V; 0 otherwise.
    pub plate: f64,
    /// Plate current that was read, A: used in feedback terms.
    pub reading: f64,
    /// Points of this section taken before this one.
    pub time: f64,
    /// Points of other sections taken before this section.
    pub before: f64,
}

/// Values of all parameters of one section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Params(pub [f64; PARS]);

impl Params {
    /// A healthy section with this law.
    pub fn healthy(law: &SpaceCharge) -> Self {
        let mut p = [0.0; PARS];
        p[Par::LnP as usize] = law.ln_p;
        p[Par::LnMu as usize] = libm::log(law.mu);
        p[Par::Phi as usize] = law.phi;
        p[Par::X as usize] = law.x;
        p[Par::W0 as usize] = law.w0;
        p[Par::Spread as usize] = law.w1 * law.mu;
        p[Par::Kvb as usize] = law.kvb;
        p[Par::Kvl as usize] = law.kvl;
        p[Par::LnSharp as usize] = libm::log(3.0);
        p[Par::LnRatio as usize] = libm::log(0.5);
        Self(p)
    }

    /// One value.
    pub fn get(&self, par: Par) -> f64 {
        self.0[par as usize]
    }

    /// Sets one value.
    pub fn set(&mut self, par: Par, value: f64) {
        self.0[par as usize] = value;
    }

    /// The current that flows beside the space charge at a plate and a grid voltage (V): an offset and
    /// two leaks, A.
    pub fn floor(&self, anode: f64, vg: f64) -> f64 {
        self.get(Par::I0) + self.get(Par::Gak) * anode + self.get(Par::Gga) * (anode - vg)
    }

    /// The same without it.
    #[must_use]
    pub fn without_floor(mut self) -> Self {
        for par in Par::FLOOR {
            self.set(par, 0.0);
        }
        self
    }

    /// The space-charge law alone.
    pub fn law(&self) -> SpaceCharge {
        self.law_with(self.get(Par::LnMu), libm::exp(-self.get(Par::LnMu)))
    }

    /// The law of a part of the cathode; `thin` is 1/mu of the whole.
    pub(super) fn law_with(&self, ln_mu: f64, thin: f64) -> SpaceCharge {
        SpaceCharge {
            ln_p: self.get(Par::LnP),
            mu: libm::exp(ln_mu),
            phi: self.get(Par::Phi),
            x: self.get(Par::X),
            w0: self.get(Par::W0),
            // One grid, one width of the bend: the coarse part shares it.
            w1: self.get(Par::Spread) * thin,
            kvb: self.get(Par::Kvb),
            kvl: self.get(Par::Kvl),
        }
    }

    /// The current that the plate meter should read, A, and its derivative by every parameter.
    pub fn predict(&self, at: &Applied, gradient: &mut [f64; PARS]) -> f64 {
        let mut read = 0.0;
        dispatch!(level(), simd => {
            let ready = self.ready(simd, |_| true);
            let (mut way, mut by) = (Way::of_one(simd), [Lanes::splat(simd, 0.0); PARS]);
            let at = AppliedLanes::of(simd, at);
            ready.lead::<true, _, _>(0..1, |_| at, &mut way);
            read = ready.predict::<true, _, _>(0, &at, &way, &mut by)[0];
            *gradient = by.map(|g| g[0]);
        });
        read
    }

    /// The currents that the plate meter should read at many points, A.
    pub fn currents(&self, at: impl Iterator<Item = Applied>) -> Vec<f64> {
        self.currents_of(&Observed::at_which(at))
    }

    /// The currents that it should read at a section's points, A.
    pub fn currents_of(&self, section: &Observed) -> Vec<f64> {
        let mut read = Vec::new();
        self.read(section, &mut read);
        plain(&read, section.len())
    }

    /// Puts the same into `out`, pack by pack.
    pub(super) fn read(&self, section: &Observed, out: &mut Vec<Pack>) {
        out.clear();
        out.reserve_exact(section.packs());
        dispatch!(level(), simd => {
            let ready = self.ready(simd, |_| false);
            let (mut way, mut unused) = (Way::of_block(simd), [Lanes::splat(simd, 0.0); PARS]);
            let at = |pack| AppliedLanes::at(simd, section, pack);
            for block in blocks(section.packs()) {
                ready.lead::<false, _, _>(block.clone(), at, &mut way);
                for (k, pack) in block.enumerate() {
                    out.push(ready.predict::<false, _, _>(k, &at(pack), &way, &mut unused).to_array());
                }
            }
        });
    }
}

/// What acts on the currents of a space charge, apart from it.
impl Params {
    /// What the ceiling leaves of currents, A.
    pub fn limited(&self, currents: &[f64]) -> Vec<f64> {
        let mut packs = lanes::packed(currents, 0.0);
        dispatch!(level(), simd => {
            let (ready, mut unused) = (self.ready(simd, |_| false), [Lanes::splat(simd, 0.0); PARS]);
            for pack in &mut packs {
                let mut i = Lanes::load_array(simd, *pack);
                ready.limit::<false>(&mut i, &mut unused);
                *pack = i.to_array();
            }
        });
        plain(&packs, currents.len())
    }

    /// What flows of currents while the tube warms up, A; `time` counts the points of the
    /// section before each, `before` those of other sections.
    pub fn warming(&self, currents: &[f64], time: &[f64], before: f64) -> Vec<f64> {
        let mut packs = lanes::packed(currents, 0.0);
        let time = lanes::packed(time, 0.0);
        dispatch!(level(), simd => {
            let ready = self.ready(simd, |_| false);
            let before = ready.get(Par::Continued) * before;
            for (pack, time) in packs.iter_mut().zip(&time) {
                let warm = ready.warm(Lanes::load_array(simd, *time) + before).0;
                *pack = (Lanes::load_array(simd, *pack) * warm).to_array();
            }
        });
        plain(&packs, currents.len())
    }
}

/// So many values of packs.
fn plain(packs: &[Pack], points: usize) -> Vec<f64> {
    let mut out = packs.as_flattened().to_vec();
    out.truncate(points);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_gradient_is_the_derivative(
            ln_mu in 1.2..4.6f64, x in 1.2..1.6f64, phi in -0.2..0.6f64, spread in 0.05..0.3f64, w0 in 0.02..0.3f64,
            kvb in 5.0..900.0f64, kvl in 0.0..20.0f64, ceiling in 30.0..300.0f64, ln_n in 0.8..2.0f64, ri in 0.0..300.0f64,
            ln_kappa in -0.4..0.0f64, share in 0.01..0.4f64, ln_ratio in -1.0..-0.3f64,
            va in 60.0..300.0f64, depth in 0.0..1.2f64, deficit in 0.05..0.5f64, time in 0.0..100.0f64,
        ) {
            let mut p = Params([0.0; PARS]);
            for (par, v) in [
                (Par::LnP, -6.0), (Par::LnMu, ln_mu), (Par::Phi, phi), (Par::X, x), (Par::W0, w0),
                (Par::Spread, spread), (Par::Kvb, kvb), (Par::Kvl, kvl), (Par::Ceiling, ceiling), (Par::LnSharp, ln_n), (Par::Ri, ri),
                (Par::LnKappa, ln_kappa), (Par::Share, share), (Par::LnRatio, ln_ratio), (Par::I0, 1e-6),
                (Par::Gak, 1e-7), (Par::Gga, 2e-7), (Par::Deficit, deficit), (Par::LnTau, 3.5), (Par::Plate, 3e-4),
            ] {
                p.set(par, v);
            }
            let vg = -depth * va / libm::exp(ln_mu);
            let reading = 3e-3;
            let mut g = [0.0; PARS];
            let at = Applied { va, anode: 1.2 * va, vg, plate: 40.0, reading, time, before: 0.0 };
            let i = p.predict(&at, &mut g);
            for (j, g) in g.iter().enumerate() {
                let h = 1e-6 * p.0[j].abs().max(1e-3);
                let (mut up, mut down, mut unused) = (p, p, [0.0; PARS]);
                up.0[j] += h;
                down.0[j] -= h;
                let slope = (up.predict(&at, &mut unused) - down.predict(&at, &mut unused)) / (2.0 * h);
                // A few roundings of the current over the step are no slope.
                let rounding = 4e-15 * i.abs() / h;
                prop_assert!(
                    (slope - g).abs() <= 2e-4 * slope.abs() + 1e-6 * i.abs() + 1e-12 + rounding,
                    "parameter {j}: {slope} against {g}"
                );
            }
        }
    }

    #[test]
    fn a_section_at_once_is_its_points_one_by_one() {
        let law = SpaceCharge::MADE;
        let points = (0..11).map(|k| (100.0 + 50.0 * f64::from(k / 4), -0.5 * f64::from(k % 4)));
        let data = Observed { before: 7.0, ..Observed::made(points, |va, vg| law.current(va, vg), |_| 1e-6) };
        let sound = Params::healthy(&law);
        let mut faulty = sound;
        for (par, v) in [(Par::Ceiling, 90.0), (Par::Deficit, 0.2), (Par::LnTau, 1.5), (Par::Continued, 1.0)] {
            faulty.set(par, v);
        }
        let one_by_one: Vec<f64> = data.applied().map(|at| faulty.predict(&at, &mut [0.0; PARS])).collect();
        assert_eq!(faulty.currents_of(&data), one_by_one);
        assert_eq!(faulty.currents(data.applied()), one_by_one);
        // What acts on the current, apart from the space charge.
        let acted = faulty.warming(&faulty.limited(&sound.currents_of(&data)), &data.time, data.before);
        assert_eq!(acted, one_by_one);
        assert!(sound.currents_of(&data).iter().zip(&acted).all(|(sound, acted)| acted < sound));
    }
}
