//! A map as a picture in greys that a black-and-white copier keeps: hatched classes, numbered contours, a scale.

use lapmargin::link::map::{
    Grid, Map, MapRequest, Quantity, SitePoint, class, class_words, contour, emphasis, labels, level_text, levels,
    limits, on_scale, summary,
};

use super::Caption;
use super::letters::{self, dots};

/// The picture is about so wide, pixels.
const WIDTH: usize = 1280;
/// Pixels of one dot of a letter.
const DOT: usize = 2;
/// Pixels around everything.
const EDGE: usize = 24;
/// Height of a line of text, pixels.
const LINE: usize = (letters::HEIGHT + 5) * DOT;
/// Least length of a line with a number, pixels, and from one number to the next.
const ROOM: f64 = 90.0;
const SPACING: f64 = 700.0;

const PAPER: u8 = 255;
const INK: u8 = 0;
/// Where there is no value.
const NOTHING: u8 = 176;

/// The bytes of the picture as a PNG file.
pub fn png(map: &Map, request: &MapRequest, caption: &Caption) -> Vec<u8> {
    let picture = Drawing::new(map, request.quantity).whole(caption);
    let mut bytes = Vec::new();
    let (width, height) = (picture.width, picture.pixels.len() / picture.width);
    let sizes = u32::try_from(width).ok().zip(u32::try_from(height).ok()).expect("a map has few cells");
    let mut encoder = png::Encoder::new(&mut bytes, sizes.0, sizes.1);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    let title = format!("{}: {}, {}", caption.plan, caption.entry, caption.quantity);
    let written = encoder
        .add_itxt_chunk("Title".to_owned(), title)
        .and_then(|()| encoder.write_header())
        .and_then(|mut writer| writer.write_image_data(&picture.pixels));
    written.expect("memory takes whatever is written to it, and the sizes are the picture's own");
    bytes
}

/// Grey pixels, row by row from the top.
struct GreyImage {
    width: usize,
    pixels: Vec<u8>,
}

impl GreyImage {
    fn dot(&mut self, x: i64, y: i64, grey: u8) {
        let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else { return };
        if x < self.width
            && let Some(pixel) = self.pixels.get_mut(y * self.width + x)
        {
            *pixel = grey;
        }
    }

    fn block(&mut self, (x, y): (i64, i64), (width, height): (i64, i64), grey: u8) {
        for row in y..y + height {
            for column in x..x + width {
                self.dot(column, row, grey);
            }
        }
    }

    fn text(&mut self, (x, y): (i64, i64), text: &str) {
        let dot = DOT as i64;
        for (place, letter) in text.chars().enumerate() {
            let left = x + (place * (letters::WIDTH + 1) * DOT) as i64;
            for (row, bits) in dots(letter).into_iter().enumerate() {
                for column in (0..letters::WIDTH).filter(|column| bits >> (letters::WIDTH - 1 - column) & 1 == 1) {
                    self.block((left + column as i64 * dot, y + row as i64 * dot), (dot, dot), INK);
                }
            }
        }
    }

    fn line(&mut self, from: (f64, f64), to: (f64, f64), thick: i64) {
        let steps = ((to.0 - from.0).abs().max((to.1 - from.1).abs()).ceil() as usize).max(1);
        for step in 0..=steps {
            let share = step as f64 / steps as f64;
            let (x, y) = (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share);
            self.block((x.round() as i64 - thick / 2, y.round() as i64 - thick / 2), (thick, thick), INK);
        }
    }
}

fn text_width(text: &str) -> i64 {
    (text.chars().count() * (letters::WIDTH + 1) * DOT) as i64
}

/// Whether a pixel of a class carries ink: nothing, slanted lines, or close lines both ways.
fn is_hatched(emphasis: usize, x: usize, y: usize) -> bool {
    match emphasis {
        0 => false,
        1 => (x + y).is_multiple_of(12),
        _ => (x + y).is_multiple_of(6) || (x + 6000 - y % 6000).is_multiple_of(6),
    }
}

