//! Expressions and conditions: precedence by one Pratt parser over the flat tokens, loosest first
//! `or`, `and`, `not`, `every`/`any`, comparisons, `+ -`, `* /`, minus, `^`, picks.

use std::sync::LazyLock;

use pest::iterators::{Pair, Pairs};
use pest::pratt_parser::{Assoc, Op, PrattParser};

use super::ast::*;
use super::cursor::{Cursor, Lowered, span};
use super::grammar::{Rule, unreadable};
use super::limit::lower_limit;
use super::lower::{lower_path, lower_picks, lower_quantity, name, number};
use super::text::lower_string;
use crate::diagnostic::{Code, Problem};

/// How many nodes deep an expression may be, so that a walk over it may recurse.
pub const DEPTH_LIMIT: usize = 256;

static PRATT: LazyLock<PrattParser<Rule>> = LazyLock::new(|| {
    PrattParser::new()
        .op(Op::infix(Rule::word_or, Assoc::Left))
        .op(Op::infix(Rule::word_and, Assoc::Left))
        .op(Op::prefix(Rule::word_not))
        .op(Op::prefix(Rule::word_every) | Op::prefix(Rule::word_any))
        .op(Op::postfix(Rule::limit) | Op::postfix(Rule::is_test) | Op::postfix(Rule::is_outside))
        .op(Op::infix(Rule::plus, Assoc::Left) | Op::infix(Rule::minus, Assoc::Left))
        .op(Op::infix(Rule::times, Assoc::Left) | Op::infix(Rule::divide, Assoc::Left))
        .op(Op::prefix(Rule::negate) | Op::prefix(Rule::part_of))
        .op(Op::postfix(Rule::power))
        .op(Op::postfix(Rule::picks))
});

/// An expression with the number of nodes that it is deep.
struct Deep {
    expr: Expr,
    depth: usize,
}

/// A whole expression or condition.
pub(super) fn lower_expression(pair: Pair<'_, Rule>, base: usize) -> Lowered<Expr> {
    Ok(expression(pair, base)?.expr)
}

/// An expression without conditions.
pub(super) fn lower_sum(pair: Pair<'_, Rule>, base: usize) -> Lowered<Expr> {
    Ok(expression(pair, base)?.expr)
}

fn expression(pair: Pair<'_, Rule>, base: usize) -> Lowered<Deep> {
    let whole = span(&pair, base);
    let mut cursor = Cursor::new(pair, base);
    if let Some(pair) = cursor.maybe(Rule::conditional) {
        return conditional(pair, base);
    }
    let pairs = cursor.rest();
    check_prefixes(pairs.clone(), whole)?;
    PRATT
        .map_primary(|pair| primary(pair, base))
        .map_prefix(|operator, operand| prefix(operator, operand?, base))
        .map_postfix(|operand, operator| postfix(operand?, operator, base))
        .map_infix(|left, operator, right| infix(left?, &operator, right?))
        .parse(pairs)
}

/// Signs and words before a value recurse one by one, so a heap of them is refused first.
fn check_prefixes(pairs: Pairs<'_, Rule>, whole: Span) -> Lowered<()> {
    let mut run = 0;
    for pair in pairs {
        match pair.as_rule() {
            Rule::word_not | Rule::word_every | Rule::word_any | Rule::negate | Rule::part_of => run += 1,
            _ => run = 0,
        }
        if run > super::BRACKET_LIMIT {
            return Err(too_deep(whole));
        }
    }
    Ok(())
}

fn too_deep(whole: Span) -> Problem {
    let span = Span::new(whole.end.saturating_sub(1), whole.end);
    Problem::fault(
        Code::TooDeep,
        span,
        format!("the expression has more than {DEPTH_LIMIT} parts in one another"),
    )
    .label("one part too many")
    .help("work a part out in a `let` of its own")
}

fn deep(span: Span, what: ExprKind, beneath: usize) -> Lowered<Deep> {
    if beneath >= DEPTH_LIMIT {
        return Err(too_deep(span));
    }
    Ok(Deep { expr: Expr { span, what }, depth: beneath + 1 })
}

fn conditional(pair: Pair<'_, Rule>, base: usize) -> Lowered<Deep> {
    let mut cursor = Cursor::new(pair, base);
    let whole = cursor.span();
    let mut part = || expression(cursor.expect(Rule::expression)?, base);
    let (condition, then, otherwise) = (part()?, part()?, part()?);
    let beneath = condition.depth.max(then.depth).max(otherwise.depth);
    let what = ExprKind::If {
        condition: Box::new(condition.expr),
        then: Box::new(then.expr),
        otherwise: Box::new(otherwise.expr),
    };
    deep(whole, what, beneath)
}

fn primary(pair: Pair<'_, Rule>, base: usize) -> Lowered<Deep> {
    let whole = span(&pair, base);
    match pair.as_rule() {
        Rule::bracket => {
            let inner = expression(Cursor::new(pair, base).expect(Rule::expression)?, base)?;
            // The brackets belong to the place, not to the tree.
            Ok(Deep { expr: Expr { span: whole, ..inner.expr }, depth: inner.depth })
        }
        Rule::outside_tolerance => {
            deep(whole, ExprKind::OutsideTolerance(Cursor::new(pair, base).path()?), 0)
        }
        Rule::truth => deep(whole, ExprKind::YesNo(pair.as_str().trim_end() == "yes"), 0),
        Rule::date => {
            deep(whole, ExprKind::Date(DateText { text: pair.as_str().to_string(), span: whole }), 0)
        }
        Rule::quantity => deep(whole, ExprKind::Quantity(lower_quantity(pair, base)?), 0),
        Rule::reference => reference(pair, base),
        _ => Err(unreadable(whole)),
    }
}

