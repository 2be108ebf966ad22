//! The events of a walk: all that the record holds and all that reports are made from.
//!
//! A number stands three times where it was typed: as typed, its unit as typed, and its exact value in the unit of
//! the question (`exact`: a decimal or `p/q`). Field order is the key order of the record.

use serde::{Deserialize, Serialize};

pub use super::alteration::Alteration;
pub use super::hold::HoldSignature;
pub use super::judged::{JudgedStep, ResultLine, RuleLine, UncertaintyLine};
pub use super::sayings::PutRight;

pub const FORMAT: u32 = 1;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "snake_case", deny_unknown_fields)]
pub enum Event {
    /// The first line: everything that the walk rests on.
    Opened {
        format: u32,
        language: u32,
        program: String,
        /// Present and true on a rehearsal.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        rehearsal: bool,
        title: String,
        files: Vec<FileText>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        previous: Option<String>,
        /// Who is expected to sign besides the operator.
        parties: Vec<String>,
    },
    Person {
        role: String,
        name: String,
    },
    Fact {
        name: String,
        answer: Answer,
    },
    /// Which one it is. A further one of the same name takes its place from here on.
    Instrument(InstrumentCard),
    /// Taken instead of the first one named, from here on.
    InUse {
        instrument: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        resolution: Option<String>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        uncertainty: Vec<String>,
    },
    /// A fact, a reading or a result as the record before left it, in the units of this procedure.
    PreviousValue {
        name: String,
        answers: Vec<Answer>,
        /// Where each answer stands, if it is laid out.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        stations: Vec<Vec<String>>,
        /// U = 2u of each answer, of a value that is lent to a rule; empty where there is none.
        #[serde(rename = "U", default, skip_serializing_if = "Vec::is_empty")]
        expanded: Vec<String>,
        /// Why it is not comparable; it has no answers then.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
    },
    /// Which instrument was used for the record before.
    PreviousInstrument(InstrumentCard),
    /// What an adjustment did when the record before was made: moved by `amount`, the result changed by `change`.
    PreviousMove {
        step: String,
        adjustment: String,
        amount: Answer,
        result: String,
        change: Answer,
    },
    StepOpened {
        step: String,
        #[serde(rename = "try")]
        number: u32,
        /// Sequence numbers of the adjustments since the try before; empty as found.
        after: Vec<u64>,
    },
    /// A remeasure of one reading: a new set in the same try.
    SetOpened {
        step: String,
        reading: String,
        set: u32,
        /// Why it was measured again, if that was said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
    },
    Confirmed {
        step: String,
        text: String,
        answer: bool,
    },
    /// Gone on with a step although another still needs the set-up that it breaks.
    SetupGivenUp {
        step: String,
        of: String,
    },
    /// Who did a step that has a `by` line.
    Performed {
        step: String,
        role: String,
        name: String,
    },
    /// What is entered in this try from here on stood on a sheet of paper.
    Sheet {
        step: String,
        #[serde(rename = "try")]
        number: u32,
        /// When it was read, by the clock on the wall: `2026-03-02T09:40:00`, or the day alone.
        taken: String,
        /// Who read it, if not the operator.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
        /// The line that said so before and was wrong.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        of: Option<u64>,
    },
    Entered(Entry),
    NotRead(Entry),
    Observed(Entry),
    Listed {
        step: String,
        axis: String,
        items: Vec<String>,
    },
    /// The old value stays, struck out. `of` is the line corrected.
    Corrected {
        of: u64,
        /// None: it counts as not read, for that reason.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        answer: Option<Answer>,
        reason: String,
    },
    /// What was moved, or said in words, was said wrong.
    PutRight(PutRight),
    /// An entry outside the usual range, kept when asked.
    Kept {
        of: u64,
        query: String,
        reason: String,
    },
    /// A line that was understood and puts nothing else on the record yet: a row said back, a step turned to, a no.
    HalfSaid {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        step: Option<String>,
        line: String,
        /// How many values of it wait to be confirmed.
        #[serde(default, skip_serializing_if = "is_zero")]
        values: u32,
        how: How,
        /// Of a number that a gauge sent without one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unit: Option<String>,
    },
    /// Gone on from a step that has not passed.
    LeftAsIs {
        step: String,
        state: String,
    },
    Noted {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        step: Option<String>,
        text: String,
    },
    Defect {
        number: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        step: Option<String>,
        text: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<Answer>,
    },
    Mended {
        number: u32,
        text: String,
    },
    /// A defect accepted by a party.
    Accepted {
        number: u32,
        party: String,
        name: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
    },
    Adjusted(Alteration),
    Justified {
        step: String,
        adjustment: String,
        reason: String,
    },
    Broken {
        step: String,
        reading: String,
        reason: String,
        zero_intact: bool,
        /// Present and true where the series is not to be joined, although it might be.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        from_the_start: bool,
    },
    /// A station of a broken series, read once more so that its parts can be joined.
    ReadAgain(Entry),
    /// What came of the stations read again: follows from the entries.
    Joined {
        step: String,
        #[serde(rename = "try")]
        number: u32,
        set: u32,
        reading: String,
        /// Which part is joined on, counted from 2.
        part: u32,
        /// The stations read again.
        stations: Vec<String>,
        /// By how much that part stands off the first one, and the greatest less the least of the shifts: exact, in
        /// the unit of the reading.
        shift: String,
        disagreement: String,
        /// The author's allowance.
        within: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unit: Option<String>,
        /// False: not joined, the series begins again.
        agreed: bool,
    },
    /// The clock of a series begins: its rows stand at their time since this line.
    SeriesStarted {
        step: String,
        reading: String,
        set: u32,
        /// When it really began, of a series on a sheet.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<String>,
    },
    /// No further row is to come.
    SeriesEnded {
        step: String,
        reading: String,
        rows: u32,
        because: SeriesEnd,
    },
    WaitStarted {
        step: String,
        text: String,
        /// As a sheet says.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<String>,
    },
    WaitDone {
        step: String,
        text: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<String>,
    },
    Held {
        step: String,
        party: String,
        name: String,
        /// Of the witness, where they have a key.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        signed: Option<HoldSignature>,
    },
    Skipped {
        step: String,
        reason: String,
    },
    Waived {
        step: String,
        reason: String,
        party: String,
        name: String,
    },
    Paused {
        reason: String,
        /// Of the room, when the walk was left.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        temperature: Option<Answer>,
    },
    Resumed {
        /// Length and SHA-256 of a torn last line that was set aside.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        torn: Option<Torn>,
        /// SHA-256 of the procedure file now, if it is no longer the frozen one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        file_now: Option<String>,
        /// Of the room, when the walk was taken up again.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        temperature: Option<Answer>,
    },
    /// Follows from the entries: written after its cause, demanded alike by `verify`.
    Judged(JudgedStep),
    /// A state that changed without new readings of its own: stale, or turned by a correction.
    Changed {
        step: String,
        was: String,
        now: String,
        because: String,
    },
    /// An adjustment made on advice that a correction has taken away.
    Withdrawn {
        step: String,
        adjustment: String,
        /// After which try it was made; an early record does not say.
        #[serde(rename = "try", default, skip_serializing_if = "Option::is_none")]
        number: Option<u32>,
    },
    Stopped {
        step: String,
        /// True if raised by hand.
        by_hand: bool,
        text: String,
    },
    Cleared {
        step: String,
        because: String,
    },
    Closed {
        verdict: String,
        exceptions: Vec<String>,
        open: Vec<String>,
        stale: Vec<String>,
    },
    /// A walk that was closed and that nobody has signed is taken up again.
    Reopened {
        reason: String,
    },
    Signing {
        party: String,
        name: String,
        identity: String,
        key: String,
        verdict: String,
        exceptions: Vec<String>,
    },
    Signed {
        bytes: u64,
        signature: String,
    },
    Amended {
        text: String,
        /// Who adds it; early records name the party alone.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
    },
}

