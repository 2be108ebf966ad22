//! `bedway verify`: what a record proves and what it cannot, in plain sentences.

use std::io::Write;
use std::rc::Rc;

use super::args::Verify;
use super::examine::{Examined, examine, read_bytes, read_signers};
use super::failure::{Failure, Status};
use crate::check::program::WalkVerdict;
use crate::record::signature::Standing;
use crate::record::{Digest, Ends, find_end};
use crate::report::{clean, wrapped};
use crate::walk::event::Event;
use crate::walk::machine::Machine;

pub fn run(arguments: &Verify, out: &mut dyn Write) -> Result<Status, Failure> {
    let ends = arguments.ends.as_deref().map(parse_digest).transpose()?;
    let signers = arguments.signers.as_deref().map(read_signers).transpose()?;
    let bytes = read_bytes(&arguments.record)?;
    let before = arguments.previous.as_deref().map(read_bytes).transpose()?;
    let mut findings = Findings::default();
    if let (Some(signers), Some(path)) = (&signers, &arguments.signers) {
        for fault in signers.faults() {
            findings.remark(format!("{}: {fault}", path.display()));
        }
    }
    let examined = examine(bytes, signers.as_ref());
    findings.chain(&examined);
    // Of a file without a single line there is nothing more to say.
    if !examined.record.lines.is_empty() {
        findings.verdicts(&examined);
        findings.before(&examined, before);
        findings.signatures(&examined);
        findings.ends(&examined, ends);
        findings.outcome(&examined, arguments.rehearsal);
    }
    // A damaged record stays one, also where nobody reads to the end of what is said of it.
    match findings.print(out) {
        Err(failure) if !failure.is_broken_pipe() => Err(failure),
        _ => Ok(findings.status()),
    }
}

fn parse_digest(text: &str) -> Result<Digest, Failure> {
    text.trim().to_lowercase().parse().map_err(|_| {
        Failure::usage(
            "--ends needs the SHA-256 that the record ended with: 64 digits 0-9 and a-f".to_owned(),
        )
    })
}

/// Sentences with what they amount to.
#[derive(Debug, Default)]
struct Findings {
    lines: Vec<(&'static str, String)>,
    /// The record is damaged, a verdict wrong, a signature not good.
    bad: bool,
    /// Whole, but not an accepted and signed one.
    not_accepted: bool,
}

impl Findings {
    fn proved(&mut self, text: impl Into<String>) {
        self.lines.push(("proved", text.into()));
    }

    fn not_good(&mut self, text: impl Into<String>) {
        self.bad = true;
        self.lines.push(("NOT GOOD", text.into()));
    }

    fn remark(&mut self, text: impl Into<String>) {
        self.lines.push(("remark", text.into()));
    }

    fn not_proved(&mut self, text: impl Into<String>) {
        self.lines.push(("not proved", text.into()));
    }

    fn chain(&mut self, examined: &Examined) {
        let record = &examined.record;
        let count = record.lines.len();
        match &examined.damage {
            Some(damage) => {
                self.not_good(format!("{damage}. Nothing from there on is believed; {count} lines before it are whole"));
            }
            None => self.proved(format!(
                "All {count} lines are whole and stand in the order in which they were written (each with its own sum and \
                 that of the line before)"
            )),
        }
        if let Some(torn) = &record.torn {
            self.not_good(format!(
                "After line {count} there are {} bytes of a line that was not finished. `bedway walk --resume` sets them \
                 aside",
                torn.bytes.len()
            ));
        }
        for line in &record.clock_went_back {
            self.remark(format!("Line {line}: the clock had been set back"));
        }
    }

    fn verdicts(&mut self, examined: &Examined) {
        match (&examined.program, &examined.replayed) {
            (Err(fault), _) => self.not_good(format!("Verdicts could not be worked out again: {fault}")),
            (Ok(_), Err(mismatch)) => self.not_good(mismatch.clone()),
            (Ok(_), Ok(_)) => {
                let judged = examined
                    .record
                    .lines
                    .iter()
                    .filter(|line| matches!(line.event, Event::Judged(_)))
                    .count();
                let which = if examined.damage.is_some() { "before the damage " } else { "" };
                if judged > 0 || examined.damage.is_none() {
                    self.proved(format!(
                        "All {judged} verdicts {which}come out again from the entries under the procedure frozen in the \
                         record"
                    ));
                }
                if let Some(first) = examined.otherwise.first() {
                    let more = match examined.otherwise.len() - 1 {
                        0 => String::new(),
                        more => format!(", {more} more after it"),
                    };
                    self.remark(format!(
                        "Line {}{more}: figures and verdicts come out, but the words beside them (advice, remarks, reasons) \
                         are not those of this version, {}. They are proved by the chain and the signatures alone",
                        first + 1,
                        env!("CARGO_PKG_VERSION")
                    ));
                }
            }
        }
    }

