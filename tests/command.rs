//! The built command among hostile names, closed pipes and full disks.

use std::io::Read;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use lapmargin::plan::document::Plan;
use lapmargin::plan::{demo, save};

fn command(words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lapmargin"));
    command.args(words);
    command
}

/// A folder of a test's own with a plan in it.
fn folder(name: &str, text: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder for tests");
    std::fs::write(folder.join("plan.json"), text).expect("a folder for tests");
    folder
}

/// A plan whose first entry is short.
fn short() -> Plan {
    let mut plan = demo();
    plan.entries.truncate(1);
    plan.entries[0].radios[0].power_dbm = -30.0;
    plan.course.step_m = 4.0;
    plan
}

/// Runs the command to its end: status, output, complaint.
fn run(folder: &PathBuf, words: &[&str]) -> (Option<i32>, String, String) {
    let output = command(words).current_dir(folder).output().expect("the command runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

#[test]
fn a_map_is_a_table_whatever_the_plan_is_called() {
    for name in ["Fair, \"by night\"", "=1+1", "+2", "-3", "@A1", "a\u{202e}b"] {
        let mut plan = short();
        (plan.name, plan.entries[0].name) = (name.to_owned(), name.to_owned());
        let folder = folder("command-map", &save(&plan));
        let entry = format!("--entry={name}");
        let words = ["map", "plan.json", &entry, "--out", "m.csv", "--cells", "400", "--quantity", "margin"];
        let (status, said, complained) = run(&folder, &words);
        assert_eq!(status, Some(0), "{complained}");
        assert!(!said.contains('\u{202e}'), "{said}");
        let written = std::fs::read(folder.join("m.csv")).expect("the command wrote a table");
        let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(&written[..]);
        let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row of CSV")).collect();
        let (about, cells) = rows.split_at(5);
        assert!(about.iter().all(|row| row.len() == 1 && row[0].starts_with("# ")), "{about:?}");
        assert!(cells.len() > 100 && cells.iter().all(|row| row.len() == 3));
        let shown = name.replace('\u{202e}', "\\u{202e}");
        assert_eq!(&about[0][0], format!("# plan: {shown}"));
        // The same in the table of a check, where a name stands at the beginning of a field.
        let (_, table, _) = run(&folder, &["check", "plan.json", "--csv", "--laps", "0"]);
        let mut reader = csv::Reader::from_reader(table.as_bytes());
        let first = reader.records().next().expect("a row").expect("a row of CSV");
        assert!(!first.iter().any(|field| field.starts_with(['=', '@', '+'])), "{first:?}");
    }
}

#[test]
fn nothing_that_somebody_wrote_steers_the_terminal() {
    let steering = "\u{1b}[2J\u{7}".to_owned() + &"x".repeat(1000);
    let mut document: serde_json::Value = serde_json::from_str(&save(&short())).expect("JSON");
    document[&steering] = 1.into();
    let unknown_key = folder("command-key", &document.to_string());
    let mut plan = short();
    plan.name.clone_from(&steering);
    let odd_name = folder("command-name", &save(&plan));
    let good = folder("command-good", &save(&short()));
    let cases: [(&PathBuf, &[&str]); 4] = [
        (&unknown_key, &["check", "plan.json"]),
        (&odd_name, &["check", "plan.json"]),
        (&good, &["explain", "plan.json", "--time", "1", "--entry", &steering]),
        (&good, &["check", &steering]),
    ];
    for (folder, words) in cases {
        let (status, _, complained) = run(folder, words);
        assert_eq!(status, Some(2), "{complained}");
        assert!(complained.trim_end().chars().all(|letter| !letter.is_control()), "{complained:?}");
        assert!(!complained.contains(&"x".repeat(201)), "{complained}");
    }
}

#[test]
fn a_closed_pipe_changes_no_status_and_output_that_cannot_be_written_has_its_own() {
    let folder = folder("command-pipe", &save(&short()));
    for (words, expected) in [(&["check", "plan.json", "--json", "--laps", "0"][..], 1), (&["demo"], 0)] {
        let mut child = command(words)
            .current_dir(&folder)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the command runs");
        drop(child.stdout.take());
        assert_eq!(child.wait().expect("it ends").code(), Some(expected), "{words:?}");
        let mut complained = String::new();
        child.stderr.take().expect("a pipe").read_to_string(&mut complained).expect("text");
        assert_eq!(complained, "");
    }
    let no_such = ["map", "plan.json", "--entry", "Linnet", "--out", "no/such/folder.csv", "--cells", "100"];
    let mut words = no_such;
    let name = short().entries[0].name.clone();
    words[3] = &name;
    assert_eq!(run(&folder, &words).0, Some(3));
    if let Ok(full) = std::fs::File::options().write(true).open("/dev/full") {
        let output = command(&["demo"]).stdout(full).output().expect("the command runs");
        assert_eq!(output.status.code(), Some(3));
        assert!(String::from_utf8_lossy(&output.stderr).contains("writing the report"));
    }
}
