//! What was said beside the entries, with its parts: what was moved, notes, defects, reasons, names. Each stands on a line
//! of its own and can be put right by a later line; what it was stays, struck out, with the reason.

use serde::{Deserialize, Serialize};

use crate::check::program::{SaidKind, SaidPart};

use super::event::{Alteration, Answer, Event, InstrumentCard};

/// Line `of` was said wrong.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PutRight {
    pub of: u64,
    pub part: SaidPart,
    /// Of what was moved: all of it, as it should have been said. None: it never happened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub now: Option<Alteration>,
    /// Of an instrument: all of it, as it should have been said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card: Option<Box<InstrumentCard>>,
    /// Of anything else: what takes the place of that part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answer: Option<Answer>,
    pub reason: String,
}

/// Something that was said, as it stands now.
#[derive(Clone, Debug)]
pub struct Saying {
    pub kind: SaidKind,
    /// Of defects, also mended and accepted ones, their number; else counted from 1 through the walk.
    pub number: u32,
    /// The line that said it.
    pub line: u64,
    pub event: Event,
    /// What stood there before, oldest first.
    pub was: Vec<Was>,
    /// The line that struck it out as a whole.
    pub never: Option<u64>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Was {
    pub part: SaidPart,
    /// In words; empty where nothing was said.
    pub text: String,
    /// As it was given first.
    pub reason: String,
    /// The line that put it right.
    pub by: u64,
}

/// Why a line corrects another; None: that line is not counted among the corrections.
pub fn reason(sayings: &[Saying], line: u64) -> Option<&str> {
    sayings.iter().find(|it| it.line == line).and_then(|it| match &it.event {
        Event::Corrected { reason, .. } | Event::PutRight(PutRight { reason, .. }) => Some(reason.as_str()),
        _ => None,
    })
}

impl Saying {
    /// The step that it speaks of.
    pub fn step(&self) -> Option<&str> {
        match &self.event {
            Event::Adjusted(Alteration { step, .. })
            | Event::Noted { step: Some(step), .. }
            | Event::Defect { step: Some(step), .. }
            | Event::Skipped { step, .. }
            | Event::Waived { step, .. }
            | Event::Stopped { step, .. }
            | Event::Broken { step, .. }
            | Event::Justified { step, .. }
            | Event::SetOpened { step, .. }
            | Event::Held { step, .. }
            | Event::Performed { step, .. } => Some(step),
            _ => None,
        }
    }

