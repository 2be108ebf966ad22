//! A typed walk over the tokens of one line, so that lowering names what it takes and never indexes or unwraps.
//!
//! Keywords and punctuation only part things; they are passed over unless they are asked for.

use pest::iterators::{Pair, Pairs};

use super::grammar::{Rule, Tokens, unreadable};
use super::words::is_mark;
use crate::diagnostic::Problem;
use crate::source::Span;

/// What lowering gives: the node, or the one problem of its line.
pub(super) type Lowered<T> = Result<T, Problem>;

pub(super) struct Cursor<'i> {
    pairs: Pairs<'i, Rule>,
    whole: Span,
    base: usize,
}

impl<'i> Cursor<'i> {
    /// Over the parts of `pair`, whose text begins at `base` in the file.
    pub fn new(pair: Pair<'i, Rule>, base: usize) -> Self {
        let whole = span(&pair, base);
        Self { pairs: pair.into_inner(), whole, base }
    }

    /// Over the parts of a whole line.
    pub fn over_line(tokens: Tokens<'i>) -> Self {
        Self::new(tokens.pair, tokens.base)
    }

    /// The whole of what is walked over.
    pub fn span(&self) -> Span {
        self.whole
    }

    pub fn base(&self) -> usize {
        self.base
    }

    /// The next part, if it is of that rule. Marks before it are passed over.
    pub fn maybe(&mut self, rule: Rule) -> Option<Pair<'i, Rule>> {
        let mut ahead = self.pairs.clone();
        loop {
            let pair = ahead.next()?;
            if pair.as_rule() == rule {
                self.pairs = ahead;
                return Some(pair);
            }
            if !is_mark(pair.as_rule()) {
                return None;
            }
        }
    }

    /// Whether that mark stands next, before any part that is no mark.
    pub fn has(&mut self, mark: Rule) -> bool {
        self.maybe(mark).is_some()
    }

    /// The next part, which the grammar says is of that rule.
    pub fn expect(&mut self, rule: Rule) -> Lowered<Pair<'i, Rule>> {
        self.maybe(rule).ok_or_else(|| unreadable(self.whole))
    }

    /// The next part that is no mark.
    pub fn next_part(&mut self) -> Option<Pair<'i, Rule>> {
        self.pairs.by_ref().find(|pair| !is_mark(pair.as_rule()))
    }

    /// All parts of that rule from here on, as long as no other part stands between.
    pub fn all(&mut self, rule: Rule) -> Vec<Pair<'i, Rule>> {
        std::iter::from_fn(|| self.maybe(rule)).collect()
    }

    /// All that is left, marks too.
    pub fn rest(self) -> Pairs<'i, Rule> {
        self.pairs
    }
}

/// The place of a token in the file, without the blanks that the parser may have taken behind it.
pub(super) fn span(pair: &Pair<'_, Rule>, base: usize) -> Span {
    let start = pair.as_span().start();
    Span::new(base + start, base + end(pair))
}

fn end(pair: &Pair<'_, Rule>) -> usize {
    match pair.clone().into_inner().filter(|part| part.as_rule() != Rule::EOI).last() {
        Some(last) => end(&last),
        None => pair.as_span().start() + pair.as_str().trim_end().len(),
    }
}
