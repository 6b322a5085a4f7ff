//! Any sweep in any layout that intake accepts.

use std::fmt::Write as _;

/// How a table is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    Long,
    /// First column Vg, a current column a plate voltage.
    WideGrid,
    /// First column Va, a current column a grid voltage.
    WidePlate,
    /// A row a point, sections beside each other.
    Beside,
}

/// How quantities are named.
#[derive(Debug, Clone, Copy)]
pub enum Names {
    Iec,
    American,
    Words,
}

/// How units are attached.
#[derive(Debug, Clone, Copy)]
pub enum Units {
    Brackets,
    Parentheses,
    Underscore,
    Slash,
}

/// How a table is written.
#[derive(Debug, Clone, Copy)]
pub struct Manner {
    pub layout: Layout,
    pub names: Names,
    pub units: Units,
    /// Unit of the plate current and its factor to SI.
    pub unit: (&'static str, f64),
    pub separator: char,
    pub comma: bool,
    pub decimals: usize,
    pub end: &'static str,
    pub encoding: Encoding,
    pub free_lines: bool,
}

#[derive(Debug, Clone, Copy)]
pub enum Encoding {
    Utf8,
    Utf8Marked,
    Utf16Little,
    Utf16Big,
    Latin1,
}

/// A family of two sections: plate voltages, grid voltages, and currents in A by
/// section, plate and grid; `None` for a missing corner.
#[derive(Debug, Clone)]
pub struct Family {
    pub va: Vec<f64>,
    pub vg: Vec<f64>,
    pub ia: [Vec<Vec<Option<f64>>>; 2],
}

impl Manner {
    fn name(&self, quantity: &str, unit: &str, section: Option<usize>) -> String {
        let name = match (self.names, quantity) {
            (Names::American, "Va") => "Eb",
            (Names::American, "Vg") => "Ec",
            (Names::American, "Ia") => "Ib",
            (Names::Words, "Va") => "plate voltage",
            (Names::Words, "Vg") => "grid voltage",
            (Names::Words, "Ia") => "plate current",
            (_, name) => name,
        };
        let name = section.map_or(name.to_owned(), |s| format!("section {s} {name}"));
        match self.units {
            Units::Brackets => format!("{name} [{unit}]"),
            Units::Parentheses => format!("{name} ({unit})"),
            Units::Underscore => format!("{name}_{unit}"),
            Units::Slash => format!("{name}/{unit}"),
        }
    }

    fn number(&self, value: f64, decimals: usize) -> String {
        let text = format!("{value:.decimals$}");
        if self.comma { text.replace('.', ",") } else { text }
    }

    fn current(&self, value: Option<f64>) -> String {
        value.map_or(String::new(), |v| self.number(v / self.unit.1, self.decimals))
    }

    fn row(&self, out: &mut String, cells: &[String]) {
        let quote = |cell: &String| {
            if cell.contains(self.separator) { format!("\"{cell}\"") } else { cell.clone() }
        };
        let cells: Vec<String> = cells.iter().map(quote).collect();
        let _ = write!(out, "{}{}", cells.join(&self.separator.to_string()), self.end);
    }

    /// The file.
    pub fn render(&self, family: &Family) -> Vec<u8> {
        let mut out = String::new();
        let _ = write!(out, "# tube: R-1{}", self.end);
        if self.free_lines {
            let _ = write!(out, "an invented bench{}{}", self.end, self.end);
        }
        match self.layout {
            Layout::Long => self.long(family, &mut out),
            Layout::WideGrid | Layout::WidePlate => self.wide(family, &mut out),
            Layout::Beside => self.beside(family, &mut out),
        }
        self.encode(&out)
    }

    fn long(&self, family: &Family, out: &mut String) {
        let current = self.name("Ia", self.unit.0, None);
        self.row(out, &["section".into(), self.name("Va", "V", None), self.name("Vg", "V", None), current]);
        for (s, section) in family.ia.iter().enumerate() {
            for (va, curve) in family.va.iter().zip(section) {
                for (vg, ia) in family.vg.iter().zip(curve).filter(|(_, ia)| ia.is_some()) {
                    let cells = [(s + 1).to_string(), self.number(*va, 0), self.number(*vg, 2), self.current(*ia)];
                    self.row(out, &cells);
                }
            }
        }
    }

    fn wide(&self, family: &Family, out: &mut String) {
        let grid = self.layout == Layout::WideGrid;
        let (first, levels, running) =
            if grid { ("Vg", &family.va, &family.vg) } else { ("Va", &family.vg, &family.va) };
        let mut heading = vec![self.name(first, "V", None)];
        for s in 1..=2 {
            let decimals = if grid { 0 } else { 2 };
            let level =
                |v: &f64| format!("{} at {} V", self.name("Ia", self.unit.0, Some(s)), self.number(*v, decimals));
            heading.extend(levels.iter().map(level));
        }
        self.row(out, &heading);
        for (r, volts) in running.iter().enumerate() {
            let mut cells = vec![self.number(*volts, if grid { 2 } else { 0 })];
            for section in &family.ia {
                for (l, _) in levels.iter().enumerate() {
                    cells.push(self.current(if grid { section[l][r] } else { section[r][l] }));
                }
            }
            self.row(out, &cells);
        }
    }

    fn beside(&self, family: &Family, out: &mut String) {
        let mut heading = vec![self.name("Va", "V", None), self.name("Vg", "V", None)];
        heading.extend((1..=2).map(|s| self.name("Ia", self.unit.0, Some(s))));
        self.row(out, &heading);
        for (a, va) in family.va.iter().enumerate() {
            for (g, vg) in family.vg.iter().enumerate() {
                let mut cells = vec![self.number(*va, 0), self.number(*vg, 2)];
                cells.extend(family.ia.iter().map(|section| self.current(section[a][g])));
                self.row(out, &cells);
            }
        }
    }

    fn encode(&self, text: &str) -> Vec<u8> {
        let wide = |mark: [u8; 2], bytes: fn(u16) -> [u8; 2]| {
            mark.into_iter().chain(text.encode_utf16().flat_map(bytes)).collect::<Vec<u8>>()
        };
        match self.encoding {
            Encoding::Utf8 => text.as_bytes().to_vec(),
            Encoding::Utf8Marked => [b"\xef\xbb\xbf".as_slice(), text.as_bytes()].concat(),
            Encoding::Utf16Little => wide([0xff, 0xfe], u16::to_le_bytes),
            Encoding::Utf16Big => wide([0xfe, 0xff], u16::to_be_bytes),
            Encoding::Latin1 => text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect(),
        }
    }
}
