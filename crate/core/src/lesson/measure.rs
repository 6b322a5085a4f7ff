//! Puts a virtual tube on the virtual bench.

use super::bench::{Family, Order, Resolution, VirtualBench};
use super::circuit::{Drive, Leads, limited_plate, sagged_plate};
use super::defects::{GridState, Intermittent};
use super::dice::Dice;
use super::tube::{VirtualSection, VirtualTube};
use crate::sweep::{Bench, MeterPlace, Points, Section, Tube};

/// Table units that make one ampere: plate current is shown in mA, grid current in µA.
const MILLI: f64 = 1e3;
const MICRO: f64 = 1e6;
/// Readings of a true plate voltage are shown to this many steps a volt.
const VOLT_STEPS: f64 = 100.0;
/// Share of the plate current that an oscillating grid rectifies at full depth (order of
/// magnitude; no source).
const RECTIFIED: f64 = 0.01;
/// How far a disturbance scatters about its usual factor (standard deviation of ln).
const DISTURBANCE_SCATTER: f64 = 0.2;
/// An open grid's wander keeps this share of itself from point to point.
const WANDER_KEEPS: f64 = 0.98;

/// Measures a tube. The same arguments give the same sweep, natively and in the page.
pub fn measure(tube: &VirtualTube, bench: &VirtualBench, seed: u64) -> Tube {
    let visits = bench.visits();
    let mut taken = 0;
    let sections = tube
        .sections
        .iter()
        .enumerate()
        .map(|(i, section)| {
            let mut run = Run::new(bench, section, seed, i, taken);
            let points = run.sweep(&visits);
            taken += visits.len();
            Section { name: section.name.clone(), points }
        })
        .collect();
    Tube {
        name: tube.name.clone(),
        source: Vec::new(),
        kind: tube.label.clone(),
        notes: Vec::new(),
        bench: stated(tube, bench),
        sections,
    }
}

/// One point to be taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visit {
    /// Set plate voltage, V.
    pub va: f64,
    /// Set grid voltage, V.
    pub vg: f64,
    /// Number of the repeat, from 1.
    pub repeat: u32,
}

impl VirtualBench {
    /// The points of one section, in measuring order.
    pub fn visits(&self) -> Vec<Visit> {
        let mut curves: Vec<Vec<(f64, f64)>> = Vec::new();
        for family in &self.plan {
            match family {
                Family::Transfer { plates, grid } => {
                    curves.extend(plates.iter().map(|&va| grid.values().into_iter().map(|vg| (va, vg)).collect()));
                }
                Family::Plate { grids, plate } => {
                    curves.extend(grids.iter().map(|&vg| plate.values().into_iter().map(|va| (va, vg)).collect()));
                }
            }
        }
        if self.order == Order::LastFirst {
            curves.reverse();
        }
        let mut visits = Vec::new();
        for mut curve in curves {
            if self.order == Order::Backwards {
                curve.reverse();
            }
            visits.extend(curve.iter().map(|&(va, vg)| Visit { va, vg, repeat: 1 }));
            if self.order == Order::ThereAndBack {
                visits.extend(curve.iter().rev().map(|&(va, vg)| Visit { va, vg, repeat: 2 }));
            }
        }
        visits
    }

    /// What a section sees at one point.
    fn drive(&self, visit: &Visit) -> Drive {
        Drive {
            va: visit.va,
            vs: visit.vg * self.grid_gain + self.grid_offset,
            rs: self.grid_source_resistance,
            grid_limit: self.grid_supply_limit,
            vh: self.heater_bias,
            heater: self.heater,
            cathode_lead: self.cathode_burden,
            ..Drive::default()
        }
    }
}

/// What the file says of the bench.
fn stated(tube: &VirtualTube, bench: &VirtualBench) -> Bench {
    let says = bench.states;
    Bench {
        grid_source_resistance: says.grid_source_resistance.then_some(bench.grid_source_resistance),
        current_meter: says.meter.then_some(bench.meter),
        heater_voltage: says.heater.then(|| (tube.heater_voltage * bench.heater * 1e3).round() / 1e3),
        heater_cathode: Vec::new(),
        screen_voltage: None,
        current_limit: bench.current_limit.filter(|_| says.limit),
        current_resolution: match bench.plate_meter.resolution {
            Resolution::Step(step) if says.resolution => Some(step),
            _ => None,
        },
    }
}

