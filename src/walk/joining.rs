//! A series that was disturbed: gone on with, begun again, or joined through stations read again, as the author allows.
//!
//! The walk asks for the common stations anew and does not show what was read there before. Whether they agree is said
//! before the last of them is taken, since a slip of the tongue would cost the whole series.

use crate::check::program::{Join, StepId, ValueId};
use crate::quantity::{Real, Unit};

use super::acts::Picks;
use super::answer::Taken;
use super::asked_words;
use super::called;
use super::entry::{Understood, understand};
use super::event::{Entry, Event, How};
use super::fold_breaks::join_of;
use super::lines;
use super::machine::{Dialog, Machine, Pending};
use super::question::{Question, Refusal, Tone};
use super::seam::Joined;
use super::state::{Answered, Sheet};
use super::text;
use super::value::Cell;
use super::wording;

impl Machine {
    pub(super) fn break_off(
        &mut self,
        value: ValueId,
        reason: String,
        zero_intact: bool,
        from_the_start: bool,
    ) -> Taken {
        let step = self.step_of(value)?;
        let (name, title) = self.named_and_titled(value);
        let open = self.state.step(step).attempt().and_then(|attempt| attempt.sheet(value));
        // In an example a series needs no start: it runs from when its step is begun.
        let runs = open.is_none() && self.touched.is_some() && self.series(value).is_some();
        if runs && self.state.step(step).is_begun() {
            let (step, reading) = (self.name_of(step), name);
            self.emit(Event::Broken { step, reading, reason, zero_intact, from_the_start });
            return Ok(());
        }
        let Some(sheet) = open.filter(|sheet| !sheet.is_full()) else {
            return Err(Refusal::new(format!("{title} is not being read: there is nothing to break off."))
                .help("If all of it is read and doubted, with the machine untouched: remeasure."));
        };
        if zero_intact && sheet.parted().is_some() {
            return Err(Refusal::new("The series is broken already, and its zero is gone.")
                .help("Read the stations again that are asked for; no begins the series from its start."));
        }
        let join = join_of(&self.program, value);
        let enough = join.is_some_and(|join| sheet.numbers().len() >= join.stations as usize);
        let text = match (zero_intact, join) {
            (true, _) => "The series goes on where it was.".to_owned(),
            (false, Some(join)) if enough && !from_the_start => format!(
                "Set up and zero again. {} stations are read again, so that both parts can be joined.",
                join.stations
            ),
            (false, Some(join)) if !from_the_start => format!(
                "It takes {} stations to join both parts, and not so many were read: the series begins again. What \
                 was read is kept.",
                join.stations
            ),
            (false, _) => "The series begins again; what was read is kept.".to_owned(),
        };
        self.say(Tone::Notice, text);
        self.emit(Event::Broken {
            step: self.name_of(step),
            reading: name,
            reason,
            zero_intact,
            from_the_start,
        });
        Ok(())
    }

    /// `rejoin STEP.READING at place 150 mm, 200 mm = -0.011, -0.010`: the common stations as the person chose them.
    pub(super) fn rejoin(&mut self, value: ValueId, picks: &Picks, entries: &[String]) -> Taken {
        let step = self.step_of(value)?;
        let (name, title) = self.named_and_titled(value);
        let typed: Vec<String> = entries.iter().filter(|entry| *entry != ";").cloned().collect();
        if join_of(&self.program, value).is_none() {
            return Err(Refusal::new(format!(
                "{title}: the procedure does not say that its parts may be joined."
            ))
            .help("A broken series is read again from its start."));
        }
        let open = self.state.step(step).attempt().and_then(|attempt| attempt.sheet(value));
        let Some(sheet) = open.filter(|sheet| sheet.parted().is_some()).cloned() else {
            return Err(Refusal::new(format!("{title} is not broken: there is nothing to join."))
                .help(format!("First say what happened: break {}.{name} \"why\"", self.name_of(step))));
        };
        if typed.len() != picks.len() {
            return Err(Refusal::new(format!("{} values for {} stations.", typed.len(), picks.len())));
        }
        let mut cells = Vec::new();
        for pick in picks {
            let one = std::slice::from_ref(pick);
            cells.extend(self.picked_cell(step, value, one, &sheet)?);
        }
        self.read_stations_again(step, value, &cells, &typed)
    }

