//! Small invented spreadsheets and archives.

use std::io::{Cursor, Write};

use rust_xlsxwriter::Workbook;
use zip::write::SimpleFileOptions;

/// A sheet: its name, and rows of cells; what reads as a number is one.
pub type Sheet<'a> = (&'a str, &'a str);

fn cells(text: &str) -> impl Iterator<Item = (usize, usize, &str)> {
    text.lines().enumerate().flat_map(|(r, line)| {
        line.split(',').enumerate().filter(|(_, cell)| !cell.is_empty()).map(move |(c, cell)| (r, c, cell))
    })
}

pub fn xlsx(sheets: &[Sheet]) -> Vec<u8> {
    let mut book = Workbook::new();
    for (name, text) in sheets {
        let sheet = book.add_worksheet();
        sheet.set_name(*name).unwrap();
        for (r, c, cell) in cells(text) {
            let (r, c) = (r as u32, c as u16);
            match cell.parse::<f64>() {
                Ok(number) => sheet.write_number(r, c, number).unwrap(),
                Err(_) => sheet.write_string(r, c, cell).unwrap(),
            };
        }
    }
    book.save_to_buffer().unwrap()
}

pub fn zip(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in entries {
        writer.start_file(*name, SimpleFileOptions::default()).unwrap();
        writer.write_all(bytes).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

pub fn ods(sheets: &[Sheet]) -> Vec<u8> {
    let mut body = String::new();
    for (name, text) in sheets {
        body.push_str(&format!("<table:table table:name=\"{name}\">"));
        for line in text.lines() {
            body.push_str("<table:table-row>");
            for cell in line.split(',') {
                body.push_str(&match cell.parse::<f64>() {
                    _ if cell.is_empty() => "<table:table-cell/>".to_owned(),
                    Ok(v) => format!(
                        "<table:table-cell office:value-type=\"float\" office:value=\"{v}\"><text:p>{v:.1}</text:p></table:table-cell>"
                    ),
                    Err(_) => format!(
                        "<table:table-cell office:value-type=\"string\"><office:annotation><text:p>remark</text:p>\
                         </office:annotation><text:p>{}</text:p></table:table-cell>",
                        cell.replace('&', "&amp;")
                    ),
                });
            }
            body.push_str("</table:table-row>");
        }
        // As office programs end a sheet.
        body.push_str(
            "<table:table-row table:number-rows-repeated=\"1048000\"><table:table-cell \
             table:number-columns-repeated=\"16384\"/></table:table-row></table:table>",
        );
    }
    ods_of(&body)
}

/// A spreadsheet with this markup for its sheets.
pub fn ods_of(body: &str) -> Vec<u8> {
    let content = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?><office:document-content><office:body><office:spreadsheet>{body}\
         </office:spreadsheet></office:body></office:document-content>"
    );
    zip(&[("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"), ("content.xml", content.as_bytes())])
}

fn record(kind: u16, body: &[u8]) -> Vec<u8> {
    [&kind.to_le_bytes(), &(body.len() as u16).to_le_bytes(), body].concat()
}

/// A cell of an old spreadsheet.
fn xls_cell(r: usize, c: usize, cell: &str) -> Vec<u8> {
    let place = [(r as u16).to_le_bytes(), (c as u16).to_le_bytes(), [0, 0]].concat();
    match cell.parse::<f64>() {
        Ok(number) => record(0x0203, &[place, number.to_le_bytes().to_vec()].concat()),
        Err(_) => {
            let length = (cell.len() as u16).to_le_bytes().to_vec();
            record(0x0204, &[place, length, vec![0], cell.as_bytes().to_vec()].concat())
        }
    }
}

/// An old spreadsheet, BIFF8 in a compound file ([MS-XLS]; from memory).
pub fn xls(sheets: &[Sheet]) -> Vec<u8> {
    let bodies: Vec<Vec<u8>> =
        sheets.iter().map(|(_, text)| cells(text).flat_map(|(r, c, cell)| xls_cell(r, c, cell)).collect()).collect();
    xls_of(&sheets.iter().map(|s| s.0).zip(bodies).collect::<Vec<_>>())
}

pub fn xls_of(sheets: &[(&str, Vec<u8>)]) -> Vec<u8> {
    let begin = |kind: u16| record(0x0809, &[0x0600_u16, kind, 0, 0, 0, 0, 0, 0].map(u16::to_le_bytes).concat());
    let end = record(0x000a, &[]);
    let listed: usize = sheets.iter().map(|(name, _)| 4 + 8 + name.len()).sum();
    let mut at = begin(5).len() + listed + end.len();
    let mut stream = begin(5);
    let mut bodies = Vec::new();
    for (name, body) in sheets {
        let head = [(at as u32).to_le_bytes().to_vec(), vec![0, 0, name.len() as u8, 0], name.as_bytes().to_vec()];
        stream.extend(record(0x0085, &head.concat()));
        let sheet = [begin(0x10), body.clone(), end.clone()].concat();
        at += sheet.len();
        bodies.push(sheet);
    }
    stream.extend(end);
    stream.extend(bodies.concat());
    let mut file = cfb::CompoundFile::create(Cursor::new(Vec::new())).unwrap();
    file.create_stream("/Workbook").unwrap().write_all(&stream).unwrap();
    file.flush().unwrap();
    file.into_inner().into_inner()
}

/// One cell of an old spreadsheet, as records.
pub fn xls_corner(r: u16, c: u16) -> Vec<u8> {
    xls_cell(usize::from(r), usize::from(c), "1")
}
