//! Where a walk stands: the fold of its events, and nothing else. Replaying a record gives the same state.
//!
//! Nothing is judged here; `judge` works from what is entered, and what it finds comes back as events.

use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use indexmap::IndexMap;

use crate::check::program::{AxisId, InstrumentId, Properties, StepId, ValueId, WalkVerdict};
use crate::quantity::Real;

use super::brought::{Card, Earlier, EarlierMove, Same};
use super::event::{Answer, InstrumentCard, JudgedStep, SeriesEnd};
use super::half_said::HalfSaid;
use super::paper::Moment;
use super::room::Room;
use super::sayings::Saying;
use super::seam::Seam;
use super::value::{Cell, Stations};
use super::verdict::StepResults;
use super::waits::Waiting;

#[derive(Clone, Debug, Default)]
pub struct State {
    /// Sequence number of the last event.
    pub sequence: u64,
    /// The time of the last event: rows of a series are placed by it.
    pub now: Option<jiff::Timestamp>,
    /// Series that were started and are not over, the latest last.
    pub running: Vec<(StepId, ValueId)>,
    /// The day of the last event, for due dates.
    pub today: Option<jiff::civil::Date>,
    /// What the clock on the wall showed at the last event.
    pub local: Option<jiff::civil::DateTime>,
    /// The page of paper that is being typed in.
    pub page: Option<Page>,
    /// The page before, also where the walk was left since: its day is that of a time alone.
    pub page_before: Option<Page>,
    /// Who read the sheet that was typed in last.
    pub reader: Option<String>,
    pub rehearsal: bool,
    pub opened: bool,
    /// Role to name; `operator` first.
    pub people: IndexMap<String, String>,
    pub facts: HashMap<ValueId, Answered>,
    pub instruments: IndexMap<InstrumentId, Card>,
    /// Those that something was read with before another took their place.
    pub put_aside: Vec<(InstrumentId, Card)>,
    /// Taken instead of the first one named, from here on.
    pub in_use: Option<InstrumentId>,
    /// A finer or coarser instrument than the file says.
    pub properties: HashMap<InstrumentId, Rc<Properties>>,
    /// What the record before left, where it can be compared.
    pub previous: HashMap<ValueId, Earlier>,
    /// Which instruments it was made with.
    pub previous_instruments: Vec<(InstrumentId, InstrumentCard)>,
    /// What adjustments did then.
    pub previous_moves: Vec<EarlierMove>,
    pub steps: Vec<StepState>,
    /// The steps that anything has happened in.
    pub visited: HashSet<StepId>,
    pub moves: Vec<Move>,
    /// Struck out by a correction: they never happened.
    pub never_made: Vec<Move>,
    /// What was said beside the entries, in its order.
    pub sayings: Vec<Saying>,
    /// The line of the last one said or put right, and the line on which it was said first.
    pub last_said: Option<(u64, u64)>,
    /// The steps that the last of them left to be taken again.
    pub last_unsettled: Vec<StepId>,
    pub defects: Vec<Defect>,
    /// Entries outside the usual range that were kept: what was asked and why.
    pub kept: Vec<Kept>,
    /// What was corrected, oldest first.
    pub struck: Vec<Struck>,
    pub notes: Vec<String>,
    /// The step that the last answer belonged to.
    pub current: Option<StepId>,
    /// Where each entry stands, by its sequence number, for corrections.
    pub places: HashMap<u64, EntryPlace>,
    pub last_entry: Option<u64>,
    /// Lines that wait for more, since the last that did not.
    pub half_said: Vec<HalfSaid>,
    /// A step that may break the set-up which another still keeps, as confirmed.
    pub given_up: Vec<(StepId, StepId)>,
    /// In a worked example: a confirmation answered no.
    pub refused: HashMap<StepId, String>,
    pub closed: Option<WalkVerdict>,
    pub signed: bool,
    pub paused: bool,
    /// The temperature of the room as it was measured last.
    pub room: Option<Room>,
}

/// An answer as it counts, and the line that gave it.
#[derive(Clone, Debug, PartialEq)]
pub struct Answered {
    pub cell: Cell,
    pub answer: Answer,
    pub sequence: u64,
    /// How many times the series had been broken and joined when it was read.
    pub part: usize,
}

