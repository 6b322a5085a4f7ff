//! A stage over a lot.

use sweepbook_core::report::engineering;
use sweepbook_core::stage::{Across, AtWork, Spread, Working, Works};

use super::paragraph;

/// Each section a paragraph, then the spread.
pub fn stage(across: &Across, width: usize) -> String {
    let mut out = String::new();
    for at in &across.sections {
        out += &paragraph(&section(at), width);
    }
    out.push('\n');
    let between = |what: &str, spread: Option<Spread>, says: fn(f64) -> String| {
        spread.map(|s| format!("{what} {} to {}", says(s.least), says(s.most)))
    };
    let parts: Vec<String> = [
        between("plate current", across.ia, |v| engineering(v, "A")),
        between("gain", across.gain, |v| format!("{v:.1}")),
        between("a trimmer that sets all of them to the middle current covers", across.trim, |v| format!("{v:.2} V")),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !parts.is_empty() {
        let works = across.sections.iter().filter(|s| matches!(s.works, Works::Yes(_))).count();
        out += &paragraph(&format!("Over {works} of {} sections: {}.", across.sections.len(), parts.join("; ")), width);
    }
    out += &paragraph(
        "From the fitted curves; plate supplies kill, and building and measuring a stage follow the electrical rules of the place where you are.",
        width,
    );
    out
}

fn section(at: &AtWork) -> String {
    let name = format!("{}, section {}", at.tube, at.section);
    match &at.works {
        Works::No { why } => format!("{name}: does not work in it: {why}."),
        Works::Yes(working) => format!("{name}: {}.", says(working)),
    }
}

fn says(w: &Working) -> String {
    let (p, s) = (&w.point, &w.signal);
    let interval = w
        .ia_between
        .map_or_else(String::new, |(low, high)| format!(" ({} to {})", engineering(low, "A"), engineering(high, "A")));
    let rating = w.of_rating.map_or_else(String::new, |share| {
        format!(", {:.0} % of its rating{}", 100.0 * share, if share > 1.0 { ": TOO MUCH" } else { "" })
    });
    let second = s.second.map_or_else(
        || format!("cannot give {:.0} V peak", s.at),
        |h| format!("second harmonic {:.2} % at {:.0} V peak", 100.0 * h, s.at),
    );
    let mut parts = vec![
        format!("{}{interval}", engineering(p.ia, "A")),
        format!("plate {:.0} V and grid {:.2} V to the cathode", p.va, p.vg),
        format!("gain {:.1}", s.gain),
        format!("output resistance {}", engineering(s.output_resistance, "ohm")),
        format!("up to {:.2} V in and {:.0} V out, peak", s.most_in, s.most_out),
        second,
        format!("{}{rating}", engineering(p.dissipation, "W")),
    ];
    for shift in &w.shifts {
        let then =
            shift.ia.map_or_else(|| "it no longer works".to_owned(), |ia| format!("{} flow", engineering(ia, "A")));
        let name = shift.fault.replace('-', " ");
        if shift.grid_current == 0.0 {
            parts.push(format!("with the {name} {then} into the load"));
            continue;
        }
        let largest = shift.largest_grid_resistor.map_or_else(String::new, |ohm| {
            format!("; for a change of 10 % at most {} at the grid", engineering(ohm, "ohm"))
        });
        let margin = shift.loop_gain.map_or_else(String::new, |gain| {
            if gain < 1.0 {
                format!("; it runs away from {:.1} times as much gas or grid resistor on", 1.0 / gain)
            } else {
                "; it runs away".to_owned()
            }
        });
        parts.push(format!("{name} lifts the grid by {:.2} V, and {then}{largest}{margin}", shift.lifts));
    }
    parts.join("; ")
}
