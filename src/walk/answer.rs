//! What is typed at the question that stands: a command, or an answer of its kind. Everything is checked before the
//! first event is made, so that a refused answer leaves nothing behind.

use crate::check::program::{Act, Kind, Role, StepId, ValueId};

use super::ask::Ask;
use super::called;
use super::commands::{self, Command};
use super::correct_said;
use super::entry::{self, Understood, split_row};
use super::event::{Entry, Event, How};
use super::half_said::Heard;
use super::lines;
use super::machine::{Dialog, Machine, Pending, Reply};
use super::question::{Refusal, Tone};
use super::value::{Cell, Scalar};
use super::wording;

pub(super) type Taken = Result<(), Refusal>;

impl Machine {
    /// One line as typed: a value, a row, or a command with what belongs to it.
    pub fn answer(&mut self, typed: &str) -> Result<Reply, Refusal> {
        let typed = typed.trim();
        let reply = self.hear(typed)?;
        Ok(self.note_half_said(Heard::Typed(typed), reply))
    }

    pub(super) fn hear(&mut self, typed: &str) -> Result<Reply, Refusal> {
        let taken = match commands::read(typed, &self.question().expects) {
            _ if self.state.closed.is_some() => self.answer_closed(typed),
            Some(command) => self.command(command),
            None => self.plain_answer(typed),
        };
        match taken {
            Ok(()) => Ok(self.finish()),
            // What was taken before the refusal stands: the record must say all that the machine knows.
            Err(refusal) if !self.out.events.is_empty() => {
                let help = refusal.help.map(|help| format!("\n{help}")).unwrap_or_default();
                self.say(Tone::NotWell, format!("{}{help}", refusal.message));
                Ok(self.finish())
            }
            Err(refusal) => self.refuse(refusal),
        }
    }

    fn command(&mut self, command: Command) -> Taken {
        match command {
            Command::Back => self.back(),
            Command::Again => self.again_here(),
            Command::Adjust => {
                let step = self.current_step()?;
                self.may_adjust(step)?;
                self.dialog = Some(Dialog::Altered { step, again: false });
                Ok(())
            }
            Command::Remeasure => {
                let step = self.current_step()?;
                self.in_place_of_what_stands(|machine| machine.remeasure_of(step))
            }
            Command::Skip => {
                let step = self.current_step()?;
                self.dialog = Some(Dialog::Reason(step));
                Ok(())
            }
            Command::Take(name) => self.turn_to(&name),
            Command::Reopen(reason) => self.reopen(&reason),
            Command::Using(which) => {
                let step = self.asked_step().or(self.state.current);
                self.in_place_of_what_stands(|machine| machine.use_another(step, &which))
            }
            Command::Line(text) => {
                let current =
                    self.dialog.as_ref().map(|_| ()).and(self.state.current).or_else(|| self.asked_step());
                let reading = self.asked_reading();
                if let Some((kind, number)) = correct_said::alone(&text) {
                    return self.go_back_to(kind, number);
                }
                let text = commands::completed(&self.program, &text, reading.as_deref());
                if let Some(step) = commands::skipped_unsaid(&self.program, &text) {
                    self.dialog = Some(Dialog::Reason(step));
                    return Ok(());
                }
                let act = commands::resolve(&self.program, &text, current.or(self.state.current)).map_err(
                    |problems| {
                        let all = &self.program.instruments;
                        let is_instrument = |name: &str| all.iter().any(|it| it.name == name);
                        let known = correct_said::what_to_type(&text, is_instrument);
                        let known = known.or_else(|| correct_said::of_a_step(&self.program, &text));
                        known.unwrap_or_else(|| commands::refusal_of(&problems, &text))
                    },
                )?;
                self.perform_beside(act)
            }
        }
    }

    /// A command that is taken drops what was only said back; one that is refused leaves it standing.
    fn in_place_of_what_stands(&mut self, command: impl FnOnce(&mut Self) -> Taken) -> Taken {
        let before = self.dialog.take();
        let taken = command(self);
        if taken.is_err() {
            self.dialog = before;
        }
        taken
    }

