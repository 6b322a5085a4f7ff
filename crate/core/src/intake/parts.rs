//! Files of several tables: the sheets of a spreadsheet, the files of an archive, and
//! one tube over several of them.

use std::collections::{BTreeMap, HashSet};

use super::heading::section_label;
use super::reading::Reading;
use super::{Found, MOST_QUESTIONS, Refusal, Refused, read_or_say};
use crate::sweep::{Bench, Tube};

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

/// Groups of tubes that can be joined to one: the same name and type, and no section
/// that two of them have. Each is a list of places in `tubes`, of at least two.
pub fn joinable(tubes: &[Tube]) -> Vec<Vec<usize>> {
    let plain = |s: &str| s.split_whitespace().collect::<String>().to_lowercase();
    let mut groups: BTreeMap<(String, Option<String>), Vec<usize>> = BTreeMap::new();
    for (i, tube) in tubes.iter().enumerate() {
        groups.entry((plain(&tube.name), tube.kind.as_deref().map(plain))).or_default().push(i);
    }
    let apart = |group: &Vec<usize>| {
        let mut seen = HashSet::new();
        let mut sections = group.iter().flat_map(|&i| &tubes[i].sections);
        let one_bench = group.windows(2).all(|w| agree(&tubes[w[0]].bench, &tubes[w[1]].bench));
        group.len() > 1 && one_bench && sections.all(|s| seen.insert(plain(&s.name)))
    };
    let mut groups: Vec<Vec<usize>> = groups.into_values().filter(apart).collect();
    groups.sort_unstable();
    groups
}

/// Whether two benches may be one: nothing that both state differs.
fn agree(a: &Bench, b: &Bench) -> bool {
    fn same<T: PartialEq>(a: Option<T>, b: Option<T>) -> bool {
        a.is_none() || b.is_none() || a == b
    }
    same(a.grid_source_resistance, b.grid_source_resistance)
        && same(a.current_meter, b.current_meter)
        && same(a.heater_voltage, b.heater_voltage)
        && same(a.screen_voltage, b.screen_voltage)
        && same(a.current_limit, b.current_limit)
        && same(a.current_resolution, b.current_resolution)
}

/// Joins tubes by groups of [`joinable`]: sections in the order given, notes and
/// sources added up, and of the bench what the first that says it says. Tubes in no
/// group stay as they are.
pub fn join(tubes: Vec<Tube>, groups: &[Vec<usize>]) -> Vec<Tube> {
    let mut head: Vec<usize> = (0..tubes.len()).collect();
    for group in groups {
        for &i in group {
            if let (Some(to), Some(first)) = (head.get_mut(i), group.first()) {
                *to = *first;
            }
        }
    }
    let mut out: BTreeMap<usize, Tube> = BTreeMap::new();
    for (tube, head) in tubes.into_iter().zip(head) {
        match out.get_mut(&head) {
            None => {
                out.insert(head, tube);
            }
            Some(to) => add(to, tube),
        }
    }
    out.into_values().collect()
}

fn add(to: &mut Tube, tube: Tube) {
    to.sections.extend(tube.sections);
    for source in tube.source {
        if !to.source.contains(&source) {
            to.source.push(source);
        }
    }
    for note in tube.notes {
        if !to.notes.contains(&note) {
            to.notes.push(note);
        }
    }
    let (bench, more) = (&mut to.bench, tube.bench);
    bench.grid_source_resistance = bench.grid_source_resistance.or(more.grid_source_resistance);
    bench.current_meter = bench.current_meter.or(more.current_meter);
    bench.heater_voltage = bench.heater_voltage.or(more.heater_voltage);
    bench.screen_voltage = bench.screen_voltage.or(more.screen_voltage);
    bench.current_limit = bench.current_limit.or(more.current_limit);
    bench.current_resolution = bench.current_resolution.or(more.current_resolution);
    bench.heater_cathode.extend(more.heater_cathode);
}
