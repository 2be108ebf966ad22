//! What the walk asks next and what it says back, as data: a console only lays it out.

use crate::check::program::StepId;

/// The question that stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Where we are; None before the first step and at the end.
    pub place: Option<Place>,
    /// The question in words, with its station: "Dial 0 mm from the nose, spindle turned to 180 deg".
    pub ask: String,
    /// What to type and what it means: "in mm", "plus: toward the operator", "minus: away from the operator".
    pub hints: Vec<String>,
    pub expects: Expects,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    pub step: StepId,
    pub name: String,
    pub title: String,
    /// Step n of m, both counted from 1.
    pub number: usize,
    pub of: usize,
    /// From 1; 1 is as found.
    pub attempt: u32,
    /// Reading i of k, where a reading is asked.
    pub reading: Option<(usize, usize)>,
}

/// What kind of answer is awaited. A command word needs a leading colon where `is_text`.
#[derive(Clone, Debug, PartialEq)]
pub enum Expects {
    /// A number in this unit (symbol), or several for the stations that follow.
    Number {
        unit: String,
    },
    Count,
    Words(Vec<String>),
    YesNo,
    Date,
    /// Free text: an identity, a reason, what was altered.
    Text,
    /// What is found, one a line; `none` or `done` ends them.
    Defects,
    /// A file name; the console reads the file and gives its digest with `Machine::photo`.
    Photo,
    /// A person's name.
    Name,
    /// A list of names, parted by commas or one a line.
    List,
    /// Enter or yes takes what was said back; anything else is a new answer.
    TakeOrRetype,
    /// The step has not passed: `adjust`, `again`, `remeasure`, `correct`, or Enter to go on.
    AfterStep,
    /// A time as it stands on a sheet of paper.
    Time,
    /// A wait by the clock: Enter when done.
    Wait {
        seconds: u64,
    },
    /// Nothing more can be asked: sign off, or name a step.
    Nothing,
}

impl Expects {
    /// Any word may be the answer, so that a command needs a leading colon.
    pub fn is_text(&self) -> bool {
        matches!(self, Expects::Text | Expects::Defects | Expects::Name | Expects::List | Expects::Photo)
    }
}

/// What is said after an answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    pub tone: Tone,
    pub text: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// An entry said back with its meaning.
    Echo,
    /// A result or verdict that is well.
    Well,
    /// A result or verdict that is not.
    NotWell,
    /// What to do: remedies with amounts.
    Advice,
    /// Something that the person should know.
    Notice,
}

/// Shown when a step or a further try of it begins.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Briefing {
    pub section: Option<String>,
    pub basis: Vec<String>,
    pub setup: Vec<String>,
    pub keeps: Vec<String>,
    pub cautions: Vec<String>,
    pub conditions: Vec<String>,
    pub notes: Vec<String>,
    pub instruments: Vec<String>,
    pub by: Vec<String>,
    pub powered: bool,
}

/// Why an answer or a command was not taken, and what to type instead. Nothing was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    pub message: String,
    pub help: Option<String>,
}

impl Refusal {
    pub fn new(message: impl Into<String>) -> Self {
        Self { message: message.into(), help: None }
    }

    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help = Some(text.into());
        self
    }
}
