//! The currents of one section at the bench's terminals: the nodal equations of the grid
//! circuit, solved at each point.
//!
//! With the cathode terminal at 0 V, currents into the tube, and the plate at Va:
//! ```text
//! Ia = p + i + (Va−Vg)/Rag + Va/Rak + (Va−Vh)/Rah + e·share
//! Ig = g − i − e + Vg/Rgk − (Va−Vg)/Rag + (Vg−Vh)/Rgh
//! Ik = Ia + Ig − (what leaves by the heater)
//! Vg = Vs − Rs·Ig
//! ```
//! p and g are the electrons that reach plate and grid, i the ions, e what the grid
//! emits. Leaks enter in closed form, so a cut-off section shows them to the last digit.

use super::defects::{Defects, GridState, ionisation};
use super::maths::root;
use super::tube::VirtualSection;

/// What the bench applies to a section at one point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Plate voltage at the pin, V.
    pub va: f64,
    /// Grid supply, V.
    pub vs: f64,
    /// Resistance from grid supply to grid pin, ohm.
    pub rs: f64,
    /// The most the grid supply gives or takes, A.
    pub grid_limit: f64,
    /// Heater against cathode, V.
    pub vh: f64,
    /// Heater voltage over its rating.
    pub heater: f64,
    /// Resistance in the cathode lead, ohm.
    pub cathode_lead: f64,
    /// Share of the electrons that the cathode gives while it warms up.
    pub warm: f64,
    /// Points taken so far (for what grows with time).
    pub points: f64,
    /// Momentary voltage of an open grid over its rest, V.
    pub wander: f64,
}

impl Default for Drive {
    fn default() -> Self {
        Self {
            va: 0.0,
            vs: 0.0,
            rs: 0.0,
            grid_limit: f64::INFINITY,
            vh: 0.0,
            heater: 1.0,
            cathode_lead: 0.0,
            warm: 1.0,
            points: 0.0,
            wander: 0.0,
        }
    }
}

/// Currents at the leads, A.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Leads {
    /// Into the plate.
    pub ia: f64,
    /// Into the grid.
    pub ig: f64,
    /// Out of the cathode lead.
    pub ik: f64,
    /// The grid's true voltage, V.
    pub vg: f64,
}

/// Fall of the contact potential with the heater voltage, V per unit of ln(Vh/rated): a
/// sound tube then loses 1 to 3 % of its current at 10 % less (order of magnitude from
/// the retention of 90 % and more of reference 3.3; the form is ours).
const HEATER_CONTACT: f64 = 0.2;
/// Step in which a grid voltage that ions push up is searched, V, and the growth of the
/// step: a smaller loop than that is taken as one point.
const SEARCH: (f64, f64) = (0.01, 1.05);
/// Where the search ends, V above the highest of 0 and the linear solution: a section
/// whose ions push it there has run away.
const RUNAWAY: f64 = 60.0;

/// Conductances of the leaks, S.
struct Leaks {
    ak: f64,
    ag: f64,
    gk: f64,
    ah: f64,
    gh: f64,
    hk: f64,
}

impl Leaks {
    fn of(d: &Defects) -> Self {
        let g = |ohm: Option<f64>| ohm.map_or(0.0, |r| 1.0 / r);
        let tied = if let GridState::Tied(ohm) = d.grid { 1.0 / ohm } else { 0.0 };
        Self {
            ak: g(d.plate_cathode),
            ag: g(d.plate_grid),
            gk: g(d.grid_cathode) + tied,
            ah: g(d.plate_heater),
            gh: g(d.grid_heater),
            hk: g(d.heater_cathode),
        }
    }

    fn grid(&self) -> f64 {
        self.ag + self.gk + self.gh
    }
}

/// Electrons and ions inside, A.
#[derive(Debug, Clone, Copy, Default)]
struct Streams {
    plate: f64,
    grid: f64,
    ions: f64,
    emitted: f64,
}

impl Streams {
    /// Current into the grid by electrons and ions.
    fn inward(&self) -> f64 {
        self.grid - self.ions - self.emitted
    }
}

impl VirtualSection {
    /// Currents at the leads.
    ///
    /// Where gas makes several grid voltages possible, the lowest: the one that a section
    /// coming from cutoff finds.
    pub fn leads(&self, drive: &Drive) -> Leads {
        let leaks = Leaks::of(&self.defects);
        let va = drive.va;
        // The open grid: the pin sees leaks at the socket only, the inside floats.
        if let GridState::Open { rest, .. } = self.defects.grid {
            let pin = Drive { va, ..*drive };
            let vg_pin = drive.vs - drive.rs * grid_leak(&leaks, va, drive.vs, drive.vh);
            let mut streams = self.streams(rest + drive.wander, &pin);
            (streams.grid, streams.ions, streams.emitted) = (0.0, 0.0, 0.0);
            return self.sum(&leaks, &streams, vg_pin, drive);
        }
        let vg = self.grid_voltage(&leaks, drive);
        let streams = self.streams(vg, drive);
        let leads = self.sum(&leaks, &streams, vg, drive);
        if leads.ig.abs() <= drive.grid_limit {
            return leads;
        }
        // The grid supply is in limit: it now gives a current.
        let limit = leads.ig.signum() * drive.grid_limit;
        let excess = |v: f64| {
            let s = self.streams(v, drive);
            s.inward() + grid_leak(&leaks, va, v, drive.vh) - limit
        };
        let (low, high) = if limit > 0.0 { (vg.min(-RUNAWAY), vg) } else { (vg, vg.max(va)) };
        let vg = root(low, high, excess);
        let streams = self.streams(vg, drive);
        self.sum(&leaks, &streams, vg, drive)
    }

