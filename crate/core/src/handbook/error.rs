//! What can be wrong with a user's own types, where, and how to mend it.

/// A fault in handbook data.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{place}: {mistake}")]
pub struct HandbookError {
    /// Where: a line and column, or the type, section, point and field.
    pub place: String,
    /// What.
    pub mistake: Mistake,
}

/// What can be wrong.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "each variant's message says what it is")]
pub enum Mistake {
    #[error("this is not the handbook's form of JSON: {0}")]
    Json(String),
    #[error("there is no source called \"{0}\"")]
    NoSource(String),
    #[error("two sources are called \"{0}\"")]
    SourceTwice(String),
    #[error("the source is a fit, so the figure must say how far the fit is off")]
    NoOffset,
    #[error("only a figure that cites a fit can say how far it is off")]
    StrayOffset,
    #[error("{value} is not a figure that can stand here ({want})")]
    BadNumber { value: f64, want: &'static str },
    #[error("\"{0}\" cannot be a type's name: it needs letters or digits, with at least one digit")]
    BadName(String),
    #[error("\"{name}\" is already a name of {owner}")]
    NameTwice { name: String, owner: String },
    #[error("the type has no section")]
    NoSection,
    #[error("a pentode's operating point needs a screen voltage, a triode's has none")]
    Screen,
    #[error("the bias voltages do not follow from the circuit given under \"from\"")]
    Circuit,
    #[error("the law has not the constants of a triode, a pentode or a diode")]
    BadLaw,
    #[error("limits are given for \"{0}\", which is neither a type nor a class")]
    NoSuchType(String),
}

impl HandbookError {
    /// What to do about it, one sentence.
    pub fn mend(&self) -> String {
        match &self.mistake {
            Mistake::Json(_) => {
                "Compare with the example on the page: figures are written [number, \"source\"].".into()
            }
            Mistake::NoSource(id) => {
                format!("Add \"{id}\" to \"sources\", or cite \"user\" for a figure of your own.")
            }
            Mistake::SourceTwice(_) => "Give your source another short name.".into(),
            Mistake::NoOffset => "Write [number, \"source\", percent].".into(),
            Mistake::StrayOffset => "Leave the third number out.".into(),
            Mistake::BadNumber { .. } => {
                "Check the unit: V, mA, mS, kΩ, W; grid resistors and insulation in MΩ, leakage in µA, shares in %."
                    .into()
            }
            Mistake::BadName(_) => "Write the name as it is printed on the tube.".into(),
            Mistake::NameTwice { .. } => "Use each name once.".into(),
            Mistake::NoSection => "Add a section under \"sections\".".into(),
            Mistake::Screen => "Write \"at\": [\"source\", plate, grid, screen] for a pentode or beam tetrode.".into(),
            Mistake::Circuit => {
                "Take the drop across the cathode resistor off the supply, and off the grid and screen too.".into()
            }
            Mistake::BadLaw => {
                "Give mu, ex, kg1, kp, kvb, vct for a triode; mu, ex, kg1, kg2, kp, kvb for a pentode; g for a diode."
                    .into()
            }
            Mistake::NoSuchType(_) => "Use a type's name, or one of small-signal, power and rectifier.".into(),
        }
    }
}
