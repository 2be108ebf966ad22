//! One read line to its node, and the node to its place in the tree.

// One node stands for one line that a person wrote; boxes would only make it harder to read.
#![allow(clippy::large_enum_variant)]

use super::ast::*;
use super::block::Block;
use super::cursor::{Cursor, Lowered};
use super::grammar::unreadable;

/// What a line became.
pub(super) enum Node {
    Item(Item),
    Step(StepLine),
    Read(ReadLine),
    Observe(ObserveLine),
    Sense(SenseLine),
    Adjustment(AdjustmentLine),
    Advise(Advise),
    Row(Row),
    Instrument(InstrumentLine),
    Gauge(GaugeLine),
    Example(ExampleLine),
}

/// Reads the parts of a line that begins with `word` in `block`.
pub(super) fn lower_line(block: Block, word: &str, parts: Cursor<'_>) -> Lowered<Node> {
    Ok(match block {
        Block::File => Node::Item(lower_item(word, parts)?),
        Block::Step | Block::Method => Node::Step(lower_step_line(word, parts)?),
        Block::Read => Node::Read(lower_read_line(word, parts)?),
        Block::Observe => Node::Observe(lower_observe_line(word, parts)?),
        Block::Let => Node::Sense(lower_sense_line(word, parts)?),
        Block::Adjustment => Node::Adjustment(lower_adjustment_line(word, parts)?),
        Block::Remedy => Node::Advise(parts.advise()?),
        Block::Table => Node::Row(parts.row()?),
        Block::Instrument => Node::Instrument(lower_instrument_line(word, parts)?),
        Block::Gauge => Node::Gauge(lower_gauge_line(word, parts)?),
        Block::Example => Node::Example(lower_example_line(word, parts)?),
    })
}

fn lower_item(word: &str, mut parts: Cursor<'_>) -> Lowered<Item> {
    Ok(match word {
        "language" => Item::Language(parts.number()?),
        "procedure" => Item::Procedure(parts.prose()?),
        "library" => Item::Library(parts.prose()?),
        "kit" => Item::Kit(parts.prose()?),
        "gauge" => parts.gauge()?,
        "revision" => Item::Revision(parts.prose()?),
        "scope" => Item::Scope(parts.prose()?),
        "basis" => Item::Basis(parts.prose()?),
        "note" => Item::Note(parts.prose()?),
        "decide" => Item::Decide(parts.decide()?),
        "party" => parts.party()?,
        "include" => Item::Include(parts.prose()?),
        "fact" => parts.fact()?,
        "let" => Item::Let(parts.lets()?),
        "axis" => Item::Axis(parts.over()?),
        "instrument" => parts.instrument()?,
        "table" => parts.table()?,
        "section" => parts.section()?,
        "step" => parts.step()?,
        "method" => parts.method()?,
        "crosscheck" => parts.crosscheck()?,
        "example" => Item::Example(Example { title: parts.prose()?, lines: Vec::new() }),
        _ => return Err(unreadable(parts.span())),
    })
}

fn lower_step_line(word: &str, mut parts: Cursor<'_>) -> Lowered<StepLine> {
    Ok(match word {
        "setup" => StepLine::Setup(parts.prose()?),
        "caution" => StepLine::Caution(parts.prose()?),
        "conditions" => StepLine::Conditions(parts.prose()?),
        "note" => StepLine::Note(parts.prose()?),
        "basis" => StepLine::Basis(parts.prose()?),
        "confirm" => StepLine::Confirm(parts.prose()?),
        "powered" => StepLine::Powered,
        "by" => StepLine::By(parts.prose()?),
        "only" => StepLine::OnlyWhen(parts.expression()?),
        "needs" => parts.needs()?,
        "keeps" => parts.keeps()?,
        "unsettles" => StepLine::Unsettles(parts.names()),
        "tries" => StepLine::Tries(parts.number()?),
        "optional" => StepLine::Optional,
        "hold" => parts.hold()?,
        "wait" => parts.wait()?,
        "read" => parts.read()?,
        "observe" => parts.observe_block()?,
        "let" => StepLine::Let(parts.lets()?),
        "adjustment" => parts.adjustment()?,
        "remedy" => parts.remedy()?,
        "defects" => StepLine::Defects(parts.prose()?),
        "valid" => parts.valid_when()?,
        "tolerance" => parts.tolerance()?,
        "require" => StepLine::Require(parts.expression()?),
        "report" => StepLine::Report(parts.sum()?),
        "decide" => StepLine::Decide(parts.decide()?),
        "uncertainty" => parts.set_up_uncertainty()?,
        "stop" => parts.stop_when()?,
        _ => return Err(unreadable(parts.span())),
    })
}

fn lower_read_line(word: &str, mut parts: Cursor<'_>) -> Lowered<ReadLine> {
    Ok(match word {
        "over" => ReadLine::Over(parts.over()?),
        "times" => parts.times()?,
        "high" => ReadLine::HighAndLow,
        "there" => ReadLine::ThereAndBack,
        "survey" => parts.survey()?,
        "every" => parts.every()?,
        "until" => ReadLine::Until(parts.expression()?),
        "plus" => ReadLine::Plus(parts.prose()?),
        "minus" => ReadLine::Minus(parts.prose()?),
        "unsigned" => ReadLine::Unsigned,
        "sense" => parts.sense()?,
        "station" => parts.station_sense()?,
        "ask" => ReadLine::Ask(parts.prose()?),
        "usual" => ReadLine::Usual(parts.range()?),
        "remeasure" => parts.remeasure_rule()?,
        "not" => ReadLine::NotReadAllowed,
        "open" => ReadLine::OpenEndedAllowed,
        "join" => parts.join()?,
        "only" => ReadLine::OnlyWhen(parts.expression()?),
        _ => return Err(unreadable(parts.span())),
    })
}