    fn sum(&self, leaks: &Leaks, s: &Streams, vg: f64, drive: &Drive) -> Leads {
        let (va, vh) = (drive.va, drive.vh);
        let to_plate = self.defects.grid_emission.map_or(0.0, |e| e.to_plate);
        let ia = s.plate + s.ions + s.emitted * to_plate + (va - vg) * leaks.ag + va * leaks.ak + (va - vh) * leaks.ah;
        let ig = s.inward() + grid_leak(leaks, va, vg, vh);
        let heater_lead = (va - vh) * leaks.ah + (vg - vh) * leaks.gh - vh * leaks.hk;
        Leads { ia, ig, ik: ia + ig - heater_lead, vg }
    }

    /// The grid's true voltage, V.
    fn grid_voltage(&self, leaks: &Leaks, drive: &Drive) -> f64 {
        let divisor = 1.0 + drive.rs * leaks.grid();
        let linear = (drive.vs + drive.rs * (drive.va * leaks.ag + drive.vh * leaks.gh)) / divisor;
        let r = drive.rs / divisor;
        if r == 0.0 {
            return linear;
        }
        let at_linear = self.streams(linear, drive);
        if at_linear.inward() == 0.0 {
            return linear;
        }
        let off = |v: f64| v - linear + r * self.streams(v, drive).inward();
        // Every solution lies above the one that electrons alone would allow.
        let mut low = linear - r * at_linear.grid;
        if at_linear.ions == 0.0 && at_linear.emitted == 0.0 && self.defects.gas.is_none() {
            return root(low, linear, off);
        }
        let end = linear.max(0.0) + RUNAWAY;
        let mut step = SEARCH.0;
        while low < end {
            let high = low + step;
            if off(high) >= 0.0 {
                return root(low, high, off);
            }
            (low, step) = (high, step * SEARCH.1);
        }
        end
    }

    /// What flows inside with the grid at `vg`.
    fn streams(&self, vg: f64, drive: &Drive) -> Streams {
        let d = &self.defects;
        let emitted = d.grid_emission.map_or(0.0, |e| e.at(vg, drive.points));
        if d.dead {
            return Streams { emitted: 0.0, ..Streams::default() };
        }
        let va = drive.va;
        let series = d.interface.unwrap_or(0.0) + drive.cathode_lead;
        let (mut plate, mut grid) = self.demand(va, vg, drive);
        if series > 0.0 && plate + grid > 0.0 {
            // The cathode's surface is higher by the drop: less current, one solution.
            let total = |ik: f64| {
                let (p, g) = self.demand(va - series * ik, vg - series * ik, drive);
                p + g
            };
            let ik = root(0.0, plate + grid, |ik| ik - total(ik));
            (plate, grid) = self.demand(va - series * ik, vg - series * ik, drive);
        }
        let ions = d.gas.map_or(0.0, |k| k * ionisation(va) * plate);
        Streams { plate, grid, ions, emitted }
    }

    /// Electrons to plate and grid with the cathode's surface at 0 V, A.
    fn demand(&self, va: f64, vg: f64, drive: &Drive) -> (f64, f64) {
        let d = &self.defects;
        let vg = vg + d.contact + HEATER_CONTACT * libm::log(drive.heater.max(0.1));
        let form = self.form.with_mu_times(d.mu.unwrap_or(1.0));
        let mut space = form.current(va, vg);
        if let Some(u) = d.uneven {
            let coarse = form.with_mu_times(u.mu_ratio).current(va, vg);
            space = (1.0 - u.share) * space + u.share * coarse;
        }
        let scale = d.perveance.unwrap_or(1.0) * drive.warm;
        let space = space * scale;
        let grid = self.grid.current(va, vg) * scale;
        // Where the law is the cathode's current, the grid takes its part of it.
        let plate = if form.is_cathode_current() { (space - grid).max(0.0) } else { space };
        let total = plate + grid;
        if total <= 0.0 {
            return (0.0, 0.0);
        }
        let mut left = self.reserve.limit(total, va, drive.heater);
        if let Some(ceiling) = d.ceiling {
            left = ceiling.limit(left, va, drive.heater);
        }
        (plate * left / total, grid * left / total)
    }
}

/// Current of the grid's leaks into the grid, A.
fn grid_leak(leaks: &Leaks, va: f64, vg: f64, vh: f64) -> f64 {
    vg * leaks.gk - (va - vg) * leaks.ag + (vg - vh) * leaks.gh
}

/// Loop gain of gas through the grid source resistance at a transconductance `gm` in S:
/// gm is raised by 1/(1 − this).
pub fn gas_loop(gm: f64, rs: f64, ratio: f64, va: f64) -> f64 {
    gm * rs * ratio * ionisation(va)
}

/// The supply's current limit on a section: plate voltage at which it draws `limit`, V.
pub(super) fn limited_plate(section: &VirtualSection, drive: &Drive, limit: f64) -> f64 {
    root(0.0, drive.va, |va| section.leads(&Drive { va, ..*drive }).ia - limit)
}

/// Plate voltage behind a supply of resistance `ohm` set to `drive.va`, V.
pub(super) fn sagged_plate(section: &VirtualSection, drive: &Drive, ohm: f64) -> f64 {
    let set = drive.va;
    let drop = ohm * section.leads(drive).ia;
    root(set - drop, set, |va| va - set + ohm * section.leads(&Drive { va, ..*drive }).ia)
}
