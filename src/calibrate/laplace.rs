//! The mode of a density and the normal distribution that it looks like there.

use nalgebra::{DMatrix, DVector};

/// Gradient and negative Hessian of a log density, by central differences a fiftieth of each number's scale wide.
fn slopes(density: &impl Fn(&[f64]) -> f64, scales: &[f64], x: &[f64]) -> (DVector<f64>, DMatrix<f64>) {
    let n = x.len();
    let h: Vec<f64> = scales.iter().map(|s| 0.02 * s).collect();
    let at = |steps: &[(usize, f64)]| {
        let mut moved = x.to_vec();
        steps.iter().for_each(|(i, s)| moved[*i] += s * h[*i]);
        density(&moved)
    };
    let middle = at(&[]);
    let sides: Vec<[f64; 2]> = (0..n).map(|i| [at(&[(i, -1.0)]), at(&[(i, 1.0)])]).collect();
    let gradient = DVector::from_fn(n, |i, _| (sides[i][1] - sides[i][0]) / (2.0 * h[i]));
    let mut bend = DMatrix::zeros(n, n);
    for i in 0..n {
        bend[(i, i)] = (2.0 * middle - sides[i][0] - sides[i][1]) / (h[i] * h[i]);
        for j in 0..i {
            let both = at(&[(i, 1.0), (j, 1.0)]) + at(&[(i, -1.0), (j, -1.0)]);
            let alone: f64 = sides[i].iter().chain(&sides[j]).sum();
            bend[(i, j)] = (alone - both - 2.0 * middle) / (2.0 * h[i] * h[j]);
            bend[(j, i)] = bend[(i, j)];
        }
    }
    (gradient, bend)
}

/// The mode of a density by damped Newton steps from a start, given its logarithm and the scale of each number, and the
/// covariance of the normal approximation there.
pub fn mode(
    density: &impl Fn(&[f64]) -> f64,
    scales: &[f64],
    start: Vec<f64>,
) -> (DVector<f64>, DMatrix<f64>) {
    let mut x = start;
    let mut height = density(&x);
    for _ in 0..50 {
        let (gradient, bend) = slopes(density, scales, &x);
        let step = safe(bend).solve(&gradient);
        let better = (0..20).map(|k| 0.5f64.powi(k)).find_map(|share| {
            let next: Vec<f64> = x.iter().zip(step.iter()).map(|(x, step)| x + share * step).collect();
            let higher = density(&next);
            (higher > height).then_some((next, higher))
        });
        let Some((next, higher)) = better else { break };
        let gain = higher - height;
        (x, height) = (next, higher);
        if gain < 1e-6 {
            break;
        }
    }
    let unknown = safe(slopes(density, scales, &x).1).inverse();
    (DVector::from_vec(x), unknown)
}

/// The Cholesky decomposition of a symmetric matrix, its diagonal raised until there is one.
pub fn safe(matrix: DMatrix<f64>) -> nalgebra::Cholesky<f64, nalgebra::Dyn> {
    let n = matrix.nrows();
    let mut ridge = 0.0;
    loop {
        if let Some(root) = (&matrix + DMatrix::identity(n, n) * ridge).cholesky() {
            return root;
        }
        ridge = if ridge == 0.0 { 1e-6 } else { 10.0 * ridge };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of a normal density, both are its own (closed form).
    #[test]
    fn a_normal_density_is_found_whole() {
        let precision = DMatrix::from_row_slice(3, 3, &[4.0, 1.0, 0.0, 1.0, 2.0, -0.5, 0.0, -0.5, 1.0]);
        let middle = [1.5, -2.0, 0.25];
        let density = |x: &[f64]| {
            let off = DVector::from_fn(3, |i, _| x[i] - middle[i]);
            -0.5 * off.dot(&(&precision * &off))
        };
        let (found, covariance) = mode(&density, &[1.0, 2.0, 0.5], vec![9.0, 9.0, -9.0]);
        let known = precision.clone().try_inverse().unwrap();
        for i in 0..3 {
            assert!((found[i] - middle[i]).abs() < 1e-6, "{found}");
            for j in 0..3 {
                assert!((covariance[(i, j)] - known[(i, j)]).abs() < 1e-6, "{covariance}");
            }
        }
    }

    /// A gamma density of shape 5 has its mode at 4 and a curvature there of -1/4 (closed form).
    #[test]
    fn a_skew_density_is_climbed_from_afar() {
        let density = |x: &[f64]| if x[0] > 0.0 { 4.0 * x[0].ln() - x[0] } else { f64::NEG_INFINITY };
        for start in [0.05, 1.0, 40.0] {
            let (found, covariance) = mode(&density, &[1.0], vec![start]);
            assert!((found[0] - 4.0).abs() < 1e-2, "{start}: {found}");
            assert!((covariance[(0, 0)] - 4.0).abs() < 0.05, "{start}: {covariance}");
        }
    }

    #[test]
    fn a_matrix_is_left_as_it_is_unless_it_must_be_raised() {
        let whole = |matrix: &DMatrix<f64>| {
            let root = safe(matrix.clone()).l();
            &root * root.transpose()
        };
        let good = DMatrix::from_row_slice(2, 2, &[2.0, 1.0, 1.0, 2.0]);
        assert!((whole(&good) - &good).norm() < 1e-12);
        for (bad, most) in [([1.0, 1.0, 1.0, 1.0], 1e-6), ([1.0, 2.0, 2.0, 1.0], 10.0)] {
            let bad = DMatrix::from_row_slice(2, 2, &bad);
            let raised = whole(&bad) - &bad;
            assert!(raised[(0, 1)].abs() < 1e-12 && (raised[(0, 0)] - raised[(1, 1)]).abs() < 1e-12);
            assert!(raised[(0, 0)] > 0.0 && raised[(0, 0)] < 1.01 * most, "{raised}");
        }
    }
}
