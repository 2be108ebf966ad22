//! What is written into a form: one answer or a layout of them, with its unit and what its sign means.

use crate::check::program::{
    AxisId, Expr, Item, Kind, Role, StationPick, Stations as Plan, StepId, Value, ValueId,
};
use crate::quantity::Unit;
use crate::walk::directory::{only_when, series_of};
use crate::walk::eval::Evaluator;
use crate::walk::state::State;
use crate::walk::value::{Cell, Scalar};
use crate::walk::view::View;
use crate::walk::{spoken, text, times};

use super::Blank;

/// Rows of a series beyond this many are not printed.
const MOST_ROWS: u64 = 60;
/// Lines for things that are named on the spot.
const LISTED: usize = 8;
/// Stations whose number hangs on a fact that is not given: so many at most get a box.
const MOST_OPEN: usize = 40;

/// What is to be written down.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    Number {
        unit: String,
    },
    Count,
    YesNo,
    Words(Vec<String>),
    Date,
    Text,
    Photo,
    /// A list: what is found, in words.
    Findings,
}

impl Answer {
    pub(super) fn of(value: &Value) -> Self {
        match &value.kind {
            Kind::Quantity(_) | Kind::Point | Kind::Arrow(_) => {
                let unit = value.unit.filter(|unit| *unit != Unit::One);
                Answer::Number { unit: unit.map(|unit| unit.symbol().to_owned()).unwrap_or_default() }
            }
            Kind::Count => Answer::Count,
            Kind::YesNo => Answer::YesNo,
            Kind::Choice(words) => Answer::Words(words.iter().map(|word| spoken(word)).collect()),
            Kind::Date => Answer::Date,
            Kind::Text => Answer::Text,
            Kind::Photo => Answer::Photo,
        }
    }
}

/// A reading, an observation, an adjustment or a list of findings.
#[derive(Clone, Debug)]
pub struct ItemForm {
    pub name: String,
    pub label: String,
    pub answer: Answer,
    /// Plus, minus.
    pub sense: Option<(String, String)>,
    /// Where they mean something else: station, plus, minus.
    pub own_senses: Vec<(String, String, String)>,
    pub usual: Option<String>,
    /// Condition under which it is asked, where it is not known yet.
    pub only_when: Option<String>,
    pub not_read_allowed: bool,
    pub open_ended_allowed: bool,
    /// Outermost first; the last runs fastest.
    pub axes: Vec<AxisForm>,
    pub series: Option<SeriesForm>,
}

#[derive(Clone, Debug)]
pub struct AxisForm {
    pub name: String,
    pub stations: Vec<StationForm>,
    /// How its stations are laid out, as written, where that hangs on something not known.
    pub laid_out: Option<String>,
    /// Stations that belong together, in order: the lines of a survey. Empty where there are none.
    pub groups: Vec<Group>,
}

/// A line of a survey: its name and how many feet it has.
#[derive(Clone, Debug)]
pub struct Group {
    pub name: String,
    pub count: usize,
}

#[derive(Clone, Debug)]
pub enum StationForm {
    Named(String),
    /// What it comes to is not known yet: in brackets.
    Written(String),
    /// To be filled in on the spot.
    Blank,
    /// May be left empty.
    IfWanted(String),
}

#[derive(Clone, Debug)]
pub struct SeriesForm {
    pub every: String,
    pub at_most: String,
    pub at_most_seconds: u64,
    pub until: Option<String>,
    /// Times at which rows are due, from the start.
    pub due: Vec<String>,
    /// There are more rows than are printed.
    pub more: bool,
    /// Asked in each row.
    pub with: Vec<ItemForm>,
}

