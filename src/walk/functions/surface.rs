//! Functions over a surface: a grid of two lengths, or the heights along the lines of a survey.

use std::rc::Rc;

use crate::check::program::{By, Stations as Plan, Survey};
use crate::metrology::{self, Fault, MapBy, Place, PlaneReference, PlateMap};
use crate::quantity::{Rational, Real};
use crate::walk::layout;
use crate::walk::text;
use crate::walk::value::{Cell, Laid, NOT_APPLICABLE, Station, Stations};

use super::along::{Along, Left, Needs};
use super::{numbers, result};

/// Fewer points lie in many planes.
const LEAST: usize = 4;

pub(in crate::walk) fn reference(by: Option<By>) -> PlaneReference {
    match by {
        Some(By::MinimumZone) => PlaneReference::MinimumZone,
        Some(By::ThreeCorners) => PlaneReference::ThreeCorners,
        // Only where the lines of a survey meet are there several heights at one place.
        _ => PlaneReference::LeastSquaresByPlace,
    }
}

impl Along<'_> {
    pub(super) fn flatness(&self, by: Option<By>) -> Result<Rc<Laid>, Cell> {
        let places = self.places()?;
        self.each(|group| match self.on_the_surface(&places, group) {
            Ok((_, places, heights)) => result(metrology::flatness(&places, &heights, reference(by))),
            Err(missing) => missing,
        })
    }

    pub(super) fn plane_ordinates(&self, by: Option<By>) -> Result<Rc<Laid>, Cell> {
        let places = self.places()?;
        let into = |group: &[&Cell]| -> Vec<Cell> {
            let found = self.on_the_surface(&places, group).and_then(|(left, places, heights)| {
                let ordinates = metrology::plane_ordinates(&places, &heights, reference(by));
                Ok((left, ordinates.map_err(|fault: Fault| Cell::invalid(fault.to_string()))?))
            });
            match found {
                Ok((left, ordinates)) => {
                    let mut cells: Vec<Cell> = group.iter().map(|cell| (*cell).clone()).collect();
                    for (place, ordinate) in left.into_iter().zip(ordinates) {
                        if let Some(cell) = cells.get_mut(place) {
                            *cell = Cell::number(ordinate);
                        }
                    }
                    cells
                }
                Err(missing) => {
                    let cell =
                        |cell: &&Cell| if cell.is_no_element() { (*cell).clone() } else { missing.clone() };
                    group.iter().map(cell).collect()
                }
            }
        };
        Ok(Rc::new(layout::replaced(self.argument, &self.positions()?, into)))
    }

    /// Places and heights of what takes part in a group.
    fn on_the_surface(
        &self,
        places: &[Option<Place>],
        group: &[&Cell],
    ) -> Result<(Left, Vec<Place>, Vec<Real>), Cell> {
        let left = self.taking_part(group, Needs::AtLeast(LEAST))?;
        let cells: Vec<&Cell> = left.iter().filter_map(|at| group.get(*at).copied()).collect();
        let heights = numbers(&cells)?;
        let places: Vec<Place> = left.iter().filter_map(|at| places.get(*at).cloned().flatten()).collect();
        if places.len() != heights.len() {
            return Err(Cell::invalid("the stations have no places on a surface"));
        }
        Ok((left, places, heights))
    }

    /// The place of each cell of a group; none beyond the end of a survey's line.
    pub(super) fn places(&self) -> Result<Vec<Option<Place>>, Cell> {
        let positions = self.positions()?;
        let mut axes =
            positions.iter().filter_map(|position| self.argument.axes.get(*position)).collect::<Vec<_>>();
        axes.sort_by_key(|axis| self.argument.axes.iter().position(|own| own.axis == axis.axis));
        let [first, second] = axes.as_slice() else {
            let missing = Cell::gravest(&self.argument.cells).filter(|_| self.argument.axes.is_empty());
            return Err(missing.cloned().unwrap_or_else(|| Cell::invalid("two lengths were expected")));
        };
        match self.survey() {
            Some(survey) => Ok(along_lines(survey, second)),
            None => grid(first, second),
        }
    }

    fn survey(&self) -> Option<&Survey> {
        let axes = if self.over.is_empty() { self.axes } else { self.over };
        axes.iter().find_map(|axis| {
            match self.evaluator.program.axes.get(axis.0).map(|axis| &axis.stations) {
                Some(Plan::SurveyLines(survey)) => Some(survey),
                _ => None,
            }
        })
    }
}

