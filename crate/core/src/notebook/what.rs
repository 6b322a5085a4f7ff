//! What a change says.

use serde::{Deserialize, Serialize};

use super::error::Mistake;
use super::id::{ChangeId, Hash};
use super::limits::{
    LONGEST_LINE, LONGEST_NOTE, LONGEST_OPTION, LONGEST_SIDE, MOST_BOUGHT, MOST_IN_ACT, MOST_OPTIONS, MOST_POINTS,
};
use super::observe::{LAMP_MOST, Lamp, Seen};
use crate::report::Verdict;

/// What is written of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LotField {
    /// What its owner calls it.
    Name,
    /// Who sold it.
    Seller,
    /// The seller's number or address of the offer.
    Reference,
    /// What it cost, as written.
    Price,
    /// In which money, as written.
    Currency,
    /// When it was bought, as written.
    BoughtOn,
    /// How many tubes were bought, a whole number.
    Bought,
    /// Anything else.
    Note,
}

impl LotField {
    /// Every one.
    pub const ALL: [Self; 8] = [
        Self::Name,
        Self::Seller,
        Self::Reference,
        Self::Price,
        Self::Currency,
        Self::BoughtOn,
        Self::Bought,
        Self::Note,
    ];
}

/// What is written of a tube.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TubeField {
    /// What its owner calls it.
    Label,
    /// The type on the label.
    Type,
}

/// A bench profile, as it was when the file was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NamedBench {
    /// Its name.
    pub name: String,
    /// The profile itself, a text of schema `sweepbook/bench/1`.
    pub text: String,
}

/// What a change says. Everything that it names goes by the change that added it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case")]
pub enum What {
    /// Names the notebook.
    NameNotebook {
        /// The name.
        name: String,
    },
    /// Adds a lot.
    AddLot {
        /// Its name.
        name: String,
    },
    /// Writes something of a lot.
    SetLot {
        /// The lot.
        lot: ChangeId,
        /// What of it.
        field: LotField,
        /// The new text; empty for nothing.
        to: String,
    },
    /// Adds a tube.
    AddTube {
        /// To this lot, or to none.
        lot: Option<ChangeId>,
        /// What its owner calls it.
        label: String,
        /// The type on the label.
        #[serde(rename = "type")]
        kind: Option<String>,
    },
    /// Writes something of a tube.
    SetTube {
        /// The tube.
        tube: ChangeId,
        /// What of it.
        field: TubeField,
        /// The new text.
        to: String,
    },
    /// Moves a tube to another lot.
    MoveTube {
        /// The tube.
        tube: ChangeId,
        /// To this lot, or to none.
        lot: Option<ChangeId>,
    },
    /// Adds a file of sweeps. Its bytes are kept beside the notebook.
    AddSource {
        /// Its name.
        file: String,
        /// Of its bytes.
        hash: Hash,
        /// Number of bytes.
        bytes: u64,
        /// The options under which it is read, see [`crate::intake::Reading`].
        #[serde(default)]
        reading: Vec<String>,
        /// The bench profile that fills in what it does not say.
        #[serde(default)]
        bench: Option<NamedBench>,
        /// Whether it is of the sample lot, which is invented.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        sample: bool,
    },
    /// Reads a file of sweeps otherwise.
    ReadSource {
        /// The file.
        source: ChangeId,
        /// As in [`What::AddSource`].
        reading: Vec<String>,
        /// As in [`What::AddSource`].
        bench: Option<NamedBench>,
    },
    /// Says whether sweeps of a tube come from a file.
    TieSource {
        /// The tube.
        tube: ChangeId,
        /// The file.
        source: ChangeId,
        /// What the file calls the tube.
        named: String,
        /// Whether they do.
        tied: bool,
    },
    /// Adds a note.
    AddNote {
        /// On a lot or a tube; `None` for the notebook.
        of: Option<ChangeId>,
        /// The note.
        text: String,
    },
    /// Changes a note.
    SetNote {
        /// The note.
        note: ChangeId,
        /// Its new text.
        text: String,
    },
    /// The user decides on a tube.
    Decide {
        /// The tube.
        tube: ChangeId,
        /// What to do with it; `None` takes the decision back.
        decision: Option<Verdict>,
        /// Why; not empty where the decision differs from `said`.
        reason: String,
        /// The verdict of the sweep at that moment; `None` where there was none.
        said: Option<Verdict>,
    },
    /// Adds what was seen beside the sweep.
    Observe {
        /// The tube.
        tube: ChangeId,
        /// The section by its name; `None` for the whole tube.
        section: Option<String>,
        /// What was seen.
        seen: Seen,
    },
    /// Adds the result of an exercise of the lessons.
    Exercise {
        /// Its number.
        number: u32,
        /// Its level, from 0.
        level: u32,
        /// Points.
        score: u32,
        /// Of so many.
        of: u32,
    },
    /// Sets how much a lit lamp counts.
    SetLamp {
        /// Which lamp.
        lamp: Lamp,
        /// Its likelihood ratio, 1 to [`LAMP_MOST`].
        ratio: f64,
    },
    /// Adds a photo. Its bytes are kept beside the notebook.
    AddPhoto {
        /// Of a tube or a lot.
        of: ChangeId,
        /// Of its bytes.
        hash: Hash,
        /// Number of bytes.
        bytes: u64,
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
        /// What it shows.
        caption: String,
    },
    /// Writes what a photo shows.
    SetPhoto {
        /// The photo.
        photo: ChangeId,
        /// What it shows.
        caption: String,
    },
    /// Removes a lot, tube, file, note, observation or photo from what is shown.
    Remove {
        /// What was added by this change.
        entry: ChangeId,
        /// `false` brings it back.
        removed: bool,
    },
    /// Withdraws earlier changes. Withdrawing a withdrawal brings them back.
    Withdraw {
        /// Their names.
        changes: Vec<ChangeId>,
    },
    /// Of a later version: kept, and shown as nothing.
    #[serde(other)]
    Unknown,
}

