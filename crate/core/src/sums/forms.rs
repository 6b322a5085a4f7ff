//! The fields of each sum, as data: a page builds its forms from them, the terminal's options
//! bear the same names, and [`super::asked()`] reads what was written in them.

use serde::Serialize;

use crate::stage::Entered;

/// What is written in a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// A value with a unit.
    Value(Entered),
    /// A share in percent.
    Percent,
    /// One of the choices.
    Choice,
    /// A list.
    List,
}

/// One field of a sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Field {
    /// Its name in [`super::asked()`] and, behind two hyphens, in the terminal.
    pub name: &'static str,
    /// What stands before it.
    pub label: &'static str,
    /// Unit of a bare number; empty for lists and choices.
    pub unit: &'static str,
    /// An example.
    pub placeholder: &'static str,
    /// What is taken where nothing is written; empty for nothing.
    pub default: &'static str,
    /// Whether something has to be written.
    pub needed: bool,
    /// What may be chosen; empty where it is written.
    pub choices: &'static [&'static str],
    /// A word more.
    pub says: &'static str,
    #[serde(skip)]
    pub(super) kind: Kind,
}

/// A sum with its fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Form {
    /// Its name.
    pub sum: &'static str,
    /// Its title.
    pub title: &'static str,
    /// What it tells.
    pub says: &'static str,
    /// Its fields.
    pub fields: &'static [Field],
}

const fn value(name: &'static str, label: &'static str, of: Entered, placeholder: &'static str) -> Field {
    let unit = match of {
        Entered::Volts => "V",
        Entered::Amperes => "A",
        Entered::Ohms => "ohm",
        Entered::Farads => "F",
        Entered::Hertz => "Hz",
        Entered::Watts => "W",
    };
    Field { name, label, unit, placeholder, default: "", needed: false, choices: &[], says: "", kind: Kind::Value(of) }
}

const fn list(name: &'static str, label: &'static str, placeholder: &'static str) -> Field {
    Field { name, label, unit: "", placeholder, default: "", needed: true, choices: &[], says: "", kind: Kind::List }
}

const fn choice(name: &'static str, label: &'static str, choices: &'static [&'static str]) -> Field {
    Field {
        name,
        label,
        unit: "",
        placeholder: choices[0],
        default: choices[0],
        needed: false,
        choices,
        says: "",
        kind: Kind::Choice,
    }
}

impl Field {
    const fn needed(mut self) -> Self {
        self.needed = true;
        self
    }

    const fn usually(mut self, default: &'static str) -> Self {
        self.default = default;
        self
    }

    const fn says(mut self, says: &'static str) -> Self {
        self.says = says;
        self
    }

    const fn percent(mut self) -> Self {
        self.unit = "%";
        self.kind = Kind::Percent;
        self
    }
}

/// All sums.
const FORMS: [Form; 4] = [
    Form {
        sum: "heaters",
        title: "Heaters in a chain",
        says: "Dropping resistor, the voltage of each heater, the current at switch-on, and what unequal currents do.",
        fields: &[
            value("supply", "Supply", Entered::Volts, "117V").needed().says("rms on AC"),
            list("heaters", "Heaters", "12AX7@12.6V; 2x 35V/150mA; V3=6.3V/150mA")
                .says("From the resistor down to the grounded end: types of the handbook, or voltage and current."),
            value("current", "Chain current", Entered::Amperes, "150mA")
                .says("Without it the smallest rated current, with shunts the largest."),
            choice("shunts", "Resistors beside heaters of less current", &["no", "yes"]),
        ],
    },
    Form {
        sum: "supply",
        title: "Rectified heater supply",
        says: "Mean voltage, ripple and the currents in diodes, winding and capacitors, solved in the steady state.",
        fields: &[
            value("secondary", "Winding, rms", Entered::Volts, "9V").needed().says("Of each half with a centre tap."),
            choice("rectifier", "Rectifier", &["bridge", "centre-tap"]),
            value("diode-drop", "Drop of one diode", Entered::Volts, "0.8V")
                .usually("0.8V")
                .says("About 0.8 to 1 V for silicon at some ampere, 0.4 to 0.5 V for Schottky diodes (from memory)."),
            value("frequency", "Mains frequency", Entered::Hertz, "50Hz").usually("50Hz"),
            value("winding-resistance", "Resistance of the winding", Entered::Ohms, "0.2")
                .usually("0.2")
                .says("With what the primary adds: no-load less loaded voltage, over the current."),
            value("reservoir", "Reservoir", Entered::Farads, "10000u").needed(),
            value("filter-resistor", "Resistor behind it", Entered::Ohms, "0R47").says("Leave both out for none."),
            value("filter-capacitor", "Second capacitor", Entered::Farads, "10000u"),
            value("load-current", "Load current", Entered::Amperes, "1.2A")
                .says("Either this or the load's resistance."),
            value("load-resistance", "Load resistance", Entered::Ohms, "5R25"),
        ],
    },
    Form {
        sum: "source",
        title: "Trim range of a current source",
        says: "Source resistor of a JFET or depletion-mode MOSFET over its spread, trimmer, heat and least voltage.",
        fields: &[
            value("current", "Wanted current", Entered::Amperes, "5mA").needed(),
            value("pinch-off-min", "Pinch-off voltage, least", Entered::Volts, "1.5V")
                .needed()
                .says("By size, the sign does not count."),
            value("pinch-off-max", "Pinch-off voltage, most", Entered::Volts, "3V").needed(),
            value("idss-min", "Saturation current, least", Entered::Amperes, "8mA").needed(),
            value("idss-max", "Saturation current, most", Entered::Amperes, "20mA").needed(),
            value("voltage", "Voltage across the source", Entered::Volts, "100V")
                .needed()
                .says("Across device and resistor, at its highest."),
            value("fall", "Fall of the current", Entered::Volts, "5%")
                .percent()
                .usually("5%")
                .says("The voltage is told at which the current has fallen by so much."),
        ],
    },
    Form {
        sum: "elevation",
        title: "Heater elevation",
        says: "Heater to cathode of each tube on a winding, against its limit; the elevations that suit all; a divider.",
        fields: &[
            value("heater", "Heater voltage", Entered::Volts, "6.3V").usually("6.3V").says("rms on AC"),
            choice("feed", "Fed by", &["ac-middle", "ac-end", "dc"])
                .says("AC with the winding's middle elevated, AC with one end, or DC with the negative end."),
            list("cathodes", "Cathodes", "12AX7=1.5V; V2=150V±40V; V3=90V/180V")
                .says("Name and voltage, perhaps a swing and a limit; a name that is a type has the handbook's limit."),
            value("limit", "Limit of the others", Entered::Volts, "90V")
                .says("Heater to cathode, for those that have none of their own."),
            value("elevation", "Elevation", Entered::Volts, "60V").says("Without it the middle of what all allow."),
            value("supply", "Supply of the divider", Entered::Volts, "300V"),
            value("divider-current", "Current of the divider", Entered::Amperes, "2mA").usually("2mA"),
            value("upper", "Upper resistor", Entered::Ohms, "220k")
                .says("Both resistors and the supply, instead of an elevation."),
            value("lower", "Lower resistor", Entered::Ohms, "47k"),
        ],
    },
];

/// All sums with their fields.
pub fn known() -> &'static [Form] {
    &FORMS
}

/// The same as JSON: a list of `{"sum", "title", "says", "fields": [{"name", "label", "unit",
/// "placeholder", "default", "needed", "choices", "says"}]}`.
pub fn forms() -> String {
    // Plain text fields: nothing of them can fail.
    serde_json::to_string(&FORMS).unwrap_or_default()
}