    /// A remark leaves half said things standing; any other command takes their place.
    fn perform_beside(&mut self, act: Act) -> Taken {
        if let Act::Keep(_) = act {
            return self.perform(act);
        }
        let is_remark = matches!(act, Act::Note { .. } | Act::Defect { .. } | Act::Mended { .. });
        let before = self.dialog.take();
        let performed = self.perform(act);
        if performed.is_err() || (is_remark && self.dialog.is_none()) {
            self.dialog = before;
        }
        performed
    }

    /// The step that the question belongs to.
    pub(super) fn asked_step(&self) -> Option<StepId> {
        match &self.dialog {
            Some(Dialog::Take(pending)) => return Some(pending.step),
            Some(Dialog::Altered { step, .. } | Dialog::Reason(step)) => return Some(*step),
            _ => {}
        }
        self.next_ask().step()
    }

    pub(super) fn current_step(&self) -> Result<StepId, Refusal> {
        self.asked_step()
            .or(self.state.current)
            .ok_or_else(|| Refusal::new("No step is being taken.").help("Name the step, such as: again L3"))
    }

    pub(super) fn plain_answer(&mut self, typed: &str) -> Taken {
        match self.dialog.take() {
            Some(dialog) => {
                let kept = dialog.clone();
                let taken = self.dialog_answer(dialog, typed);
                if taken.is_err() && self.dialog.is_none() {
                    self.dialog = Some(kept);
                }
                taken
            }
            None => self.ask_answer(self.next_ask(), typed),
        }
    }

    fn dialog_answer(&mut self, dialog: Dialog, typed: &str) -> Taken {
        match dialog {
            Dialog::Take(pending) => match typed.to_lowercase().as_str() {
                "" | "yes" | "y" | "ok" => self.take(pending, "said to be right"),
                "no" | "n" => {
                    self.say(Tone::Notice, "Not taken. Type it again.");
                    Ok(())
                }
                _ if pending.entries.len() > 1 && split_row(typed).len() == 1 => {
                    Err(Refusal::new("The row above is not taken yet, and one value is no row.")
                        .help("Enter or yes takes the row; no leaves it, and the value can be typed then."))
                }
                _ if pending.corrects.is_some() => {
                    let (of, why) = pending.corrects.unwrap_or_default();
                    self.correct_line(of, typed, &why)
                }
                _ if pending.again => self.answer_again(pending.step, pending.value, typed),
                _ => {
                    let first = pending.entries.first().map_or(0, |(cell, _)| *cell);
                    self.enter_typed(pending.step, pending.value, first, typed)
                }
            },
            Dialog::Correct(_) if typed.is_empty() => {
                self.say(Tone::Notice, "Nothing was changed.");
                Ok(())
            }
            Dialog::PutRight(line) => self.put_right_answer(line, typed),
            Dialog::Correct(of) => self.correct_line(of, typed, "typed wrong"),
            Dialog::Party { party, then } => self.name_party(party, *then, typed),
            Dialog::Altered { step, again } => self.altered_answer(step, again, typed),
            Dialog::Which(instrument) => self.choose_anew(instrument, typed),
            Dialog::OtherMachine { typed: serial, before } => match typed.to_lowercase().as_str() {
                "" | "yes" | "y" => self.keep_serial(&serial, &before, "said to be right"),
                "no" | "n" => {
                    self.say(Tone::Notice, "Not taken. Type it again.");
                    Ok(())
                }
                _ => self.ask_answer(self.next_ask(), typed),
            },
            Dialog::Reason(step) => {
                if typed.is_empty() {
                    return Err(Refusal::new("A step that is left out needs its reason."));
                }
                self.skip(step, entry::unquoted(typed))
            }
        }
    }

