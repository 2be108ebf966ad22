//! What was moved, or said in words, and was said wrong: the old words stay on the record, struck out, and all that rests
//! on a move is worked out again.

use crate::check::program::{PartyId, PutTo, Role, SaidKind, SaidPart, StepId, ValueId, WhichEntry};

use super::acts::Picks;
use super::alteration;
use super::answer::Taken;
use super::entry::{self, understand};
use super::event::{Alteration, Answer, Event};
use super::machine::Machine;
use super::question::{Refusal, Tone};
use super::sayings::{self, PutRight, Saying};
use super::state::Move;
use super::target;

impl Machine {
    /// `correct move 1 torque = 25 Nm "why"`
    pub(super) fn put_right(
        &mut self,
        (kind, number): (SaidKind, u32),
        word: Option<&str>,
        to: PutTo,
        reason: &str,
    ) -> Taken {
        let saying = self.saying(kind, number)?.clone();
        let part = match to {
            PutTo::Never => SaidPart::Whole,
            PutTo::Which(..) => SaidPart::Which,
            PutTo::Card { .. } => SaidPart::Number,
            PutTo::Typed(_) => {
                sayings::part_of(&saying.event, word).ok_or_else(|| no_such_part(&saying, word))?
            }
        };
        if part == SaidPart::Which && sayings::part_of(&saying.event, Some("which")).is_none() {
            return Err(no_such_part(&saying, Some("which")));
        }
        let by = match &saying.event {
            Event::Adjusted(moved) => {
                let now = match to {
                    PutTo::Never => None,
                    PutTo::Which(value, picks) => Some(self.moved_elsewhere(&saying, moved, value, &picks)?),
                    PutTo::Typed(typed) => Some(self.moved_otherwise(&saying, moved, part, &typed)?),
                    PutTo::Card { .. } => return Err(no_such_part(&saying, Some("calibrated until"))),
                };
                PutRight { of: saying.line, part, now, card: None, answer: None, reason: reason.to_owned() }
            }
            Event::Instrument(card) => {
                let card = Some(Box::new(self.card_put_right(&saying, card, part, &to)?));
                PutRight { of: saying.line, part, now: None, card, answer: None, reason: reason.to_owned() }
            }
            event => {
                let PutTo::Typed(typed) = to else { return Err(it_stands(&saying)) };
                let answer = Some(self.said_otherwise(event, part, &typed)?);
                PutRight { of: saying.line, part, now: None, card: None, answer, reason: reason.to_owned() }
            }
        };
        let says_so = match (&by.now, &saying.event) {
            // Where it was moved; whether that was advised may be seen otherwise by now.
            (Some(now), Event::Adjusted(moved)) if part == SaidPart::Which => {
                (&now.step, &now.adjustment, &now.stations)
                    == (&moved.step, &moved.adjustment, &moved.stations)
            }
            _ => by.part != SaidPart::Whole && sayings::put_right(&saying.event, &by) == saying.event,
        };
        if says_so {
            return Err(Refusal::new(format!("{} says so already.", saying.target(part))));
        }
        if by.part == SaidPart::Whole && saying.never.is_some() {
            return Err(Refusal::new(format!("move {number} is struck out already.")));
        }
        self.emit_put_right(&saying, by);
        Ok(())
    }

    pub(super) fn saying(&self, kind: SaidKind, number: u32) -> Result<&Saying, Refusal> {
        let all = || self.state.sayings.iter().filter(|it| it.kind == kind);
        let word = kind.word();
        all().rfind(|it| it.number == number).ok_or_else(|| {
            Refusal::new(format!("There is no {word} {number}.")).help(match all().next_back() {
                Some(last) => {
                    format!("The last one is {word} {}. show words lists what was said.", last.number)
                }
                None => "show words lists what was said, each so as correct takes it.".to_owned(),
            })
        })
    }

    /// Another adjustment, or another station of it.
    fn moved_elsewhere(
        &self,
        saying: &Saying,
        moved: &Alteration,
        value: ValueId,
        picks: &Picks,
    ) -> Result<Alteration, Refusal> {
        let step = self.step_of(value)?;
        let stations = self.adjusted_stations(step, value, picks, 1)?.into_iter().next().unwrap_or_default();
        let definition = &self.program.values[value.0];
        let amount = match &moved.amount {
            None => None,
            Some(answer) => {
                let text = answer.in_words();
                let again = understand(&text, &self.asked(value)).map_err(|_| {
                    Refusal::new(format!("{} is not moved by {text}.", definition.name)).help(format!(
                        "Strike it out, and say what was moved: correct move {} = never \"why\", then adjust {}.{} = AMOUNT",
                        saying.number,
                        self.name_of(step),
                        definition.name
                    ))
                })?;
                Some(again.answer)
            }
        };
        Ok(Alteration {
            step: self.name_of(step),
            adjustment: Some(definition.name.clone()),
            stations,
            amount,
            advised: self.advised_before(saying.line, value),
            ..moved.clone()
        })
    }

