//! Lists as people write them: `12AX7; 2x 6SN7; V3=6.3V/300mA`.

use super::answer::Wrong;
use super::elevation::Cathode;
use super::heaters::{Heater, MOST_HEATERS};
use crate::handbook::{self, Type, Value};
use crate::intake::{clean, excerpt};
use crate::stage::{Entered, entered};

/// How far a voltage that is named with a type may be off the handbook's, a share
/// (judgement: 6 V and 6.3 V are one heater).
const SAME_VOLTAGE: f64 = 0.06;

/// The pieces of a list, parted by semicolons, lines, or commas before a blank.
fn pieces(text: &str) -> impl Iterator<Item = &str> {
    text.split([';', '\n'])
        .flat_map(|line| line.split(", "))
        .map(|p| p.trim().trim_end_matches(','))
        .filter(|p| !p.is_empty())
}

/// A piece without its count: `2x 12AX7`, `3 × V4=6.3V/300mA`.
fn counted(piece: &str) -> (usize, &str) {
    let end = piece.find(|c: char| !c.is_ascii_digit()).unwrap_or(0);
    let (digits, rest) = piece.split_at(end);
    let rest = rest.trim_start();
    // Without a blank it is a type: 6x5.
    let body = rest.strip_prefix('×').or_else(|| rest.strip_prefix("x "));
    match body {
        // What no number holds is too many anyway.
        Some(body) if !digits.is_empty() => (digits.parse().unwrap_or(usize::MAX), body.trim()),
        _ => (1, piece),
    }
}

/// Where a figure of the handbook is from, shortly.
fn from(value: &Value) -> String {
    format!("{}{}", value.source.citation, if value.is_verified() { "" } else { " (unverified)" })
}

fn unknown(field: &str, label: &str, mend: &str) -> Wrong {
    Wrong::new(field, format!("the handbook has no type \"{}\"", excerpt(label)), mend)
}

/// The heaters of a list: a type of the handbook, with `@12.6V` where it can be wired in
/// several ways, or `NAME=6.3V/300mA`; `2x ` before either.
///
/// # Errors
/// The first piece that is none, with how to write it.
pub fn heaters(text: &str) -> Result<Vec<Heater>, Wrong> {
    let mut all = Vec::new();
    for piece in pieces(text) {
        let (count, body) = counted(piece);
        let heater = if body.contains('/') { stated(body)? } else { of_type(body)? };
        if count > MOST_HEATERS - all.len() {
            return Err(Wrong::new("heaters", "the list is too long", format!("Give 1 to {MOST_HEATERS} heaters.")));
        }
        all.extend(std::iter::repeat_n(heater, count));
    }
    if all.is_empty() {
        return Err(Wrong::new("heaters", "there is none", "Write them as 12AX7; 6SN7; V3=6.3V/300mA."));
    }
    Ok(all)
}

/// `NAME=6.3V/300mA`, the name may be left out.
fn stated(body: &str) -> Result<Heater, Wrong> {
    let (name, rest) = body.rsplit_once('=').unwrap_or(("", body));
    let parts = rest.split_once('/').map(|(v, i)| (entered(v, Entered::Volts), entered(i, Entered::Amperes)));
    let Some((Some(voltage), Some(current))) = parts else {
        let what = format!("\"{}\" is no voltage and current", excerpt(rest));
        return Err(Wrong::new("heaters", what, "Write it as V3=6.3V/300mA."));
    };
    let name = if name.trim().is_empty() { clean(rest) } else { clean(name) };
    Ok(Heater { name, voltage, current, rating_from: None })
}

/// A type of the handbook.
fn of_type(body: &str) -> Result<Heater, Wrong> {
    const MEND: &str = "Write it with its voltage and current: NAME=6.3V/300mA.";
    let (label, at) = body.split_once('@').map_or((body, None), |(l, v)| (l, Some(v)));
    let kind = handbook::find(label).ok_or_else(|| unknown("heaters", label, MEND))?;
    let ways = || kind.heaters.iter().map(|h| h.voltage.value.to_string() + " V").collect::<Vec<_>>().join(" or ");
    let found = match at {
        None => kind.heaters.first(),
        Some(text) => {
            let volts = entered(text, Entered::Volts).unwrap_or(f64::NAN);
            kind.heaters.iter().find(|h| (h.voltage.value / volts - 1.0).abs() < SAME_VOLTAGE)
        }
    };
    let Some(heater) = found else {
        let what = format!("the handbook has no such heater of the {}", kind.name);
        let has = if kind.heaters.is_empty() { String::new() } else { format!(" It has {}.", ways()) };
        return Err(Wrong::new("heaters", what, format!("{MEND}{has}")));
    };
    let mut rating_from = from(&heater.current);
    if at.is_none() && kind.heaters.len() > 1 {
        rating_from += &format!("; it can be wired for {}: write {}@ and the voltage", ways(), kind.name);
    }
    let (voltage, current) = (heater.voltage.value, heater.current.value);
    Ok(Heater { name: kind.name.clone(), voltage, current, rating_from: Some(rating_from) })
}

