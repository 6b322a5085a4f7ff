//! The lesson bench, the course and the exercises, for the page.

use serde::Serialize;
use serde_json::json as value;
use sweepbook_core::faults::{self, explanations};
use sweepbook_core::figure::{self, Figure, Layer, Scene};
use sweepbook_core::lesson::Scene as Bench;
use sweepbook_core::lesson::{
    Answer, Exercise, Ill, LEVELS, LawChoice, MOST_SCORE, Next, NoSetting, OnePoint, Setting, course, one_point, taught,
};
use sweepbook_core::sweep::Tube;
use sweepbook_core::triage;
use wasm_bindgen::prelude::wasm_bindgen;
use web_sys::HtmlCanvasElement;

use crate::json;
use crate::screen::{Look, area, parse, plan};
use crate::sheet::Sheet;
use crate::words;

/// Names and values, as an address or a form has them.
type Pairs = Vec<(String, String)>;

fn setting(pairs: &str) -> Result<Setting, NoSetting> {
    let wrong = |what: String| NoSetting { name: "address".into(), what };
    let pairs: Pairs = parse(pairs).map_err(wrong)?;
    Setting::read(pairs.iter().map(|(n, v)| (n.as_str(), v.as_str())))
}

/// What can be set: types, laws, faults, what may be measured next, levels; JSON.
#[wasm_bindgen]
pub fn lesson_choices() -> String {
    let sized = |name: &str| {
        let scene = Setting::default().scene(false);
        faults::named(name).zip(scene).is_some_and(|(f, scene)| f.sizes(&scene).is_some())
    };
    let known: Vec<_> = explanations()
        .iter()
        .map(|e| value!({ "name": e.name, "title": e.title, "bench": e.bench, "sized": sized(&e.name) }))
        .collect();
    let next: Vec<_> = Next::ALL.iter().map(|n| value!({ "name": n, "says": n.says() })).collect();
    json(&value!({
        "types": taught(),
        "laws": LawChoice::ALL.map(LawChoice::name),
        "faults": known,
        "next": next,
        "levels": LEVELS,
        "most": MOST_SCORE,
        "usual": Setting::default().pairs(),
    }))
}

/// The pages of the course; JSON.
#[wasm_bindgen]
pub fn lesson_course() -> String {
    json(&course())
}

/// An exercise: `setting`, and the same after each of what may be measured next; JSON.
#[wasm_bindgen]
pub fn lesson_exercise(seed: u32, level: usize) -> String {
    let exercise = Exercise::new(u64::from(seed), level);
    let after = |next: Next| {
        let mut setting = exercise.setting.clone();
        next.does(&mut setting);
        (value!(next), setting.pairs())
    };
    json(&value!({
        "setting": exercise.setting.pairs(),
        "level": exercise.level,
        "sections": exercise.setting.scene(false).map_or(0, |s| s.tube.sections.len()),
        "after": Next::ALL.map(after),
    }))
}

/// An answer to an exercise, marked; JSON, or `null` where it is none.
#[wasm_bindgen]
pub fn lesson_marked(seed: u32, level: usize, answer: &str) -> String {
    let answer: Option<Answer> = parse(answer).ok();
    json(&answer.map(|answer| Exercise::new(u64::from(seed), level).mark(&answer)))
}

/// What was found of the tube on the lesson bench.
#[derive(Debug, Serialize)]
struct Told {
    sheet: Sheet,
    /// What is wrong with it and how large that is, in words.
    ills: Vec<String>,
    /// What a check at one operating point would have read.
    points: Vec<PointTold>,
}

#[derive(Debug, Serialize)]
struct PointTold {
    says: String,
    passes: bool,
}

/// Diagnoses the tube of a setting (names and values as JSON); JSON, or `null` for none.
#[wasm_bindgen]
pub fn lesson(pairs: &str) -> String {
    let told = setting(pairs).ok().and_then(|setting| {
        let scene = setting.scene(true)?;
        let tube = scene.measure(setting.seed);
        Some(Told {
            sheet: Sheet::new(&tube, &triage(&tube), &explanations()),
            ills: setting.ills.iter().map(|ill| large(&setting, ill)).collect(),
            points: one_point(&scene).iter().map(point).collect(),
        })
    });
    json(&told)
}

