//! The state machine of a walk: asks, takes answers, gives events. No IO, no clock: the time is handed in.
//!
//! Each event is folded into the state as it is made, and whatever follows from it (verdicts, stops, staleness) is
//! settled before the reply, so that the caller has only to append the events of a reply, in order, and show what is
//! said. Replaying those events gives the same machine.

use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::rc::Rc;

use crate::check::program::{Act, InstrumentId, Kit, PartyId, Program, StepId, ValueId, WalkVerdict};

use crate::quantity::Rational;

use super::directory::Directory;
use super::entry::Understood;
use super::event::{Answer, Event, How, Torn};
use super::fold::Fold;
use super::question::{Refusal, Said, Tone};
use super::stand::Stand;
use super::standing::Standing;
use super::state::{State, StepState};
use super::uncertainty::Kept;

/// What an answer leads to: events for the record, in order, and what is said to the person.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reply {
    pub events: Vec<Event>,
    pub said: Vec<Said>,
}

/// The two lists of every exit, and the verdict as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Status {
    pub verdict: WalkVerdict,
    /// What it comes to with nothing more done: results that do not agree are accepted by nobody.
    pub verdict_if_closed: WalkVerdict,
    pub open: Vec<String>,
    /// How many of what is open, the last of it, are results that do not agree: the walk can be closed with them.
    pub apart: usize,
    pub stale: Vec<String>,
    pub exceptions: Vec<String>,
    pub defects: Vec<String>,
    /// Series that run by the clock, whether or not anybody is there.
    pub going_on: Vec<String>,
    pub steps: Vec<StepStatus>,
}

impl Status {
    /// All is done that can be demanded. That results do not agree may be nobody's fault, and no further reading may
    /// mend it.
    pub fn may_be_closed(&self) -> bool {
        self.open.len() == self.apart && self.stale.is_empty()
    }
}

/// Where one step stands.
#[derive(Clone, Debug, PartialEq)]
pub struct StepStatus {
    pub name: String,
    pub title: String,
    pub stand: Stand,
}

/// Something half said: it goes no further than the next answer, and is on the record only then.
#[derive(Clone, Debug)]
pub(super) enum Dialog {
    /// Values said back, or outside the usual range, to be taken or typed again.
    Take(Pending),
    /// `back`: the right value for that line is awaited.
    Correct(u64),
    /// `back`: what is right of what was said on that line.
    PutRight(u64),
    /// `again` or `adjust` before it was said what was altered. `again`: whether the next try is to follow.
    Altered { step: StepId, again: bool },
    /// A party that waives or accepts has not been named yet.
    Party { party: PartyId, then: Box<Act> },
    /// `skip` without its reason.
    Reason(StepId),
    /// Which one is used from here on.
    Which(InstrumentId),
    /// A serial number other than that of the record before.
    OtherMachine { typed: String, before: String },
}

#[derive(Clone, Debug)]
pub(super) struct Pending {
    pub step: StepId,
    pub value: ValueId,
    pub entries: Vec<(usize, Understood)>,
    /// Cell and what is odd about it.
    pub queries: Vec<(usize, String)>,
    pub how: How,
    /// Of a new row of a series: when it was typed.
    pub row_at: Option<Rational>,
    /// Stations of a broken series, read again.
    pub again: bool,
    /// It takes the place of the entry on that line, for that reason.
    pub corrects: Option<(u64, String)>,
}

