//! The cells of a map, and the order in which they are computed.

use super::MapError;

/// Cells of a map unless somebody asks for more or fewer: 160 by 100 on a site of that shape.
pub const USUAL_CELLS: usize = 16_000;
/// The fewest cells that still show a shape, and the most: 2 MB of numbers, a few seconds of work.
pub const CELLS: std::ops::RangeInclusive<usize> = 100..=250_000;

/// Every so many cells along both axes are computed first, then the ones in between, and so on until all are there.
pub const STRIDES: [usize; 4] = [8, 4, 2, 1];

/// Nearly square cells that fill a site exactly; row after row from the south-west corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// Cells from west to east, two or more.
    pub columns: usize,
    /// Cells from south to north, two or more.
    pub rows: usize,
    /// Extent to the east, metres.
    pub width: f64,
    /// Extent to the north, metres.
    pub depth: f64,
}

impl Grid {
    /// About so many cells over a site of this width and depth in metres, which are greater than zero.
    ///
    /// # Errors
    /// A number of cells outside [`CELLS`], and a site without an area.
    pub fn new(width: f64, depth: f64, cells: usize) -> Result<Self, MapError> {
        if !CELLS.contains(&cells) {
            return Err(MapError::Cells { got: cells });
        }
        let area = width * depth;
        // Written so that NaN is refused as well.
        if !(width > 0.0 && depth > 0.0 && area > 0.0 && area.is_finite()) {
            return Err(MapError::Site { width, depth });
        }
        let side = (area / cells as f64).sqrt();
        // A strip of land still has two rows of cells, and no more columns than cells were asked for.
        let count = |extent: f64| (extent / side).round().clamp(2.0, cells as f64 / 2.0) as usize;
        Ok(Self { columns: count(width), rows: count(depth), width, depth })
    }

    /// How many cells there are.
    pub fn cells(&self) -> usize {
        self.columns * self.rows
    }

    /// Width of a cell, metres.
    pub fn cell_width(&self) -> f64 {
        self.width / self.columns as f64
    }

    /// Depth of a cell, metres.
    pub fn cell_depth(&self) -> f64 {
        self.depth / self.rows as f64
    }

    /// The middle of a cell: east and north, metres.
    pub fn centre(&self, cell: usize) -> (f64, f64) {
        let (column, row) = (cell % self.columns, cell / self.columns);
        ((column as f64 + 0.5) * self.cell_width(), (row as f64 + 0.5) * self.cell_depth())
    }

    /// The cell that a place on the site lies in; none beyond its border.
    pub fn cell_at(&self, east: f64, north: f64) -> Option<usize> {
        let inside = (0.0..self.width).contains(&east) && (0.0..self.depth).contains(&north);
        let along = |value: f64, step: f64, count: usize| ((value / step) as usize).min(count - 1);
        inside.then(|| {
            along(north, self.cell_depth(), self.rows) * self.columns + along(east, self.cell_width(), self.columns)
        })
    }

    /// Every cell once, coarse first: the levels of [`STRIDES`] one after the other, each row by row.
    pub fn order(&self) -> Vec<u32> {
        self.levels(&|_, _| true)
    }

    /// The cells of one share: of every level each `of`-th cell, beginning with number `share`. Together the shares of all
    /// numbers below `of` are [`Grid::order`].
    pub fn share(&self, share: usize, of: usize) -> Vec<u32> {
        let of = of.max(1);
        self.levels(&|_, place| place % of == share)
    }

    /// How many cells of a share are computed when a level of [`STRIDES`] is complete.
    pub fn share_up_to(&self, level: usize, share: usize, of: usize) -> usize {
        let of = of.max(1);
        self.levels(&|of_level, place| of_level <= level && place % of == share).len()
    }

    fn levels(&self, wanted: &dyn Fn(usize, usize) -> bool) -> Vec<u32> {
        let mut order = Vec::new();
        for (level, &stride) in STRIDES.iter().enumerate() {
            let mut place = 0;
            for row in (0..self.rows).step_by(stride) {
                for column in (0..self.columns).step_by(stride) {
                    let coarser = 2 * stride;
                    if level > 0 && row % coarser == 0 && column % coarser == 0 {
                        continue;
                    }
                    if wanted(level, place) {
                        order.push((row * self.columns + column) as u32);
                    }
                    place += 1;
                }
            }
        }
        order
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_cells_of_a_site_of_that_shape_are_160_by_100() {
        let grid = Grid::new(80.0, 50.0, USUAL_CELLS).unwrap();
        assert_eq!((grid.columns, grid.rows), (160, 100));
        assert_eq!(grid.centre(161), (0.75, 0.75));
        let square = Grid::new(30.0, 30.0, USUAL_CELLS).unwrap();
        assert_eq!(square.columns, square.rows);
    }

    #[test]
    fn every_cell_comes_once_and_the_coarse_ones_first() {
        for (width, depth, cells) in [(80.0, 50.0, 16_000), (33.0, 91.0, 777), (1000.0, 5.0, 100)] {
            let grid = Grid::new(width, depth, cells).unwrap();
            let order = grid.order();
            let mut sorted = order.clone();
            sorted.sort_unstable();
            assert!(sorted.iter().copied().eq(0..grid.cells() as u32));
            let coarse = grid.share_up_to(0, 0, 1);
            let on_the_coarse_grid =
                |cell: usize| [cell % grid.columns, cell / grid.columns].iter().all(|at| at.is_multiple_of(STRIDES[0]));
            assert!(order[..coarse].iter().all(|&cell| on_the_coarse_grid(cell as usize)));
            assert_eq!(coarse, grid.columns.div_ceil(STRIDES[0]) * grid.rows.div_ceil(STRIDES[0]));
            let mut shared: Vec<u32> = (0..3).flat_map(|share| grid.share(share, 3)).collect();
            shared.sort_unstable();
            assert_eq!(shared, sorted);
        }
    }

    #[test]
    fn a_place_is_found_in_the_cell_around_it() {
        let grid = Grid::new(31.0, 17.0, 1000).unwrap();
        for cell in 0..grid.cells() {
            let (east, north) = grid.centre(cell);
            assert_eq!(grid.cell_at(east, north), Some(cell));
        }
        for (east, north) in [(-0.1, 1.0), (31.0, 1.0), (1.0, 17.0), (f64::NAN, 1.0)] {
            assert_eq!(grid.cell_at(east, north), None);
        }
    }

    #[test]
    fn hostile_sizes_are_refused_before_memory_is_taken() {
        for cells in [0, *CELLS.start() - 1, *CELLS.end() + 1, usize::MAX] {
            assert_eq!(Grid::new(80.0, 50.0, cells), Err(MapError::Cells { got: cells }));
        }
        for (width, depth) in [(0.0, 5.0), (-3.0, -3.0), (f64::INFINITY, 1.0), (f64::NAN, 1.0), (1e-200, 1e-200)] {
            assert!(matches!(Grid::new(width, depth, 1000), Err(MapError::Site { .. })), "{width} {depth}");
        }
        let strip = Grid::new(1e9, 1e-9, *CELLS.end()).unwrap();
        assert!(strip.cells() <= *CELLS.end(), "{strip:?}");
    }
}