/// The cathodes of a list: `NAME=150V`, with a swing `150V±40V`, with a limit `150V/90V`. The
/// limit is the one written, else that of the type that the name tells, else `limit`.
///
/// # Errors
/// The first piece that is none, or has no limit, with the mend.
pub fn cathodes(text: &str, limit: Option<f64>) -> Result<Vec<Cathode>, Wrong> {
    let mut all = Vec::new();
    for piece in pieces(text) {
        all.push(cathode(piece, limit)?);
    }
    if all.is_empty() {
        return Err(Wrong::new("cathodes", "there is none", "Write them as 12AX7=1.5V; V2=150V±40V; V3=90V/180V."));
    }
    Ok(all)
}

fn cathode(piece: &str, default: Option<f64>) -> Result<Cathode, Wrong> {
    const MEND: &str = "Write it as V2=150V, with a swing V2=150V±40V, with a limit V2=150V/90V.";
    let bad = |part: &str| Wrong::new("cathodes", format!("\"{}\" is no voltage", excerpt(part)), MEND);
    let volts = |part: &str| entered(part, Entered::Volts).ok_or_else(|| bad(part));
    let (name, rest) = piece.rsplit_once('=').ok_or_else(|| bad(piece))?;
    let rest = rest.replace("+/-", "±").replace("+-", "±");
    let (rest, own) = rest.split_once('/').map_or((rest.as_str(), None), |(r, l)| (r, Some(l)));
    let (voltage, swing) = rest.split_once('±').map_or((rest, None), |(v, s)| (v, Some(s)));
    let book = handbook::find(name).and_then(book_limit);
    let (limit, limit_from) = match (own, book, default) {
        (Some(own), ..) => (volts(own)?, None),
        (_, Some((limit, from)), _) => (limit, Some(from)),
        (.., Some(limit)) => (limit, None),
        _ => {
            let what = format!("the handbook has no heater–cathode limit for \"{}\"", excerpt(name));
            return Err(Wrong::new(
                "limit",
                what,
                "Give the limit of the sheet, here or behind the voltage: V2=150V/90V.",
            ));
        }
    };
    Ok(Cathode { name: clean(name), voltage: volts(voltage)?, swing: swing.map_or(Ok(0.0), volts)?, limit, limit_from })
}

/// The smallest heater–cathode limit of a type's sections, V, and where it is from.
fn book_limit(kind: &Type) -> Option<(f64, String)> {
    let limits = kind.groups.iter().filter_map(|g| g.ratings.heater_cathode.as_ref());
    limits.min_by(|a, b| a.value.total_cmp(&b.value)).map(|v| (v.value, from(v)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heaters_are_read_as_people_write_them() {
        let all = heaters("12AX7@12.6V; 2x 6SN7GT, V3=6.3V/0,3A\n35V/150mA").unwrap();
        let told: Vec<(&str, f64, f64)> = all.iter().map(|h| (h.name.as_str(), h.voltage, h.current)).collect();
        assert_eq!(told[0], ("12AX7", 12.6, 0.15));
        assert_eq!(told[1], told[2]);
        assert_eq!(told[1].1, 6.3);
        assert_eq!(told[3], ("V3", 6.3, 0.3));
        assert_eq!(told[4], ("35V/150mA", 35.0, 0.15));
        assert!(all[0].rating_from.is_some() && all[3].rating_from.is_none());
        assert_eq!(counted("6x5GT"), (1, "6x5GT"));
        assert_eq!(counted("3 × EL34"), (3, "EL34"));
    }

    #[test]
    fn what_is_no_heater_is_told_with_its_mend() {
        for bad in ["", " ; ", "XX99Z", "12AX7@40V", "V3=6.3V", "V3=6.3/", "a/b", "12AX7@", "0x 12AX7"] {
            let wrong = heaters(bad).unwrap_err();
            assert!(wrong.field == "heaters" && !wrong.mend.is_empty(), "{bad}: {wrong}");
        }
        for long in
            ["12AX7;".repeat(41), "41x 12AX7".into(), "40x 12AX7; EL34".into(), format!("{}x 12AX7", "9".repeat(40))]
        {
            assert!(heaters(&long).unwrap_err().what.contains("too long"), "{long}");
        }
    }

    #[test]
    fn a_cathode_has_the_nearest_limit() {
        let all = cathodes("12AX7=1.5V; 12AX7=2V/60V; V2=150V±40V; V3=-5V+-1V", Some(100.0)).unwrap();
        let told: Vec<(f64, f64, f64)> = all.iter().map(|c| (c.voltage, c.swing, c.limit)).collect();
        assert_eq!(told, [(1.5, 0.0, 180.0), (2.0, 0.0, 60.0), (150.0, 40.0, 100.0), (-5.0, 1.0, 100.0)]);
        assert_eq!(cathodes("V2=150V", None).unwrap_err().field, "limit");
        for bad in ["", "V2", "V2=", "V2=x", "V2=1V±", "V2=1V/x"] {
            let wrong = cathodes(bad, Some(90.0)).unwrap_err();
            assert!(wrong.field == "cathodes" && !wrong.mend.is_empty(), "{bad}: {wrong}");
        }
    }
}