    fn moved_otherwise(
        &self,
        saying: &Saying,
        moved: &Alteration,
        part: SaidPart,
        typed: &str,
    ) -> Result<Alteration, Refusal> {
        let mut now = moved.clone();
        let adjustment = self.adjustment_of(moved);
        match (part, adjustment) {
            (SaidPart::Amount, Some(adjustment)) => {
                let understood = understand(typed, &self.asked(adjustment))?;
                if understood.cell.as_number().is_none() {
                    return Err(Refusal::new(format!("\"{typed}\" does not say by how much."))
                        .help(entry::what_to_type(&self.asked(adjustment))));
                }
                now.amount = Some(understood.answer);
            }
            (SaidPart::Amount, None) => now.amount = Some(alteration::amount(typed)?),
            (SaidPart::Torque, _) => now.torque = Some(alteration::torque(typed)?),
            (SaidPart::By, _) => now.by = Some(person(typed)?),
            (SaidPart::Toward, Some(adjustment)) if self.program.values[adjustment.0].sense.is_some() => {
                return Err(Refusal::new(format!(
                    "Which way {} was moved is said by the sign of its amount.",
                    self.program.values[adjustment.0].name
                ))
                .help(format!("Type it so: correct move {} = -AMOUNT \"why\"", saying.number)));
            }
            (SaidPart::Toward, _) => now.toward = Some(words(typed)?),
            (SaidPart::At, Some(adjustment)) => {
                let names: Vec<String> = typed.split(',').map(|name| name.trim().to_owned()).collect();
                now.stations = self.station_named(adjustment, &names)?;
            }
            (SaidPart::At, None) => now.stations = vec![words(typed)?],
            _ => now.what = Some(words(typed)?),
        }
        Ok(now)
    }

    pub(super) fn adjustment_of(&self, moved: &Alteration) -> Option<ValueId> {
        let step = self.directory.step(&moved.step)?;
        self.directory.value(Some(step), moved.adjustment.as_ref()?)
    }

    fn station_named(&self, adjustment: ValueId, names: &[String]) -> Result<Vec<String>, Refusal> {
        let step = self.step_of(adjustment)?;
        let axes =
            self.layout(step, adjustment).map_err(|cell| Refusal::new(super::lines::why_not(&cell)))?;
        let sheet = super::state::Sheet::new(1, axes);
        let spoken = |stations: &[String]| super::wording::spoken(&stations.join(", "));
        let all: Vec<Vec<String>> = (0..sheet.cells.len()).map(|cell| sheet.stations(cell)).collect();
        let wanted = names.join(", ");
        let found = all.iter().find(|it| it.as_slice() == names || spoken(it) == spoken(names));
        found.filter(|it| !it.is_empty()).cloned().ok_or_else(|| {
            let name = &self.program.values[adjustment.0].name;
            let places: Vec<String> =
                all.iter().filter(|it| !it.is_empty()).map(|it| it.join(", ")).collect();
            match places.is_empty() {
                true => Refusal::new(format!("{name} is moved at one place alone.")),
                false => Refusal::new(format!("{name} has no station {wanted}."))
                    .help(format!("Its stations: {}", places.join("; "))),
            }
        })
    }

    fn said_otherwise(&self, event: &Event, part: SaidPart, typed: &str) -> Result<Answer, Refusal> {
        let plain = |value: String| Answer { typed: typed.to_owned(), unit: None, value, sha256: None };
        match (event, part) {
            (_, SaidPart::Photo) => self.picture(&entry::unquoted(typed)),
            (_, SaidPart::Temperature) => self.temperature(typed),
            (Event::Held { signed: Some(_), name, .. }, _) => {
                Err(Refusal::new(format!("{name} has signed what stood then, and that name with it."))
                    .help("It stands. Say beside it what is so: note \"...\""))
            }
            (
                Event::Held { party, .. } | Event::Waived { party, .. } | Event::Accepted { party, .. },
                SaidPart::Name | SaidPart::By,
            ) => {
                let name = person(typed)?;
                let party = self.program.parties.iter().position(|it| it.name == *party);
                party.map_or(Ok(()), |party| self.may_act_for(PartyId(party), &name))?;
                Ok(plain(name))
            }
            (Event::Person { role, .. }, _) => {
                let name = person(typed)?;
                let others = self.state.people.iter().filter(|(other, _)| *other != role);
                let both =
                    role == "operator" || self.state.people.get("operator").is_some_and(|it| same(it, &name));
                if both && others.clone().any(|(_, it)| same(it, &name)) {
                    return Err(Refusal::new(format!("{name} is here for another party already.")).help(
                        "The operator cannot act for another party. Type the name of the other person.",
                    ));
                }
                Ok(plain(name))
            }
            (_, SaidPart::Name | SaidPart::By) => Ok(plain(person(typed)?)),
            _ => Ok(plain(words(typed)?)),
        }
    }