struct Drawing<'a> {
    map: &'a Map,
    quantity: Quantity,
    limits: [f64; 2],
    /// The values on their scale.
    scaled: Vec<Option<f64>>,
    /// Pixels per metre.
    scale: f64,
    /// Where the map begins, from the left and from the top.
    origin: (usize, usize),
    size: (usize, usize),
}

impl<'a> Drawing<'a> {
    fn new(map: &'a Map, quantity: Quantity) -> Self {
        let grid = map.grid();
        let scaled = map.values().iter().map(|value| value.map(|value| on_scale(quantity, value))).collect();
        // A narrow strip of land is drawn lower rather than longer.
        let scale = (WIDTH - 2 * EDGE) as f64 / grid.width.max(grid.depth);
        let pixels = |extent: f64| ((extent * scale).round() as usize).max(1);
        Self {
            quantity,
            limits: limits(quantity, map.goal()),
            scaled,
            scale,
            origin: (EDGE, EDGE + 2 * LINE),
            size: (pixels(grid.width), pixels(grid.depth)),
            map,
        }
    }

    fn whole(&self, caption: &Caption) -> GreyImage {
        let height = self.origin.1 + self.size.1 + EDGE / 2 + 3 * LINE + EDGE;
        let mut picture = GreyImage { width: WIDTH, pixels: vec![PAPER; WIDTH * height] };
        self.areas(&mut picture);
        self.contours(&mut picture);
        let (left, top) = (self.origin.0 as i64, self.origin.1 as i64);
        let (right, bottom) = (left + self.size.0 as i64, top + self.size.1 as i64);
        let corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
        for pair in corners.map(|(x, y)| (x as f64, y as f64)).windows(2) {
            picture.line(pair[0], pair[1], 2);
        }
        let receiver = self.at(self.map.receiver());
        self.mark(&mut picture, (receiver.0 as i64, receiver.1 as i64));
        let Caption { plan, entry, quantity, height, hand, .. } = caption;
        picture.text((left, EDGE as i64), &format!("{entry}: {quantity} at {height}, {hand}"));
        picture.text((left, (EDGE + LINE) as i64), plan);
        self.legend(&mut picture, (left, bottom + EDGE as i64 / 2));
        picture
    }

    fn areas(&self, picture: &mut GreyImage) {
        for y in 0..self.size.1 {
            for x in 0..self.size.0 {
                let (east, north) = ((x as f64 + 0.5) / self.scale, (self.size.1 as f64 - y as f64 - 0.5) / self.scale);
                let grey = match interpolated(self.map.grid(), &self.scaled, (east, north)) {
                    None => NOTHING,
                    Some(scaled) => {
                        let strength = emphasis(self.quantity, class(&self.limits, scaled));
                        if is_hatched(strength, x, y) { INK } else { PAPER }
                    }
                };
                picture.pixels[(self.origin.1 + y) * picture.width + self.origin.0 + x] = grey;
            }
        }
    }

    fn contours(&self, picture: &mut GreyImage) {
        let Some(summary) = summary(self.quantity, &self.limits, self.map.values()) else { return };
        let ends = [summary.least, summary.most].map(|value| on_scale(self.quantity, value));
        let (least, most) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let contours: Vec<_> = levels(self.quantity, &self.limits, least, most)
            .into_iter()
            .map(|level| contour(self.map.grid(), 1, &self.scaled, level))
            .collect();
        for contour in &contours {
            let thick = if self.limits.contains(&contour.level) { 4 } else { 2 };
            for line in &contour.lines {
                for pair in line.windows(2) {
                    picture.line(self.at(pair[0]), self.at(pair[1]), thick);
                }
            }
        }
        for label in labels(&contours, ROOM / self.scale, SPACING / self.scale) {
            let text = level_text(self.quantity, label.level);
            let (x, y) = self.at(label.at);
            let (width, height) = (text_width(&text), (letters::HEIGHT * DOT) as i64);
            let inside = |middle: f64, size: i64, from: usize, extent: usize| {
                let last = (from + extent) as i64 - size - 6;
                (middle as i64 - size / 2).min(last).max(from as i64 + 6)
            };
            let corner = (inside(x, width, self.origin.0, self.size.0), inside(y, height, self.origin.1, self.size.1));
            picture.block((corner.0 - 4, corner.1 - 4), (width + 6, height + 8), PAPER);
            picture.text(corner, &text);
        }
    }

