//! Readings that stood on paper and are typed in later: when they were taken is asked once a page and kept beside them.
//! Rows of a series, its start and waits have the times written on the sheet; no clock is waited for. All else is the
//! walk as ever.
//!
//! Times are those of the clock on the wall, to be held against what it shows where the sheet is typed in.

use std::fmt;

use jiff::civil::{Date, DateTime, Time};
use jiff::{SignedDuration, Timestamp};

use crate::check::program::{StepId, ValueId};
use crate::quantity::{Rational, parse_decimal};

use super::answer::Taken;
use super::ask::Ask;
use super::asked_words;
use super::entry;
use super::event::{Entry, Event, How};
use super::fold::Fold;
use super::machine::Machine;
use super::preliminaries::in_words;
use super::question::{Expects, Question, Refusal, Tone};
use super::state::{EntryPlace, Page, Sheet, State};
use super::times;
use super::wording;

/// A time as people write it down: a day, and mostly what the clock showed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    date: Date,
    time: Option<Time>,
}

impl fmt::Display for Moment {
    /// As it stands on the record: `2026-03-02T09:40:00`, or the day alone.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.time {
            Some(_) => self.begins().fmt(f),
            None => self.date.fmt(f),
        }
    }
}

impl Moment {
    /// The way back of `Display`.
    pub fn parse(text: &str) -> Option<Self> {
        let moment = match text.contains('T') {
            true => Self::at(text.parse().ok()?),
            false => Self { date: text.parse().ok()?, time: None },
        };
        (moment.to_string() == text).then_some(moment)
    }

    fn at(civil: DateTime) -> Self {
        Self { date: civil.date(), time: Some(civil.time()) }
    }

    pub fn day(&self) -> Date {
        self.date
    }

    /// As a date, with a time or a time alone, as typed. The day is that of `before` where none is said.
    fn typed(text: &str, before: Option<Date>) -> Option<Self> {
        let mut words = text.split([' ', 'T', '\t']).filter(|word| !word.is_empty());
        let (first, second) = (words.next()?, words.next());
        let moment = match (first.parse::<Date>(), second) {
            (Ok(date), None) => Self { date, time: None },
            (Ok(date), Some(time)) => Self { date, time: Some(clock_time(time)?) },
            (Err(_), None) => Self { date: before?, time: Some(clock_time(first)?) },
            (Err(_), Some(_)) => return None,
        };
        words.next().is_none().then_some(moment)
    }

    /// `2026-03-02 09:40`.
    pub fn in_words(&self) -> String {
        match self.time {
            Some(time) if time.second() == 0 => format!("{} {}", self.date, time.strftime("%H:%M")),
            Some(time) => format!("{} {}", self.date, time.strftime("%H:%M:%S")),
            None => self.date.to_string(),
        }
    }

    fn begins(&self) -> DateTime {
        self.date.to_datetime(self.time.unwrap_or_else(Time::midnight))
    }

    /// The instant, by the offset of the clock at the event that is folded.
    pub(super) fn instant(&self, state: &State) -> Option<Timestamp> {
        let ago = state.local?.duration_since(self.begins());
        state.now?.checked_sub(ago).ok()
    }
}

/// `9:40`, `09.40`, `09:40:30`.
fn clock_time(text: &str) -> Option<Time> {
    let parts: Vec<&str> = text.split([':', '.']).collect();
    let number = |part: &&str| (1..=2).contains(&part.len()).then(|| part.parse::<i8>().ok()).flatten();
    let numbers: Option<Vec<i8>> = parts.iter().map(number).collect();
    match numbers?.as_slice() {
        [hour, minute] => Time::new(*hour, *minute, 0, 0).ok(),
        [hour, minute, second] => Time::new(*hour, *minute, *second, 0).ok(),
        _ => None,
    }
}

impl Page {
    pub fn in_words(&self) -> String {
        let by = self.by.as_ref().map(|name| format!(", by {name}")).unwrap_or_default();
        format!("read {}{by}", self.moment.in_words())
    }
}

