//! The report on paper: what a seller is sent. One page a tube and a summary of the lot, in
//! one HTML document that needs nothing else, and the same as a table.
//!
//! Wording is neutral: what was measured, how, what it shows with its interval, what is
//! published, what was ruled out on the bench's side, and what cannot be concluded.

mod against;
mod bench;
mod lot;
mod sheet;
mod table;

use maud::{DOCTYPE, Markup, PreEscaped, html};

pub use against::{Published, published};
pub use table::csv;

use super::{TubeReport, Verdict};
use crate::faults;
use crate::sweep::Tube;

/// What the one who sends it says.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Deserialize)]
#[serde(default)]
pub struct Said {
    /// To whom it goes.
    pub seller: String,
    /// The seller's number of the order or the lot.
    pub reference: String,
    /// Date of the report, as it is to be printed.
    pub date: String,
    /// Who measured.
    pub by: String,
    /// Words of the sender's own, paragraphs.
    pub words: String,
}

/// One tube with its diagnosis.
#[derive(Debug, Clone, Copy)]
pub struct Entry<'a> {
    /// The sweep.
    pub tube: &'a Tube,
    /// What was found, with the marks.
    pub report: &'a TubeReport,
}

/// The document: a summary where there are several tubes, and a page for each of those
/// that `chosen` names by their places; a mate to show beside a tube is looked for in all.
pub fn document(entries: &[Entry], chosen: &[usize], said: &Said) -> String {
    let pages: Vec<Entry> = chosen.iter().filter_map(|&i| entries.get(i).copied()).collect();
    let title = match pages.as_slice() {
        [one] => format!("Measurement report, tube {}", one.tube.name),
        _ => "Measurement report".to_owned(),
    };
    let body = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                // Nothing is loaded and nothing runs.
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:";
                title { (title) }
                style { (PreEscaped(include_str!("paper.css"))) }
            }
            body {
                main {
                    @if pages.len() != 1 { (lot::summary(&pages, said)) }
                    @for entry in &pages { (sheet::page(entry, mate(entries, entry), said, pages.len() == 1)) }
                }
            }
        }
    };
    body.into_string()
}

/// A sound tube of the same type to show beside another: one with the same sections if
/// there is one.
fn mate<'a>(entries: &[Entry<'a>], of: &Entry) -> Option<&'a Tube> {
    let kind = of.tube.kind.as_ref()?;
    let sound = |e: &&Entry<'a>| {
        e.report.verdict == Verdict::Accept && e.tube.kind.as_ref() == Some(kind) && e.tube.name != of.tube.name
    };
    let alike = |e: &&Entry<'a>| e.tube.sections.len() == of.tube.sections.len();
    entries.iter().filter(sound).find(alike).map(|e| e.tube)
}

/// The title of a fault.
fn title(fault: &str) -> String {
    faults::named(fault).map_or_else(|| fault.replace('-', " "), |f| f.title().to_owned())
}

fn is_bench(fault: &str) -> bool {
    faults::named(fault).is_some_and(|f| f.is_bench())
}

/// What the measurement says of the tube, one neutral sentence.
fn result(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Accept => "No fault was found that this measurement can show.",
        Verdict::Restrict => "The tube works, with the restriction that is stated below.",
        Verdict::Retest => "This measurement does not settle the condition of the tube. It is no evidence of a fault.",
        Verdict::Reject => "The measurement shows the fault that is stated below.",
    }
}

/// The word for it in the summary.
fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Accept => "no fault found",
        Verdict::Restrict => "restricted use",
        Verdict::Retest => "not settled",
        Verdict::Reject => "fault found",
    }
}

/// What is said of the sender and the one it goes to; nothing where nothing was given.
fn heading(said: &Said) -> Markup {
    let rows = [("To", &said.seller), ("Reference", &said.reference), ("Date", &said.date), ("Measured by", &said.by)];
    html! {
        @if rows.iter().any(|(_, text)| !text.trim().is_empty()) {
            dl.said {
                @for (name, text) in rows.iter().filter(|(_, text)| !text.trim().is_empty()) {
                    div { dt { (name) } dd { (text.trim()) } }
                }
            }
        }
    }
}

/// The cautions at the foot of a page.
fn caution() -> Markup {
    html! {
        p.caution {
            strong { "Plate supplies kill." }
            " Anyone who repeats these measurements works at voltages that kill, under the electrical rules of the place "
            "and with qualified people; a tube suspected of gas or grid emission is not fitted into an amplifier before that is "
            "settled. Estimates with 95 % intervals, computed from the sweep by sweepbook " (env!("CARGO_PKG_VERSION"))
            "; no warranty of a tube."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesson::{self, LawChoice, VirtualBench};

    /// Two tubes of a type: the first with 1 MΩ from plate to cathode in section 1.
    fn lot() -> Vec<Tube> {
        let kind = crate::handbook::find("12AX7").unwrap();
        let bench = VirtualBench::usual(kind).unwrap();
        [(1, Some(1e6)), (2, None)]
            .map(|(seed, leak)| {
                let mut specimen = lesson::specimen(kind, LawChoice::Koren, seed).unwrap();
                specimen.sections[0].defects.plate_cathode = leak;
                let mut tube = lesson::measure(&specimen, &bench, seed);
                tube.name = format!("<b>{seed}</b>");
                tube.kind = Some("12AX7".into());
                tube
            })
            .into()
    }

    fn written(chosen: &[usize], said: &Said) -> String {
        let tubes = lot();
        let reports: Vec<TubeReport> = tubes.iter().map(crate::triage).collect();
        let entries: Vec<Entry> = tubes.iter().zip(&reports).map(|(tube, report)| Entry { tube, report }).collect();
        document(&entries, chosen, said)
    }

    #[test]
    fn a_page_says_what_was_found_how_and_beside_what() {
        let page = written(&[0], &Said { words: "It hums.\n\nPlease exchange it.".into(), ..Said::default() });
        for said in [
            "leakage resistance",
            "It hums.",
            "<p>Please exchange it.</p>",
            "How it was measured",
            "On the side of the bench",
            "cannot be concluded",
            "no fault was found in tube &lt;b&gt;2&lt;/b&gt;",
            "Plate supplies kill",
        ] {
            assert!(page.contains(said), "{said}");
        }
        assert_eq!(page.matches("<svg").count(), 2);
        assert!(!page.contains("class=\"summary\""), "one tube needs no summary");
    }

    #[test]
    fn what_was_entered_is_never_markup() {
        let bad = "<script>alert(1)</script>&\"";
        let said =
            Said { seller: bad.into(), reference: bad.into(), date: bad.into(), by: bad.into(), words: bad.into() };
        let page = written(&[0, 1], &said);
        assert!(!page.contains("<script") && !page.contains("<b>1"));
        assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;&amp;"));
        assert_eq!(page.matches("<article").count(), 3);
    }

    #[test]
    fn without_a_mate_the_handbook_stands_beside_it() {
        let tubes = lot();
        let report = crate::triage(&tubes[0]);
        let page = document(&[Entry { tube: &tubes[0], report: &report }], &[0], &Said::default());
        assert!(page.contains("as published"), "{page}");
        assert_eq!(page.matches("<svg").count(), 2);
    }
}
