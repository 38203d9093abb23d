//! The native command: the same core as the page.

use std::io::{IsTerminal, Read, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use lapmargin::link::report::{Explanation, Verdict};
use lapmargin::link::{Effort, Evaluator, sheet};
use lapmargin::plan::document::Plan;
use lapmargin::plan::{demo, limits, load};

/// Plans the radio side of a small-drone race before anyone flies.
#[derive(Parser)]
#[command(name = "lapmargin", version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Judges every entry of a plan. Exit status: 0 no entry is broken, 1 one is, 2 the plan cannot be read.
    Check {
        /// The plan's file, or `-` for standard input.
        plan: PathBuf,
        /// Prints the whole report as JSON, every sample with its budget.
        #[arg(long, conflicts_with = "csv")]
        json: bool,
        /// Prints a row per entry, port and sample.
        #[arg(long)]
        csv: bool,
    },
    /// Prints the demo plan.
    Demo,
    /// Explains one instant of one entry: its budget and its paths.
    Explain {
        /// The plan's file, or `-` for standard input.
        plan: PathBuf,
        /// Name or id of the entry.
        #[arg(long)]
        entry: String,
        /// Time since the first gate, in seconds.
        #[arg(long)]
        time: f64,
        /// Number of the port, from 0; the port in use when left out.
        #[arg(long)]
        port: Option<usize>,
    },
}

/// Why the command could not do its job; it goes to standard error, and the exit status is 2.
#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error("{path}: {source}")]
    Read { path: String, source: std::io::Error },
    #[error("{path}: {source}")]
    Plan { path: String, source: load::LoadError },
    #[error("no entry is called {name:?}; there are {known}")]
    Entry { name: String, known: String },
    #[error("a time of {got} s is outside the lap, which takes 0 to {lap:.2} s")]
    Time { got: f64, lap: f64 },
    #[error("there is no port {got}; this receiver has ports 0 to {last}")]
    Port { got: usize, last: usize },
    #[error("{0}")]
    Unjudged(String),
    #[error("writing the report: {0}")]
    Write(#[from] std::io::Error),
    #[error("writing the report: {0}")]
    Json(#[from] serde_json::Error),
}

fn main() -> ExitCode {
    match run(&Arguments::parse()) {
        Ok(code) => code,
        Err(Failure::Write(error)) if error.kind() == std::io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
        Err(failure) => {
            let _ = writeln!(std::io::stderr(), "lapmargin: {failure}");
            ExitCode::from(2)
        }
    }
}

fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    match &arguments.command {
        Command::Demo => {
            print(&load::save(&demo::demo()))?;
            Ok(ExitCode::SUCCESS)
        }
        Command::Check { plan, json, csv } => check(&read(plan)?, *json, *csv),
        Command::Explain { plan, entry, time, port } => {
            explain(&read(plan)?, entry, *time, *port)?;
            Ok(ExitCode::SUCCESS)
        }
    }
}

/// Reads a plan; never more than a plan may have, whatever the file's size.
fn read(path: &PathBuf) -> Result<Plan, Failure> {
    let shown = path.display().to_string();
    let at = |source| Failure::Read { path: shown.clone(), source };
    let mut text = String::new();
    let most = limits::TEXT_BYTES as u64 + 1;
    if path.as_os_str() == "-" {
        std::io::stdin().take(most).read_to_string(&mut text).map_err(at)?;
    } else {
        std::fs::File::open(path).map_err(at)?.take(most).read_to_string(&mut text).map_err(at)?;
    }
    load::load(&text).map_err(|source| Failure::Plan { path: shown, source })
}

fn check(plan: &Plan, json: bool, csv: bool) -> Result<ExitCode, Failure> {
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(plan, Effort::FULL);
    if json {
        print(&sheet::json(plan, &mut evaluator)?)?;
    } else if csv {
        print(&sheet::csv(&report))?;
    } else {
        print(&sheet::sheet(plan, &report))?;
    }
    let unjudged = report.notices.iter().find(|notice| notice.blocks);
    if let Some(notice) = unjudged {
        return Err(Failure::Unjudged(format!("{}: {}", notice.path, notice.text)));
    }
    let broken = report.entries.iter().any(|entry| entry.verdict == Verdict::Broken);
    Ok(if broken { ExitCode::from(1) } else { ExitCode::SUCCESS })
}

