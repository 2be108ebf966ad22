//! The loop of a walk: question, line, answer, record, reply. Each event is on the disk before anything more is shown.
//!
//! Knows no files and no terminal: machine, writer, console and clock are handed in, so that a test walks in memory.

use std::collections::HashSet;
use std::fmt;
use std::io;
use std::rc::Rc;
use std::time::Duration;

use super::brought::Brought;
use super::clock::Clock;
use super::console::{Console, Shown, Typed};
use super::failure::Failure;
use super::interruption::RoomAsked;
use super::layout;
use super::show;
use super::witness::Keys;
use super::words::{bare_word, command_word, file_name};
use crate::check::program::StepId;
use crate::quantity::Unit;
use crate::record::signature::SigningKey;
use crate::record::{Store, Writer};
use crate::report::clean;
use crate::walk::event::{Event, SeriesEnd};
use crate::walk::machine::{Machine, Reply, Status};
use crate::walk::question::{Expects, Question, Refusal};

/// How a walk ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// With its verdict; it can be signed.
    Closed,
    /// It goes on later.
    Paused,
    /// A line of answers that nobody sees being refused was refused; it goes on later.
    OutOfStep,
}

/// Why a walk was left whose answers no longer fit what is asked.
pub(super) const OUT_OF_STEP: &str = "a line of the answers was refused";

/// Answers in place of a keyboard that look at the machine: a rehearsal. None: nothing more to say.
pub type Script<'a> = &'a mut dyn FnMut(&mut Machine) -> Option<String>;

/// All that a walk needs.
pub struct Session<'a, S> {
    pub machine: Machine,
    pub writer: Writer<S>,
    pub console: &'a mut dyn Console,
    pub clock: &'a dyn Clock,
    /// SHA-256 of a picture's file.
    pub photos: &'a dyn Fn(&str) -> io::Result<String>,
    /// The key of a witness. None: nobody signs at a hold.
    pub keys: Option<Keys<'a>>,
    /// Of the witness of the hold that is being put on the record.
    pub(super) witness: Option<SigningKey>,
    pub script: Option<Script<'a>>,
    /// The unit of a number that a gauge sends without one.
    pub gauge_unit: Option<Unit>,
    /// The time of what is being done: one for the machine and the record.
    time: String,
    closing: bool,
    /// Left while it was taken up, and why.
    pub(super) left: Option<&'static str>,
    shown: Option<(StepId, u32)>,
    briefed: HashSet<(StepId, u32)>,
    section: Option<String>,
    /// The question that the last line of the keyboard answered.
    answered: Option<Question>,
    /// The two lists of the exit, as last shown.
    status: Option<Status>,
    /// What was refused last.
    pub(super) refusal: Option<Refusal>,
}

impl<S> fmt::Debug for Session<'_, S> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Session").field("machine", &self.machine).finish_non_exhaustive()
    }
}

/// What came of one typed line.
enum Step {
    GoOn,
    End(Ending),
}

impl<'a, S: Store> Session<'a, S> {
    pub fn new(
        machine: Machine,
        writer: Writer<S>,
        console: &'a mut dyn Console,
        clock: &'a dyn Clock,
        photos: &'a dyn Fn(&str) -> io::Result<String>,
    ) -> Self {
        Self {
            machine,
            writer,
            console,
            clock,
            photos,
            keys: None,
            witness: None,
            script: None,
            gauge_unit: None,
            time: String::new(),
            closing: false,
            left: None,
            shown: None,
            briefed: HashSet::new(),
            section: None,
            answered: None,
            status: None,
            refusal: None,
        }
    }

    /// Looks at the clock for what comes next.
    pub fn tick(&mut self) {
        self.time = self.clock.stamp();
        self.machine.set_time(&self.time);
    }

    /// Begins a fresh record with its first line.
    pub fn open(&mut self, opened: Event) -> Result<(), Failure> {
        self.tick();
        let reply = self.machine.open(opened);
        self.commit(reply, "")
    }

    /// Puts on the record what was brought along.
    pub fn bring(&mut self, brought: &Brought) -> Result<(), Failure> {
        if let Some((kit, _)) = &brought.kit {
            self.machine.bring(Rc::clone(kit));
        }
        let Some(before) = &brought.before else { return Ok(()) };
        let reply = self.machine.take_over(&before.machine, &before.summary);
        self.commit(reply, "")
    }

