//! The comparison of a lot: made by a worker, shown by the document.

use serde::{Deserialize, Serialize};
use sweepbook_core::figure::{Layer, LotFigure, LotOptions, Pointed, Scene, Step, draw_lot};
use sweepbook_core::kin::lot::{Axis, Comparison, Member, PartOfLot, axes, compare};
use sweepbook_core::read_json;
use wasm_bindgen::prelude::wasm_bindgen;
use web_sys::HtmlCanvasElement;

use crate::screen::{Look, area, parse};
use crate::{json, words};

/// Compares tubes: a JSON list of what [`read`](crate::read) gave as their `member`, to the JSON
/// of a [`Comparison`] whose indices are places in that list.
///
/// # Errors
/// It is no such list.
#[wasm_bindgen]
pub fn compared(members: &str) -> Result<String, String> {
    Ok(json(&compare(&parse::<Vec<Member>>(members)?)))
}

/// What is said beside the picture.
#[derive(Debug, Serialize)]
struct Said {
    /// The type; `None` for tubes without one on the label.
    kind: Option<String>,
    /// How many tubes of it there are.
    tubes: usize,
    /// Groups and odd tubes, a sentence.
    says: String,
    /// Where they are compared, a sentence.
    at: Option<String>,
    /// What can be shown: a name of its own, and a title.
    axes: Vec<(String, String)>,
    /// The two that are shown, by their names.
    shown: [String; 2],
    /// What the picture shows, a sentence.
    describes: String,
    /// The odd tubes: place, name, and in what.
    odd: Vec<(usize, String, String)>,
}

/// Where the picture is drawn, and what is shown; an axis that there is not gives way to
/// one that there is.
#[derive(Debug, Deserialize)]
struct Wanted {
    width: f64,
    height: f64,
    #[serde(default)]
    x: Option<String>,
    #[serde(default)]
    y: Option<String>,
    /// The decimal mark of whoever looks; the point where nobody says.
    #[serde(default)]
    decimal_mark: Option<char>,
}

/// The picture of the tubes of one type.
#[wasm_bindgen]
#[derive(Debug)]
pub struct LotScreen {
    parts: Vec<PartOfLot>,
    /// The type that is shown, a place in `parts`.
    part: usize,
    figure: LotFigure,
    shown: [String; 2],
    open: usize,
}

#[wasm_bindgen]
impl LotScreen {
    /// Takes a comparison and what is wanted (size, axes); nothing where nobody is compared.
    ///
    /// # Errors
    /// One of them is not what it should be.
    pub fn of(comparison: &str, wanted: &str) -> Result<Option<LotScreen>, String> {
        let parts = parse::<Comparison>(comparison)?.parts;
        let Some(first) = parts.first() else { return Ok(None) };
        let (figure, shown) = plan(first, &parse(wanted)?);
        let open = first.tubes.first().map_or(0, |t| t.index);
        Ok(Some(Self { parts, part: 0, figure, shown, open }))
    }

    /// Another tube is open: whether those of its type were not shown before. A tube that is
    /// not in the comparison changes nothing.
    ///
    /// # Errors
    /// It is not what is wanted of a picture.
    pub fn open(&mut self, open: usize, wanted: &str) -> Result<bool, String> {
        let Some(part) = self.parts.iter().position(|p| p.tubes.iter().any(|t| t.index == open)) else {
            return Ok(false);
        };
        self.open = open;
        let other = part != self.part;
        if other {
            self.part = part;
            self.fit(wanted)?;
        }
        Ok(other)
    }

    /// Plans anew.
    ///
    /// # Errors
    /// It is not what is wanted of a picture.
    pub fn fit(&mut self, wanted: &str) -> Result<(), String> {
        (self.figure, self.shown) = plan(&self.parts[self.part], &parse(wanted)?);
        Ok(())
    }

    /// What is said beside the picture, as JSON.
    pub fn said(&self) -> String {
        let part = &self.parts[self.part];
        let at = part.at.filter(|_| !part.groups.is_empty()).map(|at| {
            let (va, vg) = (words::number(at.va, "V"), words::number(at.vg, "V"));
            format!("Compared at {va} and a grid of {vg}, from the fitted laws.")
        });
        let odd = part.tubes.iter().filter(|t| !t.odd.is_empty());
        json(&Said {
            kind: part.kind.clone(),
            tubes: part.tubes.len(),
            says: part.says.clone(),
            at,
            axes: axes(part).into_iter().map(|(axis, title)| (json(&axis), title)).collect(),
            shown: self.shown.clone(),
            describes: self.figure.describe(),
            odd: odd.map(|t| (t.index, t.tube.clone(), t.odd_in())).collect(),
        })
    }

    /// The numbers of the picture, as JSON.
    pub fn table(&self) -> String {
        json(&self.figure.table())
    }