impl Fold<'_> {
    pub(super) fn page(
        &mut self,
        step: &str,
        number: u32,
        taken: &str,
        by: Option<&String>,
        corrects: bool,
        line: u64,
    ) {
        let Some((step, moment)) = self.directory.step(step).zip(Moment::parse(taken)) else { return };
        let page = Page { step, attempt: number as usize, moment, by: by.cloned() };
        self.state.reader = page.by.clone().or_else(|| self.state.operator().map(str::to_owned));
        self.state.places.insert(line, EntryPlace::Page(step, page.attempt));
        self.state.last_entry = Some(line);
        let here = self.state.page.as_ref().is_some_and(|it| (it.step, it.attempt) == (step, page.attempt));
        // The page that is typed in stays that, whichever earlier one is corrected.
        if !corrects || here {
            self.state.current = Some(step);
            self.state.page_before = Some(page.clone());
            self.state.page = Some(page);
        }
    }
}

impl Machine {
    pub fn is_from_paper(&self) -> bool {
        self.how == How::Sheet
    }

    /// Before anything of a try is typed in from paper.
    pub(super) fn is_page_wanted(&self, step: StepId) -> bool {
        self.is_from_paper() && self.page_of(step).is_none()
    }

    fn number_of(&self, step: StepId) -> usize {
        self.state.step(step).attempts.len().max(1)
    }

    fn page_of(&self, step: StepId) -> Option<&Page> {
        let here = (step, self.number_of(step));
        self.state.page.as_ref().filter(|page| (page.step, page.attempt) == here)
    }

    // -------------------------------------------------------------------------------------------- questions

    /// What is asked otherwise of a sheet of paper.
    pub(super) fn paper_question(&self, ask: &Ask) -> Option<Question> {
        if !self.is_from_paper() {
            return None;
        }
        let (step, ask, hints) = match ask {
            Ask::Page(step) => {
                let mut hints = vec![match &self.state.reader {
                    Some(name) => {
                        format!("such as 2026-03-02 09:40; behind a comma who read it, if it was not {name}")
                    }
                    None => {
                        let name = self.state.operator().unwrap_or("Ann Example");
                        format!("day, time, and behind a comma who read it: 2026-03-02 09:40, {name}")
                    }
                }];
                hints.extend(
                    self.state
                        .page_before
                        .as_ref()
                        .map(|page| format!("Enter alone: as the sheet before, {}", page.in_words())),
                );
                let again = match self.number_of(*step) {
                    1 => String::new(),
                    number => format!(", try {number}"),
                };
                let name = self.name_of(*step);
                (*step, format!("The sheet of {name}{again}: when was it read? Day and time"), hints)
            }
            Ask::Start(step, reading) => {
                let title = asked_words::titled(&self.program, *reading);
                let mut hints = vec!["as the sheet says, such as 09:40".to_owned()];
                hints.extend(
                    self.page_of(*step)
                        .filter(|page| page.moment.time.is_some())
                        .map(|page| format!("Enter alone: {}", page.moment.in_words())),
                );
                (*step, format!("{title}: at what time did the series begin?"), hints)
            }
            Ask::RowTime(step, reading) => {
                let title = asked_words::titled(&self.program, *reading);
                let sheet = self.sheet_of(*step, *reading);
                let rows = sheet.map_or(0, Sheet::row_count);
                let (_, series) = self.series(*reading)?;
                let last = sheet.and_then(Sheet::last_time);
                let due = times::name(&(series.next_slot(last.as_ref(), None) * &series.every));
                let hints = vec![
                    "the time written beside it, 09:50 or 10 min; its values may follow on the same line"
                        .to_owned(),
                    "done if there is no further row".to_owned(),
                ];
                (*step, format!("{title}, row {}, due at {due}: when was it read?", rows + 1), hints)
            }
            Ask::Wait(step, index) => {
                let (seconds, words) = self.program.steps[step.0].waits.get(*index)?;
                let seconds = seconds.to_integer().try_into().unwrap_or(i64::MAX);
                let ask =
                    format!("Wait: {} ({}). From when until when?", wording::plain(words), in_words(seconds));
                (*step, ask, vec!["as the sheet says: 09:00 09:20".to_owned()])
            }
            _ => return None,
        };
        Some(Question { place: self.place(step, None), ask, hints, expects: Expects::Time })
    }

