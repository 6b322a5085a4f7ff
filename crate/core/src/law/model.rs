//! The law with what a fault or the bench does to it, as a function of its
//! parameters, with all derivatives.
//!
//! Terms that feed the measured current back into the voltages (a resistance in
//! the cathode lead) use the reading itself: the equation that would have to be
//! solved at every point becomes explicit, at the price of the reading's noise,
//! which is small against the current.

use super::space_charge::{NARROWEST, SpaceCharge};

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

    /// The space-charge law alone.
    pub fn law(&self) -> SpaceCharge {
        self.law_with(self.get(Par::LnMu), libm::exp(-self.get(Par::LnMu)))
    }

    /// The law of a part of the cathode; `thin` is 1/mu of the whole.
    fn law_with(&self, ln_mu: f64, thin: f64) -> SpaceCharge {
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

    /// Computes once what is the same at all points.
    pub fn ready(&self) -> Ready<'_> {
        let thin = libm::exp(-self.get(Par::LnMu));
        let coarse = self.get(Par::LnMu) + self.get(Par::LnRatio);
        Ready {
            p: self,
            kappa: libm::exp(self.get(Par::LnKappa)),
            sharp: libm::exp(self.get(Par::LnSharp)),
            thin,
            fine: self.law_with(self.get(Par::LnMu), thin),
            coarse: (self.get(Par::Share) != 0.0).then(|| self.law_with(coarse, thin)),
        }
    }

    /// As [`Ready::predict`], for one point.
    pub fn predict(&self, at: &Applied, gradient: &mut [f64; PARS]) -> f64 {
        self.ready().predict(at, gradient)
    }
}

/// Parameters ready to predict many points.
#[derive(Debug, Clone, Copy)]
pub struct Ready<'a> {
    p: &'a Params,
    /// Scale of the grid axis.
    kappa: f64,
    /// Exponent with which the ceiling is approached.
    sharp: f64,
    /// 1/mu.
    thin: f64,
    /// The law of the finer part of the grid, and of the coarser where there is one.
    fine: SpaceCharge,
    coarse: Option<SpaceCharge>,
}

