//! The mode of a density and the normal distribution that it looks like there.

use nalgebra::{DMatrix, DVector};

/// Gradient and negative Hessian of a log density, by central differences a fiftieth of each number's scale wide.
fn slopes<const N: usize>(
    density: &impl Fn(&[f64; N]) -> f64,
    scales: &[f64; N],
    x: &[f64; N],
) -> (DVector<f64>, DMatrix<f64>) {
    let h: [f64; N] = std::array::from_fn(|i| 0.02 * scales[i]);
    let at = |steps: &[(usize, f64)]| {
        let mut moved = *x;
        steps.iter().for_each(|(i, s)| moved[*i] += s * h[*i]);
        density(&moved)
    };
    let middle = at(&[]);
    let sides: [[f64; 2]; N] = std::array::from_fn(|i| [at(&[(i, -1.0)]), at(&[(i, 1.0)])]);
    let gradient = DVector::from_fn(N, |i, _| (sides[i][1] - sides[i][0]) / (2.0 * h[i]));
    let mut bend = DMatrix::zeros(N, N);
    for i in 0..N {
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
pub fn mode<const N: usize>(
    density: &impl Fn(&[f64; N]) -> f64,
    scales: &[f64; N],
    start: [f64; N],
) -> (DVector<f64>, DMatrix<f64>) {
    let mut x = start;
    let mut height = density(&x);
    for _ in 0..50 {
        let (gradient, bend) = slopes(density, scales, &x);
        let step = safe(bend).solve(&gradient);
        let better = (0..20).map(|k| 0.5f64.powi(k)).find_map(|share| {
            let next: [f64; N] = std::array::from_fn(|i| x[i] + share * step[i]);
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
    (DVector::from_column_slice(&x), safe(slopes(density, scales, &x).1).inverse())
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