    /// Asks until the walk is closed or left.
    pub fn run(&mut self) -> Result<Ending, Failure> {
        if let Some(reason) = self.left {
            return self.pause(reason);
        }
        loop {
            if self.is_out_of_step() {
                return self.pause(OUT_OF_STEP);
            }
            self.tick();
            let question = self.machine.question();
            self.show_question(&question)?;
            let typed = match self.read(&question)? {
                Typed::Line(line) => line,
                Typed::Unreadable(reason) => {
                    let refusal = Refusal::new(format!("{reason}.")).help("Type it again.");
                    self.refused(refusal)?;
                    continue;
                }
                Typed::End => return self.pause("end of input"),
                Typed::Interrupted => return self.pause("Ctrl-C"),
                Typed::Gauge { line, late } => {
                    self.take_from_gauge(&question, &line, late)?;
                    continue;
                }
                Typed::GaugeNews(news) => {
                    let width = self.console.width();
                    self.console.show(&layout::plain(&news.text, width, news.mark(), "  "))?;
                    continue;
                }
                Typed::Due | Typed::Resized => continue,
            };
            self.answered = Some(question.clone());
            match self.take(&question, &typed)? {
                Step::GoOn => {}
                Step::End(ending) => return Ok(ending),
            }
        }
    }

    /// Where a walk goes on, before anything is asked.
    pub(super) fn show_where(&mut self) -> Result<(), Failure> {
        let width = self.console.width();
        let stops = "A stop stands, and nothing that runs the machine goes on:";
        let mut lines = layout::list(stops, &self.machine.stops(), width);
        lines.iter_mut().for_each(|line| line.strong = true);
        lines.extend(layout::list("Goes on by the clock:", &self.machine.status().going_on, width));
        lines.extend(layout::here(&self.machine.question(), width));
        Ok(self.console.show(&lines)?)
    }

    fn read(&mut self, question: &Question) -> Result<Typed, Failure> {
        let Some(script) = &mut self.script else {
            let due = self.machine.seconds_to_due().map(Duration::from_secs);
            return Ok(self.console.read(due)?);
        };
        let typed = match script(&mut self.machine) {
            Some(typed) => typed,
            // A script that has come to the end of the walk closes it, or leaves it if that is refused.
            None if question.expects == Expects::Nothing && !self.closing => {
                self.closing = true;
                "sign".to_owned()
            }
            None => return Ok(Typed::End),
        };
        let shown = format!("{}{}", super::console::PROMPT, clean(&typed));
        self.console.show(&[Shown::plain(shown)])?;
        Ok(Typed::Line(typed))
    }

    fn take(&mut self, question: &Question, typed: &str) -> Result<Step, Failure> {
        if let Some(refusal) = bare_word(question, typed, &self.machine) {
            self.refused(refusal)?;
            return Ok(Step::GoOn);
        }
        let word = command_word(question, typed);
        match word.as_deref() {
            Some("pause") => return self.pause("asked for").map(Step::End),
            Some(line) if line == "show" || line.starts_with("show ") => {
                self.show(typed.split_once(char::is_whitespace).map_or("", |(_, name)| name).trim())?;
                return Ok(Step::GoOn);
            }
            Some(asked) if matches!(asked.split_whitespace().next(), Some("help" | "?")) => {
                let width = self.console.width();
                self.console.show(&layout::help(&question.expects, width))?;
                return Ok(Step::GoOn);
            }
            Some("") if self.machine.state().closed.is_some() => return Ok(Step::End(Ending::Closed)),
            Some("sign" | "close") if question.expects == Expects::Nothing => return self.close(),
            Some("sign" | "close") => {
                let refusal = Refusal::new("The walk is not at its end: something is still asked.").help(
                    "Answer it, or leave the step out with its reason: skip \"why\". pause leaves the walk.",
                );
                self.refused(refusal)?;
                return Ok(Step::GoOn);
            }
            _ => {}
        }
        let typed = match self.take_key(typed) {
            Ok(typed) => typed,
            Err(refusal) => {
                self.refused(refusal)?;
                return Ok(Step::GoOn);
            }
        };
        self.time = self.clock.stamp();
        self.machine.set_answer_time(&self.time);
        let is_not_read = typed.trim().to_lowercase().starts_with("not read");
        let is_photo =
            question.expects == Expects::Photo && !typed.trim().is_empty() && word.is_none() && !is_not_read;
        let answer = match self.machine.photo_named(typed) {
            _ if is_photo => self.photo(file_name(typed)),
            Some(file) => self.line_with_photo(typed, &file),
            None => self.machine.answer(typed),
        };
        match answer {
            Ok(reply) => {
                self.ask_key(&reply)?;
                self.commit(reply, typed)?;
            }
            Err(refusal) => self.refused(refusal)?,
        }
        self.witness = None;
        Ok(Step::GoOn)
    }

