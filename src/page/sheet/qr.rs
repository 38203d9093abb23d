//! Texts as QR codes (ISO/IEC 18004), drawn in black on white at a size that a phone reads off paper.

use qrcodegen::{QrCode, QrCodeEcc, QrSegment, Version};

use super::figure::Element;

/// The least side of a module on paper, in millimetres. A printer of 300 dots to the inch has almost five dots for it, and a
/// phone held a hand's breadth off still tells one from the next (common practice, no source).
pub const MODULE_MM: f64 = 0.4;
/// White modules on every side of a code: ISO/IEC 18004, section 6.3.8.
pub const QUIET: usize = 4;
/// CSS pixels of a millimetre: 96 to the inch, CSS Values 4, section 6.2.
const PIXELS_PER_MM: f64 = 96.0 / 25.4;
/// Assignment number of UTF-8 among the extended channel interpretations. Without it the standard takes bytes for
/// ISO 8859-1, though readers commonly guess.
const UTF_8: u32 = 26;

/// How large a code may become, by the version of the standard, and how much of it may be lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CodeRoom {
    most_version: u8,
    /// Whether 15 % may be lost, instead of 7 %.
    is_medium: bool,
}

impl CodeRoom {
    /// A pilot's card: 45 modules, which takes 21.2 mm of paper with its margin. Up to 122 bytes.
    pub const CARD: Self = Self { most_version: 7, is_medium: true };
    /// The same with less to spare against dirt and folds. Up to 154 bytes.
    pub const FULL_CARD: Self = Self { most_version: 7, is_medium: false };
    /// A plan link: at most 89 modules, 38.8 mm of paper. Up to 718 bytes.
    pub const LINK: Self = Self { most_version: 18, is_medium: false };

    /// Its side with the margin, in modules, when it is as large as it may become.
    fn modules(self) -> usize {
        // ISO/IEC 18004, section 6.3.1: 21 modules in version 1, four more in each that follows.
        17 + 4 * usize::from(self.most_version) + 2 * QUIET
    }

    /// Its side on paper, in millimetres, when it is as large as it may become.
    pub fn side_mm(self) -> f64 {
        self.modules() as f64 * MODULE_MM
    }

    /// The same in CSS pixels, rounded up to whole ones.
    pub fn side_pixels(self) -> f64 {
        (self.side_mm() * PIXELS_PER_MM).ceil()
    }
}

/// A code: a square of dark and light modules, without its margin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Code {
    side: usize,
    dark: Vec<bool>,
}

impl Code {
    /// The smallest code of a text, with as much to spare as that size allows; nothing if there is not room enough.
    pub fn of(text: &str, room: CodeRoom) -> Option<Self> {
        let mut segments = vec![QrSegment::make_bytes(text.as_bytes())];
        if !text.is_ascii() {
            segments.insert(0, QrSegment::make_eci(UTF_8));
        }
        let level = if room.is_medium { QrCodeEcc::Medium } else { QrCodeEcc::Low };
        let most = Version::new(room.most_version);
        let code = QrCode::encode_segments_advanced(&segments, level, Version::MIN, most, None, true).ok()?;
        let side = code.size();
        let dark = (0..side).flat_map(|row| (0..side).map(move |column| (column, row)));
        let dark = dark.map(|(column, row)| code.get_module(column, row)).collect();
        // Between 21 and 177.
        Some(Self { side: side as usize, dark })
    }

    /// Modules along a side, without the margin.
    pub fn side(&self) -> usize {
        self.side
    }

    /// Whether a module is dark; those of the margin, and all beyond, are not.
    fn is_dark(&self, column: usize, row: usize) -> bool {
        column < self.side && self.dark[row * self.side + column]
    }

    /// The code with its margin as a picture whose sides are so long; `name` is what it is called where it cannot be seen.
    /// A module is [`MODULE_MM`] at least if `side_mm` is that of the room that the code was made for.
    pub fn drawn(&self, side_mm: f64, name: &str) -> Element {
        let modules = self.side + 2 * QUIET;
        // Rounded to hundredths, of which a module is worth forty.
        let side = format!("{side_mm:.2}mm");
        let ground =
            Element::new("path").with("d", format!("M0 0h{modules}v{modules}h-{modules}z")).with("fill", "white");
        let dark = Element::new("path").with("d", self.outline()).with("fill", "black");
        Element::new("svg")
            .with("xmlns", "http://www.w3.org/2000/svg")
            .with("class", "sheet-code")
            .with("viewBox", format!("0 0 {modules} {modules}"))
            .with("width", side.clone())
            .with("height", side)
            .with("shape-rendering", "crispEdges")
            .with("role", "img")
            .with("aria-label", name)
            .holding([ground, dark])
    }

