//! Instruments: resolution, scale, range and the stated parts of their uncertainty.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Unit};
use crate::syntax::ast::{self, InstrumentLine, Item};

use super::Checker;
use super::constant::constant;
use super::expression::Place;
use super::program::{Instrument, Literal, Text, UncertaintySource};
use super::texts::When;

impl Checker<'_> {
    pub(super) fn lower_instruments(&mut self) {
        let file = self.file;
        for line in &file.items {
            let Item::Instrument(node) = &line.what else { continue };
            // The second of a name was reported; only the first has an identifier.
            if self.names.given.get(&("instrument", node.name.text.as_str())) != Some(&node.name.span) {
                continue;
            }
            let mut instrument = Instrument {
                name: node.name.text.clone(),
                title: self
                    .text(&node.label, None, When::Header)
                    .unwrap_or_else(|| Text::plain(node.name.text.clone())),
                resolution: None,
                scale: None,
                range: None,
                uncertainties: Vec::new(),
                span: line.span,
            };
            for line in &node.lines {
                self.instrument_line(&mut instrument, &line.what);
            }
            self.instruments.push(instrument);
        }
    }

    pub(super) fn instrument_line(&mut self, instrument: &mut Instrument, line: &InstrumentLine) {
        match line {
            InstrumentLine::Resolution(quantity) => {
                if let Some(resolution) = self.positive(quantity, "a resolution") {
                    instrument.resolution = Some(resolution);
                }
            }
            InstrumentLine::Scale(quantity, per) => {
                let scale = self.positive(quantity, "a scale");
                if self.unit(per).is_some_and(|unit| unit != Unit::Div) {
                    self.report(
                        Problem::fault(
                            Code::UnitMismatch,
                            per.span,
                            format!("a scale says what one div means, not one {}", per.text),
                        )
                        .help("write `scale 0.02 mm/m per div`"),
                    );
                    return;
                }
                instrument.scale = scale;
            }
            InstrumentLine::Uncertainty(source, size, spread) => {
                let stated = self.stated(UncertaintySource::lower(*source), size, spread);
                if let Some(stated) = stated {
                    instrument.uncertainties.retain(|other| other.source != stated.source);
                    instrument.uncertainties.push(stated);
                }
            }
            InstrumentLine::Range(range) => {
                let (low, high) = (self.bound_literal(&range.from), self.bound_literal(&range.to));
                let (Some(low), Some(high)) = (low, high) else { return };
                if !low.unit.converts_to(high.unit) {
                    self.fault(
                        Code::UnitMismatch,
                        range.span,
                        "the two ends of the range are not of one kind",
                    );
                    return;
                }
                let bounds = (self.expr(&range.from, Place::of(None)), self.expr(&range.to, Place::of(None)));
                if let (Some(a), Some(b)) = bounds
                    && constant(&a.expr) > constant(&b.expr)
                {
                    self.report(
                        Problem::fault(
                            Code::RuleBoundsCross,
                            range.span,
                            "the range ends below where it begins",
                        )
                        .help("write the smaller bound first"),
                    );
                    return;
                }
                instrument.range = Some((low, high));
            }
        }
    }

    /// A bound of an instrument's range: a number with its unit.
    fn bound_literal(&mut self, node: &ast::Expr) -> Option<Literal> {
        if let ast::ExprKind::Quantity(quantity) = &node.what {
            return self.literal(quantity);
        }
        self.report(
            Problem::fault(
                Code::UnitNotANumber,
                node.span,
                format!("`{}` is not a number with a unit", self.words(node.span)),
            )
            .help("an instrument is the same whatever the machine: write numbers"),
        );
        None
    }

    pub(super) fn positive(&mut self, quantity: &ast::Quantity, what: &str) -> Option<Literal> {
        use num_traits::Signed;
        let literal = self.literal(quantity)?;
        if literal.number.is_positive() && !literal.unit.is_point() {
            return Some(literal);
        }
        let help = match literal.unit.is_point() {
            true => "a difference of temperature is written in K",
            false => "write a number above zero",
        };
        self.report(
            Problem::fault(
                Code::UnitNumber,
                quantity.span,
                format!("`{}` cannot be {what}", self.words(quantity.span)),
            )
            .help(help),
        );
        None
    }

    /// The size of one step of an instrument in the dimension of its readings, in base units.
    pub(super) fn resolution_of(
        &self,
        instrument: &Instrument,
    ) -> Option<(Dimension, crate::quantity::Rational)> {
        let resolution = instrument.resolution.as_ref()?;
        let size = super::literal::base_of(resolution)?;
        match &instrument.scale {
            Some(scale) if resolution.unit == Unit::Div => {
                Some((scale.unit.dimension(), size * super::literal::base_of(scale)?))
            }
            _ => Some((resolution.unit.dimension(), size)),
        }
    }
}

impl UncertaintySource {
    pub(super) fn lower(source: ast::Source) -> Self {
        match source {
            ast::Source::Zero => UncertaintySource::Zero,
            ast::Source::Fresh => UncertaintySource::Fresh,
            ast::Source::Scale => UncertaintySource::Scale,
        }
    }
}
