//! One tube's page.

use maud::{Markup, PreEscaped, html};

use super::lot::words;
use super::{Entry, Said, against, bench, caution, heading, is_bench, result, title};
use crate::figure::{Figure as Drawing, Options, fitting_axis, svg};
use crate::handbook::{self, Point};
use crate::report::{
    self, Blind, Finding, Mark, TubeReport, Verdict, at, interval, likelihood, number, percent, place, sentence, tied,
};
use crate::sorting::sort;
use crate::sweep::{Bench, Points, Section, Tube};

/// Probability from which a finding is told as such; below it stands among what else was
/// weighed (more likely than not).
pub(super) const LIKELY: f64 = 0.5;
/// Findings told in full; a page has no room for more (judgement, no source).
const MOST_IN_FULL: usize = 3;
/// Faults that show in the grid current.
const IN_GRID_CURRENT: [&str; 4] = ["gas", "grid-emission", "grid-cathode-leakage", "plate-grid-leakage"];
/// Size of a drawing, CSS pixels: half the width of a page.
const DRAWING: (f64, f64) = (400.0, 224.0);

/// The page; `alone` where no summary says the sender's words.
pub(super) fn page(entry: &Entry, mate: Option<&Tube>, said: &Said, alone: bool) -> Markup {
    let (tube, report) = (entry.tube, entry.report);
    let of_tube = |f: &&Finding| !is_bench(&f.fault);
    let likely: Vec<&Finding> = report.findings.iter().filter(of_tube).filter(|f| f.confidence >= LIKELY).collect();
    let marks: Vec<Mark> = likely.iter().flat_map(|f| f.marks.iter().cloned()).collect();
    let grid = likely.iter().any(|f| IN_GRID_CURRENT.contains(&f.fault.as_str()));
    html! {
        article {
            h1 { "Tube " (tube.name) }
            p.kind { (tube.kind.as_deref().map_or("type not stated".to_owned(), |k| format!("marked {k}"))) }
            (heading(said))
            p.result { (result(report.verdict)) }
            @if report.verdict != Verdict::Accept { ul { @for reason in &report.reasons { li { (reason) } } } }
            @if alone { (words(said)) }
            div.figures {
                (figure(tube, &marks, grid, if marks.is_empty() { "The curves of this tube." } else { "This tube; the points that the finding rests on are ringed." }))
                (beside(tube, mate, grid))
            }
            @if !likely.is_empty() {
                h2 { "What the measurement shows" }
                @for f in likely.iter().take(MOST_IN_FULL) { (finding(f, tube)) }
                @if likely.len() > MOST_IN_FULL {
                    p { "And: " @for (i, f) in likely[MOST_IN_FULL..].iter().enumerate() { @if i > 0 { "; " } (title(&f.fault)) ", " (place(f.section.as_deref(), false)) " (" (percent(f.confidence)) ")" } "." }
                }
            }
            (figures(report, tube))
            h2 { "How it was measured" }
            (bench::how(tube))
            h2 { "On the side of the bench" }
            (bench::ruled_out(report))
            h2 { "What cannot be concluded" }
            (blind(&report.blind))
            (caution())
        }
    }
}

fn finding(f: &Finding, tube: &Tube) -> Markup {
    let limit = against::published(&f.fault, tube.kind.as_deref());
    html! {
        div.finding {
            h3 { (title(&f.fault)) ", " (place(f.section.as_deref(), false)) ": " (likelihood(f.confidence)) " (" (tied(&percent(f.confidence))) ")" }
            @if let Some(v) = &f.value {
                p.size { (v.quantity) " " strong { (number(v.estimate, &v.unit)) }
                    @if let Some(interval) = interval(v) { " (95 % interval: " (interval) ")" } }
            }
            p { (f.evidence) }
            @if let Some(limit) = limit {
                p { "Held against: " (limit.says) ". " span.soft { (limit.source) @if !limit.verified { " (unverified: no sheet was read for it)" } "." } }
            }
            @if !f.alternatives.is_empty() {
                p { "Weighed against it: "
                    @for (i, a) in f.alternatives.iter().enumerate() { @if i > 0 { "; " } (title(&a.fault)) " (" (tied(&percent(a.confidence))) ")" } "." }
            }
            @if !f.confirm.is_empty() { p { "What would settle it: " (f.confirm) } }
        }
    }
}

/// A drawing with its caption; the caption alone where it cannot be drawn.
fn figure(tube: &Tube, marks: &[Mark], grid: bool, caption: &str) -> Markup {
    let options =
        Options { width: DRAWING.0, height: DRAWING.1, current: fitting_axis(tube, marks), grid_current: grid };
    let drawn = svg(&Drawing::new(tube, &options), caption, marks, None).unwrap_or_default();
    html! { figure { (PreEscaped(drawn)) figcaption { (caption) } } }
}

/// A sound mate of the lot, or the published law of the type at the same points.
fn beside(tube: &Tube, mate: Option<&Tube>, grid: bool) -> Markup {
    if let Some(mate) = mate {
        return figure(
            mate,
            &[],
            grid,
            &format!("For comparison: no fault was found in tube {} of the same lot.", mate.name),
        );
    }
    match published(tube) {
        Some((tube, says)) => figure(&tube, &[], false, &says),
        None => html! {},
    }
}