    /// The same with modules of [`MODULE_MM`].
    pub fn drawn_small(&self, name: &str) -> Element {
        self.drawn((self.side + 2 * QUIET) as f64 * MODULE_MM, name)
    }

    /// The dark modules as a path, in runs along the rows, in modules from the corner of the margin.
    fn outline(&self) -> String {
        let mut path = String::new();
        for row in 0..self.side {
            let mut column = 0;
            while column < self.side {
                let run = (column..self.side).take_while(|&column| self.is_dark(column, row)).count();
                if run > 0 {
                    path.push_str(&format!("M{} {}h{run}v1h-{run}z", column + QUIET, row + QUIET));
                }
                column += run.max(1);
            }
        }
        path
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// What a reader that shares nothing with the writer makes of a drawn code: the path is painted into a bitmap of
    /// `dots` by module, and nothing else is known of it.
    pub fn read(drawn: &Element, dots: usize) -> Result<String, rqrr::DeQRError> {
        let attribute = |element: &Element, name: &str| {
            element.attributes.iter().find(|(other, _)| *other == name).map(|(_, value)| value.clone()).unwrap()
        };
        let modules: usize = attribute(drawn, "viewBox").split(' ').nth(2).unwrap().parse().unwrap();
        let mut dark = vec![false; modules * modules];
        for run in attribute(&drawn.inside[1], "d").split('M').skip(1) {
            let numbers: Vec<usize> =
                run.split([' ', 'h', 'v']).take(3).map(|number| number.parse().unwrap()).collect();
            let first = numbers[1] * modules + numbers[0];
            dark[first..first + numbers[2]].fill(true);
        }
        let side = modules * dots;
        let mut picture = rqrr::PreparedImage::prepare_from_bitmap(side, side, |column, row| {
            dark[row / dots * modules + column / dots]
        });
        let grids = picture.detect_grids();
        assert_eq!(grids.len(), 1, "one code is found");
        grids[0].decode().map(|(_, text)| text)
    }

    #[test]
    fn what_is_drawn_is_read() {
        for text in [
            "A",
            "Pilot Linnet: clear\n5658 MHz R1, 16 mW",
            "Pilot Zoë Müller-Ångström 飛行: thin\n",
            "<script>\"&'\u{fffd}",
        ] {
            for room in [CodeRoom::CARD, CodeRoom::FULL_CARD, CodeRoom::LINK] {
                let code = Code::of(text, room).unwrap();
                assert_eq!(read(&code.drawn_small("code"), 4).as_deref(), Ok(text), "{room:?}");
            }
        }
    }

    /// Bytes that a version holds: ISO/IEC 18004, table 7.
    #[test]
    fn rooms_hold_what_the_standard_says() {
        for (room, bytes, side) in
            [(CodeRoom::CARD, 122, 45), (CodeRoom::FULL_CARD, 154, 45), (CodeRoom::LINK, 718, 89)]
        {
            let code = Code::of(&"x".repeat(bytes), room).unwrap();
            assert_eq!((code.side(), code.side() + 2 * QUIET), (side, room.modules()));
            assert_eq!(Code::of(&"x".repeat(bytes + 1), room), None);
            assert_eq!(read(&code.drawn_small("code"), 3).map(|text| text.len()), Ok(bytes));
        }
    }

    #[test]
    fn a_damaged_code_is_still_read() {
        let text = "Pilot Linnet: clear\n5658 MHz R1, 16 mW\nRight hand\nSeat S1 aim 45 deg 10 up\nWeakest gates 6-7\nPlan 97f4 db0a 2026-11-25";
        let mut code = Code::of(text, CodeRoom::CARD).unwrap();
        // A spot of dirt, off the corners by which a code is found.
        for (row, column) in (20..26).flat_map(|row| (28..34).map(move |column| (row, column))) {
            code.dark[row * code.side + column] = true;
        }
        assert_eq!(read(&code.drawn_small("code"), 4).as_deref(), Ok(text));
    }

    #[test]
    fn a_code_says_its_name_and_is_black_on_white() {
        let drawn = Code::of("A", CodeRoom::CARD).unwrap().drawn(CodeRoom::CARD.side_mm(), "\"><script>");
        let file = drawn.file();
        assert!(file.contains("aria-label=\"&quot;&gt;&lt;script&gt;\"") && !file.contains("<script"), "{file}");
        assert!(file.contains("width=\"21.20mm\"") && file.contains("viewBox=\"0 0 29 29\""), "{file}");
    }
}
