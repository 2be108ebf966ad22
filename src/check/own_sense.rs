//! Stations with a sense of their own: what becomes of it where such a value is picked from, taken up or carried on.

use crate::quantity::Sense;

use super::constant::same;
use super::program::{AxisId, Expr, Node, StationPick, Stations, ValueId};
use super::sense::Direction;
use super::{Checker, Slot};

/// Another sense at one station of an axis.
type OwnSense = (AxisId, StationPick, Sense);

impl Checker<'_> {
    /// A value that says another sense at one station of the axes that are taken up.
    pub(super) fn has_station_sense(&self, of: &Expr, over: &[AxisId]) -> bool {
        match &of.node {
            Node::Value(id) => self
                .values
                .get(id.0)
                .is_some_and(|value| value.station_senses.iter().any(|(axis, ..)| over.contains(axis))),
            Node::Pick(of, _) => self.has_station_sense(of, over),
            _ => false,
        }
    }

    /// The sense of what is picked, where the station has its own.
    pub(super) fn station_sense(&self, of: &Expr, picks: &[(AxisId, StationPick)]) -> Option<Direction> {
        let Node::Value(id) = &of.node else { return None };
        let value = self.values.get(id.0)?;
        let told = value.station_senses.iter().find(|(axis, station, _)| {
            picks.iter().any(|(picked, pick)| picked == axis && at(station, pick))
        });
        told.map(|(.., sense)| Direction::Words(sense.clone()))
    }

    /// The senses of the stations that a result still has, of a carried direction. The direction itself holds at none
    /// but the stations that it is listed for.
    pub(super) fn carried_senses(&self, of: &Expr, direction: &Direction) -> Vec<OwnSense> {
        let (Some(carried), Some(source)) = (direction.words(), self.source_of(of)) else {
            return Vec::new();
        };
        let Some(value) = self.values.get(source.0) else { return Vec::new() };
        let left: Vec<&OwnSense> =
            value.station_senses.iter().filter(|(axis, ..)| of.axes.contains(axis)).collect();
        let Some((axis, ..)) = left.first() else { return Vec::new() };
        let (base, turned) = match self.carried_base(source) {
            Some(base) if base == *carried => (base, false),
            Some(base) if base.flipped() == *carried => (base, true),
            _ => return Vec::new(),
        };
        let others = self.stations_of(*axis).into_iter();
        let others = others.filter(|station| !left.iter().any(|(_, own, _)| at(own, station)));
        let all = left.iter().map(|(axis, station, sense)| (*axis, station.clone(), sense.clone()));
        all.chain(others.map(|station| (*axis, station, base.clone())))
            .map(|(axis, station, sense)| (axis, station, if turned { sense.flipped() } else { sense }))
            .collect()
    }

    fn carried_base(&self, value: ValueId) -> Option<Sense> {
        match self.carried.get(value.0)? {
            Slot::Ready(carried) => carried.direction.words().cloned(),
            _ => None,
        }
    }

    /// The value that gives an expression its direction.
    fn source_of(&self, of: &Expr) -> Option<ValueId> {
        match &of.node {
            Node::Value(id) => {
                self.values.get(id.0).filter(|value| !value.station_senses.is_empty()).map(|_| *id)
            }
            Node::Pick(of, _) | Node::Negate(of) => self.source_of(of),
            Node::Arithmetic(_, left, right) => self.source_of(left).or_else(|| self.source_of(right)),
            Node::Call { arguments, .. } => self.source_of(arguments.first()?),
            _ => None,
        }
    }

    fn stations_of(&self, axis: AxisId) -> Vec<StationPick> {
        match self.axes.get(axis.0).map(|axis| &axis.stations) {
            Some(Stations::Words(words)) => words.iter().cloned().map(StationPick::Word).collect(),
            Some(Stations::Values { values, .. }) => {
                values.iter().map(|value| StationPick::Value(Box::new(value.clone()))).collect()
            }
            _ => Vec::new(),
        }
    }
}

fn at(station: &StationPick, pick: &StationPick) -> bool {
    match (station, pick) {
        (StationPick::Word(a), StationPick::Word(b)) => a == b,
        (StationPick::Value(a), StationPick::Value(b)) => same(a, b),
        _ => false,
    }
}
