//! The user's own lot: which tubes belong together, and which are odd among their mates.
//!
//! Tubes of one type on the label are compared at one common point inside their sweeps.
//! Groups come from what makes differ in: amplification factor, current and
//! transconductance; their number from an information criterion, and one group is the
//! usual answer. Odd tubes stand out from their own group in any figure, even where every
//! absolute limit passes.

mod groups;
mod member;
mod odd;
mod plane;
mod traits;

use serde::{Deserialize, Serialize};

pub use groups::{FEWEST, Groups, groups};
pub use member::Member;
pub use plane::{Axis, Dimension, Plane, Spot, axes, plane};
pub use traits::{Point, TRAITS};

use super::mixture::Row;
use crate::sorting::{places_by, sort_by};
use groups::VERY_STRONG;
use odd::Standing;

/// Fewest tubes of a type of which anything is said.
pub const SMALLEST_LOT: usize = 5;

/// The comparison of a lot: one part for each type on the labels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Comparison {
    /// The parts, in the order of the types' names.
    pub parts: Vec<PartOfLot>,
}

/// The tubes of one type.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PartOfLot {
    /// The type; `None` for tubes without one on the label.
    #[serde(rename = "type")]
    pub kind: Option<String>,
    /// Where they are compared; `None` where none conducts.
    pub at: Option<Point>,
    /// What can be said of the part as a whole, in a sentence.
    pub says: String,
    /// The groups; none where there are fewer than [`SMALLEST_LOT`] tubes to compare.
    pub groups: Vec<Group>,
    /// The tubes.
    pub tubes: Vec<Mate>,
}

/// One group.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Group {
    /// Its name: A, B, …
    pub name: String,
    /// Number of tubes in it.
    pub size: usize,
    /// Mean of each figure, in the order of [`TRAITS`].
    pub means: Vec<Option<f64>>,
}

/// One tube among its mates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mate {
    /// Its place in what was given.
    pub index: usize,
    /// Its name.
    pub tube: String,
    /// Its group's place in [`PartOfLot::groups`].
    pub group: Option<usize>,
    /// Its figures, in the order of [`TRAITS`].
    pub figures: Vec<Option<f64>>,
    /// In what it is odd, the oddest first.
    pub odd: Vec<Odd>,
}

impl Mate {
    /// In what it is odd, a clause; empty where it is not.
    pub fn odd_in(&self) -> String {
        self.odd.iter().map(|o| o.says.as_str()).collect::<Vec<_>>().join("; ")
    }
}

/// In what a tube is odd.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Odd {
    /// Name of the figure.
    pub figure: String,
    /// How far from its mates, in words.
    pub says: String,
    /// Its distance over the distance from which on it is odd.
    pub excess: f64,
}

/// Compares the tubes of a lot.
pub fn compare(members: &[Member]) -> Comparison {
    let kind = |i: usize| &members[i].kind;
    let mut places: Vec<usize> = (0..members.len()).collect();
    places_by(&mut places, &|a, b| kind(a).cmp(kind(b)));
    let kinds = places.chunk_by(|a, b| kind(*a) == kind(*b));
    Comparison { parts: kinds.map(|at| part(kind(at[0]).clone(), at, members)).collect() }
}

/// Figures of each tube as they are compared, and as they are said.
struct Table {
    values: Vec<Vec<Option<f64>>>,
    compared: Vec<Vec<Option<f64>>>,
}

fn part(kind: Option<String>, at: &[usize], members: &[Member]) -> PartOfLot {
    let mates: Vec<&Member> = at.iter().map(|&i| &members[i]).collect();
    let point = traits::common_point(&mates);
    let values: Vec<Vec<Option<f64>>> =
        mates.iter().map(|m| TRAITS.iter().map(|t| point.and_then(|p| t.value(m, p))).collect()).collect();
    let compared =
        values.iter().map(|row| row.iter().zip(&TRAITS).map(|(v, t)| v.map(|v| t.compared(v))).collect()).collect();
    let table = Table { values, compared };
    let rows = table.rows_to_group();
    let measured = rows.iter().filter(|r| r.iter().any(Option::is_some)).count();
    let mut found = (measured >= SMALLEST_LOT).then(|| groups(&rows, LEAST)).flatten();
    let mut odd = table.odd_ones(found.as_ref(), measured);
    // One tube that is far off widens the groups until they run into each other.
    if let Some(again) = found.as_ref().and_then(|f| without(&rows, &odd, f)) {
        odd = table.odd_ones(Some(&again), measured);
        found = Some(again);
    }
    let of: Vec<Option<usize>> = match &found {
        Some(g) => g.of.clone(),
        None => vec![None; at.len()],
    };
    let count = found.as_ref().map_or(0, |g| g.mixture.components.len());
    let groups: Vec<Group> = (0..count)
        .map(|g| {
            let places: Vec<usize> = (0..at.len()).filter(|&i| of[i] == Some(g)).collect();
            Group { name: letter(g), size: places.len(), means: table.means(&places) }
        })
        .collect();
    let oddities = odd.iter().filter(|o| !o.is_empty()).count();
    let says = said(at.len(), measured, found.as_ref(), &groups, oddities);
    let tubes = at
        .iter()
        .enumerate()
        .map(|(place, &index)| Mate {
            index,
            tube: members[index].name.clone(),
            group: of[place],
            figures: table.values[place].clone(),
            odd: std::mem::take(&mut odd[place]),
        })
        .collect();
    PartOfLot { kind, at: point, says, groups, tubes }
}