    // -------------------------------------------------------------------------------------------- answers

    pub(super) fn answer_page(&mut self, step: StepId, typed: &str, of: Option<u64>) -> Taken {
        let before = self.state.page_before.clone();
        let (when, by) = match typed.split_once(',') {
            Some((when, by)) => (when.trim(), Some(entry::unquoted(by))),
            None => (typed, None),
        };
        let moment = match (when.is_empty(), &before) {
            (true, Some(before)) => before.moment,
            (true, None) => return Err(needs_a_time("Nothing was typed.")),
            (false, _) => self.moment(when, before.as_ref().map(|page| page.moment.day()))?,
        };
        // As the sheet before, unless another is named.
        let named = by.filter(|name| !name.is_empty());
        let Some(reader) = named.or_else(|| self.state.reader.clone()) else {
            let name = self.state.operator().unwrap_or("Ann Example");
            return Err(Refusal::new("It is not said who read it.")
                .help(format!("Type the name behind the time: {typed}, {name}")));
        };
        let by = Some(reader.clone()).filter(|name| Some(name.as_str()) != self.state.operator());
        let number = match of.and_then(|line| self.state.places.get(&line)) {
            Some(EntryPlace::Page(_, number)) => *number,
            _ => self.number_of(step),
        };
        let page = Page { step, attempt: number, moment, by: by.clone() };
        let told = Page { by: Some(reader), ..page };
        self.say(Tone::Echo, format!("{} {}", self.name_of(step), told.in_words()));
        let (step, number) = (self.name_of(step), u32::try_from(number).unwrap_or(u32::MAX));
        self.emit(Event::Sheet { step, number, taken: moment.to_string(), by, of });
        Ok(())
    }

    /// A time as typed, which must have come.
    fn moment(&self, typed: &str, day: Option<Date>) -> Result<Moment, Refusal> {
        let Some(moment) = Moment::typed(typed, day) else {
            let said = format!("\"{typed}\" is not understood as a time.");
            return Err(match (day, Moment::typed(typed, Some(Date::MIN))) {
                (None, Some(_)) => Refusal::new(format!("\"{typed}\": of which day?"))
                    .help(format!("Type the day too: 2026-03-02 {typed}")),
                _ => needs_a_time(&said),
            });
        };
        match self.state.local.filter(|now| moment.begins() > *now) {
            Some(now) => Err(Refusal::new(format!(
                "{} is still to come: it is {} now.",
                moment.in_words(),
                Moment::at(now).in_words()
            ))
            .help("Type when it was read.")),
            None => Ok(moment),
        }
    }

    pub(super) fn answer_start_on_paper(&mut self, step: StepId, reading: ValueId, typed: &str) -> Taken {
        let page = self.page_of(step).map(|page| page.moment);
        let moment = match (typed.is_empty(), page) {
            (true, Some(page)) => page,
            (true, None) => return Err(needs_a_time("Nothing was typed.")),
            (false, page) => self.moment(typed, page.map(|page| page.day()))?,
        };
        if moment.time.is_none() {
            return Err(Refusal::new("A series needs the time at which it began.").help(
                "Type it as the sheet says: 09:40. If the sheet has only minutes, type the time of the first row.",
            ));
        }
        self.start_series(step, reading, Some(moment.to_string()));
        self.say(Tone::Echo, format!("begun {}", moment.in_words()));
        Ok(())
    }

