//! Least squares of a curve that is not linear in what is sought.
//!
//! Minimise sum r_i(p)^2. Levenberg's damped steps with Marquardt's scaling (textbook) find the place, undamped
//! Gauss-Newton steps finish until they no longer shrink; the last of them bounds the error of the parameters, to
//! first order. Covariance = (J'J)^-1 s^2, s^2 = sum r^2 / (n - parameters). All in `f64`.

use super::Fault;

/// What was found. Covariances are those of the parameters, from the scatter about the curve.
#[derive(Clone, Debug, PartialEq)]
pub struct CurveFit<const N: usize> {
    pub parameters: [f64; N],
    pub covariance: [[f64; N]; N],
    pub residual_squares: f64,
    pub freedom: usize,
    /// How far each parameter may still be from its best value.
    pub bounds: [f64; N],
}

impl<const N: usize> CurveFit<N> {
    pub fn residual_stdev(&self) -> f64 {
        libm::sqrt(self.residual_squares / self.freedom.max(1) as f64)
    }

    /// Standard uncertainty of one parameter; zero for a place that is none.
    pub fn u(&self, place: usize) -> f64 {
        self.covariance
            .get(place)
            .and_then(|row| row.get(place))
            .map_or(0.0, |square| libm::sqrt(square.max(0.0)))
    }
}

/// A residual and its derivatives by the parameters; `None` where the curve has no value there.
type Residual<const N: usize> = Option<(f64, [f64; N])>;

struct Normal<const N: usize> {
    squares: f64,
    matrix: [[f64; N]; N],
    right: [f64; N],
}

/// Fits y = curve(x; p). Needs more readings than parameters.
pub fn fit_curve<const N: usize>(
    xs: &[f64],
    ys: &[f64],
    start: [f64; N],
    curve: impl Fn(f64, &[f64; N]) -> Residual<N>,
) -> Result<CurveFit<N>, Fault> {
    super::paired(xs, ys, N + 1)?;
    least_squares(xs.len(), start, |place, parameters| {
        let (x, y) = xs.get(place).zip(ys.get(place))?;
        let (value, slope) = curve(*x, parameters)?;
        Some((value - y, slope))
    })
}

/// Minimises the sum of the squares of `count` residuals.
pub(super) fn least_squares<const N: usize>(
    count: usize,
    start: [f64; N],
    residual: impl Fn(usize, &[f64; N]) -> Residual<N>,
) -> Result<CurveFit<N>, Fault> {
    let normal = |parameters: &[f64; N]| -> Option<Normal<N>> {
        let mut normal = Normal { squares: 0.0, matrix: [[0.0; N]; N], right: [0.0; N] };
        for place in 0..count {
            let (value, slope) = residual(place, parameters)?;
            normal.squares += value * value;
            for a in 0..N {
                normal.right[a] -= slope[a] * value;
                for b in 0..N {
                    normal.matrix[a][b] += slope[a] * slope[b];
                }
            }
        }
        normal.squares.is_finite().then_some(normal)
    };
    let mut parameters = start;
    let mut here = normal(&parameters).ok_or(Fault::NoFit)?;
    let mut damping = 1e-3;
    for _ in 0..2000 {
        let step = solve(&here.matrix, &here.right, damping);
        let next = step.map(|step| std::array::from_fn(|k| parameters[k] + step[k]));
        let better = next
            .and_then(|next| Some((next, normal(&next)?)))
            .filter(|(_, there)| there.squares < here.squares);
        match better {
            Some((next, there)) => {
                let moved = (0..N).any(|k| (next[k] - parameters[k]).abs() > 1e-9 * parameters[k].abs());
                (parameters, here) = (next, there);
                damping = (damping * 0.2).max(1e-18);
                if !moved {
                    break;
                }
            }
            None if damping > 1e12 => break,
            None => damping *= 5.0,
        }
    }
    finish(count, parameters, normal)
}

