//! Tube types: typical operation, ratings, limits, and a published law of a healthy
//! specimen, each figure with its source.
//!
//! The entries are data, in `data/*.json`, one family a file; `read.rs` says what the keys
//! and units are. `build.rs` packs them for the program. Every figure says where it is from and what that is worth
//! ([`Strength`]): read in a text, from memory but reproduced by an independent published
//! fit (with the difference), or from memory alone. Most ratings are from memory. Published
//! data are means of new production; single tubes of consumer types spread by about ±30 %
//! (H. M. Knoll, radiomuseum.org forum, thread 383722).
//!
//! Two traps of data sheets are dealt with here. Many sheets quote a *supply* voltage with
//! a cathode resistor: such points are converted to voltages against the cathode, and keep
//! the sheet's circuit beside them ([`CathodeBias`]). And design-centre, design-maximum and
//! absolute ratings differ by about 10 % a step: [`Ratings::system`] says which, where known.
//!
//! ```
//! let tube = sweepbook_core::handbook::find("ECC-83").ok_or("not found")?;
//! assert_eq!(tube.name, "12AX7");
//! assert_eq!(tube.section_count(), 2);
//! # Ok::<(), &str>(())
//! ```

mod error;
#[cfg(test)]
mod files;
mod kinds;
mod label;
mod law;
mod limits;
mod raw;
mod read;
#[cfg(test)]
mod tests;
mod value;

use std::{
    collections::HashMap,
    sync::{Arc, OnceLock},
};

pub use error::{HandbookError, Mistake};
pub use kinds::{
    CathodeBias, Class, GridResistor, Heater, Name, Origin, Point, RatingSystem, Ratings, Section, SectionKind,
    SourceOf, Type,
};
pub use law::{Form, Law};
pub use limits::Limits;
pub use value::{Source, SourceKind, Strength, Value};

use crate::sorting::sort_by;

/// The shipped data, as the build script packed them.
static DATA: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/handbook.bin"));

/// The short name of the source for a user's figure with no document named. Always known.
pub const USER_SOURCE: &str = "user";

/// A set of tube types, their sources and the limits to judge by.
#[derive(Debug, Clone, Default)]
pub struct Handbook {
    types: Vec<Type>,
    sources: read::Sources,
    /// Key of a name to the place in `types`.
    names: HashMap<String, usize>,
    /// Limits by class, and the user's edits by the key of a type's name.
    class_limits: Vec<(Class, Limits)>,
    edited_limits: HashMap<String, Limits>,
}

/// The shipped type that `label` names, or `None` where none or more than one fits.
///
/// Case, blanks, dashes and a maker's name beside it do not count; equivalents and several
/// equal names ("E88CC / 6922") are understood.
pub fn find(label: &str) -> Option<&'static Type> {
    Handbook::shipped().find(label)
}

/// All shipped types.
pub fn all() -> &'static [Type] {
    Handbook::shipped().all()
}