#[derive(Clone, Debug)]
pub struct Machine {
    pub(super) program: Rc<Program>,
    pub(super) directory: Rc<Directory>,
    pub(super) state: State,
    pub(super) dialog: Option<Dialog>,
    /// Tries to be judged again, in the order of the file.
    pub(super) dirty: BTreeSet<(StepId, usize)>,
    /// Stale steps that the person does not want to take again now.
    pub(super) declined: HashSet<StepId>,
    /// Why what is settled next has changed, for the record.
    pub(super) cause: String,
    pub(super) out: Reply,
    /// In a worked example: the steps that it touches. What it does not touch counts as met, and nothing is asked.
    pub(super) touched: Option<Rc<HashSet<StepId>>>,
    pub(super) now: Option<jiff::Timestamp>,
    /// The step that the person has turned to. Not on the record: once something is entered in it, it is the current one.
    pub(super) wanted: Option<StepId>,
    pub(super) how: How,
    /// The digest of the picture that the line being answered names.
    pub(super) photo_read: Option<String>,
    /// When the question was put: what is due is settled by it.
    pub(super) asked_at: Option<jiff::Timestamp>,
    /// The time of the row that is being written, where it is not now.
    pub(super) entering_at: Option<Rational>,
    /// The row of a series on paper whose time was typed: its values are asked for.
    pub(super) row_on_paper: Option<(StepId, ValueId, Rational)>,
    /// Only the latest entry of this step is new: its earlier ones have been tried.
    pub(super) latest: Option<StepId>,
    /// The shop's instruments, to be offered.
    pub(super) kit: Option<Rc<Kit>>,
    /// Sizes of readings that are not begun, until something that stations may depend on changes.
    pub(super) sizes: RefCell<HashMap<ValueId, usize>>,
    /// Uncertainties that were worked out before.
    pub(super) kept: Rc<Kept>,
}

impl Machine {
    pub fn new(program: Rc<Program>) -> Self {
        let steps = vec![StepState::default(); program.steps.len()];
        let directory = Rc::new(Directory::new(&program));
        Self::with(program, directory, steps, Rc::default())
    }

    fn with(program: Rc<Program>, directory: Rc<Directory>, steps: Vec<StepState>, kept: Rc<Kept>) -> Self {
        Self {
            directory,
            state: State { steps, ..State::default() },
            program,
            dialog: None,
            dirty: BTreeSet::new(),
            declined: HashSet::new(),
            cause: String::new(),
            out: Reply::default(),
            touched: None,
            now: None,
            wanted: None,
            how: How::Typed,
            photo_read: None,
            asked_at: None,
            entering_at: None,
            row_on_paper: None,
            latest: None,
            kit: None,
            sizes: RefCell::default(),
            kept,
        }
    }

    /// A machine that works an example out: only what the example says is there.
    pub fn of_example(program: Rc<Program>, touched: HashSet<StepId>) -> Self {
        let mut machine = Self::new(program);
        machine.begin_example(touched);
        machine
    }

    /// Begins another example on the same machine. Only the steps that the last one visited are made new, so that a
    /// file with many examples costs what its examples are long.
    pub(super) fn begin_example(&mut self, touched: HashSet<StepId>) {
        let mut steps = std::mem::take(&mut self.state.steps);
        // In any order: each is made the same.
        #[allow(clippy::iter_over_hash_type)]
        for step in &self.state.visited {
            steps[step.0] = StepState::default();
        }
        let (program, directory) = (Rc::clone(&self.program), Rc::clone(&self.directory));
        *self = Self::with(program, directory, steps, Rc::clone(&self.kept));
        self.state.opened = true;
        self.touched = Some(Rc::new(touched));
        self.how = How::Example;
    }

    pub fn program(&self) -> &Program {
        &self.program
    }

    pub fn state(&self) -> &State {
        &self.state
    }

    /// Uncertainties that were worked out on the way.
    pub fn kept(&self) -> &Kept {
        &self.kept
    }

    /// What is there to measure with.
    pub fn bring(&mut self, kit: Rc<Kit>) {
        self.kit = Some(kit);
    }

    /// How the entries that follow come: typed, or as seeded values of a rehearsal.
    pub fn entries_come(&mut self, how: How) {
        self.how = how;
    }

    /// The time of what follows, with its offset; used for due dates and waits only.
    pub fn set_time(&mut self, time: &str) {
        self.now = time.parse().ok();
        self.state.now = self.now;
        self.asked_at = self.now;
        self.state.today = time.get(..10).and_then(|day| day.parse().ok());
        self.state.local = time.get(..19).and_then(|local| local.parse().ok());
    }

