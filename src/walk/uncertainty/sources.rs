//! What is not known of the readings under a value: each unknown with its standard uncertainty and what it moves.
//!
//! - `zero`: one unknown for (instrument, set-up). A set-up is a set of one try of a step; a chain of steps that keep it
//!   shares one. It moves every reading of it alike, so it drops out of a difference.
//!   A series that was broken has a zero in each part, and all but the first drop out in the shifts.
//! - `scale`: one for the instrument, times the reading.
//! - `fresh` and resolution: a new one at each reading. Resolution d: a rectangle of half width d/2, u = d/(2 sqrt 3)
//!   (JCGM 100:2008, F.2.2.1, from memory).
//! - `set_up`: one for the result that the line names.
//! - material: one for the coefficient of each material with which a length is taken to 20 degC, one for density over
//!   stiffness of each of which something sags.
//! - the record before: one for each cell of a value that is taken from it, as large as its U there.
//! - scatter: where an instrument states no `fresh`, the repeats of a `times` reading show it, n - 1 degrees of freedom
//!   for each group of n (JCGM 100:2008, 4.2, from memory).
//!
//! What a series is joined by carries the `fresh` and resolution parts of the stations read twice into all that was read
//! behind the break: of the old readings at their own station too, of the new ones through the shift alone.
//!
//! Facts, observations and picked stations have none. Where several sets count by their mean, each has its own
//! unknowns, at its part of the mean.

use std::collections::{BTreeSet, HashSet};

use indexmap::IndexMap;

use crate::check::program::{
    Expr, Instrument, Node, Reading, Role, Stations as Plan, Uncertainty, UncertaintySource, Value, ValueId,
};
use crate::metrology::{self, Material, Shape};
use crate::quantity::Real;
use crate::walk::entered::meant;
use crate::walk::eval::Evaluator;
use crate::walk::layout;
use crate::walk::off::Property;
use crate::walk::scope::{SetUp, Taken};
use crate::walk::seam::Taken as One;
use crate::walk::value::Laid;
use crate::walk::wording;

use super::lent::{self, Lent};
use super::linear::Root;
use super::material::{self, OfMaterial};
use super::stated::{self, Size, chi_square_95};

/// Fewer degrees of freedom leave Student's t without a standard deviation (JCGM 101:2008, 6.4.9.4, from memory).
pub const LEAST_FREEDOM: f64 = 3.0;

/// How an unknown is spread, for draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread {
    Normal,
    /// Even over a width; half the width is sqrt 3 times the standard uncertainty.
    Even,
    /// The middle is likeliest; half the width is sqrt 6 times.
    Triangular,
    /// The middle is, evenly over this part b of the width; half the width is sqrt(6/(1 + b^2)) times.
    Trapezoidal(f64),
    /// Even over a width that is known to this part p of itself; half the width is sqrt(3/(1 + p^2/3)) times.
    Loose(f64),
    /// The ends are; half the width is sqrt 2 times.
    Arcsine,
}

/// One part of what is stated, of one unknown or of many of a kind.
#[derive(Clone, Debug)]
pub struct Part {
    /// For the budget: "dial, fresh, nose".
    pub name: String,
    pub spread: Spread,
    /// Averaging more readings makes it smaller.
    pub shrinks: bool,
    /// With how many degrees of freedom its size is known; None: infinitely many.
    pub freedom: Option<f64>,
}

impl Part {
    /// Normal, shared by all readings, its size known for sure.
    pub fn named(name: String) -> Self {
        Part { name, spread: Spread::Normal, shrinks: false, freedom: None }
    }
}

/// One unknown that moves several cells together.
#[derive(Clone, Debug)]
pub struct Shared {
    pub part: Part,
    /// Standard uncertainty, squared: exact where what is stated is.
    pub variance: Real,
    /// What one unit of it adds to the cells of each value: one amount a cell, or one for all.
    pub moves: Vec<(ValueId, Vec<Real>)>,
}

