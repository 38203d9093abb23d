//! The sheet's styles.

use super::paper::Paper;
use crate::own_style;

const SHEET: &str = include_str!("../../../style/sheet.css");

/// Puts the styles on the page, for this paper.
pub fn apply(paper: Paper) {
    own_style::apply(&format!("{SHEET}{}", paper.style()));
}