/// One thing that has one value at a time, which changes set.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Field {
    Name,
    Lamp(Lamp),
    Lot(ChangeId, LotField),
    Tube(ChangeId, TubeField),
    Place(ChangeId),
    Reading(ChangeId),
    Tie(ChangeId, ChangeId),
    Text(ChangeId),
    Decision(ChangeId),
    Caption(ChangeId),
    Removed(ChangeId),
}

impl What {
    /// The fields that it sets, being the change of this name.
    pub(super) fn fields(&self, own: &ChangeId) -> Vec<Field> {
        let own = || own.clone();
        match self {
            Self::NameNotebook { .. } => vec![Field::Name],
            Self::AddLot { .. } => vec![Field::Lot(own(), LotField::Name)],
            Self::AddTube { .. } => {
                vec![Field::Tube(own(), TubeField::Label), Field::Tube(own(), TubeField::Type), Field::Place(own())]
            }
            Self::AddSource { .. } => vec![Field::Reading(own())],
            Self::AddNote { .. } => vec![Field::Text(own())],
            Self::AddPhoto { .. } => vec![Field::Caption(own())],
            Self::SetLot { lot, field, .. } => vec![Field::Lot(lot.clone(), *field)],
            Self::SetTube { tube, field, .. } => vec![Field::Tube(tube.clone(), *field)],
            Self::MoveTube { tube, .. } => vec![Field::Place(tube.clone())],
            Self::ReadSource { source, .. } => vec![Field::Reading(source.clone())],
            Self::TieSource { tube, source, .. } => vec![Field::Tie(tube.clone(), source.clone())],
            Self::SetNote { note, .. } => vec![Field::Text(note.clone())],
            Self::Decide { tube, .. } => vec![Field::Decision(tube.clone())],
            Self::SetLamp { lamp, .. } => vec![Field::Lamp(*lamp)],
            Self::SetPhoto { photo, .. } => vec![Field::Caption(photo.clone())],
            Self::Remove { entry, .. } => vec![Field::Removed(entry.clone())],
            Self::Observe { .. } | Self::Exercise { .. } | Self::Withdraw { .. } | Self::Unknown => Vec::new(),
        }
    }