    fn ask_answer(&mut self, ask: Ask, typed: &str) -> Taken {
        let name = || match entry::unquoted(typed) {
            empty if empty.is_empty() => Err(Refusal::new("Nothing was typed.").help("Type the name.")),
            no if ["none", "nobody", "no", "yes", "-", "?"].contains(&no.to_lowercase().as_str()) => {
                Err(Refusal::new(format!("\"{no}\" is nobody's name.")).help("Type the name of the person."))
            }
            name if name.contains(|c: char| c.is_ascii_digit()) && !typed.starts_with('"') => {
                Err(Refusal::new(format!("\"{name}\" has figures in it, and a name is asked for."))
                    .help("A command needs a colon before it. If it is the name, put it in quotes."))
            }
            name => Ok(name),
        };
        match ask {
            Ask::Operator => {
                let name = name()?;
                self.say(Tone::Echo, format!("{name}, operator"));
                self.emit(Event::Person { role: "operator".to_owned(), name });
                Ok(())
            }
            Ask::Fact(fact) => self.answer_fact(fact, typed),
            Ask::Page(step) => self.answer_page(step, typed, None),
            Ask::RowTime(step, reading) => self.answer_row_time(step, reading, typed),
            Ask::Instrument(instrument, _) => self.answer_instrument(instrument, typed),
            Ask::By(step, index) => {
                let kept = match ["me", "myself", "i"].contains(&typed.to_lowercase().as_str()) {
                    true => self.state.operator().map(str::to_owned),
                    false => self.last_who_was(step, index).filter(|_| typed.is_empty()),
                };
                let name = kept.map_or_else(name, Ok)?;
                let role = wording::plain(&self.program.steps[step.0].by[index]);
                let step = self.name_of(step);
                self.say(Tone::Echo, format!("{name}, {role}, for {step}"));
                self.emit(Event::Performed { step, role, name });
                Ok(())
            }
            Ask::Hold(step, index) => {
                let name = name()?;
                let party = self.program.steps[step.0].holds[index].0;
                self.hold(step, party, &name)
            }
            Ask::KeptSetup(step, of, _) => {
                match entry::understand(typed, &yes_no_asked(&Kind::YesNo))?.cell {
                    Cell::Known(Scalar::YesNo(true)) => {
                        let (step, of) = (self.name_of(step), self.name_of(of));
                        self.emit(Event::SetupGivenUp { step, of });
                        Ok(())
                    }
                    _ => Err(Refusal::new(format!(
                        "{} is not begun. Take the step that needs the set-up first, or skip one of them with its reason.",
                        self.name_of(step)
                    ))),
                }
            }
            Ask::Confirm(step, _) => {
                let answer =
                    entry::understand(typed, &yes_no_asked(&Kind::YesNo))?.cell == Cell::yes_no(true);
                self.confirm(step, answer)
            }
            Ask::Wait(step, index) => self.answer_wait(step, index, typed),
            Ask::List(step, axis) => self.answer_list(step, axis, typed),
            Ask::Entry { step, value, cell } => self.enter_typed(step, value, cell, typed),
            Ask::Again { step, value, .. } => self.answer_again(step, value, typed),
            Ask::Doubt(_, value) => self.answer_doubt(value, typed),
            Ask::Start(step, reading) => self.answer_start(step, reading, typed),
            Ask::Due(step, reading, due) => self.answer_early(step, reading, &due, typed),
            Ask::Over(step, reading) => self.answer_over(step, reading, typed),
            Ask::Stuck(step, ..) => {
                Err(Refusal::new(format!("{} cannot be taken as it stands.", self.name_of(step)))
                    .help("Correct the fact it rests on, or type skip \"why\"."))
            }
            Ask::Defects(step) => self.answer_defects(step, typed),
            Ask::AfterStep(step) => match typed.to_lowercase().as_str() {
                "" | "on" | "go on" => {
                    let state = self.standing().state_of(step).words().to_owned();
                    let step = self.name_of(step);
                    self.emit(Event::LeftAsIs { step, state });
                    Ok(())
                }
                _ => Err(Refusal::new(format!("\"{typed}\" is not understood here."))
                    .help("Type remeasure, adjust, again, correct, waive, or Enter alone to go on.")),
            },
            Ask::Repeat(step) => match typed.to_lowercase().as_str() {
                "" | "yes" | "y" => self.again(step),
                "no" | "n" => {
                    self.declined.insert(step);
                    Ok(())
                }
                _ => Err(Refusal::new(format!("\"{typed}\" is neither yes nor no.")).help("Type yes or no.")),
            },
            Ask::Nothing => Err(Refusal::new("There is no question to answer.").help(
                "Type a command: again STEP, skip STEP \"why\", waive STEP \"why\" by PARTY, note \"text\".",
            )),
        }
    }