    /// Whether the record before is the one that is named, and what was lent from it is what it says.
    fn before(&mut self, examined: &Examined, given: Option<Vec<u8>>) {
        let named = match examined.opened() {
            Some(Event::Opened { previous, .. }) => previous.as_deref(),
            _ => None,
        };
        let (named, bytes) = match (named, given) {
            (None, None) => return,
            (None, Some(_)) => {
                return self.not_good("This record names no record before, and one was given (--previous)");
            }
            (Some(named), None) => {
                return self.not_proved(format!(
                    "That what was lent from the record before is what it says: give it with --previous. It ends with {named}"
                ));
            }
            (Some(named), Some(bytes)) => (named, bytes),
        };
        let before = examine(bytes, None);
        let end = before.record.end.to_string();
        if end != named {
            return self.not_good(format!(
                "The record before that is given ends with {end}; this one names {named}: it is another one, or was added to"
            ));
        }
        let (Ok(program), Ok(machine)) = (&examined.program, &before.replayed) else {
            return self.not_good("What was lent from the record before could not be worked out again");
        };
        let is_lent = |event: &&Event| {
            matches!(
                event,
                Event::PreviousValue { .. } | Event::PreviousInstrument(_) | Event::PreviousMove { .. }
            )
        };
        let mut afresh = Machine::new(Rc::clone(program));
        if let Some(opened) = examined.opened() {
            afresh.open(opened.clone());
        }
        let afresh = afresh.take_over(machine, "").events;
        let afresh: Vec<&Event> = afresh.iter().filter(is_lent).collect();
        let lent = examined.record.lines.iter().map(|line| &line.event).filter(is_lent);
        // An example that was rehearsed may say more of it.
        let lent: Vec<&Event> = match examined.rehearsal() {
            true => lent.take(afresh.len()).collect(),
            false => lent.collect(),
        };
        // One that was written before they carried their U is as good, and nothing rests on it there.
        let is_said = |(afresh, lent): (&&Event, &&Event)| match (*afresh, *lent) {
            (Event::PreviousValue { expanded, .. }, Event::PreviousValue { expanded: none, .. })
                if none.is_empty() && !expanded.is_empty() =>
            {
                let mut plain = (*afresh).clone();
                if let Event::PreviousValue { expanded, .. } = &mut plain {
                    expanded.clear();
                }
                plain == **lent
            }
            (afresh, lent) => afresh == lent,
        };
        let same = afresh.len() == lent.len() && afresh.iter().zip(&lent).all(is_said);
        match same {
            true => self.proved(format!(
                "The record before is the one that is named, and all {} values, instruments and moves lent from it are what it says",
                lent.len()
            )),
            false => self.not_good("What was lent from the record before is not what that record says"),
        }
    }

    fn signatures(&mut self, examined: &Examined) {
        let signatures = &examined.signatures;
        for finding in signatures.holds.iter().chain(&signatures.findings) {
            let text = finding.to_string();
            match finding.standing {
                Standing::Proved { .. } => self.proved(text),
                Standing::KnownOnlyFromRecord => self.not_proved(text),
                Standing::NotAllowed(_) | Standing::Bad(_) => self.not_good(text),
                Standing::NotSigned => self.remark(text),
            }
        }
        for (line, step) in &signatures.unbound_holds {
            self.not_proved(format!(
                "line {line}: that the witness has signed for {step}: an early record, whose signature covers only what \
                 stands before it"
            ));
        }
        for (line, party) in &signatures.shared_keys {
            self.not_proved(format!(
                "line {line}: that another person signed than for {party}: the key is the same"
            ));
        }
        for (line, how) in &signatures.contradictions {
            self.not_good(format!("line {line}: {how}"));
        }
        for added in &signatures.amending.unsigned {
            let (line, by) = (added.line, added.said_by());
            self.not_good(format!("line {line}: an amendment that its author ({by}) has not signed"));
        }
        if let Some((first, last)) = signatures.uncovered {
            self.remark(format!(
                "Lines {first} to {last} stand after the last signature; nobody has signed them"
            ));
        }
        for party in &signatures.missing {
            self.not_accepted = true;
            self.not_proved(format!("Expected to sign and has not: {party}"));
        }
    }

    fn ends(&mut self, examined: &Examined, kept: Option<Digest>) {
        let Some(kept) = kept else {
            self.not_proved(
                "That no whole lines are missing at the end: only a signature or the digest of the end (--ends) shows that",
            );
            return;
        };
        match find_end(&examined.bytes, &examined.record, kept) {
            Ends::Here => self.proved("The record ends as it is said to"),
            Ends::Earlier(line) => {
                self.remark(format!("The record ended so after line {line} and was added to since"));
            }
            Ends::Never => self
                .not_good("The record never ended so: lines were cut from its end, or it is another record"),
        }
    }

    fn outcome(&mut self, examined: &Examined, rehearsal_taken: bool) {
        if examined.rehearsal() {
            self.not_accepted |= !rehearsal_taken;
            let how = if rehearsal_taken { "" } else { " (--rehearsal takes it for what it is)" };
            self.remark(format!(
                "REHEARSAL: nothing was measured. This proves nothing about any machine{how}"
            ));
        }
        match examined.verdict() {
            Some(verdict) => {
                self.not_accepted |= !WalkVerdict::accepts(verdict);
                self.remark(format!("Verdict of the walk: {}", clean(verdict)));
            }
            None => {
                self.not_accepted = true;
                self.remark("The walk is not finished: it has no verdict yet");
            }
        }
        self.remark(format!("SHA-256 of the end: {}", examined.record.end));
    }

    fn print(&self, out: &mut dyn Write) -> Result<(), Failure> {
        for (mark, text) in &self.lines {
            for line in wrapped(&clean(text), 80, &format!("{:<12}", format!("{mark}:")), "            ") {
                writeln!(out, "{line}")?;
            }
        }
        Ok(())
    }

    fn status(&self) -> Status {
        match (self.bad, self.not_accepted) {
            (true, _) => Status::Damaged,
            (false, true) => Status::NotAccepted,
            (false, false) => Status::Well,
        }
    }
}
