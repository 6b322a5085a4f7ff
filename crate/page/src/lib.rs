//! The thin surface between `sweepbook-core` and the static page.
//!
//! Few calls, one JSON text each way. A worker has one instance and calls
//! [`read`] and [`compared`]; the document has another and draws with [`Screen`] and
//! [`LotScreen`]. Nothing here decides anything: it turns what core says into words and
//! numbers ready to be put into the document.

mod answer;
mod book;
mod compare;
mod kept;
mod lesson;
mod lot;
mod map;
mod question;
mod row;
mod screen;
mod sheet;
mod stage;
mod wire;
mod words;

pub use answer::{Answer, How, Memory, Pieces};
pub use book::{Book, Packer, Unpacked, asked, quantity, sum_of};
pub use compare::{Compared, ComparedRow};
pub use kept::Kept;
pub use lesson::{LessonBench, lesson, lesson_choices, lesson_course, lesson_exercise, lesson_marked};
pub use lot::{LotScreen, compared};
pub use question::Asked;
pub use row::{Cell, Column, Row};
pub use screen::Screen;
pub use sheet::Sheet;
pub use stage::{Staged, StagedLot, sums_answer, sums_forms};

use std::cell::RefCell;

use sweepbook_core::intake::{self, LARGEST_FILE, Part, Profile, Reading, Unread};
use sweepbook_core::pairing::Wanted;
use sweepbook_core::read_json;
use sweepbook_core::report::paper::Said;
use sweepbook_core::sampling::{AQLS, Batch};
use wasm_bindgen::prelude::wasm_bindgen;

/// Sends the text of a panic to the console, once, at the start.
#[wasm_bindgen(start)]
pub fn start() {
    console_error_panic_hook::set_once();
}

thread_local! {
    /// What the worker has read so far.
    static MEMORY: RefCell<Memory> = RefCell::default();
}

/// Reads one file as decided (the JSON of a [`How`]), diagnoses the tubes in it
/// with what was read before, and says all of it in words: the JSON of an
/// [`Answer`].
#[wasm_bindgen]
pub fn read(name: &str, bytes: &[u8], how: &str) -> String {
    MEMORY.with_borrow_mut(|memory| match read_json(how) {
        Ok(how) => json(&memory.read(name, bytes, &how)),
        Err(error) => json(&Answer::unread(failure(name, &error.to_string()))),
    })
}

/// Whether a file has to be taken apart before it can be read, by its first bytes.
#[wasm_bindgen]
pub fn is_packed(bytes: &[u8]) -> bool {
    intake::packed(bytes).is_some()
}

/// The tables of a spreadsheet or an archive, one added after the other.
#[wasm_bindgen]
#[derive(Debug, Default)]
pub struct Tables(Vec<(String, Option<String>, Vec<u8>)>);

#[wasm_bindgen]
impl Tables {
    /// None yet.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    fn parts(&self) -> Vec<Part<'_>> {
        self.0.iter().map(|(name, sheet, bytes)| Part { name, sheet: sheet.as_deref(), bytes }).collect()
    }

    /// One more: its name, the sheet's where it is one, and its text.
    pub fn add(&mut self, name: String, sheet: Option<String>, bytes: Vec<u8>) {
        self.0.push((name, sheet, bytes));
    }
}

/// As [`read`], for a file that was taken apart. `failed` is what of it could not be:
/// the JSON of a list of [`Unread`].
#[wasm_bindgen]
pub fn read_tables(name: &str, tables: Tables, failed: &str, how: &str) -> String {
    let parts = tables.parts();
    let given = read_json(how).and_then(|how| Ok((how, read_json::<Vec<Unread>>(failed)?)));
    MEMORY.with_borrow_mut(|memory| match given {
        Ok((how, failed)) => json(&memory.read_parts(name, &parts, failed, &how)),
        Err(error) => json(&Answer::unread(failure(name, &error.to_string()))),
    })
}

/// Takes over the tubes of a file (the JSON of a list of [`Kept`]) as they were judged in
/// another worker; whether it could be.
#[wasm_bindgen]
pub fn restore(name: &str, bytes: &[u8], how: &str, kept: &str) -> bool {
    let (Ok(how), Ok(kept)) = (read_json(how), read_json(kept)) else { return false };
    MEMORY.with_borrow_mut(|memory| memory.restore(name, bytes, &how, kept))
}

/// As [`restore`], for a file that was taken apart.
#[wasm_bindgen]
pub fn restore_tables(name: &str, tables: Tables, how: &str, kept: &str) -> bool {
    let (Ok(how), Ok(kept)) = (read_json(how), read_json(kept)) else { return false };
    MEMORY.with_borrow_mut(|memory| memory.restore_parts(name, &tables.parts(), &how, kept))
}