    /// What is typed where a station is to be read again: values, or no.
    pub(super) fn answer_again(&mut self, step: StepId, value: ValueId, typed: &str) -> Taken {
        if ["no", "n"].contains(&typed.to_lowercase().as_str()) {
            return self.break_off(value, "not to be joined".to_owned(), false, true);
        }
        let typed = called::row(typed);
        let sheet = self.sheet(step, value).map_err(|cell| Refusal::new(lines::why_not(&cell)))?;
        let cells = self.next_stations_again(value, &sheet);
        if typed.len() > cells.len() {
            return Err(Refusal::new(format!(
                "{} values were typed, and {} stations are to be read again.",
                typed.len(),
                cells.len()
            )));
        }
        let cells = cells.get(..typed.len()).unwrap_or_default().to_vec();
        self.read_stations_again(step, value, &cells, &typed)
    }

    /// The stations that are still to be read again, in their order.
    fn next_stations_again(&self, value: ValueId, sheet: &Sheet) -> Vec<usize> {
        let stations = join_of(&self.program, value).map_or(0, |join| join.stations as usize);
        let mut sheet = sheet.clone();
        let read = sheet.parted().map_or(0, |seam| seam.again.len());
        let mut cells = Vec::new();
        while read + cells.len() < stations
            && let Some(cell) = sheet.next_again(stations)
            && let Some(answered) = sheet.cells.get(cell).and_then(Option::clone)
            && let Some(seam) = sheet.seams.last_mut()
        {
            seam.again.push((cell, answered));
            cells.push(cell);
        }
        cells
    }

    fn read_stations_again(
        &mut self,
        step: StepId,
        value: ValueId,
        cells: &[usize],
        typed: &[String],
    ) -> Taken {
        let Some(join) = join_of(&self.program, value).cloned() else { return Ok(()) };
        let sheet = self.sheet(step, value).map_err(|cell| Refusal::new(lines::why_not(&cell)))?.into_owned();
        let mut seam = sheet.parted().cloned().unwrap_or_default();
        let stations = join.stations as usize;
        if seam.again.len() + cells.len() > stations {
            return Err(Refusal::new(format!("{stations} stations are read again, not more.")));
        }
        let mut entries: Vec<(usize, Understood)> = Vec::new();
        let mut queries = Vec::new();
        for (cell, typed) in cells.iter().zip(typed) {
            let at = sheet.stations(*cell).join(", ");
            if !sheet.numbers().contains(cell) {
                return Err(Refusal::new(format!("{at} was not read before: it joins nothing.")));
            }
            if seam.again.iter().any(|(read, _)| read == cell) {
                return Err(Refusal::new(format!("{at} has been read again already.")));
            }
            let understood = understand(typed, &self.asked(value))?;
            if understood.cell.as_number().is_none() {
                return Err(Refusal::new(format!("At {at} a number is needed, to join both parts."))
                    .help("Type the value. If it cannot be had, type no: the series begins again."));
            }
            if let Some(query) = wording::unusual(&self.program, &self.state, step, value, &understood.cell) {
                queries.push((*cell, query));
            }
            let (answer, read) = (understood.answer.clone(), understood.cell.clone());
            seam.again.push((*cell, Answered { cell: read, answer, sequence: 0, part: 0 }));
            entries.push((*cell, understood));
        }
        // An example says what is to come; at the bench a slip is asked about before it costs the series.
        if seam.again.len() == stations && self.touched.is_none() {
            let mut tried = sheet;
            let last = tried.seams.len().saturating_sub(1);
            if let Some(open) = tried.seams.last_mut() {
                *open = seam;
            }
            let joined = tried.joining(last, &join_within(&join)).filter(|joined| !joined.agreed);
            if let Some((joined, cell)) = joined.zip(cells.last()) {
                let why = self.disagreement_said(value, &tried, last, &joined);
                queries.push((*cell, format!("If that is right, the series begins again: {why}")));
            }
        }
        let how = if typed.len() > 1 && self.how == How::Typed { How::Row } else { self.how };
        let pending =
            Pending { step, value, entries, queries, how, row_at: None, again: true, corrects: None };
        if pending.queries.is_empty() {
            return self.take(pending, "");
        }
        self.dialog = Some(Dialog::Take(pending));
        Ok(())
    }

