//! What the two readings of a pair, the direction of a foot, and single stations do to the sense of a reading.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Sense};
use crate::source::Span;
use crate::syntax::ast::{self, ReadLine};

use super::Checker;
use super::expression::Place;
use super::program::{AxisId, Pair, Rise, StationPick, Stations, StepId};

impl<'a> Checker<'a> {
    /// `sense stays with`, `turns with`, `rises along`, `falls along`: kept on the axes they speak of.
    pub(super) fn set_axis_senses(&mut self, read: &'a ast::Read, axes: &[AxisId]) -> Option<()> {
        let mut fine = Some(());
        for line in &read.lines {
            match &line.what {
                ReadLine::StaysWith(noun) => {
                    fine = fine.and(self.set_pair(axes, &Pair::Stays(noun.text.clone()), line.span));
                }
                ReadLine::TurnsWith(noun) => {
                    fine = fine.and(self.set_pair(axes, &Pair::Turns(noun.text.clone()), line.span));
                }
                ReadLine::RisesAlong(name) => fine = fine.and(self.set_rise(axes, name, Rise::Along, read)),
                ReadLine::FallsAlong(name) => fine = fine.and(self.set_rise(axes, name, Rise::Against, read)),
                _ => {}
            }
        }
        fine
    }

    /// A pair is an axis of two stations that are no lengths: turned, or words.
    fn set_pair(&mut self, axes: &[AxisId], pair: &Pair, span: Span) -> Option<()> {
        let mut found = false;
        for axis in axes {
            let two = self.station_count(*axis) == Some(2);
            if let Some(laid) = self.axes.get_mut(axis.0)
                && two
                && laid.dimension != Some(Dimension::LENGTH)
            {
                laid.pair = Some(pair.clone());
                found = true;
            }
        }
        if found {
            return Some(());
        }
        self.report(
            Problem::fault(Code::SenseNoPair, span, "this reading has no pair that could be taken apart")
                .help("lay out two stations, as `over turn 0 deg, 180 deg` or `over way first, turned`, or leave the line away"),
        );
        None
    }

    fn set_rise(&mut self, axes: &[AxisId], name: &ast::Name, rise: Rise, read: &'a ast::Read) -> Option<()> {
        let axis = self.axis_of(axes, name, read.name.span)?;
        let laid = self.axes.get_mut(axis.0)?;
        if matches!(laid.stations, Stations::Stepped { .. }) {
            laid.rise = Some(rise);
            return Some(());
        }
        let span = laid.span;
        self.report(
            Problem::fault(
                Code::AxisNotStepped,
                name.span,
                format!("`{}` is not stepped along, so nothing is added up over it", name.text),
            )
            .and(span, "laid out here")
            .help("write `stepped by` in its line, or leave `sense rises along` away"),
        );
        None
    }

    pub(super) fn station_senses(
        &mut self,
        read: &'a ast::Read,
        axes: &[AxisId],
        step: Option<StepId>,
    ) -> Option<Vec<(AxisId, StationPick, Sense)>> {
        let mut all = Some(Vec::new());
        for line in &read.lines {
            let ReadLine::Station { axis, station, plus, minus } = &line.what else { continue };
            let axis = self.axis_of(axes, axis, read.name.span);
            let pick = axis.and_then(|axis| self.station(axis, station, Place::of(step)));
            let (plus, minus) = (self.sense_words(plus), self.sense_words(minus));
            match (axis, pick, plus, minus, &mut all) {
                (Some(axis), Some(pick), Some(plus), Some(minus), Some(list)) => {
                    list.push((axis, pick, Sense::new(plus, minus)));
                }
                (Some(_), Some(_), Some(_), Some(_), None) => {}
                _ => all = None,
            }
        }
        all
    }
}
