//! Reading the commented tables under `tests/reference`, and one way to compare against them.
//!
//! A table is CSV with `#` comment lines, a header and rows; `tests/reference/README.md` states its conventions and accuracy.

#![allow(dead_code)] // Every test crate compiles this module and uses its own part of it.

use std::collections::HashMap;
use std::fmt::Write;

/// A table held in memory.
pub struct Table {
    name: &'static str,
    header: HashMap<String, usize>,
    rows: Vec<Row>,
}

/// One row: where it stands, and its cells.
pub struct Row {
    line: usize,
    text: String,
    cells: Vec<String>,
}

/// A row seen through its table's header.
pub struct Cells<'a> {
    table: &'a Table,
    row: &'a Row,
}

/// What is collected while rows are compared.
#[derive(Default)]
pub struct Findings {
    comparisons: usize,
    failures: String,
    failed: usize,
    place: String,
}

/// Reads a table; `text` comes from `include_str!`.
#[track_caller]
pub fn read(name: &'static str, text: &str) -> Table {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).from_reader(text.as_bytes());
    let header = reader
        .headers()
        .expect("the table has a header")
        .iter()
        .enumerate()
        .map(|(index, name)| (name.to_owned(), index))
        .collect();
    let rows = reader
        .records()
        .map(|record| {
            let record = record.expect("every row has as many cells as the header");
            Row {
                line: record.position().map_or(0, |position| position.line() as usize),
                text: record.iter().collect::<Vec<_>>().join(","),
                cells: record.iter().map(str::to_owned).collect(),
            }
        })
        .collect();
    Table { name, header, rows }
}

impl Cells<'_> {
    /// The text of a column.
    #[track_caller]
    pub fn text(&self, column: &str) -> &str {
        let index = self.table.header.get(column);
        let index = index.unwrap_or_else(|| panic!("{} has no column {column}", self.table.name));
        &self.row.cells[*index]
    }

    /// The number in a column; `inf` and `-inf` are numbers.
    #[track_caller]
    pub fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|_| panic!("{} line {}: {column} is {text}", self.table.name, self.row.line))
    }
}

impl Findings {
    /// The value may differ by `tolerance`; equal infinities agree.
    pub fn near(&mut self, what: &str, got: f64, expected: f64, tolerance: f64) {
        let agrees = got == expected || (got - expected).abs() <= tolerance;
        self.note(agrees, what, got, expected, tolerance);
    }

    /// The value may differ by this fraction of what is expected.
    pub fn relative(&mut self, what: &str, got: f64, expected: f64, tolerance: f64) {
        let agrees = got == expected || (got - expected).abs() <= tolerance * expected.abs();
        self.note(agrees, what, got, expected, tolerance * expected.abs());
    }

    /// The value lies in the range, ends included.
    pub fn between(&mut self, what: &str, got: f64, least: f64, most: f64) {
        self.note((least..=most).contains(&got), what, got, (least + most) / 2.0, (most - least) / 2.0);
    }

    fn note(&mut self, agrees: bool, what: &str, got: f64, expected: f64, tolerance: f64) {
        self.comparisons += 1;
        if !agrees {
            self.failed += 1;
            if self.failed <= 20 {
                let _ = writeln!(self.failures, "{}", self.place);
                let _ = writeln!(self.failures, "    {what}: got {got:e}, expected {expected:e} ± {tolerance:e}");
            }
        }
    }

    /// Panics with everything that did not agree, or when nothing was compared at all.
    #[track_caller]
    pub fn conclude(self, name: &str) {
        assert!(self.comparisons > 0, "{name}: nothing was compared");
        assert!(
            self.failed == 0,
            "{name}: {} of {} comparisons failed\n{}",
            self.failed,
            self.comparisons,
            self.failures
        );
    }
}

/// Compares every row of a table, which must have exactly `rows` of them. The closure says what it found; it may leave a
/// row out, but not all.
#[track_caller]
pub fn check(table: &Table, rows: usize, mut compare: impl FnMut(&Cells<'_>, &mut Findings)) {
    assert_eq!(table.rows.len(), rows, "{} changed its number of rows", table.name);
    let mut findings = Findings::default();
    for row in &table.rows {
        findings.place = format!("{} line {}: {}", table.name, row.line, row.text);
        compare(&Cells { table, row }, &mut findings);
    }
    findings.conclude(table.name);
}

/// As [`check`], for a short table printed in a standard and written out in the test: every entry is tried.
#[track_caller]
pub fn check_printed<T: std::fmt::Debug>(name: &str, entries: &[T], mut compare: impl FnMut(&T, &mut Findings)) {
    let mut findings = Findings::default();
    for (index, entry) in entries.iter().enumerate() {
        findings.place = format!("{name}, entry {}: {entry:?}", index + 1);
        compare(entry, &mut findings);
    }
    findings.conclude(name);
}