    /// Writes stations read again; what comes of them is settled behind the last.
    pub(super) fn take_again(&mut self, pending: Pending, reason: &str) -> Taken {
        let Pending { step, value, entries, queries, how, .. } = pending;
        for (cell, understood) in entries {
            let Ok(sheet) = self.sheet(step, value) else { continue };
            let (set, stations) = (sheet.set, sheet.stations(cell));
            let echo = self.said_back(value, &stations, &understood);
            self.say(Tone::Echo, format!("{}, again: {echo}", wording::spoken_place(&stations)));
            let entry = Entry {
                step: self.name_of(step),
                number: self.state.step(step).attempts.len() as u32,
                set,
                name: self.program.values[value.0].name.clone(),
                stations,
                answer: Some(understood.answer),
                reason: None,
                how,
            };
            let of = self.state.sequence + 1;
            let unusual = wording::unusual(&self.program, &self.state, step, value, &understood.cell);
            let query = queries.iter().map(|(_, query)| query).find(|query| Some(*query) == unusual.as_ref());
            self.emit(Event::ReadAgain(entry));
            // That the shifts do not agree stands on the record as what came of it.
            if let Some(query) = query {
                self.emit(Event::Kept { of, query: query.clone(), reason: reason.to_owned() });
            }
        }
        Ok(())
    }

    /// The question for a station that is read again.
    pub(super) fn again_question(&self, step: StepId, value: ValueId, cell: usize) -> Question {
        let mut question = self.entry_question(step, value, cell);
        let stations = join_of(&self.program, value).map_or(0, |join| join.stations);
        let read = self.sheet(step, value).ok().and_then(|sheet| Some(sheet.parted()?.again.len()));
        question.ask = format!("Read again: {}", question.ask);
        question.hints.push(format!("{} of {stations} read again to join both parts", read.unwrap_or(0) + 1));
        question.hints.push("no begins the series from its start".to_owned());
        question
    }

    /// What came of the stations read again, where it is not on the record or has changed.
    pub(super) fn settle_seams(&mut self, step: StepId, attempt: usize) {
        let Some(own) = self.state.step(step).attempts.get(attempt) else { return };
        let mut found = Vec::new();
        for value in own.sheets.keys() {
            let Some(join) = join_of(&self.program, *value) else { continue };
            for sheet in own.live_sheets(*value) {
                for (seam, known) in sheet.seams.iter().enumerate() {
                    if known.again.len() < join.stations as usize {
                        continue;
                    }
                    let Some(joined) = sheet.joining(seam, &join_within(join)) else { continue };
                    if known.joined.as_ref() != Some(&joined) {
                        let was = known.joined.is_some();
                        found.push((*value, sheet.clone(), seam, joined, was));
                    }
                }
            }
        }
        for (value, sheet, seam, joined, was) in found {
            let tone = if joined.agreed { Tone::Well } else { Tone::NotWell };
            let goes_on = sheet.cells.iter().flatten().any(|cell| cell.part > seam);
            let said = self.joining_said(value, &sheet, seam, &joined, was, goes_on);
            self.say(tone, said);
            let event = self.joined_event((step, attempt), value, &sheet, seam, &joined);
            self.derive(event);
        }
    }