    /// The time of the next row; what follows on the line are its values.
    pub(super) fn answer_row_time(&mut self, step: StepId, reading: ValueId, typed: &str) -> Taken {
        let rows = self.sheet_of(step, reading).map_or(0, Sheet::row_count);
        if matches!(typed.to_lowercase().as_str(), "done" | "end" | "none") {
            if rows == 0 {
                return Err(Refusal::new("There is no row of this series yet.")
                    .help("Type the time of the first, or leave the step out: skip \"why\"."));
            }
            self.close_series(step, reading);
            return Ok(());
        }
        let (at, values) = self.row_time_typed(step, reading, typed).ok_or_else(|| {
            Refusal::new(format!("\"{typed}\" does not begin with the time of a row.")).help(
                "Type it as the sheet says, 09:50 or 10 min, then perhaps the values: 09:50 31.2 20.1. done ends the \
                 series.",
            )
        })?;
        if at < Rational::from_integer(0.into()) {
            return Err(Refusal::new("That is before the series began.")
                .help("If its beginning was typed wrong: break \"why\" begins it anew."));
        }
        self.may_stand_at(step, reading, Some(&at))?;
        self.row_on_paper = Some((step, reading, at.clone()));
        if !values.is_empty() {
            return self.enter_typed(step, reading, 0, &values);
        }
        self.say(Tone::Echo, format!("the row at {}", times::name(&at)));
        Ok(())
    }

    /// Seconds since the start of the series, and what is left of the line.
    fn row_time_typed(&self, step: StepId, reading: ValueId, typed: &str) -> Option<(Rational, String)> {
        let mut words = typed.split_whitespace().peekable();
        let first = words.next()?.trim_end_matches(':');
        let seconds_of = |unit: &str| match unit.trim_end_matches([':', ',']) {
            "s" => Some(1),
            "min" => Some(60),
            "h" => Some(3600),
            _ => None,
        };
        if let (Some(number), Some(unit)) =
            (parse_decimal(first), words.peek().and_then(|word| seconds_of(word)))
        {
            words.next();
            let at = number * Rational::from_integer(unit.into());
            return Some((at, words.collect::<Vec<_>>().join(" ")));
        }
        let started = self.sheet_of(step, reading).and_then(|sheet| sheet.run()?.started)?;
        let since = self.state.now?.duration_since(started);
        let started = self.state.local?.checked_sub(since).ok()?;
        let date = first.parse::<Date>().ok();
        let time = match date {
            Some(_) => words.next()?.trim_end_matches(':'),
            None => first,
        };
        // A time in a line of decimal numbers has its colon.
        let time = clock_time(time).filter(|_| time.contains(':'))?;
        let last = self.sheet_of(step, reading).and_then(Sheet::last_time);
        let seconds = |day: Date| {
            let since = day.to_datetime(time).duration_since(started);
            Rational::from_integer(since.as_secs().into())
        };
        let at = match date {
            Some(date) => seconds(date),
            // Past midnight it is the next day.
            None => {
                let (_, series) = self.series(reading)?;
                let is_next = |at: &Rational| {
                    let follows = last.as_ref().is_none_or(|last| last < at);
                    *at >= Rational::from_integer(0.into())
                        && follows
                        && *at <= &series.at_most + &series.every
                };
                let days = [started.date(), started.date().tomorrow().ok()?];
                let mut found = days.into_iter().map(seconds);
                found.clone().find(is_next).or_else(|| found.next())?
            }
        };
        Some((at, words.collect::<Vec<_>>().join(" ")))
    }

