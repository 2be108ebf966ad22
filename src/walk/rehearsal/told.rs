//! What a rehearsal types because the example says so.
//!
//! An example goes from step to step as it likes and is silent about people, set-ups and confirmations; a walk asks for
//! them in their order. So each line waits until the walk has come to where it belongs, and where the walk asks for a
//! step of which the example speaks only later, it is told to turn to the one that comes first there.

use crate::check::program::{Act, Expect, Kind, StepId, ValueId};
use crate::quantity::ratio;

use super::super::ask::Ask;
use super::super::examples::step_of;
use super::super::machine::{Dialog, Machine};
use super::Player;

/// What comes of the line of the example that is next.
enum Told {
    /// It is typed.
    Types(String),
    /// It asks for nothing of its own here.
    Passed,
    /// The walk has to come to it first.
    Waits,
}

impl Player {
    pub(super) fn dialog_answer(&mut self, machine: &Machine, dialog: &Dialog) -> String {
        while matches!(self.lines.get(self.at), Some((Act::Expect(_), _))) {
            self.at += 1;
        }
        let next = self.lines.get(self.at).cloned();
        match (dialog, next) {
            (Dialog::Take(pending), Some((act, words))) if !pending.queries.is_empty() => match act {
                Act::Keep(_) => self.typed(words),
                Act::Type { text, .. } => self.typed(text),
                Act::Enter { value, entries, .. } if value == pending.value && !pending.again => {
                    self.typed(entries.join(", "))
                }
                _ => "yes".to_owned(),
            },
            (Dialog::OtherMachine { .. }, Some((Act::Keep(_), words))) => self.typed(words),
            (Dialog::Take(_) | Dialog::OtherMachine { .. }, _) => "yes".to_owned(),
            (Dialog::Party { party, .. }, _) => {
                format!("Rehearsal {}", machine.program().parties[party.0].name)
            }
            (Dialog::Altered { .. }, _) => "nothing".to_owned(),
            (Dialog::Correct(_) | Dialog::PutRight(_), _) => "back".to_owned(),
            (Dialog::Which(_), _) => String::new(),
            (Dialog::Reason(_), _) => "left out of the rehearsal".to_owned(),
        }
    }

    /// What the line of the example that is next types, which is over with that.
    fn typed(&mut self, text: String) -> String {
        self.at += 1;
        text
    }

    pub(super) fn example_types(&mut self, machine: &Machine, ask: &Ask) -> Option<String> {
        // What is asked once, before the first step.
        if matches!(ask, Ask::Operator | Ask::Fact(_)) {
            return None;
        }
        loop {
            let (act, words) = self.lines.get(self.at)?.clone();
            match self.line(machine, ask, &act, &words) {
                Told::Types(text) => return Some(text),
                Told::Passed => self.at += 1,
                Told::Waits => return None,
            }
        }
    }

    fn line(&mut self, machine: &Machine, ask: &Ask, act: &Act, words: &str) -> Told {
        match act {
            Act::Expect(_) | Act::Given(_) | Act::PreviousValue(..) => Told::Passed,
            Act::Day(day) => {
                self.day = Some(*day);
                Told::Passed
            }
            Act::Type { value, text } => match ask {
                Ask::Entry { value: asked, .. } if value.is_none_or(|value| value == *asked) => {
                    Told::Types(self.typed(text.clone()))
                }
                Ask::List(..) | Ask::Again { .. } | Ask::Defects(_) | Ask::AfterStep(_) | Ask::Nothing
                    if value.is_none() =>
                {
                    Told::Types(self.typed(text.clone()))
                }
                _ => self.elsewhere(machine, ask, act, words),
            },
            Act::Held { step, by } => match ask {
                Ask::Hold(asked, _) if asked == step => {
                    let name = machine.party_name(*by);
                    let name =
                        name.unwrap_or_else(|| format!("Rehearsal {}", machine.program().parties[by.0].name));
                    Told::Types(self.typed(name))
                }
                _ => Told::Passed,
            },
            Act::Confirm { step, answer } => match ask {
                Ask::Confirm(asked, _) if asked == step => {
                    Told::Types(self.typed(if *answer { "yes" } else { "no" }.to_owned()))
                }
                // What an example confirms once stands for all that the step asks to be confirmed.
                _ if *answer => Told::Passed,
                _ => self.elsewhere(machine, ask, act, words),
            },
            Act::Defects { step, done } => match ask {
                Ask::Defects(asked) if asked == step && *done => Told::Types(self.typed("done".to_owned())),
                _ => Told::Passed,
            },
            Act::Defect { text, photo } if matches!(ask, Ask::Defects(_)) => {
                let text = match photo {
                    Some(photo) => format!("\"{text}\" photo \"{photo}\""),
                    None => text.clone(),
                };
                Told::Types(self.typed(text))
            }
            Act::End(value) => self.end(machine, ask, *value),
            Act::List { axis, items, .. } => match ask {
                Ask::List(_, asked) if asked == axis => Told::Types(self.typed(items.join(", "))),
                _ => self.elsewhere(machine, ask, act, words),
            },
            Act::Enter { value, picks, at, entries } if picks.is_empty() => {
                let is_asked = match ask {
                    Ask::Entry { value: asked, .. } => asked == value,
                    Ask::Due(_, reading, _) => reading == value,
                    _ => false,
                };
                if !is_asked {
                    // A row of which the rest is not asked any more: a stop fired in the middle of it.
                    if !self.rows.is_empty() {
                        self.rows.clear();
                        return Told::Passed;
                    }
                    return self.elsewhere(machine, ask, act, words);
                }
                if self.rows.is_empty() && machine.comes_later(*value, at.as_ref()) {
                    self.until = at.clone();
                    // The clock is put forward, and the row asked for when it has come.
                    if matches!(ask, Ask::Due(..)) {
                        return Told::Types(String::new());
                    }
                }
                Told::Types(self.row(machine, *value, entries))
            }
            Act::Enter { .. } => self.elsewhere(machine, ask, act, words),
            Act::Take(step) if ask.step() == Some(*step) || machine.ask_in(*step).is_none() => Told::Passed,
            // That all defects are noted an example need not say.
            _ if matches!(ask, Ask::Defects(_))
                && !self.comes_to(machine, ask)
                && self.is_over(machine, ask, act) =>
            {
                Told::Waits
            }
            _ => Told::Types(self.command_of_example(machine, words)),
        }
    }

