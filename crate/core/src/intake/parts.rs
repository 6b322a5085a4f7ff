//! Files of several tables: the sheets of a spreadsheet, the files of an archive.

use super::heading::section_label;
use super::pieces::{join, joinable};
use super::reading::Reading;
use super::{Found, MOST_QUESTIONS, Refusal, Refused, read_or_say};
use crate::sweep::Tube;

/// A table of a file that holds several.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// The file with what tells the part from others.
    pub name: &'a str,
    /// The sheet's name, where it is one.
    pub sheet: Option<&'a str>,
    /// Its bytes.
    pub bytes: &'a [u8],
}

/// Reads the tables of one file.
///
/// A sheet that is named as a section (`2`, `B`, `section 2`, `left`) is that section
/// of the file's tube, and such sheets are put together; any other sheet is a tube of
/// its own, named after it where there are several. What a sheet itself says of tube
/// and section counts. Sheets without a table are left out beside others that have one.
pub fn read_parts(parts: &[Part], reading: &Reading) -> Vec<Result<Found, Refusal>> {
    read_each(parts, reading, |part, reading| read_or_say(part.name, part.bytes, reading))
}

/// As [`read_parts`], with answers to what its tables ask: a table takes an answer only
/// where it asks for it, so that what settles one does not spoil another.
pub fn read_parts_asked(parts: &[Part], answers: &Reading) -> Vec<Result<Found, Refusal>> {
    let answers = answers.options();
    read_each(parts, &Reading::default(), |part, reading| {
        let mut reading = reading.clone();
        for _ in 0..MOST_QUESTIONS {
            let refused = match read_or_say(part.name, part.bytes, &reading) {
                Ok(found) => return Ok(found),
                Err(refused) => refused,
            };
            let Refusal::Question(question) = &refused.refusal else { return Err(refused) };
            let answer = question.candidates.iter().find(|c| answers.contains(&c.option));
            let Some(answer) = answer else { return Err(refused) };
            reading = reading.with(&answer.option);
        }
        read_or_say(part.name, part.bytes, &reading)
    })
}

fn read_each(
    parts: &[Part],
    reading: &Reading,
    read: impl Fn(&Part, &Reading) -> Result<Found, Box<Refused>>,
) -> Vec<Result<Found, Refusal>> {
    let sheets = parts.iter().filter(|p| p.sheet.is_some()).count();
    let read = |part: &Part| read(part, &part.sheet.map_or(reading.clone(), |sheet| of_sheet(sheet, sheets, reading)));
    let results: Vec<_> = parts.iter().map(|part| (part.sheet, read(part))).collect();
    let any = results.iter().any(|(sheet, r)| sheet.is_some() && !r.as_ref().is_err_and(|refused| refused.no_table));
    let mut out = Vec::new();
    let mut of_sections: Vec<Found> = Vec::new();
    for (sheet, result) in results {
        match result {
            Ok(found) if sheet.is_some_and(|s| section_label(s).is_some()) => of_sections.push(found),
            Ok(found) => out.push(Ok(found)),
            Err(refused) if any && sheet.is_some() && refused.no_table => {}
            Err(refused) => out.push(Err(refused.refusal)),
        }
    }
    out.extend(together(of_sections).into_iter().map(Ok));
    out
}

/// The reading of one sheet, with what its name says; a decision of the user counts.
fn of_sheet(sheet: &str, sheets: usize, reading: &Reading) -> Reading {
    let (key, value) = match section_label(sheet) {
        Some(label) => ("section", label),
        None if sheets > 1 => ("tube", sheet.to_owned()),
        None => return reading.clone(),
    };
    if reading.get(key).is_some() { reading.clone() } else { reading.with(&format!("{key}={value}")) }
}

/// Puts the sections on the sheets of one file together.
fn together(found: Vec<Found>) -> Vec<Found> {
    let Some(first) = found.first() else { return Vec::new() };
    let understood = first.understood.clone();
    let tubes: Vec<Tube> = found.into_iter().flat_map(|f| f.tubes).collect();
    let groups = joinable(&tubes);
    vec![Found { tubes: join(tubes, &groups), understood }]
}
