//! Which way a value points, and where that carries over from one value to the next.
//!
//! A sense is carried only where a rebuilder would carry it without a second thought; everywhere else it is lost
//! until the lines beneath a `let` say it again.

use crate::diagnostic::{Code, Problem};
use crate::quantity::Sense;
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Direction {
    /// Plus and minus have these words.
    Words(Sense),
    /// Never below zero, or said to be without direction.
    Unsigned,
    /// Has no direction to lose: a literal, a fact, a speed.
    Plain,
    /// Had one, and it is not clear any more which.
    Lost,
}

impl Direction {
    pub fn words(&self) -> Option<&Sense> {
        match self {
            Direction::Words(sense) => Some(sense),
            _ => None,
        }
    }

    pub fn turned(&self) -> Direction {
        match self {
            Direction::Words(sense) => Direction::Words(sense.flipped()),
            Direction::Unsigned | Direction::Lost => Direction::Lost,
            Direction::Plain => Direction::Plain,
        }
    }

    pub fn plus(&self, other: &Direction) -> Direction {
        use Direction::{Lost, Plain, Unsigned, Words};
        match (self, other) {
            (Words(a), Words(b)) if a == b => Words(a.clone()),
            (Words(a), Plain | Unsigned) | (Plain | Unsigned, Words(a)) => Words(a.clone()),
            (Unsigned, Unsigned) => Unsigned,
            (Plain, Plain | Unsigned) | (Unsigned, Plain) => Plain,
            (Words(_), Words(_)) | (Lost, _) | (_, Lost) => Lost,
        }
    }

    /// The first against the second.
    pub fn minus(&self, other: &Direction) -> Direction {
        use Direction::{Lost, Plain, Unsigned, Words};
        match (self, other) {
            (Words(a), Words(b)) if a == b => Words(a.clone()),
            (Words(a), Plain | Unsigned) => Words(a.clone()),
            (Plain, Plain) => Plain,
            (Words(_), Words(_)) | (Plain, Words(_) | Unsigned) | (Unsigned, _) | (Lost, _) | (_, Lost) => {
                Lost
            }
        }
    }

    /// By a factor without direction that is above zero, below it, or of unknown sign.
    pub fn times(&self, factor: &Direction, positive: Option<bool>) -> Direction {
        use Direction::{Lost, Plain, Unsigned};
        match (self, factor, positive) {
            (Plain, Plain | Unsigned, _) => Plain,
            (Unsigned, Unsigned, _) => Unsigned,
            (_, Plain, Some(true)) => self.clone(),
            (_, Plain, Some(false)) => self.turned(),
            _ => Lost,
        }
    }
}

impl Checker<'_> {
    /// `plus`, `minus`, `unsigned` lines beneath a reading or a `let`. `None`: none of them stands there, or they are
    /// at odds and that has been reported.
    pub(super) fn sense_lines<'l>(
        &mut self,
        of: &str,
        lines: impl Iterator<Item = (Span, SenseLine<'l>)>,
    ) -> Option<(Direction, Span)> {
        let (mut plus, mut minus, mut unsigned) = (None, None, None);
        for (span, line) in lines {
            match line {
                SenseLine::Plus(text) => plus = Some((span, self.sense_words(text))),
                SenseLine::Minus(text) => minus = Some((span, self.sense_words(text))),
                SenseLine::Unsigned => unsigned = Some(span),
            }
        }
        match (plus, minus, unsigned) {
            (None, None, None) => None,
            (None, None, Some(span)) => Some((Direction::Unsigned, span)),
            (Some((at, plus)), Some((below, minus)), None) => {
                let (plus, minus) = (plus?, minus?);
                if plus == minus {
                    self.report(
                        Problem::fault(
                            Code::SenseSameWords,
                            below,
                            format!("plus and minus of `{of}` say the same: \"{plus}\""),
                        )
                        .label("the same words as plus")
                        .help("say which way the part lies when the number is negative"),
                    );
                    return None;
                }
                Some((Direction::Words(Sense::new(plus, minus)), at))
            }
            (Some((at, _)), None, None) => {
                self.one_sided(of, at, "plus", "minus");
                None
            }
            (None, Some((at, _)), None) => {
                self.one_sided(of, at, "minus", "plus");
                None
            }
            (signed, other, Some(at)) => {
                let mut problem = Problem::fault(
                    Code::SenseOneSided,
                    at,
                    format!("`{of}` is said to be unsigned and has words for its sign as well"),
                )
                .label("unsigned here")
                .help("keep either `unsigned` or both `plus` and `minus`");
                if let Some((span, _)) = signed.or(other) {
                    problem = problem.and(span, "and a sign here");
                }
                self.report(problem);
                None
            }
        }
    }

    fn one_sided(&mut self, of: &str, at: Span, said: &str, missing: &str) {
        self.report(
            Problem::fault(
                Code::SenseOneSided,
                at,
                format!("`{of}` says what {said} means, and not what {missing} means"),
            )
            .label(format!("`{missing}` is missing beside this"))
            .help(format!("add a line `{missing} \"...\"`")),
        );
    }

    /// The words of a `plus` or `minus` line; they go into the record as they stand, so no values in them.
    pub(super) fn sense_words(&mut self, text: &ast::Prose) -> Option<String> {
        match text.plain() {
            Some(words) if !words.trim().is_empty() => Some(words.trim().to_string()),
            Some(_) => {
                self.report(
                    Problem::fault(Code::SensePlainWords, text.span, "the words for the sign are empty")
                        .help("say which way the part lies, as \"toward the operator\""),
                );
                None
            }
            None => {
                self.report(
                    Problem::fault(
                        Code::SensePlainWords,
                        text.span,
                        "the words for a sign hold a value in braces",
                    )
                    .label("two senses are the same if their words are, so the words must stand still")
                    .help("write plain words"),
                );
                None
            }
        }
    }
}

/// A sense line, wherever it stands.
pub(super) enum SenseLine<'l> {
    Plus(&'l ast::Prose),
    Minus(&'l ast::Prose),
    Unsigned,
}

pub(super) fn of_let(lines: &[ast::Line<ast::SenseLine>]) -> impl Iterator<Item = (Span, SenseLine<'_>)> {
    lines.iter().map(|line| {
        let sense = match &line.what {
            ast::SenseLine::Plus(text) => SenseLine::Plus(text),
            ast::SenseLine::Minus(text) => SenseLine::Minus(text),
            ast::SenseLine::Unsigned => SenseLine::Unsigned,
        };
        (line.span, sense)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn front() -> Direction {
        Direction::Words(Sense::new("front high", "front low"))
    }

    #[test]
    fn a_difference_of_one_sense_keeps_it_and_of_two_loses_it() {
        let other = Direction::Words(Sense::new("rear high", "rear low"));
        assert_eq!(front().minus(&front()), front());
        assert_eq!(front().minus(&other), Direction::Lost);
        assert_eq!(front().plus(&Direction::Plain), front(), "sag may be added");
        assert_eq!(Direction::Plain.minus(&front()), Direction::Lost);
    }

    #[test]
    fn a_negative_factor_turns_it_round_and_an_unknown_one_loses_it() {
        assert_eq!(front().times(&Direction::Plain, Some(true)), front());
        assert_eq!(front().times(&Direction::Plain, Some(false)), front().turned());
        assert_eq!(front().times(&Direction::Plain, None), Direction::Lost);
        assert_eq!(Direction::Unsigned.turned(), Direction::Lost);
    }
}