/// Unknowns of their own at each cell of a reading.
#[derive(Clone, Debug)]
pub struct Fresh {
    pub reading: ValueId,
    pub parts: Vec<FreshPart>,
}

#[derive(Clone, Debug)]
pub struct FreshPart {
    pub part: Part,
    /// At each cell.
    pub variances: Vec<Real>,
    /// Of scatter: to which group of repeats each cell belongs, and the degrees of freedom of each group.
    pub groups: Option<(Vec<usize>, Vec<f64>)>,
}

/// All unknowns under a value.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    pub shared: Vec<Shared>,
    pub lent: Vec<Lent>,
    pub materials: Vec<OfMaterial>,
    pub fresh: Vec<Fresh>,
    /// What a reader must know beside the figure: scatter beside what is stated of the instrument.
    pub notes: Vec<String>,
}

impl Sources {
    pub fn is_empty(&self) -> bool {
        self.shared.is_empty() && self.lent.is_empty() && self.materials.is_empty() && self.fresh.is_empty()
    }

    /// Something is stated of what was read, not of materials alone.
    pub fn are_of_readings(&self) -> bool {
        !(self.shared.is_empty() && self.lent.is_empty() && self.fresh.is_empty())
    }

    /// All values that some unknown moves.
    pub fn moved(&self) -> Vec<ValueId> {
        let shared = self.shared.iter().flat_map(|shared| &shared.moves).map(|(id, _)| *id);
        let mut all: Vec<ValueId> = shared.chain(self.fresh.iter().map(|fresh| fresh.reading)).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// How many unknowns there are.
    pub fn count(&self) -> usize {
        let fresh = self.fresh.iter().filter_map(|fresh| fresh.parts.first());
        let alone = self.shared.len() + self.lent.len() + self.materials.len();
        alone + fresh.map(|part| part.variances.len()).sum::<usize>()
    }
}

/// Readings and results under some roots, themselves included, and those of the record before, each in the order of the
/// file; what is used of which material.
fn beneath(
    evaluator: &Evaluator<'_>,
    roots: &[Root<'_>],
) -> (Vec<ValueId>, BTreeSet<ValueId>, Vec<(Material, Property)>) {
    let (mut found, mut seen) = (Vec::new(), HashSet::new());
    let mut before = BTreeSet::new();
    let mut materials: Vec<(Material, Property)> = Vec::new();
    let mut look_into = |expr: &Expr, found: &mut Vec<ValueId>| {
        expr.each(&mut |inner| {
            if let Node::Value(below) = &inner.node
                && seen.insert(*below)
            {
                found.push(*below);
            }
            if let Node::Previous { result, .. } = &inner.node {
                before.insert(*result);
            }
            material::add(evaluator, inner, &mut materials);
        });
    };
    for root in roots {
        match root {
            Root::Value(id) => found.push(*id),
            Root::Expr(expr) => look_into(expr, &mut found),
        }
    }
    let mut next = 0;
    while let Some(id) = found.get(next).copied() {
        next += 1;
        if let Some(Role::Let(expr)) = evaluator.program.values.get(id.0).map(|value| &value.role) {
            look_into(expr, &mut found);
        }
    }
    found.sort_unstable();
    found.dedup();
    (found, before, materials)
}

/// The unknowns under some roots, on the readings as they stand.
pub fn sources(evaluator: &Evaluator<'_>, roots: &[Root<'_>]) -> Sources {
    let mut gathered =
        Gathered { evaluator, shared: IndexMap::new(), carried: Vec::new(), found: Sources::default() };
    let (beneath, before, materials) = beneath(evaluator, roots);
    for id in &beneath {
        if let Some(value) = evaluator.program.values.get(id.0)
            && let Role::Reading(reading) = &value.role
        {
            gathered.reading(*id, value, reading);
        }
    }
    for (at, step) in evaluator.program.steps.iter().enumerate() {
        for (line, (stated, on, why)) in step.set_up.iter().enumerate() {
            if beneath.contains(on) {
                gathered.set_up((at, line), stated, *on, &wording::plain(why));
            }
        }
    }
    gathered.found.materials = materials.into_iter().map(OfMaterial::new).collect();
    gathered.found.lent = before.into_iter().flat_map(|id| lent::of(evaluator, id)).collect();
    let Gathered { shared, carried, mut found, .. } = gathered;
    found.shared = shared.into_values().chain(carried).collect();
    found
}

/// Which unknown it is.
#[derive(Clone, PartialEq, Eq, Hash)]
enum Key {
    Zero(String, u64, SetUp),
    Scale(String, u64),
    SetUp(usize, usize),
}

struct Gathered<'e> {
    evaluator: &'e Evaluator<'e>,
    shared: IndexMap<Key, Shared>,
    /// Single readings that are carried on through a seam.
    carried: Vec<Shared>,
    found: Sources,
}

