//! Lines of examples, which are also what is typed at the prompt.

use pest::iterators::Pair;

use super::ast::*;
use super::cursor::{Cursor, Lowered, span};
use super::grammar::{Rule, unreadable};
use super::lower::{lower_quantity, name};
use super::text::lower_string;
use crate::diagnostic::{Code, Problem};

impl Cursor<'_> {
    fn target(&mut self) -> Lowered<Target> {
        let mut parts = Cursor::new(self.expect(Rule::target)?, self.base());
        Ok(Target { span: parts.span(), path: parts.path()?, picks: parts.picks()? })
    }

    fn at_time(&mut self) -> Lowered<Option<Quantity>> {
        self.quantity_of(Rule::at_time)
    }

    fn rows(&mut self) -> Lowered<Rows> {
        self.maybe_rows()?.ok_or_else(|| unreadable(self.span()))
    }

    fn maybe_rows(&mut self) -> Lowered<Option<Rows>> {
        let base = self.base();
        let Some(pair) = self.maybe(Rule::rows) else { return Ok(None) };
        let mut cursor = Cursor::new(pair, base);
        let rows =
            cursor.all(Rule::row).into_iter().map(|row| lower_row(row, base)).collect::<Lowered<_>>()?;
        Ok(Some(Rows { span: cursor.span(), rows }))
    }

    fn within(&mut self) -> Lowered<Option<Quantity>> {
        let base = self.base();
        self.maybe(Rule::quantity).map(|pair| lower_quantity(pair, base)).transpose()
    }

    fn truth(&mut self) -> Lowered<bool> {
        Ok(self.expect(Rule::truth)?.as_str().trim_end() == "yes")
    }

    pub fn given(mut self) -> Lowered<ExampleLine> {
        let base = self.base();
        let mut given = Vec::new();
        for pair in self.all(Rule::assignment) {
            let mut parts = Cursor::new(pair, base);
            given.push((parts.name()?, lower_answer(parts.expect(Rule::answer)?, base)?));
        }
        Ok(ExampleLine::Given(given))
    }

    pub fn previous(mut self) -> Lowered<ExampleLine> {
        let (target, rows, base) = (self.target()?, self.rows()?, self.base());
        let known = self.maybe(Rule::row).map(|row| lower_row(row, base)).transpose()?;
        Ok(ExampleLine::Previous(target, rows, known.unwrap_or_default()))
    }

    pub fn using(mut self) -> Lowered<ExampleLine> {
        let (instrument, base) = (self.name()?, self.base());
        let number = self.maybe(Rule::string).map(|pair| lower_string(&pair, base)).transpose()?;
        let calibrated = self.maybe(Rule::calibrated_of).map(|pair| Cursor::new(pair, base).date());
        let properties = self.all(Rule::property);
        let properties = properties.into_iter().map(|pair| Cursor::new(pair, base).property());
        Ok(ExampleLine::Using {
            instrument,
            number,
            calibrated_until: calibrated.transpose()?,
            lines: properties.collect::<Lowered<_>>()?,
        })
    }

    pub fn list(mut self) -> Lowered<ExampleLine> {
        let base = self.base();
        Ok(ExampleLine::List(self.path()?, lower_row(self.expect(Rule::row)?, base)?))
    }

    pub fn enter(mut self) -> Lowered<Act> {
        Ok(Act::Enter { target: self.target()?, at: self.at_time()?, rows: self.rows()? })
    }

    pub fn observe(mut self) -> Lowered<Act> {
        Ok(Act::Observe { target: self.target()?, at: self.at_time()?, rows: self.rows()? })
    }

    pub fn confirm(mut self) -> Lowered<Act> {
        Ok(Act::Confirm { step: self.maybe_name(), yes: self.truth()? })
    }

    pub fn correct(mut self) -> Lowered<Act> {
        let base = self.base();
        if let Some(pair) = self.maybe(Rule::correct_said) {
            let mut said = Cursor::new(pair, base);
            let (kind, number) = (name(&said.expect(Rule::said_kind)?, base), said.number()?);
            let which = said.maybe(Rule::said_which).map(|pair| name(&pair, base));
            let part = which.or_else(|| said.maybe(Rule::said_part).map(|pair| name(&pair, base)));
            let to = if said.has(Rule::word_never) {
                PutTo::Never
            } else if let Some(pair) = said.maybe(Rule::said_card) {
                PutTo::Card(Cursor::new(pair, base).card()?)
            } else if let Some(pair) = said.maybe(Rule::answer) {
                PutTo::Answer(lower_answer(pair, base)?)
            } else {
                PutTo::Which(said.target()?)
            };
            return Ok(Act::PutRight { kind, number, part, to, reason: self.because()? });
        }
        let (target, which, at) = (self.target()?, self.which_entry()?, self.at_time()?);
        if let Some(pair) = self.maybe(Rule::withdrawn) {
            let answer = lower_answer(pair, base)?;
            let AnswerOf::NotRead(reason) = answer.what.clone() else { return Err(unreadable(answer.span)) };
            let rows = Rows { span: answer.span, rows: vec![vec![answer]] };
            return Ok(Act::Correct { target, which, at, rows, reason });
        }
        Ok(Act::Correct { target, which, at, rows: self.rows()?, reason: self.because()? })
    }

    fn card(mut self) -> Lowered<Card> {
        let (instrument, base) = (self.name()?, self.base());
        let number = lower_string(&self.expect(Rule::string)?, base)?;
        let calibrated = self.maybe(Rule::calibrated_of).map(|pair| Cursor::new(pair, base).date());
        let lines = self.all(Rule::property).into_iter().map(|pair| Cursor::new(pair, base).property());
        Ok(Card {
            instrument,
            number,
            calibrated_until: calibrated.transpose()?,
            lines: lines.collect::<Lowered<_>>()?,
        })
    }

    fn because(&mut self) -> Lowered<Prose> {
        let base = self.base();
        let mut because = Cursor::new(self.expect(Rule::because)?, base);
        because.has(Rule::word_because);
        because.prose()
    }

    fn which_entry(&mut self) -> Lowered<WhichEntry> {
        let base = self.base();
        let mut which = WhichEntry::default();
        if let Some(pair) = self.maybe(Rule::of_try) {
            let mut parts = Cursor::new(pair, base);
            let number = |pair: Pair<'_, Rule>| Cursor::new(pair, base).number();
            which.attempt = parts.maybe(Rule::try_number).map(number).transpose()?;
            which.set = parts.maybe(Rule::set_number).map(number).transpose()?;
        }
        which.again = self.maybe(Rule::again_at).map(|pair| Cursor::new(pair, base).maybe_number());
        Ok(which)
    }

    pub fn remeasure(mut self) -> Lowered<Act> {
        Ok(Act::Remeasure { target: self.target()?, rows: self.maybe_rows()?, reason: self.maybe_prose()? })
    }

    pub fn adjust(mut self) -> Lowered<Act> {
        let (target, rows, text) = (self.target()?, self.rows()?, self.maybe_prose()?);
        Ok(Act::Adjust { target, rows, text, beside: self.beside()? })
    }

    pub fn altered(mut self) -> Lowered<Act> {
        let (step, text) = (self.maybe_name(), self.prose()?);
        Ok(Act::Altered { step, text, beside: self.beside()? })
    }

    fn beside(&mut self) -> Lowered<Beside> {
        Ok(Beside {
            at: self.text_of(Rule::altered_at)?,
            moved: self.quantity_of(Rule::moved_by)?,
            toward: self.text_of(Rule::moved_toward)?,
            torque: self.quantity_of(Rule::torque_of)?,
            by: self.text_of(Rule::done_by)?,
        })
    }

    fn text_of(&mut self, rule: Rule) -> Lowered<Option<Prose>> {
        let base = self.base();
        let text = |pair| lower_string(&Cursor::new(pair, base).expect(Rule::string)?, base);
        self.maybe(rule).map(text).transpose()
    }

    fn quantity_of(&mut self, rule: Rule) -> Lowered<Option<Quantity>> {
        let base = self.base();
        self.maybe(rule).map(|pair| Cursor::new(pair, base).quantity()).transpose()
    }

    pub fn breaks(mut self) -> Lowered<Act> {
        let (reading, text) = (self.maybe_path()?, self.prose()?);
        let zero_intact = self.has(Rule::zero_intact);
        Ok(Act::Break { reading, text, zero_intact, from_the_start: self.has(Rule::from_the_start) })
    }

    pub fn rejoin(mut self) -> Lowered<Act> {
        Ok(Act::Rejoin { reading: self.path()?, at: self.pick_list()?, rows: self.rows()? })
    }

    pub fn skip(mut self) -> Lowered<Act> {
        Ok(Act::Skip { step: self.maybe_name(), reason: self.prose()? })
    }

    pub fn waive(mut self) -> Lowered<Act> {
        Ok(Act::Waive { step: self.maybe_name(), reason: self.prose()?, by: self.name()? })
    }

    pub fn held(mut self) -> Lowered<Act> {
        let mut names = self.names();
        let by = names.pop().ok_or_else(|| unreadable(self.span()))?;
        Ok(Act::Held { step: names.pop(), by })
    }

    pub fn defects(mut self) -> Lowered<Act> {
        Ok(Act::Defects { step: self.name()?, done: !self.has(Rule::word_open) })
    }

    pub fn mended(mut self) -> Lowered<Act> {
        Ok(Act::Mended { number: self.number()?, text: self.prose()? })
    }

    pub fn accepted(mut self) -> Lowered<Act> {
        Ok(Act::Accepted { number: self.number()?, text: self.prose()?, by: self.name()? })
    }

    pub fn justify(mut self) -> Lowered<Act> {
        Ok(Act::Justify { adjustment: self.path()?, reason: self.prose()? })
    }

    pub fn expects(mut self) -> Lowered<ExampleLine> {
        let base = self.base();
        if let Some(pair) = self.maybe(Rule::bare_expectation) {
            let what = Cursor::new(pair, base).bare_expectation()?;
            return Ok(ExampleLine::Expect(Expect { as_when: None, what }));
        }
        let as_when = if self.has(Rule::as_found) {
            Some(AsWhen::Found)
        } else if self.has(Rule::as_left) {
            Some(AsWhen::Left)
        } else {
            None
        };
        let target = self.target()?;
        let what = Cursor::new(self.expect(Rule::outcome)?, base).outcome(target)?;
        Ok(ExampleLine::Expect(Expect { as_when, what }))
    }

    fn bare_expectation(mut self) -> Lowered<Expected> {
        if self.has(Rule::word_query) {
            Ok(Expected::Query)
        } else if self.has(Rule::word_refused) {
            Ok(Expected::Refused)
        } else if let Some(number) = self.maybe_number() {
            Ok(Expected::Exceptions(number))
        } else {
            Ok(Expected::Verdict(match words(&self.expect(Rule::verdict)?).as_str() {
                "accepted" => Verdict::Accepted,
                "accepted with exceptions" => Verdict::AcceptedWithExceptions,
                "not accepted" => Verdict::NotAccepted,
                _ => Verdict::Unfinished,
            }))
        }
    }

    fn outcome(mut self, target: Target) -> Lowered<Expected> {
        if let Some(rows) = self.maybe_rows()? {
            return Ok(Expected::Values { target, rows, within: self.within()? });
        }
        if let Some(pair) = self.maybe(Rule::figure) {
            let figure = match pair.as_str() {
                "uncertainty" => Figure::Uncertainty,
                "limit" => Figure::Limit,
                "advised" => Figure::Advised,
                _ => Figure::Predicted,
            };
            return Ok(Expected::Figure { target, figure, value: self.quantity()?, within: self.within()? });
        }
        if self.has(Rule::not_advised) {
            return Ok(Expected::NotAdvised(target));
        }
        if self.has(Rule::on_withdrawn_advice) {
            return Ok(Expected::WithdrawnAdvice(target));
        }
        if let Some(pick) = target.picks.first() {
            let message = "a state is that of a whole step, tolerance or crosscheck, not of one station";
            return Err(Problem::fault(Code::Unexpected, pick.span, message)
                .label("a station")
                .help("leave the square brackets out, or expect the value with `=`"));
        }
        let path = target.path;
        Ok(if self.has(Rule::word_joined) {
            Expected::Joined(path)
        } else if self.has(Rule::agrees) {
            Expected::Agrees(path.name)
        } else if self.has(Rule::look_again) {
            Expected::LookAgain(path.name)
        } else {
            let state = self.expect(Rule::state)?;
            let state = state_of(&words(&state)).ok_or_else(|| unreadable(self.span()))?;
            Expected::State { path, state, window: self.maybe_range()? }
        })
    }
}