    pub(super) fn answer_wait_on_paper(
        &mut self,
        step: StepId,
        words: String,
        seconds: i64,
        typed: &str,
    ) -> Taken {
        let day = self.page_of(step).map(|page| page.moment.day());
        let parted = typed.replace(" to ", " ").replace(" - ", " ");
        let parts: Vec<&str> = parted.split_whitespace().collect();
        let (from, to) = match parts.as_slice() {
            [from, to] => (self.moment(from, day)?, self.moment(to, day)?),
            [from_day, from, to_day, to] => (
                self.moment(&format!("{from_day} {from}"), day)?,
                self.moment(&format!("{to_day} {to}"), day)?,
            ),
            _ => {
                return Err(Refusal::new("A wait has a beginning and an end.")
                    .help("Type both, as the sheet says: 09:00 09:20"));
            }
        };
        let mut gone = to.begins().duration_since(from.begins());
        let mut until = to;
        if gone.is_negative() && parts.len() == 2 {
            until = Moment { date: to.date.tomorrow().unwrap_or(to.date), ..to };
            gone = gone.saturating_add(SignedDuration::from_hours(24));
        }
        if gone.as_secs() < seconds {
            return Err(Refusal::new(format!(
                "By the sheet it was waited for {}; it must be {}.",
                in_words(gone.as_secs().max(0)),
                in_words(seconds)
            ))
            .help("If it was not waited so long, leave the step out with that reason: skip \"why\"."));
        }
        let step = self.name_of(step);
        let (started, done) = (Some(from.to_string()), Some(until.to_string()));
        self.emit(Event::WaitStarted { step: step.clone(), text: words.clone(), at: started });
        self.emit(Event::WaitDone { step, text: words, at: done });
        Ok(())
    }

    fn sheet_of(&self, step: StepId, reading: ValueId) -> Option<&Sheet> {
        self.state.step(step).attempt()?.sheet(reading)
    }

    // -------------------------------------------------------------------------------------------- for `verify`

    /// What stood on paper has its page before it, and no time that had not come when it was typed in.
    pub(super) fn misplaced_paper(&self, event: &Event) -> Option<String> {
        let (step, number, time) = match event {
            Event::Sheet { taken, .. } => return self.not_come(taken),
            Event::Entered(entry) | Event::NotRead(entry) | Event::Observed(entry) => {
                let Entry { step, number, how: How::Sheet, .. } = entry else { return None };
                (step, Some(*number as usize), None)
            }
            Event::SeriesStarted { step, at: Some(at), .. }
            | Event::WaitStarted { step, at: Some(at), .. }
            | Event::WaitDone { step, at: Some(at), .. } => (step, None, Some(at)),
            _ => return None,
        };
        let step = self.directory.step(step)?;
        let number = number.unwrap_or_else(|| self.number_of(step));
        let has_page =
            self.state.page.as_ref().is_some_and(|page| (page.step, page.attempt) == (step, number));
        if !has_page {
            return Some(format!("a line `sheet` of {} before it", self.name_of(step)));
        }
        time.and_then(|time| self.not_come(time))
    }

    fn not_come(&self, time: &str) -> Option<String> {
        let Some(moment) = Moment::parse(time) else { return Some("a day and a time".to_owned()) };
        let is_later = self.state.local.is_some_and(|now| moment.begins() > now);
        is_later.then(|| "a time that had come when it was typed in".to_owned())
    }
}

fn needs_a_time(what: &str) -> Refusal {
    Refusal::new(what).help("Type day and time as the sheet says, such as 2026-03-02 09:40")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_read_as_it_is_written_and_comes_back_from_the_record() {
        let day = "2026-03-02".parse().ok();
        let read = |typed: &str| Moment::typed(typed, day).map(|moment| moment.to_string());
        assert_eq!(read("2026-03-01 9:40").as_deref(), Some("2026-03-01T09:40:00"));
        assert_eq!(read("9.40").as_deref(), Some("2026-03-02T09:40:00"));
        assert_eq!(read("2026-03-01").as_deref(), Some("2026-03-01"));
        for bad in ["25:00", "9:40 2026-03-02", "940", "yesterday", "9:4:5:6"] {
            assert_eq!(read(bad), None, "{bad}");
        }
        for text in ["2026-03-01T09:40:00", "2026-03-01"] {
            assert_eq!(Moment::parse(text).map(|moment| moment.to_string()).as_deref(), Some(text));
        }
        assert_eq!(Moment::parse("2026-03-01T09:40"), None, "one time has one form");
    }

    #[test]
    fn a_time_without_a_day_needs_one() {
        assert_eq!(Moment::typed("9:40", None), None);
    }
}