/// That a file could not be taken apart since the program for it could not be loaded:
/// the JSON of an [`Answer`].
#[wasm_bindgen]
pub fn not_loaded(name: &str, why: &str) -> String {
    let what = format!(
        "the part of sweepbook that opens spreadsheets and archives could not be loaded: {}",
        intake::clean(why)
    );
    let mend = "Open the file again where this page's server can be reached, or save the sheet as CSV and open that.";
    json(&Answer::unread(unread(name, what, mend)))
}

/// That the reader of spreadsheets stopped on a file: the JSON of an [`Answer`].
#[wasm_bindgen]
pub fn damaged(name: &str) -> String {
    let what = "the spreadsheet is damaged: the reader of spreadsheets stopped on it";
    let mend = "Open it where it was made and save it again, or export its sheets as CSV.";
    json(&Answer::unread(unread(name, what, mend)))
}

/// What a bench profile says: JSON with `profile` (`name`, and `says` in words), or with
/// `unread`, why it cannot be read.
#[wasm_bindgen]
pub fn bench(source: &str, text: &str) -> String {
    json(&match Profile::read(source, text) {
        Ok(profile) => serde_json::json!({ "profile": { "says": profile.says(), "name": profile.name } }),
        Err(unread) => serde_json::json!({ "unread": unread }),
    })
}

/// The beginning of a table for naming its columns by hand, with the options so far (a
/// JSON list): JSON with `look`, or `unread`.
#[wasm_bindgen]
pub fn look(name: &str, bytes: &[u8], options: &str) -> String {
    json(&map::beginning(name, bytes, &listed(options)))
}

/// What a table gives under options (a JSON list): JSON with `gives`, `asks` or `unread`.
#[wasm_bindgen]
pub fn try_reading(name: &str, bytes: &[u8], options: &str) -> String {
    json(&map::tried(name, bytes, &listed(options)))
}

/// Options as the page writes them.
fn listed(options: &str) -> Vec<String> {
    read_json(options).unwrap_or_default()
}

/// Tubes that may be pieces of one: the JSON of a list of [`Pieces`].
#[wasm_bindgen]
pub fn pieces() -> String {
    MEMORY.with_borrow(|memory| json(&memory.pieces()))
}

/// The report on paper of tubes by their numbers, with what is `said` (JSON of a [`Said`]),
/// an HTML document; nothing where one of them is not known, or it is not asked for rightly.
#[wasm_bindgen]
pub fn paper(ids: &[usize], said: &str) -> Option<String> {
    let said: Said = read_json(said).ok()?;
    MEMORY.with_borrow(|memory| memory.paper(ids, &said))
}

/// Groups of like tubes by their numbers, as `wanted` (JSON of a [`Wanted`]): the JSON of a
/// list of [`OfType`](sweepbook_core::pairing::OfType) with places in `ids`; nothing where
/// one of them is not known, or it is not asked for rightly.
#[wasm_bindgen]
pub fn matched(ids: &[usize], wanted: &str) -> Option<String> {
    let wanted: Wanted = read_json(wanted).ok()?;
    MEMORY.with_borrow(|memory| memory.matched(ids, &wanted)).map(|types| json(&types))
}

/// What a stage makes of tubes by their numbers; `form` is the JSON of its fields as they
/// were written. The JSON of a [`Staged`], nothing where a tube is not known.
#[wasm_bindgen]
pub fn staged(ids: &[usize], form: &str) -> Option<String> {
    let form: std::collections::BTreeMap<String, String> = read_json(form).ok()?;
    MEMORY.with_borrow(|memory| memory.staged(ids, &form)).map(|staged| json(&staged))
}

/// The curves of several tubes laid over each other (JSON of a list of number and section or
/// null), as SVG; nothing where they are not known.
#[wasm_bindgen]
pub fn overlay(members: &str, width: f64, height: f64) -> Option<String> {
    let members: Vec<(usize, Option<String>)> = read_json(members).ok()?;
    MEMORY.with_borrow(|memory| memory.overlay(&members, width, height))
}

/// How several tubes (as for [`overlay`]) differ from the first of them: the JSON of a
/// [`Compared`]; nothing where they are not known.
#[wasm_bindgen]
pub fn differences(members: &str, width: f64, height: f64) -> Option<String> {
    let members: Vec<(usize, Option<String>)> = read_json(members).ok()?;
    let found = MEMORY.with_borrow(|memory| memory.differences(&members, width, height))?;
    Some(json(&Compared::from(found)))
}