impl Ready<'_> {
    fn get(&self, par: Par) -> f64 {
        self.p.get(par)
    }

    /// The current that the plate meter should read, A, and its derivative by
    /// every parameter.
    pub fn predict(&self, at: &Applied, gradient: &mut [f64; PARS]) -> f64 {
        *gradient = [0.0; PARS];
        let Applied { va, anode, vg, plate, reading, time, before } = *at;
        let time = time + self.get(Par::Continued) * before;
        let ri = self.get(Par::Ri);
        let inner_va = va - ri * reading;
        let inner_vg = self.kappa * vg - ri * reading;

        let share = self.get(Par::Share);
        let fine = self.part(&self.fine, inner_va, inner_vg);
        fine.add_to(1.0 - share, gradient);
        let mut i = (1.0 - share) * fine.i;
        let mut by_vg = (1.0 - share) * fine.by_vg;
        let mut by_va = (1.0 - share) * fine.by_va;
        if let Some(coarse) = &self.coarse {
            let coarse = self.part(coarse, inner_va, inner_vg);
            coarse.add_to(share, gradient);
            gradient[Par::LnRatio as usize] = share * coarse.by_own_mu;
            gradient[Par::Share as usize] = coarse.i - fine.i;
            i += share * coarse.i;
            by_vg += share * coarse.by_vg;
            by_va += share * coarse.by_va;
        }
        gradient[Par::Ri as usize] = -(by_vg + by_va) * reading;
        gradient[Par::LnKappa as usize] = by_vg * self.kappa * vg;

        let i = self.pull(i, plate, gradient);
        let reciprocal = self.get(Par::Ceiling);
        let i = self.limit(i, reciprocal, gradient);
        let i = self.warm(i, time, gradient);

        gradient[Par::I0 as usize] = 1.0;
        gradient[Par::Gak as usize] = anode;
        gradient[Par::Gga as usize] = anode - vg;
        i + self.get(Par::I0) + self.get(Par::Gak) * anode + self.get(Par::Gga) * (anode - vg)
    }

    /// Bends the current towards the ceiling: I/(1 + (I·s)ⁿ)^(1/n).
    fn limit(&self, i: f64, s: f64, gradient: &mut [f64; PARS]) -> f64 {
        let n = self.sharp;
        let load = (i * s.abs()).max(0.0);
        if load < 1e-9 {
            // d/ds of I·(1 − (I·s)ⁿ/n) vanishes with s for n > 1; the fit starts
            // from a ceiling that is felt.
            return i;
        }
        let ln_load = libm::log(load);
        let power = libm::exp(n * ln_load);
        let base = 1.0 + power;
        let ln_base = libm::log1p(power);
        let bent = libm::exp(-ln_base / n);
        let out = i * bent;
        let slope = bent / base;
        for g in gradient.iter_mut() {
            *g *= slope;
        }
        gradient[Par::Ceiling as usize] = -out * power / base / s;
        // d ln(out)/dn = ln(base)/n² − power·ln(load)/(n·base); by ln n times n.
        gradient[Par::LnSharp as usize] = out * (ln_base / n - power * ln_load / base);
        out
    }

    /// What the plate adds in a pentode: 1 + λ·V.
    fn pull(&self, i: f64, plate: f64, gradient: &mut [f64; PARS]) -> f64 {
        if plate == 0.0 {
            return i;
        }
        let factor = 1.0 + self.get(Par::Plate) * plate;
        for g in gradient.iter_mut() {
            *g *= factor;
        }
        gradient[Par::Plate as usize] = i * plate;
        i * factor
    }

    /// Takes off what a cathode that is still warming lacks: 1 − D·exp(−t/τ).
    fn warm(&self, i: f64, time: f64, gradient: &mut [f64; PARS]) -> f64 {
        let deficit = self.get(Par::Deficit);
        if deficit == 0.0 {
            return i;
        }
        let tau = libm::exp(self.get(Par::LnTau));
        let left = libm::exp(-time / tau);
        let factor = 1.0 - deficit * left;
        for g in gradient.iter_mut() {
            *g *= factor;
        }
        gradient[Par::Deficit as usize] = -i * left;
        gradient[Par::LnTau as usize] = -i * deficit * left * time / tau;
        i * factor
    }

    fn part(&self, law: &SpaceCharge, va: f64, vg: f64) -> Part {
        // A plate driven below the cathode by the feedback term draws nothing more.
        let va = va.max(0.0);
        let k = law.inner(va, vg);
        let du = k.di_de * k.de_du;
        let dw = k.di_de * k.de_dw;
        let root = law.root(va);
        // A width at its least no longer depends on what it is made of.
        let free = if k.w > NARROWEST { 1.0 } else { 0.0 };
        let mut by = [0.0; PARS];
        by[Par::LnP as usize] = k.i;
        by[Par::Phi as usize] = du;
        by[Par::X as usize] = if k.i > 0.0 { k.i * k.ln_e } else { 0.0 };
        by[Par::W0 as usize] = dw * free;
        by[Par::Spread as usize] = dw * free * va * self.thin;
        by[Par::LnMu as usize] = -du * va / law.mu - dw * free * va * law.w1;
        by[Par::Kvb as usize] = -0.5 * du * vg * va / root.powi(3);
        by[Par::Kvl as usize] = by[Par::Kvb as usize] * va;
        let hold_slope = (law.kvb + 0.5 * law.kvl * va) / root.powi(3);
        Part {
            i: k.i,
            by_own_mu: -du * va / law.mu,
            by_vg: du * k.hold,
            by_va: du * (1.0 / law.mu + vg * hold_slope) + dw * free * law.w1,
            by,
        }
    }
}

/// One part of the cathode: its current and derivatives.
struct Part {
    i: f64,
    by_vg: f64,
    by_va: f64,
    /// By ln of this part's own mu, the width of the bend held.
    by_own_mu: f64,
    by: [f64; PARS],
}

impl Part {
    fn add_to(&self, share: f64, gradient: &mut [f64; PARS]) {
        for (g, by) in gradient.iter_mut().zip(&self.by) {
            *g += share * by;
        }
    }
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
                prop_assert!(
                    (slope - g).abs() <= 2e-4 * slope.abs() + 1e-6 * i.abs() + 1e-12,
                    "parameter {j}: {slope} against {g}"
                );
            }
        }
    }
}
