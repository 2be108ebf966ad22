//! Lines that were understood and put nothing else on the record yet: a row or an odd value that is said back, a command
//! that lacks its reason, a step turned to, an answer no. They stand on the record as they were typed. So a walk that is
//! cut off is taken up where it stood, with the row said back again, and nothing counts before it is confirmed.

use crate::quantity::Unit;

use super::ask::Ask;
use super::called;
use super::commands;
use super::event::{Event, How};
use super::fold::Fold;
use super::machine::{Dialog, Machine, Reply};
use super::question::{Refusal, Said, Tone};
use super::replay::follows;
use super::state::State;

#[derive(Clone, Debug)]
pub struct HalfSaid {
    pub line: String,
    pub how: How,
    /// Of a number that a gauge sent without one.
    pub unit: Option<String>,
    /// How many values of it wait to be taken, and how many were.
    pub values: u32,
    pub taken: u32,
    /// The walk was left since.
    pub left: bool,
    now: Option<jiff::Timestamp>,
    today: Option<jiff::civil::Date>,
    local: Option<jiff::civil::DateTime>,
}

impl State {
    /// What was typed and waits to be confirmed, in words.
    pub fn unconfirmed(&self) -> Option<String> {
        let last = self.half_said.last().filter(|last| last.values > last.taken)?;
        Some(format!("said back, not confirmed yet: {}", last.line))
    }
}

impl Fold<'_> {
    /// What an event makes of the lines that wait. True: the entry was read before the walk was left.
    pub(super) fn mind_half_said(&mut self, event: &Event) -> bool {
        let state = &mut *self.state;
        match event {
            Event::HalfSaid { line, values, how, unit, .. } => state.half_said.push(HalfSaid {
                line: line.clone(),
                how: *how,
                unit: unit.clone(),
                values: *values,
                taken: 0,
                left: false,
                now: state.now,
                today: state.today,
                local: state.local,
            }),
            Event::Entered(_) | Event::NotRead(_) | Event::Observed(_) | Event::ReadAgain(_) => {
                let Some(last) = state.half_said.last_mut() else { return false };
                last.taken += 1;
                let was_left = last.left && last.values >= last.taken;
                if last.taken >= last.values {
                    state.half_said.clear();
                }
                return was_left;
            }
            Event::Resumed { .. } => state.half_said.iter_mut().for_each(|it| it.left = true),
            // Remarks leave it standing, and so does what a row brings before its first value or between two.
            Event::Noted { .. } | Event::Defect { .. } | Event::Mended { .. } | Event::Paused { .. } => {}
            Event::StepOpened { .. } | Event::SeriesStarted { .. } | Event::Kept { .. } => {}
            event if follows(event) => {}
            _ => state.half_said.clear(),
        }
        false
    }
}

impl Machine {
    /// Puts a line on the record that has put nothing else there.
    pub(super) fn note_half_said(&mut self, heard: Heard<'_>, reply: Reply) -> Reply {
        if !reply.events.is_empty() || !self.state.opened {
            return reply;
        }
        let (line, unit, how) = match heard {
            Heard::Typed(line) => (line, None, self.how),
            Heard::Gauge(line, unit) => (line, Some(unit.symbol().to_owned()), How::Gauge),
        };
        let values = match &self.dialog {
            Some(Dialog::Take(pending)) => pending.entries.len() as u32,
            _ => 0,
        };
        let step = self.asked_step().map(|step| self.name_of(step));
        self.out.said = reply.said;
        self.emit(Event::HalfSaid { step, line: line.to_owned(), values, how, unit });
        self.finish()
    }

    /// Brings back what waited when the walk was cut off, with what is said of it. Nothing is written.
    pub fn say_again(&mut self) -> Vec<Said> {
        let Some(last) = self.state.half_said.last().cloned() else { return Vec::new() };
        // Another version may understand a line otherwise: it is tried before anything is changed.
        let mut tried = self.clone();
        let mut said = Vec::new();
        let lines = if last.taken == 0 { self.state.half_said.as_slice() } else { &[] };
        for half in lines {
            match tried.hear_again(half) {
                Ok(reply) if reply.events.is_empty() => said = reply.said,
                _ => return not_taken(&last),
            }
        }
        if last.taken > 0 {
            match tried.say_rest_of(&last) {
                Some(rest) => said = rest,
                None => return not_taken(&last),
            }
        }
        (tried.how, tried.now, tried.asked_at) = (self.how, self.now, self.asked_at);
        let (state, old) = (&mut tried.state, &self.state);
        (state.now, state.today, state.local) = (old.now, old.today, old.local);
        *self = tried;
        if self.dialog.is_none() {
            return Vec::new();
        }
        let text = match last.taken {
            0 => format!("Typed before the walk was left: {}", last.line),
            taken => {
                format!("{taken} of {} values stand of what was typed before: {}", last.values, last.line)
            }
        };
        said.insert(0, Said { tone: Tone::Notice, text });
        said
    }

    fn stand_at(&mut self, half: &HalfSaid) {
        (self.now, self.asked_at, self.how) = (half.now, half.now, half.how);
        (self.state.now, self.state.today, self.state.local) = (half.now, half.today, half.local);
    }

    fn hear_again(&mut self, half: &HalfSaid) -> Result<Reply, Refusal> {
        self.stand_at(half);
        match half.unit.as_deref().and_then(Unit::parse) {
            Some(unit) => self.hear_gauge(&half.line, unit),
            None => self.hear(&half.line),
        }
    }

    /// Says back what was not taken of a row before the power went. None: it was more than a row.
    fn say_rest_of(&mut self, half: &HalfSaid) -> Option<Vec<Said>> {
        self.stand_at(half);
        if commands::read(&half.line, &self.question().expects).is_some() {
            return None;
        }
        let parts = called::row(&half.line);
        let rest = parts.get(half.taken as usize..).filter(|rest| !rest.is_empty())?;
        let Ask::Entry { step, value, cell } = self.next_ask() else { return None };
        let mut pending = self.prepare(step, value, cell, rest).ok()?;
        // Also where only its last value is missing.
        if self.how == How::Typed {
            pending.how = How::Row;
        }
        let said = self.row_said(&pending).into_iter().map(|text| Said { tone: Tone::Echo, text }).collect();
        self.dialog = Some(Dialog::Take(pending));
        Some(said)
    }
}

/// What came from the bench.
#[derive(Clone, Copy, Debug)]
pub(super) enum Heard<'a> {
    Typed(&'a str),
    Gauge(&'a str, Unit),
}

fn not_taken(last: &HalfSaid) -> Vec<Said> {
    if last.values <= last.taken {
        return Vec::new();
    }
    let text =
        format!("Typed before the walk was left, and not all of it taken: {}\nType it again.", last.line);
    vec![Said { tone: Tone::NotWell, text }]
}
