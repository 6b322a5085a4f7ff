//! From bytes to tubes. Never guesses silently: what it cannot read, it refuses
//! with the place, the reason and the mend; where two readings fit, it asks.
//!
//! bytes → `decode` → text → `blocks` (tables one below the other) → `layout` (where
//! the heading is, how lines are taken apart) → `plan` (what each cell is for) → `rows`
//! (numbers in SI) → `sense` (signs) → tubes. What a file leaves open is settled by a [`Reading`].

mod blocks;
mod decode;
mod document;
mod error;
mod heading;
mod layout;
mod limits;
mod look;
mod magnitude;
mod metadata;
mod number;
mod packed;
mod parts;
mod pieces;
mod plan;
mod profile;
mod question;
mod reading;
mod repeats;
mod rows;
mod scan;
mod sense;
mod shares;
mod shown;
mod sink;
mod survey;
mod table;
mod understood;
mod units;
mod way;
mod write;

pub use document::{SWEEP_SCHEMA, write_json};
pub use error::{Mistake, Place, Unread};
pub use limits::{LARGEST_FILE, MOST_POINTS};
pub use look::{Look, LookColumn, LookRow, look};
pub use packed::{Packed, packed};
pub use parts::{Part, read_parts, read_parts_asked};
pub use pieces::{join, joinable, told};
pub use profile::{BENCH_SCHEMA, LARGEST_PROFILE, Profile};
pub use question::{Candidate, Preview, Question};
pub use reading::{BadOption, Reading};
pub(crate) use shown::excerpt;
pub use shown::{clean, steers};
pub use understood::{ColumnRead, Understood};
pub(crate) use units::{Dimension, quantity};
pub use write::{write, write_exact};

use crate::sweep::Tube;
use question::Ask;
use survey::Surveyed;
use table::Table;
use way::Stop;

/// What was read from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The tubes.
    pub tubes: Vec<Tube>,
    /// How the table was understood.
    pub understood: Understood,
}

/// Why a file was not read.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// It cannot be.
    Unread(Unread),
    /// Two readings fit.
    Question(Box<Question>),
}

impl From<Refusal> for Unread {
    fn from(refusal: Refusal) -> Self {
        match refusal {
            Refusal::Unread(unread) => unread,
            Refusal::Question(question) => question.refusal(),
        }
    }
}

/// Most open points of one file: each is settled once (by construction).
const MOST_QUESTIONS: usize = 16;

/// Reads one file that leaves nothing open.
///
/// `name` is only used to name the tube where the file does not, and in errors.
///
/// # Errors
/// The first thing that could not be read, with line and column counted from 1
/// and what to do about it; a question is one that names the options.
pub fn read(name: &str, bytes: &[u8]) -> Result<Vec<Tube>, Unread> {
    Ok(read_as(name, bytes, &Reading::default())?.tubes)
}

/// Reads one file, with what was decided about it.
///
/// # Errors
/// It cannot be read, or two readings still fit. A reading that only one of
/// several possible answers allows is taken, and [`Understood::assumed`] says so.
pub fn read_as(name: &str, bytes: &[u8], reading: &Reading) -> Result<Found, Refusal> {
    read_or_say(name, bytes, reading).map_err(|refused| refused.refusal)
}

/// A refusal, and whether it is because there is no table at all.
struct Refused {
    refusal: Refusal,
    no_table: bool,
}

fn refused(name: &str, place: Place, mistake: Mistake) -> Box<Refused> {
    let no_table = mistake.is_no_table();
    Box::new(Refused { refusal: Refusal::Unread(Unread::new(name, place, mistake)), no_table })
}

/// As [`read_as`], and says whether there is a table.
fn read_or_say(name: &str, bytes: &[u8], reading: &Reading) -> Result<Found, Box<Refused>> {
    let unread = |(place, mistake): (Place, Mistake)| refused(name, place, mistake);
    if bytes.len() > LARGEST_FILE {
        let mistake = Mistake::TooLarge { bytes: bytes.len() as u64, most: LARGEST_FILE as u64 };
        return Err(unread((Place::File, mistake)));
    }
    let text = decode::text(bytes).map_err(unread)?;
    let text = text.surveyed();
    if document::is_one(text.text) {
        return document::read(name, text.text).map_err(unread);
    }
    text.bounded().map_err(unread)?;
    match blocks::split(&text) {
        Some(blocks) => blocks::read(name, &blocks, reading),
        None => read_text(name, &text, reading),
    }
}

/// Reads a text of one table.
fn read_text(name: &str, text: &Surveyed, reading: &Reading) -> Result<Found, Box<Refused>> {
    let unread = |(place, mistake): (Place, Mistake)| refused(name, place, mistake);
    let mut reading = reading.clone();
    let mut taken = Vec::new();
    for _ in 0..MOST_QUESTIONS {
        let ask = match table::read(name, text, &reading, false) {
            Ok(table) => return Ok(found(table, &reading, taken)),
            Err(Stop::Refused(place, mistake)) => return Err(unread((place, mistake))),
            Err(Stop::Ask(ask)) => ask,
        };
        let (mut candidates, shape) = candidates(name, text, &reading, &ask);
        if candidates.len() > 1 {
            let refusal = Refusal::Question(Box::new(asked(name, ask, shape, candidates)));
            return Err(Box::new(Refused { refusal, no_table: false }));
        }
        let only = match candidates.pop() {
            Some(only) => only.option,
            // None can be read: the first says why.
            None => ask.options.first().map(|o| o.0.clone()).unwrap_or_default(),
        };
        if let Some((option, says)) = ask.options.iter().find(|o| o.0 == only) {
            taken.push(format!("{}; {says} ({option}): nothing else fits", ask.what));
        }
        reading = reading.with(&only);
    }
    Err(unread((Place::File, Mistake::NotATable)))
}

fn found(table: Table, reading: &Reading, taken: Vec<String>) -> Found {
    let understood = Understood::of(&table, reading, taken);
    let mut tubes = table.tubes;
    for tube in &mut tubes {
        tube.notes.extend(understood.assumed.iter().cloned());
    }
    Found { tubes, understood }
}

/// The answers under which the file can be read and its currents are possible, and
/// its shape under the first of them.
fn candidates(name: &str, text: &Surveyed, reading: &Reading, ask: &Ask) -> (Vec<Candidate>, String) {
    let mut shape = None;
    let tried = ask.options.iter().filter_map(|(option, says)| {
        let table = table::read(name, text, &reading.with(option), true).ok().filter(|t| t.possible)?;
        shape.get_or_insert_with(|| understood::shape(&table.layout));
        Some(Candidate { option: option.clone(), says: says.clone(), preview: Preview::of(&table.tubes) })
    });
    let candidates = tried.collect();
    (candidates, shape.unwrap_or_default())
}

fn asked(name: &str, ask: Ask, shape: String, candidates: Vec<Candidate>) -> Question {
    let (line, column) = ask.place.counted();
    Question { source: name.to_owned(), line, column, what: ask.what, shape, candidates }
}
