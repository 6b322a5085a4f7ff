//! The lot at a glance: how many of each verdict, and a line a tube.

use sweepbook_core::report::{Report, TubeReport, Verdict, percent};

use super::sheet::{BOLD, Cell, Sheet, tied};
use super::words::{self, Titles, count};

const VERDICTS: [Verdict; 4] = [Verdict::Accept, Verdict::Restrict, Verdict::Retest, Verdict::Reject];

pub(super) fn lot(sheet: &mut Sheet, report: &Report, titles: &Titles) {
    let tally: Vec<String> = VERDICTS
        .iter()
        .map(|v| (*v, report.tubes.iter().filter(|t| t.verdict == *v).count()))
        .filter(|(_, n)| *n > 0)
        .map(|(v, n)| format!("{n} {}", v.name()))
        .collect();
    let mut head = count(report.tubes.len(), "tube", "tubes");
    if !tally.is_empty() {
        head.push_str(&format!(": {}", tally.join(", ")));
    }
    head.push('.');
    if !report.unread.is_empty() {
        let inputs = count(report.unread.len(), "input", "inputs");
        head.push_str(&format!(" {inputs} could not be read; see the messages."));
    }
    sheet.heading(&head);
    if report.tubes.is_empty() {
        return;
    }
    sheet.blank();
    let mut rows = vec![["Tube", "Type", "Verdict", "First finding"].map(|h| Cell::styled(h, BOLD)).into()];
    rows.extend(report.tubes.iter().map(|tube| row(tube, titles)));
    sheet.table(2, &rows);
}

fn row(tube: &TubeReport, titles: &Titles) -> Vec<Cell> {
    let first = match tube.findings.first() {
        Some(f) => {
            let more = tube.findings.len() - 1;
            let more = if more > 0 { format!(", and {more} more") } else { String::new() };
            let place = titles.place(&f.fault, f.section.as_deref());
            format!("{}, {} ({}){more}", titles.title(&f.fault), tied(&place), tied(&percent(f.confidence)))
        }
        None => "none".into(),
    };
    vec![
        Cell::plain(&tube.tube),
        Cell::plain(tube.kind.as_deref().unwrap_or("not stated")),
        words::verdict_cell(tube.verdict, false),
        Cell::plain(first),
    ]
}
