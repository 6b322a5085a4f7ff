//! The data and the code that reads it, held against each other and against outside figures.

mod data;
mod labels;
mod laws;
mod user;

use super::{Handbook, Limits, Point, Section, Type, Value};

/// Every figure of the shipped handbook, with its place.
fn figures() -> Vec<(String, &'static Value)> {
    let book = Handbook::shipped();
    let mut all = Vec::new();
    for tube in book.all() {
        for (i, heater) in tube.heaters.iter().enumerate() {
            all.push((format!("{} heater {i} V", tube.name), &heater.voltage));
            all.push((format!("{} heater {i} A", tube.name), &heater.current));
        }
        all.extend(tube.plate_dissipation_all.iter().map(|v| (format!("{} pa_all", tube.name), v)));
        all.extend(of_limits(&tube.limits).map(|v| (format!("{} limits", tube.name), v)));
        for (s, section) in tube.groups.iter().enumerate() {
            let place = format!("{} section {s}", tube.name);
            all.extend(of_section(section).into_iter().map(|v| (place.clone(), v)));
        }
    }
    all.extend(
        book.class_limits.iter().flat_map(|(_, limits)| of_limits(limits)).map(|v| ("class limits".to_owned(), v)),
    );
    all
}

fn of_limits(l: &Limits) -> impl Iterator<Item = &Value> {
    [
        &l.grid_current,
        &l.grid_current_end,
        &l.insulation,
        &l.insulation_end,
        &l.heater_cathode,
        &l.balance,
        &l.end_of_life,
    ]
    .into_iter()
    .flatten()
}

fn of_section(s: &Section) -> Vec<&Value> {
    let r = &s.ratings;
    let mut all: Vec<&Value> = [
        &r.plate_voltage,
        &r.screen_voltage,
        &r.plate_dissipation,
        &r.screen_dissipation,
        &r.cathode_current,
        &r.heater_cathode,
        &r.grid_negative,
        &r.peak_inverse,
        &r.output_current,
        &s.grid_resistor.cathode_bias,
        &s.grid_resistor.fixed_bias,
    ]
    .into_iter()
    .flatten()
    .collect();
    all.extend(s.points.iter().flat_map(|p| [&p.ia, &p.ig2, &p.gm, &p.mu, &p.rp]).flatten());
    all
}

/// Every operating point of the shipped handbook.
fn points() -> impl Iterator<Item = (&'static Type, &'static Section, &'static Point)> {
    super::all().iter().flat_map(|t| t.groups.iter().flat_map(move |s| s.points.iter().map(move |p| (t, s, p))))
}
