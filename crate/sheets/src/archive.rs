//! Zip files, measured before they are believed.

use std::io::{Cursor, Read};

use sweepbook_core::intake::{Packed, packed};
use zip::ZipArchive;

use crate::error::{Unpackable, short};
use crate::limits::{MOST_ENTRIES, MOST_RATIO, MOST_UNPACKED, RATIO_FROM};
use crate::{Failed, Part, Unpacked, of_sheets, xls, zipped};

/// Endings of the files that are read from an archive.
const READ: [&str; 7] = ["csv", "tsv", "txt", "json", "xlsx", "ods", "xls"];
/// Bytes unpacked at a time.
const BLOCK: usize = 64 * 1024;

fn open(bytes: &[u8]) -> Result<ZipArchive<Cursor<&[u8]>>, Unpackable> {
    ZipArchive::new(Cursor::new(bytes)).map_err(Unpackable::archive)
}

/// The names of the entries, after all of them were unpacked once without being
/// kept: sizes that an archive states itself prove nothing.
pub(crate) fn measure(bytes: &[u8]) -> Result<Vec<String>, Unpackable> {
    let mut archive = open(bytes)?;
    if archive.len() > MOST_ENTRIES {
        return Err(Unpackable::ManyEntries);
    }
    let mut names = Vec::with_capacity(archive.len());
    let mut all = 0_u64;
    let mut block = vec![0; BLOCK];
    for i in 0..archive.len() {
        let mut entry = archive.by_index(i).map_err(Unpackable::archive)?;
        let name = entry.name().map_err(Unpackable::archive)?.into_owned();
        let packed = entry.compressed_size().max(1);
        let mut size = 0_u64;
        loop {
            let read = entry.read(&mut block).map_err(Unpackable::archive)? as u64;
            if read == 0 {
                break;
            }
            size += read;
            all += read;
            if all > MOST_UNPACKED {
                return Err(Unpackable::TooLarge);
            }
            if size > RATIO_FROM && size / packed > MOST_RATIO {
                return Err(Unpackable::Ratio(short(&name)));
            }
        }
        names.push(name);
    }
    Ok(names)
}

/// One entry, of an archive that was measured.
pub(crate) fn entry(bytes: &[u8], name: &str) -> Result<Vec<u8>, Unpackable> {
    let mut archive = open(bytes)?;
    let entry = archive.by_name(name).map_err(Unpackable::archive)?;
    let mut out = Vec::new();
    entry.take(MOST_UNPACKED).read_to_end(&mut out).map_err(Unpackable::archive)?;
    Ok(out)
}

/// The tables in an archive, in the order of their names; spreadsheets among them are
/// taken apart too.
pub(crate) fn files(name: &str, bytes: &[u8], entries: &[String]) -> Result<Vec<Unpacked>, Unpackable> {
    let mut wanted: Vec<&String> = entries.iter().filter(|e| is_table(e)).collect();
    wanted.sort_unstable();
    wanted.dedup();
    let mut out = Vec::new();
    for path in wanted {
        let inner = format!("{name}/{path}");
        let content = entry(bytes, path)?;
        let unpacked = match packed(&content) {
            None => {
                out.push(Ok(Part { name: inner, sheet: None, bytes: content }));
                continue;
            }
            Some(Packed::Compound) => xls::sheets(&content).map(|sheets| of_sheets(&inner, sheets)),
            Some(Packed::Zip) => zipped(&inner, &content, false),
        };
        out.extend(unpacked.unwrap_or_else(|why| vec![Err(Failed { name: inner, why })]));
    }
    if out.is_empty() { Err(Unpackable::NoTable) } else { Ok(out) }
}

fn is_table(path: &str) -> bool {
    let file = path.rsplit(['/', '\\']).next().unwrap_or(path);
    let ending = file.rsplit_once('.').map(|(_, ending)| ending.to_lowercase());
    // Some systems put a hidden twin beside each file.
    !file.starts_with('.') && !path.starts_with("__MACOSX") && ending.is_some_and(|e| READ.contains(&e.as_str()))
}