/// A page of paper: of which try, when it was filled in and by whom.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    pub step: StepId,
    /// From 1.
    pub attempt: usize,
    pub moment: Moment,
    /// None: the operator.
    pub by: Option<String>,
}

#[derive(Clone, Debug)]
pub struct Kept {
    /// The line of the entry, or of the correction, that was queried.
    pub of: u64,
    /// None: of a fact.
    pub step: Option<StepId>,
    pub query: String,
    pub reason: String,
}

/// What stood at a place before it was corrected.
#[derive(Clone, Debug)]
pub struct Struck {
    pub place: EntryPlace,
    pub was: Answered,
    /// The line of the correction.
    pub by: u64,
    pub reason: String,
}

#[derive(Clone, Debug)]
pub struct Defect {
    pub number: u32,
    pub text: String,
    /// The name of the picture's file.
    pub photo: Option<String>,
    pub step: Option<StepId>,
    pub sequence: u64,
    pub mended: Option<(String, u64)>,
    pub accepted: Option<String>,
}

/// Something that was really altered.
#[derive(Clone, Debug)]
pub struct Move {
    pub sequence: u64,
    pub step: StepId,
    /// None: only words.
    pub adjustment: Option<ValueId>,
    pub what: Option<String>,
    pub stations: Vec<String>,
    /// In base units.
    pub amount: Option<Cell>,
    pub advised: bool,
    pub withdrawn: bool,
    pub justified: bool,
    /// What was moved at its stations from it on adds up to nothing.
    pub undone: bool,
}

impl Move {
    /// Made on advice that a correction has taken away, and neither undone nor justified since.
    pub fn is_on_withdrawn_advice(&self) -> bool {
        self.withdrawn && !self.justified && !self.undone
    }
}

impl State {
    /// Whether what was moved has been moved back since, to the last digit.
    pub fn is_undone(&self, moved: &Move) -> bool {
        let same = |it: &&Move| {
            it.adjustment.is_some() && it.adjustment == moved.adjustment && it.stations == moved.stations
        };
        let since = self.moves.iter().filter(same).filter(|it| it.sequence >= moved.sequence);
        let amounts: Option<Vec<&Real>> = since.map(|it| it.amount.as_ref()?.as_number()).collect();
        amounts.is_some_and(|amounts| {
            amounts.len() > 1 && amounts.into_iter().fold(Real::zero(), |sum, it| &sum + it).is_zero()
        })
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EntryPlace {
    Fact(ValueId),
    Instrument(InstrumentId),
    /// Things as listed on the spot.
    List(StepId, AxisId),
    /// When a page of paper was filled in: step, try.
    Page(StepId, usize),
    /// Step, try (index), value, set (index), cell.
    Cell {
        step: StepId,
        attempt: usize,
        value: ValueId,
        /// Which of the sheets of that value.
        sheet: usize,
        cell: usize,
    },
    /// A station read again after a break: which one of which seam.
    Again {
        step: StepId,
        attempt: usize,
        value: ValueId,
        sheet: usize,
        seam: usize,
        at: usize,
    },
}

impl EntryPlace {
    pub fn step(&self) -> Option<StepId> {
        match self {
            EntryPlace::Cell { step, .. } | EntryPlace::Again { step, .. } => Some(*step),
            EntryPlace::Fact(_) | EntryPlace::Instrument(_) | EntryPlace::List(..) | EntryPlace::Page(..) => {
                None
            }
        }
    }
}

#[derive(Clone, Debug, Default)]
pub struct StepState {
    pub attempts: Vec<Attempt>,
    pub skipped: Option<String>,
    /// Reason and by whom.
    pub waived: Option<String>,
    pub performed: Vec<String>,
    /// Party and name.
    pub held: Vec<(String, String)>,
    pub waits_done: usize,
    pub waiting: Option<Waiting>,
    /// It, or something it rests on, was altered since its last try.
    pub unsettled: bool,
    pub stop: Option<Stop>,
    /// Gone on from although not passed.
    pub left: bool,
    /// The state as last said on the record.
    pub announced: String,
}

#[derive(Clone, Debug)]
pub struct Stop {
    pub by_hand: bool,
    pub text: String,
    pub sequence: u64,
    /// An adjustment, an alteration or a mended defect is on the record since.
    pub attended: bool,
    /// The try in which it fired.
    pub attempt: usize,
}

/// One try: as found, or after adjustments.
#[derive(Clone, Debug, Default)]
pub struct Attempt {
    /// From 1.
    pub number: u32,
    pub opened: u64,
    /// Sets by value; the last that is not retired counts (or their mean).
    pub sheets: IndexMap<ValueId, Vec<Sheet>>,
    pub lists: HashMap<AxisId, Vec<Rc<str>>>,
    pub confirmed: usize,
    pub defects_listed: bool,
    /// In an example: what was found is still to be said. Else an example takes it as said.
    pub defects_open: bool,
    /// Worked out, and as it stands on the record.
    pub results: Option<Rc<StepResults>>,
    pub recorded: Option<JudgedStep>,
    pub recorded_at: u64,
}

/// One set of a reading or observation.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// From 1.
    pub set: u32,
    pub axes: Vec<Rc<Stations>>,
    pub cells: Vec<Option<Answered>>,
    pub filled: usize,
    /// Stations moved or the series was broken: kept, but it no longer counts.
    pub retired: bool,
    /// Of a series in time, and of what is asked in its rows.
    pub run: Option<Run>,
    /// What it is read with.
    pub instrument: Used,
    /// Breaks that it is joined at, or is to be.
    pub seams: Vec<Seam>,
    /// Why it must be asked whether the zero is still what it was, before it goes on.
    pub doubt: Option<String>,
}

/// How far a series in time has come.
#[derive(Clone, Debug, Default)]
pub struct Run {
    pub begun: bool,
    /// By the clock of the record; none in a worked example.
    pub started: Option<jiff::Timestamp>,
    pub ended: Option<SeriesEnd>,
}

/// An instrument as it was when a set was begun.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Used {
    /// None: the first one that the reading names, or none at all.
    pub instrument: Option<InstrumentId>,
    pub properties: Rc<Properties>,
    /// The line that said which one it is; 0 if none did.
    pub card: u64,
    pub same: Same,
}

