//! The picture of a lot: its tubes as spots over two figures of the comparison.

mod draw;
mod reading;

use serde::{Deserialize, Serialize};

use super::Table;
use super::pen::LETTER;
use super::scale::{Axis as Along, Frame, Scale, Spread};
use super::strokes::Place;
use super::ticks::{self, Ticks};
use super::words::{capital, minus, short};
use crate::kin::lot::{Axis, Dimension, PartOfLot, Spot as OnPlane, plane};
use crate::report::engineering;
use crate::sorting::sort_by;

pub use draw::draw_lot;
pub use reading::Pointed;

/// Size, and what is shown against what.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LotOptions {
    /// Width, CSS pixels.
    pub width: f64,
    /// Height, CSS pixels.
    pub height: f64,
    /// What runs across.
    pub x: Axis,
    /// What runs up.
    pub y: Axis,
}

/// The picture, ready to be drawn and asked.
#[derive(Debug, Clone, PartialEq)]
pub struct LotFigure {
    /// Width and height, CSS pixels.
    pub size: (f64, f64),
    /// Data to pixels and back.
    pub scale: Scale,
    /// Figures of both axes, x first.
    pub ticks: [Ticks; 2],
    /// What the axes are called, with their units, x first.
    pub titles: [String; 2],
    /// The tubes that have both figures, from left to right.
    pub spots: Vec<Spot>,
    /// The groups' names with their sizes; empty where there is one, or none.
    pub groups: Vec<String>,
    dimensions: [Dimension; 2],
    tubes: usize,
}

/// One tube in the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// Its place in what was compared.
    pub index: usize,
    /// Its name.
    pub tube: String,
    /// Its group.
    pub group: Option<usize>,
    /// The group's name, where there is more than one.
    pub group_name: Option<String>,
    /// In what it is odd; empty where it is not.
    pub odd: String,
    /// Its two figures, in their units.
    pub value: (f64, f64),
    /// Where it lies, CSS pixels.
    pub at: Place,
    /// Where its name stands, if it is odd and there is room: left end, CSS pixels.
    pub named: Option<Place>,
}

/// Smallest drawing that still has room for a frame, CSS pixels (by construction).
const LEAST_SIZE: f64 = 160.0;
/// Room between the outermost spots and the frame, as a share of the range (by construction).
const MARGIN: f64 = 0.08;
/// Distance of a name from its spot, and height of a line, CSS pixels.
const NAME_GAP: f64 = 9.0;
const NAME_HEIGHT: f64 = 14.0;
/// Longest name beside a spot, letters.
const LONGEST_NAME: usize = 14;

impl LotFigure {
    /// Plans the picture of a part of the lot.
    pub fn new(part: &PartOfLot, options: &LotOptions) -> Self {
        let size = (options.width.max(LEAST_SIZE), options.height.max(LEAST_SIZE));
        let plane = plane(part, options.x, options.y);
        let narrow = size.0 < 420.0;
        let top = if part.groups.len() > 1 { 46.0 } else { 28.0 };
        let left = if narrow { 50.0 } else { 60.0 };
        let frame = Frame { left, top, right: size.0 - 12.0, bottom: size.1 - 38.0 };
        let range = |of: fn(&OnPlane) -> f64, least: f64| {
            let (low, high) = plane
                .spots
                .iter()
                .map(of)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
            let (middle, half) = (0.5 * (low + high), 0.5 * (high - low).max(least) * (1.0 + 2.0 * MARGIN));
            (middle - half, middle + half)
        };
        let [dx, dy] = &plane.dimensions;
        let (xs, ys) = (range(|s| s.x, dx.least), range(|s| s.y, dy.least));
        let scale = Scale {
            x: Along::new(Spread::Linear, xs, (frame.left, frame.right)),
            y: Along::new(Spread::Linear, ys, (frame.bottom, frame.top)),
            frame,
        };
        let ((x_factor, x_title), (y_factor, y_title)) = (titled(dx, xs), titled(dy, ys));
        let ticks = [
            ticks::linear(&scale.x, x_factor, frame.right - frame.left, 80.0),
            ticks::linear(&scale.y, y_factor, frame.bottom - frame.top, 60.0),
        ];
        let letters = |pixels: f64| (pixels / LETTER).max(8.0) as usize;
        let titles = [short(&x_title, letters(size.0 - 12.0)), short(&y_title, letters(size.0 - 12.0))];
        let several = part.groups.len() > 1;
        let mut spots: Vec<Spot> = plane
            .spots
            .iter()
            .map(|s| (s, &part.tubes[s.place]))
            .map(|(s, mate)| Spot {
                index: mate.index,
                tube: mate.tube.clone(),
                group: mate.group,
                group_name: mate.group.filter(|_| several).and_then(|g| Some(part.groups.get(g)?.name.clone())),
                odd: mate.odd_in(),
                value: (s.x, s.y),
                at: scale.pixel(s.x, s.y),
                named: None,
            })
            .collect();
        sort_by(&mut spots, |a, b| a.at.0.total_cmp(&b.at.0).then(a.index.cmp(&b.index)));
        name_odd_ones(&mut spots, &frame);
        let groups = if several {
            part.groups.iter().map(|g| format!("group {} ({})", g.name, g.size)).collect()
        } else {
            Vec::new()
        };
        Self { size, scale, ticks, titles, spots, groups, dimensions: plane.dimensions, tubes: part.tubes.len() }
    }