/// Least standard deviation on which tubes are told apart into groups, in logarithms:
/// what two sweeps of one tube differ by (common practice, no source).
const LEAST: f64 = 0.005;

/// Most tubes that are set aside while looking for more groups, as a share of the lot; one always is
/// (own choice, no source).
const ASIDE: f64 = 0.1;

/// The groups of the rows without the oddest few, where those say far more of the rest; the
/// few are then put to the nearest.
fn without(rows: &[Row], odd: &[Vec<Odd>], found: &Groups) -> Option<Groups> {
    let excess = |i: &usize| odd[*i].first().map_or(0.0, |o| o.excess);
    let mut oddest: Vec<usize> = (0..rows.len()).filter(|i| !odd[*i].is_empty()).collect();
    places_by(&mut oddest, &|a, b| excess(&b).total_cmp(&excess(&a)));
    let most = oddest.len().min(((ASIDE * rows.len() as f64) as usize).max(1));
    // Twice as many each time: a large lot is not grouped anew for every tube.
    let counts = std::iter::successors(Some(1), |n| Some(2 * n)).take_while(|n| *n <= most);
    counts.map(|n| &oddest[..n]).find_map(|aside| {
        let mut rest = rows.to_vec();
        aside.iter().for_each(|&i| rest[i].fill(None));
        let again = groups(&rest, LEAST)?;
        (found.criterion(&rest) - again.criterion(&rest) > VERY_STRONG).then(|| again.of_rows(rows))
    })
}

impl Table {
    /// The figures by which tubes are grouped, without those that nobody has.
    fn rows_to_group(&self) -> Vec<Row> {
        let used: Vec<usize> =
            (0..TRAITS.len()).filter(|&t| TRAITS[t].groups && self.compared.iter().any(|r| r[t].is_some())).collect();
        self.compared.iter().map(|r| used.iter().map(|&t| r[t]).collect()).collect()
    }

    fn means(&self, places: &[usize]) -> Vec<Option<f64>> {
        (0..TRAITS.len())
            .map(|t| {
                let values: Vec<f64> = places.iter().filter_map(|&p| self.values[p][t]).collect();
                (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
            })
            .collect()
    }

    /// In what each tube is odd among those of its group. `lot` tubes are judged in all.
    fn odd_ones(&self, found: Option<&Groups>, lot: usize) -> Vec<Vec<Odd>> {
        let mut odd: Vec<Vec<Odd>> = vec![Vec::new(); self.values.len()];
        let Some(found) = found else { return odd };
        for group in 0..found.mixture.components.len() {
            let places: Vec<usize> = (0..odd.len()).filter(|&i| found.of[i] == Some(group)).collect();
            for (place, said) in places.iter().zip(self.odd_among(&places, lot)) {
                odd[*place] = said;
            }
        }
        odd
    }

    /// In what each of these tubes is odd among the others of them. `lot` tubes are judged
    /// in all.
    fn odd_among(&self, places: &[usize], lot: usize) -> Vec<Vec<Odd>> {
        let tests = lot * TRAITS.len();
        let mut out: Vec<Vec<Odd>> = vec![Vec::new(); places.len()];
        for (t, one) in TRAITS.iter().enumerate() {
            let column: Vec<Option<f64>> = places.iter().map(|&p| self.compared[p][t]).collect();
            let standings = odd::standings(&column, one.least, one.usual, tests);
            for (said, standing) in out.iter_mut().zip(standings) {
                said.extend(standing.filter(Standing::is_odd).map(|s| Odd {
                    figure: one.name.into(),
                    says: in_words(one, s.apart),
                    excess: s.apart.abs() / s.limit,
                }));
            }
        }
        for said in &mut out {
            sort_by(said, |a, b| b.excess.total_cmp(&a.excess));
        }
        out
    }
}

/// How far a figure is from the middle of its mates.
fn in_words(one: &traits::Trait, apart: f64) -> String {
    let (more, less) = ("above", "below");
    let side = if apart > 0.0 { more } else { less };
    if one.by_ratio {
        let factor = libm::exp(apart.abs());
        if factor > 2.0 {
            return format!("{} {factor:.1} times {side} its mates", one.name);
        }
        return format!("{} {:.1} % {side} its mates", one.name, 100.0 * (libm::exp(apart) - 1.0).abs());
    }
    format!("{} {:.4} % of the top current {side} its mates", one.name, 100.0 * apart.abs())
}

fn letter(group: usize) -> String {
    char::from(b'A' + u8::try_from(group % 26).unwrap_or(0)).to_string()
}

fn said(tubes: usize, measured: usize, found: Option<&Groups>, groups: &[Group], odd: usize) -> String {
    let Some(found) = found else {
        return match tubes {
            0 => "There is no tube.".into(),
            _ if measured < SMALLEST_LOT => format!(
                "{measured} of {tubes} can be compared; with fewer than {SMALLEST_LOT} nothing is said of groups or odd tubes."
            ),
            _ => "Too few tubes have all the figures that are compared.".into(),
        };
    };
    let together = match groups.len() {
        1 if measured < 2 * FEWEST => format!("{measured} tubes, too few to look for groups"),
        1 => format!("{measured} tubes that form one group"),
        n => {
            let sizes: Vec<String> = groups.iter().map(|g| format!("{} of {}", g.name, g.size)).collect();
            format!("{measured} tubes in {n} groups, {} (information gained: {:.0})", sizes.join(", "), found.gain)
        }
    };
    let apart = match odd {
        0 => "none is odd among its mates".to_owned(),
        1 => "one is odd among its mates".to_owned(),
        n => format!("{n} are odd among their mates"),
    };
    format!("{together}; {apart}.")
}
