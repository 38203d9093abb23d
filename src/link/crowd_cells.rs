//! How the draws of a crowd become cases.
//!
//! At an instant the draws lie in order of what they let arrive, and are parted into *cells* of stated shares, the darkest of
//! them small: a picture is lost where people take most, so that there the shares have to be fine. Cells that are alike are one
//! case; where nobody is near a path there is only one.

use super::place::CROWD_DRAWS;

/// Draws in each cell, the darkest first.
pub const CELLS: [usize; 8] = [2, 4, 6, 8, 12, 16, 22, 26];

const _: () = {
    let (mut cell, mut sum) = (0, 0);
    while cell < CELLS.len() {
        sum += CELLS[cell];
        cell += 1;
    }
    assert!(sum == CROWD_DRAWS, "every draw has its cell");
};

/// Share of the draws that a cell has.
pub fn share_of(cell: usize) -> f64 {
    CELLS[cell] as f64 / CROWD_DRAWS as f64
}

/// The cases of an instant: how many cells each of them covers, the darkest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CrowdCases {
    count: usize,
    /// The cell after the last of each case.
    ends: [u8; CELLS.len()],
}

impl Default for CrowdCases {
    fn default() -> Self {
        Self::ONE
    }
}

impl CrowdCases {
    /// Nobody is near, or everybody always in the same way.
    pub const ONE: Self = {
        let mut ends = [0; CELLS.len()];
        ends[0] = CELLS.len() as u8;
        Self { count: 1, ends }
    };

    /// No case yet: push them all, [`CELLS`] cells together.
    pub const fn none() -> Self {
        Self { count: 0, ends: [0; CELLS.len()] }
    }

    /// Adds a case that ends before a cell.
    pub fn push(&mut self, end: usize) {
        self.ends[self.count] = end as u8;
        self.count += 1;
    }

    /// Number of cases: 1 to the number of cells.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The cells that a case covers.
    pub fn cells(&self, case: usize) -> std::ops::Range<usize> {
        let start = if case == 0 { 0 } else { usize::from(self.ends[case - 1]) };
        start..usize::from(self.ends[case])
    }

    /// How likely a case is.
    pub fn share(&self, case: usize) -> f64 {
        let draws: usize = CELLS[self.cells(case)].iter().sum();
        draws as f64 / CROWD_DRAWS as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cases_have_all_cells_between_them() {
        let mut cases = CrowdCases::none();
        [1, 4, 8].into_iter().for_each(|end| cases.push(end));
        assert_eq!(cases.count(), 3);
        assert_eq!((cases.cells(0), cases.cells(1), cases.cells(2)), (0..1, 1..4, 4..8));
        assert!(((0..3).map(|case| cases.share(case)).sum::<f64>() - 1.0).abs() < 1e-15);
        assert_eq!(CrowdCases::ONE.share(0), 1.0);
    }
}