    /// What the picture shows, in a sentence or two.
    pub fn describe(&self) -> String {
        let [x, y] = &self.dimensions;
        if self.spots.is_empty() {
            return format!("None of the tubes has both {} and {}.", x.title, y.title);
        }
        let missing = match self.tubes - self.spots.len() {
            0 => String::new(),
            n => format!(" {n} without both figures {} not shown.", if n == 1 { "is" } else { "are" }),
        };
        let groups = if self.groups.is_empty() { String::new() } else { format!(" in {}", self.groups.join(", ")) };
        format!("{} across and {} up, of {} tubes{groups}.{missing}", x.title, y.title, self.spots.len())
    }

    /// The numbers of the picture.
    pub fn table(&self) -> Table {
        let [x, y] = &self.dimensions;
        let row = |s: &Spot| {
            let mut row = vec![s.tube.clone()];
            if !self.groups.is_empty() {
                row.push(s.group_name.clone().unwrap_or_else(|| "–".into()));
            }
            row.extend([said(s.value.0, x), said(s.value.1, y), s.odd.clone()]);
            row
        };
        let group = (!self.groups.is_empty()).then(|| "Group".to_owned());
        let head = ["Tube".to_owned()].into_iter().chain(group);
        Table {
            caption: self.describe(),
            columns: head.chain([x.title.clone(), y.title.clone(), "Odd".to_owned()]).collect(),
            rows: self.spots.iter().map(row).collect(),
        }
    }
}

/// A value with its unit.
fn said(value: f64, of: &Dimension) -> String {
    match of.unit.as_str() {
        "%" => minus(&format!("{value:.1} %")),
        unit => minus(&engineering(value, unit)),
    }
}

/// The factor in which an axis is labelled, and its title with the unit.
fn titled(of: &Dimension, (low, high): (f64, f64)) -> (f64, String) {
    let largest = low.abs().max(high.abs());
    let (factor, unit) = match of.unit.as_str() {
        "1" if largest < 1e-3 => (1e-6, "millionths".to_owned()),
        "1" => (1.0, String::new()),
        "%" => (1.0, "%".to_owned()),
        unit if largest >= 1.0 => (1.0, unit.to_owned()),
        unit if largest >= 1e-3 => (1e-3, format!("m{unit}")),
        unit if largest >= 1e-6 => (1e-6, format!("µ{unit}")),
        unit => (1e-9, format!("n{unit}")),
    };
    let mut title = capital(&of.title);
    if !unit.is_empty() {
        title = format!("{title}, {unit}");
    }
    (factor, title)
}