    /// A value or a row for the stations from `cell` on.
    pub(super) fn enter_typed(&mut self, step: StepId, value: ValueId, cell: usize, typed: &str) -> Taken {
        if typed.is_empty() {
            return self.end_repeats(step, value, cell);
        }
        let parts = self.parts(step, value, cell, typed);
        let pending = self.prepare(step, value, cell, &parts)?;
        self.take_or_query(pending)
    }

    /// A row, or a value that is odd, is said back first; a plain value is taken.
    pub(super) fn take_or_query(&mut self, pending: Pending) -> Taken {
        let is_row = pending.entries.len() > 1;
        if is_row {
            let lines = self.row_said(&pending);
            lines.into_iter().for_each(|line| self.say(Tone::Echo, line));
        }
        if is_row || !pending.queries.is_empty() {
            self.dialog = Some(Dialog::Take(pending));
            return Ok(());
        }
        self.take(pending, "")
    }

    /// Enter alone: the end of a `times` reading, where that is allowed.
    pub(super) fn end_repeats(&mut self, step: StepId, value: ValueId, cell: usize) -> Taken {
        let may_end = self.sheet(step, value).is_ok_and(|sheet| self.may_end(value, &sheet, cell));
        if !may_end {
            return Err(Refusal::new("Nothing was typed.").help(entry::what_to_type(&self.asked(value))));
        }
        let Ok(sheet) = self.sheet(step, value) else { return Ok(()) };
        let taken = sheet.axes.iter().zip(sheet.indices(cell)).find(|(axis, _)| *axis.axis == *"repeat");
        let items = taken.map(|(_, count)| vec![count.to_string()]).unwrap_or_default();
        let step = self.name_of(step);
        self.emit(Event::Listed { step, axis: "repeat".to_owned(), items });
        Ok(())
    }

    /// Reads values for the stations from `first` on; nothing is written yet.
    pub(super) fn prepare(
        &self,
        step: StepId,
        value: ValueId,
        first: usize,
        typed: &[String],
    ) -> Result<Pending, Refusal> {
        let sheet = self.sheet(step, value).map_err(|cell| match cell {
            Cell::Invalid(reason) | Cell::NotRead(reason) => Refusal::new(reason.to_string()),
            _ => Refusal::new("Its stations depend on something that is not known yet."),
        })?;
        let left = sheet.cells.len().saturating_sub(first);
        if typed.len() > left {
            let left = if left == 1 { "1 is".to_owned() } else { format!("{left} are") };
            return Err(Refusal::new(format!(
                "{} values were typed, and {left} left to read here.",
                typed.len()
            ))
            .help("Type no more than that, with blanks between."));
        }
        let mut entries = Vec::with_capacity(typed.len());
        let mut queries = Vec::new();
        for (offset, one) in typed.iter().enumerate() {
            let understood =
                self.understood(value, one).map_err(|refusal| lines::in_row(refusal, offset, typed))?;
            self.check_bounds(value, &understood.cell)?;
            if let Some(query) = wording::unusual(&self.program, &self.state, step, value, &understood.cell) {
                queries.push((first + offset, query));
            }
            entries.push((first + offset, understood));
        }
        let read: Vec<&Understood> = entries.iter().map(|(_, understood)| understood).collect();
        called::is_clear(typed, &read, &self.asked(value))?;
        let how = if typed.len() > 1 && self.how == How::Typed { How::Row } else { self.how };
        let row_at = self.series(value).and_then(|_| sheet.last_time());
        Ok(Pending { step, value, entries, queries, how, row_at, again: false, corrects: None })
    }

