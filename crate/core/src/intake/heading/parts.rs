//! A heading taken apart.

use super::Held;
use super::names::{self, Column};
use crate::intake::number::{self, Mark};
use crate::intake::units::{self, Dimension};

/// What a heading says, in whatever order.
#[derive(Debug, Default)]
pub(super) struct Parts<'a> {
    pub(super) column: Option<Column>,
    pub(super) unit: Option<&'a str>,
    /// What stands where a unit would and is none.
    pub(super) unknown: Option<&'a str>,
    pub(super) section: Option<String>,
    pub(super) held: Option<Held>,
}

/// Words before the name or number of a section.
const SECTION_WORDS: [&str; 7] = ["section", "sect", "sec", "unit", "half", "system", "triode"];
/// Names of sections that need no such word.
const SECTION_LABELS: [&str; 14] = ["1", "2", "3", "4", "a", "b", "c", "d", "i", "ii", "left", "right", "l", "r"];
/// Words and marks between a quantity and the voltage at which it was taken.
const AT: [&str; 3] = ["@", " at ", " for "];

impl<'a> Parts<'a> {
    pub(super) fn of(text: &'a str) -> Self {
        let mut parts = Self::default();
        let text = text.trim();
        if let Some(volts) = level(text) {
            parts.held = Some(Held { column: None, volts });
            return parts;
        }
        let mut names: Vec<&str> = Vec::new();
        for piece in pieces(text) {
            match piece {
                Piece::Bracket(inside) => parts.bracket(inside),
                Piece::Plain(plain) => names.push(plain),
            }
        }
        for name in names {
            parts.plain(name);
        }
        parts
    }

    fn bracket(&mut self, inside: &'a str) {
        let inside = inside.trim();
        if self.unit.is_none() && is_unit(inside) {
            self.unit = Some(inside);
        } else if let Some(held) = equation(inside) {
            self.held = Some(held);
        } else if let Some(section) = section_label(inside) {
            self.section = Some(section);
        } else if let Some(volts) = level(inside) {
            self.held = Some(Held { column: None, volts });
        } else if !inside.is_empty() {
            self.unknown = Some(inside);
        }
    }

    /// What stands outside brackets: a name, and perhaps a unit, a section and a
    /// held voltage around it.
    fn plain(&mut self, text: &'a str) {
        let mut text = text.trim().trim_matches([':', '|']).trim();
        for at in AT {
            // Behind a bracket the word stands first.
            let first = text.strip_prefix(at.trim_start()).map(|level| ("", level));
            if let Some((name, level_text)) = text.split_once(at).or(first) {
                let held = equation(level_text).or_else(|| level(level_text).map(|volts| Held { column: None, volts }));
                if held.is_some() {
                    self.held = held;
                    text = name.trim();
                }
            }
        }
        if let Some(held) = equation(text) {
            self.held = Some(held);
            return;
        }
        if text.contains('=') {
            // `Ia Va=100`: the equation begins after some blank.
            let blanks = text.match_indices(' ').map(|(i, _)| i).collect::<Vec<_>>();
            for at in blanks {
                if let Some(held) = equation(&text[at..]) {
                    self.held = Some(held);
                    text = text[..at].trim();
                    break;
                }
            }
        }
        self.name(text);
    }

    /// Takes units, levels and sections off the ends of a name until it is known.
    fn name(&mut self, text: &'a str) {
        let mut rest = text.trim();
        // Whether the unit stood behind the name, outside brackets.
        let mut behind = false;
        // Each turn takes a word off; no heading has more than this.
        for _ in 0..8 {
            if rest.is_empty() || self.known(rest) {
                return;
            }
            let Some((before, mark, last)) = last_word(rest) else { break };
            // `100 V` in two words is a level too.
            let volt = if behind { self.unit.and_then(|u| units::factor(u, Dimension::Voltage)) } else { None };
            // A small a is no ampere but a section.
            if self.unit.is_none() && is_unit(last) && last != "a" {
                self.unit = Some(last);
                behind = true;
            } else if let Some(volts) =
                level(last).filter(|_| (last.ends_with(['V', 'v']) || volt.is_some()) && self.held.is_none())
            {
                self.held = Some(Held { column: None, volts: units::to_si(volts, volt.unwrap_or(1.0)) });
                self.unit = self.unit.filter(|_| volt.is_none());
            } else if mark == '/' && names::find(before).is_some() {
                self.unknown = Some(last);
            } else if let Some(label) = section_label(last).filter(|_| self.section.is_none()) {
                self.section = Some(label);
                // The word `section` before it belongs to it.
                if let Some((earlier, _, word)) = last_word(before)
                    && SECTION_WORDS.contains(&word.to_lowercase().as_str())
                {
                    rest = earlier;
                    continue;
                }
            } else if mark == ' ' && matches!(last, "in") {
                // `Ia in mA`: the unit was taken.
            } else {
                break;
            }
            rest = before;
        }
        self.prefixed(rest);
    }

