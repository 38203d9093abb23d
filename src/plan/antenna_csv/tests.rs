use proptest::prelude::*;

use super::*;
use crate::plan::document::{AntennaKit, StatedHand};
use crate::plan::presets::{measured_rows, resolve_antenna};
use crate::rf::polarization::Hand;

const PLAIN: &str = "angle_deg,gain_dbi,axial_ratio_db\n0,8.1,1.2\n30,6,2\n60,1.5,4\n90,-6,9\n180,-9,14\n";

fn patch(text: &str) -> Result<AntennaTable, Mistakes> {
    read(text, AntennaKind::CircularPatch)
}

#[track_caller]
fn rows(text: &str) -> Vec<MeasuredNumbers> {
    patch(text).map_err(|mistakes| mistakes.to_string()).unwrap().rows
}

/// The sentence of every mistake.
#[track_caller]
fn wrong(text: &str) -> Vec<String> {
    patch(text).unwrap_err().mistakes.iter().map(ToString::to_string).collect()
}

#[test]
fn tables_are_read_as_spreadsheets_write_them() {
    let wanted = [[0.0, 8.1, 1.2], [30.0, 6.0, 2.0], [60.0, 1.5, 4.0], [90.0, -6.0, 9.0], [180.0, -9.0, 14.0]];
    let semicolons = PLAIN.replace(',', ";").replace('.', ",");
    let quoted_cells = PLAIN.replace("8.1", "\"8,1\"").replace("1.2", "\" 1,2 \"");
    for text in [
        PLAIN.to_owned(),
        PLAIN.trim_end().to_owned(),
        format!("\u{feff}{PLAIN}"),
        PLAIN.replace('\n', "\r\n"),
        PLAIN.replace('\n', "\r"),
        PLAIN.replace('\n', "\n\n  \n,,\n"),
        format!("# made up\n\n{}", PLAIN.replacen("\n30", "\n# a pause\n30", 1)),
        semicolons.clone(),
        format!("sep=;\r\n{semicolons}"),
        semicolons.replace(';', "\t"),
        quoted_cells,
        PLAIN.replace("angle_deg", "Angle_Deg").replace("-6", "\u{2212}6"),
        PLAIN.replace(',', " , "),
        PLAIN.replace("180,", "1.8e2,").replace("30,6", "+30,6.000"),
    ] {
        assert_eq!(rows(&text), wanted, "{text}");
    }
    assert_eq!(patch(PLAIN).unwrap().notes, []);
}

#[test]
fn columns_stand_in_any_order_and_others_are_left_out_with_a_note() {
    let text = "note;axial_ratio_db;gain_dbi;phase_deg;angle_deg\n\"a;b\";1;8;;0\n;2;5;12;60\n;60;-9;;180\n";
    let table = patch(text).unwrap();
    assert_eq!(table.rows, [[0.0, 8.0, 1.0], [60.0, 5.0, 2.0], [180.0, -9.0, 60.0]]);
    assert_eq!(table.notes, [TableNote::ColumnsLeftOut(vec!["note".into(), "phase_deg".into()])]);
    assert_eq!(table.notes[0].to_string(), "columns that are not used: \"note\", \"phase_deg\"");
    // The first cell of a line may be empty, also between tabs.
    let tabs = "note\tangle_deg\tgain_dbi\taxial_ratio_db\n\t0\t8\t1\n\t60\t5\t2\n\t180\t-9\t3\n";
    assert_eq!(rows(tabs)[1], [60.0, 5.0, 2.0]);
}

#[test]
fn rows_are_sorted_infinities_cut_and_decimals_kept_to_hundredths_and_all_that_is_said() {
    let text = "angle_deg,gain_dbi,axial_ratio_db\n90,-6.005,inf\n0,8.123,\u{221e}\n60,1,+INF\n180,-9,-0.0\n";
    let table = patch(text).unwrap();
    assert_eq!(table.rows[0], [0.0, 8.12, 60.0]);
    assert!(table.rows[3][2].is_sign_positive());
    assert_eq!(table.notes, [TableNote::Sorted, TableNote::Infinite(3), TableNote::Rounded(2)]);
    let said: Vec<_> = table.notes.iter().map(ToString::to_string).collect();
    assert!(said[1].contains("60 dB (3 of them)") && said[2].contains("(2 had more decimals)"), "{said:?}");
}

#[test]
fn every_mistake_is_told_with_its_line_and_column() {
    let text = "angle_deg,gain_dbi,axial_ratio_db\n0,8,1\n# no row\nten,8,1\n30,25,-1\n40,,nan\n50,1,2,3\n60,0x10,1\n";
    assert_eq!(
        wrong(text),
        [
            "line 4, angle_deg: \"ten\"; must be a number from -180 to 360°",
            "line 5, gain_dbi: \"25\"; must be a number from -60 to 20 dBi",
            "line 5, axial_ratio_db: \"-1\"; must be a number from 0 to 60 dB or inf",
            "line 6, gain_dbi: nothing stands there; must be a number from -60 to 20 dBi",
            "line 6, axial_ratio_db: \"nan\"; must be a number from 0 to 60 dB or inf",
            "line 7: 4 cells; the header has 3",
            "line 8, gain_dbi: \"0x10\"; must be a number from -60 to 20 dBi",
        ]
    );
    assert_eq!(wrong(&PLAIN.replace("60,", "30.001,")), ["line 4, angle_deg: 30° stands in line 3 already"]);
    let decimal_commas = wrong(&PLAIN.replace('.', ","));
    assert_eq!(decimal_commas[0], "line 2: 5 cells; the header has 3");
}