    /// `move 1 torque`, as `correct` takes it.
    pub fn target(&self, part: SaidPart) -> String {
        let word = word_of(&self.event, part);
        let word = if word.is_empty() { String::new() } else { format!(" {word}") };
        format!("{} {}{word}", self.kind.word(), self.number)
    }
}

/// Which word of the prompt says such a line; none: it is no saying.
pub fn kind_of(event: &Event) -> Option<SaidKind> {
    Some(match event {
        Event::Adjusted(_) => SaidKind::Move,
        Event::Noted { .. } => SaidKind::Note,
        Event::Defect { .. } => SaidKind::Defect,
        Event::Mended { .. } => SaidKind::Mended,
        Event::Accepted { .. } => SaidKind::Accepted,
        Event::Skipped { .. } => SaidKind::Skip,
        Event::Waived { .. } => SaidKind::Waive,
        Event::Stopped { by_hand: true, .. } => SaidKind::Stop,
        Event::Broken { .. } => SaidKind::Break,
        Event::Justified { .. } => SaidKind::Justify,
        Event::Kept { .. } => SaidKind::Keep,
        Event::SetOpened { reason: Some(_), .. } => SaidKind::Remeasure,
        Event::Held { .. } => SaidKind::Held,
        Event::Performed { .. } => SaidKind::By,
        Event::Person { .. } => SaidKind::Person,
        Event::Reopened { .. } => SaidKind::Reopen,
        Event::Instrument(_) => SaidKind::Instrument,
        // Another reason of a correction is said of that, however often.
        Event::PutRight(by) if by.part == SaidPart::Reason => return None,
        Event::Corrected { .. } | Event::PutRight(_) => SaidKind::Correction,
        Event::Paused { temperature: Some(_), .. } | Event::Resumed { temperature: Some(_), .. } => {
            SaidKind::Room
        }
        _ => return None,
    })
}

/// The number of a defect that a line speaks of.
pub fn number_of(event: &Event) -> Option<u32> {
    match event {
        Event::Defect { number, .. } | Event::Mended { number, .. } | Event::Accepted { number, .. } => {
            Some(*number)
        }
        _ => None,
    }
}

/// The parts of a line in words, the chief one first.
pub fn parts(event: &Event) -> Vec<(SaidPart, String)> {
    use SaidPart::{Amount, At, By, Name, Photo, Torque, Toward, Words};
    let words = |text: &String| vec![(Words, text.clone())];
    let name = |name: &String| vec![(Name, name.clone())];
    match event {
        Event::Adjusted(moved) => {
            let amount = moved.amount.as_ref().map(|it| (Amount, it.in_words()));
            let remark = moved.what.clone().map(|it| (Words, it));
            let (first, second) = match moved.adjustment {
                Some(_) => (amount, remark),
                None => (remark, amount),
            };
            let at = (!moved.stations.is_empty()).then(|| (At, moved.stations.join(", ")));
            let toward = moved.toward.clone().map(|it| (Toward, it));
            let torque = moved.torque.as_ref().map(|it| (Torque, it.in_words()));
            let by = moved.by.clone().map(|it| (By, it));
            [first, second, at, toward, torque, by].into_iter().flatten().collect()
        }
        Event::Instrument(card) => {
            let until = card.calibrated_until.clone().map(|it| (SaidPart::Until, it));
            [(SaidPart::Number, card.number.clone())].into_iter().chain(until).collect()
        }
        Event::Defect { text, photo, .. } => {
            let photo = photo.as_ref().map(|it| (Photo, it.value.clone()));
            words(text).into_iter().chain(photo).collect()
        }
        Event::Accepted { reason, name, .. } => {
            let reason = reason.clone().map(|it| (Words, it));
            reason.into_iter().chain([(By, name.clone())]).collect()
        }
        Event::Waived { reason, name, .. } => vec![(Words, reason.clone()), (By, name.clone())],
        Event::Noted { text, .. } | Event::Mended { text, .. } | Event::Stopped { text, .. } => words(text),
        Event::Skipped { reason, .. }
        | Event::Broken { reason, .. }
        | Event::Justified { reason, .. }
        | Event::Kept { reason, .. }
        | Event::SetOpened { reason: Some(reason), .. }
        | Event::Reopened { reason } => words(reason),
        Event::Corrected { reason, .. } | Event::PutRight(PutRight { reason, .. }) => {
            vec![(SaidPart::Reason, reason.clone())]
        }
        Event::Paused { temperature: Some(answer), .. }
        | Event::Resumed { temperature: Some(answer), .. } => {
            vec![(SaidPart::Temperature, answer.in_words())]
        }
        Event::Held { name: who, .. }
        | Event::Performed { name: who, .. }
        | Event::Person { name: who, .. } => name(who),
        _ => Vec::new(),
    }
}

/// The word for a part behind `move 1`; empty for the chief one.
pub fn word_of(event: &Event, part: SaidPart) -> &'static str {
    let is_named = matches!(event, Event::Adjusted(Alteration { adjustment: Some(_), .. }));
    match part {
        SaidPart::Amount if is_named => "",
        SaidPart::Amount => "moved",
        SaidPart::Words if is_named => "remark",
        SaidPart::Photo => "photo",
        SaidPart::At => "at",
        SaidPart::Which => "which",
        SaidPart::Toward => "toward",
        SaidPart::Torque => "torque",
        SaidPart::By => "by",
        SaidPart::Until => "calibrated until",
        SaidPart::Whole | SaidPart::Words | SaidPart::Name => "",
        SaidPart::Number | SaidPart::Reason | SaidPart::Temperature => "",
    }
}