impl Sheet {
    pub fn new(set: u32, axes: Vec<Rc<Stations>>) -> Self {
        let count = axes.iter().map(|axis| axis.stations.len()).product();
        Self {
            set,
            axes,
            cells: vec![None; count],
            filled: 0,
            retired: false,
            run: None,
            instrument: Used::default(),
            seams: Vec::new(),
            doubt: None,
        }
    }

    /// A sheet whose rows are added as they are taken; the outermost axis holds their times.
    pub fn of_series(set: u32, axes: Vec<Rc<Stations>>) -> Self {
        Self { run: Some(Run::default()), ..Self::new(set, axes) }
    }

    /// Nothing more is to be entered.
    pub fn is_full(&self) -> bool {
        let over = self.run.as_ref().is_none_or(|run| run.ended.is_some());
        over && self.has_all()
    }

    /// All stations that are laid out so far have their entry.
    pub fn has_all(&self) -> bool {
        self.filled == self.cells.len()
    }

    /// What takes the place of an entry was read in the same part as that.
    pub fn put(&mut self, cell: usize, answered: Answered) {
        let Some(place) = self.cells.get_mut(cell) else { return };
        let part = match place {
            Some(old) => old.part,
            None => {
                self.filled += 1;
                self.seams.len()
            }
        };
        *place = Some(Answered { part, ..answered });
    }

    /// The first station without an entry. Entries mostly come in order, so this is the count of those there.
    pub fn next(&self) -> Option<usize> {
        match self.cells.get(self.filled) {
            Some(None)
                if self.filled == 0 || self.cells.get(self.filled - 1).is_some_and(Option::is_some) =>
            {
                Some(self.filled)
            }
            _ => self.cells.iter().position(Option::is_none),
        }
    }

    /// The index of the cell at these station names.
    pub fn index_of(&self, stations: &[String]) -> Option<usize> {
        if stations.len() != self.axes.len() {
            return None;
        }
        self.axes.iter().zip(stations).try_fold(0, |index, (axis, name)| {
            let at = axis.stations.iter().position(|station| *station.name == **name)?;
            Some(index * axis.stations.len() + at)
        })
    }