#[test]
fn a_first_line_that_does_not_name_the_columns_is_told_which() {
    assert_eq!(
        wrong("angle,gain_dbi,gain_dbi\n1,2,3\n"),
        [
            "line 1: column angle_deg is missing from the header",
            "line 1: column gain_dbi stands more than once in the header",
            "line 1: column axial_ratio_db is missing from the header",
        ]
    );
    for nothing in ["", "\n\n", "# a comment\n", "sep=;\n"] {
        assert!(wrong(nothing)[0].starts_with("an empty table"), "{nothing}");
    }
}

#[test]
fn the_table_as_a_whole_has_to_fit_its_kind() {
    let narrow = "angle_deg,gain_dbi,axial_ratio_db\n0,8,1\n30,6,2\n50,1.5,4\n";
    assert!(wrong(narrow)[0].starts_with("a table from 0° to 50°"));
    let standing = read(PLAIN, AntennaKind::CircularOmni);
    assert!(standing.is_ok(), "{standing:?}");
    let half = PLAIN.replace("180,-9,14\n", "");
    let refused = read(&half, AntennaKind::CircularOmni).unwrap_err();
    assert!(refused.to_string().contains("at most 30° to at least 150°"), "{refused}");
    assert!(patch(&half).is_ok());
    assert_eq!(wrong("angle_deg,gain_dbi,axial_ratio_db\n0,8,1\n")[0], "1 rows; must be 3 to 361 rows");
    assert!(
        wrong(&PLAIN.replace("\n30", "\n-30").replace("180,", "330,"))[0]
            .starts_with("line 6, angle_deg: beside angles below 0° an angle of 330°")
    );
}

#[test]
fn too_much_is_refused_before_it_is_looked_at() {
    let long = " ".repeat(limits::ANTENNA_CSV_BYTES + 1);
    assert!(wrong(&long)[0].starts_with("a file of 200001 bytes"));
    let mut many = "angle_deg,gain_dbi,axial_ratio_db\n".to_owned();
    for row in 0..2000 {
        many += &format!("{},1,1\n", f64::from(row) / 20.0);
    }
    assert_eq!(wrong(&many), ["line 363: more than 361 rows"]);
    let garbage = format!("angle_deg,gain_dbi,axial_ratio_db\n{}", "x,y,z\n".repeat(500));
    let refused = patch(&garbage).unwrap_err();
    assert_eq!((refused.mistakes.len(), refused.more), (MOST_MISTAKES, 1500 - MOST_MISTAKES));
    assert!(refused.to_string().ends_with("(and 1499 more)"), "{refused}");
    for binary in ["\u{fffd}PNG\r\n", "a\u{0}b", "\u{1b}[2J"] {
        assert_eq!(wrong(binary), ["a file that is not plain text; must be a text file in UTF-8"], "{binary:?}");
    }
}

/// The table that is offered as an example is one, without a note.
#[test]
fn the_example_is_a_table() {
    let table = read(EXAMPLE, AntennaKind::CircularPatch).unwrap();
    assert_eq!(table.notes, []);
    assert!(EXAMPLE.starts_with("# ") && EXAMPLE.contains("invented"));
    let sides = MeasuredCut::sides(&measured_rows(&table.rows)).unwrap();
    assert!(sides.is_some_and(|sides| sides.greatest.0 > 0.5));
    let kit =
        AntennaKit { table: Some(table.rows), ..AntennaKit::of_kind(AntennaKind::CircularPatch, StatedHand::Right) };
    let antenna = resolve_antenna(&kit, Hand::Right).unwrap();
    assert_eq!(antenna.remarks, [""; 0]);
    assert!((0.5..1.0).contains(&antenna.antenna.efficiency()), "{}", antenna.antenna.efficiency());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, ..ProptestConfig::default() })]

    #[test]
    fn no_text_takes_the_reader_down(text in "(angle_deg[,;]gain_dbi[,;]axial_ratio_db\n)?([-+0-9.,;\"einf#\t\r\n\u{2212}\u{e4}]|\\PC){0,80}") {
        match patch(&text) {
            Ok(table) => prop_assert!(table.rows.iter().flatten().all(|number| number.is_finite())),
            Err(mistakes) => prop_assert!((1..=MOST_MISTAKES).contains(&mistakes.mistakes.len()), "{mistakes}"),
        }
    }

    #[test]
    fn what_is_written_comes_back(
        rows in proptest::collection::btree_map(0_i32..=18_000, (-6000_i32..=2000, 0_i32..=6000), 1..361),
        marks in proptest::sample::select(vec![(',', '.'), (';', ','), ('\t', '.'), ('\t', ',')]),
    ) {
        let written = |hundredths: i32| (f64::from(hundredths) / 100.0).to_string().replace('.', &marks.1.to_string());
        let mut text = COLUMNS.join(&marks.0.to_string());
        for (angle, (gain, ratio)) in &rows {
            text += "\n";
            text += &[*angle, *gain, *ratio].map(written).join(&marks.0.to_string());
        }
        match patch(&text) {
            Ok(table) => {
                let wanted: Vec<_> = rows.iter().map(|(angle, (gain, ratio))| [*angle, *gain, *ratio].map(|number| f64::from(number) / 100.0)).collect();
                prop_assert_eq!(table.rows, wanted);
            }
            // Only what concerns the whole table.
            Err(mistakes) => prop_assert!(mistakes.mistakes.iter().all(|mistake| mistake.line.is_none()), "{}", mistakes),
        }
    }
}