// As `serde` asks for it.
#[allow(clippy::trivially_copy_pass_by_ref)]
fn is_zero(count: &u32) -> bool {
    *count == 0
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileText {
    pub name: String,
    pub sha256: String,
    pub text: String,
}

/// One instrument, with what is stated of it as it counts in this walk.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InstrumentCard {
    pub name: String,
    pub number: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibrated_until: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub uncertainty: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
    /// Absent: typed at the bench.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Origin>,
}

/// Where what is said of an instrument comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    Kit,
    Previous,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Torn {
    pub bytes: u64,
    pub sha256: String,
}

/// What was typed and what it means.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Answer {
    pub typed: String,
    /// The unit as typed or, for a bare number, of the question.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Numbers: exact, in the unit of the question. Words, texts, dates: as understood. "over X" for open-ended.
    pub value: String,
    /// The digest of a photo.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
}

impl Answer {
    /// What stands where a reading could not be had.
    pub fn not_read() -> Self {
        let words = || "not read".to_owned();
        Self { typed: words(), unit: None, value: words(), sha256: None }
    }
}

/// One reading or observation at its stations.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    pub step: String,
    #[serde(rename = "try")]
    pub number: u32,
    pub set: u32,
    pub name: String,
    pub stations: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answer: Option<Answer>,
    /// Why it was not read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    pub how: How,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    Typed,
    Row,
    /// Sent by the gauge itself.
    Gauge,
    Example,
    Seeded,
    /// Read on paper, typed in later.
    Sheet,
}

/// Why a series is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SeriesEnd {
    /// What it waited for came.
    Met,
    /// The last row of its time was taken.
    Time,
    /// Its time ran out without a last row; closed by the operator.
    Closed,
}
