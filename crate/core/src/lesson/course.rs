//! The course: from a healthy tube through each fault and its look-alike to the bench's own
//! tricks. A page has one idea, one figure that can be moved, one question. The text is the
//! faults' own.

use serde::Serialize;

use super::dice::Dice;
use super::setting::{Ill, Setting};
use crate::faults::{self, Explanation};

/// A page.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Page {
    /// Its name in an address.
    pub name: &'static str,
    /// Its title.
    pub title: String,
    /// The idea, in paragraphs.
    pub idea: Vec<String>,
    /// What lies on the bench, as names and values.
    pub setting: Vec<(&'static str, String)>,
    /// What looks like it: its title and the same bench with it.
    pub look_alike: Option<(String, Vec<(&'static str, String)>)>,
    /// The tube that is asked about.
    pub riddle: Vec<(&'static str, String)>,
    /// What it may be.
    pub choices: Vec<String>,
    /// Which of them it is.
    pub right: usize,
    /// Why, in paragraphs.
    pub because: Vec<String>,
}

/// What a page is about.
struct About {
    fault: &'static str,
    look_alike: Option<&'static str>,
    /// What the bench needs to show the two.
    bench: fn(&mut Setting),
}

const fn page(fault: &'static str, look_alike: &'static str, bench: fn(&mut Setting)) -> About {
    About { fault, look_alike: Some(look_alike), bench }
}

fn plain(_: &mut Setting) {}
fn deep(s: &mut Setting) {
    s.depth = 1.5;
}
fn with_grid_meter(s: &mut Setting) {
    s.grid_meter = true;
}
fn through_resistor(s: &mut Setting) {
    (s.rs, s.grid_meter) = (10e3, true);
}
fn with_heater_test(s: &mut Setting) {
    s.heater_test = true;
}

/// The order: paths first, then the grid's currents, the cathode, what leaves no curve, what
/// only compares, and the bench.
const PAGES: [About; 19] = [
    page("plate-cathode-leakage", "zero-offset", deep),
    page("plate-grid-leakage", "plate-cathode-leakage", with_grid_meter),
    page("grid-cathode-leakage", "gas", through_resistor),
    page("gas", "grid-emission", with_grid_meter),
    page("grid-emission", "gas", with_grid_meter),
    page("low-emission", "current-limit", plain),
    page("cathode-interface", "low-emission", plain),
    page("uneven-grid", "plate-cathode-leakage", deep),
    page("electrode-short", "current-limit", plain),
    page("no-grid-control", "electrode-short", plain),
    page("no-conduction", "low-emission", plain),
    page("section-mismatch", "low-emission", plain),
    page("type-mismatch", "section-mismatch", plain),
    page("intermittent", "coarse-resolution", plain),
    About { fault: "heater-cathode-leakage", look_alike: None, bench: with_heater_test },
    page("zero-offset", "plate-cathode-leakage", deep),
    page("current-limit", "low-emission", plain),
    page("warm-up-drift", "low-emission", plain),
    page("coarse-resolution", "intermittent", plain),
];
/// How bad the fault of a page is to begin with.
const SEVERITY: f64 = 0.7;
/// The sound tube of the first page, and what nothing is wrong with.
const SOUND: &str = "A sound tube";

/// All pages.
pub fn course() -> Vec<Page> {
    std::iter::once(healthy()).chain(PAGES.iter().filter_map(of)).collect()
}

fn healthy() -> Page {
    let setting = Setting { kind: "12AU7".into(), seed: 5, ..Setting::default() };
    let riddle = Setting { seed: 6, ills: vec![ill("plate-cathode-leakage", 1)], ..setting.clone() };
    Page {
        name: "healthy",
        title: SOUND.into(),
        idea: vec![
            "Electrons from the hot cathode fly to the plate as far as the grid lets them: the plate current follows a power, about 3/2, of the grid voltage plus a share of the plate voltage. Each plate voltage gives a curve of its own, all of one shape.".into(),
            "Drawn by decades the curves keep falling past cutoff until they are lost in the meter's noise. No current flows out of the negative grid. The two sections of a sound tube lie close together. Each fault breaks one of these.".into(),
        ],
        setting: setting.pairs(),
        look_alike: None,
        riddle: riddle.pairs(),
        choices: vec![SOUND.into(), "Something is wrong with it".into()],
        right: 1,
        because: vec!["Past cutoff the current of one section does not keep falling but stays at a floor: something else than electrons through the grid carries it.".into()],
    }
}

fn ill(fault: &str, section: usize) -> Ill {
    Ill { fault: fault.into(), section, severity: SEVERITY }
}

fn of(about: &About) -> Option<Page> {
    let Explanation { title, parts, .. } = faults::explain(about.fault)?;
    let part =
        |heading: &'static str| parts.iter().filter(move |p| p.heading == heading).flat_map(|p| p.paragraphs.clone());
    let mut dice = Dice::new(1, about.fault);
    let mut setting = Setting { seed: 1 + dice.below(900) as u64, ..Setting::default() };
    (about.bench)(&mut setting);
    let with =
        |fault: &str, setting: &Setting, section: usize| Setting { ills: vec![ill(fault, section)], ..setting.clone() };
    let other = about.look_alike.and_then(|name| Some((name, faults::named(name)?.title().to_owned())));
    let mut choices = vec![title.clone()];
    choices.extend(other.iter().map(|o| o.1.clone()));
    choices.push(SOUND.into());
    // The riddle is of another tube, and the fault in the other section.
    let fresh = Setting { seed: setting.seed + 1000, ..setting.clone() };
    let right = dice.below(choices.len());
    let riddle = match (right, &other) {
        (0, _) => with(about.fault, &fresh, 1),
        (1, Some((name, _))) => with(name, &fresh, 1),
        _ => fresh,
    };
    Some(Page {
        name: about.fault,
        idea: part("What it is").chain(part("On the curves")).collect(),
        setting: with(about.fault, &setting, 0).pairs(),
        look_alike: other.map(|(name, title)| (title, with(name, &setting, 0).pairs())),
        riddle: riddle.pairs(),
        choices,
        right,
        because: part("What looks like it").chain(part("How to settle it")).collect(),
        title,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_page_has_an_idea_a_figure_and_a_question_that_the_engine_answers() {
        let pages = course();
        assert_eq!(pages.len(), PAGES.len() + 1);
        let mut answered = 0;
        for page in &pages {
            assert!(
                !page.idea.is_empty() && !page.because.is_empty() && page.right < page.choices.len(),
                "{}",
                page.name
            );
            let read = |pairs: &[(&str, String)]| Setting::read(pairs.iter().map(|(n, v)| (*n, v.as_str()))).unwrap();
            assert_eq!(read(&page.setting).pairs(), page.setting, "{}", page.name);
            let report = crate::triage(&read(&page.riddle).sweep(true).unwrap());
            let said = report.findings.first().filter(|f| f.confidence >= 0.5).map_or(SOUND.to_owned(), |f| {
                faults::named(&f.fault).map_or_else(String::new, |f| f.title().to_owned())
            });
            let wrong = page.name == "healthy" && said != SOUND;
            answered += usize::from(wrong || said == page.choices[page.right]);
        }
        assert!(answered + 2 >= pages.len(), "the engine answers {answered} of {}", pages.len());
    }

    #[test]
    fn every_fault_of_the_tube_has_its_page() {
        let names: Vec<&str> = course().iter().map(|p| p.name).collect();
        for fault in faults::ALL.iter().filter(|f| !f.is_bench()) {
            assert!(names.contains(&fault.name()), "{}", fault.name());
        }
    }
}