impl Blank<'_> {
    pub(super) fn items(&self, step: StepId) -> Vec<ItemForm> {
        let definition = &self.program.steps[step.0];
        let mut forms = Vec::new();
        for item in &definition.items {
            match item {
                Item::Reading(value) | Item::Observation(value) => {
                    let in_row =
                        series_of(self.program, *value).is_some_and(|(reading, _)| reading != *value);
                    let left_out =
                        only_when(self.program, *value).and_then(|it| self.truth(it)) == Some(false);
                    if !in_row && !left_out {
                        forms.push(self.item(step, *value));
                    }
                }
                Item::Defects(words) => forms.push(ItemForm {
                    name: String::new(),
                    label: self.say(words, Some(step)),
                    answer: Answer::Findings,
                    sense: None,
                    own_senses: Vec::new(),
                    usual: None,
                    only_when: None,
                    not_read_allowed: false,
                    open_ended_allowed: false,
                    axes: Vec::new(),
                    series: None,
                }),
            }
        }
        forms
    }

    pub(super) fn item(&self, step: StepId, id: ValueId) -> ItemForm {
        let value = &self.program.values[id.0];
        let pair = |sense: &crate::quantity::Sense| (sense.plus.clone(), sense.minus.clone());
        let reading = match &value.role {
            Role::Reading(reading) => Some(reading),
            _ => None,
        };
        let series = series_of(self.program, id).filter(|(reading, _)| *reading == id);
        let condition = only_when(self.program, id).filter(|condition| self.truth(condition).is_none());
        let own = value.station_senses.iter().map(|(axis, pick, sense)| {
            let (plus, minus) = pair(sense);
            (self.picked(*axis, pick), plus, minus)
        });
        ItemForm {
            name: value.name.clone(),
            label: self.say(&value.label, Some(step)),
            answer: Answer::of(value),
            sense: value.sense.as_ref().map(pair),
            own_senses: own.collect(),
            usual: reading.and_then(|it| it.usual.as_ref()).map(|(from, to)| {
                format!("{} to {}", self.quantity(from, value.unit), self.quantity(to, value.unit))
            }),
            only_when: condition.map(|condition| self.spelled(condition, Some(step))),
            not_read_allowed: reading.is_some_and(|it| it.not_read_allowed),
            open_ended_allowed: reading.is_some_and(|it| it.open_ended_allowed),
            axes: value
                .axes
                .iter()
                .filter(|axis| !matches!(self.program.axes[axis.0].stations, Plan::Time { .. }))
                .map(|axis| self.axis(*axis))
                .collect(),
            series: series.map(|(_, series)| {
                let rows = (&series.at_most / &series.every).floor().to_integer();
                let rows = u64::try_from(rows).unwrap_or(u64::MAX);
                let due = |row: u64| {
                    times::name(&(&series.every * crate::quantity::Rational::from_integer(row.into())))
                };
                SeriesForm {
                    every: times::name(&series.every),
                    at_most: times::name(&series.at_most),
                    at_most_seconds: u64::try_from(series.at_most.to_integer()).unwrap_or(u64::MAX),
                    until: series.until.as_ref().map(|until| self.spelled(until, Some(step))),
                    due: (0..=rows.min(MOST_ROWS)).map(due).collect(),
                    more: rows > MOST_ROWS,
                    with: series.with.iter().map(|value| self.item(step, *value)).collect(),
                }
            }),
        }
    }

    /// A quantity as it is known, else as written.
    fn quantity(&self, expr: &Expr, unit: Option<Unit>) -> String {
        let view = self.view();
        let cell = Evaluator::new(self.program, &view).single(expr);
        match cell.is_known() {
            true => text::cell(&cell, unit),
            false => self.unknown(expr, None),
        }
    }

    fn picked(&self, axis: AxisId, pick: &StationPick) -> String {
        let name = spoken(&self.program.axes[axis.0].name);
        match pick {
            StationPick::Word(word) => format!("{name} {}", spoken(word)),
            StationPick::Value(expr) => format!("{name} {}", self.quantity(expr, None)),
        }
    }

    fn axis(&self, id: AxisId) -> AxisForm {
        let axis = &self.program.axes[id.0];
        let view = self.view();
        let found = Evaluator::new(self.program, &view).stations(id);
        let named = |name: &str| StationForm::Named(name.to_owned());
        let mut laid_out = None;
        let mut groups = Vec::new();
        let mut stations: Vec<StationForm> = match (&axis.stations, found) {
            (Plan::Repeat { least, most }, _) => {
                let station = |number: u32| match number > *least {
                    true => StationForm::IfWanted(number.to_string()),
                    false => named(&number.to_string()),
                };
                (1..=*most).map(station).collect()
            }
            (Plan::Survey(survey), Ok(found)) => {
                groups = survey.lines().map(|(name, count)| Group { name: name.to_owned(), count }).collect();
                found.stations.iter().map(|it| named(&it.name)).collect()
            }
            (_, Ok(found)) => found.open().iter().map(|it| named(&it.name)).collect(),
            (Plan::Listed { question }, Err(_)) => {
                laid_out = Some(self.say(question, None));
                vec![StationForm::Blank; LISTED]
            }
            (Plan::Values { values, unit }, Err(_)) => values
                .iter()
                .map(|value| {
                    let cell = Evaluator::new(self.program, &view).single(value);
                    match cell.as_number() {
                        Some(number) => named(&text::name(number, *unit)),
                        None => StationForm::Written(self.unknown(value, None)),
                    }
                })
                .collect(),
            (
                Plan::Range { from, to, step, up_to, unit } | Plan::Stepped { from, to, step, up_to, unit },
                Err(_),
            ) => {
                let [from, to, by] = [from, to, step].map(|expr| self.quantity(expr, Some(*unit)));
                let stepped = matches!(axis.stations, Plan::Stepped { .. });
                let to_word = if *up_to { "up to" } else { "to" };
                let by_word = if stepped { "stepped by" } else { "by" };
                laid_out = Some(format!("{from} {to_word} {to} {by_word} {by}"));
                let most = self.most_stations(id).unwrap_or(LISTED);
                vec![StationForm::Blank; most.min(MOST_OPEN)]
            }
            (_, Err(_)) => vec![StationForm::Blank],
        };
        if axis.closing {
            let first = match stations.first() {
                Some(StationForm::Named(name) | StationForm::Written(name)) => name.clone(),
                _ => "first".to_owned(),
            };
            stations.push(named(&format!("{first} again")));
        }
        AxisForm { name: spoken(&axis.name), stations, laid_out, groups }
    }

    /// How many stations there are at most: with every fact that is not known at the upper end of what it may be.
    fn most_stations(&self, axis: AxisId) -> Option<usize> {
        let mut state: State = self.state.clone();
        for fact in &self.program.facts {
            let given = state.facts.contains_key(fact);
            if let Some((_, to)) = self.machine.bounds_of(*fact).filter(|_| !given) {
                let answer = crate::walk::event::Answer {
                    typed: String::new(),
                    unit: None,
                    value: String::new(),
                    sha256: None,
                };
                let cell = Cell::Known(Scalar::Number(to));
                state
                    .facts
                    .insert(*fact, crate::walk::state::Answered { cell, answer, sequence: 0, part: 0 });
            }
        }
        let view = View::latest(self.program, &state);
        let found = Evaluator::new(self.program, &view).stations(axis).ok()?;
        Some(found.open().len())
    }
}

impl StationForm {
    /// Its name; of a blank one nothing.
    pub fn words(&self) -> String {
        match self {
            StationForm::Named(name) => spoken(name),
            StationForm::Written(name) => name.clone(),
            StationForm::IfWanted(name) => format!("({name})"),
            StationForm::Blank => String::new(),
        }
    }
}
