//! The first pass: every name of the file is given its identifier; doubles and lines in the wrong place are reported.

use crate::diagnostic::{Code, Problem};
use crate::source::Span;
use crate::syntax::ast::{self, Item, ObserveLine, ReadLine, StationsOf, StepLine};

use super::names::{Declared, Global, Scope, StepSource, What};
use super::program::{
    AxisId, Crosscheck, CrosscheckId, Decision, InstrumentId, JudgementId, Kind, Party, PartyId, Program,
    Role, Section, SectionId, StepId, TableId, Text, Value, ValueId,
};
use super::{Checker, Slot};

/// The version of the language that this program knows.
const LANGUAGE: u32 = 1;

impl<'a> Checker<'a> {
    pub(super) fn declare(&mut self) {
        let file = self.file;
        self.names.broken.extend(self.parsed.broken_words());
        let mut section = None;
        let mut sections = 0;
        let mut first_below: Option<Span> = None;
        // What is included stands in its place, and its text behind that of the file.
        let mut starts: Vec<usize> = file.items.iter().map(|line| line.span.start).collect();
        starts.sort_unstable();
        for line in &file.items {
            match &line.what {
                Item::Party { name, .. } => {
                    let id = PartyId(self.names.parties.len());
                    if self.given("party", name) {
                        self.names.parties.insert(&name.text, id);
                    }
                }
                Item::Fact(fact) => {
                    let id = self.declare_value(&fact.name, None, 0, What::Fact(fact));
                    self.names.facts.push(id);
                }
                Item::Let(node) => {
                    self.late(line.span, "let", first_below);
                    self.declare_value(&node.name, None, 0, What::Let(node));
                }
                Item::Revision(_) => self.late(line.span, "revision", first_below),
                Item::Scope(_) => self.late(line.span, "scope", first_below),
                Item::Basis(_) => self.late(line.span, "basis", first_below),
                Item::Note(_) => self.late(line.span, "note", first_below),
                Item::Decide(_) => self.late(line.span, "decide", first_below),
                Item::Axis(over) => {
                    let id = AxisId(self.names.file_axes.len());
                    self.names.file_axes.push(over);
                    if self.given("axis", &over.name) {
                        self.names.axes.insert(&over.name.text, id);
                    }
                    self.station_words(over);
                }
                Item::Instrument(node) => {
                    let id = InstrumentId(self.names.instruments.len());
                    if self.given("instrument", &node.name) {
                        self.names.instruments.insert(&node.name.text, id);
                    }
                }
                Item::Table(node) => {
                    let id = TableId(self.names.tables.len());
                    self.names.tables.push(line);
                    self.table_state.push(Slot::Waiting);
                    if self.given("value", &node.name) {
                        self.names.globals.insert(&node.name.text, Global::Table(id));
                    }
                }
                Item::Section(node) => {
                    if self.is_of_main(line.span) {
                        first_below.get_or_insert(line.span);
                    }
                    section = Some(SectionId(sections));
                    sections += 1;
                    self.given("section", &node.name);
                }
                Item::Step(node) => {
                    if self.is_of_main(line.span) {
                        first_below.get_or_insert(line.span);
                    }
                    let id = StepId(self.names.sources.len());
                    self.names.sources.push(StepSource {
                        node,
                        span: line.span,
                        section,
                        repeats: None,
                        end: starts
                            .get(starts.partition_point(|start| *start <= line.span.start))
                            .copied()
                            .unwrap_or(usize::MAX),
                        lines: node.lines.iter().collect(),
                    });
                    if self.given("step", &node.name) {
                        self.names.steps.insert(&node.name.text, id);
                    }
                }
                Item::Method(node) => {
                    if self.is_of_main(line.span) {
                        first_below.get_or_insert(line.span);
                    }
                    self.given("method", &node.name);
                    self.names.methods.insert(&node.name.text);
                }
                Item::Crosscheck(node) => {
                    let id = CrosscheckId(self.names.crosschecks.len());
                    if self.given("crosscheck", &node.name) {
                        self.names.crosschecks.insert(&node.name.text, id);
                    }
                }
                Item::Include(path) => self.report(
                    Problem::fault(Code::IncludeUnreadable, path.span, "what is included was not read")
                        .help("check the file itself: bedway check FILE"),
                ),
                Item::Language(_)
                | Item::Procedure(_)
                | Item::Library(_)
                | Item::Kit(_)
                | Item::Gauge(_)
                | Item::Example(_) => {}
            }
        }
        self.expand_repeats();
        for step in 0..self.names.sources.len() {
            self.declare_step(StepId(step));
        }
    }

