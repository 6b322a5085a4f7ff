//! How a tube was measured, and what of the bench was ruled out.

use maud::{Markup, html};

use super::{is_bench, title};
use crate::faults;
use crate::figure::volts;
use crate::report::{TubeReport, number, percent};
use crate::sweep::Tube;

/// Held voltages that are named one by one; of more only the ends.
const MOST_NAMED: usize = 8;

/// A table of how it was measured: what was not stated says so.
pub(super) fn how(tube: &Tube) -> Markup {
    let stated = |value: Option<f64>, unit: &str| value.map_or_else(|| "not stated".into(), |v| number(v, unit));
    let points = || tube.sections.iter().map(|s| &s.points);
    let rows: [(&str, String); 9] = [
        ("Sections", tube.sections.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", ")),
        ("Points", tube.point_count().to_string()),
        ("Plate voltages", levels(points().flat_map(|p| p.va.iter().copied()))),
        ("Grid voltages", ends(points().flat_map(|p| p.vg.iter().copied()))),
        ("Grid current", if points().any(|p| p.ig.is_some()) { "measured" } else { "not measured" }.into()),
        ("Heater voltage", stated(tube.bench.heater_voltage, "V")),
        ("Grid resistor", stated(tube.bench.grid_source_resistance, "ohm")),
        (
            "Current meter",
            tube.bench
                .current_meter
                .map_or("not stated; taken as in the plate lead".into(), |m| format!("in the {}", m.words())),
        ),
        ("Bench's limit", stated(tube.bench.current_limit, "A")),
    ];
    html! {
        dl.how {
            @for (name, text) in &rows { div { dt { (name) } dd { (text) } } }
            div { dt { "From" } dd { (files(tube)) } }
        }
    }
}

/// The files' names, without the folders they are in.
fn files(tube: &Tube) -> String {
    let name = |source: &String| source.rsplit(['/', '\\']).next().unwrap_or(source).to_owned();
    tube.source.iter().map(name).collect::<Vec<_>>().join(", ")
}

/// The voltages that were held, or where they begin and end.
fn levels(values: impl Iterator<Item = f64>) -> String {
    let mut all: Vec<f64> = values.filter(|v| v.is_finite()).map(|v| (v * 10.0).round() / 10.0).collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    match all.as_slice() {
        [] => "none".into(),
        few if few.len() <= MOST_NAMED => few.iter().map(|v| volts(*v)).collect::<Vec<_>>().join(", "),
        [first, .., last] => format!("{} to {}", volts(*first), volts(*last)),
        [only] => volts(*only),
    }
}

fn ends(values: impl Iterator<Item = f64>) -> String {
    let (low, high) =
        values.filter(|v| v.is_finite()).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    if low > high { "none".into() } else { format!("{} to {}", volts(low), volts(high)) }
}

/// What of the bench was looked for, and what came of it.
pub(super) fn ruled_out(report: &TubeReport) -> Markup {
    let mut out: Vec<String> = Vec::new();
    let mut open: Vec<String> = Vec::new();
    for bench in faults::ALL.iter().filter(|f| f.is_bench()) {
        if report.findings.iter().any(|f| f.fault == bench.name()) {
            continue;
        }
        let name = bench.title().to_lowercase();
        if report.blind.iter().any(|b| b.fault == bench.name()) { open.push(name) } else { out.push(name) }
    }
    let found: Vec<_> = report.findings.iter().filter(|f| is_bench(&f.fault)).collect();
    html! {
        @if !out.is_empty() { p { "Looked for and not seen: " (out.join(", ")) "." } }
        @if !open.is_empty() { p { "Could not be checked with this sweep: " (open.join(", ")) "." } }
        @for f in found {
            p { "Seen (" (percent(f.confidence)) "): " (title(&f.fault)) ". " (f.evidence) }
        }
    }
}
