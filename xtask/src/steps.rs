//! Steps one after the other, each named as it begins, and the count at the end.
//!
//! A step that runs tests counts them; any other step counts as one. A test that printed a line beginning with `SKIPPED`
//! counts as skipped although the test harness calls it passed.

use std::io::{BufRead, BufReader};
use std::process::{Command, ExitCode, Stdio};
use std::time::Instant;

/// What the steps so far came to.
#[derive(Default)]
pub struct Steps {
    count: Count,
    /// A line for each thing that failed or was skipped, for the end.
    remarks: Vec<String>,
}

/// How many of each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Count {
    passed: usize,
    failed: usize,
    skipped: usize,
}

impl Steps {
    /// Runs a command; whether it succeeded.
    pub fn run(&mut self, name: &str, command: &mut Command) -> bool {
        self.check(name, || crate::tools::must(command))
    }

    /// Runs a check of our own; whether it held.
    pub fn check(&mut self, name: &str, check: impl FnOnce() -> Result<(), String>) -> bool {
        self.obtain(name, check).is_ok()
    }

    /// Does something that later steps need, and hands on what came of it.
    pub fn obtain<T>(&mut self, name: &str, make: impl FnOnce() -> Result<T, String>) -> Result<T, String> {
        println!("\n== {name}");
        let start = Instant::now();
        let outcome = make();
        match &outcome {
            Ok(_) => {
                self.count.passed += 1;
                println!("{name}: passed in {:.1} s", start.elapsed().as_secs_f64());
            }
            Err(why) => {
                self.count.failed += 1;
                println!("{why}\n{name}: FAILED");
                self.remarks.push(format!("FAILED   {name}"));
            }
        }
        outcome
    }

    /// Runs tests and counts them.
    pub fn tests(&mut self, name: &str, command: &mut Command) {
        self.begun(name, || Reading::of(command));
    }

    /// Runs tests that lean on programs of others, and those few that fail once more by themselves. What holds then counts
    /// as passed and is named as unsteady: it has a cause, here or in the page, that is worth finding.
    pub fn unsteady_tests(&mut self, name: &str, command: &mut Command, again: impl FnOnce(&[String]) -> Command) {
        self.begun(name, || {
            let mut reading = Reading::of(command);
            if reading.can_be_tried_again() {
                println!("\nonce more, by themselves: {}", reading.failed.join(", "));
                let second = Reading::of(&mut again(&reading.failed));
                reading.hold_against(&second);
            }
            reading
        });
    }

    /// Names a step of tests, times it and takes its count over.
    fn begun(&mut self, name: &str, read: impl FnOnce() -> Reading) {
        println!("\n== {name}");
        let start = Instant::now();
        let reading = read();
        let Count { passed, failed, skipped } = reading.total();
        println!(
            "{name}: {passed} passed, {failed} failed, {skipped} skipped in {:.1} s",
            start.elapsed().as_secs_f64()
        );
        self.count.passed += passed;
        self.count.failed += failed;
        self.count.skipped += skipped;
        let failed = reading.failed.iter().map(|test| format!("FAILED   {test}"));
        self.remarks.extend(failed.chain(reading.remarks).map(|remark| format!("{remark} ({name})")));
    }

    /// Leaves a step out, and says so.
    pub fn skip(&mut self, name: &str, why: &str) {
        println!("\n== {name}\n{name}: skipped, {why}");
        self.count.skipped += 1;
        self.remarks.push(format!("skipped  {name}: {why}"));
    }

    /// Sums up; the last line is the count.
    pub fn close(self) -> ExitCode {
        println!();
        for remark in &self.remarks {
            println!("{remark}");
        }
        let Count { passed, failed, skipped } = self.count;
        println!("{passed} passed, {failed} failed, {skipped} skipped");
        if failed == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
    }
}

/// As many tests may fail and be run once more; where more do, something is broken.
const FEW: usize = 3;

/// Reads what the standard test harness prints.
#[derive(Default)]
struct Reading {
    count: Count,
    /// The tests that failed, by name.
    failed: Vec<String>,
    /// Whether it ended without a count of what failed: then not all tests may have run.
    broke_down: bool,
    remarks: Vec<String>,
    /// How many tests said that they were skipped; the harness counts them as passed.
    said: usize,
    /// The test whose output is being shown, until a line of it says that it was skipped.
    shown: Option<String>,
}

impl Reading {
    /// What a command prints while it runs, which is printed on.
    fn of(command: &mut Command) -> Self {
        let mut reading = Self::default();
        let ran = command.stdout(Stdio::piped()).spawn().and_then(|mut child| {
            let output = child.stdout.take().expect("its output is piped");
            for line in BufReader::new(output).split(b'\n') {
                let line = String::from_utf8_lossy(&line?).into_owned();
                println!("{line}");
                reading.take(&line);
            }
            child.wait()
        });
        if !ran.is_ok_and(|status| status.success()) {
            reading.end_badly();
        }
        reading
    }

    /// What a command that did not succeed adds: if no failures were counted, something does not compile, or broke down.
    fn end_badly(&mut self) {
        if self.count.failed == 0 {
            self.broke_down = true;
            self.count.failed = 1;
            self.remarks.push("FAILED   before or between the tests, see above".into());
        }
    }

