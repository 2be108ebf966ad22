//! How fast a value wanders of itself, in its unit a year.
//!
//! What was adjusted is taken out: y at the first visit is the value as found; at each further one what it was found to
//! have moved since it was left: y_k+1 = y_k + found_k+1 - left_k. The drift is the slope of the least-squares line of y
//! over time, with its standard uncertainty from the scatter (JCGM 100:2008, H.3); U = k u with the k of
//! Student's t for 95.45 % (G.3), which is large where there are few visits.

use super::Point;
use crate::metrology::{coverage_factor, fit_with_uncertainty};
use crate::quantity::{Rational, Real};

#[derive(Clone, Debug)]
pub struct Drift {
    /// In the unit of the series, a year.
    pub rate: f64,
    pub expanded: f64,
    pub k: f64,
    pub freedom: usize,
    pub from: String,
    pub to: String,
    pub visits: usize,
    /// The procedure or an instrument changed in between.
    pub across_breaks: bool,
}

/// Of the latest stretch without a break if it has three visits, else across the breaks; none with fewer visits.
pub fn drift(points: &[Point]) -> Option<Drift> {
    let compared: Vec<&Point> = points.iter().filter(|point| point.apart.is_none()).collect();
    let last_break = compared.iter().rposition(|point| !point.breaks.is_empty()).unwrap_or(0);
    let unbroken = compared.get(last_break..).unwrap_or_default();
    match unbroken.len() {
        0..3 => of(&compared, last_break > 0),
        _ => of(unbroken, false),
    }
}

fn of(points: &[&Point], across_breaks: bool) -> Option<Drift> {
    let (first, last) = (points.first()?, points.last()?);
    let mut wandered: Vec<Rational> = vec![first.found.value.clone()];
    for (before, after) in points.iter().zip(points.iter().skip(1)) {
        let moved = &after.found.value - &before.left.value;
        wandered.push(wandered.last()? + moved);
    }
    let real = |value: &Rational| Real::Exact(value.clone());
    let years: Vec<Real> = points.iter().map(|point| real(&point.years)).collect();
    let values: Vec<Real> = wandered.iter().map(real).collect();
    let line = fit_with_uncertainty(&years, &values, &real(&first.years)).ok()?;
    let k = coverage_factor(0.9545, Some(line.freedom as f64)).ok()?;
    Some(Drift {
        rate: line.line.slope.to_f64(),
        expanded: k * line.u_slope.to_f64(),
        k,
        freedom: line.freedom,
        from: first.day.clone(),
        to: last.day.clone(),
        visits: points.len(),
        across_breaks,
    })
}

impl Drift {
    /// Larger than what its own scatter explains.
    pub fn stands_out(&self) -> bool {
        self.rate.abs() > self.expanded
    }
}