/// What a type does at this sweep's voltages, by its published law.
fn published(tube: &Tube) -> Option<(Tube, String)> {
    let kind = handbook::find(tube.kind.as_deref()?)?;
    let mut cited = None;
    let sections: Option<Vec<Section>> = tube
        .sections
        .iter()
        .enumerate()
        .map(|(i, section)| {
            let law = kind.section(i)?.law.as_ref()?;
            cited.get_or_insert_with(|| format!("{}, after {}", law.source.citation, law.sheet));
            let p = &section.points;
            let screen = |at: usize| p.vg2.as_ref().map(|c| c[at]).or(tube.bench.screen_voltage);
            let ia = (0..p.len()).map(|at| law.plate_current(p.va[at], p.vg[at], screen(at))).collect();
            let points = Points { va: p.va.clone(), vg: p.vg.clone(), ia, ..Points::default() };
            Some(Section { name: section.name.clone(), points })
        })
        .collect();
    let says = format!("For comparison: a {} as published. {}. Single tubes spread about it.", kind.name, cited?);
    let bench = Bench::default();
    Some((
        Tube { name: kind.name.clone(), source: Vec::new(), kind: None, notes: Vec::new(), bench, sections: sections? },
        says,
    ))
}

/// Measured figures beside those of the handbook.
fn figures(report: &TubeReport, tube: &Tube) -> Markup {
    type Pick = fn(&report::Figures) -> Option<&report::Figure>;
    type Typical = fn(&Point) -> Option<&handbook::Value>;
    const ROWS: [(&str, Pick, Typical); 4] = [
        ("transconductance gm", |f| f.gm.as_ref(), |p| p.gm.as_ref()),
        ("amplification factor mu", |f| f.mu.as_ref(), |p| p.mu.as_ref()),
        ("plate resistance rp", |f| f.rp.as_ref(), |p| p.rp.as_ref()),
        ("plate current Ia", |f| f.ia.as_ref(), |p| p.ia.as_ref()),
    ];
    let kind = tube.kind.as_deref().and_then(handbook::find);
    // A published figure is put beside measured ones only where both are of one operating point.
    let typical = |i: usize, figure: &report::Figure, pick: Typical| {
        let point = kind?.section(i)?.points.iter().find(|p| p.va == figure.at.va && p.vg == figure.at.vg)?;
        let value = pick(point)?;
        Some((number(value.value, &figure.unit), value.source.citation.clone()))
    };
    let of = |pick: Pick| report.sections.iter().enumerate().filter_map(move |(i, s)| Some((i, pick(&s.figures)?)));
    let published: Vec<Option<(String, String)>> =
        ROWS.iter().map(|row| of(row.1).find_map(|(i, f)| typical(i, f, row.2))).collect();
    let mut sources: Vec<&str> = published.iter().flatten().map(|p| p.1.as_str()).collect();
    sort(&mut sources);
    sources.dedup();
    let place = |s: &report::SectionReport| ROWS.iter().find_map(|row| row.1(&s.figures)).map(|f| at(&f.at));
    html! {
        @if ROWS.iter().any(|row| of(row.1).next().is_some()) {
            h2 { "Figures, with 95 % intervals" }
            table {
                thead { tr {
                    th { "Quantity" }
                    @for s in &report.sections { th { "Section " (s.section) } }
                    th { "Published" }
                } }
                tbody {
                    tr {
                        td { "measured at" }
                        @for s in &report.sections { td { (place(s).unwrap_or_default()) } }
                        td {}
                    }
                    @for (row, published) in ROWS.iter().zip(&published) {
                        tr {
                            td { (row.0) }
                            @for s in &report.sections { td {
                                @if let Some(f) = row.1(&s.figures) {
                                    (number(f.estimate, &f.unit)) " (" (report::figure_interval(f)) ")"
                                }
                            } }
                            td.n { @if let Some((value, _)) = published { (value) } }
                        }
                    }
                }
            }
            @if !sources.is_empty() { p.soft { "Published: means of new production; " (sources.join("; ")) "." } }
        }
    }
}

/// What the sweep cannot show, what has the same reason told together.
fn blind(blind: &[Blind]) -> Markup {
    let mut told: Vec<(&Blind, Vec<String>)> = Vec::new();
    for one in blind {
        let name = title(&one.fault);
        match told.iter_mut().find(|(b, _)| one.smallest.is_none() && b.smallest.is_none() && b.why == one.why) {
            Some((_, names)) => names.push(name),
            None => told.push((one, vec![name])),
        }
    }
    html! {
        @if told.is_empty() { p { "Nothing of what was looked for was out of this sweep\u{2019}s reach." } }
        ul.blind { @for (one, names) in &told {
            li { (names.join(", ")) ": " (sentence(&one.why))
                @if let Some(v) = &one.smallest { " Smallest that would have shown: " (v.quantity) " " (number(v.estimate, &v.unit)) "." } }
        } }
    }
}