fn finish<const N: usize>(
    count: usize,
    mut parameters: [f64; N],
    normal: impl Fn(&[f64; N]) -> Option<Normal<N>>,
) -> Result<CurveFit<N>, Fault> {
    let mut last = f64::INFINITY;
    let mut bounds = [f64::INFINITY; N];
    for _ in 0..60 {
        let here = normal(&parameters).ok_or(Fault::NoFit)?;
        let step = solve(&here.matrix, &here.right, 0.0).ok_or(Fault::IllConditioned)?;
        // Each step against the scale of its parameter in the fit.
        let size = (0..N).map(|k| step[k] * step[k] * here.matrix[k][k]).sum::<f64>();
        if size >= last {
            break;
        }
        last = size;
        bounds = std::array::from_fn(|k| 4.0 * step[k].abs() + 8.0 * f64::EPSILON * parameters[k].abs());
        parameters = std::array::from_fn(|k| parameters[k] + step[k]);
    }
    let here = normal(&parameters).ok_or(Fault::NoFit)?;
    // The last step must be nothing beside the scatter, or beside what the parameters themselves amount to.
    let amount = (0..N).map(|k| parameters[k] * parameters[k] * here.matrix[k][k]).sum::<f64>();
    if last > 1e-16 * here.squares + 1e-24 * amount {
        return Err(Fault::NoFit);
    }
    let freedom = count.saturating_sub(N);
    let variance = here.squares / freedom.max(1) as f64;
    let mut covariance = [[0.0; N]; N];
    for column in 0..N {
        let unit = std::array::from_fn(|k| if k == column { 1.0 } else { 0.0 });
        let solved = solve(&here.matrix, &unit, 0.0).ok_or(Fault::IllConditioned)?;
        for (row, value) in covariance.iter_mut().zip(solved) {
            row[column] = value * variance;
        }
    }
    Ok(CurveFit { parameters, covariance, residual_squares: here.squares, freedom, bounds })
}

/// Solves (M + damping diag M) x = right, scaled so that the diagonal is one; `None` if it is singular.
fn solve<const N: usize>(matrix: &[[f64; N]; N], right: &[f64; N], damping: f64) -> Option<[f64; N]> {
    let scale: [f64; N] = std::array::from_fn(|k| libm::sqrt(matrix[k][k]));
    if scale.iter().any(|scale| !(*scale > 0.0 && scale.is_finite())) {
        return None;
    }
    let mut m: [[f64; N]; N] = std::array::from_fn(|a| {
        std::array::from_fn(|b| matrix[a][b] / (scale[a] * scale[b]) + if a == b { damping } else { 0.0 })
    });
    let mut x: [f64; N] = std::array::from_fn(|k| right[k] / scale[k]);
    // A positive definite matrix needs no exchange of rows.
    for k in 0..N {
        if m[k][k] < 1e-14 {
            return None;
        }
        let pivot_row = m[k];
        for row in k + 1..N {
            let factor = m[row][k] / pivot_row[k];
            for (entry, above) in m[row].iter_mut().zip(pivot_row) {
                *entry -= factor * above;
            }
            x[row] -= factor * x[k];
        }
    }
    for k in (0..N).rev() {
        let known: f64 = (k + 1..N).map(|column| m[k][column] * x[column]).sum();
        x[k] = (x[k] - known) / m[k][k];
    }
    let solved: [f64; N] = std::array::from_fn(|k| x[k] / scale[k]);
    solved.iter().all(|value| value.is_finite()).then_some(solved)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_found_from_anywhere() {
        let line = |x: f64, p: &[f64; 2]| Some((p[0] + p[1] * x, [1.0, x]));
        let found = fit_curve(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 5.0, 7.0], [1e6, -40.0], line).unwrap();
        assert!((found.parameters[0] - 1.0).abs() < 1e-9 && (found.parameters[1] - 2.0).abs() < 1e-9);
        assert!(found.u(0) < 1e-9 && found.freedom == 2);
    }

    #[test]
    fn a_parameter_that_changes_nothing_is_ill_conditioned() {
        let blind = |x: f64, p: &[f64; 2]| Some((p[0] * x, [x, 0.0]));
        let found = fit_curve(&[0.0, 1.0, 2.0], &[1.0, 3.0, 5.0], [1.0, 1.0], blind);
        assert_eq!(found, Err(Fault::IllConditioned));
        let few = fit_curve(&[0.0, 1.0], &[1.0, 3.0], [1.0, 1.0], blind);
        assert_eq!(few, Err(Fault::TooFew { needed: 3, found: 2 }));
    }
}
