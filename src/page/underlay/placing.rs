//! A picture under the drawing: which files are taken, and how one lies on the site.

use crate::plan::limits::Range;

/// The most bytes of a picture's file; scans of site plans rarely have more.
pub const MOST_BYTES: usize = 12_000_000;
/// The most dots of a picture, unpacked: four bytes each in the browser's memory.
pub const MOST_DOTS: u64 = 40_000_000;
/// So many bytes of a file are read to learn what it is and how large: a picture's size stands near its beginning.
pub const HEAD_BYTES: u32 = 1 << 18;
/// How wide a picture may lie, in metres.
pub const WIDTH_M: Range = Range { min: 1.0, max: 20_000.0, unit: "m" };
/// How far its corner may lie from the site's south-west corner, in metres.
pub const CORNER_M: Range = Range { min: -20_000.0, max: 20_000.0, unit: "m" };
/// How long a marked distance may be.
pub const LENGTH_M: Range = Range { min: 0.1, max: 20_000.0, unit: "m" };
/// How much of what is under it a picture may cover; one that covers nothing is hidden instead.
pub const OPACITY: Range = Range { min: 0.05, max: 1.0, unit: "" };

/// A line over the site: both ends, east and north.
pub type MarkedLine = [[f64; 2]; 2];

/// The length of a line.
pub fn length_m([from, to]: MarkedLine) -> f64 {
    libm::hypot(to[0] - from[0], to[1] - from[1])
}

/// Why a file is not taken as a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PictureError {
    /// Too many bytes.
    #[error("the file has {bytes} bytes: allowed are at most {MOST_BYTES}")]
    TooLong {
        /// How many it has.
        bytes: usize,
    },
    /// Another kind of file, or one that is damaged.
    #[error("the file is no PNG or JPEG picture, or its size does not stand in its beginning")]
    OtherKind,
    /// Too many dots.
    #[error("the picture has {width} by {height} dots: allowed are at most {} million dots", MOST_DOTS / 1_000_000)]
    TooLarge {
        /// Dots across.
        width: u32,
        /// Dots down.
        height: u32,
    },
}

/// Width and height in dots of a picture of so many bytes, by the beginning of its file. Nothing is unpacked for that.
///
/// Sources: ISO/IEC 15948 (PNG), 5.2 and 11.2.2; ITU-T T.81 (JPEG), annex B.
///
/// # Errors
/// Why it is not taken.
pub fn dots(head: &[u8], bytes: usize) -> Result<[u32; 2], PictureError> {
    if bytes > MOST_BYTES {
        return Err(PictureError::TooLong { bytes });
    }
    let [width, height] = png(head).or_else(|| jpeg(head)).ok_or(PictureError::OtherKind)?;
    match u64::from(width) * u64::from(height) {
        0 => Err(PictureError::OtherKind),
        dots if dots > MOST_DOTS => Err(PictureError::TooLarge { width, height }),
        _ => Ok([width, height]),
    }
}

fn png(head: &[u8]) -> Option<[u32; 2]> {
    let rest = head.strip_prefix(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")?;
    Some([number(rest.get(..4)?), number(rest.get(4..8)?)])
}

fn jpeg(head: &[u8]) -> Option<[u32; 2]> {
    let mut rest = head.strip_prefix(&[0xff, 0xd8])?;
    loop {
        // Any number of fill bytes may stand before a marker.
        let [0xff, marker, ..] = *rest else { return None };
        if marker == 0xff {
            rest = &rest[1..];
            continue;
        }
        let length = number(rest.get(2..4)?) as usize;
        // A frame header, of whichever process; C4, C8 and CC are other things.
        if matches!(marker, 0xc0..=0xcf) && !matches!(marker, 0xc4 | 0xc8 | 0xcc) {
            return Some([number(rest.get(7..9)?), number(rest.get(5..7)?)]);
        }
        rest = rest.get(2 + length.max(2)..)?;
    }
}

/// A number, most significant byte first.
fn number(bytes: &[u8]) -> u32 {
    bytes.iter().fold(0, |number, byte| number << 8 | u32::from(*byte))
}

/// How a picture lies on the site; north is up on both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placing {
    /// Dots across and down.
    pub dots: [u32; 2],
    /// Width on the site.
    pub width_m: f64,
    /// Its south-west corner, east and north of the site's.
    pub corner_m: [f64; 2],
    /// How much it covers, from zero to one.
    pub opacity: f64,
    /// Whether it is shown.
    pub is_shown: bool,
}

impl Placing {
    /// As large as fits the site, in its south-west corner.
    pub fn fitted(dots: [u32; 2], site_m: [f64; 2]) -> Self {
        let [across, down] = dots.map(f64::from);
        let width_m = site_m[0].min(site_m[1] * across / down).clamp(WIDTH_M.min, WIDTH_M.max);
        Self { dots, width_m, corner_m: [0.0; 2], opacity: 0.6, is_shown: true }
    }

    /// Depth on the site.
    pub fn depth_m(&self) -> f64 {
        self.width_m * f64::from(self.dots[1]) / f64::from(self.dots[0])
    }

    /// Made larger or smaller, so that a line drawn on it has its true length; what is under the line's first end stays.
    /// `None` where the line is a point, or the picture would have no width that is allowed.
    pub fn scaled(&self, line_m: MarkedLine, true_m: f64) -> Option<Self> {
        let [from, _] = line_m;
        let times = true_m / length_m(line_m);
        let width_m = self.width_m * times;
        let corner_m = [0, 1].map(|axis| from[axis] + (self.corner_m[axis] - from[axis]) * times);
        let fits = WIDTH_M.contains(width_m) && corner_m.iter().all(|side| CORNER_M.contains(*side));
        fits.then_some(Self { width_m, corner_m, ..*self })
    }

