//! Groups of like tubes in words.

use sweepbook_core::pairing::{MatchedGroup, Member, OfType};
use sweepbook_core::report::engineering;

use super::sheet::{BOLD, Cell, Sheet};

/// The groups in words, `width` characters wide.
pub fn matching(types: &[OfType], width: usize) -> String {
    let mut sheet = Sheet::new(width);
    if types.is_empty() {
        sheet.paragraph(0, "There is no tube to match.");
    }
    for of in types {
        self::of(&mut sheet, of);
    }
    sheet.finish()
}

fn of(sheet: &mut Sheet, of: &OfType) {
    sheet.heading(of.kind.as_deref().unwrap_or("Type not stated"));
    if of.groups.is_empty() {
        sheet.paragraph(2, "Too few of these take part to make a group.");
    } else {
        if let Some(at) = of.region.first() {
            let (va, vg) = (engineering(at.va, "V"), engineering(at.vg, "V"));
            let points = of.region.len();
            sheet.paragraph(
                2,
                &format!("Compared at {points} points about Va {va}, Vg {vg}, from the fitted laws. What remains is told at that point."),
            );
        }
        sheet.blank();
        let head = ["Group", "Differs by", "Ia", "gm", "Bias"].map(|h| Cell::styled(h, BOLD));
        let mut rows = vec![Vec::from(head)];
        rows.extend(of.groups.iter().map(row));
        sheet.table(2, &rows);
        sheet.blank();
        if of.bound < of.total * (1.0 - SHOWN) {
            sheet.paragraph(
                2,
                &format!(
                    "The sum of differences is {}; no other grouping has less than {}.",
                    percent(of.total),
                    percent(of.bound)
                ),
            );
        } else {
            sheet.paragraph(2, "No other grouping has a smaller sum of differences.");
        }
    }
    if !of.left.is_empty() {
        let left: Vec<String> = of.left.iter().map(name).collect();
        sheet.paragraph(2, &format!("In no group: {}.", left.join(", ")));
    }
    if !of.left_out.is_empty() {
        let out: Vec<String> = of.left_out.iter().map(|o| format!("{} ({})", o.name, o.why)).collect();
        sheet.paragraph(2, &format!("Took no part: {}.", out.join("; ")));
    }
    sheet.blank();
}

/// Share by which a total may be above its bound and still count as the least: rounding.
const SHOWN: f64 = 1e-6;

fn row(group: &MatchedGroup) -> Vec<Cell> {
    let names: Vec<String> = group.members.iter().map(name).collect();
    vec![
        Cell::plain(names.join(" + ")),
        Cell::plain(percent(group.distance)),
        Cell::plain(percent(group.mismatch.current)),
        Cell::plain(percent(group.mismatch.transconductance)),
        Cell::plain(engineering(group.mismatch.bias, "V")),
    ]
}

fn name(member: &Member) -> String {
    match &member.section {
        Some(section) => format!("{} section {section}", member.name),
        None => member.name.clone(),
    }
}

/// A fraction in percent.
fn percent(fraction: f64) -> String {
    format!("{:.1}\u{a0}%", 100.0 * fraction)
}