impl Gathered<'_> {
    fn reading(&mut self, id: ValueId, value: &Value, reading: &Reading) {
        let laid = self.evaluator.value(id);
        let taken = self.evaluator.scope.taken(id);
        let sets = Real::from(i64::try_from(taken.len()).unwrap_or(1).max(1));
        let Some(share) = Real::from(1).div(&sets) else { return };
        let mut fresh: Vec<FreshPart> = Vec::new();
        let mut states_fresh = true;
        for taken in &taken {
            let Some(instrument) = self.evaluator.instrument_of(reading, taken.used.instrument) else {
                return;
            };
            states_fresh &= self.of_set(id, value, instrument, taken, &laid, &share, &mut fresh);
        }
        self.scatter(value, &laid, states_fresh && !taken.is_empty(), taken.len(), &mut fresh);
        if !fresh.is_empty() {
            self.found.fresh.push(Fresh { reading: id, parts: fresh });
        }
    }

    /// What one set brings; says whether its instrument states a `fresh` part.
    #[allow(clippy::too_many_arguments)]
    fn of_set(
        &mut self,
        id: ValueId,
        value: &Value,
        instrument: &Instrument,
        taken: &Taken,
        laid: &Laid,
        share: &Real,
        fresh: &mut Vec<FreshPart>,
    ) -> bool {
        let properties = &taken.used.properties;
        let mut states_fresh = false;
        for stated in wording::stated(instrument, properties) {
            let Some(size) = stated::size(meant(instrument, &stated.size), stated) else { continue };
            match stated.source {
                UncertaintySource::Fresh => {
                    states_fresh = true;
                    let part = Part {
                        freedom: size.freedom,
                        ..part(instrument, "each reading", &value.name, size.spread, true)
                    };
                    let alone = self.carry(id, taken, &part, &size.variance, share, laid);
                    add_fresh(fresh, part, &size.variance, share, &alone);
                }
                UncertaintySource::Zero => {
                    let key = Key::Zero(instrument.name.clone(), taken.used.same.in_a_row, taken.set_up);
                    let name = format!("{}, zero{}", instrument.name, self.set_up_words(taken.set_up));
                    let moves = vec![share.clone(); laid.cells.len()];
                    self.share(key, name, size, id, moves);
                }
                UncertaintySource::Scale => {
                    let of = |cell: &crate::walk::value::Cell| {
                        cell.as_number().map_or_else(Real::zero, |reading| reading * share)
                    };
                    let moves = laid.cells.iter().map(of).collect();
                    let name = format!("{}, scale", instrument.name);
                    let key = Key::Scale(instrument.name.clone(), taken.used.same.first);
                    self.share(key, name, size, id, moves);
                }
                UncertaintySource::SetUp => {}
            }
        }
        if let Some(step) = properties.resolution.as_ref().or(instrument.resolution.as_ref()) {
            let Ok(variance) = Shape::Step(meant(instrument, step)).variance() else { return states_fresh };
            let part = part(instrument, "resolution", &value.name, Spread::Even, true);
            let alone = self.carry(id, taken, &part, &variance, share, laid);
            add_fresh(fresh, part, &variance, share, &alone);
        }
        states_fresh
    }

    /// Of a joined series: what the stations read twice bring, each as an unknown of its own. Says which cells stay
    /// alone.
    fn carry(
        &mut self,
        id: ValueId,
        taken: &Taken,
        part: &Part,
        variance: &Real,
        share: &Real,
        laid: &Laid,
    ) -> Vec<bool> {
        let mut alone = vec![true; laid.cells.len()];
        let Some(parts) = taken.parts.as_ref().filter(|parts| parts.of.len() == alone.len()) else {
            return alone;
        };
        let common = parts.common();
        for cell in &common {
            if let Some(alone) = alone.get_mut(*cell) {
                *alone = false;
            }
        }
        let old = common.into_iter().map(One::Cell);
        for (error, again) in old.map(|it| (it, false)).chain(parts.all_again().map(|it| (it, true))) {
            let name = if again { format!("{}, read again", part.name) } else { part.name.clone() };
            let moves = parts.carried(error).iter().map(|by| by * share).collect();
            let (part, variance) = (Part { name, ..part.clone() }, variance.clone());
            self.carried.push(Shared { part, variance, moves: vec![(id, moves)] });
        }
        alone
    }

    fn share(&mut self, key: Key, name: String, size: Size, id: ValueId, moves: Vec<Real>) {
        let part = Part { name, spread: size.spread, shrinks: false, freedom: size.freedom };
        let shared = Shared { part, variance: size.variance, moves: Vec::new() };
        let shared = self.shared.entry(key).or_insert(shared);
        match shared.moves.iter_mut().find(|(other, _)| *other == id) {
            // A further set of the same reading that shares the unknown.
            Some((_, known)) => {
                known.iter_mut().zip(&moves).for_each(|(known, more)| *known = &*known + more)
            }
            None => shared.moves.push((id, moves)),
        }
    }

    fn set_up(&mut self, line: (usize, usize), stated: &Uncertainty, on: ValueId, why: &str) {
        let size = stated.size.unit.of_differences().to_base(&Real::Exact(stated.size.number.clone()));
        let Some(size) = stated::size(size, stated) else { return };
        let name = if why.is_empty() { "set-up".to_owned() } else { format!("set-up, {why}") };
        self.share(Key::SetUp(line.0, line.1), name, size, on, vec![Real::from(1)]);
    }

    fn set_up_words(&self, set_up: SetUp) -> String {
        let step = set_up.step.and_then(|step| self.evaluator.program.steps.get(step.0));
        let mut words = step.map(|step| format!(" of {}", step.name)).unwrap_or_default();
        if set_up.attempt > 1 {
            words.push_str(&format!(", try {}", set_up.attempt));
        }
        if set_up.set > 1 {
            words.push_str(&format!(", set {}", set_up.set));
        }
        words
    }

    /// The scatter of repeats: a part of its own where no `fresh` is stated, else told beside it.
    fn scatter(
        &mut self,
        value: &Value,
        laid: &Laid,
        states_fresh: bool,
        sets: usize,
        fresh: &mut Vec<FreshPart>,
    ) {
        let is_repeat = |axis: &&crate::check::program::AxisId| {
            let plan = self.evaluator.program.axes.get(axis.0).map(|axis| &axis.stations);
            matches!(plan, Some(Plan::Repeat { .. }))
        };
        let Some(axis) = value.axes.iter().find(is_repeat) else { return };
        let name = self.evaluator.axis_name(*axis);
        let Some(position) = laid.axes.iter().position(|own| *own.axis == *name) else { return };
        let index: Vec<Real> =
            (0..laid.cells.len()).filter_map(|at| i64::try_from(at).ok()).map(Real::from).collect();
        let numbered = Laid {
            axes: laid.axes.clone(),
            cells: index.into_iter().map(crate::walk::value::Cell::number).collect(),
        };
        let gathered = layout::gather(&numbered, &[position], false);
        let mut variances = vec![Real::zero(); laid.cells.len()];
        let (mut belongs, mut freedoms) = (vec![0; laid.cells.len()], Vec::new());
        let mut squares = 0.0;
        for (group, cells) in gathered.groups().enumerate() {
            let places: Vec<usize> =
                cells.iter().filter_map(|cell| Some(cell.as_number()?.to_f64() as usize)).collect();
            let read: Vec<Real> =
                places.iter().filter_map(|place| laid.cells.get(*place)?.as_number().cloned()).collect();
            let freedom = read.len().saturating_sub(1) as f64;
            let scattered = metrology::variance_of_mean(&read)
                .map(|(of_mean, freedom)| &of_mean * &(&freedom + &Real::from(1)));
            let variance = scattered.unwrap_or_else(|_| Real::zero());
            squares += variance.to_f64() * freedom;
            for place in places {
                if let (Some(own), Some(of)) = (variances.get_mut(place), belongs.get_mut(place)) {
                    *own = variance.clone();
                    *of = group;
                }
            }
            freedoms.push(freedom);
        }
        let freedom: f64 = freedoms.iter().sum();
        if freedom == 0.0 {
            if !states_fresh {
                self.found.notes.push(format!(
                    "{} was read once: its scatter is not known, and no `fresh` is stated",
                    value.name
                ));
            }
            return;
        }
        if !states_fresh {
            let fewest = freedoms.iter().copied().filter(|own| *own > 0.0).fold(f64::INFINITY, f64::min);
            if fewest < LEAST_FREEDOM {
                self.found.notes.push(format!(
                    "{} was read {fewest_read} times: so few say little of its scatter; read it 4 times or more, or state `fresh`",
                    value.name,
                    fewest_read = fewest + 1.0
                ));
            }
            let part = Part {
                spread: Spread::Normal,
                shrinks: true,
                ..Part::named(format!("scatter of {}", value.name))
            };
            fresh.push(FreshPart { part, variances, groups: Some((belongs, freedoms)) });
            return;
        }
        let explained: f64 = fresh.iter().filter_map(|part| part.variances.first()).map(Real::to_f64).sum();
        let explained = explained * sets.max(1) as f64;
        let unit = self.evaluator.program.values.iter().position(|other| std::ptr::eq(other, value));
        let unit = unit
            .and_then(|at| self.evaluator.shown_in(ValueId(at)))
            .map(crate::quantity::Unit::of_differences);
        let shown = |size: f64| super::wording::size(size, unit);
        let pooled = libm::sqrt(squares / freedom);
        let freedoms = super::wording::freedom(freedom);
        let mut note = format!("scatter of {}: s = {}, {freedoms}", value.name, shown(pooled));
        if squares > explained * chi_square_95(freedom) {
            note.push_str(&format!(
                "; MORE than the instrument explains ({}): it is the machine's own, or play, dirt or warming; else state a larger `fresh`",
                shown(libm::sqrt(explained))
            ));
        }
        self.found.notes.push(note);
    }
}

fn part(instrument: &Instrument, what: &str, reading: &str, spread: Spread, shrinks: bool) -> Part {
    Part { spread, shrinks, ..Part::named(format!("{}, {what}, {reading}", instrument.name)) }
}

/// A part that is new at each reading; of several sets each has its own, at its share of the mean.
fn add_fresh(fresh: &mut Vec<FreshPart>, part: Part, variance: &Real, share: &Real, alone: &[bool]) {
    let variance = &(share * share) * variance;
    let own = |alone: &bool| if *alone { variance.clone() } else { Real::zero() };
    match fresh.iter_mut().find(|known| known.part.name == part.name) {
        Some(known) => {
            known.variances.iter_mut().zip(alone).for_each(|(known, alone)| *known = &*known + &own(alone));
        }
        None => {
            // One estimate stands for all readings.
            let groups = part.freedom.map(|freedom| (vec![0; alone.len()], vec![freedom]));
            fresh.push(FreshPart { part, variances: alone.iter().map(own).collect(), groups });
        }
    }
}