/// Gives odd tubes their names where nothing else stands.
fn name_odd_ones(spots: &mut [Spot], frame: &Frame) {
    let places: Vec<Place> = spots.iter().map(|s| s.at).collect();
    let mut taken: Vec<(Place, f64)> = Vec::new();
    for (i, spot) in spots.iter_mut().enumerate().filter(|(_, s)| !s.odd.is_empty()) {
        let width = LETTER * short(&spot.tube, LONGEST_NAME).chars().count() as f64;
        let (x, y) = spot.at;
        let room = |left: &f64| {
            let (left, right) = (*left, left + width);
            let free = |(px, py): Place| (py - y).abs() > 0.6 * NAME_HEIGHT || px < left - 4.0 || px > right + 4.0;
            let apart = |((tx, ty), w): (Place, f64)| (ty - y).abs() > NAME_HEIGHT || tx > right || tx + w < left;
            let inside = left >= frame.left && right <= frame.right;
            let mut others = places.iter().enumerate().filter(|(j, _)| *j != i);
            inside && others.all(|(_, p)| free(*p)) && taken.iter().all(|t| apart(*t))
        };
        spot.named = [x + NAME_GAP, x - NAME_GAP - width].into_iter().find(room).map(|left| (left, y));
        taken.extend(spot.named.map(|place| (place, width)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::Step;
    use crate::kin::lot::{Group, Mate, Odd, TRAITS};

    /// Twelve tubes, the even ones a group, the last odd, one without its current.
    fn part() -> PartOfLot {
        let figures = |i: usize| {
            let step = 1.0 + 0.01 * i as f64;
            let mut all = vec![None; TRAITS.len()];
            (all[0], all[1], all[2]) = (Some(20.0 * step), Some(8e-3 / step), Some(2.6e-3 * step));
            if i == 3 {
                all[1] = None;
            }
            all
        };
        let says = "plate current 30 % below its mates";
        let odd = |i: usize| {
            if i == 11 {
                vec![Odd { figure: "plate current".into(), says: says.into(), excess: 2.0 }]
            } else {
                Vec::new()
            }
        };
        let mate = |i: usize| Mate {
            index: 50 - i,
            tube: format!("<B-{i}>"),
            group: Some(i % 2),
            figures: figures(i),
            odd: odd(i),
        };
        let group = |name: &str| Group { name: name.into(), size: 6, means: Vec::new() };
        PartOfLot {
            kind: None,
            at: None,
            says: String::new(),
            groups: vec![group("A"), group("B")],
            tubes: (0..12).map(mate).collect(),
        }
    }

    fn figure(x: Axis, y: Axis) -> LotFigure {
        LotFigure::new(&part(), &LotOptions { width: 480.0, height: 300.0, x, y })
    }

    #[test]
    fn every_tube_with_both_figures_lies_inside_the_frame() {
        let f = figure(Axis::Figure(0), Axis::Figure(1));
        assert_eq!(f.spots.len(), 11);
        assert!(f.spots.iter().all(|s| f.scale.frame.holds(s.at)));
        assert_eq!(f.titles, ["Amplification factor", "Plate current, mA"]);
        assert_eq!(f.groups, ["group A (6)", "group B (6)"]);
        assert!(
            f.describe().ends_with("of 11 tubes in group A (6), group B (6). 1 without both figures is not shown."),
            "{}",
            f.describe()
        );
        let named: Vec<&str> = f.spots.iter().filter(|s| s.named.is_some()).map(|s| s.tube.as_str()).collect();
        assert_eq!(named, ["<B-11>"]);
        assert_eq!(f.table().columns, ["Tube", "Group", "amplification factor", "plate current", "Odd"]);
        assert_eq!(f.table().rows[0], ["<B-0>", "A", "20.0", "8.00 mA", ""]);
    }

    #[test]
    fn tubes_are_stepped_through_by_either_figure() {
        let f = figure(Axis::Figure(0), Axis::Figure(1));
        let index = |from: Option<usize>, step: Step| f.step(from, step).unwrap().index;
        assert_eq!(index(None, Step::Forward), 50);
        assert_eq!(index(Some(50), Step::Forward), 49);
        assert_eq!(index(Some(50), Step::Back), 50);
        // More plate current is less amplification here.
        assert_eq!(index(Some(49), Step::Up), 50);
        assert_eq!(index(Some(50), Step::Last), 39);
        assert_eq!(index(Some(50), Step::StrideForward), 39);
        let last = f.step(Some(50), Step::Last).unwrap();
        assert_eq!(last.parts.last().unwrap().1, "plate current 30 % below its mates");
        assert_eq!(f.nearest(f.spots[4].at).unwrap().index, f.spots[4].index);
        assert_eq!(f.nearest((-500.0, 0.0)), None);
    }

    #[test]
    fn identical_tubes_and_axes_that_nobody_has_are_drawn_too() {
        let mut part = part();
        let same = part.tubes[0].figures.clone();
        part.tubes.iter_mut().for_each(|t| t.figures.clone_from(&same));
        let options = LotOptions { width: 300.0, height: 240.0, x: Axis::Figure(0), y: Axis::Principal(1) };
        let f = LotFigure::new(&part, &options);
        assert!(f.spots.iter().all(|s| f.scale.frame.holds(s.at)));
        // A range that says how little they differ, not the rounding of the last digit.
        let (low, high) = f.scale.x.range();
        assert!(high - low > 0.3, "{low} to {high}");
        let none = LotFigure::new(&part, &LotOptions { x: Axis::Figure(5), ..options });
        assert!(
            none.spots.is_empty() && none.step(None, Step::Forward).is_none() && none.nearest((0.0, 0.0)).is_none()
        );
        assert_eq!(
            none.describe(),
            "None of the tubes has both floor and second component: less amplification factor."
                .replace("less amplification factor", &axes_title(&part))
        );
    }

    fn axes_title(part: &PartOfLot) -> String {
        let (_, title) = crate::kin::lot::axes(part).pop().unwrap();
        title.trim_start_matches("second component: ").to_owned()
    }

    #[test]
    fn axes_are_those_that_somebody_has() {
        let titles: Vec<String> = crate::kin::lot::axes(&part()).into_iter().map(|a| a.1).collect();
        assert_eq!(titles[..3], ["amplification factor", "plate current", "transconductance"]);
        assert_eq!(titles.len(), 5);
        assert!(titles[3].starts_with("first component: "), "{titles:?}");
    }
}
