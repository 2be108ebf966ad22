//! One number of a result in all trials at once, and what is worked out of such columns.

use std::rc::Rc;

use crate::check::program::Function;
use crate::quantity::Real;

pub type Column = Rc<[f64]>;

/// What a function makes of several columns. `None`: it has no such form.
pub fn of_list(function: Function, columns: &[Column]) -> Option<Column> {
    let count = columns.len() as f64;
    match function {
        Function::Greatest => fold(columns, f64::max),
        Function::Least => fold(columns, f64::min),
        Function::Range | Function::Runout if columns.len() >= 2 => {
            fold(&[fold(columns, f64::max)?, fold(columns, f64::min)?], |high, low| high - low)
        }
        Function::Sum => fold(columns, |sum, own| sum + own),
        Function::Mean => Some(fold(columns, |sum, own| sum + own)?.iter().map(|sum| sum / count).collect()),
        Function::Stdev if columns.len() >= 2 => {
            let mean: Column = of_list(Function::Mean, columns)?;
            let mut squares = vec![0.0; mean.len()];
            for column in columns {
                for ((sum, own), mean) in squares.iter_mut().zip(column.iter()).zip(mean.iter()) {
                    *sum += (own - mean) * (own - mean);
                }
            }
            Some(squares.into_iter().map(|sum| libm::sqrt(sum / (count - 1.0))).collect())
        }
        Function::First => columns.first().cloned(),
        Function::Last => columns.last().cloned(),
        Function::Gain => {
            fold(&[columns.last()?.clone(), columns.first()?.clone()], |last, first| last - first)
        }
        Function::RootSumSquares => {
            let squares: Vec<Column> =
                columns.iter().map(|own| own.iter().map(|own| own * own).collect()).collect();
            Some(fold(&squares, |sum, own| sum + own)?.iter().map(|sum| libm::sqrt(*sum)).collect())
        }
        _ => None,
    }
}

pub fn fold(columns: &[Column], with: impl Fn(f64, f64) -> f64) -> Option<Column> {
    let (first, further) = columns.split_first()?;
    let mut all = first.to_vec();
    for column in further {
        for (all, own) in all.iter_mut().zip(column.iter()) {
            *all = with(*all, *own);
        }
    }
    Some(all.into())
}

/// By multiplying, which has the same digits everywhere.
pub fn to_power(value: f64, power: i32) -> f64 {
    let up = (0..power.unsigned_abs()).fold(1.0, |product, _| product * value);
    if power < 0 { 1.0 / up } else { up }
}

pub fn negated(column: &Column) -> Column {
    column.iter().map(|own| -own).collect()
}

/// Something linear in so many numbers as a matrix: what comes of each of them alone being one.
pub fn matrix(count: usize, of: impl Fn(&[Real]) -> Option<Vec<Real>>) -> Option<Vec<Vec<f64>>> {
    let mut rows: Vec<Vec<f64>> = Vec::new();
    for at in 0..count {
        let mut unit = vec![Real::zero(); count];
        unit.iter_mut().skip(at).take(1).for_each(|own| *own = Real::from(1));
        let column = of(&unit)?;
        rows.resize(column.len(), vec![0.0; count]);
        for (row, value) in rows.iter_mut().zip(&column) {
            row.iter_mut().skip(at).take(1).for_each(|own| *own = value.to_f64());
        }
    }
    Some(rows)
}

pub fn combined(factors: &[f64], columns: &[Column]) -> Column {
    let mut sum = vec![0.0; columns.first().map_or(0, |column| column.len())];
    for (factor, column) in factors.iter().zip(columns) {
        if *factor != 0.0 {
            add(&mut sum, *factor, column);
        }
    }
    sum.into()
}

/// By fours, since draws spend much of their time here.
pub fn add(sum: &mut [f64], factor: f64, column: &[f64]) {
    let ((fours, rest), (own, last)) = (sum.as_chunks_mut::<4>(), column.as_chunks::<4>());
    for ([a, b, c, d], [e, f, g, h]) in fours.iter_mut().zip(own) {
        *a += factor * e;
        *b += factor * f;
        *c += factor * g;
        *d += factor * h;
    }
    for (sum, own) in rest.iter_mut().zip(last) {
        *sum += factor * own;
    }
}