/// Puts such pieces together, by their numbers: the JSON of an [`Answer`].
#[wasm_bindgen]
pub fn join(ids: &[usize]) -> String {
    MEMORY.with_borrow_mut(|memory| json(&memory.join(ids)))
}

/// Forgets every tube that was read.
#[wasm_bindgen]
pub fn forget() {
    MEMORY.with_borrow_mut(|memory| *memory = Memory::default());
}

/// Forgets some tubes (a JSON list of their numbers): the JSON of an [`Answer`] with those
/// that were judged with them, judged again.
#[wasm_bindgen]
pub fn leave(gone: &str) -> String {
    let gone: Vec<usize> = read_json(gone).unwrap_or_default();
    MEMORY.with_borrow_mut(|memory| json(&memory.leave(&gone)))
}

/// Why a file of this many bytes is not even opened, as the JSON of an
/// [`Unread`]; nothing where it may be.
#[wasm_bindgen]
pub fn refuse(name: &str, bytes: f64) -> Option<String> {
    (bytes > LARGEST_FILE as f64).then(|| json(&Unread::too_large(name, bytes as u64)))
}

/// That a file could not be opened, as the JSON of an [`Unread`].
#[wasm_bindgen]
pub fn unopened(name: &str, why: &str) -> String {
    json(&Unread::unopened(&intake::clean(name), why))
}

/// That the program itself failed on a file, as the JSON of an [`Unread`].
#[wasm_bindgen]
pub fn failed(name: &str, why: &str) -> String {
    json(&failure(name, why))
}

fn failure(name: &str, why: &str) -> Unread {
    let what = format!("sweepbook failed on this file: {}", intake::clean(why));
    unread(
        name,
        what,
        "This is a fault of sweepbook and not of the tube. Everything else was kept; please report it with the file.",
    )
}

/// That a whole file was not read.
fn unread(name: &str, what: impl Into<String>, mend: impl Into<String>) -> Unread {
    Unread { source: intake::clean(name), line: None, column: None, what: what.into(), mend: mend.into() }
}

/// A reading of options as the page writes them.
fn reading(name: &str, options: &[String]) -> Result<Reading, Unread> {
    Reading::try_from(options.to_vec()).map_err(|bad| unread(name, bad.what, bad.mend))
}

/// The words of the page that depend on core: the verdicts with their meaning.
#[wasm_bindgen]
pub fn verdicts() -> String {
    json(&words::VERDICTS.map(words::verdict))
}

/// The lot's table: JSON with the `columns` of figures, and `thumb`, the size of the small
/// pictures.
#[wasm_bindgen]
pub fn table() -> String {
    json(&serde_json::json!({ "columns": row::COLUMNS, "thumb": row::THUMB }))
}

/// The acceptable quality levels that a batch can be judged by, percent: a JSON list.
#[wasm_bindgen]
pub fn quality_levels() -> String {
    json(&AQLS)
}

/// What comes of a batch that was bought: JSON with `outcome` and what to say of it, a list
/// of sentences; nothing for a level that there is not, or a batch of fewer than two.
#[wasm_bindgen]
pub fn batch(bought: usize, aql: f64, faulty: usize, sound: usize) -> Option<String> {
    let batch = Batch::of(bought, aql, faulty, sound)?;
    Some(json(&serde_json::json!({
        "outcome": batch.outcome,
        "says": [batch.plan_says(), batch.outcome_says(), batch.worth_says()],
    })))
}

/// The report of a run as `sweepbook triage --json` writes it, from the reports
/// that [`read`] gave and what was not read, both JSON lists. They are put in as
/// they are: this program wrote them.
#[wasm_bindgen]
pub fn report(tubes: &str, unread: &str) -> String {
    format!("{{\"schema\":\"{}\",\"tubes\":{tubes},\"unread\":{unread}}}\n", sweepbook_core::report::SCHEMA)
}

/// JSON of a value that always has one.
fn json<T: serde::Serialize>(value: &T) -> String {
    serde_json::to_string(value).unwrap_or_else(|_| "null".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_report_is_the_contract() {
        let answer = Memory::default().read("x.csv", b"Va [V],Vg [V],Ia [mA]\n100,-1,1\n200,-1,2\n", &How::default());
        let unread = json(&[Unread::unopened("y.csv", "gone")]);
        let text = report(&format!("[{}]", answer.tubes[0].report), &unread);
        let read: sweepbook_core::report::Report = serde_json::from_str(&text).unwrap();
        assert_eq!((read.schema.as_str(), read.tubes.len(), read.unread.len()), ("sweepbook/report/1", 1, 1));
    }
}