    /// Writes prepared entries; those that were queried get their note.
    pub(super) fn take(&mut self, pending: Pending, reason: &str) -> Taken {
        if self.is_page_wanted(pending.step) && pending.corrects.is_none() {
            let name = self.name_of(pending.step);
            return Err(Refusal::new(format!("When {name} was read is not said yet."))
                .help(format!("Type no, then take {name}: its sheet is asked for first.")));
        }
        if pending.again {
            return self.take_again(pending, reason);
        }
        let Pending { step, value, entries, queries, how, row_at, corrects, .. } = pending;
        if let (Some((of, why)), Some((_, understood))) = (corrects, entries.first()) {
            self.say_corrected(of, value, understood);
            self.emit(Event::Corrected { of, answer: Some(understood.answer.clone()), reason: why });
            if let Some((_, query)) = queries.first() {
                let of = self.state.sequence;
                self.emit(Event::Kept { of, query: query.clone(), reason: reason.to_owned() });
            }
            return Ok(());
        }
        self.ensure_opened(step);
        self.ensure_started(step, value);
        self.entering_at = row_at.filter(|at| self.may_be_then(step, value, at));
        let is_reading = matches!(self.program.values[value.0].role, Role::Reading(_));
        let (step_name, name) = (self.name_of(step), self.program.values[value.0].name.clone());
        let single = entries.len() == 1;
        let (mut last_time, mut left) = (Vec::new(), entries.len());
        let expired_before = self.expired();
        for (cell, understood) in entries {
            let Ok(sheet) = self.sheet(step, value) else { continue };
            let stations = sheet.stations(cell);
            let set = sheet.set;
            if single {
                let echo = self.said_back(value, &stations, &understood);
                self.say(Tone::Echo, echo);
            }
            let number = self.state.step(step).attempts.len() as u32;
            let not_read = understood.not_read;
            let entry = Entry {
                step: step_name.clone(),
                number,
                set,
                name: name.clone(),
                stations,
                answer: not_read.is_none().then_some(understood.answer),
                reason: not_read.clone(),
                how,
            };
            let of = self.state.sequence + 1;
            last_time.extend(self.last_time(value, &entry.stations, single));
            left -= 1;
            // Behind the entries, and never before them: a value known beforehand is read into the dial.
            if left == 0 && !last_time.is_empty() {
                self.say(Tone::Notice, format!("last time: {}", last_time.join("; ")));
            }
            self.emit(match (is_reading, not_read) {
                (_, Some(_)) => Event::NotRead(entry),
                (true, None) => Event::Entered(entry),
                (false, None) => Event::Observed(entry),
            });
            if let Some((_, query)) = queries.iter().find(|(queried, _)| *queried == cell) {
                self.emit(Event::Kept { of, query: query.clone(), reason: reason.to_owned() });
            }
        }
        self.entering_at = None;
        self.say_newly_expired(&expired_before);
        self.say_how_it_goes(step, value);
        Ok(())
    }

    pub(super) fn row_said(&self, pending: &Pending) -> Vec<String> {
        let Ok(sheet) = self.sheet(pending.step, pending.value) else { return Vec::new() };
        pending
            .entries
            .iter()
            .map(|(cell, understood)| {
                let stations = sheet.stations(*cell);
                let echo = self.said_back(pending.value, &stations, understood);
                format!("{}: {echo}", wording::spoken_place(&stations))
            })
            .collect()
    }

    /// A value said back with its meaning: `+0.006 mm, toward the operator`.
    pub(super) fn echo(&self, value: ValueId, stations: &[String], cell: &Cell) -> String {
        wording::echo(&self.program, value, stations, cell)
    }

    /// With what was typed, where that was in another unit: `+0.01016 mm, toward the operator (0.4 thou)`.
    pub(super) fn said_back(&self, value: ValueId, stations: &[String], said: &Understood) -> String {
        let echo = self.echo(value, stations, &said.cell);
        let asked = self.program.values[value.0].unit.map(|unit| unit.symbol());
        match said.answer.unit.as_deref() {
            Some(unit) if Some(unit) != asked => format!("{echo} ({})", said.answer.typed),
            _ => echo,
        }
    }

    pub(super) fn name_of(&self, step: StepId) -> String {
        self.program.steps[step.0].name.clone()
    }

    pub(super) fn ensure_opened(&mut self, step: StepId) {
        if !self.state.step(step).is_begun() {
            let step = self.name_of(step);
            self.emit(Event::StepOpened { step, number: 1, after: Vec::new() });
        }
    }
}

fn yes_no_asked(kind: &Kind) -> entry::Asked<'_> {
    entry::Asked { kind, unit: None, not_read_allowed: false, open_ended_allowed: false }
}
