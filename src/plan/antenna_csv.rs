//! A measured antenna from a table of comma-separated values, as spreadsheets write them.
//!
//! The first line that says something names the columns; `angle_deg`, `gain_dbi` and `axial_ratio_db` have to be among
//! them, in any order and any case, and other columns are left out with a note. After it each line is a row. Taken as they
//! come: a byte order mark, any line ends, blank lines, comment lines that begin with `#`, a first line `sep=;`; commas,
//! semicolons or tabs between cells, quotes round cells, decimal commas where a comma does not part cells, the typographic
//! minus. An axial ratio may be `inf`: that is the end of [`MEASURED_AXIAL_RATIO`]. Numbers are kept to hundredths, finer
//! than anything measured.
//!
//! Whatever is wrong is told with its line, its column, what stands there and what may.

use std::fmt;

use super::check::quoted;
use super::document::{AntennaKind, MeasuredNumbers};
use super::limits;
use super::presets::measured_cut;
use crate::rf::antenna::{
    MEASURED_ANGLE, MEASURED_AXIAL_RATIO, MEASURED_GAIN, MEASURED_ROWS, MeasuredCut, MeasuredError,
};

/// The columns that are read, in the order of a row of a kit.
pub const COLUMNS: [&str; 3] = ["angle_deg", "gain_dbi", "axial_ratio_db"];
/// Mistakes that are told one by one; of the others, how many there are.
pub const MOST_MISTAKES: usize = 20;
/// Letters of a number; more are none that anybody measured.
const NUMBER_LETTERS: usize = 24;

/// A table to try it with: invented, and saying so.
pub const EXAMPLE: &str = include_str!("antenna_csv/example.csv");

/// A table that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct AntennaTable {
    /// Its rows, by rising angle.
    pub rows: Vec<MeasuredNumbers>,
    /// The curve that comes of them.
    pub cut: MeasuredCut,
    /// What was left out or taken otherwise than it stands there.
    pub notes: Vec<TableNote>,
}

/// Something to know about how a table was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TableNote {
    /// Columns that are not used, by name.
    ColumnsLeftOut(Vec<String>),
    /// The rows did not stand by rising angle.
    Sorted,
    /// How many axial ratios were infinite.
    Infinite(usize),
    /// How many numbers had more than two decimals.
    Rounded(usize),
}

impl fmt::Display for TableNote {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ColumnsLeftOut(names) => {
                let names: Vec<String> = names.iter().map(|name| quoted(name)).collect();
                write!(formatter, "columns that are not used: {}", names.join(", "))
            }
            Self::Sorted => formatter.write_str("the rows were put in the order of their angles"),
            Self::Infinite(count) => {
                let most = MEASURED_AXIAL_RATIO.end().0;
                write!(formatter, "infinite axial ratios are taken as {most} dB ({count} of them)")
            }
            Self::Rounded(count) => write!(formatter, "numbers are kept to hundredths ({count} had more decimals)"),
        }
    }
}

/// Something that is wrong with a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// The line, counted from 1; `None` for what is wrong with the table as a whole.
    pub line: Option<usize>,
    /// The column's name, if it is about one.
    pub column: Option<&'static str>,
    /// What stands there and what may, in words.
    pub said: String,
}

impl fmt::Display for Mistake {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, self.column) {
            (None, None) => {}
            (None, Some(column)) => write!(formatter, "{column}: ")?,
            (Some(line), None) => write!(formatter, "line {line}: ")?,
            (Some(line), Some(column)) => write!(formatter, "line {line}, {column}: ")?,
        }
        formatter.write_str(&self.said)
    }
}

/// Why a text is no table: at least one mistake.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}{}", .mistakes.first().map(ToString::to_string).unwrap_or_default(), rest(.mistakes.len() - 1 + .more))]
pub struct Mistakes {
    /// The first ones, by line; at most [`MOST_MISTAKES`].
    pub mistakes: Vec<Mistake>,
    /// How many more there are.
    pub more: usize,
}

fn rest(count: usize) -> String {
    if count == 0 { String::new() } else { format!(" (and {count} more)") }
}

impl Mistakes {
    /// A file of so many bytes is too large to be looked at.
    pub fn too_large(bytes: usize) -> Self {
        Self::of_whole(format!("a file of {bytes} bytes; must be at most {}", limits::ANTENNA_CSV_BYTES))
    }

    fn of_whole(said: impl Into<String>) -> Self {
        let mistake = Mistake { line: None, column: None, said: said.into() };
        Self { mistakes: vec![mistake], more: 0 }
    }
}