    fn emit_put_right(&mut self, saying: &Saying, by: PutRight) {
        let part = by.part;
        let was = match part {
            SaidPart::Which => sayings::which_in_words(&saying.event),
            SaidPart::Whole => self.in_words(&saying.event),
            part => text_of(&saying.event, part),
        };
        let now = sayings::put_right(&saying.event, &by);
        let said = match (&now, part) {
            (_, SaidPart::Whole) => {
                format!("{} is struck out, it never happened: {was}", saying.target(part))
            }
            (Event::Adjusted(_), SaidPart::Amount | SaidPart::Which | SaidPart::At) => {
                let was = if was.is_empty() { "not said".to_owned() } else { was };
                format!("move {} corrected: {}; it was {was}", saying.number, self.in_words(&now))
            }
            _ => {
                let was = if was.is_empty() { "not said".to_owned() } else { was };
                format!("{} corrected: {}; it was {was}", saying.target(part), text_of(&now, part))
            }
        };
        self.say(Tone::Echo, said);
        if let (Event::Instrument(was), Event::Instrument(now)) = (&saying.event, &now) {
            return self.emit_card(saying.line, was, now, by);
        }
        let stale = self.stale_steps();
        let flagged = |machine: &Self| -> Vec<u64> {
            machine
                .state
                .moves
                .iter()
                .filter(|it| it.is_on_withdrawn_advice())
                .map(|it| it.sequence)
                .collect()
        };
        let flagged_before = flagged(self);
        self.emit(Event::PutRight(by));
        let (Event::Adjusted(old), Event::Adjusted(new)) = (&saying.event, &now) else { return };
        let weighs = matches!(part, SaidPart::Whole | SaidPart::Amount | SaidPart::At | SaidPart::Which);
        if !weighs {
            return;
        }
        self.say_no_longer_stale(&stale);
        for line in flagged(self).into_iter().filter(|line| !flagged_before.contains(line)) {
            if let Some(name) =
                self.state.moves.iter().find(|it| it.sequence == line).and_then(|it| it.adjustment)
            {
                let (step, name) = (self.program.values[name.0].step, &self.program.values[name.0].name);
                let step = step.map(|step| self.name_of(step)).unwrap_or_default();
                let text = format!("{step}.{name} stands on withdrawn advice again: it was not moved back.");
                self.say(Tone::NotWell, text);
            }
        }
        self.say_what_rests_on(saying.line, [self.adjustment_of(old), self.adjustment_of(new)]);
        self.say_tries_without_a_move(saying.line);
    }

    fn stale_steps(&self) -> Vec<StepId> {
        let standing = self.standing();
        (0..self.program.steps.len()).map(StepId).filter(|step| standing.is_stale(*step)).collect()
    }

    fn say_no_longer_stale(&mut self, before: &[StepId]) {
        let now = self.stale_steps();
        for step in before.iter().filter(|step| !now.contains(step)) {
            let stand = self.standing().stand_of(*step).in_words();
            let name = self.name_of(*step);
            self.say(Tone::Well, format!("{name} is no longer stale: {stand}."));
        }
    }

    /// What was expected of the moves between two tries, beside what came, worked out again.
    fn say_what_rests_on(&mut self, line: u64, adjustments: [Option<ValueId>; 2]) {
        let mut results: Vec<ValueId> = Vec::new();
        for adjustment in adjustments.into_iter().flatten() {
            let Role::Adjustment { predicts } = &self.program.values[adjustment.0].role else { continue };
            results.extend(predicts.iter().map(|it| it.result));
        }
        results.sort();
        results.dedup();
        for result in results {
            self.say_expected_of(result, line);
        }
        let mut adjustments: Vec<ValueId> = adjustments.into_iter().flatten().collect();
        adjustments.dedup();
        for words in adjustments.into_iter().flat_map(|it| self.did_in_this_walk(it)).collect::<Vec<_>>() {
            self.say(Tone::Notice, words);
        }
    }

    /// Two tries between which nothing is left as altered were read on one and the same machine.
    fn say_tries_without_a_move(&mut self, line: u64) {
        let mut said = Vec::new();
        for (at, own) in self.state.steps.iter().enumerate() {
            for pair in own.attempts.windows(2) {
                let [before, after] = pair else { continue };
                let between = before.opened..after.opened;
                let reaches = |it: &Move| between.contains(&it.sequence);
                if between.contains(&line) && !self.state.moves.iter().any(reaches) {
                    said.push(format!(
                        "{}: nothing was altered between try {} and try {}; both stay on the record.",
                        self.program.steps[at].name, before.number, after.number
                    ));
                }
            }
        }
        said.into_iter().for_each(|text| self.say(Tone::Notice, text));
    }