    /// Whether it may stand in a notebook.
    ///
    /// # Errors
    /// What is wrong with it.
    pub(super) fn check(&self) -> Result<(), Mistake> {
        match self {
            Self::NameNotebook { name } | Self::AddLot { name } => named("the name", name),
            Self::SetLot { field: LotField::Name, to, .. } => named("the name of a lot", to),
            Self::SetLot { field: LotField::Bought, to, .. } => {
                let counts = to.is_empty() || to.parse::<u32>().is_ok_and(|n| n <= MOST_BOUGHT);
                if counts { Ok(()) } else { Err(Mistake::bad("how many tubes were bought", to)) }
            }
            Self::SetLot { field: LotField::Note, to, .. } => short("a note", to, LONGEST_NOTE),
            Self::SetLot { to, .. } => short("what is written of a lot", to, LONGEST_LINE),
            Self::AddTube { label, kind, .. } => {
                named("the label of a tube", label)?;
                kind.iter().try_for_each(|kind| short("a type", kind, LONGEST_LINE))
            }
            Self::SetTube { field: TubeField::Label, to, .. } => named("the label of a tube", to),
            Self::SetTube { field: TubeField::Type, to, .. } => short("a type", to, LONGEST_LINE),
            Self::AddSource { file, reading, bench, .. } => {
                short("the name of a file", file, LONGEST_LINE)?;
                read_how(reading, bench.as_ref())
            }
            Self::ReadSource { reading, bench, .. } => read_how(reading, bench.as_ref()),
            Self::TieSource { named, .. } => short("the name of a tube", named, LONGEST_LINE),
            Self::AddNote { text, .. } | Self::SetNote { text, .. } => {
                filled("a note", text)?;
                short("a note", text, LONGEST_NOTE)
            }
            Self::Decide { decision, reason, said, .. } => {
                short("the reason", reason, LONGEST_NOTE)?;
                let overrules = matches!((decision, said), (Some(decision), Some(said)) if decision != said);
                if overrules && reason.trim().is_empty() { Err(Mistake::NoReason) } else { Ok(()) }
            }
            Self::Observe { section, seen, .. } => {
                section.iter().try_for_each(|name| short("the name of a section", name, LONGEST_LINE))?;
                seen.check()
            }
            Self::Exercise { level, score, of, .. } => {
                let fits = *of > 0 && score <= of && *of <= MOST_POINTS && *level <= MOST_POINTS;
                if fits { Ok(()) } else { Err(Mistake::bad("the points of an exercise", &format!("{score} of {of}"))) }
            }
            Self::SetLamp { ratio, .. } => {
                let fits = (1.0..=LAMP_MOST).contains(ratio);
                if fits { Ok(()) } else { Err(Mistake::bad("what a lamp counts, 1 to 4", &ratio.to_string())) }
            }
            Self::AddPhoto { width, height, caption, .. } => {
                short("what a photo shows", caption, LONGEST_LINE)?;
                let side = *width.max(height);
                let fits = *width.min(height) > 0 && side <= LONGEST_SIDE;
                if fits { Ok(()) } else { Err(Mistake::bad("the side of a photo", &side.to_string())) }
            }
            Self::SetPhoto { caption, .. } => short("what a photo shows", caption, LONGEST_LINE),
            Self::Withdraw { changes } if changes.len() > MOST_IN_ACT => Err(Mistake::ManyAtOnce),
            Self::MoveTube { .. } | Self::Remove { .. } | Self::Withdraw { .. } | Self::Unknown => Ok(()),
        }
    }
}

fn filled(what: &'static str, text: &str) -> Result<(), Mistake> {
    if text.trim().is_empty() { Err(Mistake::Missing { what }) } else { Ok(()) }
}

fn short(what: &'static str, text: &str, most: usize) -> Result<(), Mistake> {
    // Bytes first: they are known, characters have to be counted.
    if text.len() > most && text.chars().count() > most { Err(Mistake::Long { what, most }) } else { Ok(()) }
}

fn named(what: &'static str, text: &str) -> Result<(), Mistake> {
    filled(what, text)?;
    short(what, text, LONGEST_LINE)
}

fn read_how(reading: &[String], bench: Option<&NamedBench>) -> Result<(), Mistake> {
    if reading.len() > MOST_OPTIONS {
        return Err(Mistake::ManyAtOnce);
    }
    reading.iter().try_for_each(|option| short("an option", option, LONGEST_OPTION))?;
    bench.iter().try_for_each(|bench| {
        short("the name of a bench", &bench.name, LONGEST_LINE)?;
        short("a bench profile", &bench.text, LONGEST_OPTION)
    })
}
