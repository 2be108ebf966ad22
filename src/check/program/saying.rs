//! What is said on a walk beside the entries, and its parts: each can be put right later, by its kind and its number.

use serde::{Deserialize, Serialize};

use super::{AxisId, InstrumentId, Properties, StationPick, ValueId};

/// Named by the word that says it at the prompt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SaidKind {
    Move,
    Note,
    Defect,
    Mended,
    Accepted,
    Skip,
    Waive,
    Stop,
    Break,
    Justify,
    Keep,
    Remeasure,
    Held,
    By,
    Person,
    Reopen,
    Instrument,
    Correction,
    Room,
}

impl SaidKind {
    pub const ALL: [SaidKind; 19] = [
        SaidKind::Move,
        SaidKind::Note,
        SaidKind::Defect,
        SaidKind::Mended,
        SaidKind::Accepted,
        SaidKind::Skip,
        SaidKind::Waive,
        SaidKind::Stop,
        SaidKind::Break,
        SaidKind::Justify,
        SaidKind::Keep,
        SaidKind::Remeasure,
        SaidKind::Held,
        SaidKind::By,
        SaidKind::Person,
        SaidKind::Reopen,
        SaidKind::Instrument,
        SaidKind::Correction,
        SaidKind::Room,
    ];

    pub fn word(self) -> &'static str {
        match self {
            SaidKind::Move => "move",
            SaidKind::Note => "note",
            SaidKind::Defect => "defect",
            SaidKind::Mended => "mended",
            SaidKind::Accepted => "accepted",
            SaidKind::Skip => "skip",
            SaidKind::Waive => "waive",
            SaidKind::Stop => "stop",
            SaidKind::Break => "break",
            SaidKind::Justify => "justify",
            SaidKind::Keep => "keep",
            SaidKind::Remeasure => "remeasure",
            SaidKind::Held => "held",
            SaidKind::By => "by",
            SaidKind::Person => "person",
            SaidKind::Reopen => "reopen",
            SaidKind::Instrument => "instrument",
            SaidKind::Correction => "correction",
            SaidKind::Room => "room",
        }
    }

    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|it| it.word() == word)
    }
}

/// A part of what was said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SaidPart {
    /// All of it: it never happened.
    Whole,
    /// A text, a reason, what was altered; of an adjustment a remark.
    Words,
    Name,
    Photo,
    Amount,
    /// Where.
    At,
    /// Which adjustment, and at which of its stations.
    Which,
    Toward,
    Torque,
    By,
    /// Of an instrument.
    Number,
    Until,
    /// Of a correction.
    Reason,
    /// Of the room.
    Temperature,
}

/// What takes its place.
#[derive(Clone, Debug)]
pub enum PutTo {
    Never,
    Which(ValueId, Vec<(AxisId, StationPick)>),
    /// As typed.
    Typed(String),
    /// Of an instrument, with what is stated of it.
    Card {
        instrument: InstrumentId,
        number: String,
        until: Option<jiff::civil::Date>,
        known: Properties,
    },
}