    /// Whether every test ran to its end and only a few failed.
    fn can_be_tried_again(&self) -> bool {
        !self.broke_down && (1..=FEW).contains(&self.failed.len())
    }

    /// Takes over what a second run of the failed tests came to, if it ran just those.
    fn hold_against(&mut self, second: &Self) {
        let Count { passed, failed, .. } = second.total();
        if passed + failed != self.failed.len() || failed != second.failed.len() {
            return;
        }
        let (failed_again, held): (Vec<_>, Vec<_>) =
            std::mem::take(&mut self.failed).into_iter().partition(|test| second.failed.contains(test));
        self.count.failed -= held.len();
        self.count.passed += held.len();
        self.failed = failed_again;
        self.remarks.extend(held.iter().map(|test| format!("unsteady {test}: failed, then held by itself")));
    }

    fn total(&self) -> Count {
        let Count { passed, failed, skipped } = self.count;
        Count { passed: passed.saturating_sub(self.said), failed, skipped: skipped + self.said }
    }

    fn take(&mut self, line: &str) {
        if let Some(name) = line.strip_prefix("---- ").and_then(|rest| rest.strip_suffix(" stdout ----")) {
            self.shown = Some(name.to_owned());
        } else if line.starts_with("SKIPPED") {
            if let Some(name) = self.shown.take() {
                self.said += 1;
                self.remarks.push(format!("skipped  {name}: {line}"));
            }
        } else if let Some(name) = line.strip_prefix("test ").and_then(|rest| rest.strip_suffix(" ... FAILED")) {
            self.failed.push(name.to_owned());
        } else if let Some(result) = line.strip_prefix("test result: ") {
            for part in result.split(['.', ';']) {
                let mut words = part.split_whitespace();
                let (Some(number), Some(what)) =
                    (words.next().and_then(|word| word.parse::<usize>().ok()), words.next())
                else {
                    continue;
                };
                let count = match what {
                    "passed" => &mut self.count.passed,
                    "failed" => &mut self.count.failed,
                    "ignored" => &mut self.count.skipped,
                    _ => continue,
                };
                *count += number;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Reading {
        let mut reading = Reading::default();
        text.lines().for_each(|line| reading.take(line));
        reading
    }

    #[test]
    fn results_of_several_test_programs_add_up() {
        let reading = read(
            "test a ... ok\ntest b ... FAILED\n\
             test result: FAILED. 1 passed; 1 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0.00s\n\
             test result: ok. 3 passed; 0 failed; 2 ignored; 0 measured; 7 filtered out; finished in 1.50s",
        );
        assert_eq!(reading.total(), Count { passed: 4, failed: 1, skipped: 2 });
        assert_eq!(reading.failed, ["b"]);
    }

    const TWO_FAILED: &str = "test a ... ok\ntest b ... FAILED\ntest c ... FAILED\n\
        test result: FAILED. 1 passed; 2 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0.00s";

    #[test]
    fn what_holds_at_the_second_try_is_named_and_what_fails_again_has_failed() {
        let mut reading = read(TWO_FAILED);
        reading.hold_against(&read(
            "test b ... ok\ntest c ... FAILED\n\
             test result: FAILED. 1 passed; 1 failed; 0 ignored; 0 measured; 1 filtered out; finished in 0.00s",
        ));
        assert_eq!(reading.total(), Count { passed: 2, failed: 1, skipped: 0 });
        assert_eq!(reading.failed, ["c"]);
        assert_eq!(reading.remarks, ["unsteady b: failed, then held by itself"]);
    }

    #[test]
    fn only_a_run_to_the_end_with_few_failures_is_tried_again() {
        let mut counted = read(TWO_FAILED);
        counted.end_badly();
        assert!(counted.can_be_tried_again());
        let mut cut_off = read("test a ... ok\ntest b ... FAILED");
        cut_off.end_badly();
        assert!(!cut_off.can_be_tried_again());
        assert_eq!(cut_off.total().failed, 1);
        assert!(
            !read("test a ... FAILED\ntest b ... FAILED\ntest c ... FAILED\ntest d ... FAILED").can_be_tried_again()
        );
    }

    #[test]
    fn a_second_try_that_ran_something_else_changes_nothing() {
        for second in [
            "",
            "test result: ok. 0 passed; 0 failed; 0 ignored; 0 measured; 3 filtered out; finished in 0.00s",
            "test b ... ok\n---- b stdout ----\nSKIPPED for want of Chromium\n\
             test result: ok. 1 passed; 0 failed; 0 ignored; 0 measured; 2 filtered out; finished in 0.00s",
        ] {
            let mut reading = read(TWO_FAILED);
            reading.hold_against(&read(second));
            assert_eq!(reading.total(), Count { passed: 1, failed: 2, skipped: 0 }, "{second}");
            assert_eq!(reading.failed, ["b", "c"]);
        }
    }

    #[test]
    fn a_skipped_test_is_not_a_passed_one() {
        let reading = read(
            "test a ... ok\ntest b ... ok\n\nsuccesses:\n\n---- a stdout ----\nSKIPPED for want of Chromium\n\
             SKIPPED for want of Chromium\n\n\
             test result: ok. 2 passed; 0 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0.00s",
        );
        assert_eq!(reading.total(), Count { passed: 1, failed: 0, skipped: 1 });
        assert_eq!(reading.remarks, ["skipped  a: SKIPPED for want of Chromium"]);
    }
}
