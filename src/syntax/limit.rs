//! Tolerance rules: `at most 0.010 mm per 300 mm over span(x over place) floor 0.005 mm`.

use pest::iterators::Pair;

use super::ast::*;
use super::cursor::{Cursor, Lowered};
use super::grammar::{Rule as Token, unreadable};

/// A rule, without the value it judges.
pub(super) fn lower_limit(pair: Pair<'_, Token>, base: usize) -> Lowered<Rule> {
    let mut cursor = Cursor::new(pair, base);
    let span = cursor.span();
    let comparison = cursor.next_part().ok_or_else(|| unreadable(span))?;
    let what = lower_comparison(comparison, base)?;
    let per = match cursor.maybe(Token::per_length) {
        Some(pair) => {
            let mut parts = Cursor::new(pair, base);
            Some((parts.sum()?, parts.sum()?))
        }
        None => None,
    };
    let mut bound = |token| match cursor.maybe(token) {
        Some(pair) => Cursor::new(pair, base).sum().map(Some),
        None => Ok(None),
    };
    let (floor, cap) = (bound(Token::floor)?, bound(Token::cap)?);
    let window = cursor.maybe(Token::window).map(|pair| lower_window(pair, base)).transpose()?;
    Ok(Rule { span, what, per, floor, cap, window })
}

fn lower_comparison(pair: Pair<'_, Token>, base: usize) -> Lowered<RuleOf> {
    let token = pair.as_rule();
    let mut parts = Cursor::new(pair, base);
    let allowance = |parts: &mut Cursor<'_>| Ok(parts.sums()?.pop());
    Ok(match token {
        Token::at_most_limit => RuleOf::AtMost(parts.sum()?),
        Token::at_least_limit => RuleOf::AtLeast(parts.sum()?),
        Token::above_limit => RuleOf::Above(parts.sum()?),
        Token::below_limit => RuleOf::Below(parts.sum()?),
        Token::from_to_limit => RuleOf::FromTo(parts.sum()?, parts.sum()?),
        Token::within_limit => RuleOf::Within { bound: parts.sum()?, of: parts.sums()?.pop() },
        Token::convex_limit => RuleOf::Convex { allowance: allowance(&mut parts)? },
        Token::concave_limit => RuleOf::Concave { allowance: allowance(&mut parts)? },
        Token::steady_limit => RuleOf::Steady { within: parts.sum()?, duration: parts.sum()? },
        Token::before_limit => RuleOf::Before(parts.sum()?),
        Token::after_limit => RuleOf::After(parts.sum()?),
        _ => return Err(unreadable(parts.span())),
    })
}

fn lower_window(pair: Pair<'_, Token>, base: usize) -> Lowered<Window> {
    let mut parts = Cursor::new(pair, base);
    let span = parts.span();
    let length = parts.sum()?;
    let second = parts.sums()?.pop();
    let by = match parts.expect(Token::window_by)?.as_str() {
        "spread" => WindowBy::Spread,
        _ => WindowBy::Chord,
    };
    Ok(Window { span, length, second, by })
}