    /// Draws the tubes.
    ///
    /// # Errors
    /// What the canvas refused.
    pub fn draw(&self, canvas: HtmlCanvasElement, look: &str) -> Result<(), String> {
        self.paint(canvas, look, None, Layer::Curves)
    }

    /// Marks the open tube and the one that is pointed at, on a clear canvas of their own.
    ///
    /// # Errors
    /// What the canvas refused.
    pub fn draw_pointed(&self, canvas: HtmlCanvasElement, look: &str, pointed: Option<usize>) -> Result<(), String> {
        self.paint(canvas, look, pointed, Layer::Cursor)
    }

    /// The tube nearest to a place (CSS pixels), as JSON; `null` where none is near.
    pub fn nearest(&self, x: f64, y: f64) -> String {
        json(&self.figure.nearest((x, y)))
    }

    /// The tube a step leads to, as JSON; `null` where there is none.
    ///
    /// # Errors
    /// The step is none.
    pub fn step(&self, from: Option<usize>, step: &str) -> Result<String, String> {
        let to: Option<Pointed> = self.figure.step(from, parse::<Step>(step)?);
        Ok(json(&to))
    }

    fn paint(&self, canvas: HtmlCanvasElement, look: &str, pointed: Option<usize>, layer: Layer) -> Result<(), String> {
        let look: Look = parse(look)?;
        let scene =
            Scene { theme: look.theme, density: look.density, font: &look.font, marks: &[], cursor: None, layer };
        draw_lot(&area(canvas)?, &self.figure, &scene, (Some(self.open), pointed)).map_err(|e| e.to_string())
    }
}

fn plan(part: &PartOfLot, wanted: &Wanted) -> (LotFigure, [String; 2]) {
    let known: Vec<Axis> = axes(part).into_iter().map(|a| a.0).collect();
    let pick = |name: &Option<String>, place: usize| {
        let asked = name.as_deref().and_then(|n| read_json(n).ok()).filter(|a| known.contains(a));
        asked.or_else(|| known.get(place).or(known.first()).copied()).unwrap_or(Axis::Figure(place))
    };
    let (x, y) = (pick(&wanted.x, 0), pick(&wanted.y, 1));
    let options = LotOptions { width: wanted.width, height: wanted.height, x, y };
    let mut figure = LotFigure::new(part, &options);
    if let Some(mark) = wanted.decimal_mark {
        figure.ticks.iter_mut().for_each(|ticks| ticks.set_decimal_mark(mark));
    }
    (figure, [json(&x), json(&y)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{How, Memory};

    fn comparison() -> String {
        let tube = |i: u32| {
            let rows: String = [100, 150, 200, 250]
                .iter()
                .flat_map(|va| (0..20).map(move |g| (*va, -0.4 * f64::from(g))))
                .map(|(va, vg)| {
                    let drive = (f64::from(va) / 20.0 + vg).max(0.0);
                    format!("1,{va},{vg},{}\n", 0.3 * (1.0 + 0.02 * f64::from(i)) * drive.powf(1.5))
                })
                .collect();
            format!("# tube: {i}\n# type: 6SN7GTB\nsection,Va [V],Vg [V],Ia [mA]\n{rows}")
        };
        let mut memory = Memory::default();
        let members: Vec<String> =
            (0..6).map(|i| memory.read("x.csv", tube(i).as_bytes(), &How::default()).tubes.remove(0).member).collect();
        compared(&format!("[{}]", members.join(","))).unwrap()
    }

    #[test]
    fn a_lot_is_compared_shown_and_stepped_through() {
        let lot = comparison();
        let wanted = r#"{"width":400,"height":300,"x":"{\"figure\":1}","y":"7"}"#;
        let mut screen = LotScreen::of(&lot, wanted).unwrap().unwrap();
        assert_eq!((screen.open(2, wanted), screen.open(9, wanted)), (Ok(false), Ok(false)));
        let said: serde_json::Value = serde_json::from_str(&screen.said()).unwrap();
        assert_eq!((said["tubes"].as_u64(), said["kind"].as_str()), (Some(6), Some("6SN7GTB")));
        assert_eq!(said["shown"][0], r#"{"figure":1}"#);
        assert_eq!(said["shown"][1], said["axes"][1][0]);
        let first: serde_json::Value = serde_json::from_str(&screen.step(None, "\"first\"").unwrap()).unwrap();
        assert_eq!(first["index"], 0);
        assert_eq!(first["parts"][0][1], "0");
        assert!(screen.step(None, "\"sideways\"").is_err());
        assert_eq!(screen.nearest(f64::NAN, 0.0), "null");
    }

    #[test]
    fn what_is_not_in_a_lot_has_no_picture() {
        assert!(LotScreen::of(r#"{"parts":[]}"#, r#"{"width":400,"height":300}"#).unwrap().is_none());
        assert!(LotScreen::of("{}", "{}").is_err());
        assert!(compared("[{}]").is_err());
        assert_eq!(compared("[]").unwrap(), r#"{"parts":[]}"#);
    }
}