fn large(setting: &Setting, ill: &Ill) -> String {
    let title = faults::named(&ill.fault).map_or("", |f| f.title());
    let Some((size, unit, quantity)) = setting.size(ill) else { return title.to_owned() };
    let over = match setting.over_limit(ill) {
        None => "this sweep states no limit for it".to_owned(),
        Some(times) if times >= 0.95 => format!("{times:.1} times the smallest that this sweep would show"),
        Some(times) => format!("{:.0}\u{a0}% of the smallest that this sweep would show", 100.0 * times),
    };
    format!("{title}: {quantity} {}, {over}", words::number(size, unit))
}

fn point(p: &OnePoint) -> PointTold {
    let share = |s: f64| format!("{:.0}\u{a0}% of the sheet", 100.0 * s);
    PointTold {
        says: format!(
            "Section {} at {}, {}: {} ({}), gm {} ({})",
            p.section,
            figure::volts(p.at.0),
            figure::volts(p.at.1),
            words::number(p.ia.0, "A"),
            share(p.ia.1),
            words::number(p.gm.0, "S"),
            share(p.gm.1),
        ),
        passes: p.passes,
    }
}

/// What to do on the lesson bench to draw it.
#[wasm_bindgen]
#[derive(Debug)]
pub struct LessonBench {
    look: Look,
    /// The sound tube of the last setting on its bench, its sweep, and what it was made of.
    sound: Option<(Setting, Bench, Tube)>,
    figure: Option<Figure>,
}

#[wasm_bindgen]
impl LessonBench {
    /// An empty bench; the look as [`crate::Screen`] takes it.
    ///
    /// # Errors
    /// It is not one.
    #[wasm_bindgen(constructor)]
    pub fn new(look: &str) -> Result<LessonBench, String> {
        Ok(Self { look: parse(look)?, sound: None, figure: None })
    }

    /// Takes another look.
    ///
    /// # Errors
    /// It is not one.
    pub fn dress(&mut self, look: &str) -> Result<(), String> {
        self.look = parse(look)?;
        Ok(())
    }

    /// Sweeps the tube of a setting and plans its figure: the section with the fault beside
    /// itself without it, or, `plain`, the tube as it is. `null`, or what is wrong with the
    /// setting as JSON.
    ///
    /// # Errors
    /// The options are none.
    pub fn set(&mut self, pairs: &str, options: &str, plain: bool) -> Result<String, String> {
        let setting = match setting(pairs) {
            Ok(setting) => setting,
            Err(wrong) => return Ok(json(&wrong)),
        };
        let Some(tube) = self.laid(&setting, plain) else {
            let what = "the handbook knows too little of this type for a lesson".to_owned();
            return Ok(json(&NoSetting { name: "type".into(), what }));
        };
        self.figure = Some(plan(&tube, options)?);
        Ok("null".into())
    }

    fn laid(&mut self, setting: &Setting, plain: bool) -> Option<Tube> {
        let bare = Setting { ills: Vec::new(), ..setting.clone() };
        if self.sound.as_ref().is_none_or(|(of, ..)| *of != bare) {
            let scene = bare.scene(false)?;
            let sweep = scene.measure(bare.seed);
            self.sound = Some((bare, scene, sweep));
        }
        let (_, scene, sound) = self.sound.as_ref()?;
        let Some(ill) = setting.ills.first() else { return Some(sound.clone()) };
        let mut scene = scene.clone();
        setting.spoil(&mut scene);
        let mut tube = scene.measure(setting.seed);
        if plain {
            return Some(tube);
        }
        let at = ill.section.min(tube.sections.len().saturating_sub(1));
        let mut with = tube.sections.get(at)?.clone();
        let mut without = sound.sections.get(at)?.clone();
        with.name = format!("{}, faulty", with.name);
        without.name = format!("{}, sound", without.name);
        tube.sections = vec![with, without];
        Some(tube)
    }