    /// The next row of an `enter` line, as it is typed.
    fn row(&mut self, machine: &Machine, value: ValueId, entries: &[String]) -> String {
        if self.rows.is_empty() {
            let is_text = matches!(machine.program().values[value.0].kind, Kind::Text | Kind::Photo);
            self.rows = match is_text {
                true => entries.iter().filter(|it| *it != ";").map(|it| vec![it.clone()]).collect(),
                false => entries.split(|it| it == ";").map(<[String]>::to_vec).collect(),
            };
            self.rows.reverse();
        }
        let row = self.rows.pop().unwrap_or_default();
        if self.rows.is_empty() {
            self.at += 1;
        }
        row.join(", ")
    }

    /// No further row or repeat comes: the clock is put behind the time of the series, or Enter ends the repeats.
    fn end(&mut self, machine: &Machine, ask: &Ask, value: ValueId) -> Told {
        match ask {
            Ask::Over(_, reading) if *reading == value => Told::Types(self.typed(String::new())),
            Ask::Due(_, reading, _) if *reading == value => {
                let series = machine.series(value).map(|(_, series)| series);
                self.until = series.map(|series| &series.at_most + &series.every * ratio(1, 2));
                Told::Types(String::new())
            }
            Ask::Entry { step, value: asked, cell } if *asked == value => {
                let sheet = machine.sheet(*step, value);
                match sheet.is_ok_and(|sheet| machine.may_end(value, &sheet, *cell)) {
                    true => Told::Types(self.typed(String::new())),
                    false => Told::Waits,
                }
            }
            _ => Told::Passed,
        }
    }

    fn command_of_example(&mut self, machine: &Machine, words: &str) -> String {
        let words = self.command(machine, words);
        self.typed(words)
    }

    /// A line that speaks of another question than the one that stands.
    fn elsewhere(&mut self, machine: &Machine, ask: &Ask, act: &Act, words: &str) -> Told {
        let Some(step) = step_of(machine.program(), act) else { return Told::Waits };
        let is_asked = ask.step() == Some(step);
        let is_prepared = machine.ask_before(step).is_none() || machine.state().refused.contains_key(&step);
        // What the example shows to be refused is typed, to be refused.
        if self.is_refused() && (is_prepared || !is_asked) {
            return Told::Types(self.command_of_example(machine, words));
        }
        match ask {
            Ask::Nothing => Told::Types(self.command_of_example(machine, words)),
            Ask::AfterStep(_) | Ask::Repeat(_) => Told::Waits,
            // The same step, where another line speaks of what is asked.
            _ if is_asked && is_prepared && self.comes_to(machine, ask) => {
                Told::Types(self.command_of_example(machine, words))
            }
            _ if is_asked => Told::Waits,
            _ if self.turned_for == Some(self.at) => match is_prepared {
                true => Told::Types(self.command_of_example(machine, words)),
                false => Told::Waits,
            },
            _ if matches!(ask, Ask::Due(..)) || self.speaks_later_of(machine, ask.step()) => {
                self.turned_for = Some(self.at);
                let words = format!("take {}", machine.program().steps[step.0].name);
                Told::Types(self.command(machine, &words))
            }
            _ => Told::Waits,
        }
    }

    fn is_refused(&self) -> bool {
        matches!(self.lines.get(self.at + 1), Some((Act::Expect(Expect::Refused), _)))
    }

    /// Whether the example still says what is asked.
    fn comes_to(&self, machine: &Machine, ask: &Ask) -> bool {
        self.lines.iter().skip(self.at).any(|(act, _)| match (act, ask) {
            (Act::Enter { value, .. }, Ask::Entry { value: asked, .. }) => value == asked,
            (Act::Enter { value, .. }, Ask::List(_, axis)) => {
                machine.program().values[value.0].axes.contains(axis)
            }
            (Act::List { axis, .. }, Ask::List(_, asked)) => axis == asked,
            (Act::Defects { step, done: true }, Ask::Defects(asked)) => step == asked,
            _ => false,
        })
    }

    /// Whether the example goes on with the step that asks, or is done with it.
    fn is_over(&self, machine: &Machine, ask: &Ask, act: &Act) -> bool {
        step_of(machine.program(), act) == ask.step() || !self.speaks_later_of(machine, ask.step())
    }

    fn speaks_later_of(&self, machine: &Machine, step: Option<StepId>) -> bool {
        let acts = self.lines.iter().skip(self.at).map(|(act, _)| act);
        step.is_some() && acts.into_iter().any(|act| step_of(machine.program(), act) == step)
    }

    /// Whether the example still takes this step again by itself.
    pub(super) fn comes_again(&self, step: StepId) -> bool {
        self.lines.iter().skip(self.at).any(|(act, _)| matches!(act, Act::Again(again) if *again == step))
    }
}