    fn show(&mut self, name: &str) -> Result<(), Failure> {
        let width = self.console.width();
        let lines = match name {
            "" => show::walk(&self.machine, width),
            name => match show::named(&self.machine, name, width) {
                Ok(lines) => lines,
                Err(refusal) => return self.refused(refusal),
            },
        };
        Ok(self.console.show(&lines)?)
    }

    fn photo(&mut self, file: &str) -> Result<Reply, Refusal> {
        let digest = self.digest_of_photo(
            file,
            "Type its name as seen from this folder, such as pictures/plate.jpg. If there is none: not read \"why\".",
        )?;
        self.machine.photo(file, &digest)
    }

    fn line_with_photo(&mut self, typed: &str, file: &str) -> Result<Reply, Refusal> {
        let help = match typed.trim_start_matches(':').starts_with("correct") {
            true => "Nothing was corrected. Type it again with the name as seen from this folder.",
            false => {
                "Nothing was noted. Type it again with the name as seen from this folder: defect \"what\" photo \
                 pictures/drain.jpg. Or without a picture: defect \"what\"."
            }
        };
        let digest = self.digest_of_photo(file, help)?;
        self.machine.answer_with_photo(typed, &digest)
    }

    fn digest_of_photo(&self, file: &str, help: &str) -> Result<String, Refusal> {
        (self.photos)(file).map_err(|fault| {
            let reason = match fault.kind() {
                io::ErrorKind::NotFound => "there is no such file".to_owned(),
                _ => fault.to_string(),
            };
            Refusal::new(format!("The picture {} cannot be read: {reason}.", clean(file))).help(help)
        })
    }

    fn close(&mut self) -> Result<Step, Failure> {
        if self.machine.state().closed.is_some() {
            return Ok(Step::End(Ending::Closed));
        }
        self.tick();
        match self.machine.close() {
            Ok(reply) => {
                self.commit(reply, "sign")?;
                Ok(Step::End(Ending::Closed))
            }
            Err(refusal) => {
                self.refused(refusal)?;
                Ok(Step::GoOn)
            }
        }
    }

    /// Leaves the walk in good order. That it was left is worth a line, but nothing rests on it.
    fn pause(&mut self, reason: &str) -> Result<Ending, Failure> {
        let ending = if reason == OUT_OF_STEP { Ending::OutOfStep } else { Ending::Paused };
        if self.machine.state().closed.is_some() {
            return Ok(if reason == "end of input" { Ending::Closed } else { ending });
        }
        self.tick();
        if self.machine.question().expects == Expects::TakeOrRetype {
            let width = self.console.width();
            let text = "What was said back last is not confirmed. It stands on the record as typed, and is said back again when the walk goes on.";
            self.console.show(&layout::plain(text, width, "! ", "  "))?;
        }
        // Who is asked to leave can look at the thermometer; who pulls the plug cannot.
        let asks = reason == "asked for" && self.machine.has_readings() && !self.machine.is_from_paper();
        let temperature = match asks && self.left.is_none() {
            true => match self.ask_room("Before you go: the temperature of the room")? {
                RoomAsked::Measured(answer) => Some(answer),
                RoomAsked::NotMeasured | RoomAsked::Left(_) => None,
            },
            false => None,
        };
        self.tick();
        let reply = self.machine.paused(reason, temperature);
        self.commit(reply, "pause")?;
        Ok(ending)
    }

    /// A press of the gauge answers the question that stood when it came, or none.
    fn take_from_gauge(&mut self, question: &Question, line: &str, late: bool) -> Result<(), Failure> {
        let Some(unit) = self.gauge_unit else { return Ok(()) };
        if late && self.answered.as_ref() != Some(question) {
            let message =
                format!("The gauge sent \"{}\" while the answer before was being typed.", clean(line.trim()));
            return self.refused_by_gauge(&Refusal::new(message).help("If it belongs here, press again."));
        }
        self.time = self.clock.stamp();
        self.machine.set_answer_time(&self.time);
        match self.machine.gauge(line, unit) {
            Ok(reply) => self.commit(reply, line),
            Err(refusal) => self.refused_by_gauge(&refusal),
        }
    }

    /// A press that is refused puts no line of the answers out of step.
    fn refused_by_gauge(&mut self, refusal: &Refusal) -> Result<(), Failure> {
        let width = self.console.width();
        Ok(self.console.show(&layout::refusal(refusal, width))?)
    }

    pub(super) fn refused(&mut self, refusal: Refusal) -> Result<(), Failure> {
        let width = self.console.width();
        self.console.show(&layout::refusal(&refusal, width))?;
        self.refusal = Some(refusal);
        Ok(())
    }

