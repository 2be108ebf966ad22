//! A kit: the shop's instruments, each with its number, in a small file of its own.
//!
//! Checked like a procedure, and with the same words for resolution, scale, range and uncertainty; nothing else may
//! stand in it, and no `gauge` stands anywhere else.

use std::collections::HashMap;

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Unit};
use crate::source::Span;
use crate::syntax::ast::{self, GaugeLine, Item, Line};

use super::Checker;
use super::program::{Gauge, Instrument, Kit, Literal, Text, UncertaintySource};
use super::texts::When;

impl Checker<'_> {
    /// Whether the file is a kit, or was meant to be one.
    pub(super) fn is_kit(&self) -> bool {
        let has = |is: fn(&Item) -> bool| self.file.items.iter().any(|line| is(&line.what));
        has(|item| matches!(item, Item::Kit(_)))
            || (has(|item| matches!(item, Item::Gauge(_)))
                && !has(|item| matches!(item, Item::Procedure(_) | Item::Library(_))))
    }

    /// In a file of another kind a gauge belongs to nobody.
    pub(super) fn refuse_gauges(&mut self) {
        let file = self.file;
        for line in file.items.iter().filter(|line| matches!(line.what, Item::Gauge(_))) {
            self.report(
                Problem::fault(Code::KitOutOfPlace, line.span, "a `gauge` stands in a kit, and this file is none")
                    .label("which dial it is differs from shop to shop")
                    .help("put it into a file of its own that begins with `language 1` and `kit \"title\"`; a procedure says `instrument NAME \"what it is\"`"),
            );
        }
    }

    pub(super) fn lower_kit(&mut self) -> Kit {
        let file = self.file;
        let mut kit = Kit::default();
        let mut title = None;
        let mut numbers: HashMap<String, Span> = HashMap::new();
        for line in &file.items {
            match &line.what {
                Item::Language(number) => self.language(number),
                Item::Kit(text) => {
                    self.only_once(&mut title, line.span, "title of the kit");
                    kit.title = self.plain_text(text);
                }
                Item::Note(text) => {
                    self.plain_text(text);
                }
                Item::Gauge(node) => {
                    let gauge = self.gauge(node, line.span);
                    let number = gauge.number.to_lowercase();
                    match numbers.get(&number) {
                        Some(first) => self.report(
                            Problem::fault(
                                Code::NameTaken,
                                node.number.span,
                                format!("there are two gauges with the number {}", gauge.number),
                            )
                            .label("the second")
                            .and(*first, "the first")
                            .help("give each its own number, as it is marked on the instrument"),
                        ),
                        None => {
                            numbers.insert(number, node.number.span);
                        }
                    }
                    kit.gauges.push(gauge);
                }
                _ => self.report(
                    Problem::fault(
                        Code::KitOutOfPlace,
                        line.span,
                        "only `language`, `kit`, `note` and `gauge` stand in a kit",
                    )
                    .label("this belongs to a procedure")
                    .help("put it into the file of the procedure"),
                ),
            }
        }
        let whole = file.broken.is_empty();
        let top = title.unwrap_or_default();
        if title.is_none() && whole {
            self.report(
                Problem::fault(Code::FlowNoTitle, top, "the file does not say whose instruments these are")
                    .help("begin it with: kit \"Instruments of the tool room\""),
            );
        } else if kit.gauges.is_empty() && whole {
            self.report(
                Problem::fault(Code::KitEmpty, top, "there is no gauge in the kit")
                    .help("add one: gauge \"DI-07\" is dial"),
            );
        }
        kit
    }

    fn gauge(&mut self, node: &ast::Gauge, span: Span) -> Gauge {
        let mut gauge = Gauge {
            number: self.plain_text(&node.number).trim().to_owned(),
            kinds: node.kinds.iter().map(|kind| kind.text.clone()).collect(),
            serial: None,
            certificate: None,
            calibrated_until: None,
            resolution: None,
            scale: None,
            range: None,
            uncertainties: Vec::new(),
            notes: Vec::new(),
            span,
        };
        if gauge.number.is_empty() {
            self.report(
                Problem::fault(Code::NameArguments, node.number.span, "the number of this gauge is empty")
                    .help("write the number that is marked on it, as \"DI-07\""),
            );
        }
        let mut said: HashMap<&'static str, Span> = HashMap::new();
        // What is the same for all that is stated, with the place where it was first seen.
        let mut kind: Option<(Dimension, Span)> = None;
        let mut like_file = Instrument {
            name: gauge.number.clone(),
            title: Text::default(),
            resolution: None,
            scale: None,
            range: None,
            uncertainties: Vec::new(),
            span,
        };
        for line in &node.lines {
            if self.said_before(&mut said, line) {
                continue;
            }
            match &line.what {
                GaugeLine::Serial(text) => gauge.serial = Some(self.plain_text(text)),
                GaugeLine::Certificate(text) => gauge.certificate = Some(self.plain_text(text)),
                GaugeLine::CalibratedUntil(date) => gauge.calibrated_until = self.date(date),
                GaugeLine::Note(text) => {
                    let note = self.plain_text(text);
                    gauge.notes.push(note);
                }
                GaugeLine::Property(property) => {
                    self.instrument_line(&mut like_file, property);
                    self.of_one_kind(&mut kind, property, line.span);
                }
            }
        }
        (gauge.resolution, gauge.scale) = (like_file.resolution, like_file.scale);
        (gauge.range, gauge.uncertainties) = (like_file.range, like_file.uncertainties);
        if !said.contains_key("`calibrated until` line") && !gauge.number.is_empty() {
            self.report(
                Problem::warning(
                    Code::KitNoDate,
                    node.number.span,
                    format!("it is not said until when {} is calibrated", gauge.number),
                )
                .label("it can never be told to be past its date")
                .help("add below it: calibrated until 2027-03-01"),
            );
        }
        gauge
    }

    /// One statement of a kind: of two, nobody could tell which holds.
    fn said_before(&mut self, said: &mut HashMap<&'static str, Span>, line: &Line<GaugeLine>) -> bool {
        use ast::{InstrumentLine, Source};
        let what = match &line.what {
            GaugeLine::Note(_) => return false,
            GaugeLine::Serial(_) => "`serial` line",
            GaugeLine::Certificate(_) => "`certificate` line",
            GaugeLine::CalibratedUntil(_) => "`calibrated until` line",
            GaugeLine::Property(property) => match property {
                InstrumentLine::Resolution(_) => "`resolution` line",
                InstrumentLine::Scale(..) => "`scale` line",
                InstrumentLine::Range(_) => "`range` line",
                InstrumentLine::Uncertainty(Source::Zero, ..) => "`uncertainty zero` line",
                InstrumentLine::Uncertainty(Source::Fresh, ..) => "`uncertainty fresh` line",
                InstrumentLine::Uncertainty(Source::Scale, ..) => "`uncertainty scale` line",
            },
        };
        let Some(first) = said.insert(what, line.span) else { return false };
        self.report(
            Problem::fault(Code::KitTwice, line.span, format!("this gauge has two {what}s"))
                .label("the second")
                .and(first, "the first")
                .help("keep the one of the latest certificate"),
        );
        true
    }

    /// A gauge in millimetres has no uncertainty in kelvin.
    fn of_one_kind(
        &mut self,
        kind: &mut Option<(Dimension, Span)>,
        property: &ast::InstrumentLine,
        span: Span,
    ) {
        use ast::{InstrumentLine, Source};
        let unit = |quantity: &ast::Quantity| {
            quantity.unit.as_ref().and_then(|unit| Unit::parse(&unit.text)).map(Unit::of_differences)
        };
        let found = match property {
            InstrumentLine::Uncertainty(Source::Scale, quantity, _) => {
                if unit(quantity).is_some_and(|unit| unit.dimension() != Dimension::NONE) {
                    self.report(
                        Problem::fault(
                            Code::UnitMismatch,
                            quantity.span,
                            "an uncertainty of the scale is a part of the reading",
                        )
                        .help("write it in %"),
                    );
                }
                return;
            }
            InstrumentLine::Resolution(quantity)
            | InstrumentLine::Uncertainty(_, quantity, _)
            | InstrumentLine::Scale(quantity, _) => unit(quantity),
            InstrumentLine::Range(range) => match &range.from.what {
                ast::ExprKind::Quantity(quantity) => unit(quantity),
                _ => None,
            },
        };
        let Some(found) = found.filter(|unit| *unit != Unit::Div).map(Unit::dimension) else { return };
        let (first, place) = *kind.get_or_insert((found, span));
        if first != found {
            self.report(
                Problem::fault(
                    Code::UnitMismatch,
                    span,
                    format!("this is {}, and what stands above is {}", found.name(), first.name()),
                )
                .and(place, "read in this")
                .help("a gauge reads one kind of thing; state all of it in that"),
            );
        }
    }

    fn only_once(&mut self, first: &mut Option<Span>, span: Span, what: &str) {
        if let Some(first) = first.replace(span) {
            self.report(
                Problem::fault(Code::NameTaken, span, format!("this is a second {what}"))
                    .and(first, "the first")
                    .help("put the other one into a file of its own"),
            );
        }
    }

    /// A text without values: there is nothing in a kit that could be put in.
    fn plain_text(&mut self, text: &ast::Prose) -> String {
        self.text(text, None, When::Header);
        text.plain().unwrap_or_default()
    }
}

impl Gauge {
    /// Why it cannot stand in for that instrument, of which `dimension` is read; None if it fits.
    pub fn misfit(&self, instrument: &Instrument, dimension: Option<Dimension>) -> Option<String> {
        if let (Some(own), Some(wanted)) = (&self.scale, &instrument.scale)
            && super::literal::base_of(own) != super::literal::base_of(wanted)
        {
            let shown = |scale: &Literal| {
                format!("{} {}", crate::quantity::exact_text(&scale.number), scale.unit.symbol())
            };
            return Some(format!(
                "a division of it is {}, and this procedure counts on {}",
                shown(own),
                shown(wanted)
            ));
        }
        let stated = self.uncertainties.iter().filter(|stated| stated.source != UncertaintySource::Scale);
        let mut sizes = self.resolution.iter().chain(&self.scale).chain(stated.map(|stated| &stated.size));
        let wanted = dimension?;
        let other = sizes.find(|size| size.unit != Unit::Div && size.unit.dimension() != wanted)?;
        Some(format!("it reads {}, and {} is wanted", other.unit.dimension().name(), wanted.name()))
    }
}