fn grid(first: &Stations, second: &Stations) -> Result<Vec<Option<Place>>, Cell> {
    let mut places = Vec::new();
    for along in first.open() {
        for across in second.open() {
            match (&along.position, &across.position) {
                (Some(along), Some(across)) => places.push(Some((along.clone(), across.clone()))),
                _ => return Err(Cell::invalid("the stations have no places on a surface")),
            }
        }
    }
    Ok(places)
}

fn along_lines(survey: &Survey, steps: &Stations) -> Vec<Option<Place>> {
    let line = |places: &Vec<Place>| {
        let mut places: Vec<Option<Place>> = places.iter().cloned().map(Some).collect();
        places.resize(steps.stations.len(), None);
        places
    };
    survey.plan.places().iter().flat_map(line).collect()
}

impl Along<'_> {
    pub(super) fn plate_map(&self, by: Option<By>) -> Result<Rc<Laid>, Cell> {
        let (position, _) = self.axis()?;
        let survey = self.planned()?;
        let by = if by == Some(By::LeastSquares) { MapBy::LeastSquares } else { MapBy::Closing };
        let cells = survey.longest() + 1;
        let gathered = layout::gather(self.argument, &[position], false);
        let mut all = Vec::new();
        for group in gathered.groups() {
            let lines = survey.plan.feet().map(|feet| (0..cells).map(move |cell| cell <= feet));
            match self.mapped(&survey.plan, by, &group) {
                Ok(map) => {
                    let beyond = || Cell::NotRead(NOT_APPLICABLE.into());
                    all.extend(map.heights.into_iter().flat_map(|heights| {
                        let mut line: Vec<Cell> = heights.into_iter().map(Cell::number).collect();
                        line.resize(cells, beyond());
                        line
                    }));
                }
                Err(missing) => all.extend(lines.into_iter().flatten().map(|there| match there {
                    true => missing.clone(),
                    false => Cell::NotRead(NOT_APPLICABLE.into()),
                })),
            }
        }
        let mut axes = gathered.kept;
        axes.extend(map_axes(survey));
        Ok(Rc::new(Laid { axes, cells: all }))
    }

    /// How far apart the lines of a survey are where they meet.
    pub(super) fn survey_closure(&self) -> Result<Rc<Laid>, Cell> {
        let survey = self.planned()?;
        self.each(|group| match self.mapped(&survey.plan, MapBy::Closing, group) {
            Ok(map) => result(map.closure()),
            Err(missing) => missing,
        })
    }

    fn planned(&self) -> Result<&Survey, Cell> {
        match self.plan().map(|axis| &axis.stations) {
            Some(Plan::Survey(survey)) => Ok(survey),
            _ => Err(Cell::invalid("the lines of a survey were expected")),
        }
    }

    fn mapped(&self, plan: &metrology::Survey, by: MapBy, group: &[&Cell]) -> Result<PlateMap, Cell> {
        self.taking_part(group, Needs::All)?;
        let mut tilts = numbers(group)?.into_iter();
        let lines = plan.feet().map(|feet| tilts.by_ref().take(feet).collect::<Vec<Real>>());
        plan.map(&lines, by).map_err(|fault| Cell::invalid(fault.to_string()))
    }

    pub(super) fn is_survey(&self) -> bool {
        matches!(self.plan().map(|axis| &axis.stations), Some(Plan::Survey(_)))
    }
}

/// The lines, and the ends of the feet from the beginning of each.
fn map_axes(survey: &Survey) -> [Rc<Stations>; 2] {
    let axis =
        |name: &str, stations| Rc::new(Stations { axis: name.into(), stations, closing: false, foot: None });
    let line = |(name, _): (&str, usize)| Station { name: name.into(), position: None };
    let step = |step: usize| {
        let place = Rational::from_integer(step.into()) * &survey.foot;
        Station { name: text::name(&place, survey.unit).into(), position: Some(Real::Exact(place)) }
    };
    let steps = (0..=survey.longest()).map(step).collect();
    [axis("line", survey.lines().map(line).collect()), axis("step", steps)]
}