    /// Whether the next line of the answers may meet a question that it was not meant for.
    pub(super) fn is_out_of_step(&self) -> bool {
        self.refusal.is_some() && self.console.line_of_answers().is_some()
    }

    /// Puts a reply on the record, event by event, then shows what is said.
    pub fn commit(&mut self, reply: Reply, typed: &str) -> Result<(), Failure> {
        let time = self.time.clone();
        for event in reply.events {
            let event = self.witnessed(&time, event)?;
            let held = matches!(event, Event::Held { signed: Some(_), .. }).then(|| event.clone());
            self.append(&time, event, typed)?;
            if let Some(held) = held {
                self.show_witness(&held)?;
            }
        }
        if !reply.said.is_empty() {
            let width = self.console.width();
            self.console.show(&layout::said(&reply.said, width))?;
        }
        Ok(())
    }

    /// A full disk is no reason to lose what was typed: it is asked whether to try again.
    fn append(&mut self, time: &str, event: Event, typed: &str) -> Result<(), Failure> {
        loop {
            let fault = match self.writer.append(time, maker(&event), event.clone()) {
                Ok(_) => return Ok(()),
                Err(fault) => fault,
            };
            if self.console.is_interactive()
                && let Some(text) = fault.to_be_tried_again()
                && self.asked_to_try_again(&text)?
            {
                continue;
            }
            let typed = typed.trim();
            let nothing_lost = typed.is_empty() || typed.trim_start_matches(':') == "pause";
            let lost = if nothing_lost { String::new() } else { format!(" Typed last: {}", clean(typed)) };
            return Err(Failure::environment(format!("{fault}.{lost}")));
        }
    }

    fn asked_to_try_again(&mut self, fault: &str) -> Result<bool, Failure> {
        let width = self.console.width();
        let text =
            format!("{fault}\nWhen that is mended, Enter writes it; pause leaves the walk without it.");
        self.console.show(&layout::plain(&text, width, "! ", "  "))?;
        loop {
            match self.console.read_keys()? {
                Typed::Line(line) if line.trim().is_empty() => return Ok(true),
                Typed::Line(line) if line.trim().trim_start_matches(':') != "pause" => {
                    // Whatever else is typed is meant for the question, which has to wait.
                    let text = format!(
                        "\"{}\" has to wait: what was typed before it is not written yet. Enter writes it, once there is a \
                         place for it; pause leaves the walk without it.",
                        clean(line.trim())
                    );
                    self.console.show(&layout::plain(&text, width, "! ", "  "))?;
                }
                _ => return Ok(false),
            }
        }
    }

    fn show_question(&mut self, question: &Question) -> Result<(), Failure> {
        let width = self.console.width();
        let mut lines = Vec::new();
        if let Some(place) = &question.place
            && self.shown != Some((place.step, place.attempt))
        {
            let here = (place.step, place.attempt);
            // Between the rows of a series one goes to and fro: what was shown once is not shown each time.
            if self.machine.is_series_running() && self.briefed.contains(&here) {
                lines.extend(layout::back_at(place, width));
            } else {
                let briefing = self.machine.briefing(place.step);
                let new_section = briefing.section != self.section;
                lines.extend(layout::briefing(place, &briefing, new_section, width));
                self.section.clone_from(&briefing.section);
            }
            self.briefed.insert(here);
            self.shown = Some(here);
        }
        if question.expects == Expects::Nothing {
            let status = self.machine.status();
            if self.status.as_ref() != Some(&status) {
                lines.extend(layout::exit(&status, width));
                self.status = Some(status);
            }
        }
        lines.extend(layout::question(question, width));
        if question.expects == Expects::Nothing && self.machine.state().closed.is_none() {
            let text = "sign closes the walk and asks for signatures; help lists the other words";
            lines.extend(layout::plain(text, width, "  ", "    "));
        }
        Ok(self.console.show(&lines)?)
    }
}

/// Whose entry it is: what follows from others is written by the program.
pub(super) fn maker(event: &Event) -> &str {
    match event {
        Event::Judged(_) | Event::Changed { .. } | Event::Withdrawn { .. } | Event::Cleared { .. } => {
            "bedway"
        }
        Event::Stopped { by_hand: false, .. } | Event::Closed { .. } => "bedway",
        Event::PreviousValue { .. } | Event::PreviousInstrument(_) | Event::PreviousMove { .. } => "bedway",
        Event::SeriesEnded { because: SeriesEnd::Met | SeriesEnd::Time, .. } => "bedway",
        Event::Held { party, .. } | Event::Accepted { party, .. } | Event::Waived { party, .. }
            if !party.is_empty() =>
        {
            party
        }
        _ => "operator",
    }
}