    /// The station indices of a cell, outermost first.
    pub fn indices(&self, cell: usize) -> Vec<usize> {
        let mut rest = cell;
        let mut indices: Vec<usize> = self
            .axes
            .iter()
            .rev()
            .map(|axis| {
                let count = axis.stations.len().max(1);
                let index = rest % count;
                rest /= count;
                index
            })
            .collect();
        indices.reverse();
        indices
    }

    /// The station names of a cell, outermost first.
    pub fn stations(&self, cell: usize) -> Vec<String> {
        let indices = self.indices(cell);
        let name = |(axis, index): (&Rc<Stations>, usize)| {
            axis.stations.get(index).map(|station| station.name.to_string()).unwrap_or_default()
        };
        self.axes.iter().zip(indices).map(name).collect()
    }
}

impl Attempt {
    /// The set that is being filled or counts.
    pub fn sheet(&self, value: ValueId) -> Option<&Sheet> {
        self.sheets.get(&value)?.iter().rev().find(|sheet| !sheet.retired)
    }

    /// All sets that count.
    pub fn live_sheets(&self, value: ValueId) -> impl Iterator<Item = &Sheet> {
        self.sheets.get(&value).into_iter().flatten().filter(|sheet| !sheet.retired)
    }
}

impl StepState {
    pub fn attempt(&self) -> Option<&Attempt> {
        self.attempts.last()
    }

    pub fn is_begun(&self) -> bool {
        !self.attempts.is_empty()
    }
}

impl State {
    /// Step ids come from the program that the state was made for, so that the index is in range.
    pub fn step(&self, step: StepId) -> &StepState {
        &self.steps[step.0]
    }

    /// What stands at a place; nothing of what is given anew by an event of its own.
    pub fn answered_at(&self, place: &EntryPlace) -> Option<&Answered> {
        let sheets = |step: &StepId, attempt: &usize, value: &ValueId, sheet: &usize| {
            self.steps.get(step.0)?.attempts.get(*attempt)?.sheets.get(value)?.get(*sheet)
        };
        match place {
            EntryPlace::Fact(value) => self.facts.get(value),
            EntryPlace::Cell { step, attempt, value, sheet, cell } => {
                sheets(step, attempt, value, sheet)?.cells.get(*cell)?.as_ref()
            }
            EntryPlace::Again { step, attempt, value, sheet, seam, at } => {
                sheets(step, attempt, value, sheet)?.seams.get(*seam)?.again.get(*at).map(|(_, it)| it)
            }
            EntryPlace::Instrument(_) | EntryPlace::List(..) | EntryPlace::Page(..) => None,
        }
    }

    /// What a reading with these instruments is read with from here on.
    pub fn in_use(&self, reading: &[InstrumentId]) -> Used {
        let instrument = self.in_use.filter(|instrument| reading.contains(instrument));
        let which = instrument.as_ref().or(reading.first());
        let properties = which.and_then(|it| self.properties.get(it)).cloned().unwrap_or_default();
        let card = which.and_then(|it| self.instruments.get(it));
        let (card, same) = card.map(|card| (card.sequence, card.same)).unwrap_or_default();
        Used { instrument, properties, card, same }
    }

    /// The day on which what is entered was read: that of the sheet of paper, else today.
    pub fn day(&self) -> Option<jiff::civil::Date> {
        self.page.as_ref().map(|page| page.moment.day()).or(self.today)
    }

    /// Every instrument that something was read with, and those in use.
    pub fn cards(&self) -> impl Iterator<Item = &Card> {
        self.put_aside.iter().map(|(_, card)| card).chain(self.instruments.values())
    }

    /// The one that this line said.
    pub fn card(&self, line: u64) -> Option<&Card> {
        self.cards().find(|card| card.sequence == line)
    }

    pub fn operator(&self) -> Option<&str> {
        self.people.get("operator").map(String::as_str)
    }

    /// What was moved since an event.
    pub fn moves_since(&self, sequence: u64) -> impl Iterator<Item = &Move> {
        self.moves.iter().filter(move |it| it.sequence > sequence)
    }
}