fn explain(plan: &Plan, name: &str, time: f64, port: Option<usize>) -> Result<(), Failure> {
    let entry = plan.entries.iter().position(|entry| entry.name == name || entry.id == name).ok_or_else(|| {
        let known: Vec<&str> = plan.entries.iter().map(|entry| entry.name.as_str()).collect();
        Failure::Entry { name: name.to_owned(), known: known.join(", ") }
    })?;
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(plan, Effort::FULL);
    let lap = &report.lap;
    if !(0.0..=lap.duration_s).contains(&time) {
        return Err(Failure::Time { got: time, lap: lap.duration_s });
    }
    let judged = report.entries.iter().find(|judged| judged.index == entry).ok_or_else(|| {
        let why: Vec<String> = report
            .notices
            .iter()
            .filter(|notice| notice.blocks)
            .map(|notice| format!("{}: {}", notice.path, notice.text))
            .collect();
        Failure::Unjudged(why.join("; "))
    })?;
    let nearest = |a: &usize, b: &usize| (lap.time_s[*a] - time).abs().total_cmp(&(lap.time_s[*b] - time).abs());
    let sample = (0..lap.time_s.len()).min_by(nearest).unwrap_or(0);
    let port = port.unwrap_or_else(|| usize::from(judged.together.port[sample]));
    if port >= judged.ports.len() {
        return Err(Failure::Port { got: port, last: judged.ports.len() - 1 });
    }
    let explanation = evaluator
        .explain(plan, entry, port, sample, Effort::FULL)
        .map_err(|error| Failure::Unjudged(error.to_string()))?;
    print(&instant(&explanation, &judged.name, lap.time_s[sample], lap.distance_m[sample]))
}

fn instant(explanation: &Explanation, name: &str, time: f64, distance: f64) -> String {
    use std::fmt::Write as _;
    let mut text = String::new();
    let clean = |text: &str| -> String { text.chars().filter(|character| !character.is_control()).collect() };
    // Writing to a String cannot fail.
    let _ = writeln!(text, "{} at {time:.2} s, {distance:.1} m along the lap, port {}", clean(name), explanation.port);
    let _ = writeln!(text, "\nBudget");
    let mut level = 0.0;
    for line in &explanation.budget {
        level += line.gain_db;
        let _ = writeln!(
            text,
            "  {:<36} {:+8.2} dB  {level:8.2}   {}",
            line.term.name(),
            line.gain_db,
            clean(&line.reason)
        );
    }
    let _ = writeln!(
        text,
        "\nLevel {:.1} dBm, margin {:+.1} dB, K {:.1} dB, outage {:.2e}",
        explanation.level_dbm, explanation.margin_db, explanation.k_db, explanation.outage
    );
    let _ = writeln!(text, "\nPaths, strongest first");
    for path in &explanation.paths {
        let via =
            if path.via.is_empty() { "direct".to_owned() } else { format!("off {}", clean(&path.via.join(", "))) };
        let hand = path.hand.map_or("linear", |hand| hand.name());
        let by = path.obstructed_by.as_deref().map(|name| format!(", {} near", clean(name))).unwrap_or_default();
        let _ = writeln!(
            text,
            "  {via:<28} {:7.2} m  {:8.2} dBm  obstruction {:5.2} dB  arrives {hand}, axial ratio {:.1} dB{by}",
            path.length_m, path.level_dbm, path.obstruction_db, path.axial_ratio_db
        );
    }
    text
}

fn print(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())?;
    if out.is_terminal() && !text.ends_with('\n') {
        out.write_all(b"\n")?;
    }
    out.flush()?;
    Ok(())
}