    /// A section before the name: `section 2 Ia`, `left Ia`.
    fn prefixed(&mut self, text: &str) {
        let Some((first, rest)) = text.split_once([' ', ':', '_']) else { return };
        let lower = first.to_lowercase();
        let (label, name) = if SECTION_WORDS.contains(&lower.as_str()) {
            let Some((label, name)) = rest.trim().split_once([' ', ':', '_']) else { return };
            (section_label(label), name)
        } else {
            (section_label(first), rest)
        };
        if let (Some(label), Some(column)) = (label, names::find(name)) {
            self.section = Some(label);
            self.column = Some(column);
        }
    }

    /// Whether the text is a name, alone or with a section's number at its end.
    fn known(&mut self, text: &str) -> bool {
        if let Some(column) = self.unit.and_then(|unit| names::electrode(text, unit)) {
            self.column = Some(column);
            return true;
        }
        if let Some(column) = names::find(text) {
            // `Va 100 V`: the level has been taken off, and the current goes without saying.
            match self.held {
                Some(Held { column: None, volts }) if column.partner().is_some() => {
                    self.held = Some(Held { column: Some(column), volts });
                }
                _ => self.column = Some(column),
            }
            return true;
        }
        if self.section.is_some() {
            return false;
        }
        let primes = text.len() - text.trim_end_matches(['\'', '′']).len();
        let count = text.chars().rev().take_while(|c| matches!(c, '\'' | '′')).count();
        let (name, label) = match text.char_indices().next_back() {
            _ if count > 0 => (&text[..text.len() - primes], count.to_string()),
            Some((i, c)) if matches!(c, '1'..='4' | 'A' | 'B' | 'a' | 'b') => (&text[..i], c.to_string()),
            _ => return false,
        };
        let measured = |c: &Column| matches!(c.dimension(), Dimension::Voltage | Dimension::Current);
        // `Ia_A` is a current in ampere, `IaA` that of section A.
        let apart = count == 0 && name.ends_with(['_', ' ', '/', ',']);
        let Some(column) = names::find(name).filter(measured).filter(|_| !apart) else { return false };
        self.column = Some(column);
        self.section = Some(label.to_uppercase());
        true
    }
}

enum Piece<'a> {
    Plain(&'a str),
    Bracket(&'a str),
}

/// The text between brackets and around them. A bracket that is never closed
/// goes to the end.
fn pieces(text: &str) -> Vec<Piece<'_>> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some(open) = rest.find(['[', '(', '{']) {
        if !rest[..open].trim().is_empty() {
            out.push(Piece::Plain(&rest[..open]));
        }
        let inside = &rest[open + 1..];
        let close = inside.find([']', ')', '}']);
        out.push(Piece::Bracket(&inside[..close.unwrap_or(inside.len())]));
        rest = close.map_or("", |close| &inside[close + 1..]);
    }
    if !rest.trim().is_empty() {
        out.push(Piece::Plain(rest));
    }
    out
}

/// The last word of a name, and what parts it from the rest.
fn last_word(text: &str) -> Option<(&str, char, &str)> {
    let (at, mark) = text.char_indices().rev().find(|(_, c)| matches!(c, ' ' | '_' | '/' | ',' | ':' | ';'))?;
    let before = text[..at].trim_end_matches([' ', ',', '_', ';']).trim();
    Some((before, mark, text[at + mark.len_utf8()..].trim()))
}

/// `Va = 100 V`, and `plate voltage=100`.
fn equation(text: &str) -> Option<Held> {
    let (name, value) = text.split_once('=')?;
    let column = names::find(name).filter(|c| matches!(c, Column::Va | Column::Vg))?;
    Some(Held { column: Some(column), volts: level(value)? })
}

/// A voltage, with its unit or without: `100`, `-2,5 V`, `0.25 kV`.
pub(in crate::intake) fn level(text: &str) -> Option<f64> {
    let text = text.trim();
    if !text.bytes().any(|b| b.is_ascii_digit()) {
        return None;
    }
    let end = text.rfind(|c: char| c.is_ascii_digit() || c == '.')? + 1;
    let (value, unit) = text.split_at(end);
    let factor = if unit.trim().is_empty() { 1.0 } else { units::factor(unit, Dimension::Voltage)? };
    let value = number::parse(value.trim(), Mark::Point).or_else(|| number::parse(value.trim(), Mark::Comma))?;
    Some(units::to_si(value, factor)).filter(|v| v.is_finite())
}

/// The name of a section: `2`, `B`, `left`, `section 2`.
pub(in crate::intake) fn section_label(text: &str) -> Option<String> {
    let text = text.trim();
    let lower = text.to_lowercase();
    if SECTION_LABELS.contains(&lower.as_str()) {
        return Some(if text.chars().count() == 1 { text.to_uppercase() } else { text.to_owned() });
    }
    let (word, label) = lower.split_once([' ', '_', ':']).unwrap_or_else(|| {
        let digits = lower.len() - lower.trim_end_matches(|c: char| c.is_ascii_digit()).len();
        lower.split_at(lower.len() - digits)
    });
    let named = SECTION_WORDS.contains(&word) && SECTION_LABELS.contains(&label.trim());
    let label = text.get(text.len().checked_sub(label.trim().len())?..)?;
    named.then(|| if label.chars().count() == 1 { label.to_uppercase() } else { label.to_owned() })
}

pub(super) fn is_unit(text: &str) -> bool {
    [Dimension::Voltage, Dimension::Current, Dimension::Time].iter().any(|d| units::factor(text, *d).is_some())
}