/// The part that is meant; None: such a line has no such part.
pub fn part_of(event: &Event, word: Option<&str>) -> Option<SaidPart> {
    use SaidPart::{Amount, At, By, Photo, Torque, Toward, Which, Words};
    let usable: &[SaidPart] = match event {
        Event::Adjusted(Alteration { adjustment: Some(_), .. }) => {
            &[Amount, Words, At, Which, Toward, Torque, By]
        }
        Event::Adjusted(_) => &[Words, Amount, At, Toward, Torque, By],
        Event::Defect { .. } => &[Words, Photo],
        Event::Accepted { .. } | Event::Waived { .. } => &[Words, By],
        Event::Held { .. } | Event::Performed { .. } | Event::Person { .. } => &[SaidPart::Name],
        Event::Instrument(_) => &[SaidPart::Number, SaidPart::Until],
        Event::Corrected { .. } | Event::PutRight(_) => &[SaidPart::Reason],
        Event::Paused { .. } | Event::Resumed { .. } => &[SaidPart::Temperature],
        _ => &[Words],
    };
    usable.iter().copied().find(|part| word_of(event, *part) == word.unwrap_or_default())
}

/// The words that name the parts of such a line.
pub fn part_words(event: &Event) -> Vec<&'static str> {
    use SaidPart::{Amount, At, By, Photo, Torque, Toward, Which, Words};
    // Of an adjustment the sign of its amount says which way.
    let signed = matches!(event, Event::Adjusted(Alteration { adjustment: Some(_), .. }));
    let all = [Amount, Words, At, Which, Toward, Torque, By, Photo, SaidPart::Until];
    let all = all.into_iter().filter(|part| !(signed && *part == Toward));
    let own = all.map(|part| word_of(event, part)).filter(|word| !word.is_empty());
    own.filter(|word| part_of(event, Some(word)).is_some()).collect()
}

/// The line as it should have been; what never happened stays as it was said.
pub fn put_right(event: &Event, by: &PutRight) -> Event {
    let mut event = event.clone();
    let Some(answer) = &by.answer else {
        if let (Event::Adjusted(moved), Some(now)) = (&mut event, &by.now) {
            moved.clone_from(now);
        }
        if let (Event::Instrument(card), Some(now)) = (&mut event, &by.card) {
            card.clone_from(now);
        }
        return event;
    };
    let text = answer.value.clone();
    match (&mut event, by.part) {
        (Event::Defect { photo, .. }, SaidPart::Photo) => *photo = Some(answer.clone()),
        (Event::Accepted { name, .. } | Event::Waived { name, .. }, SaidPart::By) => *name = text,
        (Event::Accepted { reason, .. }, _) => *reason = Some(text),
        (Event::Paused { temperature, .. } | Event::Resumed { temperature, .. }, _) => {
            *temperature = Some(answer.clone());
        }
        (Event::SetOpened { reason, .. }, _) => *reason = Some(text),
        (
            Event::Noted { text: old, .. }
            | Event::Defect { text: old, .. }
            | Event::Mended { text: old, .. }
            | Event::Stopped { text: old, .. }
            | Event::Skipped { reason: old, .. }
            | Event::Waived { reason: old, .. }
            | Event::Broken { reason: old, .. }
            | Event::Justified { reason: old, .. }
            | Event::Kept { reason: old, .. }
            | Event::Held { name: old, .. }
            | Event::Performed { name: old, .. }
            | Event::Person { name: old, .. }
            | Event::Reopened { reason: old }
            | Event::Corrected { reason: old, .. }
            | Event::PutRight(PutRight { reason: old, .. }),
            _,
        ) => *old = text,
        _ => {}
    }
    event
}

/// What stood there before it was put right; empty where nothing was said.
pub fn was(event: &Event, by: &PutRight) -> String {
    let part = |part: SaidPart| parts(event).into_iter().find(|(it, _)| *it == part).map(|(_, text)| text);
    match (by.part, &by.card) {
        (SaidPart::Which, _) => which_in_words(event),
        // With another number came its own date.
        (SaidPart::Number, Some(now)) => {
            let until = part(SaidPart::Until).filter(|it| Some(it) != now.calibrated_until.as_ref());
            let until = until.map(|it| format!(", calibrated until {it}")).unwrap_or_default();
            part(SaidPart::Number).unwrap_or_default() + &until
        }
        (own, _) => part(own).unwrap_or_default(),
    }
}

/// `L3.shim[front]` of what was moved.
pub fn which_in_words(event: &Event) -> String {
    let Event::Adjusted(Alteration { step, adjustment: Some(name), stations, .. }) = event else {
        return String::new();
    };
    let at = if stations.is_empty() { String::new() } else { format!("[{}]", stations.join(", ")) };
    format!("{step}.{name}{at}")
}