    fn joined_event(
        &self,
        (step, attempt): (StepId, usize),
        value: ValueId,
        sheet: &Sheet,
        seam: usize,
        joined: &Joined,
    ) -> Event {
        let unit = self.unit_of_shifts(value);
        let recorded = |number: &Real| text::record_text(&Cell::number(number.clone()), unit);
        let within = join_of(&self.program, value).map(|join| wording::literal(&join.within));
        Event::Joined {
            step: self.name_of(step),
            number: attempt as u32 + 1,
            set: sheet.set,
            reading: self.program.values[value.0].name.clone(),
            part: seam as u32 + 2,
            stations: common_stations(sheet, seam),
            shift: recorded(&joined.shift),
            disagreement: recorded(&joined.disagreement),
            within: within.unwrap_or_default(),
            unit: unit.map(|unit| unit.symbol().to_owned()),
            agreed: joined.agreed,
        }
    }

    fn named_and_titled(&self, value: ValueId) -> (String, String) {
        (self.program.values[value.0].name.clone(), asked_words::titled(&self.program, value))
    }

    fn joining_said(
        &self,
        value: ValueId,
        sheet: &Sheet,
        seam: usize,
        joined: &Joined,
        was: bool,
        goes_on: bool,
    ) -> String {
        let title = asked_words::titled(&self.program, value);
        let shown = |number: &Real| text::show(number, self.unit_of_shifts(value), None, None, &[]);
        if joined.agreed {
            return format!(
                "{title}: joined at {}; what follows counts less the shift of {}; the stations disagree by {}.",
                common_stations(sheet, seam).join(" and "),
                shown(&joined.shift),
                shown(&joined.disagreement)
            );
        }
        let why = self.disagreement_said(value, sheet, seam, joined);
        match (was, goes_on) {
            (_, true) => format!("{title}: no longer joined: {why}. Read it again: remeasure."),
            (_, false) => format!("{title}: not joined: {why}. It begins again; what was read is kept."),
        }
    }

    fn disagreement_said(&self, value: ValueId, sheet: &Sheet, seam: usize, joined: &Joined) -> String {
        let shown = |number: &Real| text::show(number, self.unit_of_shifts(value), None, None, &[]);
        let shifts: Vec<String> = common_stations(sheet, seam)
            .iter()
            .zip(sheet.shifts(seam))
            .map(|(at, shift)| format!("{} at {at}", shown(&shift)))
            .collect();
        let within = join_of(&self.program, value).map(|join| wording::literal(&join.within));
        format!(
            "the shifts are {}; they disagree by {}, and {} is allowed",
            shifts.join(" and "),
            shown(&joined.disagreement),
            within.unwrap_or_default()
        )
    }

    fn unit_of_shifts(&self, value: ValueId) -> Option<Unit> {
        self.program.values[value.0].unit.map(Unit::of_differences)
    }

    /// Whether some reading of the step stands joined in its last try.
    pub(super) fn is_joined(&self, step: StepId) -> bool {
        let Some(attempt) = self.state.step(step).attempt() else { return false };
        let is_joined = |sheet: &Sheet| sheet.parts().is_some();
        attempt.sheets.keys().any(|value| attempt.live_sheets(*value).any(is_joined))
    }

    /// What was typed at a station before, for a rehearsal.
    pub(super) fn read_there(&self, step: StepId, value: ValueId, cell: usize) -> Option<String> {
        let sheet = self.state.step(step).attempt()?.sheet(value)?;
        Some(sheet.cells.get(cell)?.as_ref()?.answer.typed.clone())
    }
}

fn join_within(join: &Join) -> Real {
    join.within.unit.of_differences().to_base(&Real::Exact(join.within.number.clone()))
}

fn common_stations(sheet: &Sheet, seam: usize) -> Vec<String> {
    let again = sheet.seams.get(seam).map(|seam| seam.again.as_slice()).unwrap_or_default();
    again.iter().map(|(cell, _)| sheet.stations(*cell).join(", ")).collect()
}
