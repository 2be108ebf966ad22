//! From the parsed file to the checked `Program`: names, dimensions, senses, axes, order.
//!
//! Finds all that can be found before the walk and says what to type instead; a name that failed once does not set
//! off further faults. Must not judge readings, and must not look at anything but the file.
//!
//! ```text
//! names (who is who) -> order (what rests on what) -> values, tables, axes -> steps -> examples -> flow -> Program
//! ```

mod answers;
mod arithmetic;
mod axes;
mod calls;
mod carried;
mod command;
mod constant;
mod correct;
mod cover;
mod declare;
mod expect;
mod expression;
mod feet;
mod fitted_line;
mod flow;
mod formulas;
mod functions;
mod instruments;
mod judge;
mod kit;
mod literal;
mod methods;
mod names;
mod order;
mod outcome;
mod own_sense;
mod pair_sense;
mod picks;
mod points;
pub mod program;
mod readings;
mod repeats;
mod rules;
mod sense;
mod series;
mod special;
mod steps;
mod surfaces;
pub mod survey;
mod tables;
mod texts;
mod uncertainty;
mod values;
mod visit;

use std::collections::{HashMap, HashSet};

use crate::diagnostic::{Code, Problem, in_file_order};
use crate::source::{SourceFile, Span};
use crate::syntax::{Parsed, ast};

use carried::Carried;
use names::Names;
use program::{Axis, AxisId, Instrument, Kit, Program, Step, StepId, Table, Value, ValueId};

pub use command::Commands;

/// What `check` finds. The problems of the lines themselves are among them, all in the order of the file.
#[derive(Clone, Debug)]
pub struct Checked {
    /// Only if there is no fault; a warning alone does not stand in the way.
    pub program: Option<Program>,
    /// Of a file of the shop's instruments.
    pub kit: Option<Kit>,
    pub problems: Vec<Problem>,
}

/// Checks a parsed file. Its examples are resolved and typed; that they come out as they say is for the walk to try.
pub fn check(parsed: &Parsed) -> Checked {
    // Once more whole: the lines of methods stand in the steps that follow them.
    let (file, mut found) = methods::written_out(&parsed.file);
    found.extend(methods::not_followed(&parsed.file, parsed.source.part(0).1));
    let mut checker = Checker::new(parsed, &file);
    let (program, kit) = match checker.is_kit() {
        true => (None, Some(checker.lower_kit())),
        false => (checker.run(), None),
    };
    let mut problems = parsed.problems.clone();
    problems.append(&mut checker.problems);
    problems.append(&mut found);
    let problems = in_file_order(problems);
    let sound = !problems.iter().any(Problem::is_fault);
    Checked { program: program.filter(|_| sound), kit: kit.filter(|_| sound), problems }
}

/// How far the checker is with a value or a table.
#[derive(Clone, Debug)]
enum Slot<T> {
    Waiting,
    /// Reported already; whatever uses it is passed over in silence.
    Failed,
    Ready(T),
}

/// The state of one check. Lists run parallel to the identifiers of `program`.
struct Checker<'a> {
    parsed: &'a Parsed,
    source: &'a SourceFile,
    file: &'a ast::File,
    names: Names<'a>,
    problems: Vec<Problem>,
    values: Vec<Value>,
    /// What is asked of the record before.
    lent: Vec<ValueId>,
    carried: Vec<Slot<Carried>>,
    axes: Vec<Axis>,
    /// File-level axes that could not be laid out.
    failed_axes: HashSet<AxisId>,
    /// The axis of `heights` for each stepped axis.
    height_axes: HashMap<AxisId, AxisId>,
    /// The axes of a plate map for each survey.
    map_axes: HashMap<AxisId, Vec<AxisId>>,
    instruments: Vec<Instrument>,
    tables: Vec<Table>,
    table_state: Vec<Slot<tables::TableState>>,
    steps: Vec<Step>,
    /// The place of each value in the order in which they were lowered.
    rank: Vec<usize>,
    /// Values that some expression names.
    used: Vec<bool>,
    /// Values of other steps that texts and remedies name: where, whose, and the place.
    shown: Vec<(StepId, ValueId, Span)>,
    /// Steps whose results a step's expressions name, with the first place.
    uses: HashMap<(StepId, StepId), Span>,
    /// Looking for the nearest word costs a walk over all names, so it is done for the first faults only.
    guesses_left: usize,
}

impl<'a> Checker<'a> {
    fn new(parsed: &'a Parsed, file: &'a ast::File) -> Self {
        Self {
            parsed,
            source: &parsed.source,
            file,
            names: Names::default(),
            problems: Vec::new(),
            values: Vec::new(),
            lent: Vec::new(),
            carried: Vec::new(),
            axes: Vec::new(),
            failed_axes: HashSet::new(),
            height_axes: HashMap::new(),
            map_axes: HashMap::new(),
            instruments: Vec::new(),
            tables: Vec::new(),
            table_state: Vec::new(),
            steps: Vec::new(),
            rank: Vec::new(),
            used: Vec::new(),
            shown: Vec::new(),
            uses: HashMap::new(),
            guesses_left: 40,
        }
    }

    /// All stages, whatever they find. The program is only worth anything if no fault was found.
    fn run(&mut self) -> Option<Program> {
        self.refuse_gauges();
        self.declare();
        self.lower_instruments();
        self.lower_values();
        self.lower_labels();
        self.lower_steps();
        let crosschecks = self.lower_crosschecks();
        self.check_flow();
        self.check_guarded();
        let mut program = self.header();
        program.facts = self.names.facts.clone();
        program.values = std::mem::take(&mut self.values);
        program.lent = std::mem::take(&mut self.lent);
        program.axes = std::mem::take(&mut self.axes);
        program.instruments = std::mem::take(&mut self.instruments);
        program.tables = std::mem::take(&mut self.tables);
        program.steps = std::mem::take(&mut self.steps);
        program.crosschecks = crosschecks;
        self.lower_examples(&mut program);
        Some(program)
    }

    fn report(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    fn fault(&mut self, code: Code, span: Span, message: impl Into<String>) {
        self.report(Problem::fault(code, span, message));
    }

    /// The words as they stand in the file, for messages.
    fn words(&self, span: Span) -> String {
        let text = self.source.slice(span).split_whitespace().collect::<Vec<_>>().join(" ");
        if text.chars().count() > 60 { text.chars().take(57).chain("...".chars()).collect() } else { text }
    }
}
