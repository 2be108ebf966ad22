//! How far what is judged is from limits that were measured too, in all trials of a block at once.

use std::rc::Rc;

use crate::check::program::{Expr, Rule, Test};
use crate::walk::value::Cell;

use super::column::Column;
use super::drawn::{Block, Drawn, Each};

/// Which numbers of an element stand where: what is judged first, then what the rule names, in its order.
struct Order {
    first: Option<usize>,
    second: Option<usize>,
    per: Option<(usize, usize)>,
    floor: Option<usize>,
    cap: Option<usize>,
}

impl Order {
    /// A bound scaled to what was measured; zero stays zero and the sign stays (`metrology::scaled`).
    fn scaled(&self, numbers: &[f64], bound: f64) -> f64 {
        let get = |at: Option<usize>| at.and_then(|at| numbers.get(at)).copied();
        let share = self.per.and_then(|(per, over)| Some(get(Some(over))? / get(Some(per))?)).unwrap_or(1.0);
        let size = (bound * share).abs();
        let size = match (get(self.floor), get(self.cap)) {
            (Some(floor), _) if size < floor => floor,
            (_, Some(cap)) if size > cap => cap,
            _ => size,
        };
        if bound > 0.0 {
            size
        } else if bound < 0.0 {
            -size
        } else {
            0.0
        }
    }

    /// The lower and the upper limit of an element.
    fn bounds(&self, test: &Test, numbers: &[f64]) -> [Option<f64>; 2] {
        let get = |at: Option<usize>| at.and_then(|at| numbers.get(at)).copied();
        let first = get(self.first).unwrap_or(0.0);
        let scaled = |bound: f64| Some(self.scaled(numbers, bound));
        match test {
            Test::AtMost(_) | Test::Below(_) | Test::Steady { .. } | Test::Concave { .. } => {
                [None, scaled(first)]
            }
            Test::AtLeast(_) | Test::Above(_) => [scaled(first), None],
            Test::Convex { .. } => [scaled(-first), None],
            Test::FromTo(..) => [scaled(first), get(self.second).and_then(scaled)],
            Test::Within { .. } => {
                let (size, middle) = (self.scaled(numbers, first), get(self.second).unwrap_or(0.0));
                [Some(middle - size), Some(middle + size)]
            }
        }
    }
}

impl Block<'_> {
    /// Of each element how far it is from the lower and from the upper limit.
    pub(in crate::walk) fn margins(&self, judged: &Drawn, rule: &Rule) -> Option<Rc<Drawn>> {
        let (first, second) = match &rule.test {
            Test::AtMost(a) | Test::AtLeast(a) | Test::Above(a) | Test::Below(a) => (Some(a), None),
            Test::FromTo(a, b) => (Some(a), Some(b)),
            Test::Within { size, of } => (Some(size), of.as_ref()),
            Test::Convex { allowance } | Test::Concave { allowance } => (allowance.as_ref(), None),
            Test::Steady { within, .. } => (Some(within), None),
        };
        let mut quantities: Vec<Rc<Drawn>> = Vec::new();
        let mut take = |expr: Option<&Expr>| -> Option<Option<usize>> {
            let Some(expr) = expr else { return Some(None) };
            quantities.push(self.expr(expr)?);
            Some(Some(quantities.len()))
        };
        let (first, second) = (take(first)?, take(second)?);
        let per = rule.per.as_ref();
        let per = take(per.map(|(per, _)| per))?.zip(take(per.map(|(_, over)| over))?);
        let order =
            Order { first, second, per, floor: take(rule.floor.as_ref())?, cap: take(rule.cap.as_ref())? };
        let mut values = vec![judged];
        values.extend(quantities.iter().map(|it| &**it));
        let side = |at: usize| {
            self.meet(&values, |columns| {
                let mut numbers = vec![0.0; columns.len()];
                let margin = |trial: usize| {
                    for (number, column) in numbers.iter_mut().zip(columns) {
                        *number = column.get(trial).copied()?;
                    }
                    let limit = order.bounds(&rule.test, &numbers).get(at).copied().flatten()?;
                    Some(numbers.first()? - limit)
                };
                // Without a limit on that side there is none in any trial.
                (0..self.trials)
                    .map(margin)
                    .collect::<Option<Vec<f64>>>()
                    .map_or(Some(Column::from([])), |all| Some(all.into()))
            })
        };
        let (lower, upper) = (side(0)?, side(1)?);
        let there = |each: &Each| match each {
            Each::Number(column) if column.is_empty() => Each::Same(Cell::invalid("there is no limit")),
            other => other.clone(),
        };
        let pairs =
            lower.cells.iter().zip(&upper.cells).flat_map(|(lower, upper)| [there(lower), there(upper)]);
        Some(Rc::new(Drawn { axes: Vec::new(), cells: pairs.collect() }))
    }
}