    /// Whether a line stands in the file itself, not in a library.
    pub(super) fn is_of_main(&self, span: Span) -> bool {
        self.source.part(span.start).1.start == 0
    }

    /// A line that speaks for the whole file and stands below the first section or step.
    fn late(&mut self, span: Span, word: &str, first_below: Option<Span>) {
        if let Some(below) = first_below {
            self.report(
                Problem::fault(Code::FlowLateLine, span, format!("this `{word}` line speaks for the whole file and stands too low"))
                    .label("belongs to the top of the file")
                    .and(below, "the steps begin here")
                    .help(format!("move it above the first section or step; in a step `{word}` must stand among the step's own lines")),
            );
        }
    }

    /// Takes note of a name; reports it if the kind of thing has that name already.
    pub(super) fn given(&mut self, what: &'static str, name: &'a ast::Name) -> bool {
        match self.names.given.entry((what, &name.text)) {
            std::collections::hash_map::Entry::Vacant(free) => {
                free.insert(name.span);
                true
            }
            std::collections::hash_map::Entry::Occupied(taken) => {
                let first = *taken.get();
                self.report(
                    Problem::fault(
                        Code::NameTaken,
                        name.span,
                        format!("there are two {what}s called `{}`", name.text),
                    )
                    .label("the second")
                    .and(first, "the first")
                    .help("give one of them another name"),
                );
                false
            }
        }
    }

    fn declare_value(
        &mut self,
        name: &'a ast::Name,
        step: Option<StepId>,
        at: usize,
        what: What<'a>,
    ) -> ValueId {
        let id = ValueId(self.names.declared.len());
        self.names.declared.push(Declared { name, step, at, what });
        self.carried.push(Slot::Waiting);
        self.used.push(false);
        self.values.push(Value {
            name: name.text.clone(),
            step,
            label: Text::default(),
            kind: Kind::Text,
            axes: Vec::new(),
            unit: None,
            sense: None,
            station_senses: Vec::new(),
            role: Role::Fact { bounds: None },
            projection: false,
            span: name.span,
        });
        match step {
            None => {
                if self.given("value", name) {
                    self.names.globals.insert(&name.text, Global::Value(id));
                }
            }
            Some(step) => self.declare_in_step(step, name, id),
        }
        id
    }

    fn declare_in_step(&mut self, step: StepId, name: &'a ast::Name, id: ValueId) {
        let text = name.text.as_str();
        let earlier = self.names.scopes.get(step.0).and_then(|scope| scope.values.get(text)).copied();
        if let Some(earlier) = earlier {
            let first =
                self.names.declared.get(earlier.0).map(|declared| declared.name.span).unwrap_or_default();
            self.report(
                Problem::fault(
                    Code::NameTaken,
                    name.span,
                    format!("step {} has two values called `{text}`", self.step_name(step)),
                )
                .label("the second")
                .and(first, "the first")
                .help("give one of them another name"),
            );
            return;
        }
        if self.names.globals.contains_key(text) {
            let first = self.names.given.get(&("value", text)).copied().unwrap_or_default();
            self.report(
                Problem::fault(
                    Code::NameShadows,
                    name.span,
                    format!("`{text}` already names a value of the whole file"),
                )
                .label("the same name in a step")
                .and(first, "of the whole file")
                .help("give the one in the step a name of its own, so that nobody takes one for the other"),
            );
        }
        self.names.elsewhere.entry(text).or_insert((step, step)).1 = step;
        if let Some(scope) = self.names.scopes.get_mut(step.0) {
            scope.values.insert(text, id);
        }
    }