    /// Pushed along a line, from its first end to its second.
    pub fn shifted(&self, line_m: MarkedLine) -> Self {
        let corner = |axis: usize| self.corner_m[axis] + line_m[1][axis] - line_m[0][axis];
        Self { corner_m: [0, 1].map(|axis| corner(axis).clamp(CORNER_M.min, CORNER_M.max)), ..*self }
    }

    /// As it is kept.
    pub fn text(&self) -> String {
        let Self { dots: [across, down], width_m, corner_m: [east, north], opacity, is_shown } = self;
        format!("[{across},{down},{width_m},{east},{north},{opacity},{}]", u8::from(*is_shown))
    }

    /// From what was kept; `None` where that makes no sense.
    pub fn read(text: &str) -> Option<Self> {
        let numbers: Vec<f64> = serde_json::from_str(text).ok()?;
        let &[across, down, width_m, east, north, opacity, is_shown] = numbers.as_slice() else { return None };
        let dots = [across, down];
        let fits = WIDTH_M.contains(width_m)
            && OPACITY.contains(opacity)
            && [east, north].iter().all(|side| CORNER_M.contains(*side))
            && dots.iter().all(|side| (1.0..=f64::from(u32::MAX)).contains(side));
        let placing = Self {
            dots: dots.map(|side| side as u32),
            width_m,
            corner_m: [east, north],
            opacity,
            is_shown: is_shown != 0.0,
        };
        fits.then_some(placing)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn png_head(width: u32, height: u32) -> Vec<u8> {
        let mut head = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        head.extend(width.to_be_bytes());
        head.extend(height.to_be_bytes());
        head
    }

    #[test]
    fn sizes_are_read_from_the_beginning_of_a_file() {
        assert_eq!(dots(&png_head(1200, 800), 5000), Ok([1200, 800]));
        // A comment, a table, then a progressive frame header: length, bits, height 600, width 900.
        let jpeg = [
            0xff, 0xd8, 0xff, 0xfe, 0, 4, b'h', b'i', 0xff, 0xff, 0xc4, 0, 3, 9, 0xff, 0xc2, 0, 17, 8, 0x02, 0x58,
            0x03, 0x84, 3,
        ];
        assert_eq!(dots(&jpeg, 5000), Ok([900, 600]));
        for length in 0..jpeg.len() - 1 {
            assert_eq!(dots(&jpeg[..length], 5000), Err(PictureError::OtherKind), "{length}");
        }
    }

    #[test]
    fn what_would_take_too_much_memory_is_refused_before_it_does() {
        assert_eq!(dots(&png_head(8000, 5000), MOST_BYTES), Ok([8000, 5000]));
        assert_eq!(dots(&png_head(8001, 5000), 10), Err(PictureError::TooLarge { width: 8001, height: 5000 }));
        assert!(dots(&png_head(u32::MAX, u32::MAX), 10).unwrap_err().to_string().contains("40 million"));
        assert_eq!(dots(&png_head(10, 10), MOST_BYTES + 1), Err(PictureError::TooLong { bytes: MOST_BYTES + 1 }));
        for head in [
            &b"GIF89a"[..],
            b"",
            b"<svg/>",
            b"\xff\xd8\xff\xd9\0\0",
            &png_head(0, 9),
            b"\xff\xd8\xff\xc4\0\0\xff\xc4\0\0",
        ] {
            assert_eq!(dots(head, 10), Err(PictureError::OtherKind), "{head:?}");
        }
    }

    #[test]
    fn a_marked_distance_becomes_true_about_its_first_end() {
        let lies = Placing::fitted([1000, 500], [40.0, 30.0]);
        assert_eq!((lies.width_m, lies.depth_m()), (40.0, 20.0));
        let line = [[10.0, 5.0], [13.0, 9.0]];
        let scaled = lies.scaled(line, 10.0).unwrap();
        assert_eq!((scaled.width_m, scaled.corner_m), (80.0, [-10.0, -5.0]));
        // The dot under the first end, as a share of the picture, is the same.
        let share =
            |lies: &Placing| [(10.0 - lies.corner_m[0]) / lies.width_m, (5.0 - lies.corner_m[1]) / lies.depth_m()];
        assert_eq!(share(&scaled), share(&lies));
        assert_eq!(lies.scaled([[1.0; 2]; 2], 10.0), None);
        assert_eq!(lies.scaled(line, f64::NAN), None);
        assert_eq!(lies.scaled(line, 1e9), None);
        assert_eq!(lies.shifted(line).corner_m, [3.0, 4.0]);
    }

    #[test]
    fn what_is_kept_comes_back_and_nonsense_does_not() {
        let lies =
            Placing { corner_m: [-3.25, 0.1], is_shown: false, opacity: 0.25, ..Placing::fitted([7, 9], [12.0, 50.0]) };
        assert_eq!(Placing::read(&lies.text()), Some(lies));
        for text in [
            "",
            "[]",
            "[1,1,0,0,0,1,1]",
            "[0,1,5,0,0,1,1]",
            "[1,1,5,1e99,0,1,1]",
            "[1,1,5,0,0,1]",
            "[1,1,5,0,0,0,1]",
            "{}",
        ] {
            assert_eq!(Placing::read(text), None, "{text}");
        }
    }
}