    /// Draws the curves; nothing where there are none.
    ///
    /// # Errors
    /// What the canvas refused.
    pub fn draw(&self, canvas: HtmlCanvasElement) -> Result<(), String> {
        let Some(figure) = &self.figure else { return Ok(()) };
        let area = area(canvas)?;
        let look = &self.look;
        let (density, font) = (look.density, look.font.as_str());
        let scene = Scene { theme: look.theme, density, font, marks: &[], cursor: None, layer: Layer::Curves };
        figure::draw(&area, figure, &scene).map_err(|e| e.to_string())
    }

    /// What the figure shows, in a sentence.
    pub fn describe(&self) -> String {
        self.figure.as_ref().map(Figure::describe).unwrap_or_default()
    }

    /// The figure as an SVG document; empty where there is none.
    ///
    /// # Errors
    /// What drawing refused.
    pub fn svg(&self, title: &str) -> Result<String, String> {
        self.figure.as_ref().map_or(Ok(String::new()), |figure| figure::svg(figure, title, &[], None))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOOK: &str = r#"{"theme":"light","density":1,"font":"serif"}"#;
    const OPTIONS: &str = r#"{"width":600,"height":400,"current":"decades","grid_current":false}"#;

    fn pairs(of: &[(&str, &str)]) -> String {
        json(&of)
    }

    #[test]
    fn a_setting_is_diagnosed_in_words_and_its_size_is_told() {
        let told = lesson(&pairs(&[("type", "12AU7"), ("fault", "plate-cathode-leakage,2,0.8"), ("depth", "1.5")]));
        let told: serde_json::Value = serde_json::from_str(&told).unwrap();
        assert_eq!(told["sheet"]["findings"][0]["title"], "Plate–cathode leakage");
        let ill = told["ills"][0].as_str().unwrap();
        assert!(
            ill.contains("leakage resistance") && ill.contains("Ω,") && ill.contains("times the smallest"),
            "{ill}"
        );
        assert!(told["points"][1]["says"].as_str().unwrap().contains("of the sheet"));
        assert_eq!(lesson("[]").is_empty(), lesson(&pairs(&[("type", "nothing")])).is_empty());
        assert_eq!(lesson(&pairs(&[("type", "<b>")])), "null");
    }

    #[test]
    fn the_faulty_section_lies_beside_itself() {
        let mut bench = LessonBench::new(LOOK).unwrap();
        assert_eq!(bench.svg("x").unwrap(), "");
        let with = pairs(&[("fault", "gas,1,0.5"), ("ig", "yes")]);
        assert_eq!(bench.set(&with, OPTIONS, false).unwrap(), "null");
        let drawn = |bench: &LessonBench| bench.svg("x").unwrap();
        assert!(drawn(&bench).contains("1, sound") && bench.describe().contains("2 sections"));
        assert_eq!(bench.set(&with, OPTIONS, true).unwrap(), "null");
        assert!(!drawn(&bench).contains("1, sound"));
        let wrong = bench.set(&pairs(&[("rs", "<i>")]), OPTIONS, false).unwrap();
        assert!(wrong.contains(r#""name":"rs""#), "{wrong}");
        assert!(bench.svg("x").unwrap().contains("<svg"));
    }

    #[test]
    fn an_exercise_is_marked() {
        let exercise: serde_json::Value = serde_json::from_str(&lesson_exercise(3, 1)).unwrap();
        assert_eq!(exercise["after"].as_array().unwrap().len(), Next::ALL.len());
        let marked = lesson_marked(3, 1, r#"{"fault":null,"section":null,"next":"repeat"}"#);
        assert!(marked.contains(r#""score":"#) && marked.contains(r#""because":["#), "{marked}");
        assert_eq!(lesson_marked(3, 1, "7"), "null");
    }

    #[test]
    fn choices_name_types_and_faults() {
        let choices = lesson_choices();
        assert!(choices.contains("12AX7") && choices.contains("plate-grid-leakage") && choices.contains("grid-meter"));
        assert!(lesson_course().contains("healthy"));
    }
}