    /// The stations that are words, so that a pick of one is never taken for a value.
    fn station_words(&mut self, over: &'a ast::Over) {
        if let StationsOf::List(stations) = &over.stations.what {
            for station in stations {
                if let ast::Station::Word(word) = station {
                    self.names.station_words.insert(&word.text);
                }
            }
        }
    }

    fn declare_step(&mut self, step: StepId) {
        self.names.scopes.push(Scope::default());
        let lines = self.names.sources.get(step.0).map(|source| source.lines.clone()).unwrap_or_default();
        let mut judgements = 0;
        let mut tolerances = Vec::new();
        for (at, line) in lines.iter().enumerate() {
            match &line.what {
                StepLine::Read(read) => {
                    self.declare_value(&read.name, Some(step), at, What::Read(read));
                    for line in &read.lines {
                        if let ReadLine::Over(over) = &line.what {
                            self.station_words(over);
                        }
                    }
                }
                StepLine::Observe(observe) => {
                    self.declare_value(&observe.name, Some(step), at, What::Observe(observe));
                    for line in &observe.lines {
                        if let ObserveLine::Over(over) = &line.what {
                            self.station_words(over);
                        }
                    }
                }
                StepLine::Let(node) => {
                    self.declare_value(&node.name, Some(step), at, What::Let(node));
                }
                StepLine::Adjustment(node) => {
                    self.declare_value(&node.name, Some(step), at, What::Adjustment(node));
                    for line in &node.lines {
                        if let ast::AdjustmentLine::Over(over) = &line.what {
                            self.station_words(over);
                        }
                    }
                }
                StepLine::Tolerance(tolerance) => {
                    tolerances.push((JudgementId(judgements), tolerance));
                    judgements += 1;
                }
                StepLine::Require(_) => judgements += 1,
                _ => {}
            }
        }
        for (id, tolerance) in tolerances {
            self.declare_tolerance(step, id, tolerance);
        }
    }

    fn declare_tolerance(&mut self, step: StepId, id: JudgementId, tolerance: &'a ast::Tolerance) {
        let Some(scope) = self.names.scopes.get_mut(step.0) else { return };
        if let ast::ExprKind::Name(path) = &tolerance.result.what
            && let Some(value) = scope.values.get(path.name.text.as_str())
        {
            scope.judged.entry(*value).or_default().push(tolerance);
        }
        let Some((name, _)) = &tolerance.named else { return };
        let value = scope.values.get(name.text.as_str()).copied();
        let taken = scope.tolerances.insert(&name.text, (id, tolerance)).is_some();
        if value.is_some() || taken {
            let mut problem = Problem::fault(
                Code::NameTaken,
                name.span,
                format!(
                    "step {} already has a {} called `{}`",
                    self.step_name(step),
                    if taken { "tolerance" } else { "value" },
                    name.text
                ),
            )
            .label("a tolerance's own name differs from every result")
            .help("give the tolerance a name of its own");
            if let Some(declared) = value.and_then(|value| self.names.declared.get(value.0)) {
                problem = problem.and(declared.name.span, "the value");
            }
            self.report(problem);
        }
    }