fn lower_observe_line(word: &str, mut parts: Cursor<'_>) -> Lowered<ObserveLine> {
    Ok(match word {
        "over" => ObserveLine::Over(parts.over()?),
        "only" => ObserveLine::OnlyWhen(parts.expression()?),
        "with" => ObserveLine::With(parts.name()?),
        _ => return Err(unreadable(parts.span())),
    })
}

fn lower_sense_line(word: &str, mut parts: Cursor<'_>) -> Lowered<SenseLine> {
    Ok(match word {
        "plus" => SenseLine::Plus(parts.prose()?),
        "minus" => SenseLine::Minus(parts.prose()?),
        _ => SenseLine::Unsigned,
    })
}

fn lower_adjustment_line(word: &str, mut parts: Cursor<'_>) -> Lowered<AdjustmentLine> {
    Ok(match word {
        "plus" => AdjustmentLine::Plus(parts.prose()?),
        "minus" => AdjustmentLine::Minus(parts.prose()?),
        "over" => AdjustmentLine::Over(parts.over()?),
        _ => parts.predicts()?,
    })
}

fn lower_instrument_line(word: &str, mut parts: Cursor<'_>) -> Lowered<InstrumentLine> {
    match word {
        "resolution" => Ok(InstrumentLine::Resolution(parts.quantity()?)),
        "scale" => parts.scale_of(),
        "uncertainty" => parts.uncertainty_of(),
        _ => Ok(InstrumentLine::Range(parts.range()?)),
    }
}

fn lower_gauge_line(word: &str, mut parts: Cursor<'_>) -> Lowered<GaugeLine> {
    Ok(match word {
        "serial" => GaugeLine::Serial(parts.prose()?),
        "certificate" => GaugeLine::Certificate(parts.prose()?),
        "calibrated" => GaugeLine::CalibratedUntil(parts.date()?),
        "note" => GaugeLine::Note(parts.prose()?),
        property => GaugeLine::Property(lower_instrument_line(property, parts)?),
    })
}

pub(super) fn lower_example_line(word: &str, mut parts: Cursor<'_>) -> Lowered<ExampleLine> {
    Ok(ExampleLine::Act(match word {
        "day" => return Ok(ExampleLine::Day(parts.date()?)),
        "given" => return parts.given(),
        "previous" => return parts.previous(),
        "using" => return parts.using(),
        "list" => return parts.list(),
        "expect" => return parts.expects(),
        "take" => Act::Take { step: parts.maybe_name() },
        "enter" => parts.enter()?,
        "observe" => parts.observe()?,
        "confirm" => parts.confirm()?,
        "type" => Act::Type(parts.prose()?),
        "keep" => Act::Keep(parts.prose()?),
        "correct" => parts.correct()?,
        "remeasure" => parts.remeasure()?,
        "adjust" => parts.adjust()?,
        "altered" => parts.altered()?,
        "again" => Act::Again { step: parts.maybe_name() },
        "break" => parts.breaks()?,
        "rejoin" => parts.rejoin()?,
        "end" => Act::End(parts.path()?),
        "skip" => parts.skip()?,
        "waive" => parts.waive()?,
        "held" => parts.held()?,
        "defect" => Act::Defect { text: parts.prose()?, photo: parts.maybe_prose()? },
        "defects" => parts.defects()?,
        "mended" => parts.mended()?,
        "accepted" => parts.accepted()?,
        "stop" => Act::Stop { step: parts.maybe_name(), text: parts.prose()? },
        "justify" => parts.justify()?,
        "note" => Act::Note(parts.prose()?),
        _ => return Err(unreadable(parts.span())),
    }))
}

/// Puts a line under the last line of the block it stands in. Nothing is lost silently: a node that finds no place
/// comes back.
pub(super) fn attach(items: &mut Vec<Line<Item>>, span: Span, layout: usize, node: Node) -> Result<(), Span> {
    fn push<T>(lines: &mut Vec<Line<T>>, span: Span, layout: usize, what: T) -> Result<(), Span> {
        lines.push(Line { span, layout, what });
        Ok(())
    }
    if let Node::Item(item) = node {
        return push(items, span, layout, item);
    }
    match (items.last_mut().map(|line| &mut line.what), node) {
        (Some(Item::Let(value)), Node::Sense(line)) => push(&mut value.sense, span, layout, line),
        (Some(Item::Instrument(block)), Node::Instrument(line)) => push(&mut block.lines, span, layout, line),
        (Some(Item::Gauge(block)), Node::Gauge(line)) => push(&mut block.lines, span, layout, line),
        (Some(Item::Table(block)), Node::Row(line)) => push(&mut block.rows, span, layout, line),
        (Some(Item::Example(block)), Node::Example(line)) => push(&mut block.lines, span, layout, line),
        (Some(Item::Step(Step { lines, .. }) | Item::Method(Method { lines, .. })), node) => {
            if let Node::Step(line) = node {
                return push(lines, span, layout, line);
            }
            match (lines.last_mut().map(|line| &mut line.what), node) {
                (Some(StepLine::Read(block)), Node::Read(line)) => push(&mut block.lines, span, layout, line),
                (Some(StepLine::Observe(block)), Node::Observe(line)) => {
                    push(&mut block.lines, span, layout, line)
                }
                (Some(StepLine::Let(value)), Node::Sense(line)) => push(&mut value.sense, span, layout, line),
                (Some(StepLine::Adjustment(block)), Node::Adjustment(line)) => {
                    push(&mut block.lines, span, layout, line)
                }
                (Some(StepLine::Remedy(block)), Node::Advise(line)) => {
                    push(&mut block.advise, span, layout, line)
                }
                _ => Err(span),
            }
        }
        _ => Err(span),
    }
}
