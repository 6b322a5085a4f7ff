//! What a column can hold, and what people call it.

use crate::intake::units::{self, Dimension};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(in crate::intake) enum Column {
    Tube,
    Section,
    Va,
    Vg,
    Ia,
    Ig,
    Vg2,
    Ig2,
    Ik,
    Vh,
    Ih,
    Vhk,
    Ihk,
    Time,
    Repeat,
    /// Something else, kept out.
    Other,
}

impl Column {
    /// Those that hold a number.
    pub(in crate::intake) const NUMBERS: [Self; 13] = [
        Self::Va,
        Self::Vg,
        Self::Ia,
        Self::Ig,
        Self::Vg2,
        Self::Ig2,
        Self::Ik,
        Self::Vh,
        Self::Ih,
        Self::Vhk,
        Self::Ihk,
        Self::Time,
        Self::Repeat,
    ];

    pub(in crate::intake) fn name(self) -> &'static str {
        match self {
            Self::Tube => "tube",
            Self::Section => "section",
            Self::Va => "plate voltage",
            Self::Vg => "grid voltage",
            Self::Ia => "plate current",
            Self::Ig => "grid current",
            Self::Vg2 => "screen voltage",
            Self::Ig2 => "screen current",
            Self::Ik => "cathode current",
            Self::Vh => "heater voltage",
            Self::Ih => "heater current",
            Self::Vhk => "heater–cathode voltage",
            Self::Ihk => "heater–cathode current",
            Self::Time => "time",
            Self::Repeat => "repeat",
            Self::Other => "other",
        }
    }

    /// The letter symbol, as options name it.
    pub(in crate::intake) fn symbol(self) -> &'static str {
        match self {
            Self::Va => "va",
            Self::Vg => "vg",
            Self::Ia => "ia",
            Self::Ig => "ig",
            Self::Vg2 => "vg2",
            Self::Ig2 => "ig2",
            Self::Ik => "ik",
            Self::Vh => "vh",
            Self::Ih => "ih",
            Self::Vhk => "vhk",
            Self::Ihk => "ihk",
            Self::Tube | Self::Section | Self::Time | Self::Repeat | Self::Other => self.name(),
        }
    }

    pub(in crate::intake) fn of_symbol(symbol: &str) -> Option<Self> {
        Self::NUMBERS.into_iter().find(|c| c.symbol() == symbol)
    }

    pub(in crate::intake) fn dimension(self) -> Dimension {
        match self {
            Self::Va | Self::Vg | Self::Vg2 | Self::Vh | Self::Vhk => Dimension::Voltage,
            Self::Ia | Self::Ig | Self::Ig2 | Self::Ik | Self::Ih | Self::Ihk => Dimension::Current,
            Self::Time => Dimension::Time,
            Self::Tube | Self::Section | Self::Repeat | Self::Other => Dimension::Number,
        }
    }

    /// Whether it is one of the three that make a sweep.
    pub(in crate::intake) fn makes_a_sweep(self) -> bool {
        matches!(self, Self::Va | Self::Vg | Self::Ia)
    }

    /// The one whose voltage is held where this one runs.
    pub(in crate::intake) fn partner(self) -> Option<Self> {
        match self {
            Self::Va => Some(Self::Vg),
            Self::Vg => Some(Self::Va),
            _ => None,
        }
    }
}

/// Letter symbols of IEC and of the older American manner, and plain words.
/// Compared in lower case without blanks, dots and dashes.
const NAMES: [(Column, &[&str]); 15] = [
    (Column::Tube, &["tube", "valve", "tubeid", "tubeno", "tubename", "serial"]),
    (Column::Section, &["section", "unit", "system", "half", "sect", "triode"]),
    (
        Column::Va,
        &[
            "va",
            "ua",
            "eb",
            "ep",
            "vp",
            "vplate",
            "vanode",
            "eplate",
            "platevoltage",
            "anodevoltage",
            "platevolts",
            "anodevolts",
            "platev",
            "anodev",
        ],
    ),
    (
        Column::Vg,
        &[
            "vg",
            "ug",
            "ec",
            "eg",
            "vg1",
            "ug1",
            "ec1",
            "eg1",
            "vs",
            "vgrid",
            "egrid",
            "gridvoltage",
            "gridvolts",
            "controlgridvoltage",
            "gridv",
            "bias",
            "gridbias",
        ],
    ),
    (Column::Ia, &["ia", "ib", "ip", "iplate", "ianode", "platecurrent", "anodecurrent"]),
    (Column::Ig, &["ig", "ic", "ig1", "ic1", "igrid", "gridcurrent", "controlgridcurrent"]),
    (
        Column::Vg2,
        &[
            "vg2",
            "ug2",
            "ec2",
            "eg2",
            "es",
            "esg",
            "vsg",
            "vscreen",
            "screenvoltage",
            "screenvolts",
            "screengridvoltage",
        ],
    ),
    (Column::Ig2, &["ig2", "ic2", "is", "isg", "iscreen", "screencurrent", "screengridcurrent"]),
    (Column::Ik, &["ik", "cathodecurrent"]),
    (Column::Vh, &["vh", "vf", "uf", "uh", "ef", "eh", "heatervoltage", "filamentvoltage", "heatervolts"]),
    (Column::Ih, &["ih", "if", "heatercurrent", "filamentcurrent"]),
    (Column::Vhk, &["vhk", "vkh", "heatercathodevoltage"]),
    (Column::Ihk, &["ihk", "ikh", "heatercathodecurrent"]),
    (Column::Time, &["time", "t", "elapsed"]),
    (Column::Repeat, &["repeat", "run", "pass"]),
];

/// Electrodes that name their voltage or current together with a unit, as in `Plate mA`.
const ELECTRODES: [(&[&str], Column, Column); 4] = [
    (&["plate", "anode"], Column::Va, Column::Ia),
    (&["grid", "grid1", "controlgrid"], Column::Vg, Column::Ig),
    (&["screen", "screengrid", "grid2"], Column::Vg2, Column::Ig2),
    (&["heater", "filament"], Column::Vh, Column::Ih),
];

/// The column that an electrode with a unit stands for.
pub(super) fn electrode(name: &str, unit: &str) -> Option<Column> {
    let key = key(name);
    let (_, volts, amperes) = ELECTRODES.iter().find(|(names, ..)| names.contains(&key.as_str()))?;
    match () {
        () if units::factor(unit, Dimension::Voltage).is_some() => Some(*volts),
        () if units::factor(unit, Dimension::Current).is_some() => Some(*amperes),
        () => None,
    }
}

/// The column that a name stands for.
pub(in crate::intake) fn find(name: &str) -> Option<Column> {
    let key = key(name);
    NAMES.iter().find(|(_, names)| names.contains(&key.as_str())).map(|(c, _)| *c)
}

fn key(name: &str) -> String {
    let kept = name.chars().filter(|c| !c.is_whitespace() && !matches!(c, '.' | '-' | '_'));
    kept.flat_map(char::to_lowercase).collect()
}
