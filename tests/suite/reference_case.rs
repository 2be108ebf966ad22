//! What the checks against outside answers share: the cases of `tests/reference/*.json`, each with its source and whether
//! the source was seen or is recalled. An expected value that no check looked at fails its case.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use bedway::metrology::Fault;
use bedway::quantity::{Real, parse_decimal};

#[derive(serde::Deserialize)]
pub struct Case {
    pub case: String,
    source: String,
    mark: String,
    kind: String,
    pub given: BTreeMap<String, String>,
    pub expect: BTreeMap<String, String>,
    /// `0`: equal; a number: absolute; `rel` and a number: relative. `name=` before it: for that value alone, else for
    /// all that are not named. `tiny` and a number: an absolute distance that counts as nothing besides.
    within: String,
    #[serde(skip)]
    looked_at: RefCell<BTreeSet<String>>,
}

impl Case {
    pub fn text(&self, name: &str) -> &str {
        self.given.get(name).unwrap_or_else(|| panic!("{}: {name} is not given", self.case))
    }

    pub fn has(&self, name: &str) -> bool {
        self.given.contains_key(name)
    }

    pub fn expects(&self, name: &str) -> bool {
        self.expect.contains_key(name)
    }

    /// The numbers themselves, or, after an `@`, those of a file of `tests/reference/data`.
    pub fn list(&self, name: &str) -> Vec<Real> {
        match self.text(name).strip_prefix('@') {
            Some(file) => {
                let text =
                    std::fs::read_to_string(folder().join("data").join(format!("{file}.txt"))).unwrap();
                text.split_whitespace().map(scientific).collect()
            }
            None => numbers(self.text(name)),
        }
    }

    pub fn one(&self, name: &str) -> Real {
        self.list(name).remove(0)
    }

    pub fn floats(&self, name: &str) -> Vec<f64> {
        // Read as every program reads them, to the nearest binary number.
        self.text(name).split(' ').map(|text| text.parse().unwrap()).collect()
    }

    pub fn float(&self, name: &str) -> f64 {
        self.floats(name)[0]
    }

    /// Holds what was worked out against what the source says.
    pub fn is(&self, name: &str, found: &[Real]) {
        let wanted = numbers(self.expect.get(name).unwrap_or_else(|| panic!("{}: no {name}", self.case)));
        assert_eq!(found.len(), wanted.len(), "{}: {name}", self.case);
        for (found, wanted) in found.iter().zip(&wanted) {
            let off = (found - wanted).abs();
            assert!(
                off.is_at_most(&self.allowed(name, wanted)),
                "{}: {name} is {found:?} {}, {} has {wanted:?} {}",
                self.case,
                found.to_f64(),
                self.source,
                wanted.to_f64()
            );
        }
        self.looked_at.borrow_mut().insert(name.to_string());
    }

    fn allowed(&self, name: &str, wanted: &Real) -> Real {
        let (mut own, mut all, mut tiny) = (None, "0", Real::zero());
        for part in self.within.split(", ") {
            match part.split_once('=') {
                Some((named, tolerance)) if named == name => own = Some(tolerance),
                Some(_) => {}
                None => match part.strip_prefix("tiny ") {
                    Some(size) => tiny = scientific(size),
                    None => all = part,
                },
            }
        }
        let tolerance = own.unwrap_or(all);
        let allowed = match tolerance.strip_prefix("rel ") {
            Some(part) => &scientific(part) * &wanted.abs(),
            None => scientific(tolerance),
        };
        allowed.max(tiny)
    }

    pub fn is_one(&self, name: &str, found: Result<Real, Fault>) {
        self.is(name, &[found.unwrap()]);
    }

    pub fn are_floats(&self, name: &str, found: &[f64]) {
        let found: Vec<Real> = found.iter().map(|value| Real::approximate(*value, 0.0).unwrap()).collect();
        self.is(name, &found);
    }

    pub fn is_float(&self, name: &str, found: f64) {
        self.are_floats(name, &[found]);
    }

    /// The same for words.
    pub fn says(&self, name: &str, found: &[String]) {
        assert_eq!(self.expect.get(name), Some(&found.join(" ")), "{}: {name}", self.case);
        self.looked_at.borrow_mut().insert(name.to_string());
    }

    /// The expected numbers, for a check that is not one of equality.
    pub fn wanted(&self, name: &str) -> Vec<Real> {
        self.looked_at.borrow_mut().insert(name.to_string());
        numbers(&self.expect[name])
    }
}

fn numbers(text: &str) -> Vec<Real> {
    text.split(' ').map(scientific).collect()
}

/// A decimal, with a power of ten if it has one: only sources write those.
pub fn scientific(text: &str) -> Real {
    let (digits, power) = text.split_once('e').unwrap_or((text, "0"));
    let mut number = Real::Exact(parse_decimal(digits).unwrap_or_else(|| panic!("{text} is no number")));
    let power: i32 = power.parse().unwrap();
    // In steps, since one power goes up to 64.
    for step in [power / 6; 6].into_iter().chain([power % 6]) {
        number = &number * &Real::from(10).powi(step).unwrap();
    }
    number
}

pub fn times(list: &[Real], factor: &Real) -> Vec<Real> {
    list.iter().map(|value| value * factor).collect()
}

pub fn places(step: &Real, count: usize) -> Vec<Real> {
    (0..count).map(|k| step * &Real::from(i64::try_from(k).unwrap())).collect()
}

pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference")
}

/// The cases of one file, each with where it comes from.
pub fn read(file: &str) -> Vec<Case> {
    let cases: Vec<Case> =
        serde_json::from_str(&std::fs::read_to_string(folder().join(file)).unwrap()).unwrap();
    assert!(!cases.is_empty());
    for case in &cases {
        for said in [&case.source, &case.mark, &case.kind] {
            assert!(!said.is_empty(), "{}: where it comes from is said", case.case);
        }
    }
    cases
}

/// Works through one file of cases.
pub fn each(file: &str, check: impl Fn(&Case)) {
    for case in read(file) {
        check(&case);
        let expected: BTreeSet<String> = case.expect.keys().cloned().collect();
        assert_eq!(*case.looked_at.borrow(), expected, "{}: every expected value is checked", case.case);
    }
}
