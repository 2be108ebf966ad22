//! Whose signature is awaited under what was added after the signing. An amendment names who adds it, and only a
//! signature of that person is its own: whoever else signs meanwhile signs the verdict, with the addition in view.

use crate::record::line::Line;
use crate::walk::event::Event;

/// Two names are one person's if they differ in blanks and capitals only.
pub fn same_person(one: &str, other: &str) -> bool {
    let plain = |name: &str| name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    plain(one) == plain(other)
}

/// Something added, not signed yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Added {
    /// The number of its line; 0 before it is written.
    pub line: u64,
    pub party: String,
    /// Who added it. None on an early record, which names the party alone.
    pub name: Option<String>,
    pub text: String,
}

impl Added {
    fn is_by(&self, party: &str, name: &str) -> bool {
        self.party == party && self.name.as_ref().is_none_or(|own| same_person(own, name))
    }

    /// `Bo Example, owner`.
    pub fn said_by(&self) -> String {
        self.name.iter().chain([&self.party]).cloned().collect::<Vec<_>>().join(", ")
    }
}

/// All that was added and is not signed yet, oldest first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Amending {
    pub unsigned: Vec<Added>,
}

impl Amending {
    /// Notes what a line adds, if it adds something.
    pub fn read(&mut self, line: &Line) {
        if let Event::Amended { text, name } = &line.event {
            let (party, name, text) = (line.who.clone(), name.clone(), text.clone());
            self.unsigned.push(Added { line: line.seq, party, name, text });
        }
    }

    /// What this person has added and not signed yet.
    pub fn by<'a>(&'a self, party: &'a str, name: &'a str) -> impl Iterator<Item = &'a Added> {
        self.unsigned.iter().filter(move |added| added.is_by(party, name))
    }

    /// This person signs; whether that is the signature under what they have added.
    pub fn sign(&mut self, party: &str, name: &str) -> bool {
        let before = self.unsigned.len();
        self.unsigned.retain(|added| !added.is_by(party, name));
        self.unsigned.len() < before
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_addition_waits_for_the_one_who_made_it() {
        let added = |party: &str, name: Option<&str>| Added {
            line: 9,
            party: party.to_owned(),
            name: name.map(str::to_owned),
            text: "the number ends in 7".to_owned(),
        };
        let mut amending = Amending { unsigned: vec![added("owner", Some("Bo Example"))] };
        assert!(!amending.sign("operator", "Ann Example"));
        assert!(!amending.sign("owner", "Cy Example"));
        assert_eq!(amending.by("owner", "bo  example").count(), 1);
        assert!(amending.sign("owner", "bo  example") && amending.unsigned.is_empty());

        // An early record names no more than the party.
        let mut amending = Amending { unsigned: vec![added("owner", None)] };
        assert!(!amending.sign("operator", "Ann Example"));
        assert!(amending.sign("owner", "Cy Example"));
    }
}