    /// Of a move with its place and its direction; of anything else its words.
    pub fn in_words(&self, event: &Event) -> String {
        let Event::Adjusted(moved) = event else {
            return sayings::parts(event).into_iter().next().map(|(_, text)| text).unwrap_or_default();
        };
        match (self.adjustment_of(moved), &moved.amount) {
            (Some(adjustment), Some(answer)) => {
                let definition = &self.program.values[adjustment.0];
                let cell = entry::recorded(answer, &definition.kind, definition.unit, None);
                target::moved(&self.program, adjustment, &moved.stations, &cell)
            }
            _ => moved.what.clone().unwrap_or_default(),
        }
    }

    // -------------------------------------------------------------------------------------------- which one

    /// `correct L3.shim = 0.05 mm`: the last move of it.
    pub(super) fn correct_move(
        &mut self,
        adjustment: ValueId,
        picks: &Picks,
        which: &WhichEntry,
        typed: &str,
        reason: &str,
    ) -> Taken {
        let step = self.step_of(adjustment)?;
        let name = format!("{}.{}", self.name_of(step), self.program.values[adjustment.0].name);
        let own = self.state.moves.iter().filter(|it| it.adjustment == Some(adjustment));
        let mut lines: Vec<(u64, &[String])> = own.map(|it| (it.sequence, it.stations.as_slice())).collect();
        if lines.is_empty() {
            return Err(Refusal::new(format!("{name} was not moved yet: nothing to correct."))
                .help(format!("Type what was moved: adjust {name} = AMOUNT")));
        }
        if !picks.is_empty() {
            let at = self.adjusted_stations(step, adjustment, picks, 1)?;
            lines.retain(|(_, stations)| at.iter().any(|it| it == stations));
        }
        let numbers: Vec<u32> = lines.iter().filter_map(|(line, _)| self.number_of_move(*line)).collect();
        let example = |number: &u32| format!("correct move {number} = {typed} \"why\"");
        match numbers.as_slice() {
            [] => Err(Refusal::new(format!("{name} was not moved there."))
                .help(format!("show {} lists what was moved.", self.name_of(step)))),
            [number] if *which == WhichEntry::default() => {
                self.put_right((SaidKind::Move, *number), None, PutTo::Typed(typed.to_owned()), reason)
            }
            several => {
                Err(Refusal::new(format!("{name} was moved {}.", times(several.len()))).help(format!(
                    "Say which by its number: {}. show {} lists them.",
                    several.iter().map(example).collect::<Vec<_>>().join(", or "),
                    self.name_of(step)
                )))
            }
        }
    }

    pub(super) fn number_of_move(&self, line: u64) -> Option<u32> {
        self.state.sayings.iter().find(|it| it.line == line).map(|it| it.number)
    }
}

fn text_of(event: &Event, part: SaidPart) -> String {
    sayings::parts(event).into_iter().find(|(it, _)| *it == part).map(|(_, text)| text).unwrap_or_default()
}

pub(super) fn it_stands(saying: &Saying) -> Refusal {
    let target = saying.target(SaidPart::Whole);
    Refusal::new(format!("{target} stands: it was said."))
        .help(format!("Its words can be put right: correct {target} = \"what is so\" \"why\""))
}

fn no_such_part(saying: &Saying, word: Option<&str>) -> Refusal {
    let (kind, number) = (saying.kind.word(), saying.number);
    let parts = sayings::part_words(&saying.event);
    let has = match parts.is_empty() {
        true => format!("Type it so: correct {kind} {number} = \"...\" \"why\""),
        false => format!(
            "Type it so: correct {kind} {number} = ... \"why\"; or behind the number {}.",
            parts.join(", ")
        ),
    };
    Refusal::new(format!("{kind} {number} has no part \"{}\".", word.unwrap_or_default())).help(has)
}

fn words(typed: &str) -> Result<String, Refusal> {
    match entry::unquoted(typed) {
        empty if empty.trim().is_empty() => {
            Err(Refusal::new("Nothing was typed.").help("Type what is so, in words."))
        }
        words => Ok(words.trim().to_owned()),
    }
}

fn person(typed: &str) -> Result<String, Refusal> {
    match entry::unquoted(typed).trim() {
        "" => Err(Refusal::new("Nothing was typed.").help("Type the name.")),
        name if !name.chars().any(char::is_alphabetic) => {
            Err(Refusal::new(format!("\"{name}\" is nobody's name.")).help("Type the name of the person."))
        }
        name => Ok(name.to_owned()),
    }
}

fn same(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}

fn times(count: usize) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        count => format!("{count} times"),
    }
}
