//! The text of a plan's file: it loads and comes back as it was, or is refused with a sentence.
#![no_main]

use lapmargin::plan::check::problems;
use lapmargin::plan::{convert, load, save};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| match load(text) {
    Ok(plan) => {
        assert_eq!(problems(&plan), []);
        assert_eq!(load(&save(&plan)).as_ref(), Ok(&plan));
        // Nor may anything that is handed down break.
        let _ = convert::site(&plan.site);
        let _ = convert::lap(&plan.course);
    }
    Err(error) => assert!(error.to_string().len() > 10),
});