impl Handbook {
    /// The handbook that comes with the program, read once. (Were its data damaged it would
    /// be empty; a test holds that it is not.)
    pub fn shipped() -> &'static Handbook {
        static SHIPPED: OnceLock<Handbook> = OnceLock::new();
        SHIPPED.get_or_init(|| {
            let files: Vec<raw::File> = postcard::from_bytes(DATA).unwrap_or_default();
            Self::of(files).unwrap_or_default()
        })
    }

    /// The handbook of some files.
    fn of(files: Vec<raw::File>) -> Result<Self, HandbookError> {
        let mut book = Self::default();
        let user = Source {
            id: USER_SOURCE.into(),
            kind: SourceKind::User,
            citation: "The user's own figure; no document named".into(),
        };
        book.sources.insert(user.id.clone(), Arc::new(user));
        for file in files {
            book.add(file, Origin::Shipped)?;
        }
        Ok(book)
    }

    /// This handbook with the user's own sources, types and limits added.
    ///
    /// `json` has the form of the shipped files: `sources`, `types` and `limits`, each
    /// optional. A figure with no document behind it cites `"user"`. A type whose name is
    /// taken replaces the one of that name and inherits its equivalents; a name of it that
    /// another type bore is the user's from then on. Limits are given for a type or for a class
    /// (`small-signal`, `power`, `rectifier`) and go before all others; naming a source of
    /// kind `sheet` for them makes them count as verified. The text is kept by the caller:
    /// it is all that is needed to build the handbook again.
    ///
    /// # Errors
    /// The first fault, with its place and a mend. This handbook is left as it was.
    pub fn with_user_types(&self, json: &str) -> Result<Handbook, HandbookError> {
        let mut book = self.clone();
        book.add(read::parse(json)?, Origin::User)?;
        Ok(book)
    }

    /// All types, the user's last.
    pub fn all(&self) -> &[Type] {
        &self.types
    }

    /// The type that `label` names; see the function [`find`].
    pub fn find(&self, label: &str) -> Option<&Type> {
        match label::candidates(label, |key| self.names.get(key).copied())[..] {
            [only] => self.types.get(only),
            _ => None,
        }
    }

    /// The source with this short name.
    pub fn source(&self, id: &str) -> Option<&Source> {
        self.sources.get(id).map(Arc::as_ref)
    }

    /// All sources, by short name.
    pub fn sources(&self) -> Vec<&Source> {
        let mut all: Vec<&Source> = self.sources.values().map(Arc::as_ref).collect();
        sort_by(&mut all, |a, b| a.id.cmp(&b.id));
        all
    }

    /// The limits to judge a tube of this type by: the user's, else the type's own, else
    /// those of its class. A balance only where the sections are alike.
    pub fn limits(&self, tube: &Type) -> Limits {
        let none = Limits::default();
        let edited = self.edited_limits.get(&label::key(&tube.name)).cloned().unwrap_or_default();
        let of_class = self.class_limits.iter().find(|(class, _)| *class == tube.class());
        let mut limits = edited.or(&tube.limits).or(of_class.map_or(&none, |(_, limits)| limits));
        if !tube.has_equal_sections() {
            limits.balance = None;
        }
        limits
    }

    /// Adds one file.
    fn add(&mut self, mut file: raw::File, origin: Origin) -> Result<(), HandbookError> {
        read::sources(&mut self.sources, &mut file)?;
        for raw in file.types {
            let tube = read::tube_type(&self.sources, raw, origin)?;
            self.insert(tube)?;
        }
        for (whose, raw) in file.limits {
            let limits = read::limits(&self.sources, &raw, &format!("limits for \"{whose}\""))?;
            self.edit_limits(whose, limits)?;
        }
        Ok(())
    }

    fn insert(&mut self, tube: Type) -> Result<(), HandbookError> {
        let fault = |mistake| HandbookError { place: format!("type \"{}\"", tube.name), mistake };
        let own = label::key(&tube.name);
        // The user's type takes the seat of the shipped one it replaces, and its other names.
        let seat = match self.names.get(&own) {
            Some(&i) if replaces(&tube, self.types.get(i), &own) => i,
            _ => self.types.len(),
        };
        let mut keys = Vec::new();
        for name in std::iter::once(&tube.name).chain(tube.other_names.iter().map(|n| &n.label)) {
            let key = label::key(name);
            if key.is_empty() {
                return Err(fault(Mistake::BadName(name.clone())));
            }
            let holder = self.names.get(&key).and_then(|&i| self.types.get(i));
            let taken = holder.filter(|h| h.origin == tube.origin).or(keys.contains(&key).then_some(&tube));
            if let Some(owner) = taken {
                return Err(fault(Mistake::NameTwice { name: name.clone(), owner: owner.name.clone() }));
            }
            keys.push(key);
        }
        self.names.extend(keys.into_iter().map(|key| (key, seat)));
        match self.types.get_mut(seat) {
            Some(old) => *old = tube,
            None => self.types.push(tube),
        }
        Ok(())
    }

    fn edit_limits(&mut self, whose: String, limits: Limits) -> Result<(), HandbookError> {
        let class = [("small-signal", Class::SmallSignal), ("power", Class::Power), ("rectifier", Class::Rectifier)]
            .into_iter()
            .find_map(|(name, class)| (name == whose).then_some(class));
        if let Some(class) = class {
            match self.class_limits.iter_mut().find(|(known, _)| *known == class) {
                Some((_, old)) => *old = limits.or(old),
                None => self.class_limits.push((class, limits)),
            }
            return Ok(());
        }
        let Some(tube) = self.find(&whose) else {
            return Err(HandbookError { place: "limits".into(), mistake: Mistake::NoSuchType(whose) });
        };
        let key = label::key(&tube.name);
        let old = self.edited_limits.remove(&key).unwrap_or_default();
        self.edited_limits.insert(key, limits.or(&old));
        Ok(())
    }
}

/// Whether a user's type stands for a shipped one: it bears that one's first name.
fn replaces(tube: &Type, old: Option<&Type>, key: &str) -> bool {
    old.is_some_and(|old| tube.origin == Origin::User && old.origin == Origin::Shipped && label::key(&old.name) == key)
}