fn reference(pair: Pair<'_, Rule>, base: usize) -> Lowered<Deep> {
    let mut cursor = Cursor::new(pair, base);
    let whole = cursor.span();
    let path = match cursor.maybe(Rule::called_per) {
        Some(pair) => Path { span: span(&pair, base), step: None, name: name(&pair, base) },
        None => lower_path(cursor.expect(Rule::path)?, base)?,
    };
    let Some(pair) = cursor.maybe(Rule::arguments) else {
        return deep(whole, ExprKind::Name(path), 0);
    };
    let mut beneath = 0;
    let mut arguments = Vec::new();
    for pair in Cursor::new(pair, base).all(Rule::argument) {
        let (argument, depth) = argument(pair, base)?;
        beneath = beneath.max(depth);
        arguments.push(argument);
    }
    deep(whole, ExprKind::Call(path, arguments), beneath)
}

fn argument(pair: Pair<'_, Rule>, base: usize) -> Lowered<(Argument, usize)> {
    let mut cursor = Cursor::new(pair, base);
    let value = expression(cursor.expect(Rule::expression)?, base)?;
    let over = cursor.maybe(Rule::over_axes).map_or_else(Vec::new, |pair| Cursor::new(pair, base).names());
    let by = cursor.maybe(Rule::by_way).and_then(|pair| Cursor::new(pair, base).maybe_name());
    let within = cursor.maybe(Rule::sum).map(|pair| expression(pair, base)).transpose()?;
    let otherwise = cursor.maybe(Rule::expression).map(|pair| expression(pair, base)).transpose()?;
    let depth_of = |part: &Option<Deep>| part.as_ref().map_or(0, |part| part.depth);
    let depth = value.depth.max(depth_of(&within)).max(depth_of(&otherwise));
    let argument = Argument {
        span: cursor.span(),
        value: value.expr,
        over,
        by,
        within: within.map(|part| part.expr),
        otherwise: otherwise.map(|part| part.expr),
    };
    Ok((argument, depth))
}

fn prefix(operator: Pair<'_, Rule>, operand: Deep, base: usize) -> Lowered<Deep> {
    let whole = span(&operator, base).to(operand.expr.span);
    let inner = Box::new(operand.expr);
    let what = match operator.as_rule() {
        Rule::word_not => ExprKind::Not(inner),
        Rule::word_every => ExprKind::Every(inner),
        Rule::word_any => ExprKind::Any(inner),
        Rule::negate => ExprKind::Negate(inner),
        Rule::part_of => {
            let mut cursor = Cursor::new(operator, base);
            let number = cursor.number()?;
            let sign = Span::new(number.span.end, cursor.span().end);
            let percent = cursor.maybe(Rule::percent).map_or(sign, |pair| span(&pair, base));
            let unit = Some(UnitName { text: "%".to_string(), span: percent });
            ExprKind::PartOf(Quantity { span: number.span.to(percent), number, unit }, inner)
        }
        _ => return Err(unreadable(whole)),
    };
    deep(whole, what, operand.depth)
}

fn postfix(operand: Deep, operator: Pair<'_, Rule>, base: usize) -> Lowered<Deep> {
    let whole = operand.expr.span.to(span(&operator, base));
    let mut beneath = operand.depth;
    let inner = Box::new(operand.expr);
    let what = match operator.as_rule() {
        Rule::picks => {
            let picks = lower_picks(operator, base)?;
            beneath = picks.iter().filter_map(Pick::value).map(Expr::depth).fold(beneath, usize::max);
            ExprKind::Pick(inner, picks)
        }
        Rule::power => {
            let mut cursor = Cursor::new(operator, base);
            ExprKind::Power(inner, number(&cursor.expect(Rule::number)?, base))
        }
        Rule::is_outside => ExprKind::Outside(inner),
        Rule::is_test => {
            let mut cursor = Cursor::new(operator, base);
            let not = cursor.has(Rule::word_not);
            let choice = match cursor.maybe(Rule::string) {
                Some(pair) => Choice::Text(lower_string(&pair, base)?),
                None => Choice::Word(name(&cursor.expect(Rule::word)?, base)),
            };
            ExprKind::Is { left: inner, not, choice }
        }
        Rule::limit => {
            let rule = lower_limit(operator, base)?;
            beneath = rule.values().iter().map(|part| part.depth()).fold(beneath, usize::max);
            ExprKind::Meets(inner, Box::new(rule))
        }
        _ => return Err(unreadable(whole)),
    };
    deep(whole, what, beneath)
}

fn infix(left: Deep, operator: &Pair<'_, Rule>, right: Deep) -> Lowered<Deep> {
    let whole = left.expr.span.to(right.expr.span);
    let binary = match operator.as_rule() {
        Rule::plus => Binary::Add,
        Rule::minus => Binary::Subtract,
        Rule::times => Binary::Multiply,
        Rule::divide => Binary::Divide,
        Rule::word_and => Binary::And,
        Rule::word_or => Binary::Or,
        _ => return Err(unreadable(whole)),
    };
    let beneath = left.depth.max(right.depth);
    deep(whole, ExprKind::Binary(binary, Box::new(left.expr), Box::new(right.expr)), beneath)
}
