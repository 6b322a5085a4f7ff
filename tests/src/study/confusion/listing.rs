//! For development seeds only: each tube of which something else was said than is true.

use std::fmt::Write as _;

use crate::study::population::Population;
use crate::study::score::{self, counted};
use crate::study::truth;

/// One line a tube: what was built in, and what was said.
pub fn misses(p: &Population) -> String {
    let mut out = String::new();
    for case in &p.cases {
        let extra = counted(&case.report).any(|f| !truth::is_true(&case.item, &case.told, f));
        let alarm = case.told.is_healthy() && score::is_false_alarm(&case.report);
        let unnamed = !case.told.is_healthy() && !case.outcome.named;
        if !(extra || alarm || unnamed) {
            continue;
        }
        let why = match case.undecidable {
            Some(why) => format!(" undecidable: {why:?}"),
            None => String::new(),
        };
        let t = &case.item.truth;
        let _ = write!(
            out,
            "{:11} {} {} {} {} section {:?} {} Ig {} Rs {}{why}:",
            t.model,
            t.file,
            t.label,
            t.kind,
            t.level.unwrap_or("-"),
            t.section,
            t.value.as_ref().map_or(String::new(), ToString::to_string),
            t.grid_current,
            t.rs
        );
        for f in counted(&case.report) {
            let place = f.section.as_deref().unwrap_or("all");
            let _ = write!(out, " {}@{place} {:.2}", f.fault, f.confidence);
        }
        let _ = writeln!(out, " {:?}", case.report.verdict);
    }
    out
}
