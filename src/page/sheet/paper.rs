//! The papers that a sheet is printed on.

/// Room at every edge of the paper, in millimetres: printers commonly leave no more than 5 mm white, no source.
pub const MARGIN_MM: f64 = 8.0;

/// CSS pixels of a millimetre: 96 to the inch, CSS Values 4, section 6.2.
const PIXELS_PER_MM: f64 = 96.0 / 25.4;

/// A size of paper, upright.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm, ISO 216.
    A4,
    /// 8.5 by 11 inches, ANSI/ASME Y14.1 size A.
    Letter,
}

impl Paper {
    /// All papers.
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    /// Its name, which is also its word in a style sheet.
    pub fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "letter",
        }
    }

    /// Its name for people.
    pub fn title(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "Letter",
        }
    }

    /// Its class in the style sheet.
    pub fn class(self) -> &'static str {
        match self {
            Self::A4 => "is-a4",
            Self::Letter => "is-letter",
        }
    }

    /// The paper that people in most places where this language of the browser is spoken use: Letter in North America and a
    /// few other countries (common practice, no source).
    pub fn of_language(tag: &str) -> Self {
        let region = tag.rsplit(['-', '_']).next().unwrap_or_default();
        if ["US", "CA", "MX", "PH", "CL", "CO"].contains(&region) { Self::Letter } else { Self::A4 }
    }

    /// Width and height in millimetres.
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::Letter => [215.9, 279.4],
        }
    }

    /// Width and height within the margins, in CSS pixels, rounded down to whole ones.
    pub fn room(self) -> [f64; 2] {
        self.size_mm().map(|side| ((side - 2.0 * MARGIN_MM) * PIXELS_PER_MM).floor())
    }

    /// The style sheet that makes a browser print on it.
    pub fn style(self) -> String {
        format!("@page {{ size: {} portrait; margin: {MARGIN_MM}mm; }}", self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_paper_has_room_within_its_margins() {
        assert_eq!(Paper::A4.room(), [733.0, 1062.0]);
        assert_eq!(Paper::Letter.room(), [755.0, 995.0]);
    }

    #[test]
    fn the_language_suggests_a_paper() {
        for (tag, paper) in [
            ("en-US", Paper::Letter),
            ("en-GB", Paper::A4),
            ("de", Paper::A4),
            ("fr-CA", Paper::Letter),
            ("", Paper::A4),
        ] {
            assert_eq!(Paper::of_language(tag), paper, "{tag}");
        }
    }
}
