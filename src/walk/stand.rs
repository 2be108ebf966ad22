//! Where a step stands, as it is said and as it stands on the record: a state, and whether what it rests on was altered
//! since.

use std::fmt;

use crate::check::program::StateWord;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stand {
    pub state: StateWord,
    pub stale: bool,
}

impl Stand {
    /// "passed", "failed, stale". None: no state that this program knows, so that it never counts as one.
    pub fn parse(words: &str) -> Option<Self> {
        let (state, stale) = match words.strip_suffix(", stale") {
            Some(state) => (state, true),
            None => (words, false),
        };
        Some(Self { state: StateWord::parse(state)?, stale })
    }

    /// To a person a step that is half read, or a series that is not over, is begun.
    pub fn in_words(self) -> String {
        match self.state {
            StateWord::NotReached if self.stale => "begun, not finished, stale".to_owned(),
            StateWord::NotReached => "begun, not finished".to_owned(),
            _ => self.to_string(),
        }
    }

    /// Nobody has cause to look again.
    pub fn is_well(self) -> bool {
        !self.stale
            && matches!(self.state, StateWord::Passes | StateWord::Recorded | StateWord::NotApplicable)
    }
}

impl fmt::Display for Stand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.state.words())?;
        f.write_str(if self.stale { ", stale" } else { "" })
    }
}
