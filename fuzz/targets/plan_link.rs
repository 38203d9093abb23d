//! The value of a plan link: it gives a plan whose own link gives the same, or is refused with a sentence.
#![no_main]

use lapmargin::plan::check::problems;
use lapmargin::plan::plan_link;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let value = plan_link::carried(text, "plan").unwrap_or(text);
    match plan_link::read(value) {
        Ok(plan) => {
            assert_eq!(problems(&plan), []);
            // A plan that fits a link by another packing may not fit one by ours.
            if let Ok(written) = plan_link::write(&plan) {
                assert_eq!(plan_link::read(&written).as_ref(), Ok(&plan));
            }
        }
        Err(error) => assert!(error.to_string().len() > 10),
    }
});