    fn at(&self, (east, north): SitePoint) -> (f64, f64) {
        (self.origin.0 as f64 + east * self.scale, self.origin.1 as f64 + self.size.1 as f64 - north * self.scale)
    }

    /// The receiver: a ring round a point.
    fn mark(&self, picture: &mut GreyImage, (x, y): (i64, i64)) {
        for (row, column) in (-11..=11_i64).flat_map(|row| (-11..=11_i64).map(move |column| (row, column))) {
            match row * row + column * column {
                0..=9 | 37..=64 => picture.dot(x + column, y + row, INK),
                10..=121 => picture.dot(x + column, y + row, PAPER),
                _ => {}
            }
        }
    }

    /// The classes with their hatches, what has no value, the receiver's mark, and a scale of ten metres or a part of that.
    fn legend(&self, picture: &mut GreyImage, (left, top): (i64, i64)) {
        let side = (LINE - 6) as i64;
        let mut x = left;
        let words = class_words(self.quantity, &self.limits);
        for (place, words) in words.iter().map(String::as_str).chain(["no value"]).enumerate() {
            for (row, column) in (0..side).flat_map(|row| (0..2 * side).map(move |column| (row, column))) {
                let is_frame = row == 0 || column == 0 || row == side - 1 || column == 2 * side - 1;
                let grey = if is_frame {
                    INK
                } else if place == 3 {
                    NOTHING
                } else if is_hatched(emphasis(self.quantity, place), column as usize, row as usize) {
                    INK
                } else {
                    PAPER
                };
                picture.dot(x + column, top + row, grey);
            }
            picture.text((x + 2 * side + 8, top + 2), words);
            x += 2 * side + 8 + text_width(words) + 24;
        }
        let metres = [100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0]
            .into_iter()
            .find(|metres| metres * self.scale < 0.3 * WIDTH as f64)
            .unwrap_or(1.0);
        let (y, length) = (top as f64 + 1.5 * LINE as f64, metres * self.scale);
        let from = left as f64;
        picture.line((from, y), (from + length, y), 2);
        for end in [from, from + length] {
            picture.line((end, y - 8.0), (end, y + 8.0), 2);
        }
        picture.text(((from + length) as i64 + 12, y as i64 - 7), &format!("{metres} m, north is up"));
        let beside = ((from + length) as i64 + 12 + text_width("100 m, north is up") + 24, y as i64);
        self.mark(picture, beside);
        picture.text((beside.0 + 18, y as i64 - 7), "receiver");
    }
}

/// The value at a place, linear on the triangles that the contours run through; nearer the border than the middles of the
/// outermost cells, and next to cells without a value, that of the nearest cell.
fn interpolated(grid: &Grid, values: &[Option<f64>], (east, north): SitePoint) -> Option<f64> {
    let place = |position: f64, step: f64, count: usize| {
        let nodes = (position / step - 0.5).clamp(0.0, (count - 1) as f64);
        let node = (nodes.floor() as usize).min(count - 2);
        (node, nodes - node as f64)
    };
    let (column, across) = place(east, grid.cell_width(), grid.columns);
    let (row, up) = place(north, grid.cell_depth(), grid.rows);
    let value = |right: usize, above: usize| values[(row + above) * grid.columns + column + right];
    let plane = |corner: Option<f64>| {
        let (low, high) = (value(0, 0)?, value(1, 1)?);
        let corner = corner?;
        Some(if across >= up {
            low + (corner - low) * across + (high - corner) * up
        } else {
            low + (corner - low) * up + (high - corner) * across
        })
    };
    plane(if across >= up { value(1, 0) } else { value(0, 1) })
        .or_else(|| value(usize::from(across >= 0.5), usize::from(up >= 0.5)))
}
