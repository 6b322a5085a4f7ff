//! The user's own types and limits.

use approx::assert_relative_eq;
use proptest::prelude::*;

use super::super::*;

const OWN: &str = r#"{
 "sources":[{"id":"me","kind":"sheet","cite":"Sheet of the maker, 1961, page 2"}],
 "types":[{"name":"6X9Z","aka":{"user":["VX-77"]},
  "heater":[{"v":[6.3,"me"],"i":[0.3,"me"]}],
  "sections":[{"n":2,"kind":"triode",
   "points":[{"at":["me",150,-3],"ia":[5,"me"],"gm":[2,"user"]}],
   "max":{"va":[300,"me"]}}]}],
 "limits":{"12AX7":{"ig":[0.2,"me"]},"power":{"ig":[2,"user"]}}}"#;

#[test]
fn own_types_are_added_and_the_shipped_ones_stay() {
    let book = Handbook::shipped().with_user_types(OWN).unwrap();
    assert_eq!(book.all().len(), all().len() + 1);
    let own = book.find("vx 77").unwrap();
    assert_eq!((own.name.as_str(), own.origin), ("6X9Z", Origin::User));
    let p = &own.groups[0].points[0];
    assert_eq!(p.ia.as_ref().unwrap().value, 5e-3);
    assert!(p.ia.as_ref().unwrap().is_verified());
    assert_eq!(p.gm.as_ref().unwrap().strength, Strength::Stated);
    assert!(find("6X9Z").is_none(), "the shipped handbook is untouched");
    assert_eq!(book.find("ECC83").unwrap().name, "12AX7");
}

#[test]
fn own_limits_go_first_and_can_be_verified() {
    let book = Handbook::shipped().with_user_types(OWN).unwrap();
    let of = |label| book.limits(book.find(label).unwrap());
    let limit = of("12AX7").grid_current.unwrap();
    assert_relative_eq!(limit.value, 0.2e-6);
    assert!(limit.is_verified());
    assert_eq!(of("12AX7").insulation.unwrap().value, 100e6, "the rest stays");
    assert_relative_eq!(of("EL34").grid_current.unwrap().value, 2e-6);
    assert_relative_eq!(of("12AU7").grid_current.unwrap().value, 0.3e-6);
}

#[test]
fn an_own_type_can_replace_a_shipped_one_and_keeps_its_equivalents() {
    let json = r#"{"types":[{"name":"12ax7","sections":[{"n":2,"kind":"triode"}]}]}"#;
    let book = Handbook::shipped().with_user_types(json).unwrap();
    assert_eq!(book.all().len(), all().len());
    for label in ["12AX7", "ECC83", "7025"] {
        assert_eq!(book.find(label).unwrap().origin, Origin::User, "{label}");
    }
    let again = book.with_user_types(OWN).unwrap();
    assert_eq!(again.find("ECC83").unwrap().origin, Origin::User);
    assert_eq!(again.all().len(), all().len() + 1);
}

#[test]
fn nothing_to_add_is_no_fault() {
    assert_eq!(Handbook::shipped().with_user_types("{}").unwrap().all(), all());
}

/// Each fault says where it is and what to do.
#[test]
fn faults_have_a_place_and_a_mend() {
    let one = |inner: &str| format!(r#"{{"types":[{{"name":"X1","sections":[{{"n":1,{inner}}}]}}]}}"#);
    let triode = |point: &str| one(&format!(r#""kind":"triode","points":[{{{point}}}]"#));
    let cases: Vec<(String, &str, &str)> = vec![
        ("".into(), "line 1, column 0", "not the handbook's form"),
        ("{\n \"types\": [}".into(), "line 2, column 12", "not the handbook's form"),
        (r#"{"typs":[]}"#.into(), "line 1", "unknown field `typs`"),
        (r#"{"types":[{"name":"!!","sections":[]}]}"#.into(), "type \"!!\"", "cannot be a type's name"),
        (r#"{"types":[{"name":"X1","sections":[]}]}"#.into(), "type \"X1\"", "no section"),
        (one(r#""kind":"nonode""#), "line 1", "unknown variant `nonode`"),
        (triode(r#""at":["user",250,-2],"ia":[1,"nobody"]"#), "type \"X1\", section 1, point 1, ia", "no source called"),
        (triode(r#""at":["user",250,-2],"ia":[-1,"user"]"#), "section 1, point 1, ia", "-1 is not a figure"),
        (triode(r#""at":["user",250,-2],"ia":[1]"#), "line 1", "too few items"),
        (triode(r#""at":["user",250,-2],"ia":[1,"user",2,3]"#), "line 1", "too many items"),
        (triode(r#""at":["user",250,-2],"ia":["1","user"]"#), "line 1", "invalid type"),
        (triode(r#""at":["user",250,-2],"ia":[1,"kl"]"#), "point 1, ia", "how far the fit is off"),
        (triode(r#""at":["user",250,-2],"ia":[1,"user",5]"#), "point 1, ia", "only a figure that cites a fit"),
        (triode(r#""at":["user",250,-2,100]"#), "section 1, point 1", "screen voltage"),
        (triode(r#""at":["user",-250,-2]"#), "section 1, point 1", "-250 is not a figure"),
        (triode(r#""at":["user",250,-2],"from":[250,200],"ia":[10,"user"]"#), "point 1", "do not follow from the circuit"),
        (one(r#""kind":"triode","law":{"fit":"f","sheet":"s","by":"user","g":1}"#), "section 1, law", "constants"),
        (one(r#""kind":"diode","law":{"fit":"f","sheet":"s","by":"user","g":-1}"#), "section 1, law", "-1 is not a figure"),
        (r#"{"sources":[{"id":"m","kind":"sheet","cite":"x"}]}"#.into(), "sources", "two sources"),
        (r#"{"limits":{"QQ9":{}}}"#.into(), "limits", "neither a type nor a class"),
        (r#"{"limits":{"power":{"end":[-5,"user"]}}}"#.into(), "limits for \"power\", end", "-5 is not a figure"),
        (
            r#"{"types":[{"name":"X1","aka":{"user":["X-1"]},"sections":[{"n":1,"kind":"triode"}]}]}"#.into(),
            "type \"X1\"",
            "already a name",
        ),
        (
            r#"{"types":[{"name":"X1","sections":[{"n":1,"kind":"triode"}]},{"name":"x1","sections":[{"n":1,"kind":"triode"}]}]}"#
                .into(),
            "type \"x1\"",
            "already a name of X1",
        ),
        (one(r#""kind":"triode","max":{"va":[1e999,"user"]}"#), "line 1", "number out of range"),
    ];
    for (json, place, says) in cases {
        let error = Handbook::shipped().with_user_types(&json).err().unwrap_or_else(|| panic!("taken: {json}"));
        let text = error.to_string();
        assert!(error.place.contains(place), "{json}\n{text}");
        assert!(text.contains(says), "{json}\n{text}");
        assert!(error.mend().ends_with('.'), "{}", error.mend());
    }
}

proptest! {
    /// Damaged user data never panics.
    #[test]
    fn damaged_data_is_refused_or_read(at in 0usize..600, with in "[\\[\\]{}\",:0-9a-z. -]{0,4}") {
        let mut json: Vec<char> = OWN.chars().collect();
        let at = at.min(json.len());
        let end = (at + with.chars().count()).min(json.len());
        json.splice(at..end, with.chars());
        let _ = Handbook::shipped().with_user_types(&json.into_iter().collect::<String>());
    }
}
