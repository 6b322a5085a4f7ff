//! Columns named by hand: the beginning of a table, and what it gives under a choice.

use serde::Serialize;
use sweepbook_core::intake::{self, Look, Refusal, Unread};

use crate::wire::Wire;
use crate::{json, reading, words};

/// Rows that show what a choice gives (by construction: few enough to see at once).
const MOST_ROWS: usize = 6;

/// The beginning of a table, or why there is none.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Beginning {
    /// Its first rows.
    Look(Look),
    /// It is no table.
    Unread(Unread),
}

/// What a table gives under a choice.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Tried {
    /// It can be read.
    Gives(Gives),
    /// It will ask: what is open, a clause.
    Asks(String),
    /// It cannot be read.
    Unread(Unread),
}

/// A table that can be read.
#[derive(Debug, Clone, Serialize)]
pub struct Gives {
    /// How many tubes, sections and points.
    pub tubes: usize,
    /// Over all tubes.
    pub sections: usize,
    /// Over all tubes.
    pub points: usize,
    /// A few points of the first section: Va, Vg, Ia.
    pub rows: Vec<[String; 3]>,
    /// The first tube for the figure: JSON that the document hands on without looking.
    pub tube: String,
}

/// The beginning of a table.
pub fn beginning(name: &str, bytes: &[u8], options: &[String]) -> Beginning {
    match reading(name, options).and_then(|reading| intake::look(name, bytes, &reading)) {
        Ok(look) => Beginning::Look(look),
        Err(unread) => Beginning::Unread(unread),
    }
}

/// What a table gives under a choice.
pub fn tried(name: &str, bytes: &[u8], options: &[String]) -> Tried {
    let reading = match reading(name, options) {
        Ok(reading) => reading,
        Err(unread) => return Tried::Unread(unread),
    };
    let tubes = match intake::read_as(name, bytes, &reading) {
        Ok(found) => found.tubes,
        Err(Refusal::Question(question)) => return Tried::Asks(question.what),
        Err(Refusal::Unread(unread)) => return Tried::Unread(unread),
    };
    let rows = tubes.first().and_then(|t| t.sections.first()).map_or_else(Vec::new, |section| {
        let p = &section.points;
        let row = |i: usize| [words::number(p.va[i], "V"), words::number(p.vg[i], "V"), words::number(p.ia[i], "A")];
        (0..p.len().min(MOST_ROWS)).map(row).collect()
    });
    Tried::Gives(Gives {
        tubes: tubes.len(),
        sections: tubes.iter().map(|t| t.sections.len()).sum(),
        points: tubes.iter().map(|t| t.point_count()).sum(),
        rows,
        tube: tubes.first().map(|t| json(&Wire::new(t, &mut []))).unwrap_or_default(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_without_names_is_read_once_they_are_given() {
        let text = b"100 -1 9 0.5\n100 -2 9 0.25\n";
        let Beginning::Look(look) = beginning("x.txt", text, &[]) else { panic!() };
        assert_eq!((look.separator, look.columns.len()), ("blanks", 4));
        assert!(matches!(tried("x.txt", text, &[]), Tried::Unread(_)));
        let Tried::Gives(gives) = tried("x.txt", text, &["columns=Va [V];Vg [V];-;Ia [mA]".into()]) else { panic!() };
        assert_eq!((gives.tubes, gives.sections, gives.points), (1, 1, 2));
        assert_eq!(gives.rows[0], ["100\u{a0}V", "−1\u{a0}V", "500\u{a0}µA"]);
        assert!(matches!(tried("x.txt", text, &["columns=Va;Vg;-;Ia".into()]), Tried::Asks(_)));
        assert!(matches!(tried("x.txt", text, &["colour=blue".into()]), Tried::Unread(_)));
    }
}
