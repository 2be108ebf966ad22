//! Small programs built by hand, for the tests of this module: one step `S`, readings in mm, entries as bare numbers.

use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::*;
use crate::quantity::{Dimension, Rational, Real, Unit, parse_decimal};
use crate::source::Span;

use super::scope::{Scope, Taken};
use super::value::{Cell, Laid, Scalar};

pub(super) const STEP: StepId = StepId(0);

pub(super) struct Bench {
    pub program: Program,
    pub entries: HashMap<ValueId, Entered>,
    pub listed: HashMap<AxisId, Vec<Rc<str>>>,
    pub previous: HashMap<ValueId, Cell>,
}

#[derive(Clone)]
pub(super) enum Entered {
    /// Over the axes of the value as they are laid out; shorter rows are a part.
    Cells(Vec<Cell>),
    Laid(Laid),
}

pub(super) fn real(text: &str) -> Real {
    match text.split_once('/') {
        Some((over, under)) => real(over).div(&real(under)).unwrap(),
        None => Real::Exact(parse_decimal(text).unwrap()),
    }
}

pub(super) fn exact(text: &str) -> Rational {
    real(text).middle()
}

/// `1.5`, `over 200`, `below 3`, `-` (awaited), `x` (not read), or a word.
pub(super) fn cell(text: &str) -> Cell {
    match text.split_once(' ') {
        Some(("over", bound)) => Cell::OpenEnded { bound: real(bound), above: true },
        Some(("below", bound)) => Cell::OpenEnded { bound: real(bound), above: false },
        _ => match text {
            "-" => Cell::Awaited,
            "x" => Cell::NotRead("behind the wall".into()),
            "yes" | "no" => Cell::yes_no(text == "yes"),
            _ => match parse_decimal(text) {
                Some(number) => Cell::number(Real::Exact(number)),
                None => Cell::Known(Scalar::Word(text.into())),
            },
        },
    }
}

pub(super) fn cells(row: &str) -> Vec<Cell> {
    row.split(", ").map(cell).collect()
}

pub(super) fn expr(node: Node) -> Expr {
    expr_of(node, Kind::Quantity(Dimension::LENGTH))
}

pub(super) fn expr_of(node: Node, kind: Kind) -> Expr {
    Expr { node, kind, axes: Vec::new(), sense: None, span: Span::default() }
}

pub(super) fn condition(node: Node) -> Expr {
    expr_of(node, Kind::YesNo)
}

pub(super) fn number(text: &str) -> Expr {
    expr(Node::Number(exact(text)))
}

pub(super) fn named(id: ValueId) -> Expr {
    expr(Node::Value(id))
}

pub(super) fn call(function: Function, of: Expr, over: &[AxisId], by: Option<By>) -> Expr {
    expr(Node::Call { function, arguments: vec![of], over: over.to_vec(), by })
}

pub(super) fn rule(test: Test) -> Rule {
    Rule { test, per: None, floor: None, cap: None, window: None, span: Span::default() }
}

pub(super) fn at_most(limit: &str) -> Rule {
    rule(Test::AtMost(number(limit)))
}

pub(super) fn from_to(from: &str, to: &str) -> Rule {
    rule(Test::FromTo(number(from), number(to)))
}

pub(super) fn meets(of: Expr, rule: Rule) -> Expr {
    condition(Node::Meets(Box::new(of), Box::new(rule)))
}

/// Rows of one group; the facts that they hang on, and a limit.
pub(super) fn row(group: usize, when: Option<Expr>, reach: Reach, value: &str) -> Row {
    Row { when, group, reach, values: vec![number(value)], span: Span::default() }
}

impl Bench {
    pub fn new() -> Self {
        let step = Step {
            name: "S".into(),
            title: Text::plain("a step"),
            section: None,
            repeats: None,
            basis: vec![],
            setup: vec![],
            cautions: vec![],
            conditions: vec![],
            notes: vec![],
            confirms: vec![],
            powered: false,
            by: vec![],
            only_when: None,
            needs: vec![],
            keeps: vec![],
            unsettles: vec![],
            tries: None,
            optional: false,
            holds: vec![],
            waits: vec![],
            items: vec![],
            lets: vec![],
            adjustments: vec![],
            remedies: vec![],
            valid: vec![],
            judgements: vec![],
            reports: vec![],
            stops: vec![],
            decision: Decision::Simple,
            by_draws: false,
            set_up: vec![],
            uses: vec![],
            span: Span::default(),
        };
        let program = Program {
            language: 1,
            is_library: false,
            title: "a procedure".into(),
            revision: None,
            scope: vec![],
            basis: vec![],
            notes: vec![],
            decision: Decision::Simple,
            by_draws: false,
            parties: vec![],
            facts: vec![],
            values: vec![],
            axes: vec![],
            instruments: vec![Instrument {
                name: "dial".into(),
                title: Text::plain("dial"),
                resolution: Some(Literal { number: exact("0.001"), unit: Unit::Mm }),
                scale: None,
                range: None,
                uncertainties: vec![],
                span: Span::default(),
            }],
            tables: vec![],
            sections: vec![],
            steps: vec![step],
            crosschecks: vec![],
            examples: vec![],
            lent: vec![],
        };
        Self { program, entries: HashMap::new(), listed: HashMap::new(), previous: HashMap::new() }
    }

    pub fn axis(&mut self, name: &str, stations: Stations) -> AxisId {
        self.program.axes.push(Axis {
            name: name.into(),
            label: Text::plain(name),
            dimension: None,
            stations,
            closing: false,
            pair: None,
            rise: None,
            span: Span::default(),
        });
        AxisId(self.program.axes.len() - 1)
    }