    /// The time of the answer to the question that stands. What is due by then is asked next: an answer goes to the
    /// question that was read.
    pub fn set_answer_time(&mut self, time: &str) {
        let asked_at = self.asked_at;
        self.set_time(time);
        self.asked_at = asked_at;
    }

    pub fn standing(&self) -> Standing<'_> {
        Standing { program: &self.program, state: &self.state, touched: self.touched.as_deref() }
    }

    // -------------------------------------------------------------------------------------------- the record

    pub fn open(&mut self, opened: Event) -> Reply {
        self.emit(opened);
        self.finish()
    }

    /// One recorded event. What follows from it is on the record too, or comes from `settle`.
    pub fn apply(&mut self, event: &Event) {
        Fold { program: &self.program, directory: &self.directory, state: &mut self.state }.apply(event);
        self.after(event);
    }

    /// What is due and not on the record yet: after a replay, if the tear fell between cause and verdict.
    pub fn settle(&mut self) -> Reply {
        self.settle_all();
        self.finish()
    }

    /// `temperature`: of the room, where it was measured.
    pub fn resumed(
        &mut self,
        torn: Option<Torn>,
        file_now: Option<String>,
        temperature: Option<Answer>,
    ) -> Reply {
        self.emit(Event::Resumed { torn, file_now, temperature });
        self.finish()
    }

    pub fn paused(&mut self, reason: &str, temperature: Option<Answer>) -> Reply {
        self.emit(Event::Paused { reason: reason.to_owned(), temperature });
        self.finish()
    }

    /// Stops that stand, each with its cause.
    pub fn stops(&self) -> Vec<String> {
        let stopped = self.program.steps.iter().zip(&self.state.steps).filter_map(|(step, own)| {
            let stop = own.stop.as_ref()?;
            Some(format!("{} {}: {}", step.name, super::wording::plain(&step.title), stop.text))
        });
        stopped.collect()
    }

    pub fn status(&self) -> Status {
        let standing = self.standing();
        let stand = |index: usize| {
            let step = &self.program.steps[index];
            StepStatus {
                name: step.name.clone(),
                title: super::wording::plain(&step.title),
                stand: standing.stand_of(StepId(index)),
            }
        };
        let open_defects = self.state.defects.iter().filter(|defect| defect.mended.is_none());
        Status {
            verdict: standing.verdict(),
            verdict_if_closed: standing.verdict_if_closed(),
            open: standing.open(),
            apart: standing.apart().len(),
            stale: standing.stale(),
            exceptions: standing.exceptions(),
            defects: open_defects.map(|defect| format!("{}: {}", defect.number, defect.in_words())).collect(),
            going_on: self.going_on(),
            steps: (0..self.program.steps.len()).map(stand).collect(),
        }
    }

    // -------------------------------------------------------------------------------------------- in here

    /// Folds an event into the state and hands it to the caller, with all that follows from it.
    pub(super) fn emit(&mut self, event: Event) {
        self.derive(event);
        self.settle_all();
    }

    /// An event that follows from others: what follows from it in turn is settled by the caller.
    pub(super) fn derive(&mut self, event: Event) {
        self.apply(&event);
        self.out.events.push(event);
    }

    pub(super) fn say(&mut self, tone: Tone, text: impl Into<String>) {
        self.out.said.push(Said { tone, text: text.into() });
    }

    pub(super) fn finish(&mut self) -> Reply {
        std::mem::take(&mut self.out)
    }

    /// Drops whatever a refused answer had begun to say. Nothing may have been emitted.
    pub(super) fn refuse<T>(&mut self, refusal: Refusal) -> Result<T, Refusal> {
        debug_assert!(self.out.events.is_empty(), "refused after {:?}", self.out.events);
        self.out = Reply::default();
        Err(refusal)
    }
}