/// The words of a token that may have been parted by several blanks.
fn words(pair: &Pair<'_, Rule>) -> String {
    pair.as_str().split_whitespace().collect::<Vec<_>>().join(" ")
}

fn state_of(words: &str) -> Option<State> {
    Some(match words {
        "passes" => State::Passes,
        "fails" => State::Fails,
        "undecided" => State::Undecided,
        "invalid" => State::Invalid,
        "recorded" => State::Recorded,
        "stale" => State::Stale,
        "blocked" => State::Blocked,
        "skipped" => State::Skipped,
        "waived" => State::Waived,
        "not applicable" => State::NotApplicable,
        "not reached" => State::NotReached,
        "to do" => State::ToDo,
        "stopped" => State::Stopped,
        _ => return None,
    })
}

fn lower_row(pair: Pair<'_, Rule>, base: usize) -> Lowered<Vec<Answer>> {
    Cursor::new(pair, base).all(Rule::answer).into_iter().map(|pair| lower_answer(pair, base)).collect()
}

fn lower_answer(pair: Pair<'_, Rule>, base: usize) -> Lowered<Answer> {
    let mut cursor = Cursor::new(pair, base);
    let whole = cursor.span();
    let what = if cursor.has(Rule::not_read) {
        AnswerOf::NotRead(lower_string(&cursor.expect(Rule::string)?, base)?)
    } else if cursor.has(Rule::word_over) {
        AnswerOf::Over(cursor.quantity()?)
    } else if cursor.has(Rule::word_below) {
        AnswerOf::Below(cursor.quantity()?)
    } else if let Some(pair) = cursor.maybe(Rule::date) {
        AnswerOf::Date(DateText { text: pair.as_str().to_string(), span: span(&pair, base) })
    } else if let Some(pair) = cursor.maybe(Rule::quantity) {
        AnswerOf::Quantity(lower_quantity(pair, base)?)
    } else if let Some(pair) = cursor.maybe(Rule::string) {
        AnswerOf::Text(lower_string(&pair, base)?)
    } else {
        AnswerOf::Word(name(&cursor.expect(Rule::word)?, base))
    };
    Ok(Answer { span: whole, what })
}