    /// What stands at the top of the file, without its values and steps.
    pub(super) fn header(&mut self) -> Program {
        let file = self.file;
        let mut program = Program {
            language: LANGUAGE,
            is_library: false,
            title: String::new(),
            revision: None,
            scope: Vec::new(),
            basis: Vec::new(),
            notes: Vec::new(),
            decision: Decision::Simple,
            by_draws: false,
            parties: Vec::new(),
            facts: Vec::new(),
            values: Vec::new(),
            axes: Vec::new(),
            instruments: Vec::new(),
            tables: Vec::new(),
            sections: Vec::new(),
            steps: Vec::new(),
            crosschecks: Vec::new(),
            examples: Vec::new(),
            lent: Vec::new(),
        };
        let (mut title, mut decided, mut library) = (None, false, false);
        for line in &file.items {
            match &line.what {
                Item::Language(number) => self.language(number),
                Item::Procedure(text) => {
                    if let Some(first) = title.replace(line.span) {
                        self.report(
                            Problem::fault(
                                Code::NameTaken,
                                line.span,
                                "a file is one procedure, and this is a second title",
                            )
                            .and(first, "the first")
                            .help("put the second procedure into a file of its own"),
                        );
                    }
                    program.title = text.plain().unwrap_or_default();
                }
                Item::Library(text) => {
                    library = true;
                    program.title = text.plain().unwrap_or_default();
                }
                Item::Revision(text) => program.revision = text.plain(),
                Item::Scope(text) => program.scope.extend(self.text(text, None, super::texts::When::Header)),
                Item::Basis(text) => program.basis.extend(self.text(text, None, super::texts::When::Header)),
                Item::Note(text) => program.notes.extend(self.text(text, None, super::texts::When::Header)),
                Item::Decide(decide) => {
                    decided = true;
                    program.decision = self.decision(decide, line.span);
                    program.by_draws = decide.by_draws;
                }
                Item::Party { name, who } => {
                    if let Some(who) = self.text(who, None, super::texts::When::Header) {
                        program.parties.push(Party { name: name.text.clone(), who });
                    }
                }
                Item::Section(node) => {
                    if let Some(title) = self.text(&node.title, None, super::texts::When::Header) {
                        program.sections.push(Section {
                            name: node.name.text.clone(),
                            title,
                            any_order: node.any_order,
                        });
                    }
                }
                _ => {}
            }
        }
        program.is_library = library && title.is_none();
        let top = Span::new(0, 0);
        match title {
            None if !library && file.broken.is_empty() && !file.items.is_empty() => self.report(
                Problem::fault(Code::FlowNoTitle, top, "the file does not say which procedure it is")
                    .help("begin it with: procedure \"what it proves\""),
            ),
            Some(span) if !decided && file.broken.is_empty() => self.no_decision(span),
            _ => {}
        }
        if title.is_some() && self.names.sources.is_empty() && file.broken.is_empty() {
            self.report(
                Problem::fault(Code::FlowNothingToDo, title.unwrap_or(top), "the procedure has no step")
                    .help(
                        "add at least one: step NAME \"what is tested\", with a `read` or an `observe` in it",
                    ),
            );
        }
        program
    }

    /// A file in a later version of the language is not guessed at.
    pub(super) fn language(&mut self, number: &ast::Number) {
        let Some(version) = self.whole(number, 1, "the language") else { return };
        if version > LANGUAGE {
            self.report(
                Problem::fault(
                    Code::FlowNewerLanguage,
                    number.span,
                    format!("the file is written in version {version} of the language; this program knows {LANGUAGE}"),
                )
                .help("use a newer bedway to check and walk it"),
            );
        }
    }

    fn no_decision(&mut self, title: Span) {
        let mut problem = Problem::fault(
            Code::FlowNoDecision,
            title,
            "the procedure does not say how a value is judged against a limit",
        )
        .help("add a line below it: decide simple");
        let taken = self.names.sources.iter().find_map(|source| {
            let decide = source.lines.iter().find(|line| matches!(line.what, StepLine::Decide(_)))?;
            Some((decide.span, source.node.name.text.as_str()))
        });
        if let Some((span, step)) = taken {
            problem = problem.and(span, format!("this one speaks for step {step} alone"));
        }
        self.report(problem);
    }

    pub(super) fn lower_crosschecks(&mut self) -> Vec<Crosscheck> {
        let file = self.file;
        let mut all = Vec::new();
        for line in &file.items {
            if let Item::Crosscheck(node) = &line.what
                && let Some(crosscheck) = self.crosscheck(node, line.span)
            {
                all.push(crosscheck);
            }
        }
        all
    }
}