/// The table that a text holds, for an antenna of a kind. `text` is what a browser or the command read as UTF-8, with the
/// replacement character where it was none.
///
/// # Errors
/// Every mistake that stands for itself; a text that is no table at all has one.
pub fn read(text: &str, kind: AntennaKind) -> Result<AntennaTable, Mistakes> {
    if text.len() > limits::ANTENNA_CSV_BYTES {
        return Err(Mistakes::too_large(text.len()));
    }
    let is_no_text = |letter: char| letter == '\u{fffd}' || letter.is_control() && !"\t\r\n".contains(letter);
    if text.contains(is_no_text) {
        return Err(Mistakes::of_whole("a file that is not plain text; must be a text file in UTF-8"));
    }
    let mut reader = TableReader::default();
    let mut header: Option<Header> = None;
    for (line, content) in lines(text.strip_prefix('\u{feff}').unwrap_or(text)) {
        let said = content.trim();
        let is_blank = said.chars().all(|letter| matches!(letter, ',' | ';' | '"') || letter.is_whitespace());
        if is_blank || said.starts_with('#') {
            continue;
        }
        match &header {
            None if said.len() == 5 && said.get(..4).is_some_and(|start| start.eq_ignore_ascii_case("sep=")) => {}
            None => header = Some(Header::read(line, content)?),
            Some(_) if reader.rows.len() == *MEASURED_ROWS.end() => {
                // What follows is not even looked at.
                reader.mistake(Some(line), None, format!("more than {} rows", MEASURED_ROWS.end()));
                break;
            }
            Some(header) => reader.row(header, line, content),
        }
    }
    reader.table(header, kind)
}

/// The lines of a text with their numbers, whichever way they end.
fn lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    // A carriage return with a line feed behind it would count twice.
    let pieces = text.split('\n').flat_map(|line| line.strip_suffix('\r').unwrap_or(line).split('\r'));
    pieces.enumerate().map(|(index, line)| (index + 1, line))
}

/// What the first line says.
#[derive(Clone, Debug)]
struct Header {
    between: char,
    /// Where the cells of [`COLUMNS`] stand in a line.
    places: [usize; 3],
    cells: usize,
    left_out: Vec<String>,
}

impl Header {
    fn read(line: usize, content: &str) -> Result<Self, Mistakes> {
        let between = [';', '\t'].into_iter().find(|between| content.contains(*between)).unwrap_or(',');
        let names = cells(content, between);
        let mut reader = TableReader::default();
        let mut places = [0; 3];
        for (place, column) in places.iter_mut().zip(COLUMNS) {
            let is_it = |name: &String| name.eq_ignore_ascii_case(column);
            match names.iter().filter(|name| is_it(name)).count() {
                1 => *place = names.iter().position(is_it).unwrap_or_default(),
                count => {
                    let what = if count == 0 { "is missing from" } else { "stands more than once in" };
                    reader.mistake(Some(line), None, format!("column {column} {what} the header"));
                }
            }
        }
        if !reader.mistakes.is_empty() {
            return Err(reader.mistakes());
        }
        let is_used = |name: &&String| COLUMNS.iter().any(|column| name.eq_ignore_ascii_case(column));
        let left_out = names.iter().filter(|name| !is_used(name) && !name.is_empty()).cloned().collect();
        Ok(Self { between, places, cells: names.len(), left_out })
    }
}

/// The cells of a line, without the blanks and the quotes round them. Quotes that are not closed end with the line.
fn cells(content: &str, between: char) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut in_quotes = false;
    for letter in content.chars() {
        match cells.last_mut() {
            _ if letter == '"' => in_quotes = !in_quotes,
            _ if letter == between && !in_quotes => cells.push(String::new()),
            Some(cell) => cell.push(letter),
            None => {}
        }
    }
    for cell in &mut cells {
        *cell = cell.trim().to_owned();
    }
    cells
}

/// The range of a column of [`COLUMNS`], and its unit.
fn range(column: usize) -> (f64, f64, &'static str) {
    match column {
        0 => (MEASURED_ANGLE.start().0, MEASURED_ANGLE.end().0, "°"),
        1 => (MEASURED_GAIN.start().0, MEASURED_GAIN.end().0, " dBi"),
        _ => (MEASURED_AXIAL_RATIO.start().0, MEASURED_AXIAL_RATIO.end().0, " dB"),
    }
}

fn allowed(column: usize) -> String {
    let (least, most, unit) = range(column);
    let infinity = if column == 2 { " or inf" } else { "" };
    format!("a number from {least} to {most}{unit}{infinity}")
}

/// A number as tables write it; `None` where it is none.
fn number(cell: &str) -> Option<f64> {
    if cell.len() > NUMBER_LETTERS {
        return None;
    }
    let plain = cell.replace(['\u{2212}', '\u{2013}'], "-");
    let plain = if plain.contains('.') { plain } else { plain.replace(',', ".") };
    let is_plain = plain.chars().all(|letter| letter.is_ascii_digit() || "+-.eE".contains(letter));
    if is_plain { plain.parse().ok().filter(|number: &f64| number.is_finite()) } else { None }
}

