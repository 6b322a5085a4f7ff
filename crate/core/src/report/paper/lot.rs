//! The summary of a lot: a line a tube.

use maud::{Markup, html};

use super::{Entry, Said, caution, heading, is_bench, title, word};
use crate::report::{Verdict, number, percent, place};

pub(super) fn summary(entries: &[Entry], said: &Said) -> Markup {
    let count = |verdict| entries.iter().filter(|e| e.report.verdict == verdict).count();
    let counts = [Verdict::Reject, Verdict::Restrict, Verdict::Retest, Verdict::Accept].map(|v| (count(v), word(v)));
    html! {
        article class="summary" {
            h1 { "Measurement report" }
            p.kind { (entries.len()) @if entries.len() == 1 { " tube" } @else { " tubes" } ": "
                @for (i, (n, word)) in counts.iter().filter(|c| c.0 > 0).enumerate() { @if i > 0 { ", " } (n) " " (word) } }
            (heading(said))
            (words(said))
            table {
                thead { tr { th { "Tube" } th { "Type" } th { "Result" } th { "What the measurement shows" } } }
                tbody {
                    @for entry in entries {
                        tr {
                            td { (entry.tube.name) }
                            td { (entry.tube.kind.as_deref().unwrap_or("not stated")) }
                            td { (word(entry.report.verdict)) }
                            td { (shows(entry)) }
                        }
                    }
                }
            }
            p.soft { "Each tube has a page of its own with its curves, the evidence, and what cannot be concluded. "
                "\u{201c}Not settled\u{201d} is no evidence of a fault." }
            div.sign { span { "Date" } span { "Signed" } }
            (caution())
        }
    }
}

/// The sender's own words, a paragraph each.
pub(super) fn words(said: &Said) -> Markup {
    html! {
        @for paragraph in said.words.split("\n\n").map(str::trim).filter(|p| !p.is_empty()) { p { (paragraph) } }
    }
}

/// The surest finding in a line.
fn shows(entry: &Entry) -> Markup {
    let likely = entry.report.findings.iter().filter(|f| f.confidence >= super::sheet::LIKELY);
    html! {
        @for (i, f) in likely.enumerate() {
            @if i > 0 { "; " }
            (title(&f.fault)) ", " (place(f.section.as_deref(), is_bench(&f.fault)))
            @if let Some(v) = &f.value { ", " (v.quantity) " " (number(v.estimate, &v.unit)) }
            " (" (percent(f.confidence)) ")"
        }
    }
}
