//! The text of a bench's link: it gives a link whose own text gives the same and which is heard without a number that is none,
//! or is refused with a sentence.
#![no_main]

use lapmargin::link::pair::{hearing, text};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|value: &str| match text::read(value) {
    Ok(link) => {
        assert_eq!(link.check(), Ok(()));
        assert_eq!(text::read(&text::write(&link)).as_ref(), Ok(&link));
        match hearing::hear(&link) {
            Ok(report) => {
                let explained = &report.explanation;
                assert!(explained.level_dbm.is_finite() && explained.margin_db.is_finite());
                assert!((0.0..=1.0).contains(&explained.outage));
            }
            Err(error) => assert!(error.to_string().len() > 10),
        }
    }
    Err(error) => assert!(error.to_string().len() > 10),
});
