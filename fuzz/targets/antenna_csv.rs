//! A measured antenna's table: it gives an antenna of finite fields whose own rows give the same table, or is refused with
//! sentences. The first byte says the kind of antenna; what follows is the file as a browser reads it.
#![no_main]

use lapmargin::plan::antenna_csv::{COLUMNS, MOST_MISTAKES, read};
use lapmargin::plan::document::{AntennaKit, StatedHand};
use lapmargin::plan::presets::{ANTENNA_KINDS, resolve_antenna};
use lapmargin::rf::Vec3;
use lapmargin::rf::polarization::Hand;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Some((first, file)) = bytes.split_first() else { return };
    let kind = ANTENNA_KINDS[usize::from(*first) % ANTENNA_KINDS.len()];
    let text = String::from_utf8_lossy(file);
    match read(&text, kind) {
        Ok(table) => {
            assert!(table.notes.iter().all(|note| note.to_string().len() > 10));
            let row = |row: &[f64; 3]| row.map(|number| number.to_string()).join(",");
            let rows: Vec<String> = table.rows.iter().map(row).collect();
            let again = read(&format!("{}\n{}", COLUMNS.join(","), rows.join("\n")), kind).expect("rows that were read");
            assert_eq!((&again.rows, &again.cut), (&table.rows, &table.cut));
            assert!(again.notes.is_empty());
            let kit = AntennaKit { table: Some(table.rows), ..AntennaKit::of_kind(kind, StatedHand::Left) };
            let antenna = resolve_antenna(&kit, Hand::Left).expect("a curve that was made once").antenna;
            for direction in [Vec3::x(), -Vec3::x(), Vec3::y(), Vec3::z(), -Vec3::z(), Vec3::new(0.48, -0.6, 0.64)] {
                assert!(antenna.field(&direction).iter().all(|part| part.re.is_finite() && part.im.is_finite()));
            }
            assert!(antenna.efficiency().is_finite() && antenna.efficiency() > 0.0);
        }
        Err(wrong) => {
            assert!(!wrong.mistakes.is_empty() && wrong.mistakes.len() <= MOST_MISTAKES);
            assert!(wrong.to_string().len() > 10);
        }
    }
});