/// One section on the bench.
struct Run<'a> {
    bench: &'a VirtualBench,
    section: &'a VirtualSection,
    /// Noise of the meters.
    noise: Dice,
    /// What the tube does by chance.
    fate: Dice,
    /// Points taken before this section.
    before: usize,
    wander: f64,
    disturbed: Option<f64>,
}

impl<'a> Run<'a> {
    fn new(bench: &'a VirtualBench, section: &'a VirtualSection, seed: u64, index: usize, before: usize) -> Self {
        Self {
            bench,
            section,
            noise: Dice::new(seed, &format!("noise of section {index}")),
            fate: Dice::new(seed, &format!("fate of section {index}")),
            before,
            wander: 0.0,
            disturbed: None,
        }
    }

    fn sweep(&mut self, visits: &[Visit]) -> Points {
        let mut points = Points::default();
        let repeats = visits.iter().any(|v| v.repeat > 1);
        for (n, visit) in visits.iter().enumerate() {
            let (va, leads) = self.true_currents(n, visit);
            if self.bench.most_watts.is_some_and(|w| va * leads.ia > w) {
                continue;
            }
            let reading = match self.bench.meter {
                MeterPlace::PlateLead => leads.ia,
                MeterPlace::CathodeLead => leads.ik,
            };
            let shown = if self.bench.reads_plate_voltage { (va * VOLT_STEPS).round() / VOLT_STEPS } else { visit.va };
            points.va.push(shown);
            points.vg.push(visit.vg);
            points.ia.push(self.bench.plate_meter.read(reading, MILLI, &mut self.noise));
            if let Some(meter) = &self.bench.grid_meter {
                points.ig.get_or_insert_default().push(meter.read(leads.ig, MICRO, &mut self.noise));
            }
            if let Some(seconds) = self.bench.clock {
                let time = ((self.before + n) as f64 * seconds * 1e3).round() / 1e3;
                points.time.get_or_insert_default().push(time);
            }
            if repeats {
                points.repeat.get_or_insert_default().push(f64::from(visit.repeat));
            }
        }
        points
    }

    /// The plate's voltage and the currents at point `n`.
    fn true_currents(&mut self, n: usize, visit: &Visit) -> (f64, Leads) {
        let bench = self.bench;
        let mut drive = bench.drive(visit);
        drive.points = n as f64;
        if let Some(w) = bench.warm_up {
            drive.warm = w.at(if w.each_section { n } else { self.before + n });
        }
        if let GridState::Open { wander, .. } = self.section.defects.grid {
            let fresh = libm::sqrt(1.0 - WANDER_KEEPS * WANDER_KEEPS) * self.fate.normal();
            self.wander = WANDER_KEEPS * self.wander + wander * fresh;
            drive.wander = self.wander;
        }
        if bench.plate_sag > 0.0 {
            drive.va = sagged_plate(self.section, &drive, bench.plate_sag);
        }
        let mut leads = self.section.leads(&drive);
        if let Some(factor) = self.disturbance() {
            leads = Leads { ia: leads.ia * factor, ig: leads.ig * factor, ik: leads.ik * factor, ..leads };
        }
        if let Some(o) = bench.oscillation {
            let (gm, _) = self.section.form.slopes(drive.va, leads.vg);
            if gm > o.from && !self.section.defects.dead {
                let depth = o.depth * (gm / o.from).min(2.0) * 0.5 + o.scatter * self.fate.normal();
                leads.ig += RECTIFIED * o.depth.abs() * leads.ia;
                leads.ia *= 1.0 - depth;
                leads.ik = leads.ia + leads.ig;
            }
        }
        if let Some(limit) = bench.current_limit
            && leads.ia > limit
        {
            drive.va = limited_plate(self.section, &drive, limit);
            leads = Leads { ia: limit, ..self.section.leads(&drive) };
            leads.ik = leads.ik.min(limit + leads.ig);
        }
        (drive.va, leads)
    }

    /// The factor of a disturbance, if there is one at this point.
    fn disturbance(&mut self) -> Option<f64> {
        let Intermittent { share, run, factor } = self.section.defects.intermittent?;
        let (share, run) = (share.clamp(0.0, 0.99), run.max(1.0));
        let chance = if self.disturbed.is_some() { 1.0 - 1.0 / run } else { share / (run * (1.0 - share)) };
        let on = self.fate.chance(chance);
        let scatter = super::maths::exp(DISTURBANCE_SCATTER * self.fate.normal());
        self.disturbed = on.then(|| self.disturbed.unwrap_or(factor * scatter));
        self.disturbed
    }
}
