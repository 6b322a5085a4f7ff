//! Normal equations solved column by column: what the columns taken so far have in common is
//! worked out once, however many others are tried after them. Nothing is allocated.

use super::linear::Gram;

/// Most columns at once.
pub const MOST_COLUMNS: usize = 16;

/// Smallest pivot, over what the column is alone: below, it is in the span of the columns
/// before it (the condition of the scaled matrix exceeds about 1e12).
const SMALLEST_PIVOT: f64 = 1e-6;

/// Cholesky's factor of the normal equations on the columns taken so far.
pub struct Growing<'g> {
    gram: &'g Gram,
    taken: usize,
    columns: [usize; MOST_COLUMNS],
    /// Columns are scaled to unit diagonal, so that a pivot says how far a column is from
    /// the span of the others.
    scale: [f64; MOST_COLUMNS],
    factor: [[f64; MOST_COLUMNS]; MOST_COLUMNS],
    /// The factor's inverse times the scaled right side.
    forward: [f64; MOST_COLUMNS],
}

impl<'g> Growing<'g> {
    /// No column yet.
    pub fn new(gram: &'g Gram) -> Self {
        Self {
            gram,
            taken: 0,
            columns: [0; MOST_COLUMNS],
            scale: [0.0; MOST_COLUMNS],
            factor: [[0.0; MOST_COLUMNS]; MOST_COLUMNS],
            forward: [0.0; MOST_COLUMNS],
        }
    }

    /// The columns taken.
    pub fn columns(&self) -> &[usize] {
        &self.columns[..self.taken]
    }

    /// Takes a column in; `false`, and nothing is changed, where it cannot be told from
    /// those before it or there is no room.
    pub fn take(&mut self, column: usize) -> bool {
        let n = self.taken;
        let scale = self.gram.between(column, column).sqrt();
        if n == MOST_COLUMNS || !(scale.is_finite() && scale > 0.0) {
            return false;
        }
        let mut row = [0.0; MOST_COLUMNS];
        let mut left = 1.0;
        let mut right = self.gram.with_readings(column) / scale;
        for i in 0..n {
            let known: f64 = self.factor[i][..i].iter().zip(&row).map(|(a, b)| a * b).sum();
            let shared = self.gram.between(self.columns[i], column) / (self.scale[i] * scale);
            row[i] = (shared - known) / self.factor[i][i];
            left -= row[i] * row[i];
            right -= row[i] * self.forward[i];
        }
        if left.is_nan() || left <= SMALLEST_PIVOT * SMALLEST_PIVOT {
            return false;
        }
        row[n] = left.sqrt();
        self.forward[n] = right / row[n];
        (self.columns[n], self.scale[n], self.factor[n]) = (column, scale, row);
        self.taken += 1;
        true
    }

    /// Takes in several; `false`, and nothing is changed, where one of them cannot be.
    pub fn take_all(&mut self, columns: &[usize]) -> bool {
        let before = self.taken;
        let all = columns.iter().all(|&c| self.take(c));
        if !all {
            self.taken = before;
        }
        all
    }

    /// Leaves out the columns taken last.
    pub fn leave(&mut self, columns: usize) {
        self.taken = self.taken.saturating_sub(columns);
    }

    /// Weighted sum of squared residuals.
    pub fn chi2(&self) -> f64 {
        let explained: f64 = self.forward[..self.taken].iter().map(|y| y * y).sum();
        (self.gram.yy - explained).max(0.0)
    }

    /// Coefficients in the order taken; what follows them is nought.
    pub fn beta(&self) -> [f64; MOST_COLUMNS] {
        let mut beta = [0.0; MOST_COLUMNS];
        for i in (0..self.taken).rev() {
            let known: f64 = (i + 1..self.taken).map(|j| self.factor[j][i] * beta[j]).sum();
            beta[i] = (self.forward[i] - known) / self.factor[i][i];
        }
        for (b, scale) in beta.iter_mut().zip(&self.scale).take(self.taken) {
            *b /= scale;
        }
        beta
    }

    /// Variance of the coefficient taken last when the weights are 1/σ²; 0 without any.
    pub fn last_variance(&self) -> f64 {
        self.taken.checked_sub(1).map_or(0.0, |n| (self.factor[n][n] * self.scale[n]).powi(-2))
    }

    /// Covariances of the coefficients in the order taken.
    pub fn covariance(&self) -> [[f64; MOST_COLUMNS]; MOST_COLUMNS] {
        let n = self.taken;
        let inverse = self.inverse();
        let mut out = [[0.0; MOST_COLUMNS]; MOST_COLUMNS];
        for (a, b) in (0..n).flat_map(|a| (0..=a).map(move |b| (a, b))) {
            let sum: f64 = inverse[a][a..n].iter().zip(&inverse[b][a..n]).map(|(x, y)| x * y).sum();
            out[a][b] = sum / (self.scale[a] * self.scale[b]);
            out[b][a] = out[a][b];
        }
        out
    }

    /// Variances of the coefficients in the order taken.
    pub fn variances(&self) -> [f64; MOST_COLUMNS] {
        let n = self.taken;
        let inverse = self.inverse();
        let mut out = [0.0; MOST_COLUMNS];
        for (a, out) in out.iter_mut().enumerate().take(n) {
            let sum: f64 = inverse[a][a..n].iter().map(|x| x * x).sum();
            *out = sum / (self.scale[a] * self.scale[a]);
        }
        out
    }

    /// The factor's inverse, its columns as rows: the inverse's transpose times itself are
    /// the covariances.
    fn inverse(&self) -> [[f64; MOST_COLUMNS]; MOST_COLUMNS] {
        let mut inverse = [[0.0; MOST_COLUMNS]; MOST_COLUMNS];
        for (j, column) in inverse.iter_mut().enumerate().take(self.taken) {
            for i in j..self.taken {
                let known: f64 = self.factor[i][j..i].iter().zip(&column[j..i]).map(|(f, v)| f * v).sum();
                column[i] = (f64::from(u8::from(i == j)) - known) / self.factor[i][i];
            }
        }
        inverse
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn variances_are_the_diagonal_of_the_covariances() {
        let mut gram = Gram::new(3);
        for i in 0..12 {
            let x = f64::from(i);
            gram.add(&[1.0, x, (x - 4.0).powi(2)], 1.0 + x, 2.0 + x);
        }
        let mut growing = Growing::new(&gram);
        assert!(growing.take_all(&[2, 0, 1]));
        let (variances, covariance) = (growing.variances(), growing.covariance());
        for i in 0..3 {
            assert!((variances[i] / covariance[i][i] - 1.0).abs() < 1e-12);
        }
        assert!((variances[2] / growing.last_variance() - 1.0).abs() < 1e-12);
    }
}