fn is_infinite(cell: &str) -> bool {
    ["inf", "infinity", "\u{221e}"].iter().any(|word| cell.trim_start_matches('+').eq_ignore_ascii_case(word))
}

/// Rows and mistakes as they come.
#[derive(Clone, Debug, Default)]
struct TableReader {
    /// Each row with its line.
    rows: Vec<(usize, MeasuredNumbers)>,
    mistakes: Vec<Mistake>,
    more: usize,
    infinite: usize,
    rounded: usize,
}

impl TableReader {
    fn mistake(&mut self, line: Option<usize>, column: Option<&'static str>, said: String) {
        if self.mistakes.len() < MOST_MISTAKES {
            self.mistakes.push(Mistake { line, column, said });
        } else {
            self.more += 1;
        }
    }

    fn mistakes(self) -> Mistakes {
        Mistakes { mistakes: self.mistakes, more: self.more }
    }

    fn row(&mut self, header: &Header, line: usize, content: &str) {
        let cells = cells(content, header.between);
        if cells.len() > header.cells && cells[header.cells..].iter().any(|cell| !cell.is_empty()) {
            let said = format!("{} cells; the header has {}", cells.len(), header.cells);
            return self.mistake(Some(line), None, said);
        }
        let mut row = [0.0; 3];
        let mut is_whole = true;
        for (column, place) in header.places.into_iter().enumerate() {
            let cell = cells.get(place).map_or("", String::as_str);
            let (least, most, _) = range(column);
            let read = if column == 2 && is_infinite(cell) {
                self.infinite += 1;
                Some(most)
            } else {
                number(cell).filter(|number| (least..=most).contains(number))
            };
            let Some(read) = read else {
                is_whole = false;
                let found = if cell.is_empty() { "nothing stands there".to_owned() } else { quoted(cell) };
                self.mistake(Some(line), Some(COLUMNS[column]), format!("{found}; must be {}", allowed(column)));
                continue;
            };
            // Zero without a sign, and no more digits than a hundredth has.
            let kept = (read * 100.0).round() / 100.0 + 0.0;
            self.rounded += usize::from(kept != read);
            row[column] = kept;
        }
        if is_whole {
            self.rows.push((line, row));
        }
    }

    fn table(mut self, header: Option<Header>, kind: AntennaKind) -> Result<AntennaTable, Mistakes> {
        let Some(header) = header else {
            let said = format!("an empty table; must begin with a header that names {}", COLUMNS.join(", "));
            return Err(Mistakes::of_whole(said));
        };
        self.twice();
        if !self.mistakes.is_empty() {
            return Err(self.mistakes());
        }
        let is_sorted = self.rows.is_sorted_by(|(_, one), (_, next)| one[0] <= next[0]);
        self.rows.sort_by(|(_, one), (_, other)| one[0].total_cmp(&other[0]));
        let rows: Vec<MeasuredNumbers> = self.rows.iter().map(|(_, row)| *row).collect();
        let cut = measured_cut(kind, &rows).map_err(|wrong| {
            let line = wrong.row().and_then(|row| self.rows.get(row)).map(|(line, _)| *line);
            let column = matches!(wrong, MeasuredError::BothWays { .. }).then_some(COLUMNS[0]);
            let mistake = Mistake { line, column, said: format!("{}; must be {}", wrong.found(), wrong.allowed()) };
            Mistakes { mistakes: vec![mistake], more: 0 }
        })?;
        let mut notes = Vec::new();
        if !header.left_out.is_empty() {
            notes.push(TableNote::ColumnsLeftOut(header.left_out));
        }
        notes.extend((!is_sorted).then_some(TableNote::Sorted));
        notes.extend((self.infinite > 0).then_some(TableNote::Infinite(self.infinite)));
        notes.extend((self.rounded > 0).then_some(TableNote::Rounded(self.rounded)));
        Ok(AntennaTable { rows, cut, notes })
    }

    /// Names every row whose angle an earlier line has.
    fn twice(&mut self) {
        let mut by_angle: Vec<(usize, f64)> = self.rows.iter().map(|(line, row)| (*line, row[0])).collect();
        by_angle.sort_by(|(_, one), (_, other)| one.total_cmp(other));
        let mut repeated: Vec<(usize, usize, f64)> = by_angle
            .chunk_by(|(_, one), (_, next)| one == next)
            .flat_map(|same| same.iter().skip(1).map(|(line, angle)| (*line, same[0].0, *angle)))
            .collect();
        repeated.sort_unstable_by_key(|(line, ..)| *line);
        for (line, first, angle) in repeated {
            self.mistake(Some(line), Some(COLUMNS[0]), format!("{angle}° stands in line {first} already"));
        }
    }
}

#[cfg(test)]
mod tests;