    pub fn words(&mut self, name: &str, words: &[&str]) -> AxisId {
        self.axis(name, Stations::Words(words.iter().map(|word| (*word).to_string()).collect()))
    }

    /// Places in mm.
    pub fn places(&mut self, name: &str, places: &[&str]) -> AxisId {
        let values = places.iter().map(|place| number(place)).collect();
        self.axis(name, Stations::Values { values, unit: Unit::Mm })
    }

    pub fn range(&mut self, name: &str, from: &str, to: &str, step: &str, up_to: bool) -> AxisId {
        let (from, to, step) = (number(from), number(to), number(step));
        self.axis(name, Stations::Range { from, to, step, up_to, unit: Unit::Mm })
    }

    fn value(&mut self, name: &str, step: Option<StepId>, axes: &[AxisId], role: Role) -> ValueId {
        self.program.values.push(Value {
            name: name.into(),
            step,
            label: Text::plain(name),
            kind: Kind::Quantity(Dimension::LENGTH),
            axes: axes.to_vec(),
            unit: Some(Unit::Mm),
            sense: None,
            station_senses: vec![],
            role,
            projection: false,
            span: Span::default(),
        });
        ValueId(self.program.values.len() - 1)
    }

    pub fn fact(&mut self, name: &str, entered: &str) -> ValueId {
        let id = self.value(name, None, &[], Role::Fact { bounds: None });
        self.enter(id, entered);
        id
    }

    pub fn reading(&mut self, name: &str, axes: &[AxisId]) -> ValueId {
        let reading = Reading {
            instruments: vec![InstrumentId(0)],
            usual: None,
            remeasure: Remeasure::Latest,
            not_read_allowed: true,
            open_ended_allowed: true,
            join: None,
            series: None,
            only_when: None,
        };
        let id = self.value(name, Some(STEP), axes, Role::Reading(Box::new(reading)));
        self.step().items.push(Item::Reading(id));
        id
    }

    pub fn observation(&mut self, name: &str, axes: &[AxisId], only_when: Option<Expr>) -> ValueId {
        let id = self.value(name, Some(STEP), axes, Role::Observation { bounds: None, only_when });
        self.step().items.push(Item::Observation(id));
        id
    }

    pub fn result(&mut self, name: &str, of: Expr) -> ValueId {
        let kind = of.kind.clone();
        let id = self.value(name, Some(STEP), &[], Role::Let(of));
        self.program.values[id.0].kind = kind;
        self.step().lets.push(id);
        id
    }

    pub fn tolerance(&mut self, value: ValueId, over: Over, rule: Rule) -> JudgementId {
        self.judgement(Judged::Tolerance { value, named: false, over, rule: Box::new(rule) })
    }

    pub fn judgement(&mut self, of: Judged) -> JudgementId {
        let judgements = &mut self.step().judgements;
        judgements.push(Judgement {
            name: "judged".into(),
            label: None,
            of,
            when: None,
            span: Span::default(),
        });
        JudgementId(judgements.len() - 1)
    }

    pub fn table(&mut self, rows: Vec<Row>) -> TableId {
        self.program.tables.push(Table {
            name: "limit".into(),
            title: Text::plain("limit"),
            over: Some(Unit::Mm),
            columns: vec!["limit".into()],
            kind: Kind::Quantity(Dimension::LENGTH),
            rows,
            span: Span::default(),
        });
        TableId(self.program.tables.len() - 1)
    }

    pub fn step(&mut self) -> &mut Step {
        &mut self.program.steps[0]
    }

    pub fn enter(&mut self, id: ValueId, row: &str) {
        self.entries.insert(id, Entered::Cells(cells(row)));
    }

    pub fn evaluator(&self) -> super::eval::Evaluator<'_> {
        super::eval::Evaluator::new(&self.program, self)
    }

    pub fn judge(&self) -> super::verdict::StepResults {
        use super::uncertainty::{Effort, Kept};
        let effort = Effort::Decided;
        super::judge::judge(&self.program, STEP, self, effort, &Kept::default())
    }

    /// The cells of an expression as they stand on the record, in mm.
    pub fn shows(&self, of: &Expr) -> String {
        let laid = self.evaluator().expr(of);
        laid.cells.iter().map(|cell| super::text::record_text(cell, None)).collect::<Vec<_>>().join(", ")
    }
}

impl Scope for Bench {
    fn entered(&self, id: ValueId) -> Option<Laid> {
        match self.entries.get(&id)? {
            Entered::Laid(laid) => Some(laid.clone()),
            Entered::Cells(row) => {
                let axes = self.evaluator().layout(&self.program.values[id.0].axes).ok()?;
                let mut laid = Laid::filled(axes, Cell::Awaited);
                assert!(row.len() <= laid.cells.len(), "more entries than stations");
                laid.cells.splice(..row.len(), row.iter().cloned());
                Some(laid)
            }
        }
    }

    fn listed(&self, axis: AxisId) -> Option<Vec<Rc<str>>> {
        self.listed.get(&axis).cloned()
    }

    fn taken(&self, _: ValueId) -> Vec<Taken> {
        vec![Taken::default()]
    }

    fn previous(&self, result: ValueId) -> Option<Laid> {
        self.previous.get(&result).cloned().map(Laid::single)
    }

    fn failed(&self, _: StepId, _: JudgementId) -> Option<bool> {
        None
    }
}
